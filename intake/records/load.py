"""Rows -> plain values: whole sightings, with all that belongs to them, many at a time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import TypeVar

from sqlalchemy import ColumnElement
from sqlmodel import Session, SQLModel, and_, col, or_, select

from intake.language.draft import LISTS, SCALARS
from intake.records import cautions, codec
from intake.records.tables import (
    EntryRow,
    FileRow,
    LinkRow,
    PhotoRow,
    PlacementRow,
    RecordingRow,
    SightingRow,
    WalkRow,
)
from intake.records.types import MACHINE, WHOLE, Link, PhotoPlace, Sighting, Stored

Row = TypeVar("Row", bound=SQLModel)
CHUNK = 500  # SQLite takes a limited number of values in one question


def in_chunks(keys: Iterable[int | str]) -> Iterable[list[int | str]]:
    """The keys without doubles, in portions that one query takes."""
    unique = list(dict.fromkeys(keys))
    for start in range(0, len(unique), CHUNK):
        yield unique[start:start + CHUNK]


def name_of(row: SightingRow) -> str:
    """A sighting's name: "<walk id>/u3"."""
    return f"{row.walk_id}/{row.local_id}"


def seen_of_units(session: Session, units: Iterable[str]) -> list[SightingRow]:
    """The sightings that count of these units, oldest first."""
    rows: list[SightingRow] = []
    for chunk in in_chunks(units):
        rows += session.exec(select(SightingRow).join(WalkRow, col(WalkRow.id) == SightingRow.walk_id).where(
            col(SightingRow.unit_id).in_(chunk), col(SightingRow.state) == "seen").order_by(
            col(WalkRow.date), col(WalkRow.id), col(SightingRow.position), col(SightingRow.id))).all()
    return rows


def sightings(session: Session, rows: Sequence[SightingRow]) -> list[Sighting]:
    """These sightings whole, oldest walk first and in the walk's order."""
    ids = [row.id for row in rows if row.id is not None]
    merged = merged_into(session, ids)
    walks = {walk.id: walk for chunk in in_chunks(row.walk_id for row in rows)
             for walk in session.exec(select(WalkRow).where(col(WalkRow.id).in_(chunk)))}
    entries = _entries(session, {row.id: name_of(row) for row in rows if row.id is not None})
    photos = photos_of(session, rows, merged)
    links = _links(session, rows)
    out = []
    for row in sorted(rows, key=lambda r: (walks[r.walk_id].date, r.walk_id, r.position, r.id)):
        key = row.id
        mine = entries.get(key, [])
        children = merged.get(key, [])
        spans = codec.spans_of(row.spans)
        out.append(Sighting(
            id=name_of(row), unit=row.unit_id, walk=row.walk_id, local_id=row.local_id, date=walks[row.walk_id].date,
            scalars={e.field: e for name in SCALARS for e in mine if e.field == name},
            lists={name: tuple(e for e in mine if e.field == name) for name in LISTS},
            doubts=tuple(e for e in mine if e.field in WHOLE), photos=tuple(photos.get(key, ())), spans=spans,
            state=row.state or "seen", origin=row.origin, merged=tuple(name_of(child) for child in children),
            links=tuple(links.get(key, ())), same_as_hint=row.same_as_hint))
    return out


def merged_into(session: Session, ids: Sequence[int]) -> dict[int, list[SightingRow]]:
    """Sighting -> those of its walk that a person joined with it."""
    found: dict[int, list[SightingRow]] = defaultdict(list)
    for chunk in in_chunks(ids):
        for row in session.exec(select(SightingRow).where(col(SightingRow.merged_into).in_(chunk))):
            found[row.merged_into or 0].append(row)
    return found


def _entries(session: Session, names: dict[int, str]) -> dict[int, list[Stored]]:
    found: dict[int, list[Stored]] = defaultdict(list)
    for chunk in in_chunks(names):
        rows = session.exec(select(EntryRow).where(col(EntryRow.sighting_id).in_(chunk)).order_by(
            col(EntryRow.sighting_id), col(EntryRow.field), col(EntryRow.number)))
        for row in rows:
            if not is_void(row):
                found[row.sighting_id].append(stored(row, names[row.sighting_id]))
    return found


def is_void(row: EntryRow) -> bool:
    """True for a row that says nothing now: no value, no doubt, no decision."""
    return row.decision is None and row.value is None and not row.reasons and not row.notes


def stored(row: EntryRow, sighting: str) -> Stored:
    """An entry as a plain value."""
    decided = row.decision is not None
    if not decided:
        reasons = tuple(row.reasons) + tuple(row.notes)
    elif row.differs:
        reasons = (codec.newer_reading(row.value),)
    else:
        reasons = ()
    return Stored(
        id=row.id, sighting=sighting, field=row.field, number=row.number,
        value=cautions.kept(row.field, row.decision, row.decided_value, row.reasons) if decided else row.value,
        state=row.decision or "open",
        confidence=1.0 if decided else row.confidence, reasons=reasons, alternatives=tuple(row.alternatives),
        evidence=codec.evidence_of(row.evidence), rule=row.rule, signals=dict(row.signals),
        origin=row.decided_by or MACHINE, decided_at=row.decided_at, machine_value=row.value)


def photos_of(session: Session, rows: Sequence[SightingRow],
              merged: dict[int, list[SightingRow]]) -> dict[int, list[PhotoPlace]]:
    """The photos that these sightings show, in the camera's order."""
    root: dict[int, SightingRow] = {row.id: row for row in rows}
    for key, children in merged.items():
        root |= {child.id: root[key] for child in children}
    found: dict[int, list[PhotoPlace]] = defaultdict(list)
    for chunk in in_chunks(key for key in root if key is not None):
        for place in placed(session, PlacementRow.shown_id, chunk):
            if place[0] is not None:
                found[root[place[0]].id].append(place[1])
    return {key: sorted(places, key=lambda p: (p.at or p.taken_at or "", p.name)) for key, places in found.items()}


def placed(session: Session, column: object, keys: Sequence[int | str]) -> list[tuple[int | None, PhotoPlace]]:
    """Photos whose `column` is one of `keys`, each with the key of the sighting it shows."""
    wanted: ColumnElement[bool] = col(column).in_(keys)
    if column is PlacementRow.shown_id:  # it is worked out and has no index; what it is worked out from has
        wanted = and_(wanted, or_(col(PlacementRow.sighting_id).in_(keys),
                                  col(PlacementRow.decided_sighting_id).in_(keys)))
    rows = session.exec(
        select(PhotoRow, PlacementRow, FileRow).where(
            PhotoRow.id == PlacementRow.photo_id, PhotoRow.sha256 == FileRow.sha256, wanted)
        .order_by(col(PhotoRow.position))).all()
    names = _shown(session, rows)
    runs = _recordings(session, {photo.walk_id for photo, _, _ in rows})
    return [(placement.shown_id, _place(photo, placement, file, names, runs.get(photo.walk_id, [])))
            for photo, placement, file in rows]


def _shown(session: Session, rows: Sequence[tuple[PhotoRow, PlacementRow, FileRow]]) -> dict[int, SightingRow]:
    keys = {key for _, p, _ in rows for key in (p.shown_id, p.runner_up_id) if key is not None}
    found = {row.id: row for chunk in in_chunks(keys)
             for row in session.exec(select(SightingRow).where(col(SightingRow.id).in_(chunk)))}
    roots = {row.merged_into for row in found.values() if row.merged_into} - set(found)
    found |= {row.id: row for chunk in in_chunks(roots)
              for row in session.exec(select(SightingRow).where(col(SightingRow.id).in_(chunk)))}
    return {key: found[row.merged_into] if row.merged_into else row for key, row in found.items() if key is not None}


def _recordings(session: Session, walks: set[str]) -> dict[str, list[RecordingRow]]:
    found: dict[str, list[RecordingRow]] = defaultdict(list)
    for chunk in in_chunks(walks):
        for row in session.exec(select(RecordingRow).where(col(RecordingRow.walk_id).in_(chunk))
                                .order_by(col(RecordingRow.position))):
            found[row.walk_id].append(row)
    return found


def _place(photo: PhotoRow, placement: PlacementRow, file: FileRow, names: dict[int, SightingRow],
           recordings: Sequence[RecordingRow]) -> PhotoPlace:
    shown = names.get(placement.shown_id or 0)
    shown = shown if shown is not None and shown.state == "seen" else None
    runner_up = names.get(placement.runner_up_id or 0)
    decided = placement.decision is not None
    recording, second = running_at(recordings, placement.at)
    taken = photo.taken_at
    if taken is not None and photo.taken_offset_min is not None:
        sign, minutes = ("-" if photo.taken_offset_min < 0 else "+"), abs(photo.taken_offset_min)
        taken = f"{taken}{sign}{minutes // 60:02d}:{minutes % 60:02d}"
    return PhotoPlace(
        walk=photo.walk_id, name=photo.name, path=str(codec.path_of(file.path)), sha256=photo.sha256, kind=file.kind,
        taken_at=taken, taken_source=photo.taken_source, camera=photo.camera, orientation=photo.orientation,
        width=photo.width, height=photo.height, sighting=name_of(shown) if shown else None,
        unit=shown.unit_id if shown else None, confidence=1.0 if decided else placement.confidence, at=placement.at,
        runner_up=name_of(runner_up) if runner_up else None, reasons=() if decided else tuple(placement.reasons),
        why="a person placed it" if decided else placement.why, state=placement.decision or "open",
        origin=placement.decided_by or MACHINE, recording=recording, recording_second=second)


def running_at(recordings: Sequence[RecordingRow], at: str | None) -> tuple[str | None, float | None]:
    """The recording that ran at a moment and the second in it; (None, None) where none did or a time is not known."""
    for row in recordings:
        second = codec.seconds_between(row.starts, at)
        if second is not None and row.duration_s is not None and 0 <= second <= row.duration_s:
            return row.name, round(second, 3)
    return None, None


def _links(session: Session, rows: Sequence[SightingRow]) -> dict[int, list[Link]]:
    names = {row.id: name_of(row) for row in rows if row.id is not None}
    found: dict[int, list[Link]] = defaultdict(list)
    for chunk in in_chunks(names):
        for row in session.exec(select(LinkRow).where(col(LinkRow.sighting_id).in_(chunk),
                                                      or_(col(LinkRow.current), col(LinkRow.decision).is_not(None)))):
            found[row.sighting_id].append(link(row, names[row.sighting_id]))
    return found


def link(row: LinkRow, sighting: str) -> Link:
    """A "seen before?" question as a plain value."""
    return Link(id=row.id, sighting=sighting, unit=row.unit_id, confidence=row.confidence,
                reasons=tuple(row.reasons), state=row.decision or "open", origin=row.decided_by or MACHINE)
