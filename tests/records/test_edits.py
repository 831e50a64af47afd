"""What a person decides is kept with who, when and why, and can be taken back without limit."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy.exc import IntegrityError

from intake.errors import IntakeError, NotFoundError, RecordsError, UsageError
from intake.language.draft import Span, Value
from intake.matching.types import PhotoMatch
from intake.records import latest
from intake.records.database import writing
from intake.records.store import Store

from .builders import MEMO, action, draft, fresh_store, heard, issue, photo, walk
from .test_save import dump, rows

WALK = "2026-05-14-north-aisle"


@pytest.fixture
def shop(store: Store) -> Store:
    """Three units of one walk, with doubts, two photos, and one unit of a second walk."""
    unsure = Value("Corvane", heard("core vane", 1), 0.6, ("not in the vocabulary",), ("Corbane",))
    store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG")]), [
        draft("u1", 0, 20, maker=unsure, model="AI-350", serial="14772", location="shelf B2",
              issues=[issue("lamp", "dead"), issue("relay", "noisy")]),
        draft("u2", 20, 40, maker="Haldwick", stage="waiting", actions=[action("replace", "belt", waiting_on="belt")]),
        draft("u3", 40, 60, unit_type="tuner"),
    ], [PhotoMatch("P1.JPG", "u1", 0.97, datetime(2026, 5, 14, 13, 12, 9, tzinfo=UTC)),
        PhotoMatch("P2.JPG", "u2", 0.5, datetime(2026, 5, 14, 13, 12, 30, tzinfo=UTC), "u1",
            ("two units are as near",))])
    return store


def test_a_correction_is_kept_with_who_and_why(shop: Store) -> None:
    """The new value holds, and the history says who changed it from what to what, and why."""
    shop.set_field("U0001", "maker", "Corbane", who="ann", why="it is on the plate")
    maker = shop.sighting(f"{WALK}/u1").scalars["maker"]
    assert (maker.value, maker.state, maker.origin, maker.reasons) == ("Corbane", "corrected", "ann", ())
    assert maker.evidence[0].words == "core vane"
    change = shop.history("U0001", field="maker")[-1]
    assert (change.who, change.old, change.new, change.why) == ("ann", "Corvane", "Corbane", "it is on the plate")
    assert change.at.endswith("Z")


def test_typing_what_was_heard_accepts_it(shop: Store) -> None:
    """A typed value that is the machine's own counts as accepted."""
    shop.set_field("U0001", "maker", "Corvane")
    assert shop.sighting(f"{WALK}/u1").scalars["maker"].state == "accepted"


def test_accepting_settles_what_is_asked(shop: Store) -> None:
    """Without a field, all that is asked about a unit is accepted, photos too; what was not asked stays open."""
    assert shop.accept("U0001") == [f"{WALK}/u1 maker"]
    assert shop.accept("U0002") == [f"{WALK}/P2.JPG"]
    assert shop.open_questions() == []
    assert shop.sighting(f"{WALK}/u1").scalars["model"].state == "open"
    assert shop.accept("U0003") == []


def test_a_field_named_is_accepted_though_nobody_asked(shop: Store) -> None:
    """A reviewer may vouch for any value; one that is not there is an error."""
    assert shop.accept("U0001", ["model", "issues"]) == [
        f"{WALK}/u1 issues.1", f"{WALK}/u1 issues.2", f"{WALK}/u1 model"]
    with pytest.raises(NotFoundError):
        shop.accept("U0001", ["cosmetic"])


def test_blanking_and_filling(shop: Store) -> None:
    """A blanked field is blank, an item taken away is gone, a part of an item can be set alone."""
    shop.blank_field("U0001", "serial")
    shop.blank_field("U0001", "issues.1")
    shop.set_field("U0001", "issues.2.symptom", "stuck")
    shop.set_field("U0001", "issues.new", {"part": "knob", "symptom": "loose", "state": "present"})
    one = shop.sighting(f"{WALK}/u1")
    assert one.value("serial") is None
    assert one.items("issues") == [issue("relay", "stuck"), issue("knob", "loose")]


@pytest.mark.parametrize(("ref", "field", "value"), [
    ("U0001", "colour", "red"), ("U0001", "stage", "sold"), ("U0001", "issues", "x"), ("U0001", "issues.1.colour", "x"),
    ("U0001", "issues.new", {"part": "lamp"}), ("U0001", "model.1", "x"), ("U0001", "quantity", "many"),
    ("U0001", "maker", None)])
def test_nonsense_is_refused(shop: Store, ref: str, field: str, value: Any) -> None:
    """A wrong field or value is an error that says what there is, and changes nothing."""
    before = dump(shop)
    with pytest.raises(UsageError) as refused:
        shop.set_field(ref, field, value)
    assert len(str(refused.value)) > 20
    assert dump(shop) == before


@pytest.mark.parametrize("ref", ["U0099", "u1", "nowhere/u1", f"{WALK}/u9", "99999", ""])
def test_an_unknown_unit_is_told(shop: Store, ref: str) -> None:
    """What names no unit is an error with a hint."""
    with pytest.raises(NotFoundError):
        shop.unit(ref)


def test_a_unit_is_named_in_three_ways(shop: Store) -> None:
    """Its id in any case, a walk's record, or its serial number with whatever marks."""
    assert {shop.unit_id(ref) for ref in ("U0001", "u0001", f"{WALK}/u1", f"{WALK}/U1", "14772", "14-772")} == {"U0001"}


def test_a_serial_that_two_units_have_names_neither(shop: Store) -> None:
    """An ambiguous serial is an error that names both units."""
    shop.set_field("U0002", "serial", "14772")
    with pytest.raises(NotFoundError, match="U0001, U0002"):
        shop.unit("14772")


def test_a_photo_moves(shop: Store) -> None:
    """A photo shows the unit a person says, or none; it is asked no more."""
    assert shop.move_photo("P2.JPG", "U0001") == f"{WALK}/u1"
    assert [p.name for p in shop.sighting(f"{WALK}/u1").photos] == ["P1.JPG", "P2.JPG"]
    assert shop.open_questions(unit="U0002") == []
    assert shop.move_photo("P2.JPG", None) == "no unit"
    assert shop.photos(WALK)[1].unit is None


def test_a_split_parts_words_values_and_photos(shop: Store) -> None:
    """What was said and photographed from the moment on goes to a unit of its own; the place carries over."""
    part = shop.split("U0001", 1.5)
    first, second = shop.sighting(f"{WALK}/u1"), shop.sighting(part)
    assert (first.items("issues"), len(second.items("issues"))) == ([issue("lamp", "dead")], 1)
    assert (first.spans, second.spans) == ((Span(MEMO, 0, 1.5),), (Span(MEMO, 1.5, 20),))
    assert (second.value("location"), second.value("maker")) == ("shelf B2", None)
    assert [p.name for p in second.photos] == ["P1.JPG"]
    assert second.unit == "U0004"
    assert [s.id for s in shop.sightings(WALK)][:2] == [f"{WALK}/u1", part]


def test_a_split_outside_the_talk_is_refused(shop: Store) -> None:
    """A moment at which the unit is not talked about cuts nothing."""
    with pytest.raises(UsageError, match=r"0-20 s"):
        shop.split("U0001", 200.0)


def test_a_merge_adds_up_and_asks_where_the_two_differ(shop: Store) -> None:
    """Blanks are filled, lists add up, photos and talk go along; a contradiction becomes a question."""
    shop.set_field("U0003", "model", "AI-300")
    assert shop.merge("U0001", "U0003") == "U0001"
    one = shop.sighting(f"{WALK}/u1")
    assert (one.value("unit_type"), one.value("model"), one.merged) == ("tuner", "AI-350", (f"{WALK}/u3",))
    assert one.spans == (Span(MEMO, 0, 20), Span(MEMO, 40, 60))
    assert "AI-300" in one.scalars["model"].reasons[0]
    assert "AI-300" in one.scalars["model"].alternatives
    assert shop.unit_id("U0003") == "U0001"
    assert shop.unit_id(f"{WALK}/u3") == "U0001"
    assert [u.id for u in shop.units()] == ["U0001", "U0002"]


def test_a_dropped_unit_counts_no_more(shop: Store) -> None:
    """It is in no list and no export, and undo brings it back."""
    shop.drop("U0002")
    assert [u.id for u in shop.units()] == ["U0001", "U0003"]
    assert shop.actions() == []
    assert shop.photos(WALK)[1].unit is None
    with pytest.raises(NotFoundError, match="no record is left"):
        shop.set_field("U0002", "maker", "x")
    shop.undo()
    assert [u.id for u in shop.units()] == ["U0001", "U0002", "U0003"]


def test_a_missed_unit_is_added(shop: Store) -> None:
    """An added unit has the person as its origin and the next number."""
    name = shop.add_unit(WALK, {"maker": "Dravik", "issues.new": issue("lamp", "dim")}, spans=[Span(MEMO, 30, 35)])
    one = shop.sighting(name)
    assert (one.unit, one.origin, one.value("maker"), one.items("issues")) == (
        "U0004", "ann", "Dravik", [issue("lamp", "dim")])
    assert [s.id for s in shop.sightings(WALK)] == [f"{WALK}/u1", f"{WALK}/u2", name, f"{WALK}/u3"]


def test_undo_and_redo_go_back_and_forth(shop: Store) -> None:
    """Each undo takes back one act, the latest first; redo does them again in order; a new act ends that."""
    for model in ("A-1", "A-2", "A-3"):
        shop.set_field("U0001", "model", model)
    seen = []
    while shop.undo():
        seen.append(shop.unit("U0001").value("model"))
    assert seen == ["A-2", "A-1", "AI-350"]
    seen = []
    while shop.redo():
        seen.append(shop.unit("U0001").value("model"))
    assert seen == ["A-1", "A-2", "A-3"]
    shop.undo()
    shop.set_field("U0001", "model", "B-1")
    assert shop.redo() is None
    shop.undo()
    assert shop.unit("U0001").value("model") == "A-2"


def test_each_takes_back_their_own(shop: Store) -> None:
    """Undo is of one's own acts; another's is undone by its number, as long as nothing was built on it."""
    shop.set_field("U0001", "model", "A-1", who="ann")
    shop.set_field("U0002", "model", "B-1", who="ben")
    turned = shop.undo(who="ann")
    assert turned is not None
    assert (shop.unit("U0001").value("model"), shop.unit("U0002").value("model")) == ("AI-350", "B-1")
    assert shop.undo(who="ann") is None
    number = shop.history("U0002", field="model")[-1].batch
    shop.set_field("U0002", "model", "B-2", who="ann")
    with pytest.raises(RecordsError, match="changed again since"):
        shop.undo(batch=number, who="ann")


def test_the_machines_work_is_not_undone(shop: Store) -> None:
    """A reading of a walk is no act that undo takes back."""
    assert shop.undo(who="machine") is None
    with pytest.raises(RecordsError):
        shop.undo(batch=1)


def test_the_log_is_never_rewritten(shop: Store) -> None:
    """The database itself refuses to change or delete what was logged."""
    shop.set_field("U0001", "model", "A-1")
    for statement in ("UPDATE change SET now = '1'", "DELETE FROM change", "DELETE FROM batch",
                      "UPDATE batch SET who = 'x'"):
        with shop._engine.connect() as connection, pytest.raises(IntegrityError, match="never rewritten"):
            connection.exec_driver_sql(statement)


ACT = st.sampled_from([
    ("set", "U0001", "model", "X-1"), ("set", "U0002", "serial", "99"), ("set", "U0001", "issues.new",
        issue("knob", "loose")),
    ("set", "U0001", "issues.1.symptom", "dim"), ("blank", "U0001", "maker"), ("blank", "U0001", "issues.2"),
    ("accept", "U0001"), ("accept", "U0002"), ("move", "P1.JPG", "U0003"), ("move", "P2.JPG", None),
    ("split", f"{WALK}/u1", 1.5), ("split", f"{WALK}/u2", 30.0), ("merge", "U0001", "U0002"), ("merge", "U0003",
        "U0001"),
    ("drop", f"{WALK}/u3"), ("drop", "U0001"), ("add", WALK), ("link", f"{WALK}/u2"), ("undo",), ("redo",)])


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(ACT, max_size=9))
def test_any_acts_can_be_taken_back_and_done_again(acts: list[tuple[Any, ...]]) -> None:
    """After any acts, undoing all restores every record and list, and redoing all restores what was."""
    with fresh_store() as store:
        _fill(store)
        first = state(store)
        for act in acts:
            do(store, act)
            assert_derived_tables_are_right(store)
        last = state(store)
        undone = 0
        while store.undo():
            undone += 1
        assert state(store) == first
        for _ in range(undone):
            assert store.redo() is not None
        assert state(store) == last
        assert_derived_tables_are_right(store)


def _fill(store: Store) -> None:
    store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG")]), [
        draft("u1", 0, 20, maker=Value("Corvane", heard("core vane", 1), 0.6, ("unsure",)), location="shelf B2",
              issues=[issue("lamp", "dead"), issue("relay", "noisy")]),
        draft("u2", 20, 40, maker="Haldwick", stage="waiting", actions=[action("replace", "belt")]),
        draft("u3", 40, 60, unit_type="tuner")],
        [PhotoMatch("P1.JPG", "u1", 0.97), PhotoMatch("P2.JPG", "u2", 0.5, reasons=("close",))])


def do(store: Store, act: tuple[Any, ...]) -> None:
    """One act of a person."""
    calls = {"set": store.set_field, "blank": store.blank_field, "accept": store.accept, "move": store.move_photo,
             "split": store.split, "merge": store.merge, "drop": store.drop,
             "add": lambda name: store.add_unit(name, {"maker": "Dravik"}),
             "link": lambda ref: store.link_sighting(ref, None), "undo": store.undo, "redo": store.redo}
    with suppress(IntakeError):  # an act that makes no sense here changes nothing, or the comparison would show it
        calls[act[0]](*act[1:])


def state(store: Store) -> dict[str, Any]:
    """All that people see: units, sightings, photos, questions."""
    return {"units": store.units(), "sightings": store.sightings(WALK), "photos": store.photos(WALK),
            "questions": store.open_questions(), "actions": store.actions(done=True),
            "issues": store.issues(fixed=True)}


def assert_derived_tables_are_right(store: Store) -> None:
    """What is kept ready for lists is what the records say."""
    names = ("unit_now", "stage_run", "action_run", "issue_run", "unit_words")
    kept = {name: _without_keys(store, name) for name in names}
    with writing(store._engine) as session:
        latest.refresh_all(session)
    assert {name: _without_keys(store, name) for name in names} == kept


def _without_keys(store: Store, table: str) -> list[tuple[Any, ...]]:
    columns = [name for _, name, *_ in rows(store, f"PRAGMA table_info({table})") if name not in ("id", "indexed")]
    return sorted(rows(store, f"SELECT {', '.join(columns)} FROM {table} WHERE 1"), key=repr)
