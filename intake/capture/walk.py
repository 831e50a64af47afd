"""What a capture holds: recordings and photos with their times, before anything is understood."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path


@dataclass(frozen=True)
class Moment:
    """A point in time as one file tells it.

    `at` is aware where the file names its zone, naive where it is a device's local clock.
    `source` names where it was read ("exif DateTimeOriginal", "container", "file name",
    "file time", "note", "given"). `marks` tells what the time is of: "start", "end" or
    "start or end" of a recording; a photo's is always "start" (the shutter).
    """

    at: datetime
    source: str
    marks: str = "start"


@dataclass(frozen=True)
class Recording:
    """One recording, or a written transcript that stands in for one."""

    path: Path
    name: str                              # file name, as the contract's `file`
    sha256: str
    kind: str                              # "wav", "m4a", "mp3", "ogg", "flac", "amr", "mp4", ... or "transcript"
    duration_s: float | None = None
    started_at: Moment | None = None       # the best reading
    times: tuple[Moment, ...] = ()         # every reading, best first
    transcript: Path | None = None         # a .txt or .vtt that stands in: then no decoding
    remarks: tuple[str, ...] = ()          # what a person should know of a file that is used all the same


@dataclass(frozen=True)
class Photo:
    """One photo; `taken_at` is None where the file has no believable date."""

    path: Path
    name: str
    sha256: str
    kind: str                              # "jpeg", "heic", "avif", "png"
    taken_at: Moment | None = None
    times: tuple[Moment, ...] = ()
    camera: str | None = None              # make, model and body number as the file tells; tells cameras apart
    orientation: int = 1                   # Exif Orientation 1..8 (a HEIC file is turned by its own boxes instead)
    width: int = 0                         # as stored, before it is turned
    height: int = 0
    remarks: tuple[str, ...] = ()          # what a person should know of a file that is used all the same


@dataclass(frozen=True)
class Problem:
    """A file that could not be used, or only in part, and why; `fatal` means nothing of it was used."""

    name: str
    reason: str
    fatal: bool = True


@dataclass(frozen=True)
class Walk:
    """A capture as read from disk. Recordings stand in order of their start."""

    id: str
    date: date
    utc_offset_min: int | None             # the shop's clock against UTC on that day; None = unknown
    recordings: tuple[Recording, ...] = ()
    photos: tuple[Photo, ...] = ()
    problems: tuple[Problem, ...] = field(default=())
