"""Weeks begin and end where ISO 8601 says, on the shop's clock; a date known in part stays so."""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from intake.errors import UsageError
from intake.report import weeks

NEW_YORK = ZoneInfo("America/New_York")
# ISO 8601 week dates as published in tables of examples; the same stand in ../shared/reference-values.md, section 5.
PUBLISHED = [
    ("2005-01-01", "2004-W53", 6),
    ("2005-01-02", "2004-W53", 7),
    ("2005-12-31", "2005-W52", 6),
    ("2006-01-01", "2005-W52", 7),
    ("2007-01-01", "2007-W01", 1),
    ("2007-12-30", "2007-W52", 7),
    ("2007-12-31", "2008-W01", 1),
    ("2008-12-29", "2009-W01", 1),
    ("2009-12-31", "2009-W53", 4),
    ("2010-01-03", "2009-W53", 7),
    ("2026-12-31", "2026-W53", 4),
    ("2027-01-01", "2026-W53", 5),
]


@pytest.mark.parametrize(("day", "week", "weekday"), PUBLISHED)
def test_published_days_fall_into_their_weeks(day: str, week: str, weekday: int) -> None:
    """Each published day belongs to its week, on its weekday, counted from the week's Monday."""
    first, last = weeks.week_days(week)
    assert weeks.week_name(date.fromisoformat(day)) == week
    assert first <= date.fromisoformat(day) <= last
    assert (date.fromisoformat(day) - first).days + 1 == weekday


@pytest.mark.parametrize("year", [2004, 2009, 2015, 2020, 2026])
def test_years_with_53_weeks(year: int) -> None:
    """Week 53 of these years (reference values 5) runs up to the Monday of the next year's first."""
    assert (weeks.week_days(f"{year + 1}-W01")[0] - weeks.week_days(f"{year}-W53")[1]).days == 1


@pytest.mark.parametrize(
    "name", ["2005-W53", "2026-W54", "2026-W00", "2026-W5", "W20", "2026-20", "0000-W01", "", "2026-W2０"]
)
def test_what_is_no_week_is_refused(name: str) -> None:
    """Weeks that a year does not have, and other texts, are errors of use with a hint."""
    with pytest.raises(UsageError) as error:
        weeks.week_days(name)
    assert error.value.hint


@pytest.mark.parametrize(
    ("moment", "week"),
    [
        ("2026-05-18T03:30:00+00:00", "2026-W20"),  # Sunday 23:30 in New York, Monday in UTC
        ("2026-05-18T04:00:00+00:00", "2026-W21"),
        ("2027-01-01T04:59:59+00:00", "2026-W53"),  # still 31 December there
        ("2026-03-08T07:30:00+00:00", "2026-W10"),  # the night that has no 02:30
        ("2026-11-02T04:30:00+00:00", "2026-W44"),  # Sunday 23:30 after the clocks went back
    ],
)
def test_the_week_is_the_shops(moment: str, week: str) -> None:
    """Which week it is depends on the shop's clock, not on UTC."""
    assert weeks.week_name(weeks.today(NEW_YORK, datetime.fromisoformat(moment))) == week


@pytest.mark.parametrize(
    ("week", "hours", "begins"),
    [
        ("2026-W10", 167, "2026-03-02T05:00:00+00:00"),  # US daylight saving time begins on the second Sunday of March,
        ("2026-W44", 169, "2026-10-26T04:00:00+00:00"),  # and ends on the first of November (Energy Policy Act of 2005)
        ("2026-W20", 168, "2026-05-11T04:00:00+00:00"),
    ],
)
def test_weeks_with_a_change_of_clocks(week: str, hours: int, begins: str) -> None:
    """A week is an hour shorter or longer when the clocks change, and begins at local midnight."""
    begin, end = weeks.bounds_utc(*weeks.week_days(week), NEW_YORK)
    assert begin == datetime.fromisoformat(begins)
    assert (end - begin).total_seconds() == hours * 3600
    assert begin.tzinfo is UTC


@pytest.mark.parametrize(
    ("text", "first", "last"),
    [
        ("2026-05-22", "2026-05-22", "2026-05-22"),
        ("2026-02", "2026-02-01", "2026-02-28"),
        ("2024-02", "2024-02-01", "2024-02-29"),
        ("2026-12", "2026-12-01", "2026-12-31"),
        ("2026", "2026-01-01", "2026-12-31"),
    ],
)
def test_a_partial_date_may_mean_any_of_its_days(text: str, first: str, last: str) -> None:
    """A month or a year stands for all its days."""
    assert weeks.spread(text) == (date.fromisoformat(first), date.fromisoformat(last))


@pytest.mark.parametrize("text", [None, "", "soon", "2026-13", "2026-02-30", "26-05-01", "2026-5-1"])
def test_what_is_no_date_has_no_days(text: str | None) -> None:
    """Other texts mean no day, and raise nothing."""
    assert weeks.spread(text) is None


def test_a_week_that_is_not_over_counts_up_to_today() -> None:
    """The report of the running week is of today's end; one that has not begun is refused."""
    period = weeks.period_of_week("2026-W20", date(2026, 5, 13))
    assert (period.first, period.last, period.on, period.unfinished) == (
        date(2026, 5, 11),
        date(2026, 5, 17),
        date(2026, 5, 13),
        True,
    )
    with pytest.raises(UsageError):
        weeks.period_of_week("2026-W21", date(2026, 5, 13))


def test_the_charts_have_twelve_weeks_across_a_year_with_53() -> None:
    """Twelve weeks back from the first week of 2027 pass through 2026-W53."""
    names = [name for name, _, _ in weeks.chart_weeks(date(2027, 1, 6))]
    assert len(names) == 12
    assert names[-3:] == ["2026-W52", "2026-W53", "2027-W01"]
