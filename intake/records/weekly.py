"""What a report of some days needs from the records: one consistent look, plain values, in few queries.

The store's own queries make whole values; these ask SQLite for just the columns, without the tables' classes, so
that five years of history of a large shop answer at once. A day's state is what holds at its end. Stages, work and
issues are kept with their days; a unit's name, source and place, and the wording of its work, are those told last.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from intake.language.draft import Evidence
from intake.records import asked, codec, shown
from intake.records.cautions import Caution
from intake.records.look import Look, loaded
from intake.records.types import (
    ActionLine,
    IssueLine,
    Question,
    StageChange,
    StageRun,
    Sureness,
)

#: Work that needs a part, besides what is said to wait.
NEEDS_PART = ("order", "replace", "retube")
#: How the shop came by a unit, as the contract names it; a shop's own words for it count as not said here.
SOURCES = ("purchase", "trade-in", "consignment", "customer repair")
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
class Ending:
    """Something a walk told that can end work: service done, an issue put right, or a stage; and its sighting."""

    field: str
    value: Any
    sighting: str
    evidence: tuple[Evidence, ...]


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
    totals: Mapping[str | None, int]                   # source -> units on file; None: another, or none
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
    done_evidence: Mapping[tuple[str, date], tuple[Ending, ...]] = field(default_factory=dict)     # (unit, day)
    stage_evidence: Mapping[str, tuple[Evidence, ...]] = field(default_factory=dict)   # sighting -> words of its stage
    named_evidence: Mapping[str, tuple[Evidence, ...]] = field(default_factory=dict)   # sighting -> words that name it
    cautions: Mapping[str, tuple[Caution, ...]] = field(default_factory=dict)          # told of that very unit


def facts(look: Look, first: date, last: date, *, on: date, since: date, decided: tuple[str, str]) -> WeekFacts:
    """Look the report of `first` to `last` up; `on`: the day whose end counts, `since`: the first day of the charts.

    `decided`: the period's start and end in UTC, ISO 8601, for what people decided.
    """
    changes = tuple(_changes(look, first, last))
    arrived = look.column("SELECT unit_id FROM unit_now WHERE first_seen BETWEEN :first AND :last "
                          "ORDER BY first_seen, length(unit_id), unit_id", first=first, last=last)
    waiting = tuple(_stage_runs(look, on))
    actions = tuple(_actions(look, on))
    done = tuple(_ended_actions(look, first, last))
    fixed = tuple(_fixed(look, first, last))
    walked = _walked(look, first, last)
    unseen = tuple(_unseen(look, first, last, walked))
    customers = _customers(look, on)
    questions = asked.of_days(look, first, last, most=MOST_QUESTIONS)
    named = {*arrived, *customers, *(c.unit for c in changes), *(w.unit for w in waiting),
             *(a.unit for a in (*actions, *done)), *(i.unit for i in fixed), *(u.unit for u in unseen),
             *(q.unit for q in questions if q.unit)}
    units, first_sightings = _units(look, named, on)
    sightings = {*(first_sightings[u] for u in arrived if u in first_sightings)}
    return WeekFacts(
        first=first, last=last, on=on, walks=tuple(_walks(look, first, last)),
        walk_before=_walk_before(look, first), units=units, arrived=tuple(arrived),
        first_sightings={u: first_sightings[u] for u in arrived}, changes=changes, done=done, fixed=fixed,
        waiting=waiting, actions=actions, totals=_totals(look, on), customers=tuple(customers),
        walked=tuple(walked), unseen=unseen, question_counts=asked.count(look), questions=tuple(questions),
        sureness=_sureness(look, first, last), decided=_decided(look, *decided),
        arrivals_by_day=_arrivals(look, since, on), waits_by_day=tuple(_waits(look, since, on)),
        evidence=_evidence(look, [*(a.entry for a in actions), *(i.entry for i in fixed)]),
        done_evidence=_endings(look, first, last, {a.unit for a in done}),
        stage_evidence=_sighting_evidence(
            look, {*(c.sighting for c in changes), *(w.sighting for w in waiting)}, ("stage",)),
        named_evidence=_sighting_evidence(look, sightings, ("model", "maker", "unit_type")),
        cautions=shown.told(look, units))


# ---- the queries. CROSS JOIN keeps SQLite from turning the order round: few walks first, then what is theirs


def _day(value: str | None) -> date | None:
    return date.fromisoformat(value) if value else None


def _must_day(value: str) -> date:
    return date.fromisoformat(value)


def _walks(look: Look, first: date, last: date) -> list[WeekWalk]:
    sql = """SELECT w.id, w.date, (SELECT count(*) FROM sighting s WHERE s.walk_id = w.id AND s.state = 'seen'),
                    (SELECT count(*) FROM photo p WHERE p.walk_id = w.id),
                    (SELECT count(*) FROM recording r WHERE r.walk_id = w.id),
                    (SELECT count(*) FROM problem b WHERE b.walk_id = w.id AND b.current)
             FROM walk w WHERE w.date BETWEEN :first AND :last ORDER BY w.date, w.id"""
    rows = look.rows(sql, first=first, last=last)
    return [WeekWalk(walk, _must_day(day), *counts) for walk, day, *counts in rows]


def _walk_before(look: Look, first: date) -> tuple[str, date] | None:
    sql = "SELECT id, date FROM walk WHERE date < :first ORDER BY date DESC, id DESC LIMIT 1"
    found = look.rows(sql, first=first)
    return (found[0][0], _must_day(found[0][1])) if found else None


def _stage_runs(look: Look, on: date) -> Iterable[StageRun]:
    sql = """SELECT unit_id, stage, since, until, sighting FROM stage_run
             WHERE stage = 'waiting' AND since <= :on AND (until IS NULL OR until > :on)
             ORDER BY since, length(unit_id), unit_id"""
    for unit, stage, since, until, sighting in look.rows(sql, on=on):
        yield StageRun(unit, stage, _must_day(since), _day(until), sighting)


def _changes(look: Look, first: date, last: date) -> Iterable[StageChange]:
    """As the store's `stage_changes`, without a row object for each."""
    sql = """SELECT r.unit_id, (SELECT b.stage FROM stage_run b WHERE b.unit_id = r.unit_id AND b.id < r.id
                                ORDER BY b.id DESC LIMIT 1), r.stage, r.since, r.sighting
             FROM stage_run r WHERE r.since BETWEEN :first AND :last ORDER BY r.since, r.unit_id, r.id"""
    for unit, before, after, since, sighting in look.rows(sql, first=first, last=last):
        yield StageChange(unit, before, after, _must_day(since), sighting)


_ACTION = "a.unit_id, a.work, a.part, a.due, a.waiting_on, a.since, a.until, a.sighting, a.entry_id"


def _actions(look: Look, on: date) -> Iterable[ActionLine]:
    """Open work that the report may speak of."""
    needs = ", ".join(f"'{work}'" for work in NEEDS_PART)
    sql = f"""SELECT {_ACTION} FROM action_run a
              WHERE a.since <= :on AND (a.until IS NULL OR a.until > :on)
                AND (a.due IS NOT NULL OR a.waiting_on IS NOT NULL OR a.work IN ({needs}) OR a.unit_id IN (
                     SELECT r.unit_id FROM stage_run r WHERE r.stage = 'waiting' AND r.since <= :on
                                                         AND (r.until IS NULL OR r.until > :on)))
              ORDER BY a.due IS NULL, a.due, a.since, length(a.unit_id), a.unit_id, a.id"""
    return [_action(row) for row in look.rows(sql, on=on)]


def _ended_actions(look: Look, first: date, last: date) -> list[ActionLine]:
    sql = f"SELECT {_ACTION} FROM action_run a WHERE a.until BETWEEN :first AND :last ORDER BY a.until, a.unit_id, a.id"
    return [_action(row) for row in look.rows(sql, first=first, last=last)]


def _action(row: Sequence[Any]) -> ActionLine:
    unit, work, part, due, waiting_on, since, until, sighting, entry = row
    return ActionLine(unit, work, part, due, waiting_on, _must_day(since), _day(until), sighting, entry)


def _fixed(look: Look, first: date, last: date) -> Iterable[IssueLine]:
    sql = """SELECT unit_id, part, symptom, side, state, since, until, sighting, entry_id FROM issue_run
             WHERE until BETWEEN :first AND :last ORDER BY until, unit_id, id"""
    for unit, part, symptom, side, state, since, until, sighting, entry in look.rows(sql, first=first, last=last):
        yield IssueLine(unit, part, symptom, side, state, _must_day(since), _day(until), sighting, entry)


def _walked(look: Look, first: date, last: date) -> list[str]:
    return look.column("""SELECT DISTINCT json_extract(e.held, '$') FROM walk w
        CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen' CROSS JOIN entry e ON e.sighting_id = s.id
        WHERE w.date BETWEEN :first AND :last AND e.field = 'location' AND e.held IS NOT NULL ORDER BY 1""",
                   first=first, last=last)


def _unseen(look: Look, first: date, last: date, walked: Sequence[str]) -> Iterable[Unseen]:
    """Units that stood, when last seen before the period, where its walks went, and that these did not mention."""
    # Most units of a shop's history meet any one of these, so no index helps: one pass over all is the quickest.
    sql = """SELECT unit_id, location, last_seen FROM unit_now NOT INDEXED
             WHERE (stage IS NOT 'listed' OR last_seen >= :sold) AND last_seen < :first AND location IN :keys"""
    found = [Unseen(unit, place, _must_day(day))
             for unit, place, day in look.of_keys(sql, walked, first=first, sold=first - SOLD_AFTER)]
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
    for unit, day, place in look.rows(sql, first=first, last=last) if walked else ():
        before = earlier.get(unit)
        earlier[unit] = Unseen(unit, place or (before.location if before else ""), _must_day(day))
    places = set(walked)
    found += [one for one in earlier.values() if one.location in places]
    return sorted(found, key=lambda one: (one.last_seen, len(one.unit), one.unit))


def _customers(look: Look, on: date) -> list[str]:
    """Customers' units that a walk of the last four weeks before `on` saw."""
    sql = """SELECT DISTINCT n.unit_id FROM walk w CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen'
             CROSS JOIN unit_now n ON n.unit_id = s.unit_id
             WHERE w.date BETWEEN date(:on, :back) AND :on AND n.source IN ('customer repair', 'consignment')
             ORDER BY n.first_seen, length(n.unit_id), n.unit_id"""
    return look.column(sql, on=on, back=f"-{HERE_DAYS - 1} days")


def _units(look: Look, ids: Iterable[str], on: date) -> tuple[dict[str, WeekUnit], dict[str, str]]:
    sql = """SELECT n.unit_id, n.unit_type, n.maker, n.model, n.serial, n.location, r.stage, n.source, n.first_seen,
                    n.last_seen, n.questions, r.since, n.first_sighting
             FROM unit_now n LEFT JOIN stage_run r ON r.unit_id = n.unit_id AND r.since <= :on
                                                  AND (r.until IS NULL OR r.until > :on)
             WHERE n.unit_id IN :keys"""
    units, sightings = {}, {}
    for row in look.of_keys(sql, sorted(ids), on=on):
        unit, kind, maker, model, serial, place, stage, source, first_seen, last_seen, asked, since, sighting = row
        units[unit] = WeekUnit(unit, kind, maker, model, serial, place, stage, source, _must_day(first_seen),
                               _must_day(last_seen), asked, _day(since))
        sightings[unit] = sighting
    return units, sightings


def _totals(look: Look, on: date) -> dict[str | None, int]:
    sums = ", ".join(f"total(source IS '{source}')" for source in SOURCES)
    sql = f"SELECT count(*), {sums} FROM unit_now NOT INDEXED WHERE first_seen <= :on"
    everything, *counts = map(int, look.rows(sql, on=on)[0])
    return {**dict(zip(SOURCES, counts, strict=True)), None: everything - sum(counts)}


def _sureness(look: Look, first: date, last: date) -> Sureness:
    sql = """SELECT count(*), coalesce(sum(e.question = 1), 0), coalesce(sum(e.decision = 'accepted'), 0),
                    coalesce(sum(e.decision = 'corrected'), 0)
             FROM walk w CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen'
             CROSS JOIN entry e ON e.sighting_id = s.id
             WHERE w.date BETWEEN :first AND :last AND (e.held IS NOT NULL OR e.question OR e.decision IS NOT NULL)"""
    return Sureness(*map(int, look.rows(sql, first=first, last=last)[0]))


def _decided(look: Look, start: str, end: str) -> int:
    """People's acts that stand, between two moments of UTC (ISO 8601, as the tables write them)."""
    sql = "SELECT count(*) FROM batch WHERE kind = 'edit' AND undone_by IS NULL AND at >= :start AND at < :end"
    return int(look.rows(sql, start=start, end=end)[0][0])


def _arrivals(look: Look, since: date, on: date) -> dict[date, int]:
    sql = "SELECT first_seen, count(*) FROM unit_now WHERE first_seen BETWEEN :since AND :on GROUP BY 1"
    return {_must_day(day): number for day, number in look.rows(sql, since=since, on=on)}


def _waits(look: Look, since: date, on: date) -> Iterable[tuple[date, date | None]]:
    sql = """SELECT since, until FROM stage_run WHERE stage = 'waiting' AND since <= :on
             AND (until IS NULL OR until > :since)"""
    for began, ended in look.rows(sql, since=since, on=on):
        yield _must_day(began), _day(ended)


def _evidence(look: Look, entries: Sequence[int]) -> dict[int, tuple[Evidence, ...]]:
    found = look.of_keys("SELECT id, evidence FROM entry WHERE id IN :keys", entries)
    return {entry: codec.evidence_of(json.loads(words)) for entry, words in found}


def _endings(look: Look, first: date, last: date, units: Iterable[str]) -> dict[tuple[str, date], tuple[Ending, ...]]:
    """What the walks of these days told of these units that can end work."""
    sql = """SELECT s.unit_id, w.date, s.walk_id || '/' || s.local_id, e.field, e.held, e.evidence FROM walk w
             CROSS JOIN sighting s ON s.walk_id = w.id AND s.state = 'seen' CROSS JOIN entry e ON e.sighting_id = s.id
             WHERE w.date BETWEEN :first AND :last AND s.unit_id IN :keys AND e.field IN ('service', 'issues', 'stage')
               AND e.held IS NOT NULL ORDER BY w.date, w.id, s.position, s.id, e.field, e.number"""
    out: dict[tuple[str, date], tuple[Ending, ...]] = {}
    for unit, day, sighting, name, value, words in look.of_keys(sql, units, first=first, last=last):
        key = (unit, _must_day(day))
        ending = Ending(name, loaded(value), sighting, codec.evidence_of(loaded(words)))
        out[key] = (*out.get(key, ()), ending)
    return out


def _sighting_evidence(look: Look, sightings: Iterable[str],
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
        said = {(local, name): words for local, name, words in look.of_keys(sql, locals_, walk=walk)}
        for local in locals_:
            first = next((words for name in fields if (words := said.get((local, name), "[]")) != "[]"), "[]")
            out[f"{walk}/{local}"] = codec.evidence_of(json.loads(first))
    return out
