"""The one module that opens sound containers: length, tags and silence of a recording, by PyAV.

Packets are read one after the other and thrown away, so an hour of sound needs no more memory than
a second; damaged headers that promise days or a packet a byte are given up early.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from intake.errors import CaptureError

NO_SOUND_HINT = "Copy it again from the phone and see whether it plays there."
BOXED = ("m4a", "mp4", "mov", "3gp")
SLACK_S = 1.0                   # seconds by which header and sound may differ
_QUIET = 1.5 / 32768            # a lossy codec gives back silence within a step of 16 bits
_LONGEST_S = 48 * 3600.0
_PIECES_IN_VAIN = 3000
_MANY = 2_000_000               # packets; eleven hours of the shortest that a telephone codec makes
_DEMUXERS = {"wav": "wav", "m4a": "mov", "mp4": "mov", "mov": "mov", "3gp": "mov", "aac": "aac", "mp3": "mp3",
             "ogg": "ogg", "flac": "flac", "amr": "amr", "aiff": "aiff", "caf": "caf", "webm": "matroska"}
_GUESSED = ("aac", "amr")       # no table at all: the header's length is guessed from the file's size


@dataclass(frozen=True)
class Sound:
    """What the container says: `told_s` by its header, `there_s` by its packets and bytes; tags in lower case."""

    told_s: float
    there_s: float
    read_bytes: int
    tags: dict[str, str]
    has_picture: bool = False


def probe(path: Path, kind: str, *, count_packets: bool) -> Sound:
    """Length and tags of a recording; with `count_packets` its sound is followed to the end.

    Raises CaptureError where there is no sound track or nothing in it.
    """
    with _opened(path, kind) as container:
        stream = _sound_track(container, path)
        tags = {key.lower(): value for source in (stream.metadata, container.metadata) for key, value in source.items()}
        told = _seconds(stream.duration, stream.time_base) or (container.duration or 0) / 1_000_000
        there, read = told, 0
        if count_packets or told <= 0:
            there, read = _walk_packets(container, stream)
            if kind not in _GUESSED and there > 0 and abs(told - there) <= SLACK_S:
                there = told
        if there <= 0:
            raise CaptureError("holds no sound.", path=path, hint=NO_SOUND_HINT)
        if there > _LONGEST_S:
            raise CaptureError("is damaged: it claims to be days long.", path=path, hint=NO_SOUND_HINT)
        return Sound(max(told, 0.0), there, read, tags, has_picture=bool(container.streams.video))


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
    """The open container; the content chooses the demuxer, and the name is never read as an address."""
    import av

    try:
        with av.open(f"file:{path}", format=_DEMUXERS[kind], metadata_errors="replace") as container:
            yield container
    except av.error.FFmpegError as error:
        raise CaptureError(_why_unreadable(kind), path=path, hint=NO_SOUND_HINT) from error


def _why_unreadable(kind: str) -> str:
    if kind in BOXED:
        return "cannot be opened: the recording was not finished, or only part of it was copied."
    return f"cannot be opened: it begins like {kind} sound, but what follows is damaged."


def _sound_track(container: Any, path: Path) -> Any:
    if not container.streams.audio:
        raise CaptureError("has no sound track.", path=path, hint=NO_SOUND_HINT)
    return container.streams.audio[0]


def _walk_packets(container: Any, stream: Any) -> tuple[float, int]:
    """Seconds of sound that the packets cover, and their bytes; a place that cannot be read ends it."""
    base = float(stream.time_base or 0)
    first, last, summed, read, count = None, 0, 0, 0, 0
    for packet in _packets(container, stream):
        length = packet.duration or 0
        summed, read, count = summed + length, read + packet.size, count + 1
        if packet.pts is not None:
            first = packet.pts if first is None else min(first, packet.pts)
            last = max(last, packet.pts + length)
        if summed * base > _LONGEST_S or (count > _MANY and read < 4 * count):
            return _LONGEST_S * 2, read      # a damaged header that makes a packet of every byte, or a year of a second
    return base * (summed if first is None else max(summed, last - max(first, 0))), read


def _frames(container: Any, stream: Any) -> Iterator[Any]:
    """The decoded pieces of sound; those that cannot be decoded are passed over, as the recognizer does.

    Ends where thousands of pieces in a row give nothing.
    """
    import av

    in_vain = 0
    for packet in _packets(container, stream):
        try:
            frames = packet.decode()
        except av.error.FFmpegError:
            frames = []
        in_vain = 0 if frames else in_vain + 1
        yield from frames
        if in_vain > _PIECES_IN_VAIN:
            return


def _packets(container: Any, stream: Any) -> Iterator[Any]:
    """The packets of the sound track up to the first place that cannot be read."""
    import av

    packets = container.demux(stream)
    try:
        while (packet := next(packets, None)) is not None:
            if packet.size:
                yield packet
    except av.error.FFmpegError:
        return                     # what was read so far is what is there; the caller compares it with the header


def _peak(frame: Any) -> float:
    """The largest sample of a frame, 0 to 1."""
    import numpy as np

    samples = frame.to_ndarray()
    if samples.size == 0:
        return 0.0
    middle = 128.0 if samples.dtype == np.uint8 else 0.0
    scale = float(np.iinfo(samples.dtype).max) - middle if np.issubdtype(samples.dtype, np.integer) else 1.0
    return max(float(samples.max()) - middle, middle - float(samples.min())) / scale


def _seconds(count: int | None, base: Any) -> float:
    return float(count * base) if count and base else 0.0
