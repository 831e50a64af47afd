"""A number that stands twice in a report is the same, or says what else it counts; each form says what is left out."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from intake.cli import week_page
from intake.records.types import ActionLine, Question
from intake.records.weekly import MOST_QUESTIONS
from intake.report import render_html, render_markdown, tables, waits, words, workbook
from intake.report.lines import Quote, Thing, Week, units_of
from intake.report.ordering import Orders

from .conftest import NOW, Shop
from .test_page import Page


def _page(week: Week) -> str:
    return Page(render_html.html(week, render_html.Extras(shop="Larkspur & Pell Audio", made=NOW))).text


def _markdown(week: Week) -> str:
    return " ".join(render_markdown.markdown(week, "Larkspur & Pell Audio").split())


def _terminal(week: Week) -> str:
    return " ".join(" ".join(week_page.page(week, "Larkspur & Pell Audio")).split())


FORMS = pytest.mark.parametrize("form", [_page, _markdown, _terminal], ids=["page", "markdown", "terminal"])
Form = Callable[[Week], str]


# ---- parts that are not to order yet


@FORMS
def test_parts_of_repairs_that_are_not_settled_are_named(shop: Shop, form: Form) -> None:
    """Where the orders stand, each unit left out is named with its part and what it waits for."""
    week = shop.week()
    assert [line.unit.id for line in week.not_yet] == ["U0020", "U0033", "U0037"]
    text = form(week)
    assert "Left out: 3 units whose repair is not settled yet" in text
    after = text[text.index(words.NOT_YET) :]
    for line in week.not_yet:
        assert re.search(rf"{line.unit.id}.{{0,60}}{line.part}; waits for {line.waiting_on}", after)


@FORMS
def test_nothing_is_left_out_in_silence_or_in_vain(shop: Shop, form: Form) -> None:
    """Where no part is left out, nothing is said of it."""
    text = form(replace(shop.week(), not_yet=()))
    assert "Left out" not in text
    assert "not settled" not in text


def test_tables_have_the_parts_that_are_not_to_order_yet(shop: Shop) -> None:
    """CSV, JSON Lines and the workbook have a row for each, apart from the parts to order."""
    import openpyxl

    week = shop.week()
    rows = [row for row in tables.rows(week) if row["section"] == "part not yet"]
    assert [(row["unit"], row["group"], row["what"]) for row in rows] == [
        (line.unit.id, line.part, f"{line.work} (waits for {line.waiting_on} first)") for line in week.not_yet
    ]
    assert len(rows) == 3
    book = openpyxl.load_workbook(io.BytesIO(workbook.xlsx(week, NOW)))
    assert book["Parts not yet"].max_row == 4


def _orders(*jobs: tuple[str, str, str | None, str | None]) -> Orders:
    """The orders of jobs (unit, work, part, waiting on) in the words of a small shop."""

    def thing(unit: str) -> Thing:
        return Thing(unit, unit, None, None, None, None, None, "stock", 0)

    def said(_: ActionLine) -> Quote | None:
        return None

    day = date(2026, 5, 1)
    lines = [ActionLine(unit, work, part, None, on, day, None, "w/u1", at) for at, (unit, work, part, on) in
             enumerate(jobs)]
    terms = {"belt", "lamp"}
    return Orders(terms, lambda on: waits.kind_of(on, terms), thing=thing, work=lambda a: a.work, said=said).add(lines)


@pytest.mark.parametrize(
    ("job", "ordered", "left_out"),
    [
        (("U1", "replace", "belt", None), "belt", None),
        (("U1", "replace", "belt", "belt"), "belt", None),
        (("U1", "clean", "belt", "a new belt"), "belt", None),
        (("U1", "replace", "belt", "owner's okay"), None, "belt"),
        (("U1", "retube", None, "Bev"), None, "tube"),
        (("U1", "order", None, "soak test"), None, "part not named"),
        (("U1", "clean", "belt", "owner's okay"), None, None),
    ],
)
def test_what_is_to_order(job: tuple[str, str, str | None, str | None], ordered: str | None,
                          left_out: str | None) -> None:
    """A part is to order where a job needs or awaits it; it is left out where the job awaits something else."""
    orders = _orders(job)
    assert [part.part for part in orders.to_order()] == ([ordered] if ordered else [])
    assert [line.part for line in orders.not_yet()] == ([left_out] if left_out else [])


def test_a_part_to_order_is_not_left_out_too() -> None:
    """One unit's part stands among the orders or among those left out, never in both."""
    orders = _orders(("U1", "replace", "belt", "Bev"), ("U1", "order", "belt", None), ("U2", "replace", "belt", "Bev"))
    assert [(part.part, [need.unit.id for need in part.needs]) for part in orders.to_order()] == [("belt", ["U1"])]
    assert [line.unit.id for line in orders.not_yet()] == ["U2"]


# ---- questions


@FORMS
def test_questions_say_how_many_are_listed_of_how_many(shop: Shop, form: Form) -> None:
    """The open questions of all walks and those listed here are told in one breath, each with what it counts."""
    week = shop.week()
    everything, here = words.asked(week), len(week.questions)
    assert 0 < here < everything
    text = form(week)
    assert f"{everything} questions for the reviewer; {here} from these days' walks" in text
    assert f"Open questions now, of all walks: {everything} ({everything} values). From these days" in text
    assert f"walks: {here}, listed here." in text


def test_questions_all_none_and_too_many(shop: Shop) -> None:
    """All, none, more than a page lists, and more than the report reads are each told as such."""
    week = shop.week()
    asked = replace(week, question_counts=(("value", 1000),))
    one: tuple[Thing | None, Question] = week.questions[0]
    assert words.look_at(replace(week, question_counts=(), questions=())) == "No question is open."
    assert words.look_at(replace(asked, question_counts=(("value", 4),))).endswith("From these days' walks: all, "
                                                                                  "listed here.")
    assert words.look_at(replace(asked, questions=())).endswith("From these days' walks: 0.")
    many = replace(asked, questions=(one,) * MOST_QUESTIONS)
    assert words.look_at(many, 15).endswith(f"From these days' walks: {MOST_QUESTIONS} or more; the first 15 are "
                                            "listed here.")


@FORMS
def test_acceptances_are_told_once(shop: Shop, form: Form) -> None:
    """The values that people accepted are not set against the acts of these days, which count something else."""
    week = shop.week()
    assert week.sure.accepted != week.sure.decided
    text = form(week)
    assert re.search(rf"accepted( by a person)? {week.sure.accepted}\b|\b{week.sure.accepted} accepted", text)
    assert "answered" not in text
    assert text == form(replace(week, sure=replace(week.sure, decided=77)))


def test_every_number_of_the_workbook_says_what_it_counts(shop: Shop) -> None:
    """The first sheet has a third column: no two numbers of the same name, none without its meaning."""
    import openpyxl

    week = shop.week()
    book = openpyxl.load_workbook(io.BytesIO(workbook.xlsx(week, NOW)))
    lines = list(book["Week"].iter_rows(min_row=2, values_only=True))
    assert [line[0] for line in lines] == list(tables.numbers(week))
    assert all(line[2] for line in lines)


# ---- units not seen, and customers' units


@FORMS
def test_units_not_seen_are_one_number_and_those_perhaps_sold_another(shop: Shop, form: Form) -> None:
    """Expected units and those that may be sold are counted apart wherever they are counted."""
    week = shop.week()
    missing, sold = len(week.missing), len(week.perhaps_sold)
    assert missing
    assert sold
    text = form(week).replace("&#39;", "'")
    theirs = sum(line.unit.whose == "customer's" for line in week.missing)
    assert 1 < theirs < missing
    assert text.count(f"{missing} units expected where the walks went; of these, {theirs} are customers'; {sold} more "
                      "may be sold") == 2
    assert f"{missing + sold} units" not in text
    assert "not seen, expected" in text
    assert "not seen, perhaps sold" in text


def test_tables_keep_units_perhaps_sold_apart(shop: Shop) -> None:
    """The rows of each section are as many as the number of that name."""
    week = shop.week()
    numbers, sections = tables.numbers(week), tables.sections(tables.rows(week))
    for number, section in (
        ("not seen", "not seen"), ("not seen, perhaps sold", "perhaps sold"), ("came in", "came in"),
        ("changes of stage", "moved"), ("work done", "done"), ("overdue", "overdue"), ("due", "due"),
        ("parts left out", "part not yet"), ("customers' units here", "customer's unit"), ("jobs waiting", "job waits"),
    ):
        assert numbers[number] == len(sections.get(section, []))


@FORMS
def test_customers_units_on_file_and_listed_add_up(shop: Shop, form: Form) -> None:
    """The number on file, the number listed and what became of the others stand in one line."""
    week = shop.week()
    on_file = next(row.on_file for row in week.owned if row.whose == "customer's")
    away = on_file - len(week.customers)
    missing = {line.unit.id for line in week.missing} & {line.unit.id for line in week.customers}
    assert away > 0
    assert missing
    assert week.customers_seen == len(week.customers)
    text = form(week).replace("’", "'")
    assert (f"Customers' units on file: {on_file}. Listed here: {len(week.customers) - len(missing)}. "
            f"The others: {len(missing)} not seen where the walks went, {away} seen by no walk of the last four "
            "weeks.") in text
    assert not missing & {line.unit.id for _, lines in words.customers_by_kind(week) for line in lines}


def test_finished_customers_units_are_told(shop: Shop) -> None:
    """A customer's repair that is finished is on file, seen, and not listed: the line says so."""
    week = shop.week()
    line = words.customers_line(replace(week, customers=week.customers[1:]))
    assert line.endswith("weeks, 1 finished.")
    everyone = [replace(row, on_file=len(week.customers)) for row in week.owned]
    seen = replace(week, owned=tuple(everyone), unseen=())
    assert words.customers_line(seen).endswith(f"Listed here: {len(week.customers)}.")


# ---- the order of what is stuck


@FORMS
def test_the_order_of_stuck_units_is_told_as_it_is(shop: Shop, form: Form) -> None:
    """The list is grouped, and says that the longest stands first within each group."""
    text = form(shop.week())
    assert "within each group, the longest first." in text
    assert "stuck, the longest first" not in text.casefold()
    assert "stands twice" not in text


def test_a_unit_in_two_groups_counts_once_and_says_so(shop: Shop) -> None:
    """Where groups add up to more than the stuck units, the report tells why."""
    week = shop.week()
    (kind, group), *rest = week.stuck
    twice = replace(week, stuck=((kind, group), ("something else", group), *rest))
    assert len(twice.stuck_units) == len(week.stuck_units)
    assert "stands twice, but counts once." in words.stuck_order(twice)


# ---- what is overdue, what moved, what was done


@FORMS
def test_overdue_work_has_its_date_and_its_days(shop: Shop, form: Form) -> None:
    """Every overdue job says when it was due and how many days ago that is; the words cited tell the date too."""
    week = shop.week()
    assert week.overdue
    text = form(week)
    for line in week.overdue:
        due = f"due {line.last:%a} {line.last.day} {line.last:%B %Y}, {-line.days} days over"
        assert due in text
        assert (week.period.on - line.last).days == -line.days
    assert f"The longest overdue: {week.overdue[0].work}, {week.overdue[0].unit.name}" in text


def test_the_words_cited_for_a_date_tell_it(shop: Shop) -> None:
    """In the invented shop, the sentence behind each date has the day in it, as a real walk's would."""
    week = shop.week()
    assert week.dated
    for line in week.dated:
        assert line.quote is not None
        assert f"by {line.last:%A} the {line.last.day}" in line.quote.words


def test_due_work_without_a_day_is_counted_apart(shop: Shop) -> None:
    """ "3 due by 24 May" counts whole dates; a month that may mean one of these days is told beside it."""
    week = shop.week()
    vague = replace(week.due[0], due="2026-05", exact=False)
    counted = words.due_count(replace(week, due=(*week.due, vague)))
    assert counted == "2 jobs overdue; 3 due by 24 May; 1 with no exact day"


def test_a_unit_that_moves_twice_counts_once(shop: Shop) -> None:
    """Units and changes of stage are two numbers; the page gives the second where they differ."""
    week = shop.week()
    again = replace(week, moved=(*week.moved, week.moved[0]), finished=(*week.finished, week.finished[0]))
    assert words.moved_count(again) == words.moved_count(week)
    assert "19 changes of stage" in _page(again)
    assert "changes of stage" not in _page(week)
    numbers = tables.numbers(again)
    assert (numbers["moved on"], numbers["changes of stage"], numbers["finished"]) == (18, 19, 4)


def test_work_done_on_two_days_keeps_its_days(shop: Shop) -> None:
    """Two jobs of a unit on two days stand under their own day each."""
    week = shop.week()
    first = week.done[0]
    later: Any = replace(first, on=first.on + timedelta(days=1))
    grouped = words.done_by_unit(replace(week, done=(first, later)))
    assert [(thing.id, [line.on for line in lines]) for thing, lines in grouped] == [
        (first.unit.id, [first.on]), (first.unit.id, [later.on])
    ]


def test_units_that_need_two_parts_count_once() -> None:
    """The orders' own count of units is of units, not of needs."""
    orders = _orders(("U1", "replace", "belt", None), ("U1", "replace", "lamp", None), ("U2", "replace", "lamp", None))
    parts = tuple(orders.to_order())
    assert [(part.part, part.units) for part in parts] == [("lamp", 2), ("belt", 1)]
    assert units_of(need for part in parts for need in part.needs) == ("U1", "U2")
