"""Open questions in their lightest form, for putting them in order: no values, no words, so that many are cheap."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from sqlmodel import Session

if TYPE_CHECKING:
    import sqlite3

VALUE, PHOTO, LINK, CLOCK = "value", "photo", "link", "clock"


class Head(NamedTuple):
    """One open question: where it stands and how sure the machine is.

    `about` is the sighting, or the walk where the question is about none. `name` is the field's address, the
    photo's file name, the unit that it may be, or the camera. `blank`: nothing is filled in, so nothing can be
    silently wrong.
    """

    kind: str
    id: int
    walk: str
    about: str
    unit: str | None
    field: str                                 # the field, or "photos", "link", "clock"
    name: str
    confidence: float
    blank: bool


_VALUES = """
SELECT e.id, s.walk_id, s.local_id, s.unit_id, e.field, e.number,
       CASE WHEN e.decision IS NULL THEN e.confidence ELSE 0.5 END, e.held IS NULL
FROM entry e JOIN sighting s ON s.id = e.sighting_id
WHERE e.question = 1 AND s.state = 'seen'"""
_PHOTOS = """
SELECT p.id, p.walk_id, r.local_id, r.unit_id, p.name, q.confidence
FROM placement q JOIN photo p ON p.id = q.photo_id
LEFT JOIN sighting s ON s.id = q.shown_id
LEFT JOIN sighting r ON r.id = coalesce(s.merged_into, s.id) AND r.state = 'seen'
WHERE q.question = 1"""
_LINKS = """
SELECT l.id, s.walk_id, s.local_id, s.unit_id, l.unit_id, l.confidence
FROM link l JOIN sighting s ON s.id = l.sighting_id
WHERE l.decision IS NULL AND l.current = 1 AND s.state = 'seen'"""
_CLOCKS = "SELECT c.walk_id, c.camera FROM camera_clock c WHERE NOT c.known AND c.decided_offset_s IS NULL"


def heads(session: Session, *, walk: str | None = None, unit: str | None = None) -> list[Head]:
    """Every open question of the shop, of a walk, or of a unit (a unit's clocks are its walks' business)."""
    out = [Head(VALUE, i, w, f"{w}/{u}", unit_id, field, f"{field}.{n}" if n else field, sure, bool(blank))
           for i, w, u, unit_id, field, n, sure, blank in _rows(session, _VALUES, "s", walk, unit)]
    out += [Head(PHOTO, i, w, f"{w}/{u}" if u else w, unit_id, "photos", name, sure, u is None)
            for i, w, u, unit_id, name, sure in _rows(session, _PHOTOS, "p", walk, unit, unit_of="r")]
    out += [Head(LINK, i, w, f"{w}/{u}", unit_id, "link", other, sure, False)
            for i, w, u, unit_id, other, sure in _rows(session, _LINKS, "s", walk, unit)]
    if unit is None:
        out += [Head(CLOCK, 0, w, w, None, "clock", camera, 0.0, False)
                for w, camera in _rows(session, _CLOCKS, "c", walk, None)]
    return out


class Named(NamedTuple):
    """What a record is called by: its place in the walk, and what it is."""

    about: str
    local_id: str
    maker: str | None
    model: str | None
    unit_type: str | None


_NAMES = """
SELECT s.id, s.local_id, e.field, e.held FROM sighting s
LEFT JOIN entry e ON e.sighting_id = s.id AND e.field IN ('maker', 'model', 'unit_type')
WHERE s.walk_id = ? AND s.state = 'seen' ORDER BY s.position, s.id"""


def names(session: Session, walk: str) -> list[Named]:
    """The records of a walk in its order, without all that is known of them."""
    found: dict[int, dict[str, str | None]] = {}
    for number, local_id, field, held in _raw(session).execute(_NAMES, (walk,)):
        mine = found.setdefault(number, {"local_id": local_id})
        if held is not None:
            mine[field] = json.loads(held)
    return [Named(f"{walk}/{f['local_id']}", str(f["local_id"]), f.get("maker"), f.get("model"), f.get("unit_type"))
            for f in found.values()]


def _rows(session: Session, query: str, walk_of: str, walk: str | None, unit: str | None,
          *, unit_of: str = "s") -> Sequence[Any]:
    if walk is not None:
        query += f" AND {walk_of}.walk_id = :walk"
    if unit is not None:
        query += f" AND {unit_of}.unit_id = :unit"
    given = {name: value for name, value in (("walk", walk), ("unit", unit)) if value is not None}
    return _raw(session).execute(query, given).fetchall()


def _raw(session: Session) -> sqlite3.Connection:
    """The driver's own connection: SQLAlchemy's rows cost more than all else where a shop has many questions."""
    return cast("sqlite3.Connection", session.connection().connection.driver_connection)
