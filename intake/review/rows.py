"""The lines of a record's card: every value, photo and question of it, each with what the screen tells of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from intake.language.draft import DISAGREE, LISTS, SCALARS, Evidence
from intake.records.heads import CLOCK, LINK, PHOTO, VALUE, Head, Named
from intake.records.types import NO_CLOCK, WHOLE, ClockInfo, Link, PhotoPlace, Sighting, Stored
from intake.records.values import TERM_OF, Terms
from intake.review.words import plain, value_text

NEW = "new"                                    # a line for an item that is not there yet
LETTERS = "ABCDEFGHIJKLMNOPQRSTU"              # the last five are for new items
NEW_LETTERS = dict(zip(LISTS, "VWXYZ", strict=True))
ONE_OF = {"issues": "issue", "service": "service", "actions": "to do", "accessories": "came with",
          "measurements": "measured"}
UNIT_LETTERS = dict(zip(SCALARS, LETTERS, strict=False))


@dataclass(frozen=True)
class Row:
    """One line. `name` is the field's address, the photo's file name, the unit it may be, or the camera.

    `choices` are other readings, each with the value to set; `readings` are all other words that were heard or read
    there, also such as the field could not hold; `asked`: a person should look.
    """

    kind: str
    about: str                                 # the sighting, or the walk
    walk: str
    name: str
    field: str
    label: str
    value: Any = None
    said: str = ""
    reasons: tuple[str, ...] = ()
    choices: tuple[tuple[str, Any], ...] = ()
    evidence: tuple[Evidence, ...] = ()
    confidence: float = 1.0
    state: str = "open"
    letter: str = ""
    id: int = 0
    photo: PhotoPlace | None = None
    readings: tuple[str, ...] = ()

    @property
    def asked(self) -> bool:
        return bool(self.reasons)

    @property
    def why(self) -> str:
        """Why a person should look, in plain words; of two decodings that disagree, what each of them heard."""
        return "; ".join(plain(self._in_two_ways() if reason == DISAGREE else reason) for reason in self.reasons)

    def _in_two_ways(self) -> str:
        spoken = " ".join(e.words.strip(" .,;:?!") for e in self.evidence if e.photo is None) or self.said
        ways = list(dict.fromkeys([spoken, *self.readings]))
        if len(ways) < 2:
            return "heard in two ways"
        count = "two" if len(ways) == 2 else str(len(ways))
        return f"heard in {count} ways: {', '.join(ways[:-1])} or {ways[-1]}"

    def is_of(self, head: Head) -> bool:
        """Whether this line is what that question is about."""
        return (self.kind, self.about, self.name) == (head.kind, head.about, head.name)


def card(sighting: Sighting, names: Mapping[str, str], terms: Terms) -> list[Row]:
    """A record's lines in the record's order: what it is, its items, doubts of the whole, photos, new items.

    `names`: how other records of the walk are called; `terms`: the words that fields can hold.
    """
    links = [link for link in sighting.links if link.state == "open"]
    rows = [_link(sighting, link, len(links)) for link in links]
    rows += [_doubt(stored) for stored in sighting.doubts if stored.reasons]
    rows += [_scalar(sighting, name, terms) for name in SCALARS]
    rows += [_item(sighting, item) for name in LISTS for item in sighting.lists.get(name, ())
             if item.value is not None or item.reasons]
    rows += [photo_row(photo, names) for photo in sighting.photos]
    return _lettered(rows) + [
        Row(NEW, sighting.id, sighting.walk, f"{name}.new", name, f"+ {ONE_OF[name]}", letter=NEW_LETTERS[name])
        for name in LISTS]


def _lettered(rows: Sequence[Row]) -> list[Row]:
    """Every line with its capital: fixed ones for the fields that a record has once, the next free for the rest."""
    free = iter(LETTERS[len(SCALARS):])
    out = []
    for row in rows:
        letter = UNIT_LETTERS[row.field] if row.kind == VALUE and row.field in UNIT_LETTERS else next(free, "")
        out.append(Row(**{**row.__dict__, "letter": letter}))
    return out


def _scalar(sighting: Sighting, name: str, terms: Terms) -> Row:
    stored = sighting.scalars.get(name)
    label = name.replace("_", " ")
    if stored is None:
        return Row(VALUE, sighting.id, sighting.walk, name, name, label, said="(blank)")
    row = _stored(sighting, stored, label)
    return replace(row, choices=tuple(c for c in row.choices if _can_hold(name, c[1], terms)))


def _can_hold(field: str, value: Any, terms: Terms) -> bool:
    """Whether a reading is one that the field could take: some come from the words beside it."""
    if field == "quantity":
        return str(value).isdecimal() and int(value) > 0
    return field not in TERM_OF or value in terms[TERM_OF[field]]


def _item(sighting: Sighting, stored: Stored) -> Row:
    return _stored(sighting, stored, ONE_OF[stored.field])


def _doubt(stored: Stored) -> Row:
    walk = stored.sighting.rpartition("/")[0]
    return Row(VALUE, stored.sighting, walk, f"{stored.field}.{stored.number}", stored.field, "whole unit", said="",
               reasons=stored.reasons, evidence=stored.evidence, confidence=stored.confidence, state=stored.state,
               id=stored.id)


def _stored(sighting: Sighting, stored: Stored, label: str) -> Row:
    newer: list[tuple[str, Any]] = []
    if stored.state != "open" and stored.reasons and stored.machine_value is not None:
        newer = [(value_text(stored.field, stored.machine_value), stored.machine_value)]
    others = [(plain(text), text) for text in stored.alternatives]
    return Row(
        VALUE, sighting.id, sighting.walk, stored.address, stored.field, label, stored.value,
        value_text(stored.field, stored.value), stored.reasons, tuple(newer + others)[:9], stored.evidence,
        stored.confidence, stored.state, id=stored.id, readings=tuple(map(plain, stored.alternatives)))


def photo_row(photo: PhotoPlace, names: Mapping[str, str]) -> Row:
    """A photo's line; other records it may show are its choices."""
    others = [photo.runner_up] if photo.runner_up else []
    choices = tuple((names.get(other, other), other) for other in others)
    return Row(PHOTO, photo.sighting or photo.walk, photo.walk, photo.name, "photos", "photo", photo.sighting,
               plain(f"{photo.name} of {names.get(photo.sighting, photo.sighting)}" if photo.sighting
                     else f"{photo.name} of no unit"),
               photo.reasons, choices, confidence=photo.confidence, state=photo.state, photo=photo)


def _link(sighting: Sighting, link: Link, asked: int) -> Row:
    none = (("none of these", None),) if asked > 1 else ()
    return Row(LINK, sighting.id, sighting.walk, link.unit, LINK, "seen before", None, f"is it {link.unit}?",
               link.reasons or ("it may be one that the shop has",),
               ((f"the same thing as {link.unit}", True), ("another one", False), *none), confidence=link.confidence,
               id=link.id)


def clock_row(clock: ClockInfo) -> Row:
    """The line of a camera whose clock nobody knows."""
    return Row(CLOCK, clock.walk, clock.walk, clock.camera, CLOCK, "clock", clock.offset_s,
               plain(f"{clock.camera}: {clock.offset_s:+.1f} s ahead of the recordings"),
               (clock.how or NO_CLOCK,), confidence=0.0,
               state=clock.state)


def name_of(sighting: Sighting) -> str:
    """What a record is called among those of its walk: "u3 Corvane AI-350"."""
    return called(Named(sighting.id, sighting.local_id, *map(sighting.value, ("maker", "model", "unit_type"))))


def called(record: Named) -> str:
    """The same, of a record that is not read whole."""
    named = [str(v) for v in (record.maker, record.model) if v]
    return plain(" ".join([record.local_id, *(named or [str(record.unit_type or "unknown unit")])]))


def mate(row: Row, rows: Sequence[Row]) -> Row | None:
    """The line that is settled by the same look: number and grouping that rest on the very same words, both asked about
    and without other readings to choose from."""
    other = {"quantity": "grouping", "grouping": "quantity"}.get(row.field)
    found = next((r for r in rows if r.kind == VALUE and r.field == other), None)
    alike = found is not None and bool(row.evidence) and row.evidence == found.evidence and (
        row.asked and found.asked and row.state == found.state == "open") and None not in (row.value, found.value)
    return found if alike and found is not None and not row.choices and not found.choices else None


def is_whole(row: Row) -> bool:
    """Whether the line is a doubt about the unit as a whole."""
    return row.kind == VALUE and row.field in WHOLE
