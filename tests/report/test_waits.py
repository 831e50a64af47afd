"""What a unit waits for is a part, a person, a decision or a test only where the words say so."""

from __future__ import annotations

import pytest

from intake.records.values import contract_terms
from intake.report import waits

PARTS = {*contract_terms()["part"], *contract_terms()["accessory"]}


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("belt", "part"),
        ("output transistor", "part"),
        ("new output transistors", "part"),
        ("external power supply", "part"),
        ("dust cover", "part"),
        ("the customer's belt", "part"),
        ("laser", "part"),
        ("diagram", "part"),
        ("RCA jack", "part"),
        ("owner's okay", "decision"),
        ("customer decision", "decision"),
        ("Mister Okafor's okay", "decision"),
        ("Pargeter's decision", "decision"),
        ("son's okay", "decision"),
        ("return number", "decision"),
        ("a quote", "decision"),
        ("Bev", "person"),
        ("rewinder", "person"),
        ("retipper", "person"),
        ("Dana Okafor", "person"),
        ("the customer", "person"),
        ("burn-in", "test"),
        ("soak test", "test"),
        ("listening test", "test"),
        ("the moon", "something else"),
        ("EL34", "something else"),
        ("better weather", "something else"),
        (None, "not said"),
        ("", "not said"),
        ("  ", "not said"),
        ("pricey", "something else"),
        ("protest", "something else"),
    ],
)
def test_kinds(said: str | None, kind: str) -> None:
    """Words of the trade tell the kind; what fits nowhere is "something else", never a guess."""
    assert waits.kind_of(said, PARTS) == kind


def test_a_part_goes_by_its_own_name() -> None:
    """ "new output transistors" and "output transistor" add up as one part."""
    assert waits.part_named("new output transistors", PARTS) == "output transistor"
    assert waits.part_named("fan  motor kit", {"motor"}) == "motor"
    assert waits.part_named("diagram", PARTS) == "diagram"
