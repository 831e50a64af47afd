"""One unit as text: what is known, what is asked, the words behind it, photos, where it stood, cautions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from intake.cli import text
from intake.language.draft import LISTS, SCALARS, Evidence
from intake.records import cautions
from intake.records.cautions import Caution
from intake.records.codec import in_plain_words
from intake.records.export import in_words
from intake.records.types import MACHINE, WHOLE, Change, Held, PhotoPlace, Sighting, Stored, Unit
from intake.records.values import Terms, contract_terms, offered

TITLES = {"issues": "Issues", "service": "Service done", "actions": "To do", "accessories": "Came with it",
          "measurements": "Measured"}


def page(unit: Unit, warned: Sequence[Caution], changes: Sequence[Change],
         terms: Terms | None = None) -> list[str]:
    """The lines of a unit's page; `terms`: those of the shop, for what a field may hold."""
    if not unit.sightings:
        return [unit.id, *text.wrap("No record is left of this unit. What happened: intake history " + unit.id)]
    lines = [*heading(unit), ""]
    for caution in warned:
        lines += text.wrap(f"CAUTION, {caution.name}: {caution.noted}", rest="  ")
    if warned:
        lines.append("")
    lines += _questions(unit, terms or contract_terms())
    lines += _known(unit)
    for name in LISTS:
        lines += _list(unit, name)
    lines += _photos(unit.sightings)
    lines += _seen(unit)
    lines += _last_changes(changes)
    return lines


def heading(unit: Unit) -> list[str]:
    """Who it is and where it stands, in two or three lines."""
    named = " ".join(str(v) for v in (unit.value("maker"), unit.value("model")) if v)
    what = ", ".join(p for p in (named, unit.value("unit_type") or "type unknown", _number(unit)) if p)
    facts = [f"serial {unit.value('serial')}" if unit.value("serial") else "no serial number known",
             unit.value("location") or "place unknown"]
    stage = unit.scalars.get("stage")
    facts.append(f"{stage.value} since {stage.since}" if stage else "stage unknown")
    first = text.wrap(what, first=f"{unit.id}  ", rest="       ")
    return first + text.wrap("; ".join(facts), first="       ", rest="       ")


def _number(unit: Unit) -> str | None:
    grouping, quantity = unit.value("grouping"), unit.value("quantity")
    if grouping in (None, "single") and quantity in (None, 1):
        return None
    return f"{grouping or 'quantity'} of {quantity}" if quantity else str(grouping)


def value_text(field: str, value: Any) -> str:
    """A value as a person would say it; "(blank)" for none."""
    if value is None:
        return "(blank)"
    return text.clean(in_words(field, value) if isinstance(value, dict) else value)


def said(evidence: Iterable[Evidence]) -> list[str]:
    """The words behind a value, with recording and time, or with the photo that they were read from."""
    return [f"“{e.words}” " + (f"read on photo {e.photo}" if e.photo else f"{e.recording} {text.clock(e.start_s)}")
            for e in evidence]


def who(stored: Stored) -> str:
    """Who stands behind a value, and how sure."""
    if stored.origin != MACHINE:
        return f"{stored.state} by {stored.origin}"
    sure = f"{stored.confidence:.0%} sure"
    photos = list(dict.fromkeys(said.photo for said in stored.evidence if said.photo))
    if photos and all(said.photo for said in stored.evidence):
        return f"read on the plate in {', '.join(photos)}, {sure}"
    return f"heard, {sure}"


def _questions(unit: Unit, terms: Terms) -> list[str]:
    first: list[str] = []                              # the cautions
    lines: list[str] = []
    several = len(unit.sightings) > 1
    for sighting in unit.sightings:
        prefix = f"{sighting.id} " if several else ""
        for stored in sighting.stored():
            if cautions.of_doubt(stored) and stored.reasons:
                first += _question(f"{prefix}caution ({stored.field}.{stored.number})", "is it so? it stays with the "
                                   "unit unless it is blanked", stored.reasons, ())
            elif stored.reasons:
                lines += _question(prefix + _label(stored), value_text(stored.field, stored.value)
                                   if stored.field not in WHOLE else "", stored.reasons,
                                   offered(stored.field, stored.alternatives, terms))
        for photo in sighting.photos:
            if photo.reasons:
                lines += _question(f"{prefix}photo {photo.name}", "is it of this unit?", photo.reasons, ())
        for link in sighting.links:
            if link.state == "open":
                lines += _question(prefix + "seen before", f"is it {link.unit}?", link.reasons, ())
    lines = first + lines
    return [f"TO LOOK AT ({len([li for li in lines if not li.startswith('      ')])})", *lines, ""] if lines else []


def _label(stored: Stored) -> str:
    return {"unit": "the unit as a whole", "photos": "its photos"}.get(stored.field, stored.address)


def _question(name: str, value: str, reasons: Sequence[str], others: Sequence[str]) -> list[str]:
    lines = text.wrap(f"? {name}: {value}" if value else f"? {name}", first="  ", rest="      ")
    for reason in reasons:
        lines += text.wrap(in_plain_words(reason), first="      ", rest="      ")
    if others:
        lines += text.wrap(f"or: {', '.join(others)}", first="      ", rest="      ")
    return lines


def _known(unit: Unit) -> list[str]:
    lines = ["WHAT IT IS"]
    for name in SCALARS:
        held = unit.scalars.get(name)
        if held is not None:
            lines += _held(unit, held, name.replace("_", " "))
    blank = [name.replace("_", " ") for name in SCALARS if name not in unit.scalars]
    if blank:
        lines += text.wrap(f"not known: {', '.join(blank)}", first="  ", rest="  ")
    return [*lines, ""]


def _held(unit: Unit, held: Held, name: str) -> list[str]:
    stored = held.stored
    mark = "? " if stored.reasons else ""
    old = f", since {held.since}" if held.since != unit.sightings[-1].date else ""
    lines = text.wrap(f"{mark}{value_text(stored.field, stored.value)} ({who(stored)}{old})",
                      first=f"  {text.pad(name, 9)}  ", rest="             ")
    for words in said(stored.evidence):
        lines += text.wrap(words, first="             ", rest="             ")
    return lines


def _list(unit: Unit, name: str) -> list[str]:
    if not unit.lists[name]:
        return []
    lines = [TITLES[name].upper()]
    for held in unit.lists[name]:
        stored = held.stored
        where = "" if stored.sighting == unit.sightings[-1].id else f"{stored.sighting} "
        ended = f", done {held.until}" if held.until and name == "actions" else ""
        ended = f", put right {held.until}" if held.until and name == "issues" else ended
        mark = "? " if stored.reasons else ""
        lines += text.wrap(f"{mark}{value_text(name, stored.value)} (since {held.since}{ended}; {who(stored)}; "
                           f"{where}{stored.address})", first="  - ", rest="    ")
        for words in said(stored.evidence):
            lines += text.wrap(words, first="    ", rest="    ")
    return [*lines, ""]


def _photos(sightings: Sequence[Sighting]) -> list[str]:
    photos = [photo for sighting in sightings for photo in sighting.photos]
    if not photos:
        return []
    lines = [f"PHOTOS ({len(photos)})"]
    for photo in photos:
        mark = "? " if photo.reasons else ""
        lines += text.wrap(f"{mark}{photo.name}: {photo_text(photo)}", first="  ", rest="      ")
        lines += text.wrap(photo.path, first="      ", rest="      ")
    return [*lines, ""]


def photo_text(photo: PhotoPlace) -> str:
    """When a photo was taken, and how sure its place is."""
    taken = f"taken {photo.taken_at} by its camera" if photo.taken_at else "no time in the file"
    placed = f"placed by {photo.origin}" if photo.origin != MACHINE else f"placed, {photo.confidence:.0%} sure"
    return f"{taken}; {placed}" + (f" ({photo.why})" if photo.why and photo.origin == MACHINE else "")


def _seen(unit: Unit) -> list[str]:
    lines = [f"SEEN ({len(unit.sightings)})"]
    for sighting in unit.sightings:
        where = "; ".join(f"{span.recording} {text.clock(span.start_s)}-{text.clock(span.end_s)}"
                          for span in sighting.spans)
        joined = f" (joined with {', '.join(sighting.merged)})" if sighting.merged else ""
        lines += text.wrap(f"{sighting.id}{joined} {where}", first=f"  {sighting.date}  ", rest="      ")
    for run in unit.stages:
        until = run.until or date.today()
        days = text.count((until - run.since).days, "day")
        ended = f"to {run.until}" if run.until else "until today"
        lines += text.wrap(f"{run.stage}: from {run.since} {ended}, {days}", first="  ", rest="      ")
    return [*lines, ""]


def change_lines(change: Change) -> list[str]:
    """One line of history (more where it is long)."""
    undone = " [undone]" if change.undone else ""
    what = " ".join(p for p in (change.about, change.field) if p)
    moved = ""
    if (change.old is not None or change.new is not None) and change.field != "vocabulary":  # its why tells what
        field = change.field.partition(".")[0]
        moved = f": {value_text(field, change.new)}" if change.old == change.new else (
            f": {value_text(field, change.old)} -> {value_text(field, change.new)}")
    why = f" ({change.why})" if change.why else ""
    at = change.at[:16].replace("T", " ")
    return text.wrap(f"{change.who}: {change.action} {what}{moved}{why}{undone}", first=f"  {at} UTC  ", rest="      ")


def _last_changes(changes: Sequence[Change]) -> list[str]:
    people = [change for change in changes if change.who != MACHINE][-5:]
    if not people:
        return []
    return ["LAST CHANGES", *[line for change in people for line in change_lines(change)]]
