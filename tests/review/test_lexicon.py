"""What typed words mean."""

from __future__ import annotations

import json
from typing import Any

import pytest

from intake.errors import UsageError
from intake.language.draft import LISTS
from intake.records.export import in_words
from intake.records.values import with_shop_terms
from intake.review.lexicon import Lexicon
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.shopfile import add_model, add_place

from .shops import BUILT, ROOT


@pytest.fixture(scope="module")
def lexicon(tmp_path_factory: pytest.TempPathFactory) -> Lexicon:
    shop = tmp_path_factory.mktemp("shop")
    for model in ("AI-350", "AI-300", "CT-9 Mk II"):
        add_model(shop / "vocab", "Corvane", model)
    add_model(shop / "vocab", "Haldwick", "AI-900")
    add_place(shop / "vocab", "shelf B2")
    return Lexicon(load_vocabulary(shop), with_shop_terms(None))


@pytest.mark.parametrize(("field", "typed", "value"), [
    ("maker", "corvane", "Corvane"), ("maker", "dravik audio", "Dravik Audio"), ("maker", "deMille", "deMille"),
    ("model", "ai350", "AI-350"), ("model", "ct-9 mark 2", "CT-9 Mk II"), ("model", "zx-1", "ZX-1"),
    ("model", "zX-1b", "ZX-1b"), ("model", "bramble 12", "Bramble 12"),
    ("location", "SHELF b2", "shelf B2"), ("location", "under stairs", "under stairs"),
    ("stage", "wait", "waiting"), ("unit_type", "integrated amp", "integrated amplifier"), ("serial", "0 41", "0 41"),
])
def test_a_typed_line_is_the_value_meant(lexicon: Lexicon, field: str, typed: str, value: str) -> None:
    """Known names come out as the vocabulary spells them, unknown ones as such names are written."""
    assert lexicon.value(field, typed) == value


@pytest.mark.parametrize(("field", "typed"), [("stage", "limbo"), ("stage", "ready"), ("issues", "lamp gizmo"),
                                              ("accessories", "teapot"), ("maker", " ")])
def test_what_is_no_value_is_refused(lexicon: Lexicon, field: str, typed: str) -> None:
    """Nothing typed is dropped or guessed: what is not understood is said so."""
    with pytest.raises(UsageError):
        lexicon.value(field, typed)


@pytest.mark.parametrize(("field", "typed", "item"), [
    ("issues", "left channel dead", {"part": "channel", "symptom": "dead", "side": "left", "state": "present"}),
    ("issues", "hum suspected", {"part": None, "symptom": "hum", "side": None, "state": "suspected"}),
    ("service", "recap 2019-06 by the last owner", {"work": "recap", "part": None, "date": "2019-06",
                                                    "by": "the last owner"}),
    ("actions", "replace belt due 2026-05-20 waiting on belt", {"work": "replace", "part": "belt", "due": "2026-05-20",
                                                                "waiting_on": "belt"}),
    ("accessories", "no remote", {"item": "remote", "present": False}),
    ("measurements", "left output power 41.5W", {"what": "output power", "value": 41.5, "unit": "W", "side": "left"}),
    ("issues", "part=lamp, symptom=dim", {"part": "lamp", "symptom": "dim", "side": None, "state": "present"}),
])
def test_an_item_is_typed_in_plain_words(lexicon: Lexicon, field: str, typed: str, item: dict[str, Any]) -> None:
    """A reviewer types an item as they would say it."""
    assert lexicon.value(field, typed) == item


def test_every_item_of_the_answer_keys_can_be_typed(lexicon: Lexicon) -> None:
    """What the screen shows of an item is read back as that item: all of the example walks' keys."""
    keys = sorted(BUILT.glob("*/gold.json")) + sorted((ROOT / "bench" / "walks").glob("*/gold.json"))
    if not keys:
        pytest.skip("no answer keys beside this checkout")
    items = [(field, item) for key in keys for unit in json.loads(key.read_text())["units"] for field in LISTS
             for item in unit[field]]
    assert len(items) > 100
    assert [(f, i) for f, i in items if lexicon.value(f, in_words(f, i)) != i] == []


def test_the_makers_own_models_are_offered_first(lexicon: Lexicon) -> None:
    """Completion knows whose model is being typed."""
    assert lexicon.offers("model", "ai", maker="Haldwick")[0].line == "AI-900"
    assert [o.line for o in lexicon.offers("model", "ai", maker="Corvane")][:2] == ["AI-350", "AI-300"]
    assert [o.line for o in lexicon.offers("issues", "left chan")] == ["left channel"]
    assert lexicon.offers("serial", "12") == []
