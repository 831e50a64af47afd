"""Units that an earlier walk already saw: does the export name the same earlier unit as the answer key?"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from alignment import Unit
from counting import Scored


def count_resightings(walks: Mapping[str, Scored], record_map: Mapping[str, Any]) -> None:
    """Fill in the `resightings` counts of all walks, which are given by their id.

    An export's "walk/unit" speaks of that walk's export, so it goes through that walk's alignment
    where it is scored along; a record id goes through `record_map` first. Any earlier sighting of
    the same thing is right, not only the one that the answer key happens to name.
    """
    things = Things(walks)
    for walk_id, walk in walks.items():
        gold_units = walk.gold.get("units") or []
        gold_of = {p: g for g, p in walk.pairs.items()}
        tally = walk.counts["resightings"]
        tally["gold"] += sum(bool(_references(unit.get("same_as"))) for unit in gold_units)
        for p, unit in enumerate(walk.export.get("units") or []):
            named = _references(unit.get("same_as")) if isinstance(unit, dict) else []
            if not named:
                continue
            gold_unit = gold_units[gold_of[p]] if p in gold_of else None
            targets = [target for ref in named for target in _references(record_map.get(ref, ref))]
            right = bool(gold_unit and gold_unit.get("same_as")) and any(
                things.same(target, f"{walk_id}/{gold_unit['id']}") for target in things.in_gold(targets) if gold_unit)
            tally["predicted"] += 1
            tally["right"] += right
            if not right:
                walk.errors.append(_told(unit, gold_unit))


class Things:
    """Which units of different walks are one thing, by the answer keys' `same_as`."""

    def __init__(self, walks: Mapping[str, Scored]) -> None:
        self.walks = walks
        self._parent: dict[str, str] = {}
        for walk_id, walk in walks.items():
            for unit in walk.gold.get("units") or []:
                for ref in _references(unit.get("same_as")):
                    self._parent[self._root(f"{walk_id}/{unit['id']}")] = self._root(ref)

    def same(self, one: str, other: str) -> bool:
        """Whether two different sightings are of one thing."""
        return one != other and self._root(one) == self._root(other)

    def in_gold(self, targets: list[str]) -> Iterator[str]:
        """Each "walk/unit" of an export as the answer key's; those that no gold unit is paired with are left out."""
        for target in targets:
            walk_id, _, unit_id = target.partition("/")
            walk = self.walks.get(walk_id)
            if walk is None:
                yield target
                continue
            gold_of = {p: g for g, p in walk.pairs.items()}
            index = [i for i, unit in enumerate(walk.export.get("units") or []) if str(unit.get("id")) == unit_id]
            if index and index[0] in gold_of:
                yield f"{walk_id}/{walk.gold['units'][gold_of[index[0]]]['id']}"

    def _root(self, name: str) -> str:
        while self._parent.get(name, name) != name:
            name = self._parent[name]
        return name


def _references(value: Any) -> list[str]:
    return [str(v) for v in (value if isinstance(value, list) else [value]) if v]


def _told(unit: Unit, gold_unit: Unit | None) -> str:
    if gold_unit is None:
        return f"export {unit.get('id')}: same_as on a spurious unit"
    return f"export {unit.get('id')}: same_as {unit['same_as']!r}, gold {gold_unit.get('same_as')!r}"
