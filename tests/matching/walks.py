"""Makes timelines and photos from plain numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from intake.capture.walk import Moment, Photo
from intake.matching.types import Cue, Stretch, Timeline, Visit

ZERO = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
LOCAL = timedelta(hours=-4)
CAMERA = "Corvid K-1"
SHARED = Path(__file__).resolve().parents[2] / ".." / "shared"
EXAMPLES = ("2026-01-12-first-shelf", "2026-01-13-tube-shelf", "2026-01-19-speaker-row",
            "2026-01-20-returns-and-repairs", "2026-01-26-first-shelf-again")

# Eight units, unevenly long, so that the rhythm is unlike itself when it is moved.
UNEVEN = ((5, 31), (34, 50), (55, 110), (113, 131), (140, 171), (173, 185), (190, 260), (264, 287))


def line(visits: Iterable[tuple[float, float] | tuple[float, float, str]] = UNEVEN, *, end: float | None = None,
         speech: Sequence[tuple[float, float]] = (), cues: Sequence[Cue] = (), certain: bool = True,
         ambiguous: bool = False, utc_offset_min: int | None = -240) -> Timeline:
    """One recording; visits as (start, end) of u1, u2, ... or (start, end, unit); naming comes 2 s after the start."""
    own = [Visit(v[2] if len(v) > 2 else f"u{i}", v[0], v[1], v[0] + 2.0) for i, v in enumerate(visits, 1)]
    stretch = Stretch("memo-01.m4a", 0.0, end or max((v.end for v in own), default=60.0) + 4.0, certain, ambiguous,
                      "container" if certain else "file time")
    return Timeline(ZERO, (stretch,), tuple(own), tuple(speech), tuple(cues), utc_offset_min)


def photo(name: str, true_s: float | None, *, offset: float = 0.0, camera: str | None = CAMERA, zoned: bool = False,
          satellite: bool = False, file_time: float | None = None) -> Photo:
    """A photo taken at a true second of the line, as its camera's clock has it; None: it has no date."""
    times = []
    if true_s is not None:
        clock = ZERO + timedelta(seconds=true_s + offset)
        naive = (clock + LOCAL).replace(tzinfo=None)
        source = "exif GPS" if satellite else "exif DateTimeOriginal"
        times.append(Moment(clock if zoned or satellite else naive, source))
    taken = times[0] if times else None
    if file_time is not None:
        times.append(Moment(ZERO + timedelta(seconds=file_time), "file time"))
    return Photo(Path(name), name, name, "jpeg", taken, tuple(times), camera)


def shots(times: Iterable[float], *, offset: float = 0.0, camera: str | None = CAMERA, first: int = 1,
          zoned: bool = False) -> list[Photo]:
    """Photos P01, P02, ... at these true seconds (fractions kept, so that no half second is added)."""
    return [photo(f"P{i:02d}.JPG", t + 0.001, offset=offset, camera=camera, zoned=zoned)
            for i, t in enumerate(times, first)]


def usual(visits: Iterable[tuple[float, float]] = UNEVEN) -> list[float]:
    """A picture some seconds after each naming, and one as the talk about every other unit ends."""
    out = []
    for i, (start, end) in enumerate(visits):
        out.append(start + 5.0 + 0.7 * (i % 3))
        if i % 2:
            out.append(end + 1.0)
    return out
