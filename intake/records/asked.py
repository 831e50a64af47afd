"""The open questions by plain SQL, for the weekly report: what `questions` finds through the classes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from intake.language.draft import LISTS
from intake.records import codec
from intake.records.look import Look, loaded
from intake.records.types import NO_CLOCK, Question

_VALUE = "e.question = 1"
_LINK = "k.decision IS NULL AND k.current = 1"
_CLOCK = "c.known = 0 AND c.decided_offset_s IS NULL"


def count(look: Look) -> dict[str, int]:
    """How many questions of each kind are open, over all walks."""
    seen = "JOIN sighting s ON s.id = x.sighting_id WHERE s.state = 'seen' AND"
    return {kind: int(look.column(f"SELECT count(*) FROM {sql}")[0]) for kind, sql in (
        ("value", f"entry x {seen} x.question = 1"),
        ("photo", "placement p JOIN photo f ON f.id = p.photo_id WHERE p.question"),
        ("link", f"link x {seen} x.decision IS NULL AND x.current = 1"),
        ("clock", f"camera_clock c WHERE {_CLOCK}"))}


def of_days(look: Look, first: date, last: date, *, most: int) -> list[Question]:
    """The open questions of the walks of these days, walk by walk; no further walk once `most` are found."""
    out: list[Question] = []
    for walk in look.column("SELECT id FROM walk WHERE date BETWEEN :first AND :last ORDER BY date, id",
                            first=first, last=last):
        if len(out) < most:
            for kind in (_values, _photos, _links, _clocks):
                out += kind(look, walk, most)
    return out


def _values(look: Look, walk: str, most: int) -> Iterable[Question]:
    sql = f"""SELECT e.id, s.walk_id || '/' || s.local_id, s.unit_id, e.field, e.number, e.decision IS NOT NULL,
                     e.value, e.decided_value, e.confidence, e.reasons, e.notes, e.alternatives, e.evidence
              FROM sighting s CROSS JOIN entry e ON e.sighting_id = s.id
              WHERE s.walk_id = :walk AND s.state = 'seen' AND {_VALUE} ORDER BY s.position, e.id LIMIT :most"""
    for (key, about, unit, field, number, decided, value, set_to, sure, reasons, notes, others,
         evidence) in look.rows(sql, walk=walk, most=most):
        newer = loaded(value)                          # asked about though decided: a newer reading differs
        why = (codec.newer_reading(newer),) if decided else (*loaded(reasons), *loaded(notes))
        yield Question(
            kind="value", walk=walk, about=about, unit=unit, name=f"{field}.{number}" if field in LISTS else field,
            value=loaded(set_to) if decided else newer, confidence=1.0 if decided else sure, reasons=tuple(why),
            alternatives=(*((codec.as_text(newer),) if decided and newer is not None else ()), *loaded(others)),
            evidence=codec.evidence_of(loaded(evidence)), id=key)


def _photos(look: Look, walk: str, most: int) -> Iterable[Question]:
    shown = "coalesce(s.merged_into, s.id)"
    sql = f"""SELECT f.name, r.walk_id || '/' || r.local_id, r.unit_id, p.confidence, p.reasons,
                     (SELECT o.walk_id || '/' || o.local_id FROM sighting n JOIN sighting o
                      ON o.id = coalesce(n.merged_into, n.id) WHERE n.id = p.runner_up_id)
              FROM photo f JOIN placement p ON p.photo_id = f.id LEFT JOIN sighting s ON s.id = p.shown_id
              LEFT JOIN sighting r ON r.id = {shown} AND r.state = 'seen'
              WHERE f.walk_id = :walk AND p.question ORDER BY f.position LIMIT :most"""
    for name, sighting, unit, sure, reasons, other in look.rows(sql, walk=walk, most=most):
        yield Question(kind="photo", walk=walk, about=sighting or walk, unit=unit, name=name, value=sighting,
                       confidence=sure, reasons=tuple(loaded(reasons)), alternatives=(other,) if other else ())


def _links(look: Look, walk: str, most: int) -> Iterable[Question]:
    sql = f"""SELECT k.id, s.walk_id || '/' || s.local_id, s.unit_id, k.unit_id, k.confidence, k.reasons
              FROM sighting s CROSS JOIN link k ON k.sighting_id = s.id
              WHERE s.walk_id = :walk AND s.state = 'seen' AND {_LINK} ORDER BY k.id LIMIT :most"""
    for key, about, unit, other, sure, reasons in look.rows(sql, walk=walk, most=most):
        yield Question(kind="link", walk=walk, about=about, unit=unit, name=other, value=None, confidence=sure,
                       reasons=tuple(loaded(reasons)), id=key)


def _clocks(look: Look, walk: str, most: int) -> Iterable[Question]:
    sql = f"SELECT c.camera, c.offset_s, c.how FROM camera_clock c WHERE c.walk_id = :walk AND {_CLOCK} LIMIT :most"
    for camera, offset, how in look.rows(sql, walk=walk, most=most):
        yield Question(kind="clock", walk=walk, about=walk, unit=None, name=camera, value=offset, confidence=0.0,
                       reasons=(how or NO_CLOCK,))
