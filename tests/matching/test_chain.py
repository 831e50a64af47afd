"""The chain of pictures against every assignment counted out one by one."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np
import pytest

from intake.matching.chain import FIRST, FURTHER, LAST, Step, log_likelihood, posterior

SLOTS, PHOTOS = 3, 4
State = tuple[int, int]                       # slot (-1: none yet), role
Choice = tuple[int, int] | None               # slot and role, or None for a stray


def steps_for(rng: np.random.Generator, windows: list[tuple[int, int]], offsets: int = 1) -> list[Step]:
    """Random weights; a slot outside a picture's window cannot have it."""
    def draw(n: int) -> np.ndarray:
        return rng.uniform(0.01, 2.0, (offsets, n))
    return [Step(lo, hi, draw(hi - lo), draw(hi - lo), draw(hi - lo), rng.uniform(0.01, 0.5, offsets))
            for lo, hi in windows]


def allowed(state: State, choice: tuple[int, int]) -> bool:
    """Order is kept: a later slot by any picture, the same one by a further or last one unless its last was taken."""
    slot, role = choice
    if slot > state[0]:
        return True
    return slot == state[0] and role in (FURTHER, LAST) and state[1] in (FIRST, FURTHER)


def every(steps: list[Step]) -> Iterator[tuple[list[Choice], float]]:
    """Each possible assignment with its weight, counted out by brute force."""
    choices: list[Choice] = [None, *product(range(SLOTS), (FIRST, FURTHER, LAST))]
    for assignment in product(choices, repeat=len(steps)):
        state, weight = (-1, LAST), 1.0
        for step, choice in zip(steps, assignment, strict=True):
            if choice is None:
                weight *= step.stray[0]
                continue
            slot, role = choice
            if not (step.lo <= slot < step.hi) or not allowed(state, choice):
                weight = 0.0
                break
            weight *= (step.first, step.further, step.last)[role][0, slot - step.lo]
            state = choice
        if weight:
            yield list(assignment), weight


WINDOWS = [
    [(0, 3)] * PHOTOS,
    [(0, 2), (0, 3), (1, 3), (2, 3)],
    [(0, 1), (1, 2), (1, 3), (1, 3)],
    [(0, 0), (0, 2), (0, 2), (2, 3)],
]


@pytest.mark.parametrize("windows", WINDOWS)
@pytest.mark.parametrize("seed", range(4))
def test_the_chances_are_those_of_all_assignments_counted_out(windows: list[tuple[int, int]], seed: int) -> None:
    """Each photo's chances are the sums over every assignment that keeps the order, by brute force."""
    steps = steps_for(np.random.default_rng(seed), windows)
    table, total = np.zeros((PHOTOS, SLOTS + 1)), 0.0
    for assignment, weight in every(steps):
        total += weight
        for i, choice in enumerate(assignment):
            table[i, SLOTS if choice is None else choice[0]] += weight
    got = posterior(steps, 1)
    for i, (lo, own) in enumerate(got.slots):
        expected = table[i] / total
        assert own[0] == pytest.approx(expected[lo:lo + own.shape[1]], rel=1e-9)
        assert got.stray[i][0] == pytest.approx(expected[SLOTS], rel=1e-9)
        assert own[0].sum() + got.stray[i][0] == pytest.approx(1.0)
    assert got.log_likelihood[0] == pytest.approx(np.log(total), rel=1e-12)
    assert log_likelihood(steps, 1)[0] == pytest.approx(np.log(total), rel=1e-12)


def test_offsets_worked_through_together_give_what_each_gives_alone() -> None:
    """The leading axis of the arrays does not mix offsets."""
    rng = np.random.default_rng(7)
    steps = steps_for(rng, WINDOWS[1], offsets=3)
    together = log_likelihood(steps, 3)
    for k in range(3):
        alone = [Step(s.lo, s.hi, s.first[k:k + 1], s.further[k:k + 1], s.last[k:k + 1], s.stray[k:k + 1])
                 for s in steps]
        assert log_likelihood(alone, 1)[0] == pytest.approx(together[k])


def test_the_best_whole_assignment_of_a_clear_case_is_scipys() -> None:
    """With one picture a unit at most and no strays, the chain picks what scipy's assignment finds cheapest."""
    from scipy.optimize import linear_sum_assignment
    rng = np.random.default_rng(3)
    for _ in range(20):
        named, taken = np.sort(rng.uniform(0, 100, 6)), np.sort(rng.uniform(0, 100, 3))
        cost = (taken[:, None] - named[None, :]) ** 2          # convex in the distance: the cheapest keeps the order
        _, columns = linear_sum_assignment(cost)
        weights, none = np.exp(-cost / 2.0), np.zeros((1, 6))
        got = posterior([Step(0, 6, weights[i:i + 1], none, none, np.zeros(1)) for i in range(3)], 1)
        picked = [int(np.argmax(own[0])) for _, own in got.slots]
        assert picked == [int(c) for c in columns]
