"""What a person decides about values: each function is one act, written through the log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from intake.errors import NotFoundError, UsageError
from intake.language.draft import SCALARS
from intake.records import cautions, entries, load, refs
from intake.records.log import Log
from intake.records.refs import Address
from intake.records.tables import ClockRow, EntryRow, PlacementRow, SightingRow
from intake.records.types import WHOLE
from intake.records.values import Terms, ValueRefused, checked

# What a thing is holds for all its sightings; the rest is how a walk found it.
LASTING = ("unit_type", "maker", "model", "serial", "quantity", "grouping", "source")


def set_field(log: Log, ref: str, text: str, value: Any, terms: Terms) -> str:
    """Correct a field ("model"), an item ("issues.2"), a part of one ("issues.2.part") or add one ("issues.new").

    Returns "<sighting> <address>" of what was set. UsageError where the value is none for that field.
    """
    address = refs.address(text)
    if address.field not in SCALARS and address.number is None and not address.new:
        raise UsageError(f"{address.field} is a list.", hint=f"Say which: {address.field}.1, or {address.field}.new")
    sighting, row = _place(log, ref, address)
    if address.part is not None:
        before = _held(row)
        value = {**(before if isinstance(before, Mapping) else {}), address.part: value}
    try:
        good = checked(address.field, value, terms)
    except ValueRefused as error:
        raise UsageError(f"{error}.") from error
    if good is None:
        raise UsageError("there is no value.", hint="To leave a field blank: intake blank UNIT FIELD")
    _decide(log, sighting, row, good)
    return f"{load.name_of(sighting)} {_address(row)}"


def blank(log: Log, ref: str, text: str) -> str:
    """Leave a field blank, or take an item away; returns what was blanked."""
    address = refs.address(text)
    if address.number is None:
        raise UsageError(f"{address.field} is a list.", hint=f"Say which one: {address.field}.1")
    if address.part is not None:
        raise UsageError("a part alone cannot be blanked.", hint=f"Set the item anew: {address.field}.{address.number}")
    sighting, row = _place(log, ref, address)
    _decide(log, sighting, row, None)
    return f"{load.name_of(sighting)} {_address(row)}"


def accept(log: Log, ref: str, fields: Sequence[str]) -> list[str]:
    """Say that values are right: those named, else every one that is asked about (photos too); returns which."""
    done: list[str] = []
    wanted = [refs.address(text) for text in fields]
    for sighting in refs.seen(log.session, ref):
        for row in entries.rows_of(log.session, sighting):
            named = any(_is_meant(row, address) for address in wanted)
            if not load.is_void(row) and (named or (not wanted and _is_asked(row))) and _accept(log, sighting, row):
                done.append(f"{load.name_of(sighting)} {_address(row)}")
        if not wanted or any(address.field == "photos" for address in wanted):
            done += _accept_photos(log, sighting)
    if wanted and not done:
        raise NotFoundError(f"{ref} has nothing to accept in {', '.join(fields)}.",
                            hint=f"See what it has: intake show {ref}")
    return done


def accept_photo(log: Log, name: str, walk: str | None) -> str:
    """Say that a photo is placed right."""
    photo = refs.photo(log.session, name, walk)
    placement = log.session.get_one(PlacementRow, photo.id)
    shown = log.session.get(SightingRow, placement.shown_id) if placement.shown_id else None
    _place_photo(log, photo.walk_id, photo.name, placement, shown, "accepted")
    return f"{photo.walk_id}/{photo.name}"


def move_photo(log: Log, name: str, walk: str | None, ref: str | None) -> str:
    """Say which unit of its walk a photo shows (`ref` None: none); returns where it is now."""
    photo = refs.photo(log.session, name, walk)
    target = None
    if ref is not None:
        rows = [row for row in refs.seen(log.session, ref) if row.walk_id == photo.walk_id]
        if not rows:
            raise NotFoundError(f"{ref} was not seen in walk {photo.walk_id}, where {photo.name} was taken.",
                                hint=f"See the walk's units: intake list --walk {photo.walk_id}")
        target = rows[0]
    placement = log.session.get_one(PlacementRow, photo.id)
    same = target is not None and placement.decision is None and placement.sighting_id == target.id
    _place_photo(log, photo.walk_id, photo.name, placement, target, "accepted" if same else "moved")
    return load.name_of(target) if target else "no unit"


def set_clock(log: Log, walk: str, camera: str, offset_s: float) -> None:
    """Say how many seconds a camera's clock was ahead in a walk; the next reading of the walk uses it."""
    row = log.session.get(ClockRow, (walk, camera))
    if row is None:
        raise NotFoundError(f"walk {walk!r} has no camera {camera!r}.")
    log.update(row, unit=None, about=walk, field=f"clock of {camera}", was=row.offset_s, now=offset_s,
               decided_offset_s=offset_s, decided_by=log.who, decided_at=log.at)


def note_taught(log: Log, ref: str, what: Mapping[str, Any]) -> None:
    """Write down that a correction of this record taught the shop's vocabulary something; no value changes."""
    sighting = refs.seen(log.session, ref)[-1]
    log.note(sighting, unit=sighting.unit_id, about=load.name_of(sighting), field="vocabulary", now=dict(what))


# ---- the pieces


def _place(log: Log, ref: str, address: Address) -> tuple[SightingRow, EntryRow]:
    """The sighting and the entry that an address means, the entry made (empty) where it is missing."""
    seen = refs.seen(log.session, ref)
    if address.new:
        return seen[-1], void_entry(log, seen[-1], address.field)
    found = [(row, entry) for row in seen for entry in entries.rows_of(log.session, row)
             if _is_meant(entry, address) and not load.is_void(entry)]
    if address.field in SCALARS:
        return _scalar_place(log, seen, found, address.field)
    if not found:
        raise NotFoundError(f"{ref} has no {address}.", hint=f"See what it has: intake show {ref}")
    if len(found) > 1:
        names = ", ".join(load.name_of(row) for row, _ in found)
        raise NotFoundError(f"more than one walk has {address} for {ref}.", hint=f"Say which: {names}")
    return found[0]


def _scalar_place(log: Log, seen: Sequence[SightingRow], found: Sequence[tuple[SightingRow, EntryRow]],
                  field: str) -> tuple[SightingRow, EntryRow]:
    """Where a scalar is written: what a thing is, where it was said last; how it was found, in the last walk."""
    filled = [pair for pair in found if _held(pair[1]) is not None]
    if field in LASTING and filled:
        return filled[-1]
    for row, entry in found:
        if row is seen[-1]:
            return row, entry
    return seen[-1], void_entry(log, seen[-1], field)


def void_entry(log: Log, sighting: SightingRow, field: str) -> EntryRow:
    """An entry that says nothing yet; what is then written into it can be undone to nothing."""
    rows = entries.rows_of(log.session, sighting)
    if field in SCALARS:
        for row in rows:
            if row.field == field:
                return row
    row = EntryRow(sighting_id=sighting.id, field=field, number=entries.next_number(rows, field), reasons=[],
                   alternatives=[], evidence=[], signals={}, notes=[])
    log.session.add(row)
    log.session.flush()
    return row


def _is_meant(row: EntryRow, address: Address) -> bool:
    return row.field == address.field and address.number in (None, row.number)


def _is_asked(row: EntryRow) -> bool:
    return row.differs if row.decision is not None else bool(row.reasons or row.notes)


def _held(row: EntryRow) -> Any:
    return row.value if row.decision is None else row.decided_value


def _address(row: EntryRow) -> str:
    return row.field if row.number == 0 else f"{row.field}.{row.number}"


def _decide(log: Log, sighting: SightingRow, row: EntryRow, value: Any) -> None:
    decision = "accepted" if value is not None and value == row.value else "corrected"
    log.update(row, unit=sighting.unit_id, about=load.name_of(sighting), field=_address(row), was=_told(row), now=value,
               decision=decision, decided_value=value, seen_value=row.value, differs=False, decided_by=log.who,
               decided_at=log.at)


def _accept(log: Log, sighting: SightingRow, row: EntryRow) -> bool:
    """Accept what holds; False where a person did already and nothing new is asked.

    A caution of the whole unit has no value of the machine's: its words become what the person confirmed, so that no
    later reading takes them away.
    """
    if row.decision is not None and not row.differs:
        return False
    told = _told(row)
    caution = cautions.kept(row.field, cautions.ACCEPTED, None, row.reasons) if row.decision is None else None
    held, seen = (_held(row), row.value) if caution is None else (caution, caution)
    return log.update(row, unit=sighting.unit_id, about=load.name_of(sighting), field=_address(row), was=told, now=told,
                      decision=row.decision or "accepted", decided_value=held, seen_value=seen, differs=False,
                      decided_by=log.who, decided_at=log.at)


def _told(row: EntryRow) -> Any:
    """What an entry says, for the history: its value, or the doubt of the whole unit that it is."""
    held = _held(row)
    if held is not None or row.field not in WHOLE:
        return held
    return "; ".join((*row.reasons, *row.notes)) or None


def _accept_photos(log: Log, sighting: SightingRow) -> list[str]:
    done = []
    for place in load.photos_of(log.session, [sighting], load.merged_into(log.session, [sighting.id])).get(
            sighting.id, []):
        if place.reasons:
            done.append(accept_photo(log, place.name, place.walk))
    return done


def _place_photo(log: Log, walk: str, name: str, placement: PlacementRow, shown: SightingRow | None,
                 decision: str) -> None:
    before = log.session.get(SightingRow, placement.shown_id) if placement.shown_id else None
    units = {row.unit_id for row in (before, shown) if row is not None}
    log.update(placement, unit=shown.unit_id if shown else min(units, default=None), about=f"{walk}/{name}",
               field="photo", was=load.name_of(before) if before else None, now=load.name_of(shown) if shown else None,
               decision=decision, decided_sighting_id=shown.id if shown else None, decided_by=log.who,
               decided_at=log.at)
    log.units |= units
