"""Units as a list under the places where they stand: in columns where those fit, else a few lines each."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from intake.cli import text
from intake.records.types import UnitLine


def lines(units: Sequence[UnitLine], *, to: int | None = None) -> list[str]:
    """The lines of a list; a value is never cut."""
    rows = {unit.id: _row(unit) for unit in units}
    wide = text.table(list(rows.values()), indent="  ", to=to)
    placed = dict(zip(rows, wide, strict=True)) if wide is not None else {}
    out: list[str] = []
    for place, here in groupby(units, key=lambda unit: unit.location):
        out += text.wrap(place or "place unknown", to=to)
        for unit in here:
            out += [placed[unit.id]] if placed else _block(unit, to)
    return out


def _row(unit: UnitLine) -> list[str]:
    return [text.clean(cell) for cell in (
        unit.id, unit.name, unit.unit_type or "" if unit.name != unit.unit_type else "", _serial(unit),
        _stage(unit), _to_look_at(unit))]


def _serial(unit: UnitLine) -> str:
    return f"s/n {unit.serial}" if unit.serial else ""


def _stage(unit: UnitLine) -> str:
    return unit.stage or ""


def _to_look_at(unit: UnitLine) -> str:
    return f"{unit.questions} to look at" if unit.questions else ""


def _block(unit: UnitLine, to: int | None) -> list[str]:
    first = text.wrap(unit.name, first=f"  {unit.id}  ", rest="         ", to=to)
    kind = unit.unit_type if unit.name != unit.unit_type else None
    facts = [fact for fact in (kind, _serial(unit), _stage(unit), _to_look_at(unit)) if fact]
    return first + (text.wrap("; ".join(facts), first="         ", rest="         ", to=to) if facts else [])
