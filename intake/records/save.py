"""Writes a processed walk: whole or not at all, nothing twice, and never over what a person decided."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, is_dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlmodel import Session, col, select

from intake.capture.walk import Problem, Walk
from intake.errors import RecordsError
from intake.language.draft import UnitDraft
from intake.matching.types import ClockOffset, PhotoMatch
from intake.records import files, latest, load, placing, reread, seen_before
from intake.records.codec import dumps
from intake.records.log import Log
from intake.records.tables import PhotoRow, PlacementRow, RecordingRow, SightingRow, WalkRow
from intake.records.types import SaveReport
from intake.records.values import Terms
from intake.speech.transcript import Transcript


@dataclass(frozen=True)
class Processed:
    """All that the pipeline knows of a walk.

    `same_as`: draft id -> (unit id or "<walk>/u3", confidence) where the unit is surely one on file; None:
    nobody looked. `candidates`: draft id -> [(unit id, confidence, reasons)] to ask the reviewer about.
    `starts`: recording name -> when it started, where matching knows better than the file.
    """

    walk: Walk
    drafts: Sequence[UnitDraft] = ()
    matches: Sequence[PhotoMatch] = ()
    offsets: Sequence[ClockOffset] = ()
    transcripts: Sequence[Transcript] = ()
    problems: Sequence[Problem] = ()
    same_as: Mapping[str, tuple[str, float]] | None = None
    candidates: Mapping[str, Sequence[tuple[str, float, Sequence[str]]]] = field(default_factory=dict)
    starts: Mapping[str, datetime] = field(default_factory=dict)
    settings: Mapping[str, Any] = field(default_factory=dict)


def fingerprint(processed: Processed) -> str:
    """Tells whether two runs had the same content; where the files lie on disk does not count."""
    return hashlib.sha256(dumps(_plain(processed)).encode("utf-8", "surrogateescape")).hexdigest()


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        return {name: _plain(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, Mapping):
        return {str(key): _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(part) for part in value]
    if isinstance(value, Path):
        return None
    if isinstance(value, date | datetime):
        return value.isoformat()
    return value if value is None or isinstance(value, str | int | bool) else str(value)


def save(session: Session, processed: Processed, *, terms: Terms, redo: bool) -> SaveReport:
    """Write the walk in the session's transaction and say what was done."""
    walk = processed.walk
    row = session.get(WalkRow, walk.id)
    mark = fingerprint(processed)
    log = Log(session, kind="process", action="read the walk" if row is None else "read the walk again")
    if row is not None and (row.fingerprint == mark or (not redo and not _brings_files(session, walk))):
        files.follow(log, walk)
        return _report(session, walk.id, unchanged=True)
    row = _walk_row(log, row, processed, mark)
    names = files.put(log, processed)
    refused: list[str] = []
    found = reread.put(log, walk.id, [reread.renamed(d, names) for d in processed.drafts], terms=terms,
                       recordings=[names.get(r.name, r.name) for r in walk.recordings],
                       units=seen_before.sure_units(log, walk.id, processed.same_as or {}), refused=refused)
    seen = seen_before.put(log, found.rows, processed.same_as, processed.candidates)
    moved = placing.put(log, walk.id, processed.matches, names, found)
    log.note(row, unit=None, about=walk.id)
    latest.refresh(session, log.units)
    return _report(
        session, walk.id, added=found.added, changed=found.changed, gone=found.gone, kept=found.kept,
        linked=seen.linked, asked=seen.asked, refused=tuple(refused), duplicates=files.duplicates(session, walk),
        differences=(*found.differences, *seen.differences, *moved))


def _brings_files(session: Session, walk: Walk) -> bool:
    """True where the capture has files that the stored walk lacks; RecordsError where it has no file in common."""
    stored = set(session.exec(select(RecordingRow.sha256).where(RecordingRow.walk_id == walk.id)))
    stored |= set(session.exec(select(PhotoRow.sha256).where(PhotoRow.walk_id == walk.id)))
    brought = {item.sha256 for item in files.brought(walk)}
    if stored and brought and not stored & brought:
        raise RecordsError(f"another capture is on file as walk {walk.id!r}: the two have no file in common.",
                           hint="Give this one another name with --walk-id.")
    return bool(brought - stored)


def _walk_row(log: Log, row: WalkRow | None, processed: Processed, mark: str) -> WalkRow:
    walk = processed.walk
    columns = {"date": walk.date, "utc_offset_min": walk.utc_offset_min, "settings": _plain(processed.settings),
               "fingerprint": mark, "processed_at": log.at}
    if row is None:
        row = WalkRow(id=walk.id, **columns)
        log.session.add(row)
        log.session.flush()
        return row
    if row.date != walk.date:  # every unit's days hang on it
        log.units |= set(log.session.exec(select(SightingRow.unit_id).where(SightingRow.walk_id == walk.id)))
    log.update(row, unit=None, about=walk.id, **columns)
    return row


def _report(session: Session, walk: str, **what: Any) -> SaveReport:
    session.flush()
    rows = session.exec(select(SightingRow).where(SightingRow.walk_id == walk, col(SightingRow.state) == "seen")).all()
    shown = session.exec(select(PlacementRow.shown_id).where(
        PlacementRow.photo_id == PhotoRow.id, PhotoRow.walk_id == walk)).all()
    sightings = load.sightings(session, rows)
    return SaveReport(
        walk=walk, units=len(rows), placed=sum(key is not None for key in shown),
        stray=sum(key is None for key in shown), questions=sum(map(latest.questions_in, sightings)), **what)


