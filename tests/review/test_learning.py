"""What a correction teaches, and what it must not."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from intake.pipeline import extract
from intake.records.store import Store
from intake.review import learning
from intake.review.answers import TYPED, Answer
from intake.review.desk import Desk
from intake.review.rows import Row
from intake.settings import Settings
from intake.speech.transcript import Segment, Transcript, Word
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.shopfile import read_shop
from tests.records import builders

from .made import WALK, flagged, shop_with


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return shop_with(tmp_path / "shop", [
        builders.draft("u1", 0, 20, maker=flagged("Hollowood", 2, words="Hollow wood,"), model="HV-46"),
        builders.draft("u2", 20, 40, maker=flagged("Hollowood", 21, words="hollow wood"), model="HV-46"),
        builders.draft("u3", 40, 60, maker=flagged("Dravik", 41, words="Dravik", reason="not in the vocabulary"),
                       unit_type="tuner", model=flagged("T-1", 43)),
    ])


@pytest.fixture
def desk(settings: Settings) -> Desk:
    return Desk(Store.open(settings.database), settings, "ann")


def correct(desk: Desk, about: str, letter: str, line: str) -> None:
    desk.go_to(about)
    assert desk.to_letter(letter)
    assert desk.typed(line) is not None, desk.said


def heard_maker(settings: Settings, text: str) -> str | None:
    """The maker that the next walk reads from these words."""
    words = tuple(Word(w, n * 0.4, n * 0.4 + 0.35) for n, w in enumerate(text.split()))
    made = extract([Transcript("memo.vtt", "0" * 64, 60.0, (Segment(words),))], load_vocabulary(settings.shop),
                   date(2026, 6, 1)).units
    return str(made[0].scalars["maker"].value) if made and "maker" in made[0].scalars else None


def test_after_a_yes_the_next_walk_gets_it_right(desk: Desk, settings: Settings) -> None:
    """The corrected words mean that maker from then on, and not before."""
    said = "Next is a hollow wood turntable with a bad belt."
    assert heard_maker(settings, said) != "Haldwick"
    correct(desk, f"{WALK}/u1", "B", "haldwick")
    assert desk.lesson is not None
    assert desk.lesson.alias == ("hollow wood", "maker", "Haldwick")
    assert read_shop(settings.vocab).aliases == ()
    desk.teach()
    assert read_shop(settings.vocab).aliases == (("hollow wood", "maker", "Haldwick"),)
    assert heard_maker(settings, said) == "Haldwick"


def test_a_lesson_is_undone_before_the_correction_that_led_to_it(desk: Desk, settings: Settings) -> None:
    """Undo goes back through lessons and answers in the order in which they were made; redo forward again."""
    before = (settings.vocab / "models.txt").read_text()
    correct(desk, f"{WALK}/u1", "B", "haldwick")
    desk.teach()
    desk.undo()
    assert read_shop(settings.vocab).aliases == ()
    assert desk.store.sighting(f"{WALK}/u1").value("maker") == "Haldwick"
    desk.undo()
    assert desk.store.sighting(f"{WALK}/u1").value("maker") == "Hollowood"
    desk.redo()
    desk.redo()
    assert read_shop(settings.vocab).aliases == (("hollow wood", "maker", "Haldwick"),)
    assert (settings.vocab / "models.txt").read_text() == before


def test_the_plain_undo_command_forgets_too(desk: Desk, settings: Settings) -> None:
    """`intake undo` takes a lesson back out of the vocabulary, `intake redo` puts it in again."""
    from typer.testing import CliRunner

    from intake.cli import build

    correct(desk, f"{WALK}/u1", "B", "haldwick")
    desk.teach()
    for command, left in (("undo", ()), ("redo", (("hollow wood", "maker", "Haldwick"),))):
        result = CliRunner().invoke(build(), ["--shop", str(settings.shop), command])
        assert result.exit_code == 0, result.output
        assert read_shop(settings.vocab).aliases == left


def test_the_history_tells_what_was_taught(desk: Desk, settings: Settings) -> None:
    """A lesson stands in `intake history` and `intake show` in words."""
    from typer.testing import CliRunner

    from intake.cli import build

    correct(desk, f"{WALK}/u1", "B", "haldwick")
    desk.teach()
    for command in ("history", "show"):
        result = CliRunner().invoke(build(), ["--shop", str(settings.shop), command, "U0001"])
        assert result.exit_code == 0, result.output
        assert "“hollow wood” means Haldwick" in " ".join(result.output.split())


def test_an_unknown_maker_that_is_accepted_becomes_a_term(desk: Desk, settings: Settings) -> None:
    """Accepting a new name offers to add it, the model with its type."""
    desk.go_to(f"{WALK}/u3")
    desk.to_letter("B")
    desk.accept()
    assert desk.lesson is not None
    assert desk.lesson.entries == (("maker", ("Dravik",)),)
    desk.teach()
    desk.go_to(f"{WALK}/u3")
    desk.to_letter("C")
    desk.accept()
    desk.teach()
    words = read_shop(settings.vocab)
    assert "Dravik" in words.makers
    assert [(m.maker, m.name, m.unit_type) for m in words.models if m.maker == "Dravik"] == [("Dravik", "T-1", "tuner")]
    desk.undo()
    assert [m for m in read_shop(settings.vocab).models if m.maker == "Dravik"] == []


def test_records_settled_otherwise_are_shown_first(desk: Desk) -> None:
    """Where a person accepted another value on the same words, the reviewer sees that before teaching."""
    desk.go_to(f"{WALK}/u2")
    desk.to_letter("B")
    desk.accept()
    correct(desk, f"{WALK}/u1", "B", "haldwick")
    assert [(c.about, c.value) for c in desk.clashes()] == [(f"{WALK}/u2", "Hollowood")]


@pytest.mark.parametrize(("heard", "why"), [
    ("hal", "too short"), ("the good one", "everyday"), ("four seven", "everyday"),
    ("colonel whitby", "sounds too little"), ("cloud", "everyday"), ("corvane", "means Corvane"), ("turntable", "means turntable"), ("this one here is a whole sentence", "sentence"),
])
def test_nonsense_is_not_taught(settings: Settings, heard: str, why: str) -> None:
    """Too short, everyday speech, another term's name, a whole sentence: none of these becomes an alias."""
    vocabulary = load_vocabulary(settings.shop)
    assert why in str(learning.fault(heard, "maker", "Haldwick", vocabulary))
    row = Row("value", f"{WALK}/u1", WALK, "maker", "maker", "maker", "X", "X", id=1, evidence=builders.heard(heard, 1))
    assert learning.lesson_of(Answer(TYPED, row, "Haldwick", False, ""), vocabulary) is None


def test_a_place_is_not_renamed_after_its_neighbour(settings: Settings) -> None:
    """"Shelf B2" was heard right and this unit stands elsewhere: the words must go on meaning that shelf."""
    vocabulary = load_vocabulary(settings.shop)
    assert "sounds too little" in str(learning.fault("shelf d2", "location", "shelf D3", vocabulary))
    assert learning.fault("chef b two", "location", "shelf B2", vocabulary) is None


def test_a_model_waits_for_its_maker(desk: Desk) -> None:
    """While the maker is in doubt its model is no lesson; once the maker is settled, both are one."""
    desk.store.set_field(f"{WALK}/u3", "model", "T-1", who="ann")
    desk.go_to(f"{WALK}/u3")
    assert desk.sighting is not None
    assert learning.beside(desk.sighting) == learning.Beside(None, "T-1", "tuner")
    correct(desk, f"{WALK}/u3", "B", "drovik")
    assert desk.lesson is not None
    assert [what for what, _ in desk.lesson.entries][:2] == ["maker", "model"]
    assert desk.lesson.entries[1][1][:2] == ("Drovik", "T-1")


def test_a_serial_teaches_nothing(settings: Settings) -> None:
    """A serial number is one thing's; there is nothing in it to learn."""
    row = Row("value", f"{WALK}/u1", WALK, "serial", "serial", "serial", "1", "1", evidence=builders.heard("one", 1.0))
    assert learning.lesson_of(Answer(TYPED, row, "17", False, ""), load_vocabulary(settings.shop)) is None
