"""Random walks with known truth: talk, pictures and a camera clock that is off.

Written to differ from the model that judges them (intake/matching/habits.py): each walk has a
photographer of its own, with a delay drawn for each picture from a skewed distribution, pauses
made by pressing the button, bursts, late pictures, strays, pictures outside the recordings, and
a language step that misses visits and sets their borders wrong.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from intake.capture.walk import Moment, Photo
from intake.matching.types import Cue, Stretch, Timeline, Visit

ZERO = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
UTC_OFFSET_MIN = -240
CAMERA = "Camera C-1"


@dataclass(frozen=True)
class Case:
    """A walk as the program sees it, and the truth: each photo's unit, the offset at mid-walk, the drift."""

    timeline: Timeline
    photos: tuple[Photo, ...]
    units: dict[str, str | None]
    offset_s: float
    drift_s_per_h: float
    kind: str                          # how the offset was drawn
    middle_s: float = 0.0              # where the drifting clock has just that offset
    lag: tuple[float, float] | None = None    # this photographer's usual delay after the naming, and its spread
    kinds: dict[str, str] = field(default_factory=dict)    # what sort of picture each is, by name


@dataclass
class Talk:
    """True talk: visits, asides, speech; seconds from zero."""

    recordings: list[tuple[float, float]]
    visits: list[Visit]
    asides: list[tuple[float, float]]
    speech: list[tuple[float, float]]


@dataclass(frozen=True)
class Person:
    """How this one takes pictures."""

    lag: float
    lag_spread: float
    more: float                        # mean number of further pictures a unit
    close: float                       # chance of a last one as the talk ends
    skip: float                        # chance of no first picture
    early: float
    late: float
    stray: float
    pause: float                       # chance that the talk stops for the button


def person(rng: np.random.Generator) -> Person:
    """A photographer at random."""
    return Person(
        lag=rng.uniform(0.5, 8), lag_spread=rng.uniform(0.25, 0.8), more=rng.choice([0.05, 0.3, 1.0, 2.5]),
        close=rng.uniform(0, 0.7), skip=rng.choice([0.02, 0.1, 0.4]), early=rng.uniform(0, 0.12),
        late=rng.uniform(0, 0.05), stray=rng.uniform(0, 0.08), pause=rng.choice([0.0, 0.4, 0.9]))


def make_talk(rng: np.random.Generator, units: int) -> Talk:
    """Units one after another, some come back to; a break between recordings now and then."""
    t, recordings, visits, asides = rng.uniform(2, 9), [], [], []
    begin, breaks = 0.0, rng.random() < 0.3
    order = [f"u{i + 1}" for i in range(units)]
    for i in range(units - 1, 1, -1):
        if rng.random() < 0.06:
            order.insert(i + 1, order[int(rng.integers(0, i))])
    for i, unit in enumerate(order):
        if i and breaks and rng.random() < 1.5 / len(order):
            recordings.append((begin, t + 1.0))
            t += 1.0 + rng.choice([20.0, 90.0, 400.0, 2400.0]) * rng.uniform(0.5, 1.5)
            begin = t
            t += rng.uniform(1, 6)
        if rng.random() < 0.15:
            length = rng.uniform(4, 22)
            asides.append((t, t + length))
            t += length + rng.uniform(0.4, 1.2)
        length = float(np.clip(rng.lognormal(np.log(24), 0.55), 5, 150)) * (0.4 if unit in order[:i] else 1.0)
        visits.append(Visit(unit, t, t + length, t + min(length / 2, rng.uniform(0.8, 6))))
        t += length + (rng.uniform(0.6, 3.5) if rng.random() < 0.85 else rng.uniform(5, 40))
    recordings.append((begin, t + rng.uniform(1, 4)))
    speech = [s for a, b in [(v.start, v.end) for v in visits] + asides for s in _sentences(rng, a, b)]
    return Talk(recordings, visits, asides, sorted(speech))


def _sentences(rng: np.random.Generator, a: float, b: float) -> list[tuple[float, float]]:
    out, t = [], a
    while t < b - 0.8:
        end = min(b, t + rng.uniform(1.0, 6.5))
        out.append((t, end))
        t = end + (rng.uniform(0.2, 0.7) if rng.random() < 0.85 else rng.uniform(0.9, 3.0))
    return out


Shot = tuple[float, str | None, str]    # true second, unit, what sort of picture


def shoot(rng: np.random.Generator, talk: Talk, who: Person) -> list[Shot]:
    """The pictures, in order."""
    shots: list[Shot] = []
    for i, v in enumerate(talk.visits):
        named = v.named if v.named is not None else v.start
        if rng.random() > who.skip:
            x = rng.gamma(1 / who.lag_spread ** 2, who.lag * who.lag_spread ** 2)
            kind = "after the naming"
            if rng.random() < who.early:
                x, kind = -rng.uniform(0.3, 12), "before the naming"
            shots.append((named + x, v.unit, kind))
            if rng.random() < 0.12:
                shots.append((named + x + rng.uniform(1, 4), v.unit, kind))
        for _ in range(rng.poisson(who.more * min(1.0, (v.end - v.start) / 15))):
            shots.append((rng.uniform(named, v.end + 1), v.unit, "during the talk"))
        if rng.random() < who.close:
            shots.append((v.end + rng.exponential(1.5) - 0.3, v.unit, "as the talk ends"))
        if rng.random() < who.late:
            following = talk.visits[i + 1].start if i + 1 < len(talk.visits) else v.end
            shots.append((following + rng.uniform(0, 9), v.unit, "late, in the next unit's talk"))
    n = max(1, len(shots))
    for _ in range(rng.poisson(who.stray * n)):
        if talk.asides and rng.random() < 0.6:
            a, b = talk.asides[int(rng.integers(0, len(talk.asides)))]
            shots.append((rng.uniform(a, b), None, "stray"))
        else:
            shots.append((rng.uniform(0, talk.recordings[-1][1]), None, "stray"))
    if rng.random() < 0.15:
        for _ in range(int(rng.integers(1, 4))):
            side = -rng.exponential(120) if rng.random() < 0.5 else talk.recordings[-1][1] + rng.exponential(120)
            shots.append((side, None, "stray"))
    return _spread(sorted(shots, key=lambda s: s[0]))


def _spread(shots: list[Shot]) -> list[Shot]:
    out: list[Shot] = []
    for t, unit, kind in shots:
        out.append((max(t, out[-1][0] + 0.7) if out else t, unit, kind))
    return out


def _stop_for_button(rng: np.random.Generator, talk: Talk, shots: list[Shot], who: Person) -> None:
    """Cut the speech around a picture where the speaker stops for it."""
    for t, _, _ in shots:
        if rng.random() < who.pause:
            a, b = t - rng.uniform(0.4, 1.3), t + rng.uniform(0.2, 0.8)
            talk.speech = [s for x, y in talk.speech for s in ((x, min(y, a)), (max(x, b), y)) if s[1] - s[0] > 0.1]


def heard(rng: np.random.Generator, talk: Talk, strays: list[Shot], blur: float) -> Timeline:
    """The talk as the language step has it: borders moved, visits missed, some strays told by words."""
    visits = []
    for v in talk.visits:
        if rng.random() < 0.03 * blur:
            continue
        start, end = v.start + rng.normal(0, 1.2) * blur, v.end + rng.normal(0, 1.8) * blur
        named = v.named + rng.normal(0, 0.8) * blur if v.named is not None and rng.random() > 0.2 * blur else None
        visits.append(Visit(v.unit, start, max(end, start + 1), named))
    cues = tuple(Cue("stray", t + 0.5, t + 2.5, 0.8, "oops, that was the floor") for t, unit, _ in strays
                 if unit is None and rng.random() < 0.4 and any(a <= t <= b for a, b in talk.recordings))
    speech = tuple((a + rng.normal(0, 0.08), b + rng.normal(0, 0.08)) for a, b in talk.speech)
    recordings = tuple(Stretch(f"memo-{i:02d}", a, b, source="container")
                       for i, (a, b) in enumerate(talk.recordings, 1))
    return Timeline(ZERO, recordings, tuple(sorted(visits, key=lambda v: v.start)), speech, cues, UTC_OFFSET_MIN)


def draw_offset(rng: np.random.Generator) -> tuple[float, str]:
    """An offset: as clocks are, or anything within a day."""
    kind = rng.choice(["anything", "right", "seconds", "hours"], p=[0.5, 0.15, 0.2, 0.15])
    if kind == "right":
        return rng.normal(0, 0.7), kind
    if kind == "seconds":
        return float(rng.choice([-1, 1]) * np.exp(rng.uniform(np.log(3), np.log(900)))), kind
    if kind == "hours":
        return float(rng.choice([-5.5, -5, -2, -1, 1, 1, 2, 6, 9.5]) * 3600 + rng.normal(0, 30)), kind
    return rng.uniform(-86400, 86400), "anything"


def make_case(seed: int, *, units: int | None = None, blur: float = 1.0, undated: float = 0.05) -> Case:
    """One walk; the same seed gives the same walk."""
    rng = np.random.default_rng(seed)
    units = units or int(np.clip(rng.lognormal(np.log(11), 0.7), 2, 90))
    talk, who = make_talk(rng, units), person(rng)
    shots = shoot(rng, talk, who)
    _stop_for_button(rng, talk, shots, who)
    timeline = heard(rng, talk, shots, blur)
    offset, how = draw_offset(rng)
    drift = rng.normal(0, 0.5) if rng.random() < 0.8 else rng.uniform(-3, 3)
    fractions = rng.random() < 0.4
    middle = shots[len(shots) // 2][0] if shots else 0.0
    photos, units_of, kinds = [], {}, {}
    heard_units = {v.unit for v in timeline.visits}
    for i, (t, unit, kind) in enumerate(shots):
        name = f"P{i + 1:04d}.JPG"
        units_of[name] = unit
        kinds[name] = kind if unit is None or unit in heard_units else "of a unit that was not understood"
        clock = ZERO + timedelta(minutes=UTC_OFFSET_MIN, seconds=t + offset + drift * (t - middle) / 3600)
        at = clock.replace(tzinfo=None) if fractions else clock.replace(tzinfo=None, microsecond=0)
        dated = rng.random() > undated
        photos.append(Photo(Path(name), name, name, "jpeg", Moment(at, "exif DateTimeOriginal") if dated else None,
                            camera=CAMERA))
    return Case(timeline, tuple(photos), units_of, offset, drift, how, middle, (who.lag, who.lag_spread), kinds)
