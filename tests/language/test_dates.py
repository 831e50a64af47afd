"""Spoken dates against dateparser from one fixed day, and the readings in which the trade differs on purpose."""

from __future__ import annotations

from datetime import date, datetime, time
from itertools import product

import dateparser  # type: ignore[import-untyped]  # ships no types
import pytest

from intake.language.dates import SpokenDate, find_dates
from tests.language.said import text

DAY = date(2026, 1, 14)  # a Wednesday
NOON = datetime.combine(DAY, time(12))

RELATIVE = [
    "today", "tonight", "this morning", "tomorrow", "yesterday", "the day after tomorrow", "the day before yesterday",
    "three days ago", "twelve days ago", "a week ago", "two weeks ago", "a fortnight ago", "two months ago",
    "a year ago", "two years ago", "in ten days", "in two weeks", "in 6 weeks", "in three months", "last month",
    "last year", "next month", "next year", "last Friday", "last Monday", "last Wednesday", "next Monday",
]  # fmt: skip
ABSOLUTE = [
    "2019", "March 2024", "December 2009", "June 14 2019", "3rd of May 2021", "May 3rd, 2021", "February 29 2024",
    "14th of February 2025", "Sept 9th 2018",
]  # fmt: skip
SIDED = [
    "Friday",
    "Monday",
    "Sunday",
    "Wednesday",
    "June 14th",
    "January 20",
    "the 20th of January",
    "December",
    "August",
]


def spoken(said: str, *, future: bool = False) -> list[SpokenDate]:
    """All dates in the words."""
    tokens = text(said).tokens
    return find_dates(tokens, 0, len(tokens), DAY, future=future)


def reference(said: str, *, future: bool = False) -> str:
    """The day that dateparser reads, in full."""
    settings = {
        "RELATIVE_BASE": NOON,
        "PREFER_DATES_FROM": "future" if future else "past",
        "PREFER_DAY_OF_MONTH": "first",
    }
    found: datetime | None = dateparser.parse(said, languages=["en"], settings=settings)
    assert found is not None, f"dateparser does not read {said!r}"
    return found.date().isoformat()


def agrees(said: str, *, future: bool) -> None:
    """Our only date in the words is dateparser's, as far as we claim to know it."""
    (found,) = spoken(said, future=future)
    assert found.text is not None
    assert found.text == reference(said, future=future)[: len(found.text)]


@pytest.mark.parametrize(("said", "future"), list(product(RELATIVE, [True, False])))
def test_relative_expression(said: str, future: bool) -> None:
    """A relative expression is resolved against the walk's day as dateparser does, whatever the sentence is about."""
    agrees(said, future=future)


@pytest.mark.parametrize("said", ABSOLUTE)
def test_absolute_expression(said: str) -> None:
    """A date told with its year is the one that dateparser reads."""
    agrees(said, future=False)


@pytest.mark.parametrize(("said", "future"), list(product(SIDED, [True, False])))
def test_a_date_without_its_year_or_week_lies_on_the_sentence_s_side(said: str, future: bool) -> None:
    """A bare weekday, day or month lies ahead for work to do and behind for work done, as dateparser can be asked."""
    agrees(said, future=future)


@pytest.mark.parametrize(
    ("said", "written", "in_figures"),
    [
        ("the twenty fifth of july twenty twelve", "2012-07-25", "25 july 2012"),  # NeMo-text-processing, Apache-2.0
        ("June fourteenth, twenty nineteen", "2019-06-14", "June 14 2019"),
        ("the thirty-first of May two thousand and nine", "2009-05-31", "31 May 2009"),
        ("nineteen ninety-eight", "1998", "1998"),
        ("March of twenty twenty-four", "2024-03", "March 2024"),
    ],
)
def test_a_date_in_words(said: str, written: str, in_figures: str) -> None:
    """Dates in words, which dateparser does not read, are what it reads from the same date in figures."""
    assert [d.text for d in spoken(said)] == [written]
    assert reference(in_figures)[: len(written)] == written


@pytest.mark.parametrize(
    ("said", "precision"),
    [("in 2019", 4), ("two years ago", 4), ("in March 2024", 7), ("two months ago", 7), ("last week", 0)],
)
def test_precision_is_as_spoken(said: str, precision: int) -> None:
    """A date is written no finer than it was told; dateparser fills in a day, we leave it open."""
    (found,) = spoken(said)
    assert len(found.text or "") == precision


@pytest.mark.parametrize(
    ("said", "due"),
    [
        ("by the end of the month", "2026-01-31"),
        ("by the end of the week", "2026-01-16"),
        ("by the end of next month", "2026-02-28"),
        ("Friday week", "2026-01-23"),
        ("in a couple of days", "2026-01-16"),
        ("by the twentieth", "2026-01-20"),
        ("by the fifth", "2026-02-05"),
    ],
)
def test_deadlines_of_the_shop(said: str, due: str) -> None:
    """Deadlines that dateparser does not read: a period's end is its last (working) day, a past day is next month's."""
    assert [(d.due, d.vague) for d in spoken(said, future=True)] == [(due, False)]


def test_next_friday_is_not_this_friday() -> None:
    """On purpose unlike dateparser: "next Friday" is next week's, as "Friday" is this one's; a person should look."""
    (found,) = spoken("next Friday", future=True)
    assert reference("next Friday", future=True) == "2026-01-16"
    assert (found.due, found.vague) == ("2026-01-23", True)


def test_next_week_is_due_on_its_friday() -> None:
    """On purpose unlike dateparser: work "next week" is due when that week's work ends; a person should look."""
    (found,) = spoken("next week", future=True)
    assert reference("next week") == "2026-01-21"
    assert (found.due, found.vague) == ("2026-01-23", True)


@pytest.mark.parametrize("said", ["ten minutes ago", "it may be the belt", "41.5 watts", "a second one"])
def test_words_that_are_no_date(said: str) -> None:
    """Minutes, a verb spelled like a month, a measured value and "a second one" are no dates."""
    assert spoken(said) == []


@pytest.mark.parametrize("said", ["the second one", "the first channel", "the third shelf down"])
def test_an_ordinal_before_a_noun_is_no_date(said: str) -> None:
    """ "The second one" counts things, not days."""
    assert spoken(said, future=True) == []


@pytest.mark.xfail(strict=True, reason="an impossible day leaves its year standing as if it had been told alone")
def test_an_impossible_day_is_no_certain_date() -> None:
    """A day that no calendar has is not kept as a certain date."""
    assert [d for d in spoken("February 30 2024") if not d.vague] == []


def test_the_place_of_a_date_is_its_words() -> None:
    """The words of each date, and no others, are its evidence."""
    said = text("Dana did it in June 2019 and it goes out on Friday morning")
    found = find_dates(said.tokens, 0, len(said.tokens), DAY, future=False)
    assert [said.norms(d.start, d.end) for d in found] == [["june", "2019"], ["friday", "morning"]]
