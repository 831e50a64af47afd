"""What a person should look at, straight from the flagged rows; in which order is for the review to say."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from sqlalchemy import Select, text
from sqlmodel import Session, col, func, select

from intake.records import codec, load
from intake.records.tables import ClockRow, EntryRow, LinkRow, PhotoRow, PlacementRow, SightingRow, WalkRow
from intake.records.types import NO_CLOCK, Question


def open_questions(session: Session, *, walk: str | None = None, unit: str | None = None,
                   limit: int | None = None) -> list[Question]:
    """Every open question (of a walk, of a unit), oldest walk first; at most `limit` of each kind."""
    return [*_values(session, walk, unit, limit), *_photos(session, walk, unit, limit),
            *_links(session, walk, unit, limit), *([] if unit else _clocks(session, walk, limit))]


def count(session: Session, *, walk: str | None = None) -> dict[str, int]:
    """How many questions of each kind are open."""
    queries = {"value": _value_query(walk, None), "photo": _photo_query(walk, None), "link": _link_query(walk, None),
               "clock": _clock_query(walk)}
    return {kind: int(session.execute(select(func.count()).select_from(query.subquery())).scalar_one())
            for kind, query in queries.items()}


def _narrow(query: Select[Any], walk: str | None, unit: str | None) -> Select[Any]:
    if walk is not None:
        query = query.where(col(SightingRow.walk_id) == walk)
    return query if unit is None else query.where(col(SightingRow.unit_id) == unit)


def _value_query(walk: str | None, unit: str | None) -> Select[Any]:
    return _narrow(select(EntryRow.id).join(SightingRow, col(SightingRow.id) == EntryRow.sighting_id).where(
        text("entry.question = 1"), col(SightingRow.state) == "seen"), walk, unit)


def _photo_query(walk: str | None, unit: str | None) -> Select[Any]:
    query: Select[Any] = select(PlacementRow.photo_id).join(PhotoRow, col(PhotoRow.id) == PlacementRow.photo_id).where(
        col(PlacementRow.question))
    if walk is not None:
        query = query.where(col(PhotoRow.walk_id) == walk)
    if unit is not None:
        root = func.coalesce(SightingRow.merged_into, SightingRow.id)
        mine = select(SightingRow.id).where(SightingRow.unit_id == unit, col(SightingRow.state) == "seen")
        query = query.join(SightingRow, col(SightingRow.id) == PlacementRow.shown_id).where(root.in_(mine))
    return query


def _link_query(walk: str | None, unit: str | None) -> Select[Any]:
    return _narrow(select(LinkRow.id).join(SightingRow, col(SightingRow.id) == LinkRow.sighting_id).where(
        text("link.decision IS NULL AND link.current = 1"), col(SightingRow.state) == "seen"), walk, unit)


def _clock_query(walk: str | None) -> Select[Any]:
    query: Select[Any] = select(col(ClockRow.camera)).where(
        col(ClockRow.known).is_(False), col(ClockRow.decided_offset_s).is_(None))
    return query.where(col(ClockRow.walk_id) == walk) if walk is not None else query


def _values(session: Session, walk: str | None, unit: str | None, limit: int | None) -> list[Question]:
    keys = session.execute(_value_query(walk, unit).join(WalkRow, col(WalkRow.id) == SightingRow.walk_id).order_by(
        col(WalkRow.date), col(WalkRow.id), col(SightingRow.position), col(EntryRow.id)).limit(limit)).scalars().all()
    found = {entry.id: (entry, sighting) for chunk in load.in_chunks(keys) for entry, sighting in session.exec(
        select(EntryRow, SightingRow).where(SightingRow.id == EntryRow.sighting_id, col(EntryRow.id).in_(chunk)))}
    out = []
    for entry, sighting in (found[key] for key in keys):
        stored = load.stored(entry, load.name_of(sighting))
        newer = (codec.as_text(stored.machine_value),) if entry.differs and stored.machine_value is not None else ()
        out.append(Question(
            kind="value", walk=sighting.walk_id, about=stored.sighting, unit=sighting.unit_id, name=stored.address,
            value=stored.value, confidence=stored.confidence, reasons=stored.reasons,
            alternatives=newer + stored.alternatives, evidence=stored.evidence, id=stored.id))
    return out


def _photos(session: Session, walk: str | None, unit: str | None, limit: int | None) -> list[Question]:
    keys = session.execute(_photo_query(walk, unit).order_by(col(PlacementRow.photo_id)).limit(limit)).scalars().all()
    out = []
    for chunk in load.in_chunks(keys):
        for _, place in load.placed(session, PhotoRow.id, chunk):
            out.append(Question(
                kind="photo", walk=place.walk, about=place.sighting or place.walk, unit=place.unit, name=place.name,
                value=place.sighting, confidence=place.confidence, reasons=place.reasons,
                alternatives=(place.runner_up,) if place.runner_up else ()))
    return out


def _links(session: Session, walk: str | None, unit: str | None, limit: int | None) -> list[Question]:
    rows: Sequence[tuple[LinkRow, SightingRow]] = session.exec(select(LinkRow, SightingRow).where(
        col(LinkRow.id).in_(_link_query(walk, unit)), SightingRow.id == LinkRow.sighting_id)
        .order_by(col(LinkRow.id)).limit(limit)).all()
    return [Question(
        kind="link", walk=sighting.walk_id, about=load.name_of(sighting), unit=sighting.unit_id, name=link.unit_id,
        value=None, confidence=link.confidence, reasons=tuple(link.reasons), id=link.id) for link, sighting in rows]


def _clocks(session: Session, walk: str | None, limit: int | None) -> list[Question]:
    query = select(ClockRow).where(col(ClockRow.known).is_(False), col(ClockRow.decided_offset_s).is_(None))
    if walk is not None:
        query = query.where(ClockRow.walk_id == walk)
    return [Question(
        kind="clock", walk=row.walk_id, about=row.walk_id, unit=None, name=row.camera, value=row.offset_s,
        confidence=0.0,
        reasons=(row.how or NO_CLOCK,))
        for row in session.exec(query.limit(limit))]


