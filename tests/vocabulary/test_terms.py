"""Names are the same however case, hyphens and marks are written; a vocabulary answers by any of these."""

from __future__ import annotations

import pytest

from intake.vocabulary.terms import ModelName, Vocabulary, name_key

WORDS = Vocabulary(
    makers=("Corvane", "Pellworth"),
    models=(ModelName("Corvane", "AI-350", "integrated amplifier"), ModelName("Pellworth", "PT-26 Mk II"),
            ModelName("Pellworth", "AI 350")),
)


@pytest.mark.parametrize("written", ["PT-26 Mk II", "pt26 mk2", "PT 26 Mark 2", "PT-26 mark II", "Pt-26MK2",
                                     "PT-26 Mk. II"])
def test_marks_are_one(written: str) -> None:
    """A mark is the same in Roman and Arabic digits, as "Mk" and as "mark"."""
    assert name_key(written) == "pt26mk2"


@pytest.mark.parametrize(("one", "other"), [("PT-26", "PT-26 Mk II"), ("TH-60 Mk IV", "TH-60 Mk VI"), ("Mark",
                                                                                                       "Mk 1")])
def test_different_names_stay_different(one: str, other: str) -> None:
    """Versions of a model are not one model."""
    assert name_key(one) != name_key(other)


def test_models_of_a_maker() -> None:
    """A maker's models come in the order of the file, however the maker is written."""
    assert [m.name for m in WORDS.models_of("PELLWORTH")] == ["PT-26 Mk II", "AI 350"]


def test_makers_of_a_model() -> None:
    """A model name that two makers use leads to both."""
    assert WORDS.makers_of("ai350") == ("Corvane", "Pellworth")


def test_unknown_names_give_nothing() -> None:
    """What is not in the vocabulary is no error."""
    assert WORDS.models_of("Nobody") == ()
    assert WORDS.makers_of("X") == ()
