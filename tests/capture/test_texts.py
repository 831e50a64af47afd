"""Transcripts that stand in for a recording."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from intake.capture.texts import NOTE, cue_end, read_text, read_transcript
from intake.errors import CaptureError

from .makers import touch

VTT = """WEBVTT

NOTE started_at 2026-05-14T09:12:03-04:00

00:01.000 --> 00:04.500
Shelf B2. Integrated amplifier.

1
01:00:02.250 --> 01:00:07.750 align:start
No remote.
"""


def test_start_and_length_of_a_webvtt(tmp_path: Path) -> None:
    """The note tells the start with its zone, the last cue's end is the length (WebVTT: hours are optional)."""
    (tmp_path / "memo.vtt").write_text(VTT, encoding="utf-8")
    found = read_transcript(tmp_path / "memo.vtt")
    assert found.duration_s == 3607.75
    assert (found.times[0].source, found.times[0].at) == (NOTE, datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC))
    assert (found.kind, found.transcript) == ("transcript", tmp_path / "memo.vtt")


@pytest.mark.parametrize("line", [
    "NOTE started_at 2026-05-14T09:12:03-04:00", "started_at: 2026-05-14T09:12:03-04:00",
    "NOTE\nstarted_at 2026-05-14 09:12:03 -0400", "started_at = 2026-05-14T13:12:03Z",
])
def test_spellings_of_the_start(tmp_path: Path, line: str) -> None:
    """The start is found in a comment of one or two lines and in plain notes."""
    (tmp_path / "a.txt").write_text(f"{line}\n\nShelf B2.\n", encoding="utf-8")
    assert read_transcript(tmp_path / "a.txt").times[0].at == datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)


def test_an_unreadable_start_is_remarked(tmp_path: Path) -> None:
    """A start that is no time is not passed over in silence."""
    (tmp_path / "a.txt").write_text("NOTE started_at nine fifteen\n\nShelf B2.", encoding="utf-8")
    found = read_transcript(tmp_path / "a.txt")
    assert "started_at cannot be read" in found.remarks[0]


def test_name_then_file_time(tmp_path: Path) -> None:
    """Without a note the name tells the start, and the file's time its end; plain notes have no length."""
    (tmp_path / "2026-05-14 09.12.03.txt").write_text("Shelf B2.", encoding="utf-8")
    path = touch(tmp_path / "2026-05-14 09.12.03.txt", datetime(2026, 5, 14, 14, 0, tzinfo=UTC))
    found = read_transcript(path)
    assert [(m.source, m.marks) for m in found.times] == [("file name", "start or end"), ("file time", "end")]
    assert found.duration_s is None


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    """Notes saved by any common editor are read."""
    (tmp_path / "a.txt").write_bytes("Café shelf – no remote".encode(encoding))
    assert read_text(tmp_path / "a.txt") == "Café shelf – no remote"


@pytest.mark.parametrize(("data", "why"), [
    (b"\x00\x01\x02\xff" * 100, "is no text"), (b"   \n\n", "holds no words"), (b"", "holds no words"),
    (b"a" * ((16 << 20) + 1), "is larger than 16 MB"),
])
def test_what_is_no_text_says_so(tmp_path: Path, data: bytes, why: str) -> None:
    """A binary, blank or giant text is an error that says which."""
    (tmp_path / "a.txt").write_bytes(data)
    with pytest.raises(CaptureError, match=why):
        read_text(tmp_path / "a.txt")


@pytest.mark.parametrize(("text", "end"), [
    ("", None), ("words only", None), ("00:00.000 --> 00:01.5", None), ("00:01,000 --> 00:02,500", 2.5),
    ("00:05.000 --> 00:09.000\nlate\n\n00:01.000 --> 00:02.000\nearly", 9.0),
])
def test_last_cue(text: str, end: float | None) -> None:
    """The length is the latest end of any cue."""
    assert cue_end(text) == end
