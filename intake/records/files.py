"""Writes what a walk was made from: recordings, photos, camera clocks, transcripts, and files that failed."""

from __future__ import annotations

import hashlib
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlmodel import Session, col, select

from intake.capture.walk import Photo, Recording, Walk
from intake.records import codec
from intake.records.codec import dumps
from intake.records.load import in_chunks
from intake.records.log import Log
from intake.records.tables import ClockRow, FileRow, PhotoRow, PlacementRow, ProblemRow, RecordingRow, TranscriptRow

if TYPE_CHECKING:
    from intake.records.save import Processed


def brought(walk: Walk) -> list[Recording | Photo]:
    """All files of a capture."""
    return [*walk.recordings, *walk.photos]


def put(log: Log, processed: Processed) -> dict[str, str]:
    """Write all of it; returns each file's name as given -> as stored, where a stored file keeps its first name."""
    walk = processed.walk
    for item in brought(walk):
        _file(log, item.sha256, item.path, item.kind)
    log.session.flush()
    names = _recordings(log, processed) | _photos(log, walk)
    _clocks(log, processed)
    _problems(log, processed)
    _transcripts(log, processed)
    log.session.flush()
    return names


def follow(log: Log, walk: Walk) -> None:
    """Note where known files lie now, when they are no longer where they were."""
    for item in brought(walk):
        row = log.session.get(FileRow, item.sha256)
        if row is not None:
            _moved(log, row, item.path)


def _moved(log: Log, row: FileRow, path: Path) -> None:
    text = codec.path_text(path)
    if row.path != text and not codec.path_of(row.path).exists():
        log.update(row, unit=None, about=codec.clean(path.name), field="path", path=text)


def duplicates(session: Session, walk: Walk) -> dict[str, str]:
    """Files of this walk whose content another walk has too: name -> "<walk>/<name there>"."""
    out: dict[str, str] = {}
    items = {item.sha256: item.name for item in brought(walk)}
    for chunk in in_chunks(items):
        found: list[RecordingRow | PhotoRow] = [
            *session.exec(select(RecordingRow).where(col(RecordingRow.sha256).in_(chunk))),
            *session.exec(select(PhotoRow).where(col(PhotoRow.sha256).in_(chunk)))]
        for row in found:
            if row.walk_id != walk.id:
                out[codec.clean(items[row.sha256])] = f"{row.walk_id}/{row.name}"
    return out


def _file(log: Log, sha256: str, path: Path, kind: str) -> None:
    row = log.session.get(FileRow, sha256)
    if row is None:
        log.session.add(FileRow(sha256=sha256, path=codec.path_text(path), kind=kind))
        log.session.flush()
    else:
        _moved(log, row, path)


def _free_name(name: str, path: Path, taken: set[str]) -> str:
    """The file's name, with folders before it where another file of the walk has the same."""
    wanted = codec.clean(name)
    for folder in path.parents:
        if wanted not in taken:
            break
        wanted = f"{codec.clean(folder.name)}/{wanted}"
    while wanted in taken:
        wanted += "+"
    taken.add(wanted)
    return wanted


def _recordings(log: Log, processed: Processed) -> dict[str, str]:
    walk = processed.walk
    known = {row.sha256: row for row in log.session.exec(
        select(RecordingRow).where(RecordingRow.walk_id == walk.id))}
    taken = {row.name for row in known.values()}
    names: dict[str, str] = {}
    for position, item in enumerate(walk.recordings):
        start = processed.starts.get(item.name) or codec.recording_start(item, walk.utc_offset_min)
        columns = {"position": position, "starts": codec.local_time(start) if start else None, **_times(item)}
        row = known.get(item.sha256)
        if row is None:
            row = RecordingRow(walk_id=walk.id, sha256=item.sha256, **columns,
                               name=_free_name(item.name, item.path, taken))
            known[item.sha256] = row
            log.session.add(row)
        else:
            log.update(row, unit=None, about=f"{walk.id}/{row.name}", **columns)
        names.setdefault(item.name, row.name)
    return names


def _times(item: Recording) -> dict[str, Any]:
    moment = item.started_at
    return {"duration_s": item.duration_s, "started_at": moment.at.isoformat() if moment else None,
            "started_source": moment.source if moment else "", "started_marks": moment.marks if moment else "start",
            "times": codec.moments_json(item.times),
            "transcript": codec.path_text(item.transcript) if item.transcript else None}


def _photos(log: Log, walk: Walk) -> dict[str, str]:
    known = {row.sha256: row for row in log.session.exec(select(PhotoRow).where(PhotoRow.walk_id == walk.id))}
    taken = {row.name for row in known.values()}
    names: dict[str, str] = {}
    for position, item in enumerate(walk.photos):
        columns = {"position": position, **_shot(item)}
        row = known.get(item.sha256)
        if row is None:
            row = PhotoRow(walk_id=walk.id, sha256=item.sha256, **columns,
                           name=_free_name(item.name, item.path, taken))
            known[item.sha256] = row
            log.session.add(row)
            log.session.flush()
            log.session.add(PlacementRow(photo_id=row.id))
        else:
            log.update(row, unit=None, about=f"{walk.id}/{row.name}", **columns)
        names.setdefault(item.name, row.name)
    return names


def _shot(item: Photo) -> dict[str, Any]:
    moment = item.taken_at
    return {"taken_at": codec.local_time(_without_zone(moment.at)) if moment else None,
            "taken_offset_min": codec.offset_of(moment.at) if moment else None,
            "taken_source": moment.source if moment else "", "times": codec.moments_json(item.times),
            "camera": codec.clean(item.camera) if item.camera else None,
            "orientation": item.orientation if 1 <= item.orientation <= 8 else 1,
            "width": item.width, "height": item.height}


def _without_zone(at: datetime) -> datetime:
    return at.replace(tzinfo=None)


def _clocks(log: Log, processed: Processed) -> None:
    walk = processed.walk.id
    for offset in processed.offsets:
        columns: dict[str, Any] = {"offset_s": offset.offset_s, "low": min(offset.low, offset.high),
                   "high": max(offset.low, offset.high), "drift_s_per_h": offset.drift_s_per_h,
                   "known": offset.known, "how": offset.how}
        camera = codec.clean(offset.camera)
        row = log.session.get(ClockRow, (walk, camera))
        if row is None:
            log.session.add(ClockRow(walk_id=walk, camera=camera, **columns))
        else:
            log.update(row, unit=None, about=walk, field=f"clock of {camera}", **columns)


def _problems(log: Log, processed: Processed) -> None:
    walk = processed.walk.id
    new = {(codec.clean(p.name), codec.clean(p.reason), p.fatal)
           for p in (*processed.walk.problems, *processed.problems)}
    for row in log.session.exec(select(ProblemRow).where(ProblemRow.walk_id == walk)):
        told = (row.name, row.reason, row.fatal) in new
        new.discard((row.name, row.reason, row.fatal))
        log.update(row, unit=None, about=walk, field="problem", current=told)
    for name, reason, fatal in sorted(new):
        log.session.add(ProblemRow(walk_id=walk, name=name, reason=reason, fatal=fatal))


def _transcripts(log: Log, processed: Processed) -> None:
    walk = processed.walk.id
    for transcript in processed.transcripts:
        whole = dumps(transcript.to_dict()).encode("utf-8", "surrogateescape")
        columns: dict[str, Any] = {"fingerprint": hashlib.sha256(whole).hexdigest(), "options": transcript.options,
                                   "words": sum(1 for _ in transcript.words())}
        row = log.session.exec(select(TranscriptRow).where(
            TranscriptRow.walk_id == walk, TranscriptRow.sha256 == transcript.sha256)).first()
        if row is None:
            log.session.add(TranscriptRow(walk_id=walk, sha256=transcript.sha256, **columns))
        else:
            log.update(row, unit=None, about=f"{walk}/{transcript.recording}", field="transcript", **columns)
