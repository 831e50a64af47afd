"""A thing that was seen before is one unit with many sightings; doubtful ones are asked about once."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from intake.errors import UsageError
from intake.records.store import Store

from .builders import draft, recording, walk

FIRST, SECOND = "first", "second"


def save_first(store: Store) -> None:
    store.save_walk(walk(FIRST, on=date(2026, 1, 12), recordings=[recording("a.m4a")]), [
        draft("u1", 0, 20, recording="a.m4a", maker="Kessing", model="4107", serial="K90213"),
        draft("u2", 20, 40, recording="a.m4a", maker="Haldwick", model="FT-118")])


def save_second(store: Store, *, redo: bool = False, **links: Any) -> Any:
    return store.save_walk(walk(SECOND, on=date(2026, 1, 26), recordings=[recording("b.m4a")]), [
        draft("u1", 0, 20, recording="b.m4a", maker="Kessing", model="4107"),
        draft("u2", 20, 40, recording="b.m4a", maker="Haldwick", model="FT-118")], redo=redo, **links)


def test_a_sure_resighting_is_tied_at_once(store: Store) -> None:
    """Where matching is certain the sighting is the known unit's, and no unit number is used up."""
    save_first(store)
    report = save_second(store, same_as={"u2": ("U0002", 0.98)}, candidates={})
    assert report.linked == {"second/u2": "U0002"}
    assert [(u.id, u.sightings) for u in store.units()] == [("U0001", 1), ("U0002", 2), ("U0003", 1)]
    assert store.seen_earlier("second/u2") == "first/u2"
    assert store.seen_earlier("first/u2") is None


def test_without_certainty_two_of_one_model_stay_two(store: Store) -> None:
    """A new sighting is a unit of its own, and the reviewer is asked with the reasons."""
    save_first(store)
    report = save_second(store, same_as={}, candidates={"u1": [("U0001", 0.6, ["same maker and model, no serial"])]})
    assert report.asked == ("second/u1",)
    question = next(q for q in store.open_questions() if q.kind == "link")
    assert (question.about, question.unit, question.name, question.reasons) == (
        "second/u1", "U0003", "U0001", ("same maker and model, no serial",))
    assert len(store.units()) == 4


@pytest.mark.parametrize(("same", "unit"), [(True, "U0001"), (False, "U0003")])
def test_the_answer_is_kept(store: Store, same: bool, unit: str) -> None:
    """Yes joins the two, no keeps them apart; a new reading asks no more, and undo gives the question back."""
    candidates = {"u1": [("U0001", 0.6, ["same maker and model"])]}
    save_first(store)
    save_second(store, same_as={}, candidates=candidates)
    question = next(q for q in store.open_questions() if q.kind == "link")
    assert store.answer_link(question.id, same) == unit
    store.save_walk(walk(SECOND, on=date(2026, 1, 26), recordings=[recording("b.m4a")]),
                    [draft("u1", 0, 20, recording="b.m4a", maker="Kessing", model="4107", stage="listed")],
                    same_as={}, candidates=candidates, redo=True)
    assert [q for q in store.open_questions() if q.kind == "link"] == []
    assert store.unit_id("second/u1") == unit
    store.undo()
    assert [q.about for q in store.open_questions() if q.kind == "link"] == ["second/u1"]
    assert store.unit_id("second/u1") == "U0003"


def test_a_unit_that_turned_out_to_be_another_is_still_found(store: Store) -> None:
    """The number that was given before leads to the unit; what was known of either is together."""
    save_first(store)
    save_second(store, same_as={}, candidates={})
    assert store.link_sighting("second/u1", "U0001", why="same dent") == "U0001"
    assert store.unit_id("U0003") == "U0001"
    assert [s.id for s in store.unit("U0003").sightings] == ["first/u1", "second/u1"]
    assert any(c.why == "same dent" for c in store.history("U0001"))


def test_a_tie_of_the_machine_can_be_loosened(store: Store) -> None:
    """A person may say that it is another piece; the next reading, though certain, does not tie it again."""
    save_first(store)
    save_second(store, same_as={"u1": ("U0001", 0.95)}, candidates={})
    new = store.link_sighting("second/u1", None)
    assert new not in ("U0001", "U0002")
    report = save_second(store, same_as={"u1": ("U0001", 0.96)}, candidates={}, redo=True)
    assert store.unit_id("second/u1") == new
    assert report.linked == {}


def test_a_tie_that_a_new_look_does_not_renew_is_loosened(store: Store) -> None:
    """What the machine tied and now doubts becomes a question, under the number it had or a new one."""
    save_first(store)
    save_second(store, same_as={"u1": ("U0001", 0.95)})
    save_second(store, same_as={}, candidates={"u1": [("U0001", 0.5, ["serial heard otherwise"])]}, redo=True)
    assert store.unit_id("second/u1") != "U0001"
    assert [q.name for q in store.open_questions() if q.kind == "link"] == ["U0001"]


def test_nobody_looking_changes_no_tie(store: Store) -> None:
    """A reading without any look at known units leaves the ties as they are."""
    save_first(store)
    save_second(store, same_as={"u1": ("U0001", 0.95)})
    store.save_walk(walk(SECOND, on=date(2026, 1, 26), recordings=[recording("b.m4a")]),
                    [draft("u1", 0, 20, recording="b.m4a", maker="Kessing")], redo=True)
    assert store.unit_id("second/u1") == "U0001"


def test_two_records_that_claim_one_unit(store: Store) -> None:
    """Only the surer is tied; the other is asked about."""
    save_first(store)
    report = save_second(store, same_as={"u1": ("U0001", 0.9), "u2": ("U0001", 0.97)}, candidates={})
    assert report.linked == {"second/u2": "U0001"}
    assert report.asked == ("second/u1",)


def test_a_walk_cannot_have_two_records_of_one_unit(store: Store) -> None:
    """Tying a second record of the same walk is refused with what to do instead."""
    save_first(store)
    save_second(store, same_as={"u1": ("U0001", 0.95)}, candidates={})
    with pytest.raises(UsageError, match="merge"):
        store.link_sighting("second/u2", "U0001")


def test_merging_units_of_several_walks(store: Store) -> None:
    """All sightings of both come together; two of one walk are joined into one."""
    save_first(store)
    save_second(store, same_as={}, candidates={})
    store.merge("U0001", "U0003")
    store.merge("U0001", "U0002")
    assert [s.id for s in store.unit("U0001").sightings] == ["first/u1", "second/u1"]
    assert store.sighting("first/u1").merged == ("first/u2",)
    assert [u.id for u in store.units()] == ["U0001", "U0004"]
