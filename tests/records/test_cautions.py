"""Units that can hurt somebody show the usual caution, which sends people on and never tells how to repair."""

from __future__ import annotations

import re
from typing import Any

import pytest

from intake.language.draft import Value
from intake.records.cautions import POUND_KG, cautions, rules
from intake.records.store import Store
from intake.records.values import contract_terms

from .builders import draft, heard, issue, service, walk


def names(store: Store, *, mains_v: int | None = None, **fields: Any) -> list[str]:
    """The cautions of a unit with these fields."""
    store.save_walk(walk(), [draft("u1", **fields)])
    return [caution.name for caution in cautions(store.unit("U0001"), mains_v=mains_v)]


def weight(value: float, unit: str) -> dict[str, Any]:
    return {"what": "weight", "value": value, "unit": unit, "side": None}


@pytest.mark.parametrize(("fields", "wanted"), [
    ({"unit_type": "vacuum tube"}, {"high voltage"}),
    ({"unit_type": "preamplifier", "issues": [issue("tube socket", "loose")]}, {"high voltage", "mains"}),
    ({"unit_type": "power amplifier", "service": [service("retube")]}, {"high voltage", "mains", "stored charge"}),
    ({"unit_type": "CD player"}, {"laser", "mains"}),
    ({"unit_type": "test instrument", "model": Value("743", heard("the oscilloscope, the 743", 1))},
     {"picture tube", "mains"}),
    ({"unit_type": "cable"}, set()),
    ({"unit_type": "loudspeaker"}, set()),
    ({"unit_type": "loudspeaker", "issues": [issue("cone", "torn")], "measurements": [weight(30, "kg")]}, {"heavy"}),
    ({"unit_type": "tuner", "maker": Value("Haldwick", heard("with a selenium rectifier", 1))}, {"mains", "selenium"}),
])
def test_which_caution_is_shown(store: Store, fields: dict[str, Any], wanted: set[str]) -> None:
    """By type, by parts and work, by weight, by what was said; a thing without danger shows none."""
    assert set(names(store, **fields)) == wanted


# NIOSH 94-110 (revised 9/2021): the load constant is 23 kg or 51 lb.
@pytest.mark.parametrize(("value", "unit", "heavy"), [
    (23, "kg", False), (23.1, "kg", True), (50, "lb", False), (51, "lb", True), (22999, "g", False), (30000,
        "g", True)])
def test_heavy_is_over_the_load_constant(store: Store, value: float, unit: str, heavy: bool) -> None:
    """Over 23 kg, in whatever unit it was weighed; 51 lb is a little more than that."""
    assert ("heavy" in names(store, unit_type="cabinet", measurements=[weight(value, unit)])) is heavy
    assert pytest.approx(23.13, abs=0.01) == 51 * POUND_KG


@pytest.mark.parametrize(("volts", "shop", "shown"), [(230, 120, True), (120, 120, False), (117, 120, False),
    (100, 230, True)])
def test_another_countrys_voltage(store: Store, volts: int, shop: int, shown: bool) -> None:
    """A line voltage far from the shop's is told before somebody plugs the unit in."""
    found = names(store, mains_v=shop, measurements=[{"what": "line voltage", "value": volts, "unit": "V",
        "side": None}])
    assert ("other voltage" in found) is shown


def test_each_text_warns_and_sends_on() -> None:
    """Every caution defers to a manual, to rules or codes, or to trained people, and says nothing of how to repair."""
    for rule in rules():
        assert re.search(r"manual|local rules|electrical code|trained|rules for lifting", rule.text), rule.name
        assert not re.search(r"discharge (it|them)|bleeder|short (it|the)|solder|measure (it|across)",
            rule.text), rule.name


def test_the_rules_use_the_contracts_terms() -> None:
    """A misspelt term would silence a caution: all are terms of the record."""
    terms = contract_terms()
    for rule in rules():
        for given, kind in ((rule.unit_types, "unit_type"), (rule.parts, "part"), (rule.work, "work"),
                            (rule.measures, "measure"), (rule.accessories, "accessory")):
            assert given <= set(terms[kind]), rule.name


def test_types_that_plug_in_are_all_covered() -> None:
    """Every unit type either gets the mains caution or is known to need none by its type."""
    mains = next(rule for rule in rules() if rule.name == "mains").unit_types
    passive = {"tonearm", "cartridge", "headphones", "loudspeaker", "step-up transformer", "cable", "equipment rack",
               "isolation base", "vacuum tube", "cabinet", "other"}
    assert set(contract_terms()["unit_type"]) == mains | passive
