"""What happened to a unit, a walk or a photo: who, when, from what to what, why."""

from __future__ import annotations

from sqlmodel import Session, col, or_, select

from intake.records.tables import BatchRow, ChangeRow, SightingRow, UnitRow
from intake.records.types import Change


def of_unit(session: Session, unit: str, *, field: str | None = None) -> list[Change]:
    """All that happened to a unit and to those that turned out to be it, oldest first."""
    units = [unit, *session.exec(select(UnitRow.id).where(UnitRow.became == unit))]
    names = [f"{walk}/{local}" for walk, local in session.exec(
        select(SightingRow.walk_id, SightingRow.local_id).where(SightingRow.unit_id == unit))]
    query = select(ChangeRow, BatchRow).where(
        ChangeRow.batch_id == BatchRow.id, or_(col(ChangeRow.unit_id).in_(units), col(ChangeRow.about).in_(names)))
    return _changes(session, query, field)


def of_walk(session: Session, walk: str) -> list[Change]:
    """All that happened to a walk: its own changes and those of its records and photos, oldest first."""
    query = select(ChangeRow, BatchRow).where(ChangeRow.batch_id == BatchRow.id, or_(
        ChangeRow.about == walk, col(ChangeRow.about).startswith(f"{walk}/", autoescape=True)))
    return _changes(session, query, None)


def of_batch(session: Session, batch: int) -> list[Change]:
    """All that was done in one act, oldest first."""
    return _changes(session, select(ChangeRow, BatchRow).where(
        ChangeRow.batch_id == BatchRow.id, BatchRow.id == batch), None)


def recent(session: Session, *, limit: int = 50) -> list[Change]:
    """The newest changes, newest first."""
    rows = session.exec(select(ChangeRow, BatchRow).where(ChangeRow.batch_id == BatchRow.id)
                        .order_by(col(ChangeRow.id).desc()).limit(limit)).all()
    return [_change(change, batch) for change, batch in rows]


def _changes(session: Session, query: object, field: str | None) -> list[Change]:
    rows = session.exec(query.order_by(col(ChangeRow.id))).all()  # type: ignore[attr-defined]  # a Select of two rows
    return [_change(change, batch) for change, batch in rows if field is None or change.field == field]


def _change(change: ChangeRow, batch: BatchRow) -> Change:
    return Change(
        id=change.id, batch=batch.id, at=batch.at, who=batch.who, action=batch.action, unit=change.unit_id,
        about=change.about, field=change.field, old=change.was, new=change.now, why=batch.why,
        undone=batch.undone_by is not None)
