"""The only way to overwrite a column: with a row in the log of changes, in the batch of one act."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from sqlmodel import Session, SQLModel

from intake.records import tables
from intake.records.types import MACHINE

ROWS: dict[str, type[SQLModel]] = {
    str(cls.__tablename__): cls
    for cls in (tables.WalkRow, tables.FileRow, tables.RecordingRow, tables.PhotoRow, tables.PlacementRow,
                tables.ClockRow, tables.ProblemRow, tables.TranscriptRow, tables.UnitRow, tables.SightingRow,
                tables.EntryRow, tables.LinkRow)
}


def now() -> str:
    """The moment, UTC, as it is stored."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Log:
    """One act of a person or the machine. The batch is written with its first change."""

    def __init__(self, session: Session, *, who: str = MACHINE, kind: str = "edit", action: str, why: str = "",
                 undoes: int | None = None) -> None:
        self.session = session
        self.who = who
        self.at = now()
        self.units: set[str] = set()           # whose latest state must be made again
        self._row = tables.BatchRow(at=self.at, who=who, kind=kind, action=action, why=why, undoes=undoes)
        self._written = False
        self.count = 0                         # of lines written

    @property
    def batch(self) -> tables.BatchRow:
        """The batch's row, with its id."""
        if not self._written:
            self.session.add(self._row)
            self.session.flush()
            self._written = True
        return self._row

    @property
    def empty(self) -> bool:
        """True while nothing was written."""
        return not self._written

    def update(self, row: SQLModel, *, unit: str | None, about: str, field: str = "", was: Any = None,
               now: Any = None, **columns: Any) -> bool:
        """Overwrite columns of a row that differ, and note what stood there; False where nothing differs.

        `was` and `now` tell the change in a person's words, for the history.
        """
        changed = {name: value for name, value in columns.items() if getattr(row, name) != value}
        if not changed:
            return False
        old = {name: getattr(row, name) for name in changed}
        self._touch(row)
        for name, value in changed.items():
            setattr(row, name, value)
        self.session.add(row)
        if was is None and now is None and set(changed) & {"value"}:
            was, now = old["value"], changed["value"]
        self._write(row, unit, about, field, was=was, now=now, old=old, new=changed)
        self.units |= {unit} if unit else set()
        self._touch(row)
        return True

    def _touch(self, row: SQLModel) -> None:
        """Note the units that a row is of now: their latest state hangs on it."""
        if isinstance(row, tables.SightingRow | tables.LinkRow):
            self.units.add(row.unit_id)
        for column in ("sighting_id", "decided_sighting_id", "merged_into"):
            key = getattr(row, column, None)
            sighting = self.session.get(tables.SightingRow, key) if key is not None else None
            if sighting is not None:
                self._touch(sighting)

    def note(self, row: SQLModel, *, unit: str | None, about: str, field: str = "", now: Any = None) -> None:
        """Write down that a row was made; nothing was overwritten."""
        self.session.flush()
        self._write(row, unit, about, field, was=None, now=now, old={}, new={})
        self.units |= {unit} if unit else set()

    def _write(self, row: SQLModel, unit: str | None, about: str, field: str, *, was: Any, now: Any,
               old: dict[str, Any], new: dict[str, Any]) -> None:
        self.count += 1
        self.session.add(tables.ChangeRow(
            batch_id=self.batch.id, table_name=str(row.__tablename__), row_id=row_key(row), unit_id=unit,
            about=about, field=field, was=was, now=now,
            old={name: _plain(value) for name, value in old.items()},
            new={name: _plain(value) for name, value in new.items()}))


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


def row_key(row: SQLModel) -> str:
    """A row's primary key as one text."""
    from sqlalchemy import inspect

    return "\t".join(str(part) for part in inspect(row).mapper.primary_key_from_instance(row))


def row_of(session: Session, table: str, key: str) -> SQLModel | None:
    """The row that `row_key` named, or None where it is no more."""
    from sqlalchemy import Integer, inspect

    cls = ROWS[table]
    columns = inspect(cls).primary_key
    parts = [int(part) if isinstance(column.type, Integer) else part
             for column, part in zip(columns, key.split("\t"), strict=True)]
    return session.get(cls, parts[0] if len(parts) == 1 else tuple(parts))
