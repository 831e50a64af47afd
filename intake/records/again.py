"""Places a stored walk's photos anew, after a person has set a camera's clock; nothing else of the walk changes."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlmodel import Session, col, select

from intake.capture.walk import Moment, Photo, Recording, Walk
from intake.language.draft import UnitDraft
from intake.records import codec, latest, load, placing, queries
from intake.records.database import reading, writing
from intake.records.log import Log
from intake.records.reread import Found
from intake.records.tables import FileRow, PhotoRow, RecordingRow, SightingRow
from intake.speech.transcript import Transcript

if TYPE_CHECKING:
    from intake.matching.arrange import Arrangement
    from intake.records.store import Store


def place_again(store: Store, walk: str, transcripts: Mapping[str, Transcript]) -> Arrangement:
    """Match the photos of a walk on file with the clocks that people set; a person's own placings stay.

    `transcripts` by recording name; those that are missing cost only the pauses and the words about pictures.
    """
    from intake.matching.arrange import arrange  # brings numpy along, which the readers below do not need

    engine = store._engine
    with reading(engine) as session:
        stored = stored_walk(session, walk)
        drafts = _drafts(session, walk)
        given = {c.camera: c.offset_s for c in queries.clocks(session, walk) if c.state != "open"}
    found = arrange(stored, drafts, transcripts, given=given)
    with writing(engine) as session:
        log = Log(session, kind="process", action="place photos again")
        rows = session.exec(select(SightingRow).where(SightingRow.walk_id == walk, col(SightingRow.state) == "seen"))
        placing.put(log, walk, found.matches, {}, Found(rows={row.local_id: row for row in rows}))
        latest.refresh(session, log.units)
    return found


def stored_walk(session: Session, walk: str) -> Walk:
    """A walk as capture gave it, from what is on file."""
    row = queries.known_walk(session, walk)
    photos = session.exec(select(PhotoRow, FileRow).where(
        PhotoRow.sha256 == FileRow.sha256, PhotoRow.walk_id == walk).order_by(col(PhotoRow.position)))
    return Walk(id=walk, date=row.date, utc_offset_min=row.utc_offset_min,
                recordings=_recordings(session, walk), photos=tuple(_photo(p, f) for p, f in photos))


def recordings_of(store: Store, walk: str) -> tuple[Recording, ...]:
    """A stored walk's recordings as capture gave them."""
    with reading(store._engine) as session:
        return _recordings(session, walk)


def _recordings(session: Session, walk: str) -> tuple[Recording, ...]:
    rows = session.exec(select(RecordingRow, FileRow).where(
        RecordingRow.sha256 == FileRow.sha256, RecordingRow.walk_id == walk).order_by(col(RecordingRow.position)))
    return tuple(_recording(row, file) for row, file in rows)


def _recording(row: RecordingRow, file: FileRow) -> Recording:
    start = Moment(datetime.fromisoformat(row.started_at), row.started_source, row.started_marks) \
        if row.started_at else None
    return Recording(path=codec.path_of(file.path), name=row.name, sha256=row.sha256, kind=file.kind,
                     duration_s=row.duration_s, started_at=start, times=_moments(row.times),
                     transcript=codec.path_of(row.transcript) if row.transcript else None)


def _photo(row: PhotoRow, file: FileRow) -> Photo:
    times = _moments(row.times)
    own = next((m for m in times if m.source == row.taken_source), None) if row.taken_at else None
    return Photo(path=codec.path_of(file.path), name=row.name, sha256=row.sha256, kind=file.kind, taken_at=own,
                 times=times, camera=row.camera, orientation=row.orientation, width=row.width, height=row.height)


def _moments(stored: list[dict[str, Any]]) -> tuple[Moment, ...]:
    return tuple(Moment(datetime.fromisoformat(m["at"]), m["source"], m["marks"]) for m in stored)


def _drafts(session: Session, walk: str) -> list[UnitDraft]:
    rows = session.exec(select(SightingRow).where(SightingRow.walk_id == walk, col(SightingRow.state) == "seen")).all()
    named = {row.local_id: tuple((str(r), float(s)) for r, s in row.named_at) for row in rows}
    return [UnitDraft(s.local_id, spans=s.spans, named_at=named[s.local_id]) for s in load.sightings(session, rows)]
