"""A whole review by keys alone, from the first question to records that agree with their answer key."""

from __future__ import annotations

import asyncio
import random
from pathlib import Path
from typing import Any

import pytest

from intake.language.draft import LISTS, SCALARS
from intake.records.export import record
from intake.records.values import with_shop_terms
from intake.review import effort
from intake.review.desk import Desk, Scope
from intake.review.screen import ReviewApp
from intake.settings import Settings

from .conftest import WALKS
from .made import WALK, damaged, shop_with
from .reviewer import Count, Key, Reviewer, same
from .shops import BUILT, key_of, opened


async def review(shop: Settings, walk: str) -> Count:
    """Correct a walk to its key; the units of these walks come in the key's order."""
    with opened(shop) as store:
        desk = Desk(store, shop, "ann", Scope(walk=walk))
        units = dict(zip(desk.names(), key_of(walk)["units"], strict=True))
        app = ReviewApp(desk, colours=False)
        async with app.run_test(size=(80, 24)) as pilot:
            reviewer = Reviewer(desk, pilot, Key(units))
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


@pytest.mark.parametrize(("walk", "seed"), [("2026-01-20-returns-and-repairs", 1), ("2026-01-19-speaker-row", 2)])
def test_a_reviewer_mends_a_badly_read_walk(tmp_path: Path, walk: str, seed: int) -> None:
    """Records with a third of their values wrong, missing or made up end as the key has them, within the same keys."""
    if not BUILT.is_dir():
        pytest.skip("the example walks are not beside this checkout")
    key = key_of(walk)
    for unit in key["units"]:
        unit["photos"] = []
    drafts = damaged(key["units"], with_shop_terms(None), random.Random(seed))
    shop = shop_with(tmp_path / "shop", drafts)
    count = asyncio.run(mend(shop, key["units"]))
    with opened(shop) as store:
        made = record(store, WALK)["units"]
    for unit, truth in zip(made, key["units"], strict=True):
        wrong = [f for f in SCALARS if not same(f, unit[f], truth[f])]
        wrong += [f for f in LISTS if len(unit[f]) != len(truth[f]) or not all(
            any(same(f, i, t) for i in unit[f]) for t in truth[f])]
        assert wrong == [], (unit["id"], unit, truth)
    assert count.corrected > 20
    assert count.accept_keys <= 1.5 * count.accepted
    assert count.correct_keys <= 6 * count.corrected
    print(f"{walk}: {count}")


async def mend(shop: Settings, units: list[dict[str, Any]]) -> Count:
    """Correct the made-up walk's records to these units."""
    with opened(shop) as store:
        desk = Desk(store, shop, "ann")
        app = ReviewApp(desk, colours=False)
        async with app.run_test(size=(80, 24)) as pilot:
            reviewer = Reviewer(desk, pilot, Key(dict(zip(desk.names(), units, strict=True))))
            await reviewer.run()
        return reviewer.count
