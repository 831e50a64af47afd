"""Photos sorted by camera, with each photo's own time on the walk's line.

A camera is what the file names as one. Photos that name none go by the letters of their file name.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta, timezone
from itertools import pairwise

from intake.capture.walk import Moment, Photo
from intake.matching.types import Timeline

UNNAMED = "camera"
LEAP = 12 * 3600.0                # seconds between two photos of one camera that no walk lasts
NEAR_NUMBERS = 40                 # numbers of files further apart than this begin another run
LEAST_RUN = 4                     # photos that a run needs to be taken for another body's
LEAST_ACROSS = 3                  # of which so many lie across the other run's times
LONGER = 3600.0                   # seconds by which one camera's photos may outlast the talk
FILE_TIME = "file time"           # the source of a time that is the file's own


@dataclass(frozen=True)
class Shot:
    """A photo and its camera's clock: seconds on the walk's line as if that clock were right.

    `clock` is None for a photo without a date. `satellite` marks a time that is true by itself.
    """

    photo: Photo
    clock: float | None
    zoned: bool = False
    satellite: bool = False
    by_file: bool = False             # the time is the file's own, which proved right for its neighbours


@dataclass(frozen=True)
class Camera:
    """One camera's photos in the order in which they were taken, as far as that is known."""

    name: str
    shots: tuple[Shot, ...]

    @property
    def dated(self) -> tuple[Shot, ...]:
        """Its photos that have a date, in order of time."""
        return tuple(sorted((s for s in self.shots if s.clock is not None), key=_clock))

    @property
    def zoned(self) -> bool:
        """True where its photos name their zone."""
        dated = self.dated
        return bool(dated) and sum(s.zoned for s in dated) * 2 > len(dated)


def cameras(photos: Sequence[Photo], timeline: Timeline) -> tuple[Camera, ...]:
    """The photos by camera; a photo that names no camera joins the one whose file names look the same.

    A camera whose dates leap by half a day or more counts as several.
    """
    groups: dict[str, list[Photo]] = {}
    patterns: dict[str, Counter[str]] = {}
    for p in photos:
        if p.camera:
            groups.setdefault(p.camera, []).append(p)
            patterns.setdefault(_pattern(p.name), Counter())[p.camera] += 1
    nameless = {_pattern(p.name) for p in photos if not p.camera and _pattern(p.name) not in patterns}
    for p in photos:
        if not p.camera:
            like = patterns.get(_pattern(p.name))
            other = UNNAMED if len(nameless) <= 1 else f"{UNNAMED} {_pattern(p.name)}"
            groups.setdefault(like.most_common(1)[0][0] if like else other, []).append(p)
    return tuple(part for name, own in sorted(groups.items())
                 for body in _bodies(_camera(name, own, timeline), timeline)
                 for part in _sessions(body, timeline))


def _bodies(camera: Camera, timeline: Timeline) -> list[Camera]:
    """The camera, parted where two bodies of one model took its photos and no body number tells them apart.

    A camera counts its files up. Runs of neighbouring numbers whose times lie across each other, or further apart
    than the walk is long, are not of one clock; each needs enough photos to have a rhythm.
    """
    runs: list[list[Shot]] = []
    for s in camera.shots:
        if runs and _follows(runs[-1][-1].photo.name, s.photo.name):
            runs[-1].append(s)
        else:
            runs.append([s])
    bodies: list[list[Shot]] = []
    for run in runs:
        own = next((b for b in bodies if not _apart(b, run, timeline)), None)
        if own is not None:
            own += run
        else:
            bodies.append(list(run))
    if len(bodies) < 2:
        return [camera]
    return [Camera(f"{camera.name} ({body[0].photo.name.rsplit('.', 1)[0]} on)", tuple(body)) for body in bodies]


def _follows(name: str, other: str) -> bool:
    """Whether a file's number comes soon after another's, in the same way of naming."""
    if _pattern(name) != _pattern(other):
        return False
    a, b = (re.findall(r"\d+", n.rsplit(".", 1)[0]) for n in (name, other))
    return bool(a) and len(a) == len(b) and a[:-1] == b[:-1] and 0 <= int(b[-1][-9:]) - int(a[-1][-9:]) <= NEAR_NUMBERS


def _apart(body: Sequence[Shot], run: Sequence[Shot], timeline: Timeline) -> bool:
    """Whether two runs of numbers cannot be of one clock."""
    a = sorted(s.clock for s in body if s.clock is not None)
    b = sorted(s.clock for s in run if s.clock is not None)
    if min(len(a), len(b)) < LEAST_RUN:
        return False
    if len(set(a) & set(b)) * 2 > min(len(a), len(b)):        # edited copies keep the dates of their originals
        return False
    across = max(sum(a[0] < t < a[-1] for t in b), sum(b[0] < t < b[-1] for t in a))
    return across >= LEAST_ACROSS or max(a[-1], b[-1]) - min(a[0], b[0]) > timeline.end - timeline.start + LONGER


def _sessions(camera: Camera, timeline: Timeline) -> list[Camera]:
    """The camera, parted where its dates leap by more than a walk can last: its clock was set or lost in between.

    Each part has an offset of its own. The part nearest to the walk keeps the name, the others add when they begin.
    """
    dated = camera.dated
    cuts = [i for i, (a, b) in enumerate(pairwise(dated), 1) if _clock(b) - _clock(a) > LEAP]
    if not cuts:
        return [camera]
    parts = [dated[a:b] for a, b in pairwise([0, *cuts, len(dated)])]
    nearest = min(parts, key=lambda part: abs(_clock(part[len(part) // 2]) - timeline.start))
    own = {id(s): i for i, part in enumerate(parts) for s in part}
    out: list[list[Shot]] = [[] for _ in parts]
    last = next(own[id(s)] for s in camera.shots if id(s) in own)
    for s in camera.shots:                       # one without date goes with the one before it by number
        last = own.get(id(s), last)
        out[last].append(s)
    return [Camera(camera.name if part is nearest else f"{camera.name} ({_begin(part[0])})", tuple(shots))
            for part, shots in zip(parts, out, strict=True)]


def _begin(shot: Shot) -> str:
    return f"{shot.photo.taken_at.at:%Y-%m-%d %H:%M}" if shot.photo.taken_at is not None else "undated"


def _camera(name: str, photos: Sequence[Photo], timeline: Timeline) -> Camera:
    whole = _whole_seconds(photos)
    shots = [_shot(p, timeline, 0.5 if whole else 0.0) for p in sorted(photos, key=lambda p: by_number(p.name))]
    return Camera(name, tuple(_file_times(shots, timeline)))


def _shot(photo: Photo, timeline: Timeline, half: float) -> Shot:
    if photo.taken_at is None or photo.taken_at.source == FILE_TIME:
        return Shot(photo, None)
    seconds = on_line(photo.taken_at.at, timeline)
    satellite = is_satellite(photo.taken_at)
    return Shot(photo, seconds + (0.0 if satellite else half), photo.taken_at.at.tzinfo is not None, satellite)


def is_satellite(moment: Moment) -> bool:
    """True for a time that came from satellites and not from the camera's own clock."""
    return "gps" in moment.source.lower()


def on_line(at: datetime, timeline: Timeline) -> float:
    """A time as seconds from the timeline's zero; where one side knows no zone, wall clocks are compared."""
    zero = timeline.zero
    if at.tzinfo is not None and zero.tzinfo is not None:
        return (at - zero).total_seconds()
    if at.tzinfo is None and zero.tzinfo is not None:
        zone = timezone(timedelta(minutes=timeline.utc_offset_min)) if timeline.utc_offset_min is not None else UTC
        zero = zero.astimezone(zone)
    return (at.replace(tzinfo=None) - zero.replace(tzinfo=None)).total_seconds()


def _whole_seconds(photos: Sequence[Photo]) -> bool:
    """True where a clock writes no fraction: its seconds are cut off, half a second is lost on average."""
    own = [p.taken_at.at for p in photos if p.taken_at is not None and not is_satellite(p.taken_at)
           and p.taken_at.source != FILE_TIME]
    return bool(own) and all(at.microsecond == 0 for at in own)


def _file_times(shots: list[Shot], timeline: Timeline) -> list[Shot]:
    """Undated photos take their file's time where the dated ones of the same camera prove such times right.

    Where no photo of the camera has another date there is no proof; then file times stand if the capture took them.
    """
    dated = [(s.clock, s.photo) for s in shots if s.clock is not None]
    if not dated:
        return [replace(s, clock=on_line(s.photo.taken_at.at, timeline), zoned=True, by_file=True)
                if s.photo.taken_at is not None else s for s in shots]
    gaps = sorted(clock - on_line(at, timeline) for clock, p in dated for at in [_file_time(p)] if at is not None)
    if len(gaps) < 3 or gaps[len(gaps) * 9 // 10] - gaps[len(gaps) // 10] > 2.5:
        return shots
    shift = gaps[len(gaps) // 2]
    return [replace(s, clock=on_line(at, timeline) + shift, by_file=True)
            if s.clock is None and (at := _file_time(s.photo)) is not None else s for s in shots]


def _file_time(photo: Photo) -> datetime | None:
    return next((m.at for m in photo.times if m.source == FILE_TIME), None)


def by_number(name: str) -> tuple[tuple[int, str], ...]:
    """A key that sorts P9 before P10."""
    parts = re.split(r"(\d+)", name.casefold())
    return tuple((int(part), "") if part.isdecimal() else (0, part) for part in parts if part)


def _pattern(name: str) -> str:
    return re.sub(r"\d+", "", name.rsplit(".", 1)[0]).casefold().strip(" _-")


def _clock(shot: Shot) -> float:
    return shot.clock if shot.clock is not None else 0.0
