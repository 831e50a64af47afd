"""The figures of `intake review --stats`, on counts worked out by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.records.answered import Tally
from intake.records.store import Store
from intake.review import effort, stats
from intake.review.desk import Desk
from tests.records import builders

from .made import WALK, flagged, shop_with


def test_flags_and_silent_errors_are_counted_by_field() -> None:
    """Of three answered flags on models two were right to be raised; one unflagged stage was corrected."""
    rows = stats.flags([
        Tally("model", 0.6, True, True, "wrong", 2), Tally("model", 0.7, True, False, "right", 1),
        Tally("model", 0.7, True, True, "left", 9), Tally("stage", 0.9, False, False, "wrong", 1),
        Tally("stage", 0.95, False, False, "right", 4)])
    assert rows == [stats.Flags("stage", 0, 0, 1), stats.Flags("model", 3, 2, 0)]


def test_the_threshold_weighs_a_silent_error_as_ten_looks() -> None:
    """Raising the threshold over two errors is worth a few looks at right values, and not worth fifty."""
    few = [Tally("model", 0.9, False, False, "wrong", 2), Tally("model", 0.88, False, False, "left", 5),
           Tally("model", 0.97, False, False, "left", 100)]
    found = stats.threshold(few, 0.85)
    assert found is not None
    assert (found.value, found.looks, found.silent) == (0.91, 5, 0)
    many = [Tally("model", 0.9, False, False, "wrong", 2), Tally("model", 0.88, False, False, "left", 50)]
    found = stats.threshold(many, 0.85)
    assert found is not None
    assert (found.value, found.silent) == (0.85, 2)


def test_too_little_proposes_nothing() -> None:
    """A handful of answers is no ground for a threshold; flags with other reasons have no say."""
    assert stats.threshold([Tally("model", 0.9, False, False, "right", 5)], 0.85) is None
    assert stats.threshold([Tally("model", 0.5, True, False, "wrong", 500)], 0.85) is None


def test_a_review_is_told_in_figures(tmp_path: Path) -> None:
    """What was answered at the desk comes out of the records and the effort file."""
    settings = shop_with(tmp_path / "shop", [builders.draft(
        "u1", 0, 20, maker=flagged("Corvane", 1), model=flagged("AI-300", 2, others=["AI-350"]), stage="received")])
    with Store.open(settings.database) as store:
        desk = Desk(store, settings, "ann")
        desk.effort.key()
        desk.take(1)
        desk.effort.key()
        desk.accept()
        desk.to_letter("H")
        desk.typed("testing")
        rows = {r.field: r for r in stats.flags(store.tallies())}
        assert rows["model"] == stats.Flags("model", 1, 1, 0)
        assert rows["maker"] == stats.Flags("maker", 1, 0, 0)
        assert rows["stage"] == stats.Flags("stage", 0, 0, 1)
        spent = list(effort.read(settings.shop / "review"))
        assert [(s.field, s.how, s.keys, s.asked, s.right) for s in spent] == [
            ("model", "took", 1, True, False), ("maker", "accepted", 1, True, True),
            ("stage", "typed", 0, False, False)]
        lines = stats.report(store.tallies(), store.tallies(settled=True), spent, 0.85)
        assert lines[:2] == ["Flags answered: 2, of them right to be raised: 1 (50%)",
                             "Unflagged fields that a person corrected: 1"]
        assert store.tallies(walk=WALK) == store.tallies()


def test_time_away_is_not_counted(tmp_path: Path) -> None:
    """A reviewer who leaves for lunch was not three hours at one field."""
    at = iter([0.0, 5.0, 10_000.0])
    counted = effort.Effort(tmp_path, "ann", now=lambda: next(at))
    counted.key()
    counted.key()
    assert counted.seconds == pytest.approx(5.0 + effort.AWAY_S)


def test_a_cut_off_line_is_passed_over(tmp_path: Path) -> None:
    """A kill in the middle of writing costs one figure, not all of them."""
    (tmp_path / "effort.jsonl").write_text('{"at": "2026\n[]\n')
    assert list(effort.read(tmp_path)) == []
