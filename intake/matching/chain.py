"""The chain of pictures: which visit each belongs to, when the order of pictures follows the order of talk.

A hidden Markov chain. Its state after a picture is the visit reached and what the last picture
of it was (first, further, last); a stray leaves the state as it is. From a visit the next
picture may be a further or last one of the same, or any one of a later visit. Many offsets
are worked through at once: the leading axis of every array is the offset tried.
The states of visits long past are kept as one, so time and memory grow with the pictures only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from intake.matching.habits import Floats, Line

FIRST, FURTHER, LAST = 0, 1, 2
_LEAST = 1e-300


@dataclass(frozen=True)
class Step:
    """One picture: slots lo..hi with their weights, and the stray rate; leading axis = offsets."""

    lo: int
    hi: int
    first: Floats
    further: Floats
    last: Floats
    stray: Floats


def make_steps(line: Line, times: Sequence[Floats], lag: Floats) -> list[Step]:
    """Weights for pictures at `times`: each [offsets], or [offsets, samples] for one taken anywhere in a stretch."""
    bounds = [line.window(float(t.min()), float(t.max())) for t in times]
    los = list(accumulate((lo for lo, _ in reversed(bounds)), min))[::-1]
    his = list(accumulate((hi for _, hi in bounds), max))
    return [_step(line, t, lag, lo, max(lo, hi)) for t, lo, hi in zip(times, los, his, strict=True)]


def _step(line: Line, t: Floats, lag: Floats, lo: int, hi: int) -> Step:
    if t.ndim == 1:
        return Step(lo, hi, *line.rates(t, lag, lo, hi), line.stray_rate(t))
    n, k = t.shape
    flat = line.rates(t.ravel(), np.repeat(lag, k), lo, hi)
    first, further, last = (w.reshape(n, k, hi - lo).mean(axis=1) for w in flat)
    return Step(lo, hi, first, further, last, line.stray_rate(t.ravel()).reshape(n, k).mean(axis=1))


def log_likelihood(steps: Sequence[Step], offsets: int) -> Floats:
    """The log likelihood of the pictures for each offset, up to a constant."""
    total = np.zeros(offsets)
    state = _begin(offsets)
    lo = hi = 0
    for step in steps:
        state = _shift(state, lo, hi, step)
        lo, hi = step.lo, step.hi
        state = _advance(state, step)[0]
        norm = np.maximum(state.sum(axis=(1, 2)), _LEAST)
        total += np.log(norm)
        state = state / norm[:, None, None]
    return total


@dataclass(frozen=True)
class Posterior:
    """For each picture: the chance of each slot lo..hi, [offsets, slots], and of none, [offsets]."""

    slots: list[tuple[int, Floats]]
    stray: list[Floats]
    log_likelihood: Floats


def posterior(steps: Sequence[Step], offsets: int) -> Posterior:
    """Forward and backward through the chain."""
    total, state, lo, hi = np.zeros(offsets), _begin(offsets), 0, 0
    before: list[Floats] = []
    for step in steps:
        state = _shift(state, lo, hi, step)
        lo, hi = step.lo, step.hi
        before.append(state)
        state = _advance(state, step)[0]
        norm = np.maximum(state.sum(axis=(1, 2)), _LEAST)
        total += np.log(norm)
        state = state / norm[:, None, None]
    slots: list[tuple[int, Floats]] = []
    strays: list[Floats] = []
    after = np.ones_like(state)
    for i in range(len(steps) - 1, -1, -1):
        step = steps[i]
        new = _advance(before[i], step)[1]
        own = (new * after[:, 1:]).sum(axis=2)
        none = (before[i] * step.stray[:, None, None] * after).sum(axis=(1, 2))
        norm = np.maximum(own.sum(axis=1) + none, _LEAST)
        slots.append((step.lo, own / norm[:, None]))
        strays.append(none / norm)
        after = _retreat(after, step)
        after = after / np.maximum(after.max(axis=(1, 2)), _LEAST)[:, None, None]
        if i:
            after = _unshift(after, steps[i - 1], step)
    return Posterior(slots[::-1], strays[::-1], total)


def _begin(offsets: int) -> Floats:
    state = np.zeros((offsets, 1, 3))
    state[:, 0, LAST] = 1.0
    return state


def _shift(state: Floats, lo: int, hi: int, step: Step) -> Floats:
    """Carry the states over to the next picture's range of slots; what lies before it becomes the past."""
    gone = min(step.lo - lo, hi - lo)
    out = np.zeros((len(state), 1 + step.hi - step.lo, 3))
    out[:, 0] = state[:, 0]
    out[:, 0, LAST] += state[:, 1:1 + gone].sum(axis=(1, 2))
    kept = state[:, 1 + gone:]
    out[:, 1:1 + kept.shape[1]] = kept
    return out


def _unshift(after: Floats, earlier: Step, step: Step) -> Floats:
    out = np.empty((len(after), 1 + earlier.hi - earlier.lo, 3))
    out[:] = after[:, :1, LAST:]
    kept = min(earlier.hi, step.hi) - step.lo
    if kept > 0:
        out[:, 1 + step.lo - earlier.lo:1 + step.lo - earlier.lo + kept] = after[:, 1:1 + kept]
    return out


def _advance(state: Floats, step: Step) -> tuple[Floats, Floats]:
    """The states after a picture, and the part of them in which it belongs to the slot reached."""
    reached = np.cumsum(state.sum(axis=2), axis=1)[:, :-1]          # all that came from earlier slots
    here = reached + state[:, 1:, FIRST] + state[:, 1:, FURTHER]
    new = np.stack([step.first * reached, step.further * here, step.last * here], axis=2)
    out = state * step.stray[:, None, None]
    out[:, 1:] += new
    return out, new


def _retreat(after: Floats, step: Step) -> Floats:
    own = after[:, 1:]
    go = step.further * own[:, :, FURTHER] + step.last * own[:, :, LAST]
    enter = step.first * own[:, :, FIRST] + go
    later = np.concatenate([np.cumsum(enter[:, ::-1], axis=1)[:, ::-1], np.zeros((len(after), 1))], axis=1)
    out = after * step.stray[:, None, None]
    out += later[:, :, None]
    out[:, 1:, FIRST] += go
    out[:, 1:, FURTHER] += go
    return out
