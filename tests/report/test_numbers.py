"""The report's numbers, worked out a second time from the base tables by other means."""

from __future__ import annotations

import json
from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest

from intake.report import weeks
from intake.report.lines import Week

from .conftest import Shop

WEEKS = ["2026-W10", "2026-W14", "2026-W17", "2026-W20"]


class Again:
    """The same records, counted from sightings and entries alone: nothing of the program's own sums is used."""

    def __init__(self, shop: Shop, name: str) -> None:
        self.first, self.last = weeks.week_days(name)
        self.sql = shop.sql
        self.seen = shop.sql.execute(
            "SELECT s.unit_id, w.date, s.id, w.id FROM sighting s JOIN walk w ON w.id = s.walk_id "
            "WHERE s.decision IS NULL AND s.present ORDER BY w.date, w.id, s.position"
        ).fetchall()
        self.entries: dict[tuple[int, str], Any] = {}
        for sighting, field, value, decision, decided in shop.sql.execute(
            "SELECT sighting_id, field, value, decision, decided_value FROM entry WHERE number = 0"
        ):
            held = value if decision is None else decided
            self.entries[sighting, field] = json.loads(str(held)) if held is not None else None

    def told(self, unit: str, field: str, until: date) -> list[tuple[date, Any]]:
        """What walks up to a day told of a field, oldest first."""
        return [
            (date.fromisoformat(day), self.entries[key, field])
            for u, day, key, _ in self.seen
            if u == unit and date.fromisoformat(day) <= until and self.entries.get((key, field)) is not None
        ]

    def units(self) -> list[str]:
        return list(dict.fromkeys(u for u, *_ in self.seen))

    def first_seen(self, unit: str) -> date:
        return min(date.fromisoformat(day) for u, day, *_ in self.seen if u == unit)

    def stages(self, unit: str, until: date) -> list[tuple[date, str]]:
        """(since, stage) of each run of a stage."""
        runs: list[tuple[date, str]] = []
        for day, stage in self.told(unit, "stage", until):
            if not runs or runs[-1][1] != stage:
                runs.append((day, stage))
        return runs

    def source(self, unit: str) -> str | None:
        told = self.told(unit, "source", date.max)
        return told[-1][1] if told else None

    def stuck(self, on: date) -> dict[str, int]:
        found = {unit: self.stages(unit, on) for unit in self.units()}
        return {unit: (on - runs[-1][0]).days for unit, runs in found.items() if runs and runs[-1][1] == "waiting"}

    def arrived(self, first: date, last: date) -> set[str]:
        return {unit for unit in self.units() if first <= self.first_seen(unit) <= last}


@pytest.fixture(scope="module", params=WEEKS)
def both(request: pytest.FixtureRequest, shop: Shop) -> tuple[Week, Again]:
    return shop.week(request.param), Again(shop, request.param)


def test_arrivals(both: tuple[Week, Again]) -> None:
    """Who came in, by source and by type."""
    week, again = both
    expected = again.arrived(again.first, again.last)
    assert {line.unit.id for line in week.arrived} == expected
    assert expected
    assert dict(week.by_source) == Counter(again.source(unit) or "not said" for unit in expected)
    types = [again.told(unit, "unit_type", date.max)[-1][1] for unit in expected]
    assert dict(week.by_type) == Counter(types)


def test_moves(both: tuple[Week, Again]) -> None:
    """Which unit went from which stage to which on what day, and which are finished."""
    week, again = both
    expected = set()
    for unit in again.units():
        runs = again.stages(unit, again.last)
        expected |= {
            (unit, runs[at - 1][1], stage, day)
            for at, (day, stage) in enumerate(runs)
            if at and again.first <= day <= again.last
        }
    assert {(m.unit.id, m.before, m.after, m.on) for m in week.moved} == expected
    assert {m.unit.id for m in week.finished} == {unit for unit, _, after, _ in expected if after == "listed"}


def test_stuck(both: tuple[Week, Again]) -> None:
    """Which units wait at the week's end, for how many days; the longest first; ages add up."""
    week, again = both
    expected = again.stuck(again.last)
    assert {w.unit.id: w.days for w in week.stuck_units} == expected
    days = [w.days for w in week.stuck_units]
    assert days == sorted(days, reverse=True)
    for _, group in week.stuck:
        assert [w.since for w in group] == sorted(w.since for w in group)
    assert [number for _, number in week.ages] == [
        sum(low <= d <= high for d in expected.values())
        for low, high in ((0, 6), (7, 13), (14, 27), (28, 55), (56, 9999))
    ]


def test_what_stuck_units_wait_for(both: tuple[Week, Again]) -> None:
    """A unit stands under everything its open work waits for, and under "not said" where that is nothing."""
    week, again = both
    rows = again.sql.execute(
        "SELECT unit_id, waiting_on FROM action_run WHERE waiting_on IS NOT NULL AND since <= ? AND "
        "(until IS NULL OR until > ?)",
        (again.last.isoformat(),) * 2,
    ).fetchall()
    for unit in again.stuck(again.last):
        said = {what for u, what in rows if u == unit}
        assert {w.what for _, group in week.stuck for w in group if w.unit.id == unit} == (said or {None})
    kinds = {
        "Bev": "person",
        "burn-in": "test",
        "owner's okay": "decision",
        "customer decision": "decision",
        "refoamer": "person",
        None: "not said",
    }
    for kind, group in week.stuck:
        assert {kinds.get(w.what, "part") for w in group} <= {kind, "part" if kind == "something else" else kind}


def test_due_and_overdue(both: tuple[Week, Again]) -> None:
    """Open work with a date before the last day is overdue; from that day to seven days on it is due."""
    week, again = both
    rows = again.sql.execute(
        "SELECT unit_id, work, due FROM action_run WHERE due IS NOT NULL AND since <= ? "
        "AND (until IS NULL OR until > ?)",
        (again.last.isoformat(),) * 2,
    ).fetchall()
    late = {(u, due) for u, _, due in rows if due < again.last.isoformat()}
    soon = {
        (u, due) for u, _, due in rows if again.last.isoformat() <= due <= (again.last + timedelta(days=7)).isoformat()
    }
    assert {(d.unit.id, d.due) for d in week.overdue} == late
    assert {(d.unit.id, d.due) for d in week.due} == soon
    assert len(week.dated) == len(rows)


def test_parts(both: tuple[Week, Again]) -> None:
    """Parts are added up over the units whose open work needs or waits for them."""
    week, again = both
    rows = again.sql.execute(
        "SELECT DISTINCT unit_id, coalesce(waiting_on, part) FROM action_run WHERE since <= ?1 AND (until IS NULL OR "
        "until > ?1) AND ((waiting_on IS NULL AND work IN ('replace', 'order')) OR waiting_on = part)",
        (again.last.isoformat(),),
    ).fetchall()
    assert {part.part: part.units for part in week.parts} == Counter(part for _, part in rows)
    waiting = again.sql.execute(
        "SELECT waiting_on, count(DISTINCT unit_id) FROM action_run "
        "WHERE since <= ?1 AND (until IS NULL OR until > ?1) "
        "AND waiting_on = part GROUP BY 1",
        (again.last.isoformat(),),
    ).fetchall()
    assert {part.part: part.waiting for part in week.parts if part.waiting} == dict(waiting)


def test_parts_that_are_not_to_order_yet(both: tuple[Week, Again]) -> None:
    """What needs a part but waits for something that is not a part is named, and is not to order."""
    week, again = both
    rows = again.sql.execute(
        "SELECT unit_id, part, waiting_on FROM action_run WHERE since <= ?1 AND (until IS NULL OR until > ?1) "
        "AND work IN ('replace', 'order') AND waiting_on IS NOT NULL AND waiting_on <> part",
        (again.last.isoformat(),),
    ).fetchall()
    assert {(n.unit.id, n.part, n.waiting_on) for n in week.not_yet} == set(rows)
    ordered = {(need.unit.id, part.part) for part in week.parts for need in part.needs}
    assert not {(n.unit.id, n.part) for n in week.not_yet} & ordered


def test_done(both: tuple[Week, Again]) -> None:
    """Work and faults that ended in the week."""
    week, again = both
    counts = [
        again.sql.execute(
            f"SELECT count(*) FROM {table} WHERE until BETWEEN ? AND ?",
            (again.first.isoformat(), again.last.isoformat()),
        ).fetchone()[0]
        for table in ("action_run", "issue_run")
    ]
    assert [sum(d.kind == kind for d in week.done) for kind in ("work", "issue")] == counts


def test_customers_apart_from_stock(both: tuple[Week, Again]) -> None:
    """The numbers of customers' property and of stock add up to all, each counted from the records."""
    week, again = both
    owners = {"consignment": "customer's", "customer repair": "customer's", "purchase": "stock", "trade-in": "stock"}

    def count(units: set[str]) -> Counter[str]:
        return Counter(owners.get(again.source(unit) or "", "not known") for unit in units)

    on_file = count(again.arrived(date.min, again.last))
    stuck, arrived = count(set(again.stuck(again.last))), count(again.arrived(again.first, again.last))
    for row in week.owned:
        assert (row.on_file, row.stuck, row.arrived) == (on_file[row.whose], stuck[row.whose], arrived[row.whose])
    for name, lines in (
        ("moved", week.moved), ("finished", week.finished), ("overdue", week.overdue), ("missing", week.missing),
        ("sold", week.perhaps_sold),
    ):
        assert sum(getattr(row, name) for row in week.owned) == len({line.unit.id for line in lines})
    recent = {
        u for u, day, *_ in again.seen if again.last - timedelta(days=27) <= date.fromisoformat(day) <= again.last
    }
    expected = {
        unit
        for unit in recent
        if again.source(unit) == "consignment"
        or (again.source(unit) == "customer repair" and again.stages(unit, again.last)[-1][1] != "listed")
    }
    assert {line.unit.id for line in week.customers} == expected
    ours = {unit for unit in again.arrived(date.min, again.last) if owners.get(again.source(unit) or "") == "customer's"}
    assert week.customers_seen == len(ours & recent)


def test_not_seen(both: tuple[Week, Again]) -> None:
    """Units last told of at a place that the week's walks named, and that these walks did not mention."""
    week, again = both
    there = {u for u, day, *_ in again.seen if again.first <= date.fromisoformat(day) <= again.last}
    places = {
        again.entries[key, "location"]
        for _, day, key, _ in again.seen
        if again.first <= date.fromisoformat(day) <= again.last and again.entries.get((key, "location"))
    }
    expected = set()
    for unit in set(again.units()) - there:
        before = again.told(unit, "location", again.first - timedelta(days=1))
        if before and before[-1][1] in places:
            expected.add(unit)
    assert set(week.places) == places
    assert {line.unit.id for line in week.unseen} == expected
    assert {line.unit.id for line in week.unseen if line.sold} == {
        unit for unit in expected if again.stages(unit, again.last)[-1][1] == "listed"
    }


def test_sureness(both: tuple[Week, Again]) -> None:
    """How many values of the week's walks there are, are asked about, were accepted, were corrected."""
    week, again = both
    rows = again.sql.execute(
        "SELECT e.value, e.reasons, e.notes, e.decision FROM entry e "
        "JOIN sighting s ON s.id = e.sighting_id JOIN walk w "
        "ON w.id = s.walk_id WHERE w.date BETWEEN ? AND ?",
        (again.first.isoformat(), again.last.isoformat()),
    ).fetchall()
    assert week.sure.values == len(rows)
    assert week.sure.flagged == sum(d is None and (r != "[]" or n != "[]") for _, r, n, d in rows)
    assert week.sure.accepted == sum(d == "accepted" for *_, d in rows)
    assert week.sure.corrected == sum(d == "corrected" for *_, d in rows)
    assert week.sure.flagged == sum(question.kind == "value" for _, question in week.questions)


def test_the_chart(both: tuple[Week, Again]) -> None:
    """Arrivals of each of twelve weeks, and the units stuck at each one's end."""
    week, again = both
    assert len(week.chart) == 12
    assert week.chart[-1].week == week.period.week
    for point in week.chart:
        first, last = weeks.week_days(point.week)
        assert point.arrived == len(again.arrived(first, last))
        assert point.stuck == len(again.stuck(last))


def test_open_questions_in_all(shop: Shop) -> None:
    """The open questions of all walks are those of the view that others see."""
    rows = shop.sql.execute("SELECT kind, count(*) FROM v_open_questions GROUP BY 1").fetchall()
    assert {kind: number for kind, number in shop.week().question_counts if number} == dict(rows)


def test_each_claim_knows_its_words(shop: Shop) -> None:
    """Arrivals, moves, waits, due work and needs each have words, a recording and seconds within it."""
    week = shop.week()
    lines = [
        *week.arrived,
        *week.moved,
        *week.done,
        *(w for _, group in week.stuck for w in group),
        *week.dated,
        *(need for part in week.parts for need in part.needs),
    ]
    assert len(lines) > 20
    for line in lines:
        assert line.quote is not None
        assert line.quote.words
        length = shop.sql.execute(
            "SELECT duration_s FROM recording WHERE walk_id = ? AND name = ?", (line.quote.walk, line.quote.recording)
        ).fetchone()[0]
        assert 0 <= line.quote.start_s < line.quote.end_s <= length
