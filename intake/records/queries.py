"""What is asked of the records, as plain values; the store's sessions come in from outside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import date
from typing import Any, TypeVar

from sqlalchemy import ColumnElement, Integer, Select, cast
from sqlalchemy.orm import Mapped
from sqlmodel import Session, SQLModel, and_, col, func, or_, select

from intake.errors import NotFoundError
from intake.records import codec, load, search
from intake.records.tables import (
    ActionRunRow,
    ClockRow,
    EntryRow,
    FileRow,
    IssueRunRow,
    PhotoRow,
    ProblemRow,
    RecordingRow,
    SightingRow,
    StageRunRow,
    UnitNowRow,
    WalkRow,
)
from intake.records.types import (
    MACHINE,
    ActionLine,
    ClockInfo,
    IssueLine,
    PhotoPlace,
    ProblemInfo,
    RecordingInfo,
    Sighting,
    StageChange,
    StageRun,
    Sureness,
    UnitLine,
    WalkInfo,
)


def walks(session: Session, walk: str | None = None) -> list[WalkInfo]:
    """All walks, oldest first, with their counts (or the one named)."""
    query = select(WalkRow).order_by(col(WalkRow.date), col(WalkRow.id))
    rows = session.exec(query.where(WalkRow.id == walk) if walk else query).all()
    return [WalkInfo(
        id=row.id, date=row.date, utc_offset_min=row.utc_offset_min, processed_at=row.processed_at,
        recordings=_count(session, RecordingRow.walk_id, row.id), photos=_count(session, PhotoRow.walk_id, row.id),
        units=_count(session, SightingRow.walk_id, row.id, col(SightingRow.state) == "seen"),
        problems=_count(session, ProblemRow.walk_id, row.id, col(ProblemRow.current)),
        questions=_questions(session, row.id)) for row in rows]


def walk_ids(session: Session) -> list[str]:
    """The ids of all walks, oldest first."""
    return list(session.exec(select(WalkRow.id).order_by(col(WalkRow.date), col(WalkRow.id))))


def _count(session: Session, column: str, walk: str, *more: ColumnElement[bool] | Mapped[bool]) -> int:
    return int(session.exec(select(func.count()).where(col(column) == walk, *more)).one())


def _questions(session: Session, walk: str) -> int:
    from intake.records import questions

    return sum(questions.count(session, walk=walk).values())


def known_walk(session: Session, walk: str) -> WalkRow:
    """The walk's row; NotFoundError with the walks there are, where there is none."""
    row = session.get(WalkRow, walk)
    if row is None:
        known = list(session.exec(select(WalkRow.id).order_by(col(WalkRow.date).desc()).limit(5)))
        there = f"The newest are: {', '.join(known)}." if known else "There are no walks yet; make one: intake process"
        raise NotFoundError(f"there is no walk {walk!r}.", hint=there)
    return row


def sightings_of_walk(session: Session, walk: str) -> list[Sighting]:
    """The units of one walk, in its order."""
    return load.sightings(session, session.exec(select(SightingRow).where(
        SightingRow.walk_id == walk, col(SightingRow.state) == "seen")).all())


def seen_earlier(session: Session, row: SightingRow) -> str | None:
    """The sighting of the same unit in the walk before; None where there was none."""
    seen = load.sightings(session, load.seen_of_units(session, [row.unit_id]))
    names = [s.id for s in seen]
    at = names.index(load.name_of(row)) if load.name_of(row) in names else 0
    return names[at - 1] if at else None


def recordings(session: Session, walk: str) -> list[RecordingInfo]:
    """A walk's recordings in order."""
    rows = session.exec(select(RecordingRow, FileRow).where(
        RecordingRow.sha256 == FileRow.sha256, RecordingRow.walk_id == walk).order_by(col(RecordingRow.position)))
    return [RecordingInfo(
        walk=row.walk_id, name=row.name, path=str(codec.path_of(file.path)), sha256=row.sha256, kind=file.kind,
        duration_s=row.duration_s, started_at=row.starts, started_source=row.started_source,
        transcript=str(codec.path_of(row.transcript)) if row.transcript else None) for row, file in rows]


def photos(session: Session, walk: str) -> list[PhotoPlace]:
    """A walk's photos in order, strays included."""
    return [place for _, place in load.placed(session, PhotoRow.walk_id, [walk])]


def clocks(session: Session, walk: str) -> list[ClockInfo]:
    """What is known of the cameras' clocks in a walk; a person's word goes before the machine's."""
    out = []
    for row in session.exec(select(ClockRow).where(ClockRow.walk_id == walk).order_by(col(ClockRow.camera))):
        given = row.decided_offset_s
        out.append(ClockInfo(
            walk=walk, camera=row.camera, offset_s=row.offset_s if given is None else given,
            low=row.low if given is None else given, high=row.high if given is None else given,
            drift_s_per_h=row.drift_s_per_h, known=row.known or given is not None,
            how=row.how if given is None else "given", state="open" if given is None else "corrected",
            origin=row.decided_by or MACHINE))
    return out


def problems(session: Session, walk: str) -> list[ProblemInfo]:
    """The files of a walk that could not be used, as its newest run tells."""
    return [ProblemInfo(row.walk_id, row.name, row.reason, row.fatal) for row in session.exec(
        select(ProblemRow).where(ProblemRow.walk_id == walk, col(ProblemRow.current)).order_by(col(ProblemRow.name)))]


# ---- units


_COLUMN = {"id": "unit_id", "unit": "unit_id", "entry": "entry_id"}  # where a column goes by another name
Line = TypeVar("Line", UnitLine, StageRun, ActionLine, IssueLine)


def told(session: Session, query: Select[Any], table: type[SQLModel], kind: type[Line]) -> list[Line]:
    """The rows of a query as plain values, past the ORM: a hundred thousand of them take about a second."""
    columns = [getattr(table, _COLUMN.get(field.name, field.name)) for field in fields(kind)]
    return [kind(*row) for row in session.connection().execute(query.with_only_columns(*columns))]


def units(session: Session, *, walk: str | None = None, stage: str | None = None, location: str | None = None,
          source: str | None = None, with_questions: bool = False, arrived: tuple[date, date] | None = None,
          limit: int | None = None) -> list[UnitLine]:
    """Units in their latest state, narrowed down; by place, then id. `arrived`: first seen from day to day."""
    query = select(UnitNowRow).order_by(
        col(UnitNowRow.location).is_(None), col(UnitNowRow.location), func.length(UnitNowRow.unit_id),
        col(UnitNowRow.unit_id))
    if walk is not None:
        query = query.where(col(UnitNowRow.unit_id).in_(select(SightingRow.unit_id).where(
            SightingRow.walk_id == walk, col(SightingRow.state) == "seen")))
    for column, wanted in ((UnitNowRow.stage, stage), (UnitNowRow.location, location), (UnitNowRow.source, source)):
        if wanted is not None:
            query = query.where(column == wanted)
    if with_questions:
        query = query.where(col(UnitNowRow.questions) > 0)
    if arrived is not None:
        query = query.where(col(UnitNowRow.first_seen).between(*arrived))
    return told(session, query.limit(limit), UnitNowRow, UnitLine)


def lines(session: Session, ids: Sequence[str]) -> list[UnitLine]:
    """These units in this order; those without a sighting left out."""
    found = {line.id: line for chunk in load.in_chunks(ids) for line in told(
        session, select(UnitNowRow).where(col(UnitNowRow.unit_id).in_(chunk)), UnitNowRow, UnitLine)}
    return [found[unit] for unit in ids if unit in found]


def find(session: Session, text: str, limit: int) -> list[UnitLine]:
    """Units that what is asked for was known or said of, the best first."""
    return lines(session, search.find(session, text, limit))


def not_seen_since(session: Session, day: date, locations: Sequence[str] | None = None) -> list[UnitLine]:
    """Units that no walk from `day` on mentions, longest unseen first; `locations`: only what last stood there."""
    query = select(UnitNowRow).where(col(UnitNowRow.last_seen) < day).order_by(
        col(UnitNowRow.last_seen), col(UnitNowRow.unit_id))
    if locations is not None:
        query = query.where(col(UnitNowRow.location).in_(list(locations)))
    return told(session, query, UnitNowRow, UnitLine)


# ---- stages, actions, issues over time; a day's state is what holds at its end


def stage_runs(session: Session, *, stage: str | None = None, on: date | None = None,
               unit: str | None = None) -> list[StageRun]:
    """Runs of stages, oldest first; `on`: those that hold at the end of that day."""
    query = select(StageRunRow).order_by(
        col(StageRunRow.since), col(StageRunRow.unit_id), col(StageRunRow.id))
    if stage is not None:
        query = query.where(StageRunRow.stage == stage)
    if unit is not None:
        query = query.where(StageRunRow.unit_id == unit)
    if on is not None:
        query = query.where(_holds(StageRunRow.since, StageRunRow.until, on))
    return told(session, query, StageRunRow, StageRun)


def _holds(since: date, until: date | None, on: date) -> ColumnElement[bool]:
    return and_(col(since) <= on, or_(col(until).is_(None), col(until) > on))


def stage_changes(session: Session, first: date, last: date) -> list[StageChange]:
    """Units that came to another stage on these days (both count); `before` None: the first stage known of."""
    runs = session.exec(select(StageRunRow).where(col(StageRunRow.since).between(first, last))
                        .order_by(col(StageRunRow.since), col(StageRunRow.unit_id), col(StageRunRow.id))).all()
    earlier: dict[str, list[StageRunRow]] = {}
    for chunk in load.in_chunks(run.unit_id for run in runs):
        for row in session.exec(select(StageRunRow).where(col(StageRunRow.unit_id).in_(chunk))
                                .order_by(col(StageRunRow.id))):
            earlier.setdefault(row.unit_id, []).append(row)
    out = []
    for run in runs:
        before = [row for row in earlier[run.unit_id] if row.id < run.id]
        out.append(StageChange(run.unit_id, before[-1].stage if before else None, run.stage, run.since, run.sighting))
    return out


def actions(session: Session, *, on: date | None = None, due_by: str | None = None, waiting: bool = False,
            done: bool = False) -> list[ActionLine]:
    """Work to do, soonest due first. `on`: as it stood that day; `due_by`: due on or before; `waiting`: that waits."""
    query = select(ActionRunRow).order_by(col(ActionRunRow.due).is_(None), col(ActionRunRow.due),
                                          col(ActionRunRow.since), col(ActionRunRow.unit_id), col(ActionRunRow.id))
    if on is not None:
        query = query.where(_holds(ActionRunRow.since, ActionRunRow.until, on))
    elif not done:
        query = query.where(col(ActionRunRow.until).is_(None))
    if due_by is not None:
        query = query.where(col(ActionRunRow.due) <= due_by)
    if waiting:
        query = query.where(col(ActionRunRow.waiting_on).is_not(None))
    return told(session, query, ActionRunRow, ActionLine)


def issues(session: Session, *, unit: str | None = None, fixed: bool = False) -> list[IssueLine]:
    """What is wrong, oldest first; `fixed`: what was put right too."""
    query = select(IssueRunRow).order_by(
        col(IssueRunRow.since), col(IssueRunRow.unit_id), col(IssueRunRow.id))
    if unit is not None:
        query = query.where(IssueRunRow.unit_id == unit)
    if not fixed:
        query = query.where(col(IssueRunRow.until).is_(None))
    return told(session, query, IssueRunRow, IssueLine)


def sureness(session: Session, first: date, last: date) -> Sureness:
    """Of the values of the walks of these days: how many there are, are flagged now, accepted, corrected."""
    row = session.exec(select(
        func.count(), func.coalesce(func.sum(EntryRow.question), 0),
        func.coalesce(func.sum(cast(EntryRow.decision == "accepted", Integer)), 0),
        func.coalesce(func.sum(cast(EntryRow.decision == "corrected", Integer)), 0),
    ).select_from(EntryRow).join(SightingRow, col(SightingRow.id) == EntryRow.sighting_id)
        .join(WalkRow, col(WalkRow.id) == SightingRow.walk_id)
        .where(col(WalkRow.date).between(first, last), col(SightingRow.state) == "seen",
               or_(col(EntryRow.held).is_not(None), col(EntryRow.question), col(EntryRow.decision).is_not(None)))).one()
    return Sureness(*(int(number or 0) for number in row))
