"""What a person calls things: units, sightings, photos and fields, as typed on the command line."""

from __future__ import annotations

import re
from dataclasses import dataclass

from sqlmodel import Session, col, select

from intake.errors import NotFoundError, UsageError
from intake.language.draft import LISTS, SCALARS
from intake.records import load
from intake.records.tables import PhotoRow, SightingRow, UnitNowRow, UnitRow
from intake.records.types import WHOLE
from intake.records.values import SHAPES

_UNIT_ID = re.compile(r"[Uu](\d{4,})", re.ASCII)
_LOCAL_ID = re.compile(r"[Uu][1-9]\d{0,2}", re.ASCII)
NEW = "new"


@dataclass(frozen=True)
class Address:
    """A field as typed: "model", "issues.2", "issues.2.part", "issues.new"; `number` None: a new item, or all."""

    field: str
    number: int | None = None
    part: str | None = None
    new: bool = False

    def __str__(self) -> str:
        return ".".join(str(p) for p in (self.field, self.number or (NEW if self.new else None), self.part) if p)


def address(text: str) -> Address:
    """Read a field's address; UsageError says what there is."""
    field, _, rest = text.strip().replace(" ", "_").partition(".")
    field = field.casefold()
    if field not in SCALARS + LISTS + WHOLE:
        raise UsageError(f"there is no field {text!r}.", hint=f"Fields are: {', '.join(SCALARS + LISTS)}.")
    if not rest:
        return Address(field, 0 if field in SCALARS else None)
    number, _, part = rest.partition(".")
    if field in SCALARS or not (number == NEW or number.isdigit()):
        raise UsageError(f"{text!r} names no field.", hint="Say model, issues.2, issues.2.part or issues.new.")
    if part and part not in SHAPES.get(field, {}):
        raise UsageError(f"{field} has no part {part!r}.", hint=f"It has: {', '.join(SHAPES.get(field, {}))}.")
    if number == NEW:
        return Address(field, None, part or None, new=True)
    return Address(field, int(number), part or None)


def unit(session: Session, ref: str) -> str:
    """The unit meant by an id, a walk's record, or a serial number; what it turned out to be where it was joined."""
    ref = ref.strip()
    if "/" in ref:
        return current(session, sighting(session, ref).unit_id)
    numbered = _UNIT_ID.fullmatch(ref)
    if numbered:
        row = session.get(UnitRow, f"U{int(numbered[1]):04d}")
        if row is not None:
            return current(session, row.id)
    found = _by_serial(session, ref)
    if len(found) > 1:
        raise NotFoundError(f"{len(found)} units have the serial number {ref}: {', '.join(found)}.",
                            hint="Say which by its unit id.")
    if found:
        return found[0]
    if _LOCAL_ID.fullmatch(ref):
        raise NotFoundError(f"{ref} is a number within a walk.", hint=f"Say the walk too: WALK/{ref.lower()}")
    raise NotFoundError(f"there is no unit {ref!r}.", hint="Look for it with: intake find WORDS")


def _by_serial(session: Session, ref: str) -> list[str]:
    serial = re.sub(r"[^0-9A-Z]", "", ref.upper())
    if not serial:
        return []
    return list(session.exec(select(UnitNowRow.unit_id).where(UnitNowRow.serial == serial)
                             .order_by(col(UnitNowRow.unit_id))))


def current(session: Session, unit_id: str) -> str:
    """The unit that this one turned out to be; itself where it was not joined with another."""
    row = session.get(UnitRow, unit_id)
    while row is not None and row.became is not None:
        row = session.get(UnitRow, row.became)
    return row.id if row else unit_id


def sighting(session: Session, ref: str) -> SightingRow:
    """The sighting named "<walk>/u3", or the one it was joined with; NotFoundError."""
    walk, _, local = ref.strip().rpartition("/")
    row = session.exec(select(SightingRow).where(
        SightingRow.walk_id == walk, SightingRow.local_id == local.lower())).first()
    if row is None:
        raise NotFoundError(f"there is no record {ref!r}.", hint=f"See what the walk has: intake list --walk {walk}")
    if row.merged_into is not None:
        return session.get_one(SightingRow, row.merged_into)
    return row


def seen(session: Session, ref: str) -> list[SightingRow]:
    """The sightings meant: the one of a walk, or all that count of a unit, oldest first; NotFoundError where none."""
    if "/" in ref:
        row = sighting(session, ref)
        if row.state != "seen":
            raise NotFoundError(f"{ref} counts no more: it was {row.state}.", hint="See what happened: intake history")
        return [row]
    found = unit(session, ref)
    rows = load.seen_of_units(session, [found])
    if not rows:
        raise NotFoundError(f"no record is left of {found}.", hint=f"See what happened: intake history {found}")
    return rows


def photo(session: Session, name: str, walk: str | None) -> PhotoRow:
    """The photo of that file name (of that walk); NotFoundError where there is none or more than one."""
    query = select(PhotoRow).where(PhotoRow.name == name)
    rows = session.exec(query if walk is None else query.where(PhotoRow.walk_id == walk)).all()
    if not rows:
        raise NotFoundError(f"there is no photo {name!r}" + (f" in walk {walk!r}." if walk else "."))
    if len(rows) > 1:
        raise NotFoundError(f"{len(rows)} walks have a photo {name}: {', '.join(row.walk_id for row in rows)}.",
                            hint="Say which with --walk.")
    return rows[0]
