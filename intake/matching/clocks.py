"""How far each camera's clock is from the recordings' time, told from the capture itself.

Every offset within reach is tried: a prior (clocks are mostly right, or whole hours off) times
how well the pictures, moved by that offset, fit the talk (intake/matching/habits.py). A coarse
pass sums rates; the offsets that survive are scored by the chain of pictures, over several
habits of taking pictures. The answer is a belief over offsets; where it is broad or has
several hills, the estimate says that it does not know.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from intake.capture.walk import Photo
from intake.matching.cameras import Camera, cameras, is_satellite, on_line
from intake.matching.chain import log_likelihood, make_steps
from intake.matching.coefficients import Coefficients, load
from intake.matching.habits import Floats, Line
from intake.matching.prior import log_prior
from intake.matching.types import Anchor, ClockOffset, Timeline


def estimate_offsets(
    photos: Sequence[Photo], timeline: Timeline, given: Mapping[str, float] | None = None,
    *, anchors: Sequence[Anchor] = (), coefficients: Coefficients | None = None,
) -> tuple[ClockOffset, ...]:
    """One estimate for each camera of the capture, in order of the cameras' names.

    `given` maps a camera (or "*", for all) to an offset a person has set: it wins. A camera
    without a single dated photo gets an estimate that is not known.
    """
    c = coefficients or load()
    return tuple(_estimate(camera, timeline, given or {}, anchors, c) for camera in cameras(photos, timeline))


def _estimate(camera: Camera, timeline: Timeline, given: Mapping[str, float], anchors: Sequence[Anchor],
              c: Coefficients) -> ClockOffset:
    dated = camera.dated
    if camera.name in given or "*" in given:
        offset = given.get(camera.name, given.get("*", 0.0))
        return ClockOffset(camera.name, offset, offset - 0.5, offset + 0.5, how="given", photos=len(dated))
    satellites = _by_satellite(camera, timeline)
    if satellites is not None:
        return satellites
    if not dated:
        return ClockOffset(camera.name, 0.0, -DAY, DAY, known=False, how="no photo of it has a date")
    own = [a for a in anchors if a.camera in (None, camera.name)]
    clock = np.array([s.clock for s in dated], float)
    return Search(camera.name, clock, timeline, c, zoned=camera.zoned, anchors=own).run()


DAY = 86400.0


def _by_satellite(camera: Camera, timeline: Timeline) -> ClockOffset | None:
    """The offset from photos that carry both the camera's time and a satellite's: the median, stale fixes and all."""
    if not timeline.certain:
        return None
    if camera.dated and all(s.satellite for s in camera.dated):
        return ClockOffset(camera.name, 0.0, -1.0, 1.0, how="satellite time", photos=len(camera.dated))
    gaps = satellite_gaps([s.photo for s in camera.dated if not s.satellite], timeline)
    if len(gaps) < 3:
        return None
    middle = median(gaps)
    spread = 1.4826 * median(abs(g - middle) for g in gaps)
    half = max(1.0, 2.5 * spread / len(gaps) ** 0.5)
    return ClockOffset(camera.name, middle, middle - half, middle + half, how="satellite time", photos=len(gaps))


def satellite_gaps(photos: Sequence[Photo], timeline: Timeline) -> list[float]:
    """Camera minus satellite time of each photo that has both, seconds."""
    gaps = []
    for p in photos:
        sky = next((m for m in p.times if is_satellite(m)), None)
        own = next((m for m in p.times if "exif" in m.source.lower() and not is_satellite(m)), None)
        if sky is not None and own is not None:
            gaps.append(on_line(own.at, timeline) - on_line(sky.at, timeline))
    return gaps


@dataclass(frozen=True)
class Belief:
    """What the search holds of the offset: tried offsets and drifts with their shares, which sum to one."""

    offset: Floats
    drift: Floats
    share: Floats


class Search:
    """The search for one camera's offset: `clock` holds its pictures' own times in order, seconds on the line."""

    def __init__(self, name: str, clock: Floats, timeline: Timeline, c: Coefficients,
                 *, zoned: bool = False, anchors: Sequence[Anchor] = ()) -> None:
        self.name, self.clock, self.timeline, self.c = name, clock, timeline, c
        self.zoned, self.anchors = zoned, anchors
        self.line = Line(timeline, len(clock), c)
        self.low, self.high = self._reach()
        self.span = float(self.clock[-1] - self.clock[0])

    def _reach(self) -> tuple[float, float]:
        """Offsets that bring at least half of the pictures near the recordings."""
        early, late = np.quantile(self.clock, [0.2, 0.8])
        slack = 900.0
        return float(early - self.timeline.end - slack), float(late - self.timeline.start + slack)

    def run(self) -> ClockOffset:
        """The estimate."""
        if not self.line.slots:
            return self._answer(self._prior_belief(), "nothing was said about any unit")
        offset, drift = self._refine(*self._coarse(self._drifts()))
        return self._answer(self._close_look(offset, drift), "rhythm of pictures")

    def prior(self, d: Floats) -> Floats:
        """Log density of offsets before looking at the pictures."""
        t = self.timeline
        shifts = [0.0]
        if len(t.recordings) == 1 and t.recordings[0].ambiguous:
            shifts.append(t.recordings[0].end - t.recordings[0].start)
        local = t.utc_offset_min is not None or t.zero.tzinfo is None
        return log_prior(d, self.c, zoned=self.zoned, local_known=local, certain=t.certain,
                         shifts=shifts, anchors=self.anchors, width=self.high - self.low)

    def _prior_belief(self) -> Belief:
        d = np.arange(self.low, self.high, 1.0)
        share = np.exp(self.prior(d))
        return Belief(d, np.zeros_like(d), share / share.sum())

    def _drifts(self) -> Floats:
        """Drifts to try, seconds an hour: so fine that the capture's ends move by a second from one to the next."""
        hours = self.span / 3600
        c = self.c.drift
        if hours < c["from_hours"] or len(self.clock) < 8:
            return np.zeros(1)
        n = int(np.ceil(c["max"] * hours / 2.0))
        return np.linspace(-c["max"], c["max"], 2 * n + 1)

    def _coarse(self, drifts: Floats) -> tuple[Floats, Floats]:
        """Offsets and drifts worth a close look: summed rates by correlation over the whole reach, and the prior."""
        s = self.c.search
        step = s["coarse_step"]
        grid = np.arange(self.timeline.start - 1800.0, self.timeline.end + 1800.0, step)
        weights = zip(self.c.shots["lags"], self.c.shots["lag_weights"], strict=True)
        rate = sum((w * self.line.summed(grid, lag) for lag, w in weights), np.zeros(len(grid)))
        log_rate = np.log(rate) + self._mixed_pause(grid)
        d = np.arange(self.low, self.high, step)
        prior, middle = self.prior(d), float(np.median(self.clock))
        correlate = Correlation(grid, log_rate, d, step)
        found: list[tuple[float, float, float]] = []
        for r in drifts:
            clock = self.clock - r * (self.clock - middle) / 3600
            total = self.c.posterior["temper"] * correlate(clock) + prior + _drift_prior(r, self.c)
            near = np.flatnonzero(total > total.max() - s["keep_nats"])
            best = near[np.argsort(-total[near])[:int(s["max_fine"])]]
            found += zip(total[best], d[best], np.full(len(best), r), strict=True)
        kept = np.array(sorted(found, reverse=True)[:self._room()])
        kept = kept[kept[:, 0] > kept[0, 0] - s["keep_nats"]]
        return kept[:, 1], kept[:, 2]

    def _room(self) -> int:
        """How many coarse offsets may be looked at closely, by the size of the capture."""
        s = self.c.search
        cells = len(self.clock) * min(len(self.line.slots), 60) * len(self.c.shots["lags"])
        return int(max(16.0, min(s["max_fine"], s["exact_cells"] / cells) * s["fine_step"] / s["coarse_step"]))

    def _mixed_pause(self, t: Floats) -> Floats:
        p = self.c.pauses
        mixed: Floats = sum((w * np.exp(self.line.log_pause(t, b))
                             for b, w in zip(p["boosts"], p["boost_weights"], strict=True)), np.zeros(len(t)))
        out: Floats = np.log(mixed)
        return out

    def _refine(self, d: Floats, r: Floats) -> tuple[Floats, Floats]:
        """The same offsets on a finer grid."""
        s = self.c.search
        n = round(s["coarse_step"] / s["fine_step"])
        fine = (np.arange(n) - (n - 1) / 2) * s["fine_step"]
        return (d[:, None] + fine).ravel(), np.repeat(r, n)

    def _close_look(self, d: Floats, r: Floats) -> Belief:
        """Score offsets by the chain of pictures, over the habits."""
        order = np.argsort(d)
        d, r = d[order], r[order]
        middle = float(np.median(self.clock))
        lags, lag_w = np.array(self.c.shots["lags"]), np.array(self.c.shots["lag_weights"])
        boosts, boost_w = self.c.pauses["boosts"], self.c.pauses["boost_weights"]
        clock = self.clock[None, :] - r[:, None] * (self.clock[None, :] - middle) / 3600 - d[:, None]
        chain = self._chain(clock, d, lags)                                     # [offsets, lags]
        pause = np.stack([self.line.log_pause(clock, b).sum(axis=1) for b in boosts], axis=1)
        temper = self.c.posterior["temper"]
        fit = _log_mean(temper * chain, np.log(lag_w)) + _log_mean(temper * pause, np.log(boost_w))
        total = fit + self.prior(d) + _drift_prior(r, self.c)
        share = np.exp(total - total.max())
        return Belief(d, r, share / share.sum())

    def _chain(self, clock: Floats, d: Floats, lags: Floats) -> Floats:
        """Log likelihood [offsets, lags] of the clock times [offsets, pictures], neighbours together."""
        n = len(lags)
        out = np.empty((len(d), n))
        many = len(self.line.slots) > 60
        parts = np.flatnonzero(np.diff(d) > 20.0) + 1 if many else np.array([], int)
        for rows in np.split(np.arange(len(d)), parts):
            flat = np.repeat(clock[rows], n, axis=0)
            lag = np.tile(lags, len(rows))
            steps = make_steps(self.line, [flat[:, i] for i in range(flat.shape[1])], lag)
            out[rows] = log_likelihood(steps, len(lag)).reshape(len(rows), n)
        return out

    def _near(self, offset: float) -> float:
        """The share of pictures that an offset brings into the recordings or close to them."""
        t, reach = self.clock - offset, self.c.posterior["near"]
        inside = np.zeros(len(t), bool)
        for r in self.timeline.recordings:
            inside |= (t >= r.start - reach) & (t <= r.end + reach)
        return float(inside.mean())

    def _answer(self, belief: Belief, how: str) -> ClockOffset:
        p = self.c.posterior
        order = np.argsort(belief.offset)
        d, share, r = belief.offset[order], belief.share[order], belief.drift[order]
        hills = _hills(d, share, p["mode_gap"])
        a, b = hills[0]
        low, high = _interval(d, share, p["level"])
        mid = d[a:b][np.searchsorted(np.cumsum(share[a:b]), share[a:b].sum() / 2)]
        drift = float((r[a:b] * share[a:b]).sum() / share[a:b].sum())
        own = float(share[a:b].sum())
        fits = self._near(float(mid)) >= p["near_share"]
        known = own >= p["known_share"] and high - low <= p["known_width"] and fits
        others = tuple((float(d[x + int(np.argmax(share[x:y]))]), float(share[x:y].sum())) for x, y in hills[1:6])
        pad = self.c.search["fine_step"]
        answer = ClockOffset(
            self.name, round(float(mid), 2), round(float(low - pad), 2), round(float(high + pad), 2),
            drift_s_per_h=round(drift, 3), known=known, how=how, drift_from=float(np.median(self.clock) - mid),
            others=tuple((round(x, 1), round(y, 4)) for x, y in others if y > 0.005), photos=len(self.clock))
        return replace(answer, how=self._say_how(answer, how, fits))

    def _say_how(self, answer: ClockOffset, how: str, fits: bool) -> str:
        if not fits:
            return "the pictures do not fit this walk"
        if not answer.known:
            return f"cannot tell: {how} fits several offsets"
        near = next((a for a in self.anchors if abs(a.offset_s - answer.offset_s) < 3 * a.within_s), None)
        if near is not None:
            return f"{near.how} and {how}"
        return f"same clock, {how} agrees" if answer.low <= 0.0 <= answer.high else how


def _drift_prior(drift: Floats, c: Coefficients) -> Floats:
    """Log belief in a drift, up to a constant: heavier tails than a bell (Student's, 2 degrees of freedom)."""
    out: Floats = -1.5 * np.log1p((np.asarray(drift) / c.drift["sd"]) ** 2 / 2)
    return out


def corrected(clock: float, offset: ClockOffset) -> float:
    """True seconds on the walk's line from a camera's clock seconds."""
    true = clock - offset.offset_s
    return true - offset.drift_s_per_h * (true - offset.drift_from) / 3600


class Correlation:
    """For each offset in `d` the sum over pictures of the log rate at clock - offset; outside the grid its least."""

    def __init__(self, grid: Floats, log_rate: Floats, d: Floats, step: float) -> None:
        self._base, self._step, self._d, self._n = float(grid[0]), step, d, len(grid)
        self._floor = float(min(log_rate[0], log_rate[-1]))
        self._size = 1 << int(np.ceil(np.log2(2 * len(grid) + 2 * len(d) + 4)))
        rate = np.zeros(self._size)
        rate[:len(grid)] = log_rate - self._floor
        self._turned = np.conj(np.fft.rfft(rate))

    def __call__(self, clock: Floats) -> Floats:
        """The sums for these times of pictures, by the convolution theorem."""
        where = np.round((clock - self._d[0] - self._base) / self._step)    # place on the grid under the first offset
        where = where[(where >= 0) & (where < self._n + len(self._d))].astype(int)      # others never come onto it
        counts = np.bincount(where, minlength=1).astype(float)
        full = np.fft.irfft(np.fft.rfft(counts, self._size) * self._turned, self._size)  # [k]: sum counts[j+k] rate[j]
        out: Floats = full[:len(self._d)] + self._floor * len(clock)
        return out


def _log_mean(values: Floats, log_weights: Floats) -> Floats:
    x = values + log_weights
    top = x.max(axis=1, keepdims=True)
    out: Floats = np.log(np.exp(x - top).sum(axis=1)) + top[:, 0]
    return out


def _hills(d: Floats, share: Floats, gap: float) -> list[tuple[int, int]]:
    """Stretches of the sorted offsets that hold belief, parted by more than `gap`; most believed first."""
    solid = np.flatnonzero(share > share.max() * 1e-3)
    cuts = np.flatnonzero(np.diff(d[solid]) > gap) + 1
    parts = [(int(p[0]), int(p[-1]) + 1) for p in np.split(solid, cuts)]
    return sorted(parts, key=lambda p: -float(share[p[0]:p[1]].sum()))


def _interval(d: Floats, share: Floats, level: float) -> tuple[float, float]:
    """The shortest stretch that holds `level` of the belief."""
    total = np.cumsum(share)
    start = np.concatenate([[0.0], total[:-1]])
    ends = np.searchsorted(total, np.minimum(start + level * total[-1], total[-1] * (1 - 1e-12)))
    ends = np.minimum(ends, len(d) - 1)
    valid = start + level * total[-1] <= total[-1] + 1e-12
    width = np.where(valid, d[ends] - d, np.inf)
    i = int(np.argmin(width))
    return float(d[i]), float(d[ends[i]])
