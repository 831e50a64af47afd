"""ISO base media files (ISO/IEC 14496-12: MP4, M4A, MOV, 3GP, HEIF): their boxes and a movie's times.

Only headers are read; a file that lies about sizes costs neither time nor memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import BinaryIO

MAX_BOXES = 4096
_EPOCH_1904 = datetime(1904, 1, 1, tzinfo=UTC)
_EPOCH_1970 = datetime(1970, 1, 1, tzinfo=UTC)
_GAP_S = 2_082_844_800          # from 1904 to 1970


@dataclass(frozen=True)
class Box:
    """One box: its four-letter type and where its content lies; `whole` is False where the file ends inside it."""

    type: bytes
    start: int
    end: int
    whole: bool = True


@dataclass(frozen=True)
class MovieTimes:
    """The times in a movie header (mvhd); None where a time is not set. `whole`: no box reaches past the file's end."""

    created: datetime | None = None
    modified: datetime | None = None
    whole: bool = True


def boxes(file: BinaryIO, start: int, end: int) -> Iterator[Box]:
    """The boxes that lie between two places of a file, in order; stops at the first that makes no sense."""
    at = start
    for _ in range(MAX_BOXES):
        if at + 8 > end:
            return
        file.seek(at)
        head = file.read(16)
        size, header = int.from_bytes(head[:4], "big"), 8
        if size == 1:
            size, header = int.from_bytes(head[8:16], "big"), 16
        elif size == 0:
            size = end - at
        if size < header or len(head) < header:
            return
        yield Box(head[4:8], at + header, min(at + size, end), whole=at + size <= end)
        at += size


def movie_times(path: Path) -> MovieTimes:
    """Creation and modification time of an MP4, M4A, MOV or 3GP file; OSError passes through."""
    with path.open("rb") as file:
        size = file.seek(0, 2)
        created, modified, whole = None, None, True
        for box in boxes(file, 0, size):
            whole = whole and box.whole
            if box.type != b"moov":
                continue
            for inner in boxes(file, box.start, box.end):
                if inner.type == b"mvhd":
                    file.seek(inner.start)
                    created, modified = parse_mvhd(file.read(20))
                    break
        return MovieTimes(created, modified, whole)


def parse_mvhd(content: bytes) -> tuple[datetime | None, datetime | None]:
    """Creation and modification time from the content of an mvhd box (8.2.2: 32 bits in version 0, 64 in version 1)."""
    width = 8 if content[:1] == b"\x01" else 4
    if len(content) < 4 + 2 * width:
        return None, None
    created = int.from_bytes(content[4:4 + width], "big")
    modified = int.from_bytes(content[4 + width:4 + 2 * width], "big")
    return from_1904(created), from_1904(modified)


def from_1904(seconds: int) -> datetime | None:
    """UTC of a count of seconds since 1904-01-01; 0 means not set.

    A count that would fall before 1970 was made by one of the recorders that count from 1970
    (common practice, from memory): it is read so.
    """
    if seconds <= 0:
        return None
    try:
        return (_EPOCH_1904 if seconds >= _GAP_S else _EPOCH_1970) + timedelta(seconds=seconds)
    except OverflowError:
        return None
