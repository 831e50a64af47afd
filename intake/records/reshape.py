"""What a person does to whole units: split, merge, drop, add, tie to a unit on file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlmodel import col, select

from intake.errors import NotFoundError, UsageError
from intake.language.draft import SCALARS, Span
from intake.records import codec, edits, entries, load, placing, refs, reread, seen_before
from intake.records.log import Log
from intake.records.readings import cut_spans, differ
from intake.records.tables import EntryRow, LinkRow, PlacementRow, RecordingRow, SightingRow, UnitRow, WalkRow
from intake.records.values import Terms

# What a value consists of besides its place.
_COPIED = ("value", "confidence", "reasons", "alternatives", "evidence", "rule", "signals", "notes", "decision",
           "decided_value", "seen_value", "differs", "decided_by", "decided_at")


def recording_names(log: Log, walk: str) -> list[str]:
    """A walk's recordings in order."""
    return list(log.session.exec(select(RecordingRow.name).where(RecordingRow.walk_id == walk)
                                 .order_by(col(RecordingRow.position))))


def split(log: Log, ref: str, at_s: float, recording: str | None) -> str:
    """Cut a walk's record in two at a moment: what was said from then on becomes a unit of its own.

    Photos taken after that moment go with it. Returns the new record's name.
    """
    rows = refs.seen(log.session, ref)
    if len(rows) > 1:
        raise UsageError(f"{ref} was seen in {len(rows)} walks.",
                         hint=f"Say which record: {', '.join(map(load.name_of, rows))}")
    row = rows[0]
    spans = codec.spans_of(row.spans)
    if not spans:
        raise UsageError(f"{ref} has no place in a recording, so it cannot be cut.")
    name = recording or spans[0].recording
    after = reread.is_after(recording_names(log, row.walk_id), name, at_s)
    before, late = cut_spans(spans, after)
    if not before or not late:
        raise UsageError(f"{at_s:g} s in {name} is not within the talk about {ref}.", hint=_talk(spans))
    part = reread.make(log, row.walk_id, None, origin=log.who)
    about = load.name_of(row)
    log.update(part, unit=part.unit_id, about=load.name_of(part), field="unit", now=f"split from {about}",
               decision="kept", decided_by=log.who, decided_at=log.at, split_from=row.id, split_recording=name,
               split_at_s=at_s, spans=codec.spans_json(late), named_at=[n for n in row.named_at if after(*n)])
    part.position = row.position + 0.001
    log.update(row, unit=row.unit_id, about=about, field="unit", now=f"split: the rest is {load.name_of(part)}",
               spans=codec.spans_json(before), named_at=[n for n in row.named_at if not after(*n)])
    _move_values(log, row, part, after)
    _move_photos(log, row, part)
    return load.name_of(part)


def _talk(spans: Sequence[Span]) -> str:
    return "It is talked about at: " + ", ".join(f"{s.recording} {s.start_s:g}-{s.end_s:g} s" for s in spans)


def _move_values(log: Log, row: SightingRow, part: SightingRow, after: Any) -> None:
    rows = entries.rows_of(log.session, row)
    for entry in rows:
        if entry.evidence and after(entry.evidence[0]["recording"], entry.evidence[0]["start_s"]):
            _copy(log, entry, edits.void_entry(log, part, entry.field), part)
            _empty(log, entry, row)
    place = next((e for e in rows if e.field == "location" and not load.is_void(e)), None)
    target = edits.void_entry(log, part, "location")
    if place is not None and load.is_void(target):
        _copy(log, place, target, part)  # the place carries over, as in speech


def _move_photos(log: Log, row: SightingRow, part: SightingRow) -> None:
    runs = log.session.exec(select(RecordingRow).where(RecordingRow.walk_id == row.walk_id)
                            .order_by(col(RecordingRow.position))).all()
    for placement in log.session.exec(select(PlacementRow).where(
            PlacementRow.sighting_id == row.id, col(PlacementRow.decision).is_(None))):
        side = placing.cut_side(row, {row.id: [part]}, placement.at, runs)
        if side is part:
            log.update(placement, unit=part.unit_id, about=load.name_of(part), field="photo",
                       was=load.name_of(row), now=load.name_of(part), sighting_id=part.id)


def _copy(log: Log, source: EntryRow, target: EntryRow, sighting: SightingRow) -> None:
    address = target.field if target.number == 0 else f"{target.field}.{target.number}"
    log.update(target, unit=sighting.unit_id, about=load.name_of(sighting), field=address,
               now=source.value if source.decision is None else source.decided_value,
               **{name: getattr(source, name) for name in _COPIED})


def _empty(log: Log, entry: EntryRow, sighting: SightingRow) -> None:
    """Make an entry say nothing; its row and number stay, so that undo finds them."""
    address = entry.field if entry.number == 0 else f"{entry.field}.{entry.number}"
    log.update(entry, unit=sighting.unit_id, about=load.name_of(sighting), field=address, was=_value(entry),
               **{**codec.NOTHING_READ, "notes": [], "decision": None, "decided_value": None, "seen_value": None,
                  "differs": False, "decided_by": None, "decided_at": None})


def merge(log: Log, keep: str, other: str) -> str:
    """Say that two units are one thing; all that is known of `other` goes to `keep`. Returns the unit's id."""
    kept, gone = refs.unit(log.session, keep), refs.unit(log.session, other)
    if kept == gone:
        raise UsageError(f"{keep} and {other} are one unit already.")
    mine = {row.walk_id: row for row in load.seen_of_units(log.session, [kept])}
    for row in load.seen_of_units(log.session, [gone]):
        if row.walk_id in mine:
            _join(log, mine[row.walk_id], row)
        else:
            _tie(log, row, kept)
    became(log, gone, kept)
    return kept


def became(log: Log, gone: str, kept: str) -> None:
    """Note that a unit turned out to be another, and that questions whether it is are answered."""
    row = log.session.get_one(UnitRow, gone)
    log.update(row, unit=kept, about=gone, field="unit", was=gone, now=kept, became=kept)
    log.units |= {gone, kept}


def _join(log: Log, keep: SightingRow, row: SightingRow) -> None:
    """Two records of one walk become one; where they contradict each other, the reviewer is asked."""
    mine, about = entries.rows_of(log.session, keep), load.name_of(keep)
    held = [_value(entry) for entry in mine]
    for entry in entries.rows_of(log.session, row):
        if load.is_void(entry):
            continue
        same = next((m for m in mine if m.field == entry.field), None) if entry.field in SCALARS else None
        if same is not None and _value(same) is not None:
            _contradict(log, keep, same, _value(entry))
        elif entry.field in SCALARS or _value(entry) is None or _value(entry) not in held:
            _copy(log, entry, same or edits.void_entry(log, keep, entry.field), keep)
    spans = sorted((*keep.spans, *row.spans), key=lambda s: (s["recording"], s["start_s"]))
    log.update(keep, unit=keep.unit_id, about=about, field="unit", now=f"joined with {load.name_of(row)}", spans=spans,
               named_at=[*keep.named_at, *row.named_at])
    for child in log.session.exec(select(SightingRow).where(SightingRow.merged_into == row.id)).all():
        log.update(child, unit=child.unit_id, about=load.name_of(child), merged_into=keep.id)
    log.update(row, unit=row.unit_id, about=load.name_of(row), field="unit", now=f"joined with {about}",
               decision="merged", merged_into=keep.id, decided_by=log.who, decided_at=log.at)
    log.units |= {keep.unit_id, row.unit_id}
    log.session.flush()


def _value(entry: EntryRow) -> Any:
    return entry.value if entry.decision is None else entry.decided_value


def _contradict(log: Log, keep: SightingRow, entry: EntryRow, other: Any) -> None:
    value = _value(entry)
    if other is None or other == value or entry.decision is not None:
        return
    log.update(entry, unit=keep.unit_id, about=load.name_of(keep), field=entry.field, was=value, now=value,
               notes=[*entry.notes, differ(value, other)], alternatives=[*entry.alternatives, str(other)])


def _tie(log: Log, row: SightingRow, unit: str) -> None:
    log.update(row, unit=row.unit_id, about=load.name_of(row), field="unit", was=row.unit_id, now=unit, unit_id=unit,
               linked="person", link_confidence=1.0)
    _answer(log, row, unit)
    log.session.flush()


def _answer(log: Log, row: SightingRow, unit: str) -> None:
    for link in log.session.exec(select(LinkRow).where(
            LinkRow.sighting_id == row.id, col(LinkRow.decision).is_(None))).all():
        answer = "same" if link.unit_id == unit else "other"
        log.update(link, unit=row.unit_id, about=load.name_of(row), field="seen before", now=answer,
                   decision=answer, decided_by=log.who, decided_at=log.at)


def link(log: Log, ref: str, to: str | None) -> str:
    """Say which unit a walk's record is of (`to` None: one of its own, new to the shop). Returns the unit's id."""
    row = refs.sighting(log.session, ref)
    target = refs.unit(log.session, to) if to is not None else None
    if target == row.unit_id:
        _tie(log, row, target)
        return target
    if target is None:
        alone = len(load.seen_of_units(log.session, [row.unit_id])) == 1
        target = row.unit_id if alone else seen_before.own_unit(log, row)
        if target == row.unit_id and not alone:
            target = reread.new_unit(log, load.name_of(row)).id
    elif any(other.walk_id == row.walk_id for other in load.seen_of_units(log.session, [target])):
        raise UsageError(f"walk {row.walk_id} has another record of {target}.",
                         hint=f"If the two are one thing: intake merge {target} {ref}")
    before = row.unit_id
    _tie(log, row, target)
    if target != before and to is not None and not load.seen_of_units(log.session, [before]):
        became(log, before, target)
    return target


def answer_link(log: Log, link_id: int, same: bool) -> str:
    """Answer a "seen before?" question; returns the id of the unit that the record is of now."""
    row = log.session.get(LinkRow, link_id)
    if row is None:
        raise NotFoundError(f"there is no such question ({link_id}).")
    sighting = log.session.get_one(SightingRow, row.sighting_id)
    if same:
        return link(log, load.name_of(sighting), row.unit_id)
    log.update(row, unit=sighting.unit_id, about=load.name_of(sighting), field="seen before",
               now=f"not {row.unit_id}", decision="other", decided_by=log.who, decided_at=log.at)
    if sighting.unit_id == row.unit_id:
        return link(log, load.name_of(sighting), None)
    return sighting.unit_id


def drop(log: Log, ref: str) -> list[str]:
    """Say that there is no such unit: its record counts no more (undo brings it back). Returns what was dropped."""
    rows = refs.seen(log.session, ref)
    if len(rows) > 1:
        raise UsageError(f"{ref} was seen in {len(rows)} walks.",
                         hint=f"Say which record to drop: {', '.join(map(load.name_of, rows))}")
    for row in rows:
        log.update(row, unit=row.unit_id, about=load.name_of(row), field="unit", was="counts", now="dropped",
                   decision="dropped", decided_by=log.who, decided_at=log.at)
    return [load.name_of(row) for row in rows]


def add_unit(log: Log, walk: str, values: Mapping[str, Any], spans: Sequence[Span], terms: Terms) -> str:
    """A unit that the machine missed; `values`: address -> value. Returns its name within the walk."""
    if log.session.get(WalkRow, walk) is None:
        raise NotFoundError(f"there is no walk {walk!r}.")
    row = reread.make(log, walk, None, origin=log.who)
    log.update(row, unit=row.unit_id, about=load.name_of(row), field="unit", now="added", decision="kept",
               decided_by=log.who, decided_at=log.at, spans=codec.spans_json(spans))
    order = recording_names(log, walk)
    if spans and spans[0].recording in order:
        row.position = order.index(spans[0].recording) * 1e7 + spans[0].start_s
    log.session.flush()
    for address, value in values.items():
        edits.set_field(log, load.name_of(row), address, value, terms)
    return load.name_of(row)
