"""How likely a picture of each unit is at each second of a walk: the habits of people who talk and photograph.

A unit's first picture is usually taken just after it is named, sometimes before; a last one as
the talk about it ends; others anywhere in between. Strays happen, most of all in asides and
where somebody says so. Every rate is per second. `Line` is a timeline made ready for that.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from intake.matching.coefficients import Coefficients
from intake.matching.types import Cue, Timeline

Floats = NDArray[np.float64]

GRID = 0.1          # seconds, of the table of pauses
REACH_BEFORE = 45.0  # a picture this long before a visit cannot be its own
REACH_AFTER = 60.0


@dataclass(frozen=True)
class Slot:
    """A visit as the chain of pictures sees it; `unit` None is a spoken stray, with one picture at most."""

    unit: str | None
    start: float
    end: float
    named: float
    named_known: bool = True
    can_name: bool = True
    can_close: bool = True
    cue_odds: float = 0.0
    again: bool = False               # its unit was talked about before


def slots(timeline: Timeline, c: Coefficients) -> list[Slot]:
    """The visits in order, parted where a spoken stray falls within one, with those strays between them."""
    out: list[Slot] = []
    seen: set[str] = set()
    for v in timeline.visits:
        known = v.named is not None
        named = v.named if v.named is not None else v.start + min(c.shots["default_named"], (v.end - v.start) / 2)
        out.append(Slot(v.unit, v.start, max(v.end, v.start), named, named_known=known, again=v.unit in seen))
        seen.add(v.unit)
    for cue in timeline.cues:
        if cue.kind == "stray":
            out = _with_stray(out, cue)
    return out


def _with_stray(parts: list[Slot], cue: Cue) -> list[Slot]:
    odds = cue.strength / max(1e-6, 1 - cue.strength)
    stray = Slot(None, cue.start, cue.end, cue.start, can_name=False, can_close=False, cue_odds=odds)
    for i, p in enumerate(parts):
        if p.unit is not None and p.start < cue.start < p.end:
            first = replace(p, end=cue.start, named=min(p.named, cue.start), can_close=False)
            rest = replace(p, start=min(cue.end, p.end), can_name=False)
            return [*parts[:i], first, stray, rest, *parts[i + 1:]]
        if p.start >= cue.start:
            return [*parts[:i], stray, *parts[i:]]
    return [*parts, stray]


class Line:
    """A timeline turned into rates; `photos` is how many pictures are to be explained."""

    def __init__(self, timeline: Timeline, photos: int, c: Coefficients) -> None:
        self.c = c
        self.timeline = timeline
        self.slots = slots(timeline, c)
        self.start = np.array([s.start for s in self.slots])
        self.end = np.array([s.end for s in self.slots])
        self.named = np.array([s.named for s in self.slots])
        self.cue = np.array([s.cue_odds for s in self.slots])
        wait = self.named - self.start
        self.late = c.shots["late_share"] * np.clip(wait / c.shots["late_from"] - 1, 0, 1)
        self._reach = np.maximum.accumulate(self.end) if len(self.slots) else self.end
        self._first = np.minimum.accumulate(np.minimum(self.start, self.named)[::-1])[::-1] if len(self.slots) \
            else self.start
        self._share_out(max(photos, 1))
        self._lay_pauses()
        self._lay_strays(max(photos, 1))

    def _share_out(self, photos: int) -> None:
        s = self.c.shots
        talk = [p for p in self.slots if p.unit is not None]
        per_visit = photos / max(1, len(talk))
        name = s["name_top"] * (1 - np.exp(-s["name_rate"] * per_visit))
        close = s["close_top"] * (1 - np.exp(-s["close_rate"] * per_visit))
        spoken = max(sum(p.end - p.start for p in talk), 1.0)
        detail = max(per_visit - name - close, s["detail_floor"] * min(per_visit, 1.0)) * len(talk)
        can_name = np.array([p.can_name for p in self.slots], bool)
        can_close = np.array([p.can_close for p in self.slots], bool)
        name = name * np.where([p.again for p in self.slots], s["name_again"], 1.0)
        self.name_odds = np.where(can_name, name / (1 - name), 0.0)
        self.close_odds = np.where(can_close, close / (1 - close), 0.0)
        self.detail_rate = np.where(self.cue > 0, 0.0, detail / spoken)

    def _lay_pauses(self) -> None:
        """A table over time: 0 in speech, 1 in a long pause, in between for short ones; blurred."""
        p, t = self.c.pauses, self.timeline
        self._t0 = t.start - 5.0
        n = int((t.end - t.start + 10.0) / GRID) + 2
        table = np.zeros(n)
        marked = False
        for rec in t.recordings:
            inside = sorted(s for s in t.speech if s[0] < rec.end and s[1] > rec.start)
            edges = [rec.start, *(x for s in inside for x in s), rec.end]
            marked |= bool(inside)
            for a, b in zip(edges[::2], edges[1::2], strict=True):
                if inside and b - a >= p["short"]:
                    share = 1.0 if b - a >= p["long"] else p["short_share"]
                    table[int((a - self._t0) / GRID):int((b - self._t0) / GRID) + 1] = share
        k = max(1, round(p["blur"] / GRID))
        self._pause = np.convolve(table, np.ones(2 * k + 1) / (2 * k + 1), "same") if marked else table
        self.has_pauses = marked
        self._spoken = np.cumsum(table <= 0) * GRID if marked else np.zeros(n)
        self._pause_mean = self._talk_mean(self._pause)

    def _talk_mean(self, table: Floats) -> float:
        inside = np.zeros(len(table), bool)
        for rec in self.timeline.recordings:
            inside[int((rec.start - self._t0) / GRID):int((rec.end - self._t0) / GRID) + 1] = True
        return float(table[inside].mean()) if inside.any() else 0.0

    def _lay_strays(self, photos: int) -> None:
        s, t = self.c.strays, self.timeline
        recorded = sum(r.end - r.start for r in t.recordings) or 1.0
        self._stray_in = s["share"] * photos / recorded
        covered = np.zeros(len(self._pause), bool)
        for p in self.slots:
            covered[self._at(p.start):self._at(p.end) + 1] = True
        aside = np.zeros(len(covered), bool)
        for rec in t.recordings:
            self._mark_asides(covered, aside, self._at(rec.start), self._at(rec.end))
        self._aside, self._talk = aside, covered
        self._near = s["outside_share"] * photos / (2 * s["outside_scale"])
        self._far = s["far_share"] * photos / 86400.0

    def _mark_asides(self, covered: NDArray[np.bool_], aside: NDArray[np.bool_], a: int, b: int) -> None:
        least = int(self.c.strays["aside_min"] / GRID)
        gaps = np.flatnonzero(np.diff(np.concatenate([[1], covered[a:b + 1].astype(int), [1]])))
        for lo, hi in zip(gaps[::2], gaps[1::2], strict=True):
            if hi - lo >= least:
                aside[a + lo:a + hi] = True

    def _at(self, seconds: float) -> int:
        return int(np.clip((seconds - self._t0) / GRID, 0, len(self._pause) - 1))

    def window(self, a: float, b: float) -> tuple[int, int]:
        """Which slots a picture taken between `a` and `b` can belong to: a half-open range."""
        lo = int(np.searchsorted(self._reach, a - REACH_AFTER))
        hi = int(np.searchsorted(self._first, b + REACH_BEFORE))
        return lo, max(lo, hi)

    def rates(self, t: Floats, lag: Floats, lo: int, hi: int) -> tuple[Floats, Floats, Floats]:
        """Weights [len(t), hi - lo] of a first, a further and a last picture of each slot at times `t`.

        First and last are odds times density, so that slots without one need no factor of their own.
        """
        s, x = self.c.shots, t[:, None]
        named, start, end = self.named[lo:hi], self.start[lo:hi], self.end[lo:hi]
        first = self._name_density(x - named, lag[:, None])
        late = self.late[lo:hi]
        if late.any():                    # of a unit that is named late, the first is often taken as the talk begins
            first = (1 - late) * first + late * self._name_density(x - start - s["late_delay"], lag[:, None])
        first = self.name_odds[lo:hi] * first
        edge = s["edge"]
        inside = 1 / (1 + np.exp(np.clip((start - x) / edge * 3, -50, 50)))
        inside = inside / (1 + np.exp(np.clip((x - end) / edge * 3, -50, 50)))
        last = self.close_odds[lo:hi] * self._close_density(x - end, self._spoken_since(t, end))
        cue = self.cue[lo:hi]
        if cue.any():
            first = first + cue * self._cue_density(x - start)
        return first, self.detail_rate[lo:hi] * inside * self._shot_cues(t)[:, None], last

    def _name_density(self, x: Floats, lag: Floats) -> Floats:
        s = self.c.shots
        spread = s["after_sd"] + s["after_sd_per_lag"] * lag
        after = np.exp(-0.5 * ((x - lag) / spread) ** 2) / (spread * 2.5066)
        early = np.where(x < 1.0, np.exp(np.minimum(x - 1.0, 0.0) / s["early_scale"]) / s["early_scale"], 0.0)
        broad = np.where(x > 0, np.exp(-np.maximum(x, 0.0) / s["broad_scale"]) / s["broad_scale"], 0.0)
        rest = 1 - s["after_weight"] - s["early_weight"]
        out: Floats = s["after_weight"] * after + s["early_weight"] * early + rest * broad
        return out

    def _spoken_since(self, t: Floats, end: Floats) -> Floats:
        """Seconds of speech between the end of each visit and `t`: a last picture comes before the talk goes on."""
        def spoken(at: Floats) -> Floats:
            where = np.clip((at - self._t0) / GRID, 0, len(self._spoken) - 1).astype(int)
            out: Floats = self._spoken[where]
            return out
        return np.maximum(spoken(t)[:, None] - spoken(end), 0.0)

    def _close_density(self, x: Floats, spoken: Floats) -> Floats:
        s = self.c.shots
        y = x - s["close_begin"]
        on = 1 / (1 + np.exp(np.clip(-y * 4, -50, 50)))
        near = np.exp(-np.abs(y) / s["close_scale"] - spoken / s["close_speech_scale"]) / s["close_scale"]
        tail = np.exp(-np.abs(y) / s["close_tail_scale"]) / s["close_tail_scale"]
        out: Floats = on * ((1 - s["close_tail_weight"]) * near + s["close_tail_weight"] * tail)
        return out

    def _cue_density(self, x: Floats) -> Floats:
        scale = self.c.strays["cue_before"]
        out: Floats = np.exp(-np.abs(x) / scale) / (scale * np.where(x > 0, 2.0, 1.0) * 1.25)
        return out

    def _shot_cues(self, t: Floats) -> Floats:
        out = np.ones(len(t))
        for cue in self.timeline.cues:
            if cue.kind == "shot":
                out += 6.0 * cue.strength * ((t > cue.start - 2.0) & (t < cue.end + 5.0))
        return out

    def stray_rate(self, t: Floats) -> Floats:
        """The rate of pictures of no unit at times `t`."""
        s = self.c.strays
        where = np.clip((t - self._t0) / GRID, 0, len(self._pause) - 1).astype(int)
        away = np.full(t.shape, np.inf)
        for rec in self.timeline.recordings:
            away = np.minimum(away, np.maximum(np.maximum(rec.start - t, t - rec.end), 0.0))
        talk = self._stray_in * np.where(self._aside[where], s["aside_factor"],
                                         np.where(self._talk[where], s["talk_factor"], 1.0))
        out: Floats = np.where(away <= 0, talk, self._near * np.exp(-away / s["outside_scale"])) + self._far
        return out

    def log_pause(self, t: Floats, boost: float) -> Floats:
        """How much likelier a picture is at `t` for being in a pause, for one habit; log, mean about 0 in speech."""
        if boost == 1.0 or not self.has_pauses:
            return np.zeros(t.shape)
        where = (t - self._t0) / GRID
        ok = (where >= 0) & (where < len(self._pause))
        m = np.where(ok, self._pause[np.clip(where, 0, len(self._pause) - 1).astype(int)], self._pause_mean)
        out: Floats = np.log1p((boost - 1) * m) - np.log1p((boost - 1) * self._pause_mean)
        return out

    def summed(self, t: Floats, lag: float) -> Floats:
        """The rate of pictures of anything at each of the sorted times `t`, without asking of which."""
        total = self.stray_rate(t)
        for i in range(len(self.slots)):
            p = self.slots[i]
            name, close = 1 / (1 + self.name_odds[i]), 1 / (1 + self.close_odds[i])
            a, b = np.searchsorted(t, [min(p.start, p.named) - REACH_BEFORE, p.end + REACH_AFTER])
            x = t[a:b]
            first, further, last = self.rates(x, np.full(len(x), lag), i, i + 1)
            total[a:b] += (first[:, 0] * (name if p.unit else 1 / (1 + p.cue_odds))
                           + further[:, 0] + last[:, 0] * close)
        return total
