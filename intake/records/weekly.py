"""What a report of some days needs from the records: one consistent look, plain values, in few queries.

The store's own queries make whole values; these ask SQLite for just the columns, so that five years of history
of a large shop answer at once. A day's state is what holds at its end. Stages, work and issues are kept with
their days; a unit's name, source and place, and the wording of its work, are those told last.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from sqlalchemy import text
from sqlmodel import Session

from intake.language.draft import Evidence
from intake.records import codec, latest, load, merged, queries, questions
from intake.records.database import reading
from intake.records.store import Store
from intake.records.types import (
    ActionLine,
    IssueLine,
    Question,
    RecordingInfo,
    StageChange,
    StageRun,
    Sureness,
    Unit,
)

#: Work that needs a part, besides what is said to wait.
NEEDS_PART = ("order", "replace", "retube")
#: A customer's unit counts as here where a walk of the last four weeks saw it.
HERE_DAYS = 28
#: A listed unit that no walk saw for so long is taken as sold: it is expected nowhere.
SOLD_AFTER = timedelta(weeks=12)
MOST_QUESTIONS = 200


@dataclass(frozen=True)
class WeekUnit:
    """A unit as named in the report; `stage` is that of the report's day."""

    id: str
    unit_type: str | None
    maker: str | None
    model: str | None
    serial: str | None
    location: str | None
    stage: str | None
    source: str | None
    first_seen: date
    last_seen: date
    questions: int
    stage_since: date | None = None


@dataclass(frozen=True)
class WeekWalk:
    """A walk of the week."""

    id: str
    date: date
    units: int
    photos: int
    recordings: int
    problems: int


@dataclass(frozen=True)
class Unseen:
    """A unit that should stand where the week's walks went: where it stood last, and when it was seen there."""

    unit: str
    location: str
    last_seen: date


@dataclass(frozen=True)
class WeekFacts:
    """All that the report of `first` to `last` is made from, as known at the end of the day `on`."""

    first: date
    last: date
    on: date
    walks: tuple[WeekWalk, ...]
    walk_before: tuple[str, date] | None               # the newest walk before the period
    units: Mapping[str, WeekUnit]                      # every unit that is spoken of below
    arrived: tuple[str, ...]
    first_sightings: Mapping[str, str]
    changes: tuple[StageChange, ...]
    done: tuple[ActionLine, ...]                       # work that ended in the period
    fixed: tuple[IssueLine, ...]                       # issues put right in the period
    waiting: tuple[StageRun, ...]
    actions: tuple[ActionLine, ...]                    # open work: due, waiting, in need of a part, of a stuck unit
    totals: Mapping[str | None, int]                   # source -> units on file
    customers: tuple[str, ...]                         # customers' units that a walk of the last four weeks saw
    walked: tuple[str, ...]                            # places that the period's walks spoke of
    unseen: tuple[Unseen, ...]
    question_counts: Mapping[str, int]                 # of all walks, as of now
    questions: tuple[Question, ...]                    # of the period's walks, as of now
    sureness: Sureness
    decided: int                                       # what people did in the period, by the shop's clock
    arrivals_by_day: Mapping[date, int]                # of the weeks that the charts show
    waits_by_day: tuple[tuple[date, date | None], ...]     # (since, until) of waits that touch those weeks
    evidence: Mapping[int, tuple[Evidence, ...]]       # entry -> the words behind it
    stage_evidence: Mapping[str, tuple[Evidence, ...]] = field(default_factory=dict)   # sighting -> words of its stage
    named_evidence: Mapping[str, tuple[Evidence, ...]] = field(default_factory=dict)   # sighting -> words that name it


def facts(store: Store, first: date, last: date, *, on: date, since: date, decided: tuple[str, str]) -> WeekFacts:
    """Look the report of `first` to `last` up; `on`: the day whose end counts, `since`: the first day of the charts.

    `decided`: the period's start and end in UTC, ISO 8601, for what people decided.
    """
    with reading(store._engine) as session:
        changes = tuple(_changes(session, first, last))
        arrived = _column(session, "SELECT unit_id FROM unit_now WHERE first_seen BETWEEN :first AND :last "
                                   "ORDER BY first_seen, length(unit_id), unit_id", first=first, last=last)
        waiting = tuple(_stage_runs(session, on))
        actions = tuple(_actions(session, on))
        done = tuple(_ended_actions(session, first, last))
        fixed = tuple(_fixed(session, first, last))
        walked = _walked(session, first, last)
        unseen = tuple(_unseen(session, first, last, walked))
        customers = _customers(session, on)
        asked = _questions(session, first, last)
        named = {*arrived, *customers, *(c.unit for c in changes), *(w.unit for w in waiting),
                 *(a.unit for a in (*actions, *done)), *(i.unit for i in fixed), *(u.unit for u in unseen),
                 *(q.unit for q in asked if q.unit)}
        units, first_sightings = _units(session, named, on)
        sightings = {*(first_sightings[u] for u in arrived if u in first_sightings)}
        return WeekFacts(
            first=first, last=last, on=on, walks=tuple(_walks(session, first, last)),
            walk_before=_walk_before(session, first), units=units, arrived=tuple(arrived),
            first_sightings={u: first_sightings[u] for u in arrived}, changes=changes, done=done, fixed=fixed,
            waiting=waiting, actions=actions, totals=_totals(session, on), customers=tuple(customers),
            walked=tuple(walked), unseen=unseen, question_counts=questions.count(session), questions=tuple(asked),
            sureness=_sureness(session, first, last), decided=_decided(session, *decided),
            arrivals_by_day=_arrivals(session, since, on), waits_by_day=tuple(_waits(session, since, on)),
            evidence=_evidence(session, [a.entry for a in (*actions, *done)] + [i.entry for i in fixed]),
            stage_evidence=_sighting_evidence(
                session, {*(c.sighting for c in changes), *(w.sighting for w in waiting)}, ("stage",)),
            named_evidence=_sighting_evidence(session, sightings, ("model", "maker", "unit_type")))


def whole_units(store: Store, ids: Sequence[str]) -> dict[str, Unit]:
    """These units whole (photos, words, stages), many at a time; those without a record left out."""
    out: dict[str, Unit] = {}
    with reading(store._engine) as session:
        seen = latest._by_unit(load.sightings(session, load.seen_of_units(session, ids)))
    for unit, sightings in seen.items():
        state = merged.latest(unit, sightings)
        out[unit] = Unit(
            id=unit, scalars=state.scalars, sightings=tuple(sightings), stages=tuple(state.stages),
            lists={"issues": tuple(state.issues), "service": tuple(state.service), "actions": tuple(state.actions),
                   "accessories": tuple(state.accessories), "measurements": tuple(state.measurements)})
    return out


def recordings(store: Store, walks: Iterable[str]) -> dict[tuple[str, str], RecordingInfo]:
    """(walk, name) -> recording, for these walks."""
    with reading(store._engine) as session:
        return {(walk, info.name): info for walk in walks for info in queries.recordings(session, walk)}


# ---- the queries. CROSS JOIN keeps SQLite from turning the order round: few walks first, then what is theirs


def _rows(session: Session, sql: str, **values: Any) -> Sequence[Any]:
    plain = {name: value.isoformat() if isinstance(value, date) else value for name, value in values.items()}
    return session.connection().execute(text(sql), plain).all()


def _column(session: Session, sql: str, **values: Any) -> list[Any]:
    return [row[0] for row in _rows(session, sql, **values)]


def _chunks(session: Session, sql: str, keys: Iterable[int | str], **values: Any) -> Iterable[Any]:
    """Rows of a query whose `:keys` stands for a list of any length."""
    for chunk in load.in_chunks(keys):
        yield from _rows(session, sql.replace(":keys", "(SELECT value FROM json_each(:chunk))"),
                         chunk=json.dumps(chunk), **values)


def _day(value: str | None) -> date | None:
    return date.fromisoformat(value) if value else None


def _must_day(value: str) -> date:
    return date.fromisoformat(value)


def _walks(session: Session, first: date, last: date) -> list[WeekWalk]:
    sql = """SELECT w.id, w.date, (SELECT count(*) FROM sighting s WHERE s.walk_id = w.id AND s.state = 'seen'),
                    (SELECT count(*) FROM photo p WHERE p.walk_id = w.id),
                    (SELECT count(*) FROM recording r WHERE r.walk_id = w.id),
                    (SELECT count(*) FROM problem b WHERE b.walk_id = w.id AND b.current)
             FROM walk w WHERE w.date BETWEEN :first AND :last ORDER BY w.date, w.id"""
    rows = _rows(session, sql, first=first, last=last)
    return [WeekWalk(walk, _must_day(day), *counts) for walk, day, *counts in rows]


def _walk_before(session: Session, first: date) -> tuple[str, date] | None:
    sql = "SELECT id, date FROM walk WHERE date < :first ORDER BY date DESC, id DESC LIMIT 1"
    found = _rows(session, sql, first=first)
    return (found[0][0], _must_day(found[0][1])) if found else None


def _stage_runs(session: Session, on: date) -> Iterable[StageRun]:
    sql = """SELECT unit_id, stage, since, until, sighting FROM stage_run
             WHERE stage = 'waiting' AND since <= :on AND (until IS NULL OR until > :on)
             ORDER BY since, length(unit_id), unit_id"""
    for unit, stage, since, until, sighting in _rows(session, sql, on=on):
        yield StageRun(unit, stage, _must_day(since), _day(until), sighting)


def _changes(session: Session, first: date, last: date) -> Iterable[StageChange]:
    """As the store's `stage_changes`, without a row object for each."""
    sql = """SELECT r.unit_id, (SELECT b.stage FROM stage_run b WHERE b.unit_id = r.unit_id AND b.id < r.id
                                ORDER BY b.id DESC LIMIT 1), r.stage, r.since, r.sighting
             FROM stage_run r WHERE r.since BETWEEN :first AND :last ORDER BY r.since, r.unit_id, r.id"""
    for unit, before, after, since, sighting in _rows(session, sql, first=first, last=last):
        yield StageChange(unit, before, after, _must_day(since), sighting)


_ACTION = "a.unit_id, a.work, a.part, a.due, a.waiting_on, a.since, a.until, a.sighting, a.entry_id"


def _actions(session: Session, on: date) -> Iterable[ActionLine]:
    """Open work that the report may speak of."""
    needs = ", ".join(f"'{work}'" for work in NEEDS_PART)
    sql = f"""SELECT {_ACTION} FROM action_run a
              WHERE a.since <= :on AND (a.until IS NULL OR a.until > :on)
                AND (a.due IS NOT NULL OR a.waiting_on IS NOT NULL OR a.work IN ({needs}) OR a.unit_id IN (
                     SELECT r.unit_id FROM stage_run r WHERE r.stage = 'waiting' AND r.since <= :on
                                                         AND (r.until IS NULL OR r.until > :on)))
              ORDER BY a.due IS NULL, a.due, a.since, length(a.unit_id), a.unit_id, a.id"""
    return [_action(row) for row in _rows(session, sql, on=on)]


def _ended_actions(session: Session, first: date, last: date) -> list[ActionLine]:
    sql = f"SELECT {_ACTION} FROM action_run a WHERE a.until BETWEEN :first AND :last ORDER BY a.until, a.unit_id, a.id"
    return [_action(row) for row in _rows(session, sql, first=first, last=last)]


def _action(row: Sequence[Any]) -> ActionLine:
    unit, work, part, due, waiting_on, since, until, sighting, entry = row
    return ActionLine(unit, work, part, due, waiting_on, _must_day(since), _day(until), sighting, entry)


def _fixed(session: Session, first: date, last: date) -> Iterable[IssueLine]:
    sql = """SELECT unit_id, part, symptom, side, state, since, until, sighting, entry_id FROM issue_run
             WHERE until BETWEEN :first AND :last ORDER BY until, unit_id, id"""
    for unit, part, symptom, side, state, since, until, sighting, entry in _rows(session, sql, first=first, last=last):
        yield IssueLine(unit, part, symptom, side, state, _must_day(since), _day(until), sighting, entry)


def _walked(session: Session, first: date, last: date) -> list[str]:
    return _column(session, """SELECT DISTINCT json_extract(e.held, '$') FROM walk w
        CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen' CROSS JOIN entry e ON e.sighting_id = s.id
        WHERE w.date BETWEEN :first AND :last AND e.field = 'location' AND e.held IS NOT NULL ORDER BY 1""",
                   first=first, last=last)


def _unseen(session: Session, first: date, last: date, walked: Sequence[str]) -> Iterable[Unseen]:
    """Units that stood, when last seen before the period, where its walks went, and that these did not mention."""
    found = [Unseen(unit, place, _must_day(day)) for unit, place, day in _chunks(
        session, "SELECT unit_id, location, last_seen FROM unit_now WHERE last_seen < :first AND location IN :keys "
                 "AND (stage IS NOT 'listed' OR last_seen >= :sold)", walked, first=first, sold=first - SOLD_AFTER)]
    # Where later walks saw a unit, the place it stood at before the period is read from the walks before it.
    earlier: dict[str, Unseen] = {}
    sql = """SELECT s.unit_id, w.date, (SELECT json_extract(e.held, '$') FROM entry e WHERE e.sighting_id = s.id
                                        AND e.field = 'location' AND e.number = 0)
             FROM unit_now n JOIN sighting s ON s.unit_id = n.unit_id AND s.state = 'seen'
             JOIN walk w ON w.id = s.walk_id
             WHERE n.last_seen > :last AND n.first_seen < :first AND w.date < :first
               AND NOT EXISTS (SELECT 1 FROM sighting t JOIN walk v ON v.id = t.walk_id WHERE t.unit_id = n.unit_id
                               AND t.state = 'seen' AND v.date BETWEEN :first AND :last)
             ORDER BY w.date, s.walk_id, s.position, s.id"""
    for unit, day, place in _rows(session, sql, first=first, last=last) if walked else ():
        before = earlier.get(unit)
        earlier[unit] = Unseen(unit, place or (before.location if before else ""), _must_day(day))
    places = set(walked)
    found += [one for one in earlier.values() if one.location in places]
    return sorted(found, key=lambda one: (one.last_seen, len(one.unit), one.unit))


def _customers(session: Session, on: date) -> list[str]:
    """Customers' units that a walk of the last four weeks before `on` saw."""
    sql = """SELECT DISTINCT n.unit_id FROM walk w CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen'
             CROSS JOIN unit_now n ON n.unit_id = s.unit_id
             WHERE w.date BETWEEN date(:on, :back) AND :on AND n.source IN ('customer repair', 'consignment')
             ORDER BY n.first_seen, length(n.unit_id), n.unit_id"""
    return _column(session, sql, on=on, back=f"-{HERE_DAYS - 1} days")


def _units(session: Session, ids: Iterable[str], on: date) -> tuple[dict[str, WeekUnit], dict[str, str]]:
    sql = """SELECT n.unit_id, n.unit_type, n.maker, n.model, n.serial, n.location, r.stage, n.source, n.first_seen,
                    n.last_seen, n.questions, r.since, n.first_sighting
             FROM unit_now n LEFT JOIN stage_run r ON r.unit_id = n.unit_id AND r.since <= :on
                                                  AND (r.until IS NULL OR r.until > :on)
             WHERE n.unit_id IN :keys"""
    units, sightings = {}, {}
    for row in _chunks(session, sql, sorted(ids), on=on):
        unit, kind, maker, model, serial, place, stage, source, first_seen, last_seen, asked, since, sighting = row
        units[unit] = WeekUnit(unit, kind, maker, model, serial, place, stage, source, _must_day(first_seen),
                               _must_day(last_seen), asked, _day(since))
        sightings[unit] = sighting
    return units, sightings


def _totals(session: Session, on: date) -> dict[str | None, int]:
    sql = "SELECT source, count(*) FROM unit_now WHERE first_seen <= :on GROUP BY 1"
    return dict(tuple(row) for row in _rows(session, sql, on=on))


def _questions(session: Session, first: date, last: date) -> list[Question]:
    walks = _column(session, "SELECT id FROM walk WHERE date BETWEEN :first AND :last ORDER BY date, id",
                    first=first, last=last)
    out: list[Question] = []
    for walk in walks:
        if len(out) < MOST_QUESTIONS:
            out += questions.open_questions(session, walk=walk, limit=MOST_QUESTIONS)
    return out


def _sureness(session: Session, first: date, last: date) -> Sureness:
    sql = """SELECT count(*), coalesce(sum(e.question = 1), 0), coalesce(sum(e.decision = 'accepted'), 0),
                    coalesce(sum(e.decision = 'corrected'), 0)
             FROM walk w CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen'
             CROSS JOIN entry e ON e.sighting_id = s.id
             WHERE w.date BETWEEN :first AND :last AND (e.held IS NOT NULL OR e.question OR e.decision IS NOT NULL)"""
    return Sureness(*map(int, _rows(session, sql, first=first, last=last)[0]))


def _decided(session: Session, start: str, end: str) -> int:
    """People's acts that stand, between two moments of UTC (ISO 8601, as the tables write them)."""
    sql = "SELECT count(*) FROM batch WHERE kind = 'edit' AND undone_by IS NULL AND at >= :start AND at < :end"
    return int(_rows(session, sql, start=start, end=end)[0][0])


def _arrivals(session: Session, since: date, on: date) -> dict[date, int]:
    sql = "SELECT first_seen, count(*) FROM unit_now WHERE first_seen BETWEEN :since AND :on GROUP BY 1"
    return {_must_day(day): number for day, number in _rows(session, sql, since=since, on=on)}


def _waits(session: Session, since: date, on: date) -> Iterable[tuple[date, date | None]]:
    sql = """SELECT since, until FROM stage_run WHERE stage = 'waiting' AND since <= :on
             AND (until IS NULL OR until > :since)"""
    for began, ended in _rows(session, sql, since=since, on=on):
        yield _must_day(began), _day(ended)


def _evidence(session: Session, entries: Sequence[int]) -> dict[int, tuple[Evidence, ...]]:
    found = _chunks(session, "SELECT id, evidence FROM entry WHERE id IN :keys", entries)
    return {entry: codec.evidence_of(json.loads(words)) for entry, words in found}


def _sighting_evidence(session: Session, sightings: Iterable[str],
                       fields: Sequence[str]) -> dict[str, tuple[Evidence, ...]]:
    """The words behind the first of these fields that has any, by sighting name ("<walk>/u3")."""
    by_walk: dict[str, list[str]] = {}
    for name in sightings:
        walk, _, local = name.rpartition("/")
        by_walk.setdefault(walk, []).append(local)
    wanted = ", ".join(f"'{name}'" for name in fields)
    sql = f"""SELECT s.local_id, e.field, e.evidence FROM sighting s JOIN entry e ON e.sighting_id = s.id
              WHERE s.walk_id = :walk AND s.local_id IN :keys AND e.field IN ({wanted})"""
    out: dict[str, tuple[Evidence, ...]] = {}
    for walk, locals_ in by_walk.items():
        said = {(local, name): words for local, name, words in _chunks(session, sql, locals_, walk=walk)}
        for local in locals_:
            first = next((words for name in fields if (words := said.get((local, name), "[]")) != "[]"), "[]")
            out[f"{walk}/{local}"] = codec.evidence_of(json.loads(first))
    return out
