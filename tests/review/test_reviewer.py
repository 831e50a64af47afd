"""A whole review by keys alone, from the first question to records that agree with their answer key."""

from __future__ import annotations

import asyncio

import pytest

from intake.language.draft import LISTS, SCALARS
from intake.records.export import record
from intake.review import effort
from intake.review.desk import Desk, Scope
from intake.review.screen import ReviewApp
from intake.settings import Settings

from .conftest import WALKS
from .reviewer import Count, Reviewer, same
from .shops import key_of, opened


async def review(shop: Settings, walk: str) -> Count:
    """Correct a walk to its key; the units of these walks come in the key's order."""
    with opened(shop) as store:
        desk = Desk(store, shop, "ann", Scope(walk=walk))
        units = dict(zip(desk._of_walk(walk), key_of(walk)["units"], strict=True))
        app = ReviewApp(desk, colours=False)
        async with app.run_test(size=(80, 24)) as pilot:
            reviewer = Reviewer(desk, pilot, units)
            await reviewer.run()
        return reviewer.count


@pytest.mark.parametrize("walk", WALKS)
def test_a_reviewer_corrects_a_walk_to_its_answer_key(shop: Settings, walk: str) -> None:
    """All fields and photos end as the answer key has them, within 1.5 keys an accepted field and 6 a correction."""
    count = asyncio.run(review(shop, walk))
    with opened(shop) as store:
        made = record(store, walk)
    key = key_of(walk)
    assert len(made["units"]) == len(key["units"])
    for unit, truth in zip(made["units"], key["units"], strict=True):
        for field in SCALARS:
            assert same(field, unit[field], truth[field]), (unit["id"], field)
        for field in LISTS:
            assert len(unit[field]) == len(truth[field]), (unit["id"], field, unit[field])
            assert all(any(same(field, i, t) for i in unit[field]) for t in truth[field]), (unit["id"], field)
        assert sorted(p.rpartition(".")[0] for p in unit["photos"]) == sorted(truth["photos"])
        assert unit["review"] == []
    assert count.accept_keys <= 1.5 * count.accepted
    assert count.correct_keys <= 6 * count.corrected
    assert count.turned <= 2 * len(key["units"])
    print(f"{walk}: {count}")


def test_what_was_spent_is_kept(shop: Settings) -> None:
    """Each answer's keys are on file, so that the shop can see what a review costs."""
    count = asyncio.run(review(shop, WALKS[1]))
    spent = list(effort.read(shop.shop / "review"))
    assert len(spent) == count.accepted + count.corrected
    assert sum(s.letters for s in spent) == pytest.approx(count.letters, abs=count.corrected)
    assert {s.who for s in spent} == {"ann"}
