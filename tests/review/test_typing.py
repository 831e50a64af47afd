"""A word typed as one naturally would, with its capital, though capitals also go to lines."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from intake.review.desk import Desk
from intake.settings import Settings
from tests.records import builders

from .made import WALK, flagged, shop_with
from .test_screen import run, shown


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """One unit that is asked about its maker and its model."""
    return shop_with(tmp_path / "shop", [builders.draft(
        "u1", unit_type="turntable", maker=flagged("Dunbarrow", 1, sure=0.3), model=flagged("DT-5", 2, sure=0.5),
        source="trade-in")])


def facts(desk: Desk) -> dict[str, object]:
    """What the record says."""
    sighting = desk.store.sighting(f"{WALK}/u1")
    return {name: sighting.value(name) for name in ("unit_type", "maker", "model", "serial", "source", "grouping")}


def test_a_word_with_its_capital_goes_where_it_was_begun(settings: Settings) -> None:
    """D goes to the serial, but a small letter after it says that a word was meant: the serial stays blank."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        before = facts(desk)
        await pilot.press("D", "u")
        assert shown(pilot)[-2].startswith("maker: Du")
        assert "Esc, D, =" in shown(pilot)[-1]
        await pilot.press(*"nmarrow", "enter")
        assert facts(desk) == {**before, "maker": "Dunmarrow"}

    run(settings, steps)


def test_a_word_goes_on_where_its_capital_has_no_line(settings: Settings) -> None:
    """A capital that no line has must not be lost from the word."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("P")
        assert "no line has the capital P" in shown(pilot)[-2]
        await pilot.press(*"arlton", "enter")
        assert facts(desk)["maker"] == "Parlton"

    run(settings, steps)


def test_a_capital_after_going_to_a_line_begins_a_word_there(settings: Settings) -> None:
    """C goes to the model, and Dart is typed there; as C could have been of the word, Enter asks once more."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        before = facts(desk)
        await pilot.press("C", *"Dart", "enter")
        assert facts(desk) == before
        assert "Enter again" in shown(pilot)[-1]
        await pilot.press("enter")
        assert facts(desk) == {**before, "model": "Dart"}

    run(settings, steps)


@pytest.mark.parametrize(("typed", "value"), [("DT-9", "DT-9"), ("F-26", "F-26"), ("EL84", "EL84")])
def test_a_model_in_capitals_changes_no_other_line(settings: Settings, typed: str, value: str) -> None:
    """Neither the hyphen blanks the line that the capital went to, nor a digit answers there; Enter asks once more."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("C", "down", "up")
        assert desk.row is not None
        assert desk.row.field == "model"
        before = facts(desk)
        await pilot.press(*typed, "enter")
        assert facts(desk) == before
        assert shown(pilot)[-2].startswith(f"model: {typed}")
        await pilot.press("enter")
        assert facts(desk) == {**before, "model": value}

    run(settings, steps)


def test_words_in_capitals_accept_nothing(settings: Settings) -> None:
    """With the capitals lock on, a blank between two words is no answer to the line that the last letter went to."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        before, questions = facts(desk), len(desk.queue)
        await pilot.press(*"HFC AB")
        assert desk.store.sighting(f"{WALK}/u1").scalars["model"].state == "open"
        await pilot.press("escape")
        assert (facts(desk), len(desk.queue)) == (before, questions)

    run(settings, steps)


def test_the_sign_types_on_the_line_that_a_capital_went_to(settings: Settings) -> None:
    """Capital, =, words, Enter: the line that was gone to has them, and the screen says so."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        assert "A-Z go, = type" in shown(pilot)[-1]
        before = facts(desk)
        await pilot.press("D", "=", *"x77", "enter")
        assert facts(desk) == {**before, "serial": "X77"}
        await pilot.press("V", "=", *"left channel dead", "enter")
        assert desk.store.sighting(f"{WALK}/u1").items("issues") == [builders.issue("channel", "dead", side="left")]

    run(settings, steps)


def test_names_that_begin_so_are_offered_first(settings: Settings) -> None:
    """Of one letter no name is offered that only has it inside; a later word of a name may begin with it."""
    from intake.records.values import with_shop_terms
    from intake.review.lexicon import Lexicon
    from intake.vocabulary.load import load_vocabulary
    from intake.vocabulary.shopfile import add_maker

    for name in ("Aldersby", "Casterby", "Hollow Bay", "Bexhollow"):
        add_maker(settings.vocab, name)
    lexicon = Lexicon(load_vocabulary(settings.shop), with_shop_terms(None))
    assert [offer.line for offer in lexicon.offers("maker", "b")] == ["Bexhollow", "Hollow Bay"]
    assert [offer.line for offer in lexicon.offers("maker", "hol")] == ["Hollow Bay", "Bexhollow"]
