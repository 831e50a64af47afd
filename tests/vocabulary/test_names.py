"""How a shop's own names are said."""

from __future__ import annotations

import pytest

from intake.vocabulary.names import all_forms, maker_forms, model_forms, place_forms
from intake.vocabulary.terms import name_key


@pytest.mark.parametrize(("model", "said"), [
    ("AI-350", "a i three fifty"), ("AI-350", "ai350"), ("AI-350", "ai 350"), ("PT-26 Mk II", "pt-26 mk2"),
    ("PT-26 Mk II", "p t twenty-six mark two"), ("PT-26 Mk II", "pt 26 mark ii"), ("217", "two seventeen"),
    ("Gauge 2", "gauge two"), ("TR-2205", "t r twenty-two oh five"), ("MB-38", "mb-38s"), ("CD-3M", "c d three m"),
])
def test_models(model: str, said: str) -> None:
    """A model comes as written, without its hyphen, and letter by letter with its number in words."""
    assert said in model_forms(model)


def test_a_model_has_few_forms() -> None:
    """Tens of thousands of models must not make millions of forms."""
    assert max(len(model_forms(m)) for m in ("AI-350", "TR-2205", "PT-26 Mk II", "Gauge 2", "4107", "XC-31B")) <= 14


def test_written_forms_keep_the_key() -> None:
    """Every form without number words is the same name by its key."""
    for form in model_forms("TH-60 Mk IV"):
        if any(c.isdigit() for c in form):
            assert name_key(form) == "th60mk4", form


def test_makers_and_places() -> None:
    """Makers come in the plural and with an s of possession; places with their number in words."""
    assert {"wexcombes", "wexcombe's"} <= set(maker_forms("Wexcombe"))
    assert {"shelf b2", "shelf b two", "shelf b 2"} <= set(place_forms("shelf B2"))


def test_plain_numbers_as_models_are_unsure() -> None:
    """A model that is nothing but a number is one only in its context."""
    assert all(unsure for _, unsure in all_forms("model", "217"))
    assert not any(unsure for _, unsure in all_forms("model", "AI-350"))
