"""Puts a reading's values into a sighting's entries: the machine's columns only, what people decided stays."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlmodel import Session, col, select

from intake.language.draft import SCALARS
from intake.records import cautions, codec, load
from intake.records.log import Log
from intake.records.readings import Reading
from intake.records.tables import EntryRow, SightingRow
from intake.records.types import WHOLE, Difference

KEPT_RULE = "kept"  # marks the store's own doubt on a sighting that the newest reading lacks
# What makes two items of a list the same thing, read once more.
ITEM_KEYS = {"issues": ("part", "symptom", "side"), "service": ("work", "part"), "actions": ("work", "part"),
             "accessories": ("item",), "measurements": ("what", "side")}


def rows_of(session: Session, sighting: SightingRow) -> list[EntryRow]:
    """All entries of a sighting, those that say nothing included."""
    return list(session.exec(select(EntryRow).where(EntryRow.sighting_id == sighting.id).order_by(
        col(EntryRow.field), col(EntryRow.number))))


def put(log: Log, sighting: SightingRow, readings: Sequence[Reading]) -> list[Difference]:
    """Make the entries say what the new reading says; returns where it parts from a person's decisions."""
    rows = rows_of(log.session, sighting)
    pairs = _pairs(rows, readings)
    left = [row for row in rows if all(row is not used for used, _ in pairs)]
    out = []
    for row, reading in pairs:
        if row is None:
            _make(log, sighting, reading, rows)
        else:
            out += _overwrite(log, sighting, row, codec.machine_columns(reading))
    for row in left:
        out += _overwrite(log, sighting, row, codec.NOTHING_READ)
    return out


def _pairs(rows: Sequence[EntryRow], readings: Sequence[Reading]) -> list[tuple[EntryRow | None, Reading]]:
    scalars = {row.field: row for row in rows if row.field in SCALARS}
    out: list[tuple[EntryRow | None, Reading]] = [
        (scalars.get(r.field), r) for r in readings if r.field in SCALARS]
    free = [row for row in rows if row.field not in SCALARS]
    waiting = [r for r in readings if r.field not in SCALARS]
    for same in (_same_value, _same_key, _same_doubt):
        left = []
        for reading in waiting:
            row = next((row for row in free if row.field == reading.field and same(row, reading)), None)
            if row is None:
                left.append(reading)
            else:
                free.remove(row)
                out.append((row, reading))
        waiting = left
    return out + [(None, reading) for reading in waiting]


def _same_value(row: EntryRow, reading: Reading) -> bool:
    return reading.value is not None and reading.value in (row.value, row.seen_value, row.decided_value)


def _same_key(row: EntryRow, reading: Reading) -> bool:
    keys = ITEM_KEYS.get(row.field)
    if keys is None or reading.value is None:
        return False
    known = [value for value in (row.value, row.seen_value, row.decided_value) if isinstance(value, dict)]
    return any(all(value.get(key) == reading.value.get(key) for key in keys) for value in known)


def _same_doubt(row: EntryRow, reading: Reading) -> bool:
    if reading.value is not None or row.value is not None:
        return False
    same = tuple(row.reasons) == reading.reasons
    if row.decision is not None and any(reason.startswith(cautions.TOLD) for reason in reading.reasons):
        return same or row.decided_value in reading.reasons     # an answer holds for this caution, for no other
    return row.decided_value is None and (same or row.evidence == codec.evidence_json(reading.evidence))


def _make(log: Log, sighting: SightingRow, reading: Reading, rows: list[EntryRow]) -> None:
    row = EntryRow(sighting_id=sighting.id, field=reading.field, number=next_number(rows, reading.field),
                   **codec.machine_columns(reading))
    rows.append(row)
    log.session.add(row)
    log.units.add(sighting.unit_id)


def next_number(rows: Sequence[EntryRow], field: str) -> int:
    """The number of a new item: one that no item of this field had before; 0 for a scalar."""
    if field in SCALARS:
        return 0
    return max((row.number for row in rows if row.field == field), default=0) + 1


def _overwrite(log: Log, sighting: SightingRow, row: EntryRow, columns: dict[str, Any]) -> list[Difference]:
    changed = {name: value for name, value in columns.items() if getattr(row, name) != value}
    about, address = load.name_of(sighting), row.field if row.number == 0 else f"{row.field}.{row.number}"
    decided = row.decision is not None
    differs = decided and row.field not in WHOLE and columns["value"] not in (row.decided_value, row.seen_value)
    found = [Difference(about, address, row.decided_value, columns["value"],
                        "a person decided otherwise")] if differs and not row.differs else []
    if decided:
        changed["differs"] = differs
    log.update(row, unit=sighting.unit_id, about=about, field=address, **changed)
    return found
