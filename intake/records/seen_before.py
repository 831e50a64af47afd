"""Ties a walk's sightings to units on file: sure ones at once, doubtful ones as a question asked once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlmodel import col, select

from intake.records import codec, load, reread
from intake.records.log import Log
from intake.records.readings import share
from intake.records.tables import EntryRow, LinkRow, SightingRow, UnitRow
from intake.records.types import Difference

Sure = Mapping[str, tuple[str, float]]
Maybe = Mapping[str, Sequence[tuple[str, float, Sequence[str]]]]


@dataclass
class Tied:
    """What was tied or asked."""

    linked: dict[str, str] = field(default_factory=dict)
    asked: tuple[str, ...] = ()
    differences: tuple[Difference, ...] = ()


def put(log: Log, rows: Mapping[str, SightingRow], same_as: Sure | None, candidates: Maybe) -> Tied:
    """Tie sightings to known units. `same_as` None: nobody looked, so nothing is untied either."""
    tied = Tied()
    asked: dict[int, list[tuple[str, float, Sequence[str]]]] = {}
    surest = sorted((same_as or {}).items(), key=lambda item: -item[1][1])
    for draft, (target, confidence) in surest:
        if draft not in rows:
            continue
        unit = unit_of(log, target)
        why_not = _obstacle(log, rows[draft], unit) if unit else "the unit it was taken for is not on file"
        if unit and why_not is None:
            _tie(log, rows[draft], unit, confidence, tied)
        elif unit and why_not:
            asked.setdefault(rows[draft].id, []).append((unit, confidence, (why_not,)))
    for draft, options in candidates.items():
        if draft in rows:
            asked.setdefault(rows[draft].id, []).extend(options)
    if same_as is not None:
        sure = {rows[draft].id for draft in same_as if draft in rows}
        for row in {row.id: row for row in rows.values()}.values():
            if row.id not in sure:
                _untie(log, row)
    for row in {row.id: row for row in rows.values()}.values():
        _ask(log, row, asked.get(row.id, []), tied)
    return tied


def sure_units(log: Log, walk: str, same_as: Sure) -> dict[str, str]:
    """Draft id -> unit that no other record of the walk is of; where two drafts claim one, the surer has it."""
    taken = set(log.session.exec(select(SightingRow.unit_id).where(
        SightingRow.walk_id == walk, col(SightingRow.state) == "seen")))
    out: dict[str, str] = {}
    for draft, (target, _) in sorted(same_as.items(), key=lambda item: -item[1][1]):
        unit = unit_of(log, target)
        if unit is not None and unit not in taken:
            out[draft] = unit
            taken.add(unit)
    return out


def unit_of(log: Log, target: str) -> str | None:
    """The unit id meant by "U0001" or "<walk>/u3"; a unit that turned out to be another counts as that."""
    if "/" in target:
        walk, _, local = target.rpartition("/")
        row = log.session.exec(select(SightingRow).where(
            SightingRow.walk_id == walk, SightingRow.local_id == local)).first()
        target = row.unit_id if row else ""
    unit = log.session.get(UnitRow, target)
    while unit is not None and unit.became is not None:
        unit = log.session.get(UnitRow, unit.became)
    return unit.id if unit else None


def _obstacle(log: Log, row: SightingRow, unit: str) -> str | None:
    """Why the machine must not tie this by itself; None where it may."""
    if row.unit_id == unit:
        return None
    if row.linked == "person" or _answered(log, row, unit):
        return "a person tied it otherwise"
    if log.session.exec(select(SightingRow.id).where(
            SightingRow.walk_id == row.walk_id, SightingRow.unit_id == unit, col(SightingRow.state) == "seen")).first():
        return "another record of this walk is taken for the same unit"
    if row.linked == "own" and _decided(log, row):
        return "the newest reading takes it for a unit on file"
    return None


def _answered(log: Log, row: SightingRow, unit: str) -> bool:
    return log.session.exec(select(LinkRow.id).where(
        LinkRow.sighting_id == row.id, LinkRow.unit_id == unit, col(LinkRow.decision).is_not(None))).first() is not None


def _decided(log: Log, row: SightingRow) -> bool:
    return log.session.exec(select(EntryRow.id).where(
        EntryRow.sighting_id == row.id, col(EntryRow.decision).is_not(None))).first() is not None


def _tie(log: Log, row: SightingRow, unit: str, confidence: float, tied: Tied) -> None:
    if row.linked == "machine" and row.unit_id == unit:
        row.link_confidence = share(confidence)
    elif row.linked != "person":
        log.update(row, unit=row.unit_id, about=load.name_of(row), field="unit", was=row.unit_id, now=unit,
                   unit_id=unit, linked="machine", link_confidence=share(confidence))
    tied.linked[load.name_of(row)] = unit


def _untie(log: Log, row: SightingRow) -> None:
    """A tie of the machine that its newest look does not renew is loosened again."""
    if row.linked == "machine":
        unit = own_unit(log, row)
        log.update(row, unit=row.unit_id, about=load.name_of(row), field="unit", unit_id=unit, linked="own",
                   link_confidence=1.0)


def own_unit(log: Log, row: SightingRow) -> str:
    """The unit made for this sighting, if it is free, else a new one."""
    name = load.name_of(row)
    made = log.session.exec(select(UnitRow).where(UnitRow.made_for == name).order_by(col(UnitRow.id).desc())).first()
    if made is None or made.became is not None:
        return reread.new_unit(log, name).id
    taken = log.session.exec(select(SightingRow.id).where(
        SightingRow.unit_id == made.id, SightingRow.id != row.id, col(SightingRow.state) == "seen")).first()
    return made.id if taken is None else reread.new_unit(log, name).id


def _ask(log: Log, row: SightingRow, options: Sequence[tuple[str, float, Sequence[str]]], tied: Tied) -> None:
    wanted: dict[str, tuple[float, list[str]]] = {}
    for target, confidence, reasons in options:
        unit = unit_of(log, target)
        if unit is not None and unit not in wanted:
            wanted[unit] = (share(confidence), [codec.clean(r) for r in reasons])
    known = {link.unit_id: link for link in log.session.exec(select(LinkRow).where(LinkRow.sighting_id == row.id))}
    if row.unit_id not in known or known[row.unit_id].decision is None:
        wanted.pop(row.unit_id, None)  # it is that unit already
    for unit, link in known.items():
        if unit in wanted:
            confidence, reasons = wanted.pop(unit)
            log.update(link, unit=row.unit_id, about=load.name_of(row), field="seen before", current=True,
                       confidence=confidence, reasons=reasons)
            if link.decision is None:
                tied.asked += (load.name_of(row),)
        else:
            log.update(link, unit=row.unit_id, about=load.name_of(row), field="seen before", current=False)
    for unit, (confidence, reasons) in wanted.items():
        log.session.add(LinkRow(sighting_id=row.id, unit_id=unit, confidence=confidence, reasons=reasons))
        log.units.add(row.unit_id)
        tied.asked += (load.name_of(row),)
