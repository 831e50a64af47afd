"""Keeps the tables that are made from others: each unit's latest state, its runs of stages, actions and issues."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import delete
from sqlmodel import Session, col, select

from intake.language.draft import SCALARS
from intake.records import load, merged, search
from intake.records.tables import (
    ActionRunRow,
    IssueRunRow,
    StageRunRow,
    UnitNowRow,
    UnitRow,
)
from intake.records.types import Held, Link, Sighting, Stored, Unit


def refresh(session: Session, units: Iterable[str]) -> None:
    """Make the latest state of these units again, in the change's own transaction."""
    session.flush()
    for chunk in load.in_chunks(sorted(units)):
        names = [str(name) for name in chunk]
        seen = _by_unit(load.sightings(session, load.seen_of_units(session, names)))
        for table in (StageRunRow, ActionRunRow, IssueRunRow, UnitNowRow):
            session.execute(delete(table).where(col(table.unit_id).in_(names)))
        for unit in names:
            if seen.get(unit):
                session.add_all(_rows(unit, seen[unit]))
                search.put(session, unit, seen[unit])
            else:
                search.drop(session, unit)
        session.flush()


def refresh_all(session: Session) -> None:
    """Make all of it again from the records."""
    refresh(session, session.exec(select(UnitRow.id)).all())


def _by_unit(found: Sequence[Sighting]) -> dict[str, list[Sighting]]:
    by_unit: dict[str, list[Sighting]] = defaultdict(list)
    for sighting in found:
        by_unit[sighting.unit].append(sighting)
    return by_unit


def _rows(unit: str, seen: Sequence[Sighting]) -> list[Any]:
    state = merged.latest(unit, seen)
    scalars = {name: state.scalars[name].value if name in state.scalars else None for name in SCALARS}
    stage = state.scalars.get("stage")
    rows: list[Any] = [UnitNowRow(
        unit_id=unit, **scalars, stage_since=stage.since if stage else None,
        first_seen=seen[0].date, last_seen=seen[-1].date, first_sighting=seen[0].id, last_sighting=seen[-1].id,
        sightings=len(seen), photos=sum(len(s.photos) for s in seen), questions=sum(map(questions_in, seen)))]
    rows += [StageRunRow(unit_id=unit, stage=run.stage, since=run.since, until=run.until, sighting=run.sighting)
             for run in state.stages]
    rows += [ActionRunRow(unit_id=unit, **_run(held)) for held in state.actions]
    rows += [IssueRunRow(unit_id=unit, **_run(held)) for held in state.issues]
    return rows


def _run(held: Held) -> dict[str, Any]:
    return {**held.value, "since": held.since, "until": held.until, "sighting": held.stored.sighting,
            "entry_id": held.stored.id}


def questions_in(sighting: Sighting) -> int:
    """How many things of a sighting a person should look at."""
    asked: list[Stored | Any] = [*sighting.stored(), *sighting.photos]
    links: list[Link] = [link for link in sighting.links if link.state == "open"]
    return sum(bool(thing.reasons) for thing in asked) + len(links)


def whole(session: Session, unit: str) -> Unit:
    """A unit with its latest state and every sighting that counts."""
    row = session.get(UnitRow, unit)
    seen = load.sightings(session, load.seen_of_units(session, [unit]))
    state = merged.latest(unit, seen)
    return Unit(
        id=unit, scalars=state.scalars, sightings=tuple(seen), stages=tuple(state.stages),
        became=row.became if row else None,
        lists={"issues": tuple(state.issues), "service": tuple(state.service), "actions": tuple(state.actions),
               "accessories": tuple(state.accessories), "measurements": tuple(state.measurements)})
