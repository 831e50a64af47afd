"""Which terms a second reading is hinted with: few, the ones that sound like what was heard there."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.speech.hints import FILLER, Hinter, Proposal, hint_of, trade_words
from intake.speech.transcript import Word
from intake.vocabulary.terms import ModelName, Phrase, Vocabulary

MAKERS = ("Thorncross", "Thorncrest", "Ravensholt", "Haldwick", "Corvane", "Ellisford")
MODELS = (ModelName("Haldwick", "FT-118"), ModelName("Haldwick", "HV-46"), ModelName("Thorncross", "TH-60"),
          ModelName("Ravensholt", "RG-54"), ModelName("Corvane", "CP-12"))
PHRASES = (Phrase("cosmetically", "cosmetic", "good"), Phrase("phono stage", "unit_type", "phono stage"),
           Phrase("microphonic", "symptom", "microphonic"), Phrase("microfonic", "symptom", "microphonic"),
           Phrase("volume", "part", "volume control", ambiguous=True), Phrase("woofers", "part", "woofer"))
COMMON = {"stage", "volume", "lamp", "good"}


def said(text: str, probability: float = 0.5) -> list[Word]:
    return [Word(t, i * 0.4, i * 0.4 + 0.4, probability) for i, t in enumerate(text.split())]


@pytest.fixture(autouse=True)
def _own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def hinter() -> Hinter:
    vocabulary = Vocabulary(phrases=PHRASES, makers=MAKERS, models=MODELS, locations=("shelf B2", "bay 3"),
                            allowed={"tube": ("EL34", "300B"), "symptom": ("microphonic",)})
    return Hinter(vocabulary, lambda word: word not in COMMON)


def terms(found: list[Proposal]) -> list[str]:
    return list(dict.fromkeys(p.term for p in found))


@pytest.mark.parametrize(("heard", "meant"), [
    ("here is a foreign cross amplifier", "Thorncross"),
    ("it's a pair, Raven Shold, here", "Ravensholt"),
    ("then there is an Ellis Ferd. Next", "Ellisford"),
    ("it is cause medically fine", "cosmetically"),
    ("One tube is microfondic, you tap it", "microphonic"),
    ("the wifers were distorted", "woofers"),
])
def test_a_misheard_term_is_proposed_first(hinter: Hinter, heard: str, meant: str) -> None:
    """Across word borders, by sound."""
    assert hinter.proposals(said(heard))[0].term == meant


def test_what_is_written_right_is_left_alone(hinter: Hinter) -> None:
    """Names as the vocabulary has them, also in the plural, and sure words need no hint."""
    assert "Thorncross" not in terms(hinter.proposals(said("The Thorncross, the TH60, two Ravensholts")))
    assert hinter.proposals(said("here is a foreign cross amplifier", probability=0.99)) == []


def test_a_term_never_goes_over_a_stop(hinter: Hinter) -> None:
    """The end of one sentence and the start of the next are no name."""
    assert "Ravensholt" not in terms(hinter.proposals(said("it is a raven. Shold that one")))


def test_digits_are_never_guessed(hinter: Hinter) -> None:
    """A model is proposed only where its very digits were heard."""
    assert "RG-54" in terms(hinter.proposals(said("the RJ54 here")))
    assert "RG-54" not in terms(hinter.proposals(said("the RJ55 here")))


def test_a_rival_name_is_proposed_beside_the_best(hinter: Hinter) -> None:
    """Where the vocabulary has near names, both are weighed."""
    ranks = {p.term: p.rank for p in hinter.proposals(said("a foreign cross amplifier")) if p.kind == "maker"}
    assert ranks["Thorncross"] == 0
    assert ranks["Thorncrest"] > 0


def test_a_model_beside_it_speaks_for_its_maker(hinter: Hinter) -> None:
    """FT-118 is Haldwick's: "hell with" beside it is likely Haldwick, though it sounds only half like it."""
    found = [p for p in hinter.proposals(said("Next to it is a hell with tuner, the FT-118")) if p.term == "Haldwick"]
    assert found
    assert found[0].support > 0.9


def test_nobodys_name_is_a_term_of_the_trade(hinter: Hinter) -> None:
    """A word in capitals inside a sentence is left alone by trade words."""
    assert "woofers" not in terms(hinter.proposals(said("the wife of Wifers called")))


def test_of_words_that_sound_the_same_the_contracts_own_is_kept() -> None:
    """Misspellings in the vocabulary are for reading, not for writing; unsure forms are left out."""
    vocabulary = Vocabulary(phrases=PHRASES, allowed={"symptom": ("microphonic",)})
    assert trade_words(vocabulary, lambda word: word not in COMMON) == [
        "microphonic", "cosmetically", "phono", "phono stage", "woofers"]


def test_hints_keep_to_their_budget() -> None:
    """Best first, each once, never more tokens than allowed."""
    found = [Proposal(i, i + 1, term, "maker", 0.9) for i, term in enumerate(["Aaaa", "Bbbb", "Aaaa", "Cccc"])]
    assert hint_of(found, len, 100) == "Aaaa, Bbbb, Cccc"
    assert hint_of(found, len, 12) == "Aaaa, Bbbb"
    assert hint_of([], len, 12) == ""


def test_the_filler_holds_no_name() -> None:
    """It only makes prompts equally long."""
    assert not any(maker in FILLER for maker in MAKERS)


def test_a_designation_that_one_maker_has_brings_its_name_from_less_alike_words(hinter: Hinter) -> None:
    """FT-118 is Haldwick's alone: "harbrig" beside it may be that name; beside a designation only like it, not."""
    assert "Haldwick" in terms(hinter.proposals(said("the tuner is a harbrig, the FT118, serial 12")))
    assert "Haldwick" not in terms(hinter.proposals(said("the tuner is a harbrig, the FD118, serial 12")))


def test_everyday_words_are_told_from_garbled_ones(hinter: Hinter) -> None:
    """Words the recognizer has a token for may well have been said."""
    assert hinter.is_common("good lamp,")
    assert not hinter.is_common("good wifers")
