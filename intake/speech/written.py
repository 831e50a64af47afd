"""Transcripts that a person wrote: plain text, or WebVTT by the W3C grammar (https://www.w3.org/TR/webvtt1/)."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from intake.errors import CaptureError
from intake.speech.transcript import Segment, Transcript, Word

if TYPE_CHECKING:
    from pathlib import Path

    from intake.capture.walk import Recording

WORDS_PER_S = 2.5                       # the pace given to plain text, which has no times
PAUSE_S = 0.5                           # between its lines
LONGEST_BYTES = 50_000_000
TIMING = re.compile(r"^(?P<start>[\d:.]+)[ \t]+-->[ \t]+(?P<end>[\d:.]+)(?P<settings>(?:[ \t]+\S+)*)[ \t]*$")
STAMP = re.compile(r"^(?:(?P<h>\d{2,}):)?(?P<m>[0-5]\d):(?P<s>[0-5]\d\.\d{3})$")
TAG = re.compile(r"<[^>\n]*>?")
SETTING = re.compile(r"^(?:vertical|line|position|size|align|region):\S+$")


@dataclass(frozen=True)
class Cue:
    """One cue of a WebVTT file: seconds, and the text without tags."""

    start: float
    end: float
    text: str


def read_written(recording: Recording) -> Transcript:
    """The transcript that stands in for a recording; raises CaptureError where it breaks its grammar."""
    path = recording.transcript or recording.path
    text = _text_of(path)
    timed = text.startswith("WEBVTT") or path.suffix.lower() == ".vtt"
    segments = tuple(vtt_segments(text, path) if timed else plain_segments(text))
    end = max((s.end for s in segments), default=0.0)
    return Transcript(
        recording=recording.name, sha256=recording.sha256, duration_s=round(max(end, recording.duration_s or 0.0), 3),
        segments=segments, speech=tuple((s.start, s.end) for s in segments),
        options={"written": "webvtt" if timed else "text", "times": "cues" if timed else "estimated"})


def plain_segments(text: str) -> Iterator[Segment]:
    """Each line that has words as one segment, at WORDS_PER_S. The line NOTE started_at ... is left out."""
    at = 0.0
    for line in text.splitlines():
        words = line.split()
        if not words or words[:2] == ["NOTE", "started_at"]:
            continue
        end = at + len(words) / WORDS_PER_S
        yield Segment(spread(words, at, end))
        at = end + PAUSE_S


def vtt_segments(text: str, path: Path | None = None) -> Iterator[Segment]:
    """Each cue with words as one segment; the cue's time is shared among its words by their length."""
    for cue in parse_vtt(text, path):
        words = cue.text.split()
        if words:
            yield Segment(spread(words, cue.start, cue.end))


def spread(words: Sequence[str], start: float, end: float) -> tuple[Word, ...]:
    """Words with times: each takes a share of the span by its letters."""
    weights = [len(word) + 1 for word in words]
    total, done = sum(weights), 0
    out = []
    for word, weight in zip(words, weights, strict=True):
        a = start + (end - start) * done / total
        done += weight
        b = start + (end - start) * done / total
        out.append(Word(text=word, start=round(a, 3), end=round(b, 3)))
    return tuple(out)


def parse_vtt(text: str, path: Path | None = None) -> list[Cue]:
    """The cues of a WebVTT file in order of their start. Notes, styles and regions are passed over.

    Stricter than a player, which skips what it cannot read: a cue with bad times raises CaptureError
    that names its line, for no words may get lost.
    """
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not re.match(r"^WEBVTT(?:[ \t].*)?$", lines[0]):
        raise CaptureError('this is no WebVTT file: its first line is not "WEBVTT".', path=path,
                           hint="Give notes without times the suffix .txt.")
    cues = []
    for number, block in _blocks(lines):
        cue = _cue(number, block, path)
        if cue is not None:
            cues.append(cue)
    return sorted(cues, key=lambda c: c.start)


def _blocks(lines: Sequence[str]) -> Iterator[tuple[int, list[str]]]:
    """Runs of lines between blank ones, each with the number of its first line; the header is left out.

    A line with an arrow begins a cue even without a blank line before it.
    """
    first, block = 1, [lines[0]]
    for number, line in enumerate([*lines[1:], ""], start=2):
        arrow = "-->" in line and any("-->" in old for old in block)
        if line and not arrow:
            first = number if not block else first
            block.append(line)
            continue
        if block and first != 1:
            yield first, block
        first, block = (number, [line]) if line else (number, [])


def _cue(number: int, block: Sequence[str], path: Path | None) -> Cue | None:
    """The cue in a block; None for a note, a style or a region."""
    at = next((i for i, line in enumerate(block[:2]) if "-->" in line), None)
    if at is None:
        if re.match(r"^(?:NOTE|STYLE|REGION)(?:[ \t]|$)", block[0]):
            return None
        raise CaptureError(f"line {number}: neither a cue nor a NOTE: {block[0][:40]!r}.", path=path,
                           hint="A cue begins with a line such as 00:00:01.000 --> 00:00:04.000.")
    match = TIMING.match(block[at].strip(" \t"))
    if match is None:
        raise CaptureError(f"line {number + at}: a cue's times cannot be read: {block[at]!r}.", path=path,
                           hint="They must look like 00:00:01.000 --> 00:00:04.000.")
    start, end = (_seconds(match[key], number + at, path) for key in ("start", "end"))
    if end < start:
        raise CaptureError(f"line {number + at}: a cue ends before it begins: {block[at]!r}.", path=path)
    for setting in match["settings"].split():
        if not SETTING.match(setting):
            raise CaptureError(f"line {number + at}: unknown cue setting {setting!r}.", path=path)
    return Cue(start, end, _plain_text("\n".join(block[at + 1:])))


def _seconds(stamp: str, number: int, path: Path | None) -> float:
    match = STAMP.match(stamp)
    if match is None:
        raise CaptureError(f"line {number}: {stamp!r} is no time.", path=path,
                           hint="Write [hours:]minutes:seconds.thousandths, such as 01:04.250.")
    return int(match["h"] or 0) * 3600 + int(match["m"]) * 60 + float(match["s"])


def _plain_text(payload: str) -> str:
    """A cue's words: tags (voices, classes, times, italics) taken out, entities resolved."""
    return html.unescape(TAG.sub("", payload))


def _text_of(path: Path) -> str:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise CaptureError(f"it cannot be read ({error.strerror}).", path=path,
                           hint="Check the file's permissions.") from error
    if len(data) > LONGEST_BYTES:
        raise CaptureError("it is far too long for a transcript.", path=path)
    for coding in ("utf-8-sig", "utf-16") if data[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig",):
        try:
            text = data.decode(coding)
        except UnicodeDecodeError:
            continue
        if "\x00" not in text:
            return text
    raise CaptureError("it is not written in UTF-8.", path=path, hint="Save it as UTF-8 text.")
