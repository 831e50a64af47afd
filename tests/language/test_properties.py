"""What must hold of any text at all, sense or nonsense."""

from __future__ import annotations

from datetime import date

from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from intake.language.draft import UnitDraft
from intake.language.numbers import read_code, read_number
from intake.vocabulary.terms import UNITS_OF_MEASURE
from tests.language.said import text, transcript
from tests.language.shop import CASES, extractor, read_yaml

DAY = date(2026, 1, 14)
SPOKEN = [c["said"] for p in sorted(CASES.glob("*.yaml")) if p.name != "shop.yaml" for c in read_yaml(p)["cases"]]
WORDS = sorted({word for said in SPOKEN for word in said.split()})
SALAD = st.lists(st.sampled_from(WORDS), max_size=60).map(" ".join)  # the words of the shop in any order
ANYTHING = st.text(max_size=80)
FEW = settings(
    max_examples=40, deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow]
)
# which terms a key of a list entry may hold, by field and key
KINDS = {
    ("issues", "part"): "part",
    ("issues", "symptom"): "symptom",
    ("issues", "side"): "side",
    ("service", "work"): "work",
    ("service", "part"): "part",
    ("actions", "work"): "work",
    ("actions", "part"): "part",
    ("accessories", "item"): "accessory",
    ("measurements", "what"): "measure",
    ("measurements", "side"): "side",
}
SCALARS = {
    "unit_type": "unit_type",
    "stage": "stage",
    "source": "source",
    "cosmetic": "cosmetic",
    "grouping": "grouping",
}


def extract(said: str) -> tuple[UnitDraft, ...]:
    """The units of one recording."""
    return extractor().extract([transcript(said)], DAY).units


def foreign(unit: UnitDraft) -> list[tuple[str, object]]:
    """Values of the unit that are no canonical words."""
    allowed = extractor().vocabulary.allowed
    said = [(SCALARS[f], v.value) for f, v in unit.scalars.items() if f in SCALARS]
    said += [(kind, v.value.get(key)) for (field, key), kind in KINDS.items() for v in getattr(unit, field)]
    out = [(kind, value) for kind, value in said if value is not None and value not in allowed[kind]]
    out += [
        ("state", v.value["state"]) for v in unit.issues if v.value["state"] not in {"present", "suspected", "fixed"}
    ]
    return out + [("unit", v.value["unit"]) for v in unit.measurements if v.value["unit"] not in UNITS_OF_MEASURE]


@FEW
@given(SALAD)
@example("No, sorry, scratch that.")
@example("serial serial serial, mark mark double double.")
def test_shop_words_in_any_order_give_canonical_values(said: str) -> None:
    """Whatever the order of the words, the record holds canonical terms only, and chances between 0 and 1."""
    for unit in extract(said):
        assert foreign(unit) == []
        assert all(0 <= v.confidence <= 1 for v in unit.scalars.values())


@FEW
@given(ANYTHING)
@example("")
@example("... , -- !")
@example("’s 'tis — [left] ½ 𝟙 ²")
@example("There’s ² of them, a pair of ² tubes, a dozen, no, ².")
def test_any_text_is_read_without_an_exception(said: str) -> None:
    """Any text gives a result, and only canonical words appear in it."""
    assert [foreign(u) for u in extract(said)] == [[] for _ in extract(said)]


@FEW
@given(SALAD)
def test_twice_is_the_same(said: str) -> None:
    """Reading the same words a second time gives the same units."""
    assert extract(said) == extract(said)


@FEW
@given(st.lists(SALAD, max_size=3))
def test_ids_are_in_order_of_mention(said: list[str]) -> None:
    """Over several recordings units are numbered u1, u2, ... without a gap."""
    units = extractor().extract([transcript(s, f"memo-{n}.m4a") for n, s in enumerate(said)], DAY).units
    assert [u.id for u in units] == [f"u{n}" for n in range(1, len(units) + 1)]


@settings(max_examples=200, deadline=None, derandomize=True, database=None)
@given(st.one_of(SALAD, ANYTHING))
def test_numbers_and_codes_stay_in_the_text(said: str) -> None:
    """A number or code read at any word ends behind that word and inside the text, and has characters."""
    tokens = text(said).tokens
    for i in range(len(tokens)):
        if number := read_number(tokens, i, len(tokens)):
            assert i < number[1] <= len(tokens)
        if code := read_code(tokens, i, len(tokens)):
            assert i <= code.start < code.end <= len(tokens)
            assert code.text
