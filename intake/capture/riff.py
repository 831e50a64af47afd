"""WAV files: the times in their `bext` and `INFO` chunks, and whether all their sound is there.

`bext` by EBU Tech 3285: OriginationDate at byte 320, OriginationTime at 330, TimeReference (samples since midnight) at
338. `ICRD` in a LIST of type INFO holds the creation date, seldom with a time of day.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import BinaryIO

MAX_CHUNKS = 1024
_DATE = re.compile(rb"(\d{4})[-_: .](\d{2})[-_: .](\d{2})")
_TIME = re.compile(rb"(\d{2})[-_: .](\d{2})[-_: .](\d{2})")
_UNKNOWN_SIZES = (0, 0xFFFFFFFF)     # a recorder that streams, or one that lost power, leaves these


@dataclass(frozen=True)
class WavFacts:
    """`origination`: local time from bext; `created`: the text of ICRD; `short_by`: bytes of sound that are missing."""

    origination: datetime | None = None
    created: str = ""
    short_by: int = 0


def wav_facts(path: Path) -> WavFacts:
    """Read the header chunks of a WAV or RF64 file; OSError passes through."""
    bext, created, rate, short_by, long_size = b"", "", 0, 0, None
    with path.open("rb") as file:
        end = file.seek(0, 2)
        for name, at, size in _chunks(file, 12, end):
            if name == b"bext":
                bext = _read(file, at, min(size, 602))
            elif name == b"fmt ":
                rate = int.from_bytes(_read(file, at + 4, 4), "little")
            elif name == b"LIST" and _read(file, at, 4) == b"INFO":
                created = created or _creation(file, at + 4, min(at + size, end))
            elif name == b"ds64":
                long_size = int.from_bytes(_read(file, at + 8, 8), "little")
            elif name == b"data" and size not in _UNKNOWN_SIZES:
                short_by = max(0, at + size - end)
            elif name == b"data" and long_size:
                short_by = max(0, at + long_size - end)
    return WavFacts(parse_bext(bext, rate), created, short_by)


def parse_bext(content: bytes, rate: int) -> datetime | None:
    """The local start from a bext chunk; TimeReference refines it where both name the same second or so."""
    day, clock = _DATE.match(content[320:330]), _TIME.match(content[330:338])
    if not day or not clock:
        return None
    try:
        at = datetime(*(int(part) for part in (*day.groups(), *clock.groups())))  # type: ignore[arg-type]  # six numbers
    except ValueError:
        return None
    samples = int.from_bytes(content[338:346], "little")
    if samples and rate:
        exact = samples / rate
        second = at.hour * 3600 + at.minute * 60 + at.second
        if abs(exact - second) < 1.5:
            return at + timedelta(seconds=round(exact - second, 6))
    return at


def _creation(file: BinaryIO, start: int, end: int) -> str:
    for name, at, size in _chunks(file, start, end):
        if name == b"ICRD":
            return _read(file, at, min(size, 64)).split(b"\0")[0].decode("ascii", "replace")
    return ""


def _chunks(file: BinaryIO, start: int, end: int) -> list[tuple[bytes, int, int]]:
    """Name, place and size of the chunks between two places; chunks start on even bytes."""
    found: list[tuple[bytes, int, int]] = []
    at = start
    while at + 8 <= end and len(found) < MAX_CHUNKS:
        head = _read(file, at, 8)
        size = int.from_bytes(head[4:8], "little")
        found.append((head[:4], at + 8, size))
        at += 8 + size + size % 2
    return found


def _read(file: BinaryIO, at: int, size: int) -> bytes:
    file.seek(at)
    return file.read(size)
