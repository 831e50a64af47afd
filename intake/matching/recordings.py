"""Recordings that do not know when they began, laid where the pictures say.

A recording whose start rests on a copy's file time, or on nothing, may lie anywhere. Pictures
taken during it carry its rhythm: the search for a camera's offset, run for that recording alone,
finds where it fits. Where it fits nowhere clearly, it stays where it was, and stays uncertain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from intake.capture.walk import Photo
from intake.matching.cameras import cameras
from intake.matching.clocks import Search, corrected
from intake.matching.coefficients import Coefficients, load
from intake.matching.types import ClockOffset, Cue, Stretch, Timeline, Visit

LEAST = 4                # pictures that a recording needs to be laid by them
NEAR = 45.0              # pictures this close to a recording that lies fast are its own


def place_recordings(
    photos: Sequence[Photo], timeline: Timeline, offsets: Sequence[ClockOffset],
    *, coefficients: Coefficients | None = None,
) -> Timeline:
    """The timeline with its uncertain recordings moved to where the pictures fit, as far as they tell.

    The cameras' offsets must be known, at least of one camera. Where no recording is certain,
    the one with the most pictures is taken as fast, as only the others' distance from it matters.
    """
    c = coefficients or load()
    uncertain = [r for r in timeline.recordings if not r.certain]
    if not uncertain or len(timeline.recordings) < 2:
        return timeline
    times = _true_times(photos, timeline, offsets)
    if not timeline.certain and times:
        most = max(uncertain, key=lambda r: sum(r.start - 5 <= t <= r.end + 5 for t in times))
        uncertain.remove(most)
    fast = [r for r in timeline.recordings if r not in uncertain]
    for r in uncertain:
        free = [t for t in times if not any(x.start - NEAR <= t <= x.end + NEAR for x in fast)]
        shift = _shift_of(r, timeline, free, fast, c)
        if shift is not None:
            timeline = _moved(timeline, r, shift)
            fast.append(replace(r, start=r.start + shift, end=r.end + shift))
    return timeline


def _true_times(photos: Sequence[Photo], timeline: Timeline, offsets: Sequence[ClockOffset]) -> list[float]:
    known = {o.camera: o for o in offsets if o.known}
    return sorted(corrected(s.clock, known[camera.name]) for camera in cameras(photos, timeline)
                  if camera.name in known for s in camera.dated if s.clock is not None)


def _shift_of(r: Stretch, timeline: Timeline, free: Sequence[float], fast: Sequence[Stretch], c: Coefficients
              ) -> float | None:
    """How far to move a recording so that it fits the pictures nobody else explains; None where that is not clear."""
    own = [v for v in timeline.visits if r.start - 1 <= v.start <= r.end]
    if len(free) < LEAST or not own:
        return None
    alone = Timeline(timeline.zero, (replace(r, certain=False),), tuple(own),
                     tuple(s for s in timeline.speech if r.start - 1 <= s[0] <= r.end + 1),
                     tuple(q for q in timeline.cues if r.start - 1 <= q.start <= r.end + 1), timeline.utc_offset_min)
    best: ClockOffset | None = None
    for group in _bursts(free, r.end - r.start):
        if len(group) >= LEAST:
            found = Search(r.recording, np.array(group), alone, c).run()
            start, end = r.start + found.offset_s, r.end + found.offset_s
            clear = found.known and not any(start < x.end and end > x.start for x in fast)
            if clear and (best is None or found.photos > best.photos):
                best = found
    return best.offset_s if best is not None else None


def _bursts(times: Sequence[float], length: float) -> list[list[float]]:
    """Pictures parted where there is a pause longer than a recording of that length could bridge by much."""
    out: list[list[float]] = []
    for t in times:
        if out and t - out[-1][-1] <= max(60.0, length / 3):
            out[-1].append(t)
        else:
            out.append([t])
    return out


def _moved(timeline: Timeline, r: Stretch, by: float) -> Timeline:
    """The timeline with one recording, and all that was said in it, moved."""
    def inside(t: float) -> bool:
        return r.start - 0.5 <= t <= r.end + 0.5
    visits = [Visit(v.unit, v.start + by, v.end + by, v.named + by if v.named is not None else None)
              if inside(v.start) else v for v in timeline.visits]
    cues = [Cue(q.kind, q.start + by, q.end + by, q.strength, q.words) if inside(q.start) else q for q in timeline.cues]
    speech = [(a + by, b + by) if inside(a) else (a, b) for a, b in timeline.speech]
    recordings = [replace(x, start=x.start + by, end=x.end + by, source="rhythm of pictures") if x == r else x
                  for x in timeline.recordings]
    return replace(timeline, recordings=tuple(recordings), visits=tuple(sorted(visits, key=lambda v: v.start)),
                   cues=tuple(sorted(cues, key=lambda q: q.start)), speech=tuple(sorted(speech)))
