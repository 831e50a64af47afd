"""What a page shows of units beside their names, by plain SQL: their photos, and which caution each gets."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from intake.language.draft import LISTS, SCALARS, Evidence
from intake.records import cautions, codec
from intake.records.cautions import Caution
from intake.records.look import Look, loaded
from intake.records.types import MACHINE, WHOLE, Held, RecordingInfo, Sighting, Stored, Unit


@dataclass(frozen=True)
class Shot:
    """A photo of a unit: its file, and why its placing is doubted, if it is."""

    sha256: str
    path: str
    reasons: tuple[str, ...] = ()


def photos(look: Look, units: Sequence[str]) -> dict[str, list[Shot]]:
    """The photos of these units, those of the oldest walk first, in the camera's order."""
    placed = """SELECT u.value AS unit_id, w.date, w.id AS walk_id, s.position AS place, s.id AS sighting,
                       coalesce(p.at, f.taken_at, '') AS taken, f.name, f.sha256, p.decision, p.reasons
                FROM json_each(:listed) u CROSS JOIN sighting s ON s.unit_id = u.value AND s.state = 'seen'
                CROSS JOIN walk w ON w.id = s.walk_id CROSS JOIN sighting c ON {whose}
                CROSS JOIN placement p INDEXED BY {shows} CROSS JOIN photo f ON f.id = p.photo_id"""
    kinds = [placed.format(whose=whose, shows=shows)
             for whose in ("c.id = s.id", "c.merged_into = s.id")
             for shows in ("ix_placement_sighting_id ON p.sighting_id = c.id AND p.decision IS NULL",
                           "ix_placement_decided_sighting_id ON p.decided_sighting_id = c.id "
                           "AND p.decision IS NOT NULL")]
    sql = f"""SELECT x.unit_id, x.sha256, file.path, x.decision, x.reasons FROM ({' UNION ALL '.join(kinds)}) x
              JOIN file ON file.sha256 = x.sha256 ORDER BY x.date, x.walk_id, x.place, x.sighting, x.taken, x.name"""
    out: dict[str, list[Shot]] = defaultdict(list)
    for unit, sha256, path, decision, reasons in look.rows(sql, listed=list(units)):
        why = () if decision or reasons == "[]" else tuple(loaded(reasons))
        out[unit].append(Shot(sha256, str(codec.path_of(path)), why))
    return out


def last_said(look: Look, units: Sequence[str], name: str, *, by: date) -> dict[str, tuple[str, tuple[Evidence, ...]]]:
    """Where a field of these units was last told up to a day: the sighting and its words; those without words left out.
    """
    sql = """SELECT s.unit_id, s.walk_id || '/' || s.local_id, e.evidence FROM json_each(:listed) u
             CROSS JOIN sighting s ON s.unit_id = u.value AND s.state = 'seen' CROSS JOIN walk w ON w.id = s.walk_id
             CROSS JOIN entry e ON e.sighting_id = s.id AND e.field = :name AND e.number = 0
             WHERE e.held IS NOT NULL AND w.date <= :by ORDER BY w.date, w.id, s.position, s.id"""
    rows = look.rows(sql, listed=list(units), name=name, by=by)
    return {unit: (sighting, codec.evidence_of(loaded(said))) for unit, sighting, said in rows if said != "[]"}


def warned(look: Look, units: Sequence[str], *, mains_v: int | None) -> dict[str, tuple[Caution, ...]]:
    """The cautions of each of these units that is on record."""
    return {unit: tuple(cautions.cautions(_unit(unit, seen), mains_v=mains_v))
            for unit, seen in _sightings(look, units).items()}


def _sightings(look: Look, units: Sequence[str]) -> dict[str, list[Sighting]]:
    """The sightings of these units, oldest first, with no more than their values and the words behind them."""
    sql = """SELECT s.unit_id, s.id, s.walk_id, s.local_id, w.date FROM sighting s JOIN walk w ON w.id = s.walk_id
             WHERE s.unit_id IN :keys AND s.state = 'seen' ORDER BY w.date, w.id, s.position, s.id"""
    rows = look.of_keys(sql, units)
    held: dict[int, list[Stored]] = defaultdict(list)
    sql = """SELECT sighting_id, id, field, number, held, evidence, decision, decided_by, reasons FROM entry
             WHERE sighting_id IN :keys AND (decision IS NOT NULL OR value IS NOT NULL OR question)
             ORDER BY sighting_id, field, number"""
    for sighting, key, name, number, value, said, decision, who, reasons in look.of_keys(
            sql, [row[1] for row in rows]):
        said_of = codec.evidence_of(loaded(said)) if said != "[]" else ()
        if name in WHOLE:
            held[sighting].append(_doubt(key, name, number, loaded(value), decision, who, loaded(reasons), said_of))
        else:
            held[sighting].append(Stored(key, "", name, number, loaded(value), evidence=said_of))
    out: dict[str, list[Sighting]] = defaultdict(list)
    for unit, sighting, walk, local, day in rows:
        mine = held[sighting]
        out[unit].append(Sighting(
            f"{walk}/{local}", unit, walk, local, date.fromisoformat(day),
            {one.field: one for one in mine if one.field in SCALARS},
            {name: tuple(one for one in mine if one.field == name) for name in LISTS},
            tuple(one for one in mine if one.field in WHOLE)))
    return out


def told(look: Look, units: Iterable[str]) -> dict[str, tuple[Caution, ...]]:
    """The cautions that walks told of these very units (`cautions.told`), those without any left out."""
    sql = """SELECT s.unit_id, e.id, e.number, e.held, e.decision, e.decided_by, e.reasons
             FROM json_each(:listed) u CROSS JOIN sighting s ON s.unit_id = u.value AND s.state = 'seen'
             CROSS JOIN walk w ON w.id = s.walk_id
             CROSS JOIN entry e ON e.sighting_id = s.id AND e.field = 'unit'
             WHERE e.reasons <> '[]' OR e.held IS NOT NULL ORDER BY w.date, w.id, s.position, s.id, e.number"""
    found: dict[str, list[Stored]] = defaultdict(list)
    for unit, key, number, value, decision, who, reasons in look.rows(sql, listed=list(units)):
        found[unit].append(_doubt(key, "unit", number, loaded(value), decision, who, loaded(reasons)))
    listed = {unit: tuple(cautions.told(doubts)) for unit, doubts in found.items()}
    return {unit: those for unit, those in listed.items() if those}


def _doubt(key: int, name: str, number: int, value: Any, decision: str | None, who: str | None,
           reasons: Sequence[str], said: tuple[Evidence, ...] = ()) -> Stored:
    """A doubt of a whole unit with the caution that it may hold."""
    return Stored(key, "", name, number, cautions.kept(name, decision, value, reasons), decision or "open",
                  reasons=() if decision else tuple(reasons), evidence=said, origin=who or MACHINE)


def _unit(unit: str, seen: Sequence[Sighting]) -> Unit:
    latest = {name: Held(stored, sighting.date) for sighting in seen for name, stored in sighting.scalars.items()
              if stored.value is not None}             # the last filled value holds, as in `merged`
    return Unit(id=unit, scalars=latest, lists={}, sightings=tuple(seen), stages=())


def recordings(look: Look, walk: str) -> dict[str, RecordingInfo]:
    """The recordings of a walk by name."""
    sql = """SELECT r.name, f.path, r.sha256, f.kind, r.duration_s, r.starts, r.started_source, r.transcript
             FROM recording r JOIN file f ON f.sha256 = r.sha256 WHERE r.walk_id = :walk ORDER BY r.position"""
    return {name: RecordingInfo(walk, name, str(codec.path_of(path)), sha256, kind, duration, starts, source,
                                str(codec.path_of(written)) if written else None)
            for name, path, sha256, kind, duration, starts, source, written in look.rows(sql, walk=walk)}
