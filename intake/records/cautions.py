"""Which cautions a unit's record shows; nothing here judges a unit safe.

The usual ones come from what is known of it; their words stand in cautions.yaml. Those that a walk told of this very
unit (its plate asks for other mains) are doubts of the whole unit, beginning with `TOLD`. Accepting such a doubt says
that it is true, so it stays with the unit; only blanking it takes it away.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from intake.records.types import Stored, Unit

ACCEPTED = "accepted"

POUND_KG = 0.45359237  # the international avoirdupois pound, exactly
WEIGHT_KG = {"kg": 1.0, "g": 0.001, "lb": POUND_KG}
#: A line voltage this far from the shop's, as a share of it, is another country's.
OTHER_VOLTAGE = 0.2
#: How the reason of a doubt begins that is a caution of this very unit.
TOLD = "caution: "
TOLD_NAME = "line voltage"


@dataclass(frozen=True)
class Caution:
    """One caution: a short name and the words to show.

    `told`: of this very unit, by a walk; `seen_by`: who accepted that, "" while nobody has.
    """

    name: str
    text: str
    told: bool = False
    seen_by: str = ""

    @property
    def noted(self) -> str:
        """The words, and for a caution of this very unit whether a person has seen it."""
        seen = f"seen by {self.seen_by}" if self.seen_by else "not reviewed yet"
        return f"{self.text} ({seen})" if self.told else self.text


@dataclass(frozen=True)
class Rule:
    """When a caution is shown."""

    name: str
    text: str
    unit_types: frozenset[str] = frozenset()
    parts: frozenset[str] = frozenset()
    work: frozenset[str] = frozenset()
    measures: frozenset[str] = frozenset()
    accessories: frozenset[str] = frozenset()
    words: tuple[str, ...] = ()
    over_kg: float | None = None


@cache
def rules() -> tuple[Rule, ...]:
    """The rules of cautions.yaml."""
    import yaml

    data = yaml.safe_load(resources.files("intake.records").joinpath("cautions.yaml").read_text("utf-8"))
    sets = ("unit_types", "parts", "work", "measures", "accessories")
    return tuple(Rule(**{**entry, **{key: frozenset(entry[key]) for key in sets if key in entry},
                         "words": tuple(entry.get("words", ()))}) for entry in data)


def cautions(unit: Unit, *, mains_v: int | None = None) -> list[Caution]:
    """The cautions a unit's page shows: told of it first, then by its type, parts, weight and what was said of it."""
    said = _said(unit)
    found = told(stored for sighting in unit.sightings for stored in sighting.doubts)
    found += [Caution(rule.name, rule.text) for rule in rules() if _holds(rule, unit, said)]
    return found + _other_voltage(unit, mains_v)


def told(doubts: Iterable[Stored]) -> list[Caution]:
    """The cautions among doubts of a whole unit, open or accepted; each once, as accepted where any of them is."""
    found: dict[str, Caution] = {}
    for stored in doubts:
        who = stored.origin if stored.state == ACCEPTED else ""
        for text in of_doubt(stored):
            before = found.get(text)
            found[text] = Caution(TOLD_NAME, _sentence(text), True, who or (before.seen_by if before else ""))
    return list(found.values())


def of_doubt(stored: Stored) -> list[str]:
    """The cautions that a doubt tells, as they were written; none of one that a person took away."""
    held = [stored.value] if isinstance(stored.value, str) else list(stored.reasons)
    return [text for text in held if stored.field == "unit" and text.startswith(TOLD)]


def kept(field: str, decision: str | None, decided: Any, reasons: Sequence[str]) -> Any:
    """What an answered doubt holds: the caution that was accepted, else what was decided."""
    if field != "unit" or decision != ACCEPTED or decided is not None:
        return decided
    return next((reason for reason in reasons if reason.startswith(TOLD)), None)


def _sentence(text: str) -> str:
    plain = text.removeprefix(TOLD).strip()
    return f"{plain[:1].upper()}{plain[1:].rstrip('.')}."


def _holds(rule: Rule, unit: Unit, said: str) -> bool:
    if unit.value("unit_type") in rule.unit_types:
        return True
    for names, wanted in ((("part",), rule.parts), (("work",), rule.work), (("what",), rule.measures),
                          (("item",), rule.accessories)):
        if wanted and any(item.get(name) in wanted for item in _items(unit) for name in names):
            return True
    if rule.over_kg is not None and any(weight > rule.over_kg for weight in _weights(unit)):
        return True
    return any(word in said and re.search(rf"\b{re.escape(word)}\b", said) for word in rule.words)


def _items(unit: Unit) -> Iterable[dict[str, Any]]:
    for sighting in unit.sightings:
        for stored in sighting.stored():
            if isinstance(stored.value, dict):
                yield stored.value


def _weights(unit: Unit) -> Iterable[float]:
    for item in _items(unit):
        if item.get("what") == "weight" and item.get("unit") in WEIGHT_KG:
            yield float(item["value"]) * WEIGHT_KG[item["unit"]]


def _said(unit: Unit) -> str:
    """All words on a unit: what was said, what stands in its fields, folded."""
    words = [evidence.words for s in unit.sightings for stored in s.stored() for evidence in stored.evidence]
    words += [str(held.value) for held in unit.scalars.values()]
    return " ".join(words).casefold()


def _other_voltage(unit: Unit, mains_v: int | None) -> list[Caution]:
    if mains_v is None:
        return []
    for item in _items(unit):
        if item.get("what") == "line voltage" and item.get("unit") == "V" and (
                abs(float(item["value"]) - mains_v) > OTHER_VOLTAGE * mains_v):
            return [Caution("other voltage", (
                f"A line voltage of {item['value']:g} V was noted; this shop has {mains_v} V. Do not plug it in before "
                "a licensed or trained person has looked at it with the maker's service manual."))]
    return []
