"""Times in ISO base media files and WAV headers, against the values of the standards."""

from __future__ import annotations

import struct
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import av
import pytest

from intake.capture.boxes import boxes, from_1904, movie_times, parse_mvhd
from intake.capture.riff import parse_bext, wav_facts

from .makers import bext, box, chunk, encoded, set_movie_times, wav


@pytest.mark.parametrize(("seconds", "at"), [
    (3_029_529_600, datetime(2000, 1, 1, tzinfo=UTC)),
    (3_792_052_800, datetime(2024, 2, 29, 12, 0, tzinfo=UTC)),
    (4_294_967_295, datetime(2040, 2, 6, 6, 28, 15, tzinfo=UTC)),
    (0, None),
])
def test_seconds_since_1904(seconds: int, at: datetime | None) -> None:
    """Creation times count from 1904-01-01T00:00:00 UTC and 0 is not set (ISO/IEC 14496-12 8.2.2)."""
    assert from_1904(seconds) == at


def test_a_count_from_1970_is_understood() -> None:
    """A count too small for 1904 is one of the recorders' that count from 1970 (common practice, from memory)."""
    assert from_1904(1_778_764_323) == datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)


def test_a_count_beyond_all_calendars_is_none() -> None:
    """64 bits hold times that no calendar has."""
    assert from_1904(2**64 - 1) is None


def test_both_versions_of_the_movie_header() -> None:
    """Version 0 holds 32 bits a time and version 1 holds 64 (ISO/IEC 14496-12 8.2.2.2)."""
    leap = datetime(2024, 2, 29, 12, 0, tzinfo=UTC)
    assert parse_mvhd(b"\0" * 4 + struct.pack(">II", 3_792_052_800, 0)) == (leap, None)
    assert parse_mvhd(b"\1\0\0\0" + struct.pack(">QQ", 3_792_052_800, 3_792_052_800)) == (leap, leap)
    assert parse_mvhd(b"\0" * 7) == (None, None)


@pytest.mark.parametrize("as_", ["m4a", "mp4", "mov", "3gp"])
def test_creation_time_equals_what_ffmpeg_reads(tmp_path: Path, as_: str) -> None:
    """In a file written by FFmpeg the creation time is the one that FFmpeg reads back."""
    path = encoded(tmp_path / "a", as_, 0.5, tags={"creation_time": "2026-05-14T13:12:03.000000Z"})
    with av.open(str(path)) as container:
        told = datetime.fromisoformat(container.metadata["creation_time"])
    found = movie_times(path)
    assert found.created == told == datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
    assert found.whole


def test_an_unset_creation_time_is_none(tmp_path: Path) -> None:
    """0 in the header is no time in 1904."""
    assert movie_times(set_movie_times(encoded(tmp_path / "a", "m4a", 0.5), 0)).created is None


def test_a_box_that_reaches_past_the_end_is_seen(tmp_path: Path) -> None:
    """A file that was cut is not whole."""
    path = tmp_path / "cut"
    path.write_bytes(encoded(tmp_path / "a", "m4a", 0.5).read_bytes()[:-100])
    assert not movie_times(path).whole


@pytest.mark.parametrize("data", [
    b"\0\0\0\0moov", b"\0\0\0\1moov" + b"\xff" * 8, b"\0\0\0\1moov" + b"\0" * 8, b"\0\0\0\7moov", b"\xff" * 64,
    box(b"moov", b"\0\0\0\x08mvhd") * 3, b"\0\0\0\x08free" * 100_000,
])
def test_lying_sizes_end(data: bytes) -> None:
    """Boxes of size 0, 1 and nonsense come to an end, and none lies outside the file."""
    for found in boxes(BytesIO(data), 0, len(data)):
        assert found.start <= found.end <= len(data)


@pytest.mark.parametrize("between", "-_: .")
def test_bext_date_and_time(tmp_path: Path, between: str) -> None:
    """OriginationDate and OriginationTime stand at bytes 320 and 330, with any of five separators (EBU Tech 3285)."""
    day, clock = between.join(("2026", "05", "14")), between.join(("09", "12", "03"))
    path = wav(tmp_path / "a.wav", 0.1, extra=bext(day, clock))
    assert wav_facts(path).origination == datetime(2026, 5, 14, 9, 12, 3)


def test_time_reference_refines_the_start(tmp_path: Path) -> None:
    """TimeReference counts samples since midnight, and gives the fraction of the second that the text names."""
    samples = (9 * 3600 + 12 * 60 + 3) * 16000 + 4000
    path = wav(tmp_path / "a.wav", 0.1, extra=bext("2026-05-14", "09:12:03", samples))
    assert wav_facts(path).origination == datetime(2026, 5, 14, 9, 12, 3, 250_000)


def test_a_time_reference_of_another_scale_is_left_aside() -> None:
    """A TimeReference that does not name the same second (a time code that starts at one hour) changes nothing."""
    content = bext("2026-05-14", "09:12:03", 3600 * 16000)[8:]
    assert parse_bext(content, 16000) == datetime(2026, 5, 14, 9, 12, 3)


@pytest.mark.parametrize(("day", "clock"), [("", ""), ("0000-00-00", "00:00:00"), ("2026-02-30", "09:12:03"),
                                            ("2026-05-14", ""), ("2026-05-14", "24:00:00")])
def test_bext_without_a_real_time(day: str, clock: str) -> None:
    """Blank or impossible dates in bext are no times."""
    assert parse_bext(bext(day, clock)[8:], 16000) is None


def test_info_date(tmp_path: Path) -> None:
    """The creation date in INFO is found behind other chunks."""
    info = chunk(b"LIST", b"INFO" + chunk(b"IART", b"someone") + chunk(b"ICRD", b"2026-05-14 09:12:03\0"))
    assert wav_facts(wav(tmp_path / "a.wav", 0.1, extra=chunk(b"junk", b"odd") + info)).created == "2026-05-14 09:12:03"


@pytest.mark.parametrize("size", [0, 0xFFFFFFFF])
def test_a_recorder_that_lost_power_is_not_called_short(tmp_path: Path, size: int) -> None:
    """A sound chunk whose size was never written says nothing about missing sound."""
    data = bytearray(wav(tmp_path / "a.wav", 0.5).read_bytes())
    at = data.index(b"data")
    data[at + 4:at + 8] = struct.pack("<I", size)
    (tmp_path / "b.wav").write_bytes(data)
    assert wav_facts(tmp_path / "b.wav").short_by == 0


def test_missing_sound_is_counted(tmp_path: Path) -> None:
    """A WAV file that was cut says how many bytes of sound are gone."""
    (tmp_path / "b.wav").write_bytes(wav(tmp_path / "a.wav", 0.5).read_bytes()[:-1000])
    assert wav_facts(tmp_path / "b.wav").short_by == 1000
