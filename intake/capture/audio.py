"""How long a recording is and every time its file tells; the only module that opens sound containers.

Packets are read one after the other and thrown away, so an hour of sound needs no more memory than
a second. Which of the times is the start, starts.py decides with the whole capture in view.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from intake.capture.boxes import MovieTimes, movie_times
from intake.capture.exif import FILE_NAME, FILE_TIME, file_time
from intake.capture.riff import WavFacts, wav_facts
from intake.capture.stamps import parse_stamp, time_in_name
from intake.capture.walk import Moment, Recording
from intake.errors import CaptureError

CREATION_KEY = "container creation date with zone"
CONTAINER = "container creation time"
BEXT = "wav bext"
ID3 = "id3 date"
TAG = "container date"
TO_THE_MINUTE = " (to the minute)"
BROKEN_OFF = "It breaks off: {there} of {told} are there, and these are used. Copy it again from the phone."
SILENT = "It is silent: no sample in it differs from zero. Was the microphone covered, muted or in use by another app?"
NO_SOUND_HINT = "Copy it again from the phone and see whether it plays there."
MOVING_PHOTO_S = 6.0
_APPLE_DATE = "com.apple.quicktime.creationdate"
_APPLE_PAIR = "com.apple.quicktime.content.identifier"
_QUIET = 1.5 / 32768           # a lossy codec gives back silence within a step of 16 bits
_SHORT = 1.0                   # seconds by which header and sound may differ
_DEMUXERS = {"wav": "wav", "m4a": "mov", "mp4": "mov", "mov": "mov", "3gp": "mov", "aac": "aac", "mp3": "mp3",
             "ogg": "ogg", "flac": "flac", "amr": "amr", "aiff": "aiff", "caf": "caf", "webm": "matroska"}
_BOXED = ("m4a", "mp4", "mov", "3gp")


@dataclass(frozen=True)
class Sound:
    """What the container says: `told_s` by its header, `there_s` by its packets, and its tags in lower case."""

    told_s: float
    there_s: float
    tags: dict[str, str]
    has_picture: bool = False


def read_recording(path: Path, *, kind: str, name: str | None = None, sha256: str = "") -> Recording:
    """Read length and times of one recording; `started_at` is left open, `times` holds each reading as found.

    Raises CaptureError where nothing can be heard from it; what is heard only in part carries a remark.
    """
    try:
        boxed = movie_times(path) if kind in _BOXED else MovieTimes()
        wav = wav_facts(path) if kind == "wav" else WavFacts()
        changed = path.stat().st_mtime
        sound = probe(path, kind, count_packets=kind not in _BOXED or not boxed.whole)
        silent = is_silent(path, kind)
    except OSError as error:
        raise CaptureError(f"cannot be read: {error.strerror or error}.", path=path,
                           hint="Check the file's permission, or copy it again.") from error
    remarks = [SILENT] if silent else []
    if _breaks_off(kind, sound, boxed, wav, path):
        remarks.append(BROKEN_OFF.format(there=_length(sound.there_s), told=_length(max(sound.told_s, sound.there_s))))
    return Recording(path=path, name=name or path.name, sha256=sha256, kind=kind, duration_s=round(sound.there_s, 3),
                     times=tuple(_readings(path, sound, boxed, wav, changed)), remarks=tuple(remarks))


def is_moving_photo(path: Path, kind: str, recording: Recording) -> bool:
    """Whether a film is the few seconds that a phone keeps beside a photo, and so no recording of a walk."""
    if kind not in ("mov", "mp4") or (recording.duration_s or 0) > MOVING_PHOTO_S:
        return False
    sound = probe(path, kind, count_packets=False)
    return sound.has_picture and _APPLE_PAIR in sound.tags


def probe(path: Path, kind: str, *, count_packets: bool) -> Sound:
    """Length and tags of a recording; with `count_packets` its sound is followed to the end.

    Raises CaptureError where there is no sound track or nothing in it.
    """
    with _opened(path, kind) as container:
        stream = _sound_track(container, path)
        tags = {key.lower(): value for source in (stream.metadata, container.metadata) for key, value in source.items()}
        told = _seconds(stream.duration, stream.time_base) or (container.duration or 0) / 1_000_000
        there = told
        if count_packets or told <= 0:
            there = _walk_packets(container, stream)
        if there <= 0:
            raise CaptureError("holds no sound.", path=path, hint=NO_SOUND_HINT)
        return Sound(max(told, 0.0), there, tags, has_picture=bool(container.streams.video))


def is_silent(path: Path, kind: str) -> bool:
    """Whether every sample is zero; stops at the first that is not, so an ordinary recording costs a moment.

    Raises CaptureError where not a single piece can be decoded.
    """
    with _opened(path, kind) as container:
        heard = False
        for frame in _frames(container, _sound_track(container, path)):
            heard = True
            if _peak(frame) > _QUIET:
                return False
        if not heard:
            raise CaptureError("is damaged: its sound cannot be decoded.", path=path, hint=NO_SOUND_HINT)
        return True


@contextmanager
def _opened(path: Path, kind: str) -> Iterator[Any]:
    """The open container; the demuxer is the one that the content asks for, and the name is never read as an address."""
    import av

    try:
        with av.open(f"file:{path}", format=_DEMUXERS[kind], metadata_errors="replace") as container:
            yield container
    except av.error.FFmpegError as error:
        raise CaptureError(_why_unreadable(kind, error), path=path, hint=NO_SOUND_HINT) from error


def _why_unreadable(kind: str, error: Exception) -> str:
    if kind in _BOXED:
        return "cannot be opened: the recording was not finished, or only part of it was copied."
    return f"cannot be opened as a {kind} recording: it is damaged ({error.args[-1] if error.args else error})."


def _sound_track(container: Any, path: Path) -> Any:
    if not container.streams.audio:
        raise CaptureError("has no sound track.", path=path, hint="If it should have one, copy it again from the phone.")
    return container.streams.audio[0]


def _walk_packets(container: Any, stream: Any) -> float:
    """Seconds of sound that the packets cover; a place that cannot be read ends it."""
    import av

    first, last, summed = None, 0.0, 0.0
    try:
        for packet in container.demux(stream):
            if packet.size == 0:
                continue
            length = _seconds(packet.duration, packet.time_base)
            summed += length
            if packet.pts is not None:
                at = _seconds(packet.pts, packet.time_base)
                first = at if first is None else min(first, at)
                last = max(last, at + length)
    except av.error.FFmpegError:
        pass                       # what was read so far is what is there; the caller compares it with the header
    return summed if first is None else max(summed, last - max(first, 0.0))


def _frames(container: Any, stream: Any) -> Iterator[Any]:
    """The decoded pieces of sound; pieces that cannot be decoded are passed over, as the recognizer does."""
    import av

    packets = container.demux(stream)
    while True:
        try:
            packet = next(packets, None)
            if packet is None:
                return
        except av.error.FFmpegError:
            return
        try:
            yield from packet.decode()
        except av.error.FFmpegError:
            continue


def _peak(frame: Any) -> float:
    """The largest sample of a frame, 0 to 1."""
    import numpy as np

    samples = frame.to_ndarray()
    if samples.size == 0:
        return 0.0
    if samples.dtype == np.uint8:
        return float(np.abs(samples.astype(np.int16) - 128).max()) / 128
    scale = float(np.iinfo(samples.dtype).max) if np.issubdtype(samples.dtype, np.integer) else 1.0
    return float(np.abs(samples.astype(np.float64)).max()) / scale


def _breaks_off(kind: str, sound: Sound, boxed: MovieTimes, wav: WavFacts, path: Path) -> bool:
    """Whether the file ends before its sound does, as far as its container can tell."""
    if kind in _BOXED:
        return not boxed.whole
    if kind == "wav":
        return wav.short_by > 1024
    if kind == "ogg":
        return _cut_page(path)
    if kind in ("flac", "caf", "aiff"):
        return sound.told_s - sound.there_s > _SHORT
    return False                   # mp3, aac and amr are frames without a table: a cut one is just a shorter one


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


def _readings(path: Path, sound: Sound, boxed: MovieTimes, wav: WavFacts, changed: float) -> Iterator[Moment]:
    """Every time the file tells; a container's creation time may be the start or the moment of saving."""
    zoned = parse_stamp(sound.tags.get(_APPLE_DATE, ""))
    if zoned is not None and zoned.at.tzinfo is not None:
        yield Moment(zoned.at, CREATION_KEY)
    if boxed.created is not None:
        yield Moment(boxed.created, CONTAINER, _created_marks(boxed, sound.there_s))
    if wav.origination is not None:
        yield Moment(wav.origination, BEXT)
    yield from _tag_readings(sound.tags, wav)
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


def _tag_readings(tags: dict[str, str], wav: WavFacts) -> Iterator[Moment]:
    """Dates in Vorbis comments, ID3, INFO and the like, where they have a time of day."""
    for key, text in (("date", tags.get("date", "")), ("creation_time", tags.get("creation_time", "")),
                      ("icrd", wav.created)):
        stamp = parse_stamp(text)
        if stamp is None or (key == "creation_time" and stamp.at.tzinfo is UTC and stamp.at.year < 1971):
            continue
        source = TAG if stamp.exact else TAG + TO_THE_MINUTE
        yield Moment(stamp.at, source, "start or end")


def _seconds(count: int | None, base: Any) -> float:
    return float(count * base) if count and base else 0.0


def _length(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest} s" if minutes else f"{rest} s"


def midnight(day: datetime) -> datetime:
    """The start of a day."""
    return day.replace(hour=0, minute=0, second=0, microsecond=0)
