"""Written transcripts (.vtt, .txt) that stand in for a recording: their text, length and start.

WebVTT by the W3C's specification: a cue's timings are "[HH:]MM:SS.mmm --> [HH:]MM:SS.mmm". The start
stands in a comment, `NOTE started_at 2026-05-14T09:12:03-04:00`.
"""

from __future__ import annotations

import re
from pathlib import Path

from intake.capture.exif import FILE_NAME, FILE_TIME, file_time
from intake.capture.sniff import looks_like_text
from intake.capture.stamps import parse_stamp, time_in_name
from intake.capture.walk import Moment, Recording
from intake.errors import CaptureError

MAX_BYTES = 16 << 20
NOTE = "note"
TRANSCRIPT = "transcript"
_STARTED = re.compile(r"^[ \t]*(?:NOTE[ \t]+)?started_at[ \t]*[:=]?[ \t]*(\S[^\r\n]{0,63})", re.MULTILINE)
_CUE = re.compile(r"(?:\d{2,4}:)?[0-5]\d:[0-5]\d[.,]\d{3}[ \t]+-->[ \t]+(?:(\d{2,4}):)?([0-5]\d):([0-5]\d)[.,](\d{3})",
                  re.ASCII)


def read_transcript(path: Path, *, name: str | None = None, sha256: str = "") -> Recording:
    """Read a transcript that stands alone; `started_at` is left open, `times` holds each reading.

    A plain text has no times inside, so its length is None. Raises CaptureError for one that cannot
    be used.
    """
    text = read_text(path)
    changed = path.stat().st_mtime
    times = list(written_starts(text))
    remarks = () if times or not _STARTED.search(text) else (
        "Its started_at cannot be read as a time. Write it as: NOTE started_at 2026-05-14T09:12:03-04:00",)
    named, written = time_in_name(path.stem), file_time(changed)
    times += [Moment(named, FILE_NAME, "start or end")] if named else []
    times += [Moment(written, FILE_TIME, "end")] if written else []
    return Recording(path=path, name=name or path.name, sha256=sha256, kind=TRANSCRIPT, duration_s=cue_end(text),
                     times=tuple(times), transcript=path, remarks=remarks)


def read_text(path: Path) -> str:
    """The text of a .txt or .vtt file: UTF-8, UTF-16 with its mark, else Windows-1252.

    Raises CaptureError where it is empty, binary, too large or unreadable.
    """
    try:
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise CaptureError(f"cannot be read: {error.strerror or error}.", path=path,
                           hint="Check the file's permission, or copy it again.") from error
    if len(data) > MAX_BYTES:
        raise CaptureError(f"is larger than {MAX_BYTES >> 20} MB; no transcript of a walk is.", path=path)
    if data and not looks_like_text(data):
        raise CaptureError("is no text, though its name says so.", path=path,
                           hint="Save the notes as plain text (UTF-8) and try again.")
    text = _decoded(data)
    if not text.strip():
        raise CaptureError("holds no words.", path=path)
    return text


def written_starts(text: str) -> list[Moment]:
    """The start that the text itself tells, if it does."""
    for found in _STARTED.finditer(text):
        stamp = parse_stamp(found[1])
        if stamp is not None:
            return [Moment(stamp.at, NOTE)]
    return []


def cue_end(text: str) -> float | None:
    """Seconds at which the last cue ends; None for a text without cues."""
    ends = [int(cue[1] or 0) * 3600 + int(cue[2]) * 60 + int(cue[3]) + int(cue[4]) / 1000
            for cue in _CUE.finditer(text)]
    return max(ends, default=None)


def _decoded(data: bytes) -> str:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")
