"""The week's numbers and lists, made from what the records say; no database, no formatting.

What counts as what:
- a unit *arrived* on the day a walk first saw it; it *moved on* when a walk found it at another stage, and is
  *finished* when that stage is the last, "listed";
- a unit is *stuck* while its stage is "waiting"; a single piece of work may wait though its unit is worked on;
- work is *overdue* when the last day its date may mean is past, and *due* when some day it may mean is today or one
  of the next seven.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from intake.language.draft import Evidence
from intake.records.types import ActionLine, IssueLine, StageChange, StageRun
from intake.records.weekly import SOLD_AFTER, WeekFacts, WeekUnit
from intake.report import waits
from intake.report.lines import (
    Arrival,
    Done,
    Due,
    Keeping,
    Missing,
    Move,
    Owned,
    Quote,
    Sure,
    Thing,
    Wait,
    Week,
    WeekPoint,
    in_order,
)
from intake.report.ordering import Orders
from intake.report.weeks import DUE_DAYS, Period, chart_weeks, spread

FLOW = ("received", "testing", "in repair", "ready to photograph", "ready to list", "listed")
LAST_STAGE = "listed"
CUSTOMERS = ("customer repair", "consignment")
STOCK = ("purchase", "trade-in")
AGES = ((0, 6, "under a week"), (7, 13, "1 to 2 weeks"), (14, 27, "2 to 4 weeks"), (28, 55, "4 to 8 weeks"),
        (56, None, "8 weeks and more"))


def make_week(facts: WeekFacts, period: Period, parts: Collection[str]) -> Week:
    """The report of the facts; `parts`: the terms for parts and accessories that tell a part from a person."""
    maker = _Maker(facts, period, parts)
    stuck, work_waits = maker.waits()
    moved = tuple(maker.moves())
    finished = tuple(move for move in moved if move.after == LAST_STAGE)
    dated = tuple(maker.dated())
    overdue = tuple(one for one in dated if one.days < 0)
    horizon = period.on + timedelta(days=DUE_DAYS)
    arrived = tuple(Arrival(maker.thing(unit), facts.units[unit].first_seen,
                            maker.quote(facts.named_evidence, facts.first_sightings[unit])) for unit in facts.arrived)
    orders = maker.orders()
    week = Week(
        period=period, walks=facts.walks, walk_before=facts.walk_before, arrived=arrived,
        by_source=_counted(one.unit.source for one in arrived), by_type=_counted(one.unit.unit_type for one in arrived),
        moved=moved, finished=finished, done=tuple(maker.done()), stuck=stuck, work_waits=work_waits, overdue=overdue,
        due=tuple(one for one in dated if one.days >= 0 and one.first <= horizon), dated=dated,
        parts=tuple(orders.to_order()), not_yet=tuple(orders.not_yet()), owned=(), customers=tuple(maker.customers()),
        customers_seen=len(facts.customers), places=facts.walked, unseen=tuple(maker.missing()),
        question_counts=tuple(facts.question_counts.items()),
        questions=tuple((maker.thing(q.unit) if q.unit else None, q) for q in facts.questions),
        sure=Sure(facts.sureness.values, facts.sureness.flagged, facts.sureness.accepted, facts.sureness.corrected,
                  facts.decided),
        chart=tuple(_chart(facts)), ages=())
    return _with_numbers(week, facts)


def _with_numbers(week: Week, facts: WeekFacts) -> Week:
    ages = [(label, sum(low <= wait.days and (high is None or wait.days <= high) for wait in week.stuck_units))
            for low, high, label in AGES]
    return replace(week, ages=tuple(ages), owned=tuple(_owned(week, facts)))


class _Maker:
    """Builds the lines of a report from its facts."""

    def __init__(self, facts: WeekFacts, period: Period, parts: Collection[str]) -> None:
        self.facts, self.on, self.parts = facts, period.on, parts
        self.things: dict[str, Thing] = {}
        self.kinds: dict[str | None, str] = {}
        self.open: dict[str, list[ActionLine]] = {}
        for action in facts.actions:
            self.open.setdefault(action.unit, []).append(action)

    def thing(self, unit: str) -> Thing:
        if unit not in self.things:
            self.things[unit] = self._thing(unit)
        return self.things[unit]

    def _thing(self, unit: str) -> Thing:
        found = self.facts.units.get(unit)
        if found is None:                              # its last record was dropped: only its number is left
            return Thing(unit, "unit without a record", None, None, None, None, None, "not known", 0)
        return Thing(unit, name_of(found), found.unit_type, found.serial, found.location, found.stage, found.source,
                     whose(found.source), found.questions, self.facts.cautions.get(unit, ()))

    def kind(self, waiting_on: str | None) -> str:
        if waiting_on not in self.kinds:
            self.kinds[waiting_on] = waits.kind_of(waiting_on, self.parts)
        return self.kinds[waiting_on]

    def quote(self, evidence: Mapping[str, tuple[Evidence, ...]], sighting: str) -> Quote | None:
        return quote_of(evidence.get(sighting, ()), sighting)

    def said(self, line: ActionLine | IssueLine) -> Quote | None:
        return quote_of(self.facts.evidence.get(line.entry, ()), line.sighting)

    def moves(self) -> Iterable[Move]:
        for change in self.facts.changes:
            if change.before is not None:
                yield Move(self.thing(change.unit), change.before, change.after, change.on, way(change),
                           self.quote(self.facts.stage_evidence, change.sighting))

    def done(self) -> Iterable[Done]:
        for action in self.facts.done:
            if action.until is not None:
                yield Done(self.thing(action.unit), work_in_words(action), "work", action.until,
                           self.ended(action, action.until))
        for issue in self.facts.fixed:
            if issue.until is not None:
                yield Done(self.thing(issue.unit), issue_in_words(issue), "issue", issue.until, self.said(issue))

    def ended(self, action: ActionLine, on: date) -> Quote | None:
        """The words that say that work is over: service told, else the fault put right, else the stage after it."""
        told = self.facts.done_evidence.get((action.unit, on), ())
        fits = [one for one in told if one.field == "service" and one.value["work"] == action.work
                and one.value["part"] in (action.part, None)]
        fits += [one for one in told if one.field == "issues" and one.value["state"] == "fixed"
                 and one.value["part"] == action.part]
        fits += [one for one in told if one.field == "stage"]
        return next((quote for one in fits if (quote := quote_of(one.evidence, one.sighting))), None)

    def waits(self) -> tuple[tuple[tuple[str, tuple[Wait, ...]], ...], tuple[Wait, ...]]:
        """Stuck units by what they wait for, the oldest wait and its kind first; and work that waits of other units."""
        groups: dict[str, list[Wait]] = {}
        stuck = {run.unit: run for run in self.facts.waiting}
        for run in self.facts.waiting:
            for wait in self._waits_of(run):
                groups.setdefault(wait.kind, []).append(wait)
        listed = [(kind, tuple(sorted(groups[kind], key=_oldest))) for kind in waits.KINDS if kind in groups]
        ordered = tuple(sorted(listed, key=lambda group: group[1][0].since))
        single = [self._wait(action, action.since) for action in self.facts.actions
                  if action.waiting_on and action.unit not in stuck and self._still_waits(action)]
        return ordered, tuple(sorted(single, key=_oldest))

    def _waits_of(self, run: StageRun) -> Iterable[Wait]:
        actions = [action for action in self.open.get(run.unit, ()) if action.waiting_on]
        seen: set[str] = set()
        for action in actions:
            if action.waiting_on and action.waiting_on not in seen:
                seen.add(action.waiting_on)
                yield self._wait(action, run.since)
        if not actions:
            yield Wait(self.thing(run.unit), "not said", None, run.since, (self.on - run.since).days,
                       self._first(run.unit, run.since), self._to_do(run.unit),
                       self.quote(self.facts.stage_evidence, run.sighting))

    def _wait(self, action: ActionLine, since: date) -> Wait:
        kind = self.kind(action.waiting_on)
        return Wait(self.thing(action.unit), kind, action.waiting_on, since, (self.on - since).days,
                    self._first(action.unit, since), self._to_do(action.unit), self.said(action))

    def _first(self, unit: str, since: date) -> bool:
        found = self.facts.units.get(unit)
        return found is not None and found.first_seen == since

    def _to_do(self, unit: str) -> tuple[str, ...]:
        return tuple(dict.fromkeys(work_in_words(action) for action in self.open.get(unit, ())))

    def _still_waits(self, action: ActionLine) -> bool:
        """False where a later walk found the unit ready for sale: what is left to do waits no more."""
        unit = self.facts.units.get(action.unit)
        return unit is None or unit.stage not in FLOW[3:]

    def dated(self) -> Iterable[Due]:
        stuck = {run.unit for run in self.facts.waiting}
        lines = []
        for action in self.facts.actions:
            days = spread(action.due)
            if days is not None and action.due is not None:
                lines.append(Due(self.thing(action.unit), work_in_words(action), action.due, *days,
                                 (days[1] - self.on).days, days[0] == days[1], action.waiting_on,
                                 action.unit in stuck, self.said(action)))
        return sorted(lines, key=lambda one: (one.last, one.first, in_order(one.unit.id), one.work))

    def orders(self) -> Orders:
        return Orders(self.parts, self.kind, thing=self.thing, work=work_in_words, said=self.said).add(
            self.facts.actions)

    def customers(self) -> Iterable[Keeping]:
        for unit in self.facts.customers:
            found = self.facts.units[unit]
            if found.stage != LAST_STAGE or found.source == "consignment":
                yield Keeping(self.thing(unit), found.first_seen, found.stage_since, (self.on - found.first_seen).days)

    def missing(self) -> Iterable[Missing]:
        lines = [Missing(self.thing(one.unit), one.location, one.last_seen, (self.on - one.last_seen).days,
                         self.thing(one.unit).stage == LAST_STAGE) for one in self.facts.unseen]
        lines = [one for one in lines if not one.sold or self.facts.first - one.last_seen <= SOLD_AFTER]
        return sorted(lines, key=lambda one: (one.sold, one.last_seen, in_order(one.unit.id)))


def name_of(unit: WeekUnit) -> str:
    """Maker and model, or the type where neither is known."""
    return " ".join(part for part in (unit.maker, unit.model) if part) or unit.unit_type or "unknown unit"


def whose(source: str | None) -> str:
    """Whose property a unit is, by how the shop came by it."""
    return "customer's" if source in CUSTOMERS else "stock" if source in STOCK else "not known"


def way(change: StageChange) -> str:
    """Which way a unit moved through the shop."""
    if change.after == "waiting":
        return "stuck"
    if change.before == "waiting":
        return "free"
    if change.before in FLOW and change.after in FLOW and FLOW.index(change.after) < FLOW.index(change.before):
        return "back"
    return "on"


def work_in_words(action: ActionLine) -> str:
    """Work and part: "replace belt"."""
    return " ".join(part for part in (action.work, action.part) if part)


def issue_in_words(issue: IssueLine) -> str:
    """Side, part and symptom: "left channel: dead"."""
    thing = " ".join(part for part in (issue.side, issue.part) if part)
    return ": ".join(part for part in (thing, issue.symptom) if part)


def quote_of(evidence: Sequence[Evidence], sighting: str) -> Quote | None:
    """The first words behind a value of a sighting ("<walk>/u3"); None where there are none."""
    if not evidence:
        return None
    first = evidence[0]
    return Quote(sighting.rpartition("/")[0], sighting, first.recording, first.start_s, first.end_s, first.words)


def _oldest(wait: Wait) -> tuple[date, tuple[int, str]]:
    return wait.since, in_order(wait.unit.id)


def _counted(names: Iterable[str | None]) -> tuple[tuple[str, int], ...]:
    """How many of each, the most first; what has no name last."""
    counts = Counter(name or "not said" for name in names)
    return tuple(sorted(counts.items(), key=lambda item: (item[0] == "not said", -item[1], item[0])))


def _chart(facts: WeekFacts) -> Iterable[WeekPoint]:
    for name, monday, sunday in chart_weeks(facts.on):
        end = min(sunday, facts.on)
        arrived = sum(number for day, number in facts.arrivals_by_day.items() if monday <= day <= end)
        stuck = sum(since <= end and (until is None or until > end) for since, until in facts.waits_by_day)
        yield WeekPoint(name, arrived, stuck)


def _owned(week: Week, facts: WeekFacts) -> Iterable[Owned]:
    def count(lines: Iterable[Thing], whose_: str) -> int:
        return len({thing.id for thing in lines if thing.whose == whose_})

    lists: Sequence[list[Thing]] = (
        [line.unit for line in week.arrived], [line.unit for line in week.moved],
        [line.unit for line in week.finished], [line.unit for line in week.stuck_units],
        [line.unit for line in week.overdue], [line.unit for line in week.missing],
        [line.unit for line in week.perhaps_sold])
    for name in ("customer's", "stock", "not known"):
        on_file = sum(number for source, number in facts.totals.items() if whose(source) == name)
        yield Owned(name, on_file, *(count(things, name) for things in lists))
