"""What a unit's sightings say together: the last word first, and nothing lost."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from intake.records.store import Store

from .builders import action, draft, issue, recording, service, walk

DAYS = (date(2026, 1, 12), date(2026, 1, 26), date(2026, 2, 9))


def visits(store: Store, *seen: dict[str, Any]) -> None:
    """One unit in so many walks, two weeks apart."""
    for number, fields in enumerate(seen):
        name = f"walk-{number + 1}"
        store.save_walk(walk(name, on=DAYS[number], recordings=[recording(f"{name}.m4a")]),
                        [draft("u1", recording=f"{name}.m4a", **fields)],
                        same_as={"u1": ("walk-1/u1", 0.98)} if number else None)


def test_the_last_filled_value_holds(store: Store) -> None:
    """A later walk that names a place changes it; one that says nothing of the serial leaves it."""
    visits(store, {"maker": "Haldwick", "serial": "22504", "location": "shelf B2"}, {"location": "bay 1"})
    unit = store.unit("U0001")
    assert (unit.value("serial"), unit.value("location")) == ("22504", "bay 1")
    assert (unit.scalars["serial"].since, unit.scalars["location"].since) == DAYS[:2]
    line = store.units()[0]
    assert (line.sightings, line.first_seen, line.last_seen) == (2, *DAYS[:2])


def test_an_issue_lasts_until_it_is_fixed(store: Store) -> None:
    """The dead lamp of the first walk is put right in the second; silence ends nothing."""
    visits(store, {"issues": [issue("lamp", "dead"), issue("relay", "noisy")]}, {},
           {"issues": [issue("lamp", "dead", state="fixed")]})
    assert [(i.part, i.until) for i in store.issues(fixed=True)] == [("lamp", DAYS[2]), ("relay", None)]
    assert [i.part for i in store.issues()] == ["relay"]


def test_an_issue_that_comes_back_is_a_new_one(store: Store) -> None:
    """What was fixed and fails again begins anew."""
    visits(store, {"issues": [issue("lamp", "dead")]}, {"issues": [issue("lamp", "dead", state="fixed")]},
           {"issues": [issue("lamp", "dead")]})
    assert [(i.since, i.until) for i in store.issues(fixed=True)] == [(DAYS[0], DAYS[1]), (DAYS[2], None)]


def test_both_sides_are_fixed_at_once(store: Store) -> None:
    """Left and right, said fixed for both, leave one line that is put right."""
    visits(store, {"issues": [issue("channel", "dead", side="left"), issue("channel", "dead", side="right")]},
           {"issues": [issue("channel", "dead", side="both", state="fixed")]})
    assert store.issues() == []


@pytest.mark.parametrize("second", [
    {"service": [service("replace", "lamp", on="2026-01-22", by="Marcus")]},
    {"issues": [issue("lamp", "dead", state="fixed")]},
    {"stage": "ready to photograph"},
])
def test_an_action_ends_when_it_is_done(store: Store, second: dict[str, Any]) -> None:
    """Service of the same kind, the issue fixed, or a stage after the bench ends what was to do."""
    visits(store, {"actions": [action("replace", "lamp", waiting_on="lamp")]}, second)
    assert store.actions() == []
    assert [(a.since, a.until) for a in store.actions(done=True)] == [DAYS[:2]]
    assert [a.waiting_on for a in store.actions(on=date(2026, 1, 20))] == ["lamp"]
    assert store.actions(on=DAYS[1]) == []


def test_an_action_said_again_goes_on(store: Store) -> None:
    """The same work named in two walks is one action since the first, with the newer due date."""
    visits(store, {"actions": [action("price")]}, {"stage": "ready to list", "actions": [action("price",
        due="2026-01-31")]})
    assert [(a.since, a.due, a.until) for a in store.actions()] == [(DAYS[0], "2026-01-31", None)]


def test_work_after_the_bench_outlives_the_bench(store: Store) -> None:
    """Photographing is still to do when a unit is ready to be photographed; recapping is not."""
    visits(store, {"actions": [action("recap"), action("photograph")]}, {"stage": "ready to photograph"})
    assert [a.work for a in store.actions()] == ["photograph"]


def test_two_readings_of_one_walk_both_stay(store: Store) -> None:
    """A pair of tubes has two test results; a later walk's one takes the place of both."""
    test = {"what": "tube test", "unit": "%", "side": None}
    visits(store, {"measurements": [{**test, "value": 92}, {**test, "value": 61}]})
    assert [h.value["value"] for h in store.unit("U0001").lists["measurements"]] == [92, 61]
    visits(store, {"measurements": [{**test, "value": 92}, {**test, "value": 61}]}, {"measurements": [{**test,
        "value": 90}]})
    assert [h.value["value"] for h in store.unit("U0001").lists["measurements"]] == [90]


def test_the_last_word_on_what_came_with_it(store: Store) -> None:
    """The antenna that was there is missing now."""
    visits(store, {"accessories": [{"item": "antenna", "present": True}]},
           {"accessories": [{"item": "antenna", "present": False}]})
    assert [h.value for h in store.unit("U0001").lists["accessories"]] == [{"item": "antenna", "present": False}]


def test_how_long_in_each_stage(store: Store) -> None:
    """Each stage has its days; a walk that names the same stage, or none, lengthens it."""
    visits(store, {"stage": "waiting"}, {}, {"stage": "listed"})
    assert [(r.stage, r.since, r.until) for r in store.unit("U0001").stages] == [
        ("waiting", DAYS[0], DAYS[2]), ("listed", DAYS[2], None)]
    assert [(c.before, c.after, c.on) for c in store.stage_changes(DAYS[1], DAYS[2])] == [("waiting", "listed",
        DAYS[2])]
    assert [r.unit for r in store.stage_runs(stage="waiting", on=date(2026, 2, 8))] == ["U0001"]
    assert store.stage_runs(stage="waiting", on=DAYS[2]) == []


def test_a_walk_of_long_ago_read_in_late_takes_its_place(store: Store) -> None:
    """Days count, not the order in which walks were processed."""
    store.save_walk(walk("late", on=DAYS[1], recordings=[recording("b.m4a")]),
                    [draft("u1", recording="b.m4a", stage="listed", serial="22504")])
    store.save_walk(walk("early", on=DAYS[0], recordings=[recording("a.m4a")]),
                    [draft("u1", recording="a.m4a", stage="waiting")], same_as={"u1": ("U0001", 0.99)})
    assert [r.stage for r in store.unit("U0001").stages] == ["waiting", "listed"]
    assert store.units()[0].stage == "listed"
    assert store.seen_earlier("late/u1") == "early/u1"


def test_what_the_week_needs(store: Store) -> None:
    """Arrivals, what was not seen, and how sure the records are."""
    visits(store, {"maker": "Haldwick", "location": "shelf B2"}, {"maker": "Haldwick"})
    store.set_field("U0001", "maker", "Haldwick Audio")
    assert [u.id for u in store.units(arrived=(DAYS[0], DAYS[0]))] == ["U0001"]
    assert store.units(arrived=(DAYS[1], DAYS[2])) == []
    assert [u.id for u in store.not_seen_since(DAYS[2], ["shelf B2"])] == ["U0001"]
    assert store.not_seen_since(DAYS[1]) == []
    assert store.not_seen_since(DAYS[2], ["bay 1"]) == []
    sure = store.sureness(DAYS[0], DAYS[1])
    assert (sure.values, sure.flagged, sure.accepted, sure.corrected) == (3, 0, 0, 1)
