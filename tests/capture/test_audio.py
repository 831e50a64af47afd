"""Length, times and faults of recordings."""

from __future__ import annotations

import struct
import subprocess
import sys
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest

from intake.capture.audio import BEXT, CONTAINER, CREATION_KEY, ID3, TAG, is_moving_photo, read_recording
from intake.capture.exif import FILE_NAME, FILE_TIME
from intake.capture.sniff import sniff
from intake.capture.walk import Recording
from intake.errors import CaptureError

from .makers import bext, chunk, encoded, set_movie_times, since_1904, touch, wav

START = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
ALL = ["wav", "m4a", "mp4", "mov", "3gp", "aac", "mp3", "ogg", "flac", "aiff", "caf", "webm"]


def read(path: Path) -> Recording:
    """Read a recording as the capture does: by its content."""
    return read_recording(path, kind=sniff(path).kind)


def reading(recording: Recording, source: str) -> tuple[datetime, str]:
    """The time and mark of the one reading from that source."""
    (moment,) = [moment for moment in recording.times if moment.source == source]
    return moment.at, moment.marks


@pytest.mark.parametrize("as_", ALL)
def test_length(tmp_path: Path, as_: str) -> None:
    """The length of a recording is right to a frame in every container, whatever the suffix says."""
    recording = read(encoded(tmp_path / "memo.bin", as_, 3.0))
    assert recording.duration_s == pytest.approx(3.0, abs=0.13)
    assert recording.remarks == ()


def test_any_name_is_a_name(tmp_path: Path) -> None:
    """Blanks, quotes, line breaks, other scripts and what looks like an address are only a name."""
    for name in ("mémo \"one\"'s\nshelf.wav", "http:memo.wav", "concat:a|b.wav", "%03d.wav", "-i.wav"):
        assert read(wav(tmp_path / name, 0.5)).duration_s == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("as_", ["m4a", "mp4", "mov", "3gp"])
def test_container_time_may_be_start_or_end(tmp_path: Path, as_: str) -> None:
    """A container's creation time is UTC, and alone does not tell what it is of."""
    recording = read(encoded(tmp_path / "a", as_, 1.0, tags={"creation_time": "2026-05-14T13:12:03.000000Z"}))
    assert reading(recording, CONTAINER) == (START, "start or end")


def test_a_header_changed_one_length_later_marks_the_start(tmp_path: Path) -> None:
    """Creation and change apart by the recording's length say that the creation was its start."""
    path = set_movie_times(encoded(tmp_path / "a", "m4a", 5.0), since_1904(START), since_1904(START) + 5)
    assert reading(read(path), CONTAINER) == (START, "start")


def test_a_film_date_with_zone(tmp_path: Path) -> None:
    """The creation date that phones write with its zone is taken as it stands."""
    path = encoded(tmp_path / "a", "mov", 1.0, tags={"com.apple.quicktime.creationdate": "2026-05-14T09:12:03-0400"})
    at, marks = reading(read(path), CREATION_KEY)
    assert (at, at.utcoffset(), marks) == (START, timedelta(hours=-4), "start")


def test_wav_dates(tmp_path: Path) -> None:
    """A WAV file's bext is a local start; its INFO date counts where it has a time of day."""
    info = chunk(b"LIST", b"INFO" + chunk(b"ICRD", b"2026-05-14 09:12:05\0"))
    recording = read(wav(tmp_path / "a.wav", 0.5, extra=bext("2026-05-14", "09:12:03") + info))
    assert reading(recording, BEXT) == (datetime(2026, 5, 14, 9, 12, 3), "start")
    assert reading(recording, TAG) == (datetime(2026, 5, 14, 9, 12, 5), "start or end")


def test_id3_dates_are_utc(tmp_path: Path) -> None:
    """TDRC without a zone is UTC, as ID3v2.4 says of its timestamps (from memory); with one it is what it says."""
    assert reading(read(encoded(tmp_path / "a", "mp3", 1.0, tags={"date": "2026-05-14T13:12:03"})), ID3)[0] == START
    zoned = reading(read(encoded(tmp_path / "b", "mp3", 1.0, tags={"date": "2026-05-14T09:12:03-04:00"})), ID3)[0]
    assert zoned == START
    assert zoned.tzinfo == timezone(timedelta(hours=-4))


@pytest.mark.parametrize("as_", ["ogg", "flac"])
def test_vorbis_dates_are_as_written(tmp_path: Path, as_: str) -> None:
    """A Vorbis DATE has the zone it writes, or none."""
    naive = reading(read(encoded(tmp_path / "a", as_, 1.0, tags={"date": "2026-05-14 09:12:03"})), TAG)[0]
    assert naive == datetime(2026, 5, 14, 9, 12, 3)
    assert naive.tzinfo is None
    assert reading(read(encoded(tmp_path / "b", as_, 1.0, tags={"date": "2026-05-14T13:12:03Z"})), TAG)[0] == START


@pytest.mark.parametrize("date", ["2026", "2026-05-14", "2026-05", "spring"])
def test_a_date_without_time_of_day_is_no_reading(tmp_path: Path, date: str) -> None:
    """A year or a day in the tags does not tell when a recording began."""
    recording = read(encoded(tmp_path / "a", "mp3", 1.0, tags={"date": date}))
    assert [moment.source for moment in recording.times] == [FILE_TIME]


def test_name_and_file_time(tmp_path: Path) -> None:
    """The name's time is local and open; the file's time is the end."""
    recording = read(touch(wav(tmp_path / "2026-05-14 09.12.03.wav", 0.5), START))
    assert reading(recording, FILE_NAME) == (datetime(2026, 5, 14, 9, 12, 3), "start or end")
    assert reading(recording, FILE_TIME) == (START, "end")


@pytest.mark.parametrize("as_", ALL)
def test_silence_is_remarked(tmp_path: Path, as_: str) -> None:
    """A recording of zeros only is used, with the remark that it is silent."""
    recording = read(encoded(tmp_path / "a", as_, 1.0, loud=0))
    assert len(recording.remarks) == 1
    assert "silent" in recording.remarks[0]


def test_very_quiet_is_not_silent(tmp_path: Path) -> None:
    """Room noise of a few steps is no silence."""
    assert read(wav(tmp_path / "a.wav", 1.0, loud=4)).remarks == ()


@pytest.mark.parametrize("as_", ["wav", "mp3", "ogg", "flac", "aiff", "webm"])
def test_a_recording_that_breaks_off_is_used(tmp_path: Path, as_: str) -> None:
    """Of a truncated recording what is there is used, and it says how much that is."""
    data = encoded(tmp_path / "whole", as_, 8.0).read_bytes()
    (tmp_path / "cut").write_bytes(data[:len(data) // 2])
    recording = read(tmp_path / "cut")
    assert recording.duration_s is not None
    assert 1.0 < recording.duration_s < 5.5
    assert "breaks off" in " ".join(recording.remarks)


@pytest.mark.parametrize("as_", ["m4a", "mov", "3gp"])
def test_a_recording_without_its_index_is_an_error(tmp_path: Path, as_: str) -> None:
    """A phone recording whose end is missing cannot be opened; the error says what happened and what to do."""
    data = encoded(tmp_path / "whole", as_, 4.0).read_bytes()
    (tmp_path / "cut").write_bytes(data[:len(data) // 2])
    with pytest.raises(CaptureError, match=r"cut: cannot be opened: the recording was not finished.*Copy it again"):
        read_recording(tmp_path / "cut", kind="m4a")


@pytest.mark.parametrize("as_", ["m4a", "ogg", "flac"])
def test_a_corrupt_recording_is_an_error(tmp_path: Path, as_: str) -> None:
    """A recording of which nothing can be read is an error that says so."""
    data = bytearray(encoded(tmp_path / "whole", as_, 2.0).read_bytes())
    data[64:] = bytes(data[64:])[::-1]
    (tmp_path / "corrupt").write_bytes(data)
    with pytest.raises(CaptureError, match="Copy it again"):
        read(tmp_path / "corrupt")


def test_a_damaged_middle_is_remarked(tmp_path: Path) -> None:
    """Bare frames that stop being frames are missed sound, and said to be."""
    data = encoded(tmp_path / "whole", "aac", 20.0, loud=20000).read_bytes()
    (tmp_path / "a").write_bytes(data[:len(data) // 4] + bytes(len(data) - len(data) // 4))
    assert any("damaged" in remark for remark in read(tmp_path / "a").remarks)


def test_a_film_without_sound_is_an_error(tmp_path: Path) -> None:
    """A film has to have a sound track."""
    import av

    with av.open(str(tmp_path / "a.mp4"), "w") as container:
        film = container.add_stream("mpeg4", rate=5)
        film.width, film.height, film.pix_fmt = 64, 64, "yuv420p"
        container.mux(film.encode(av.VideoFrame(64, 64, "yuv420p")))
        container.mux(film.encode(None))
    with pytest.raises(CaptureError, match="has no sound track"):
        read(tmp_path / "a.mp4")


def test_the_moving_part_of_a_photo(tmp_path: Path) -> None:
    """A few seconds of film with a photo's pair number are no recording; without one they may be."""
    pair = {"com.apple.quicktime.content.identifier": "1F2E-3D"}
    moving = encoded(tmp_path / "a", "mov", 2.0, picture=True, tags=pair)
    short = encoded(tmp_path / "b", "mov", 2.0, picture=True)
    assert is_moving_photo(moving, "mov", read(moving))
    assert not is_moving_photo(short, "mov", read(short))


def test_a_header_of_days_is_not_believed(tmp_path: Path) -> None:
    """A damaged header that makes seconds into days is an error, not a walk of a week."""
    data = bytearray(wav(tmp_path / "a.wav", 20.0).read_bytes())
    data[24:32] = struct.pack("<II", 1, 2)
    (tmp_path / "b.wav").write_bytes(data)
    with pytest.raises(CaptureError, match="days long"):
        read(tmp_path / "b.wav")


@pytest.mark.slow
def test_an_hour_needs_no_memory(tmp_path: Path) -> None:
    """Reading the times of three hours of sound, and finding it silent, needs less than 40 MB."""
    head = bytearray(wav(tmp_path / "a.wav", 0.1).read_bytes()[:44])
    size = 3 * 3600 * 32000
    head[4:8], head[40:44] = struct.pack("<I", size + 36), struct.pack("<I", size)
    with (tmp_path / "long.wav").open("wb") as file:
        file.write(head)
        file.truncate(size + 44)
    script = ("import resource, sys; from pathlib import Path; import av, numpy;"
              "from intake.capture.audio import read_recording;"
              "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss;"
              "recording = read_recording(Path(sys.argv[1]), kind='wav');"
              "print(recording.duration_s, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)")
    out = subprocess.run([sys.executable, "-c", script, str(tmp_path / "long.wav")], capture_output=True, check=True,
                         text=True, cwd=Path(__file__).parents[2])
    length, grown_kib = out.stdout.split()
    assert float(length) == pytest.approx(10_800)
    assert int(grown_kib) < 40_000
