"""How long a recording is, whether all of it is there, and every time its file tells.

Which of the times is the start, starts.py decides with the whole capture in view.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC
from pathlib import Path

from intake.capture.boxes import MovieTimes, movie_times
from intake.capture.exif import FILE_NAME, FILE_TIME, file_time
from intake.capture.riff import WavFacts, wav_facts
from intake.capture.sniff import id3_end
from intake.capture.sound import BOXED, SLACK_S, Sound, is_silent, probe
from intake.capture.stamps import parse_stamp, time_in_name
from intake.capture.walk import Moment, Recording
from intake.errors import CaptureError

CREATION_KEY = "container creation date with zone"
CONTAINER = "container creation time"
BEXT = "wav bext"
ID3 = "id3 date"
TAG = "container date"
TO_THE_MINUTE = " (to the minute)"
BROKEN_OFF = "It breaks off after {there}; these are used. Copy it again from the phone."
SILENT = "It is silent: no sample in it differs from zero. Was the microphone covered, muted or in use by another app?"
MOVING_PHOTO_S = 6.0
_APPLE_DATE = "com.apple.quicktime.creationdate"
_APPLE_PAIR = "com.apple.quicktime.content.identifier"
_INDEXED = (*BOXED, "ogg")    # the length stands in a table, or in the last page
_WITH_ID3 = ("mp3", "aac")


def read_recording(path: Path, *, kind: str, name: str | None = None, sha256: str = "") -> Recording:
    """Read length and times of one recording; `started_at` is left open, `times` holds each reading as found.

    Raises CaptureError where nothing can be heard from it; what is heard only in part carries a remark.
    """
    try:
        boxed = movie_times(path) if kind in BOXED else MovieTimes()
        wav = wav_facts(path) if kind == "wav" else WavFacts()
        changed = path.stat().st_mtime
        sound = probe(path, kind, count_packets=kind not in _INDEXED or not boxed.whole)
        silent = is_silent(path, kind)
    except OSError as error:
        raise CaptureError(f"cannot be read: {error.strerror or error}.", path=path,
                           hint="Check the file's permission, or copy it again.") from error
    remarks = [SILENT] if silent else []
    if _mostly_unreadable(path, kind, sound):
        remarks.append(f"Much of it is damaged: only {_length(sound.there_s)} of it can be read. "
                       "Copy it again from the phone.")
    if _breaks_off(kind, sound, boxed, wav, path):
        whole = sound.told_s - sound.there_s > SLACK_S
        of_all = f" of {_length(sound.told_s)}" if whole else ""
        remarks.append(BROKEN_OFF.format(there=_length(sound.there_s) + of_all))
    return Recording(path=path, name=name or path.name, sha256=sha256, kind=kind, duration_s=round(sound.there_s, 3),
                     times=tuple(_readings(path, kind, sound, boxed, wav, changed)), remarks=tuple(remarks))


def is_moving_photo(path: Path, kind: str, recording: Recording) -> bool:
    """Whether a film is the few seconds that a phone keeps beside a photo, and so no recording of a walk."""
    if kind not in ("mov", "mp4") or (recording.duration_s or 0) > MOVING_PHOTO_S:
        return False
    sound = probe(path, kind, count_packets=False)
    return sound.has_picture and _APPLE_PAIR in sound.tags


def _breaks_off(kind: str, sound: Sound, boxed: MovieTimes, wav: WavFacts, path: Path) -> bool:
    """Whether the file ends before its sound does, as far as its container can tell."""
    if kind in BOXED:
        return not boxed.whole
    if kind == "wav":
        return wav.short_by > 1024
    if kind == "ogg":
        return _cut_page(path)
    if kind in ("flac", "caf", "aiff", "webm") or (kind == "mp3" and _has_frame_count(path)):
        return sound.told_s - sound.there_s > max(SLACK_S, 0.01 * sound.told_s)
    return False                   # frames without a table: a cut one is just a shorter one


def _has_frame_count(path: Path) -> bool:
    """Whether an MP3's first frame holds a Xing or Info table, whose count of frames gives the length."""
    with path.open("rb") as file:
        file.seek(id3_end(file.read(10)))
        frame = file.read(64)
    return b"Xing" in frame or b"Info" in frame


def _mostly_unreadable(path: Path, kind: str, sound: Sound) -> bool:
    """Whether much of a file of bare frames is no frame: its middle was damaged, and sound is missing."""
    if kind not in ("mp3", "aac", "amr"):
        return False
    with path.open("rb") as file:
        tag = id3_end(file.read(10))
        size = file.seek(0, 2) - tag
    return sound.read_bytes < 0.8 * size - 4096


def _cut_page(path: Path) -> bool:
    """Whether an Ogg file ends inside a page (RFC 3533: 27 bytes, then a table of segment lengths)."""
    with path.open("rb") as file:
        end = file.seek(0, 2)
        file.seek(max(0, end - (1 << 17)))
        tail = file.read()
    at = tail.rfind(b"OggS")
    if at < 0 or at + 27 > len(tail):
        return at >= 0
    segments = tail[at + 26]
    return at + 27 + segments + sum(tail[at + 27:at + 27 + segments]) > len(tail)


def _readings(path: Path, kind: str, sound: Sound, boxed: MovieTimes, wav: WavFacts,
              changed: float) -> Iterator[Moment]:
    """Every time the file tells; a container's creation time may be the start or the moment of saving."""
    zoned = parse_stamp(sound.tags.get(_APPLE_DATE, ""))
    if zoned is not None and zoned.at.tzinfo is not None:
        yield Moment(zoned.at, CREATION_KEY)
    if boxed.created is not None:
        yield Moment(boxed.created, CONTAINER, _created_marks(boxed, sound.there_s))
    if wav.origination is not None:
        yield Moment(wav.origination, BEXT)
    yield from _tag_readings(kind, sound.tags, wav)
    named = time_in_name(path.stem)
    if named is not None:
        yield Moment(named, FILE_NAME, "start or end")
    written = file_time(changed)
    if written is not None:
        yield Moment(written, FILE_TIME, "end")


def _created_marks(boxed: MovieTimes, length: float) -> str:
    """A header that was last changed one recording's length after its creation was created at the start."""
    if boxed.created is None or boxed.modified is None:
        return "start or end"
    lag = (boxed.modified - boxed.created).total_seconds()
    return "start" if lag > 3 and abs(lag - length) <= 3 else "start or end"


def _tag_readings(kind: str, tags: dict[str, str], wav: WavFacts) -> Iterator[Moment]:
    """Dates in Vorbis comments, ID3, INFO and the like, where they have a time of day.

    ID3v2.4 says that its timestamps are UTC (from memory); the others say nothing.
    """
    texts = [wav.created] if kind == "wav" else [tags.get("date", "")]
    if kind not in BOXED and kind != "wav":
        texts.append(tags.get("creation_time", ""))
    for text in texts:
        stamp = parse_stamp(text)
        if stamp is None:
            continue
        at = stamp.at.replace(tzinfo=UTC) if kind in _WITH_ID3 and stamp.at.tzinfo is None else stamp.at
        source = ID3 if kind in _WITH_ID3 else TAG
        yield Moment(at, source if stamp.exact else source + TO_THE_MINUTE, "start or end")


def _length(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"

