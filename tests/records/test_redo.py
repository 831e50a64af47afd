"""Reading a walk again replaces what the machine read, and never what a person decided."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.language.draft import Span, UnitDraft, Value
from intake.matching.types import PhotoMatch
from intake.records import export
from intake.records.store import Store

from .builders import MEMO, action, draft, fresh_store, heard, issue, photo, recording, walk
from .test_edits import ACT, assert_derived_tables_are_right, do
from .test_save import rows

WALK = "2026-05-14-north-aisle"


def again(store: Store, *drafts: UnitDraft, **more: Any) -> Any:
    """Read the walk again."""
    return store.save_walk(walk(**more), drafts, redo=True)


def test_the_machines_values_are_replaced(store: Store) -> None:
    """What nobody decided follows the new reading: changed, gone and new values, under the same ids."""
    store.save_walk(walk(), [draft("u1", maker="Corbane", model="AI-300", issues=[issue("lamp", "dead")])])
    report = again(store, draft("u1", maker="Corvane", serial="14772", issues=[issue("relay", "noisy")]))
    one = store.sighting(f"{WALK}/u1")
    assert {name: one.value(name) for name in ("maker", "model", "serial")} == {
        "maker": "Corvane", "model": None, "serial": "14772"}
    assert one.items("issues") == [issue("relay", "noisy")]
    assert one.unit == "U0001"
    assert (report.added, report.changed, report.differences) == ((), (f"{WALK}/u1",), ())


def test_what_was_overwritten_stands_in_the_history(store: Store) -> None:
    """The old reading is in the log, with the machine as who changed it."""
    store.save_walk(walk(), [draft("u1", maker="Corbane")])
    again(store, draft("u1", maker="Corvane"))
    assert [(c.who, c.action, c.old, c.new) for c in store.history("U0001", field="maker")] == [
        ("machine", "read the walk again", "Corbane", "Corvane")]


def test_a_correction_outlives_a_new_reading(store: Store) -> None:
    """A corrected field keeps its value; that the machine now reads something third is told and asked."""
    store.save_walk(walk(), [draft("u1", model="AI-300")])
    store.set_field("U0001", "model", "AI-350")
    report = again(store, draft("u1", model="AI-355"))
    model = store.sighting(f"{WALK}/u1").scalars["model"]
    assert (model.value, model.state, model.origin, model.machine_value) == ("AI-350", "corrected", "ann", "AI-355")
    assert [(d.field, d.kept, d.new) for d in report.differences] == [("model", "AI-350", "AI-355")]
    assert "AI-355" in model.reasons[0]
    question = store.open_questions(walk=WALK)[0]
    assert (question.name, question.value, question.alternatives[0]) == ("model", "AI-350", "AI-355")


@pytest.mark.parametrize("reading", ["AI-300", "AI-350"])
def test_no_question_where_the_new_reading_brings_nothing_new(store: Store, reading: str) -> None:
    """A reading that the person saw already, or that agrees with the person, raises no question."""
    store.save_walk(walk(), [draft("u1", model="AI-300")])
    store.set_field("U0001", "model", "AI-350")
    report = again(store, draft("u1", model=reading, maker="Corvane"))
    assert report.differences == ()
    assert store.open_questions() == []


def test_an_accepted_value_is_pinned(store: Store) -> None:
    """Accepting keeps the value as it was then, though the machine later reads it otherwise or not at all."""
    store.save_walk(walk(), [draft("u1", maker=Value("Corvane", heard("x", 1), 0.5, ("unsure",)))])
    store.accept("U0001")
    report = again(store, draft("u1", model="AI-350"))
    assert store.unit("U0001").value("maker") == "Corvane"
    assert [d.new for d in report.differences] == [None]


def test_answering_the_difference_ends_the_question(store: Store) -> None:
    """Once the person has seen the new reading and stays with the old one, it is not asked again."""
    store.save_walk(walk(), [draft("u1", model="AI-300")])
    store.set_field("U0001", "model", "AI-350")
    again(store, draft("u1", model="AI-355"))
    store.accept("U0001", ["model"])
    assert store.open_questions() == []
    report = again(store, draft("u1", model="AI-355", maker="Corvane"))
    assert (report.differences, store.open_questions()) == ((), [])
    assert store.unit("U0001").value("model") == "AI-350"


def test_an_item_taken_away_stays_away(store: Store) -> None:
    """An issue that a person removed does not come back with the next reading; others keep their numbers."""
    store.save_walk(walk(), [draft("u1", issues=[issue("lamp", "dead"), issue("relay", "noisy")])])
    store.blank_field("U0001", "issues.1")
    again(store, draft("u1", issues=[issue("lamp", "dead"), issue("relay", "noisy"), issue("knob", "loose")]))
    one = store.sighting(f"{WALK}/u1")
    assert [(s.number, s.value) for s in one.lists["issues"]] == [
        (1, None), (2, issue("relay", "noisy")), (3, issue("knob", "loose"))]


def test_an_item_a_person_added_stays(store: Store) -> None:
    """The machine does not clear what it never read."""
    store.save_walk(walk(), [draft("u1")])
    store.set_field("U0001", "issues.new", issue("lamp", "dead"))
    report = again(store, draft("u1", maker="Corvane"))
    assert store.sighting(f"{WALK}/u1").items("issues") == [issue("lamp", "dead")]
    assert report.differences == ()


def test_units_are_known_again_by_their_place_in_the_recording(store: Store) -> None:
    """A unit that the new reading finds first shifts the numbers of the drafts, not the stored ids."""
    store.save_walk(walk(), [draft("u1", 20, 40, maker="Corvane"), draft("u2", 40, 60, maker="Haldwick")])
    report = again(store, draft("u1", 0, 20, maker="Dravik"), draft("u2", 20, 40, maker="Corvane", model="AI-350"),
                   draft("u3", 40, 60, maker="Haldwick"))
    assert {s.id: s.value("maker") for s in store.sightings(WALK)} == {
        f"{WALK}/u3": "Dravik", f"{WALK}/u1": "Corvane", f"{WALK}/u2": "Haldwick"}
    assert [s.id for s in store.sightings(WALK)] == [f"{WALK}/u3", f"{WALK}/u1", f"{WALK}/u2"]  # as walked
    assert report.added == (f"{WALK}/u3",)


def test_a_unit_the_new_reading_lacks_is_gone(store: Store) -> None:
    """A unit that only the machine believed in counts no more; its id is not given again."""
    store.save_walk(walk(), [draft("u1", 0, 20, maker="Corvane"), draft("u2", 20, 40, maker="Haldwick")])
    report = again(store, draft("u1", 0, 20, maker="Corvane"))
    assert report.gone == (f"{WALK}/u2",)
    assert [u.id for u in store.units()] == ["U0001"]
    again(store, draft("u1", 0, 20, maker="Corvane"), draft("u2", 60, 80, maker="Dravik"))
    assert [(u.id, u.maker) for u in store.units()] == [("U0001", "Corvane"), ("U0003", "Dravik")]


def test_a_unit_somebody_worked_on_is_kept(store: Store) -> None:
    """A unit with a person's decision stays when the new reading lacks it, and the reviewer is asked."""
    store.save_walk(walk(), [draft("u1", 0, 20, maker="Corvane"), draft("u2", 20, 40, maker="Haldwick")])
    store.set_field("U0002", "model", "HV-46")
    report = again(store, draft("u1", 0, 20, maker="Corvane"))
    assert report.kept == (f"{WALK}/u2",)
    assert (store.unit("U0002").value("maker"), store.unit("U0002").value("model")) == ("Haldwick", "HV-46")
    assert [q.name for q in store.open_questions(unit="U0002")] == ["unit"]
    again(store, draft("u1", 0, 20, maker="Corvane"), draft("u2", 20, 40, maker="Haldwick"))
    assert store.open_questions(unit="U0002") == []


def test_units_of_a_recording_that_is_not_there_now_stay(store: Store) -> None:
    """Reading only some of a walk's recordings again takes nothing from the others."""
    both = [recording(), recording("b.m4a")]
    store.save_walk(walk(recordings=both), [draft("u1", maker="Corvane"), draft("u2", recording="b.m4a",
        maker="Dravik")])
    again(store, draft("u1", maker="Haldwick"))
    assert [u.maker for u in store.units()] == ["Haldwick", "Dravik"]


def test_a_dropped_unit_stays_dropped(store: Store) -> None:
    """A false unit that a person dropped does not come back with the next reading."""
    store.save_walk(walk(), [draft("u1", 0, 20, maker="Corvane"), draft("u2", 20, 40, maker="Haldwick")])
    store.drop(f"{WALK}/u2")
    report = again(store, draft("u1", 0, 20, maker="Corvane"), draft("u2", 20, 40, maker="Haldwick", model="HV-46"))
    assert [u.id for u in store.units()] == ["U0001"]
    assert report.added == ()


def test_a_missed_unit_a_person_added_stays(store: Store) -> None:
    """An added unit stays while the machine misses it, and is the machine's too once it is heard."""
    store.save_walk(walk(), [draft("u1", 0, 20, maker="Corvane")])
    name = store.add_unit(WALK, {"maker": "Haldwick", "serial": "31079"}, spans=[Span(MEMO, 25, 40)])
    again(store, draft("u1", 0, 20, maker="Corvane", model="AI-350"))
    assert store.sighting(name).value("maker") == "Haldwick"
    report = again(store, draft("u1", 0, 20, maker="Corvane"), draft("u2", 22, 41, maker="Haldwick", stage="testing"))
    assert report.added == ()
    assert (store.sighting(name).value("serial"), store.sighting(name).value("stage")) == ("31079", "testing")


def test_a_cut_is_made_again(store: Store) -> None:
    """Where a person split a unit and the new reading has it in one piece, it is split there again."""
    one = draft("u1", 0, 60, maker="Corvane", location="shelf B2", issues=[Value(issue("lamp", "dead"),
        heard("l", 45))])
    shot = photo("P1.JPG")
    match = PhotoMatch("P1.JPG", "u1", 0.9, datetime(2026, 5, 14, 13, 12, 53, tzinfo=UTC))  # 50 s in
    store.save_walk(walk(photos=[shot]), [one], [match])
    part = store.split(f"{WALK}/u1", 40.0)
    new = draft("u1", 0, 60, maker="Corvane", location="shelf B2", model="AI-350",
                issues=[Value(issue("lamp", "dim"), heard("l", 45))], actions=[Value(action("replace"),
                    heard("r", 50))])
    store.save_walk(walk(photos=[shot]), [new], [match], redo=True)
    first, second = store.sighting(f"{WALK}/u1"), store.sighting(part)
    assert (first.value("model"), first.items("issues"), first.spans) == ("AI-350", [], (Span(MEMO, 0, 40),))
    assert second.items("issues") == [issue("lamp", "dim")]
    assert second.items("actions") == [action("replace")]
    assert second.value("location") == "shelf B2"
    assert ([p.name for p in first.photos], [p.name for p in second.photos]) == ([], ["P1.JPG"])


def test_a_cut_that_the_machine_now_finds_itself(store: Store) -> None:
    """When the new reading has the two units apart, each goes to its own record."""
    store.save_walk(walk(), [draft("u1", 0, 60, maker="Corvane")])
    part = store.split(f"{WALK}/u1", 40.0)
    report = again(store, draft("u1", 0, 40, maker="Corvane"), draft("u2", 40, 60, maker="Haldwick"))
    assert report.added == ()
    assert store.sighting(part).value("maker") == "Haldwick"


def test_joined_records_are_joined_again(store: Store) -> None:
    """Two records that a person said are one stay one, whatever the new reading says in either."""
    store.save_walk(walk(), [draft("u1", 0, 20, maker="Corvane"), draft("u2", 60, 80, unit_type="tuner")])
    store.merge(f"{WALK}/u1", f"{WALK}/u2")
    report = again(store, draft("u1", 0, 20, maker="Corvane"), draft("u2", 60, 80, unit_type="tuner", stage="testing"))
    assert (report.units, report.added, report.gone) == (1, (), ())
    one = store.sighting(f"{WALK}/u1")
    assert (one.value("maker"), one.value("unit_type"), one.value("stage")) == ("Corvane", "tuner", "testing")
    assert one.spans == (Span(MEMO, 0, 20), Span(MEMO, 60, 80))


def test_a_photo_a_person_placed_stays(store: Store) -> None:
    """A photo that a person moved stays; that matching now says something third is told."""
    drafts = [draft(f"u{n}", 20.0 * n, 20.0 * n + 20, maker=f"Maker {n}") for n in (1, 2, 3)]
    shots = [photo("P1.JPG")]
    store.save_walk(walk(photos=shots), drafts, [PhotoMatch("P1.JPG", "u1", 0.9)])
    store.move_photo("P1.JPG", f"{WALK}/u2")
    report = store.save_walk(walk(photos=shots), drafts, [PhotoMatch("P1.JPG", "u3", 0.9)], redo=True)
    assert store.photos(WALK)[0].sighting == f"{WALK}/u2"
    assert [(d.kept, d.new) for d in report.differences] == [(f"{WALK}/u2", f"{WALK}/u3")]


def test_undoing_a_correction_gives_the_newest_reading(store: Store) -> None:
    """What a person takes back leaves the machine's word of today, not of then."""
    store.save_walk(walk(), [draft("u1", model="AI-300")])
    store.set_field("U0001", "model", "AI-350")
    again(store, draft("u1", model="AI-355"))
    store.undo()
    assert store.unit("U0001").value("model") == "AI-355"


# ---- any acts of a person, and any new readings, in any order

READINGS = [
    [draft("u1", 0, 20, maker="Corvane", model="AI-350", issues=[issue("lamp", "dead")]),
     draft("u2", 20, 40, maker="Haldwick"), draft("u3", 40, 60, unit_type="tuner")],
    [draft("u1", 0, 20, maker="Corbane", issues=[issue("lamp", "dim"), issue("relay", "noisy")]),
     draft("u2", 20, 60, maker="Haldwick", unit_type="tuner", serial="31079")],
    [draft("u1", 0, 8, maker="Corvane"), draft("u2", 8, 20, model="AI-350", actions=[action("recap")]),
     draft("u3", 20, 40, maker="Hallwick"), draft("u4", 40, 60, unit_type="tuner", stage="waiting")],
    [],
]
STEPS = st.lists(st.one_of(st.tuples(st.just("read"), st.integers(0, 3), st.integers(0, 3)), ACT), max_size=8)


@settings(max_examples=10, deadline=None)
@given(STEPS)
def test_no_reading_undoes_a_person(steps: list[tuple[Any, ...]]) -> None:
    """Whatever people do and whatever the machine reads then, every decision stands and the lists are right."""
    shots = [photo("P1.JPG"), photo("P2.JPG")]
    with fresh_store() as store:
        store.save_walk(walk(photos=shots), READINGS[0], [PhotoMatch("P1.JPG", "u1", 0.9)])
        for step in steps:
            if step[0] != "read":
                do(store, step)
                continue
            drafts, before = READINGS[step[1]], decisions(store)
            unit = drafts[step[2] % len(drafts)].id if drafts else None
            store.save_walk(walk(photos=shots), drafts, [PhotoMatch("P1.JPG", unit, 0.8), PhotoMatch("P2.JPG",
                unit, 0.3)],
                            redo=True)
            assert decisions(store) == before
            assert_derived_tables_are_right(store)
        export.record(store, WALK)


def decisions(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """All that people decided."""
    return {
        "values": rows(store,
            "SELECT id, decision, decided_value, decided_by FROM entry WHERE decision IS NOT NULL ORDER BY id"),
        "photos": rows(store,
            "SELECT photo_id, decision, decided_sighting_id FROM placement WHERE decision IS NOT NULL"),
        "units": rows(store,
            "SELECT id, decision, merged_into, unit_id FROM sighting WHERE decision IS NOT NULL ORDER BY id")}
