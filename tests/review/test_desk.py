"""What decisions do to the records and to the question in hand."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import pytest

from intake.language.draft import Doubted
from intake.matching.types import ClockOffset
from intake.records.store import Store
from intake.review.desk import Desk, Scope
from intake.settings import Settings
from tests.records import builders

from .made import DAY, WALK, flagged, shop_with


def desk_of(settings: Settings, store: Store, scope: Scope | None = None) -> Desk:
    return Desk(store, settings, "ann", scope)


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return shop_with(tmp_path / "shop", [
        builders.draft("u1", 0, 20, maker="Corvane", model=flagged("AI-300", 2, others=["AI-350"]),
                       cosmetic=flagged("good", 5), issues=[flagged(builders.issue("lamp", "dead"), 7)]),
        builders.draft("u2", 20, 40, maker=flagged("Hull would", 21, words="hull would"), serial="77",
                       doubts=[Doubted("unit", "two things may be one")]),
    ])


@pytest.fixture
def store(settings: Settings) -> Store:
    return Store.open(settings.database)


def test_an_accepted_value_is_kept_with_who_and_when(settings: Settings, store: Store) -> None:
    """One act: the value stays, a person stands behind it, the next question is in hand."""
    desk = desk_of(settings, store)
    first = desk.head
    assert first is not None
    desk.accept()
    held = store.sighting(first.about).scalars["model" if first.field == "model" else first.field]
    assert (held.state, held.origin, held.reasons) == ("accepted", "ann", ())
    assert held.decided_at is not None
    assert desk.head != first


def test_a_digit_takes_the_other_reading(settings: Settings, store: Store) -> None:
    """The alternative becomes the value."""
    desk = desk_of(settings, store)
    desk.go_to(f"{WALK}/u1")
    desk.take(1)
    assert store.sighting(f"{WALK}/u1").value("model") == "AI-350"
    desk.take(5)
    assert "no reading 5" in desk.said


def test_a_refused_line_changes_nothing(settings: Settings, store: Store) -> None:
    """What the field cannot hold is said so, and the question stays in hand."""
    desk = desk_of(settings, store)
    desk.go_to(f"{WALK}/u1")
    desk.to_letter("J")
    assert desk.typed("ghastly") is None
    assert "ghastly" in desk.said
    assert store.sighting(f"{WALK}/u1").scalars["cosmetic"].state == "open"


def test_undo_and_redo_go_all_the_way(settings: Settings, store: Store) -> None:
    """Every answer of a review can be taken back one by one, and done again, in another review too."""
    desk = desk_of(settings, store)
    before, answers = len(desk.queue), 0
    while desk.head is not None:
        assert desk.accept() is not None, desk.said
        answers += 1
    assert answers == before
    desk = desk_of(settings, store)
    for n in range(answers):
        desk.undo()
        assert len(desk.queue) == n + 1, desk.said
        assert desk.head is not None
    desk.undo()
    assert "nothing to take back" in desk.said
    for _ in range(answers):
        desk.redo()
    assert len(desk.queue) == 0


def test_leaving_a_question_for_later_keeps_it(settings: Settings, store: Store) -> None:
    """What is passed over stays open; the review goes round and begins there next time."""
    desk = desk_of(settings, store)
    first = desk.head
    desk.later()
    second = desk.head
    assert second != first
    desk.leave()
    again = desk_of(settings, store)
    assert again.head == second
    for _ in range(len(again.queue) - 1):
        again.later()
    assert again.head == first
    assert len(again.queue) == len(desk.queue)


def test_a_side_line_leads_back_to_the_question_in_hand(settings: Settings, store: Store) -> None:
    """Correcting what nothing asks about does not lose the place."""
    desk = desk_of(settings, store)
    desk.go_to(f"{WALK}/u1")
    asked = desk.head
    desk.to_letter("D")
    assert desk.typed("ab 12") is not None
    assert store.sighting(f"{WALK}/u1").value("serial") == "AB12"
    assert desk.head == asked
    assert desk.row is not None
    assert desk.row.is_of(asked)  # type: ignore[arg-type]  # a question is in hand


def test_an_item_is_added_and_taken_away(settings: Settings, store: Store) -> None:
    """V and words make an issue; blanking it takes it away again."""
    desk = desk_of(settings, store)
    desk.go_to(f"{WALK}/u2")
    desk.to_letter("V")
    assert desk.typed("left channel dead") is not None
    assert builders.issue("channel", "dead", side="left") in store.sighting(f"{WALK}/u2").items("issues")
    desk.cursor = next(n for n, row in enumerate(desk.rows) if row.name == "issues.1")
    desk.blank()
    assert store.sighting(f"{WALK}/u2").items("issues") == []


def test_merge_split_drop_and_add_are_undone_too(settings: Settings, store: Store) -> None:
    """What happens to whole units can be taken back like any answer."""
    desk = desk_of(settings, store)
    desk.go_to(f"{WALK}/u1")
    desk.split(builders.MEMO, 6.0)
    assert len(store.sightings(WALK)) == 3, desk.said
    desk.undo()
    assert len(store.sightings(WALK)) == 2
    desk.go_to(f"{WALK}/u1")
    desk.merge(f"{WALK}/u2")
    assert [s.id for s in store.sightings(WALK)] == [f"{WALK}/u1"]
    desk.undo()
    desk.go_to(f"{WALK}/u2")
    desk.drop()
    assert [s.id for s in store.sightings(WALK)] == [f"{WALK}/u1"]
    assert desk.about != f"{WALK}/u2"
    desk.undo()
    desk.add("tuner")
    assert desk.sighting is not None
    assert desk.sighting.value("unit_type") == "tuner"
    desk.undo()
    assert len(store.sightings(WALK)) == 2


def test_a_review_of_one_unit_stays_with_it(settings: Settings, store: Store) -> None:
    """Only that unit's questions are put."""
    desk = desk_of(settings, store, Scope(unit="U0002"))
    assert {head.unit for head in desk.queue} == {"U0002"}
    while desk.head is not None:
        desk.accept()
    assert store.count_questions()["value"] == 3


def test_an_unknown_clock_is_typed(tmp_path: Path) -> None:
    """A camera's offset that the capture cannot tell is said by the reviewer."""
    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker="Corvane")], offsets=[
        ClockOffset("Lumora K5", 12.0, -3600.0, 3600.0, known=False, how="only one photo")])
    with Store.open(settings.database) as store:
        desk = desk_of(settings, store)
        assert desk.row is not None
        assert desk.row.name == "Lumora K5"
        assert desk.typed("+1h") is not None, desk.said
        assert store.clocks(WALK)[0].offset_s == 3600.0
        assert desk.head is None


def test_a_blank_asked_about_may_stay_blank(tmp_path: Path) -> None:
    """Accepting a blank settles it; a line that says nothing and asks nothing has nothing to accept."""
    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker="Corvane", doubts=[
        Doubted("serial", "a serial was spoken of but not understood")])])
    with Store.open(settings.database) as store:
        desk = desk_of(settings, store)
        assert desk.accept() is not None
        assert desk.head is None
        assert store.sighting(f"{WALK}/u1").value("serial") is None
        desk.to_letter("J")
        assert desk.accept() is None


def test_records_changed_elsewhere_meanwhile_do_no_harm(settings: Settings, store: Store) -> None:
    """A unit dropped by another hand is told, not a crash."""
    desk = desk_of(settings, store)
    desk.go_to(f"{WALK}/u2")
    with Store.open(settings.database) as other:
        other.drop(f"{WALK}/u2", who="bob")
    desk.accept()
    assert "u2" in desk.said
    desk.later()


def test_a_card_that_asks_nothing_leads_back_to_the_question_in_hand(settings: Settings, store: Store) -> None:
    """After a look at another unit, the arrow goes back to where the reviewer was and not past it."""
    desk = desk_of(settings, store)
    desk.add("tuner")
    asked = desk.head
    assert asked is not None
    assert desk.about != asked.about
    desk.later()
    assert (desk.head, desk.about) == (asked, asked.about)


def test_readings_that_the_field_cannot_hold_are_not_offered(tmp_path: Path) -> None:
    """A quantity is a number and a stage one of the record's: other words heard there are no choice."""
    settings = shop_with(tmp_path / "shop", [builders.draft(
        "u1", quantity=flagged(2, 1, others=["Hallwick", "3"]), stage=flagged("waiting", 3, others=["weighting"]))])
    with Store.open(settings.database) as store:
        desk = desk_of(settings, store)
        choices = {row.field: [shown for shown, _ in row.choices] for row in desk.rows if row.asked}
    assert choices == {"quantity": ["3"], "stage": []}


@pytest.fixture
def twins(tmp_path: Path) -> Settings:
    """Two units of one model on file, and a later walk's record that may be either."""
    made = shop_with(tmp_path / "twins", [
        builders.draft(f"u{n}", n * 20.0, n * 20.0 + 19, maker="Corvane", model="AI-350", serial=f"1477{n}")
        for n in (1, 2)])
    later = builders.walk("later", on=DAY + timedelta(days=7), recordings=[builders.recording("memo-02.m4a")])
    with Store.open(made.database) as store:
        store.save_walk(later, [builders.draft("u1", maker="Corvane", model="AI-350", recording="memo-02.m4a")],
                        candidates={"u1": [("U0001", 0.4, ["same model"]), ("U0002", 0.6, ["same model"])]})
    return made


def test_one_key_says_that_it_is_none_of_several(twins: Settings) -> None:
    """Asked about two units on file, the reviewer answers both questions at once, and takes both back at once."""
    with Store.open(twins.database) as store:
        desk = desk_of(twins, store)
        assert desk.row is not None
        assert desk.row.name == "U0002"
        assert desk.take(3) is not None
        assert desk.head is None
        assert [s.id for s in store.unit("U0003").sightings] == ["later/u1"]
        desk.undo()
        assert len(desk.queue) == 2


def test_a_record_is_tied_to_a_unit_that_nobody_asked_about(twins: Settings) -> None:
    """The reviewer finds a unit on file by its words and says that it is this one, or that it is none after all."""
    with Store.open(twins.database) as store:
        desk = desk_of(twins, store)
        assert [unit for unit, _ in desk.like("")] == ["U0001", "U0002"]
        assert [unit for unit, _ in desk.like("14771")] == ["U0001"]
        desk.tie("U0001")
        assert store.sighting("later/u1").unit == "U0001"
        assert desk.head is None
        desk.tie(None)
        assert [s.id for s in store.unit("U0001").sightings] == [f"{WALK}/u1"]
