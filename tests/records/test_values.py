"""Values are checked before they reach a table."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from intake.language.draft import LISTS, SCALARS
from intake.records.values import ValueRefused, checked, contract_terms, with_shop_terms
from intake.vocabulary.terms import CONTRACT_KINDS, UNITS_OF_MEASURE

from .builders import REFERENCE

TERMS = contract_terms()


@pytest.mark.parametrize(("field", "given", "kept"), [
    ("serial", "k 90-213", "K90213"),
    ("unit_type", "cd PLAYER", "CD player"),
    ("quantity", "2", 2),
    ("quantity", 2.0, 2),
    ("maker", "  Corvane \n Audio ", "Corvane Audio"),
    ("model", None, None),
    ("accessories", {"item": "remote", "present": "no"}, {"item": "remote", "present": False}),
    ("service", {"work": "recap", "date": "2019"}, {"work": "recap", "part": None, "date": "2019", "by": None}),
    ("measurements", {"what": "weight", "value": "31.0", "unit": "kg"},
     {"what": "weight", "value": 31, "unit": "kg", "side": None}),
])
def test_a_value_is_written_as_the_record_writes_it(field: str, given: Any, kept: Any) -> None:
    """Case, blanks and missing parts are put right; what it says stays."""
    assert checked(field, given, TERMS) == kept


@pytest.mark.parametrize(("field", "given"), [
    ("stage", "sold"), ("serial", "--"), ("quantity", 0), ("quantity", True), ("quantity", "two"), ("maker", " "),
    ("maker", 7), ("colour", "red"), ("issues", "lamp dead"), ("issues", {"state": "present"}),
    ("issues", {"part": "lamp", "symptom": "dead"}), ("issues", {"part": "lamp", "state": "present", "colour": "red"}),
    ("service", {"part": "lamp"}), ("service", {"work": "recap", "date": "June 2019"}),
    ("service", {"work": "recap", "date": "2019-13"}), ("measurements", {"what": "weight", "value": float("nan")}),
    ("measurements", {"what": "weight", "value": 3, "unit": "stone"}), ("accessories", {"item": "remote"}),
])
def test_what_the_record_has_no_place_for_is_refused(field: str, given: Any) -> None:
    """A value outside the contract is refused with a message, whatever its type."""
    with pytest.raises(ValueRefused) as refused:
        checked(field, given, TERMS)
    assert len(str(refused.value)) > 10


@given(st.sampled_from(SCALARS + LISTS), st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)))
def test_checking_never_fails_otherwise(field: str, value: Any) -> None:
    """Any value at all is either kept in a form that is checked again unchanged, or refused."""
    try:
        kept = checked(field, value, TERMS)
    except ValueRefused:
        return
    assert checked(field, kept, TERMS) == kept


def test_the_schema_has_the_contracts_terms() -> None:
    """The schema enumerates exactly the terms of the contract (contract/terms.yaml, kept beside the checkout)."""
    path = REFERENCE / "contract" / "terms.yaml"
    if not path.exists():
        pytest.skip("the reference folder is not beside this checkout")
    listed = yaml.safe_load(path.read_text("utf-8"))
    assert {kind: list(TERMS[kind]) for kind in CONTRACT_KINDS} == {
        kind: listed[name] for kind, name in CONTRACT_KINDS.items()}


def test_the_schema_agrees_with_the_vocabulary() -> None:
    """Units of measure are the same in the schema and in the vocabulary."""
    assert TERMS["unit_of_measure"] == UNITS_OF_MEASURE


def test_a_shops_own_terms_count() -> None:
    """A term that a shop added is taken; kinds that the record does not know are not."""
    terms = with_shop_terms({"part": ["lamp shade"], "colour": ["red"]})
    item = {"part": "lamp shade", "symptom": None, "side": None, "state": "present"}
    assert checked("issues", item, terms) == item
    assert "colour" not in terms
