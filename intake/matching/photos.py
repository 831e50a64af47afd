"""Every photo to a unit or to none, over the whole walk at once, with the chance that it is right.

The photos of a camera in their order, the visits in the order of talk: a chain of pictures
(intake/matching/chain.py) gives each photo its chances, averaged over what is not known of the
clock and of the photographer's habits. A photo without date stands between its neighbours by
number and may have been taken at any time between them. Each camera is a chain of its own.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from intake.capture.walk import Photo
from intake.matching.cameras import Camera, Shot, cameras
from intake.matching.chain import Step, make_steps, posterior
from intake.matching.clocks import corrected
from intake.matching.coefficients import Coefficients, load
from intake.matching.habits import Floats, Line
from intake.matching.photo_words import Wording
from intake.matching.types import ClockOffset, PhotoMatch, Timeline

LOOSE_END = 120.0     # a photo without date before the first or after the last dated one: within this
SAMPLES = 25          # moments tried for a photo without date
_Z = np.array([-1.6, -0.8, 0.0, 0.8, 1.6])


def match_photos(
    photos: Sequence[Photo], timeline: Timeline, offsets: Sequence[ClockOffset],
    *, pictured: Mapping[str, Mapping[str, float]] | None = None, coefficients: Coefficients | None = None,
) -> tuple[PhotoMatch, ...]:
    """A match for every photo, in the order of `photos`.

    A camera that `offsets` does not name is taken to have the right time, but not known to. `pictured` tells by a
    photo's name how many times likelier what is seen in it makes a unit (above 1) or less likely (below 1).
    """
    c, pictured = coefficients or load(), pictured or {}
    by_camera = {o.camera: o for o in offsets}
    found: dict[int, PhotoMatch] = {}
    for camera in cameras(photos, timeline):
        offset = by_camera.get(camera.name) or ClockOffset(camera.name, 0.0, -3600, 3600, known=False)
        for shot, match in zip(*_match_camera(camera, timeline, offset, c, pictured), strict=True):
            found[id(shot.photo)] = match
    return tuple(found[id(p)] for p in photos)


@dataclass(frozen=True)
class Place:
    """A shot in its chain: its true time on the walk's line, or the stretch in which it was taken."""

    shot: Shot
    at: float | None
    low: float
    high: float
    neighbours: tuple[int | None, int | None] = (None, None)    # of one without date: places in the chain
    lost: bool = False


def _match_camera(camera: Camera, timeline: Timeline, offset: ClockOffset, c: Coefficients,
                  pictured: Mapping[str, Mapping[str, float]]) -> tuple[list[Shot], list[PhotoMatch]]:
    places = place_shots(camera, timeline, offset)
    chained = [p for p in places if not p.lost]
    chances = chances_of(chained, timeline, offset, c, pictured)
    picks: list[str | None] = [max(own, key=lambda u: own[u]) for own in chances]
    wording = Wording(timeline)
    matches = [_match(p, own, picks, wording, offset, c) for p, own in zip(chained, chances, strict=True)]
    lost = [p for p in places if p.lost]
    reason = "it has no date, and the numbers of the files do not follow their times"
    matches += [PhotoMatch(p.shot.photo.name, None, 0.0, reasons=(reason,), why="not placed") for p in lost]
    return [p.shot for p in (*chained, *lost)], matches


def place_shots(camera: Camera, timeline: Timeline, offset: ClockOffset) -> list[Place]:
    """The shots in the order in which they were taken; those without date between their neighbours by number."""
    true = {id(s): corrected(s.clock, offset) for s in camera.shots if s.clock is not None and not s.satellite}
    true |= {id(s): s.clock for s in camera.shots if s.satellite and s.clock is not None}
    dated = sorted((s for s in camera.shots if id(s) in true), key=lambda s: true[id(s)])
    after: dict[int | None, list[Place]] = {}
    for i, s in enumerate(camera.shots):
        if id(s) in true:
            continue
        before = next((x for x in camera.shots[i - 1::-1] if id(x) in true), None) if i else None
        behind = next((x for x in camera.shots[i + 1:] if id(x) in true), None)
        key = id(before) if before is not None else None
        after.setdefault(key, []).append(_between(s, before, behind, true, timeline))
    out = list(after.get(None, []))
    for s in dated:
        t = true[id(s)]
        out += [Place(s, t, t, t), *after.get(id(s), [])]
    return _with_neighbours(out)


def _between(shot: Shot, before: Shot | None, behind: Shot | None, true: dict[int, float], timeline: Timeline) -> Place:
    if before is None and behind is None:
        return Place(shot, None, timeline.start, timeline.end)
    low = true[id(before)] if before is not None else true[id(behind)] - LOOSE_END
    high = true[id(behind)] if behind is not None else true[id(before)] + LOOSE_END
    return Place(shot, None, low, max(low, high), lost=high < low)


def _with_neighbours(places: list[Place]) -> list[Place]:
    kept = [p for p in places if not p.lost]
    out = []
    for i, p in enumerate(kept):
        if p.at is None:
            left = next((j for j in range(i - 1, -1, -1) if kept[j].at is not None), None)
            right = next((j for j in range(i + 1, len(kept)) if kept[j].at is not None), None)
            p = Place(p.shot, None, p.low, p.high, (left, right))
        out.append(p)
    return out + [p for p in places if p.lost]


def chances_of(places: Sequence[Place], timeline: Timeline, offset: ClockOffset, c: Coefficients,
               pictured: Mapping[str, Mapping[str, float]] | None = None) -> list[dict[str | None, float]]:
    """For each place the chance of every unit that comes into question, and of none (key None)."""
    if not places:
        return []
    line = Line(timeline, len(places), c)
    shifts, weights = _shifts(offset, len(places))
    lags, lag_w = np.array(c.shots["lags"]), np.array(c.shots["lag_weights"])
    shift, lag = np.repeat(shifts, len(lags)), np.tile(lags, len(shifts))
    times = [p.at - shift if p.at is not None else
             np.linspace(p.low, p.high, SAMPLES)[None, :] - shift[:, None] for p in places]
    steps = make_steps(line, times, lag)
    if pictured:
        steps = [_seen(step, pictured.get(p.shot.photo.name), line) for step, p in zip(steps, places, strict=True)]
    result = posterior(steps, len(shift))
    mix = _habit_weights(result.log_likelihood.reshape(len(shifts), len(lags)), lag_w, weights)
    units = [s.unit for s in line.slots]
    out = []
    for (lo, own), none in zip(result.slots, result.stray, strict=True):
        chance: dict[str | None, float] = {None: float(none @ mix)}
        for k, value in enumerate(mix @ own):
            unit = units[lo + k]
            chance[unit] = chance.get(unit, 0.0) + float(value)
        out.append(_sober(chance, c.posterior))
    return out


def _seen(step: Step, factors: Mapping[str, float] | None, line: Line) -> Step:
    """A picture's weights with what is seen in it."""
    if not factors:
        return step
    by = np.array([factors.get(s.unit or "", 1.0) for s in line.slots[step.lo:step.hi]])
    return Step(step.lo, step.hi, step.first * by, step.further * by, step.last * by, step.stray)


def _shifts(offset: ClockOffset, photos: int) -> tuple[Floats, Floats]:
    """Offsets tried around the estimate, as seconds added to it, with their weights."""
    spread = max((offset.high - offset.low) / 3.92, 0.05)
    z = _Z if photos < 1000 else _Z[2:3]     # so many pictures leave a fraction of a second
    bell = np.exp(-0.5 * z ** 2)
    own = 1.0 - sum(share for _, share in offset.others)
    if offset.known or not offset.others:
        return z * min(spread, 60.0), bell / bell.sum()
    shifts = np.concatenate([z * 2.0, [x - offset.offset_s for x, _ in offset.others]])
    return shifts, np.concatenate([bell / bell.sum() * own, [share for _, share in offset.others]])


def _habit_weights(fit: Floats, lag_weights: Floats, shift_weights: Floats) -> Floats:
    """Weights of [shift x habit]: the shifts as believed, the habits under each by how well they fit."""
    x = fit + np.log(lag_weights)
    own = np.exp(x - x.max(axis=1, keepdims=True))
    own /= own.sum(axis=1, keepdims=True)
    out: Floats = (own * shift_weights[:, None]).ravel()
    return out


def _sober(chance: dict[str | None, float], p: Mapping[str, float]) -> dict[str | None, float]:
    """The chances with what the model cannot foresee: a unit the language step missed, a habit it does not know."""
    raised = {unit: value ** p["match_temper"] for unit, value in chance.items() if value > 1e-9}
    total = sum(raised.values())
    if not total:
        return {None: 1.0}
    return {unit: value / total * (1 - p["unforeseen"]) for unit, value in raised.items()}


def _match(place: Place, chance: dict[str | None, float], picks: Sequence[str | None], wording: Wording,
           offset: ClockOffset, c: Coefficients) -> PhotoMatch:
    ranked = sorted(chance, key=lambda u: -chance[u])
    unit = ranked[0]
    second = next((u for u in ranked[1:] if u is not None), None)
    reasons = _reasons(place, ranked, chance, picks, wording, offset, c)
    at = wording.timeline.moment(round(place.at, 3)) if place.at is not None else None
    return PhotoMatch(
        place.shot.photo.name, unit, round(chance[unit], 4), at,
        runner_up=second if second is not None and chance[second] > 0.005 else None,
        reasons=tuple(reasons), why=wording.why(place.at, unit))


def _reasons(place: Place, ranked: Sequence[str | None], chance: dict[str | None, float], picks: Sequence[str | None],
             wording: Wording, offset: ClockOffset, c: Coefficients) -> list[str]:
    out = []
    if not offset.known and not place.shot.satellite:
        out.append(f"the clock of {offset.camera} cannot be told")
    if place.shot.by_file:
        out.append("it has no date of its own; the file's was taken")
    if place.at is not None and wording.guessed_times(place.at):
        out.append("the transcript has no times; they were guessed from its length")
    if place.at is None:
        sides = {picks[i] for i in place.neighbours if i is not None}
        if sides != {ranked[0]} or None in place.neighbours:
            out.append("it has no date; placed by its number among its neighbours")
    if place.at is not None and ranked[0] is not None and wording.is_lost_return(place.at):
        out.append("the speaker went back to something just before, and it was not understood to what")
    if ranked[0] is None and place.at is not None and wording.is_unexplained(place.at):
        out.append("of no unit, but no word says why: perhaps of one that was not understood")
    elif chance[ranked[0]] < c.flags["look_below"]:
        out.append(wording.close_call(place.at, ranked[0], ranked[1] if len(ranked) > 1 else None))
    return out
