"""Brings a walk's sightings to a new reading and does again what people did: drops, joins and cuts stay."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import reduce
from typing import Any

from sqlalchemy import text
from sqlmodel import col, select

from intake.language.draft import LISTS, Evidence, UnitDraft, Value
from intake.records import codec, entries, load
from intake.records.log import Log
from intake.records.pairing import IDENTITY, Known, pair
from intake.records.readings import cut, join, readings
from intake.records.tables import EntryRow, LinkRow, PlacementRow, SightingRow, UnitRow
from intake.records.types import MACHINE, Difference
from intake.records.values import Terms


@dataclass
class Found:
    """What became of the drafts: `rows` maps each draft's id to its sighting (the one it was joined with)."""

    rows: dict[str, SightingRow] = field(default_factory=dict)
    added: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    kept: tuple[str, ...] = ()
    differences: tuple[Difference, ...] = ()
    cuts: dict[int, list[SightingRow]] = field(default_factory=dict)  # sighting -> those now cut off from it


def put(log: Log, walk: str, drafts: Sequence[UnitDraft], *, terms: Terms, recordings: Sequence[str],
        units: Mapping[str, str], refused: list[str]) -> Found:
    """Pair the drafts with the stored sightings, do people's joins and cuts again, and write all values.

    `units`: draft id -> the unit on file that a new sighting is surely of.
    """
    stored = list(log.session.exec(select(SightingRow).where(SightingRow.walk_id == walk)
                                   .order_by(col(SightingRow.position), col(SightingRow.id))))
    by_key = {row.id: row for row in stored if row.id is not None}
    paired = pair([_known(log, row) for row in stored], drafts) if stored else {}
    found = Found()
    own: dict[int, UnitDraft] = {}
    joined: dict[int, list[UnitDraft]] = {}
    for draft in drafts:
        key = paired.get(draft.id)
        row = by_key[key] if key is not None else make(log, walk, draft, origin=MACHINE, unit=units.get(draft.id))
        by_key[row.id] = row
        if key is None:
            found.added += (load.name_of(row),)
        root = by_key[row.merged_into] if row.merged_into else row
        found.rows[draft.id] = root
        if root is row:
            own[root.id] = draft
        else:
            log.update(row, unit=row.unit_id, about=load.name_of(row), present=True)
            joined.setdefault(root.id, []).append(draft)
    texts = {key: reduce(join, [*([own[key]] if key in own else []), *joined.get(key, [])])
             for key in dict.fromkeys((*own, *joined))}
    _cut_again(stored, texts, recordings, found)
    for key, draft in texts.items():
        _write(log, by_key[key], draft, terms, recordings, found, refused)
    for row in stored:
        if row.id not in texts:
            _lacking(log, row, recordings, found)
    return found


def _known(log: Log, row: SightingRow) -> Known:
    values: dict[str, set[Any]] = {name: set() for name in IDENTITY}
    for entry in entries.rows_of(log.session, row):
        if entry.field in values:
            values[entry.field] |= {v for v in (entry.value, entry.decided_value, entry.seen_value) if v is not None}
    return Known(row.id, codec.spans_of(row.spans), {name: frozenset(held) for name, held in values.items()})


def make(log: Log, walk: str, draft: UnitDraft | None, *, origin: str, unit: str | None = None) -> SightingRow:
    """A new sighting of a unit (None: one of its own); its number is the draft's where that is free."""
    wanted = draft.id if draft else ""
    local = wanted if _is_free(log, walk, wanted) else _next_local(log, walk)
    own = unit is None
    unit = unit or new_unit(log, f"{walk}/{local}").id
    row = SightingRow(walk_id=walk, local_id=local, position=1e12, unit_id=unit, origin=origin,
                      present=draft is not None, linked="own" if own else "machine")
    log.session.add(row)
    log.note(row, unit=unit, about=f"{walk}/{local}")
    return row


def _is_free(log: Log, walk: str, local: str) -> bool:
    if not (local[:1] == "u" and local[1:].isascii() and local[1:].isdigit() and local[1] != "0"):
        return False
    return log.session.exec(select(SightingRow.id).where(
        SightingRow.walk_id == walk, SightingRow.local_id == local)).first() is None


def _next_local(log: Log, walk: str) -> str:
    taken = log.session.exec(select(SightingRow.local_id).where(SightingRow.walk_id == walk)).all()
    return f"u{max((int(local[1:]) for local in taken), default=0) + 1}"


def new_unit(log: Log, made_for: str) -> UnitRow:
    """A unit with the next number; numbers are never given twice, for no unit is ever deleted."""
    newest = log.session.exec(select(UnitRow.id).order_by(text("rowid DESC")).limit(1)).first()
    number = int(newest.removeprefix("U")) + 1 if newest else 1
    row = UnitRow(id=f"U{number:04d}", made_at=log.at, made_for=made_for)
    log.session.add(row)
    log.session.flush()
    return row


def is_after(recordings: Sequence[str], name: str, at_s: float) -> Callable[[str, float], bool]:
    """A test: is a moment (recording, second) at or after this one, in the order of the recordings?"""
    order = {recording: number for number, recording in enumerate(recordings)}

    def after(recording: str, second: float) -> bool:
        return (order.get(recording, -1), second) >= (order.get(name, -1), at_s)

    return after


def _cut_again(stored: Sequence[SightingRow], texts: dict[int, UnitDraft], recordings: Sequence[str],
               found: Found) -> None:
    """Where a person cut one sighting in two and the new reading has it as one, cut the reading there too."""
    for row in sorted(stored, key=lambda r: r.id):
        if row.split_from is None or row.decision != "kept" or row.split_recording is None or row.split_at_s is None:
            continue
        if row.id in texts or row.split_from not in texts or row.id is None:
            continue
        found.cuts.setdefault(row.split_from, []).append(row)
        after = is_after(recordings, row.split_recording, row.split_at_s)
        texts[row.split_from], texts[row.id] = cut(texts[row.split_from], after)


def _write(log: Log, row: SightingRow, draft: UnitDraft, terms: Terms, recordings: Sequence[str],
           found: Found, refused: list[str]) -> None:
    name, before = load.name_of(row), log.count
    columns = {"present": True, "spans": codec.spans_json(draft.spans), "same_as_hint": draft.same_as_hint,
               "named_at": [[codec.clean(recording), second] for recording, second in draft.named_at]}
    if name in found.added:
        row.sqlmodel_update(columns)
    else:
        log.update(row, unit=row.unit_id, about=name, field="spans", **columns)
    row.position = position(draft, recordings)
    found.differences += tuple(entries.put(log, row, readings(draft, terms, refused)))
    if name not in found.added and log.count > before:
        found.changed += (name,)


def position(draft: UnitDraft, recordings: Sequence[str]) -> float:
    """Where in the walk a sighting comes: by the first words about it."""
    starts = [(recordings.index(s.recording), s.start_s) for s in draft.spans if s.recording in recordings]
    return min(starts)[0] * 1e7 + min(starts)[1] if starts else 1e12


def _lacking(log: Log, row: SightingRow, recordings: Sequence[str], found: Found) -> None:
    """A stored sighting that the new reading does not have."""
    elsewhere = row.spans and not any(span["recording"] in recordings for span in row.spans)
    if row.state != "seen" or row.origin != MACHINE or elsewhere:
        return
    name = load.name_of(row)
    if not _touched(log, row):
        log.update(row, unit=row.unit_id, about=name, present=False)
        found.gone += (name,)
        return
    found.kept += (name,)
    reason = "the newest reading finds no unit here; it is kept because a person worked on it"
    rows = entries.rows_of(log.session, row)
    if any(entry.rule == entries.KEPT_RULE for entry in rows):
        return
    log.session.add(EntryRow(
        sighting_id=row.id, field="unit", number=entries.next_number(rows, "unit"), reasons=[reason],
        alternatives=[], evidence=[], signals={}, notes=[], confidence=0.0, rule=entries.KEPT_RULE))
    log.units.add(row.unit_id)
    found.differences += (Difference(name, "unit", "kept", None, reason),)


def _touched(log: Log, row: SightingRow) -> bool:
    """True where a person decided anything about a sighting."""
    ask = log.session.exec
    return row.decision is not None or row.linked == "person" or any(
        ask(query).first() is not None for query in (
            select(EntryRow.id).where(EntryRow.sighting_id == row.id, col(EntryRow.decision).is_not(None)),
            select(PlacementRow.photo_id).where(PlacementRow.decided_sighting_id == row.id),
            select(LinkRow.id).where(LinkRow.sighting_id == row.id, col(LinkRow.decision).is_not(None)),
            select(SightingRow.id).where(SightingRow.merged_into == row.id),
            select(SightingRow.id).where(SightingRow.split_from == row.id, SightingRow.decision == "kept")))


def renamed(draft: UnitDraft, names: dict[str, str]) -> UnitDraft:
    """A draft whose recordings go by the names they are stored under."""
    if all(old == new for old, new in names.items()):
        return draft

    def name(recording: str) -> str:
        return names.get(recording, recording)

    def evidence(given: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
        return tuple(replace(e, recording=name(e.recording)) for e in given)

    def value(given: Value) -> Value:
        return replace(given, evidence=evidence(given.evidence))

    lists: dict[str, Any] = {field_: tuple(value(v) for v in getattr(draft, field_)) for field_ in LISTS}
    return replace(
        draft, scalars={field_: value(v) for field_, v in draft.scalars.items()}, **lists,
        doubts=tuple(replace(d, evidence=evidence(d.evidence)) for d in draft.doubts),
        spans=tuple(replace(s, recording=name(s.recording)) for s in draft.spans),
        named_at=tuple((name(r), s) for r, s in draft.named_at))
