"""Writes where matching put each photo; where a person put it stays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlmodel import col, select

from intake.matching.types import PhotoMatch
from intake.records import codec, load
from intake.records.log import Log
from intake.records.readings import share
from intake.records.reread import Found, is_after
from intake.records.tables import PhotoRow, PlacementRow, RecordingRow, SightingRow
from intake.records.types import Difference


def put(log: Log, walk: str, matches: Sequence[PhotoMatch], names: Mapping[str, str],
        found: Found) -> tuple[Difference, ...]:
    """Write the machine's placings; returns where they part from a person's. ValueError for a photo not of the walk."""
    log.session.flush()
    recordings = log.session.exec(select(RecordingRow).where(RecordingRow.walk_id == walk)
                                  .order_by(col(RecordingRow.position))).all()
    photos = {photo.name: photo for photo in log.session.exec(select(PhotoRow).where(PhotoRow.walk_id == walk))}
    out: list[Difference] = []
    for match in matches:
        photo = photos.get(names.get(match.photo, match.photo))
        placement = log.session.get(PlacementRow, photo.id) if photo else None
        if photo is None or placement is None:
            raise ValueError(f"photo {match.photo!r} is not in walk {walk!r}")
        columns = _columns(match, found, recordings)
        out += _write(log, walk, photo, placement, columns)
    return tuple(out)


def _columns(match: PhotoMatch, found: Found, recordings: Sequence[RecordingRow]) -> dict[str, Any]:
    at = codec.local_time(match.at) if match.at else None
    shown = _shown(found, match.unit, at, recordings)
    runner_up = _shown(found, match.runner_up, at, recordings)
    return {"sighting_id": shown.id if shown else None, "confidence": share(match.confidence), "at": at,
            "runner_up_id": runner_up.id if runner_up else None,
            "reasons": [codec.clean(reason) for reason in match.reasons], "why": codec.clean(match.why)}


def _shown(found: Found, draft: str | None, at: str | None, recordings: Sequence[RecordingRow]) -> SightingRow | None:
    """The sighting of a draft; where a person cut it in two, the half that the photo's time falls in."""
    if draft is None:
        return None
    row = found.rows.get(draft)
    if row is None:
        raise ValueError(f"a photo is matched with {draft!r}, and there is no such unit")
    return cut_side(row, found.cuts, at, recordings)


def cut_side(row: SightingRow, cuts: Mapping[int, Sequence[SightingRow]], at: str | None,
             recordings: Sequence[RecordingRow]) -> SightingRow:
    """The part of a cut sighting that a moment falls in; the first part where the moment is not known."""
    recording, second = load.running_at(recordings, at)
    if recording is None or second is None:
        return row
    order = [r.name for r in recordings]
    for part in cuts.get(row.id, ()):
        if part.split_recording is not None and part.split_at_s is not None and is_after(
                order, part.split_recording, part.split_at_s)(recording, second):
            return cut_side(part, cuts, at, recordings)
    return row


def _write(log: Log, walk: str, photo: PhotoRow, placement: PlacementRow,
           columns: dict[str, Any]) -> list[Difference]:
    before = placement.sighting_id
    units = {row.unit_id for key in (before, columns["sighting_id"]) if key is not None
             if (row := log.session.get(SightingRow, key)) is not None}
    if placement.why or before is not None or placement.decision is not None:
        log.update(placement, unit=min(units, default=None), about=f"{walk}/{photo.name}", field="photo", **columns)
    else:  # never placed before: nothing is overwritten
        placement.sqlmodel_update(columns)
    log.units |= units
    new = columns["sighting_id"]
    if placement.decision is None or new in (before, placement.decided_sighting_id):
        return []
    rows = [log.session.get(SightingRow, key) if key is not None else None
            for key in (placement.decided_sighting_id, new)]
    kept, read = (load.name_of(row) if row else None for row in rows)
    return [Difference(f"{walk}/{photo.name}", "photo", kept, read, "a person placed it otherwise")]
