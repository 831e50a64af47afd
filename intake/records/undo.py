"""Undo and redo without limit: each batch of the log turned back, itself written as a new batch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, col, select

from intake.errors import RecordsError
from intake.records.log import Log, row_of
from intake.records.tables import BatchRow, ChangeRow

# A new reading of the walk may have written these since; they are restored, but nothing hangs on them.
SOFT = {"differs", "seen_value", "spans", "named_at", "reasons", "alternatives", "notes"}


@dataclass(frozen=True)
class Turned:
    """What was undone or redone."""

    batch: int
    who: str
    at: str
    action: str
    changes: tuple[str, ...]                   # "<about> <field>", each once


def undo(session: Session, who: str, *, batch: int | None = None, why: str = "") -> tuple[Turned | None, set[str]]:
    """Undo a person's latest act that stands (or that batch), None where there is none; and the units touched."""
    row = _named(session, batch) if batch is not None else _latest(session, who, "edit")
    if row is None:
        return None, set()
    log = Log(session, who=who, kind="undo", action=f"undo: {row.action}", why=why, undoes=row.id)
    turned = _turn(log, row)
    row.undone_by = log.batch.id
    return turned, log.units


def redo(session: Session, who: str) -> tuple[Turned | None, set[str]]:
    """Do again what the person undid last, as long as they did nothing else since; (None, ...) where there is none."""
    row = _latest(session, who, "undo")
    newest = session.exec(select(BatchRow.id).where(BatchRow.who == who, BatchRow.kind == "edit")
                          .order_by(col(BatchRow.id).desc()).limit(1)).first()
    if row is None or (newest is not None and (row.id) < newest):
        return None, set()
    first = session.get_one(BatchRow, row.undoes)
    log = Log(session, who=who, kind="redo", action=f"redo: {first.action}", undoes=row.id)
    turned = _turn(log, row, shown=first)
    row.undone_by = log.batch.id
    first.undone_by = None
    return turned, log.units


def _latest(session: Session, who: str, kind: str) -> BatchRow | None:
    return session.exec(select(BatchRow).where(
        BatchRow.who == who, BatchRow.kind == kind, col(BatchRow.undone_by).is_(None))
        .order_by(col(BatchRow.id).desc()).limit(1)).first()


def _named(session: Session, batch: int) -> BatchRow:
    row = session.get(BatchRow, batch)
    if row is None or row.kind != "edit":
        raise RecordsError(f"there is no act {batch} of a person to undo.", hint="See: intake history UNIT")
    if row.undone_by is not None:
        raise RecordsError(f"act {batch} is undone already.")
    return row


def _turn(log: Log, batch: BatchRow, shown: BatchRow | None = None) -> Turned:
    changes = log.session.exec(select(ChangeRow).where(ChangeRow.batch_id == batch.id)
                               .order_by(col(ChangeRow.id).desc())).all()
    for change in changes:
        if change.new:
            _turn_one(log, change)
    told = shown or batch
    names = dict.fromkeys(f"{c.about} {c.field}".strip() for c in reversed(changes))
    return Turned(told.id, told.who, told.at, told.action, tuple(names))


def _turn_one(log: Log, change: ChangeRow) -> None:
    row = row_of(log.session, change.table_name, change.row_id)
    if row is None:
        raise RecordsError(f"{change.about} is no longer on file; this cannot be undone.")
    later = [name for name, value in change.new.items() if name not in SOFT and getattr(row, name) != value]
    if later:
        raise RecordsError(f"{change.about} {change.field} was changed again since, so this cannot be undone.",
                           hint="Undo the later change first, or set the value you want.")
    old: dict[str, Any] = change.old
    log.update(row, unit=change.unit_id, about=change.about, field=change.field, was=change.now, now=change.was, **old)
    log.session.flush()
