"""Which unit of an export is which of the answer key's, and when two values are the same.

Units are paired one to one so that the summed similarity is greatest (Hungarian algorithm).
Similarity is a weighted mean over the fields that either side fills. Text that differs only in
case and punctuation is equal; near text earns partial credit HERE ONLY (in the score a field is
right or wrong). A field that one side leaves empty weighs half: leaving out is a weaker sign of
"another unit" than contradicting. A pair under THRESHOLD is no pair: the gold unit is missed and
the other one is spurious.

THRESHOLD = 0.35 was measured on twelve walks: of 679 pairs of different units of one walk
0.9 % reach it (near twins, which the assignment tells apart as each has a better partner), while a
unit always reaches it by maker and type alone or by model and type alone, and in 99 % of cases by
type and place when a third of the letters of maker and model are misheard.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from rapidfuzz import fuzz
from scipy.optimize import linear_sum_assignment

WEIGHTS = {"serial": 3, "model": 3, "maker": 2, "unit_type": 2, "issues": 2, "photos": 2, "location": 1}
THRESHOLD = 0.35
VALUE_TOLERANCE = 0.005

Unit = Mapping[str, Any]
Item = Mapping[str, Any]


def norm(value: Any) -> Any:
    """Text without case and punctuation, a number as its text; None for what says nothing."""
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, float):
        value = f"{value:g}"
    return "".join(c for c in str(value).casefold() if c.isalnum()) or None


def number(value: Any) -> float | None:
    """The number that a value is or writes, else None."""
    try:
        return None if value is None or isinstance(value, bool) else float(value)
    except (TypeError, ValueError):
        return None


def scalar(unit: Unit, field: str) -> Any:
    """A unit's value in the form in which two are compared."""
    value = unit.get(field)
    quantity = number(value) if field == "quantity" else None
    return norm(value) if quantity is None else quantity


def items(unit: Unit, field: str) -> list[Item]:
    """The entries of a list field; what is no entry is left out."""
    return [entry for entry in unit.get(field) or [] if isinstance(entry, dict)]


def item_key(item: Item, fields: Sequence[str]) -> tuple[Any, ...]:
    """What makes two list items the same, apart from a measured value ("%" and "mV" must stay apart)."""
    return tuple(str(item[f]).strip().casefold() if f == "unit" and item.get(f) is not None else norm(item.get(f))
                 for f in fields if f != "value")


def item_matches(gold: Sequence[Item], export: Sequence[Item], fields: Sequence[str]) -> list[tuple[int, int]]:
    """One-to-one matches between two lists of items, as pairs of their indexes."""
    if not gold or not export:
        return []
    same = np.array([[item_key(a, fields) == item_key(b, fields) and ("value" not in fields or _same_value(a, b))
                      for b in export] for a in gold], dtype=float)
    rows, columns = linear_sum_assignment(-same)
    return [(int(g), int(p)) for g, p in zip(rows, columns, strict=True) if same[g, p]]


def _same_value(gold: Item, export: Item) -> bool:
    want, have = number(gold.get("value")), number(export.get("value"))
    if want is None or have is None:
        return want == have
    return want == have or abs(want - have) <= VALUE_TOLERANCE * abs(want)


def stem(name: Any) -> str:
    """A photo's name without folder and suffix."""
    return re.split(r"[\\/]", str(name))[-1].rsplit(".", 1)[0].casefold()


def near(one: Any, other: Any) -> float:
    """1 for equal text, at most 0.8 for near text, 0 from half alike downwards."""
    if one == other:
        return 1.0
    return float(0.8 * max(0.0, fuzz.ratio(str(one), str(other)) / 100 - 0.5) / 0.5)


def similarity(gold: Unit, export: Unit) -> float:
    """How alike two units are, 0 to 1."""
    got = total = 0.0
    for field, weight in WEIGHTS.items():
        want, have = _compared(gold, field), _compared(export, field)
        if want and have:
            alike = _overlap(want, have) if isinstance(want, set) else near(want, have)
            got, total = got + weight * alike, total + weight
        elif want or have:
            total += weight / 2
    return got / total if total else 0.0


def _compared(unit: Unit, field: str) -> Any:
    if field == "issues":
        return {item_key(item, ("part", "symptom")) for item in items(unit, field)}
    if field == "photos":
        return {stem(photo) for photo in unit.get(field) or []}
    return scalar(unit, field)


def _overlap(one: set[Any], other: set[Any]) -> float:
    return 2 * len(one & other) / (len(one) + len(other))


def align(gold_units: Sequence[Unit], units: Sequence[Unit]) -> dict[int, int]:
    """Gold index -> export index. Equal pairs go by their order in the walk."""
    if not gold_units or not units:
        return {}
    alike = np.array([[similarity(g, p) for p in units] for g in gold_units])
    order = np.array([[abs(g / len(gold_units) - p / len(units)) for p in range(len(units))]
                      for g in range(len(gold_units))])
    rows, columns = linear_sum_assignment(-np.where(alike >= THRESHOLD, alike - 1e-4 * order, 0.0))
    return {int(g): int(p) for g, p in zip(rows, columns, strict=True) if alike[g, p] >= THRESHOLD}
