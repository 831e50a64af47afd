"""Weeks and days as the report counts them: ISO 8601 weeks, the shop's clock, dates that are known only in part.

A week runs from Monday to Sunday; week 1 is the one with the year's first Thursday (ISO 8601), so a year has 52
or 53. Days are the shop's: what happened at 23:30 on Sunday in the shop's zone is that week's, whatever UTC says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo

from intake.errors import UsageError

CHART_WEEKS = 12
DUE_DAYS = 7
_WEEK = re.compile(r"(\d{4})-?W(\d{2})", re.ASCII | re.IGNORECASE)
_PARTIAL = re.compile(r"(\d{4})(?:-(\d{2})(?:-(\d{2}))?)?", re.ASCII)


@dataclass(frozen=True)
class Period:
    """The days of a report, both included, and the day at whose end things are counted (`on`)."""

    first: date
    last: date
    on: date
    week: str | None = None                            # "2026-W20" where the days are one ISO week

    @property
    def title(self) -> str:
        """What the report is of: "Week 20 of 2026"."""
        return f"Week {int(self.week[6:])} of {self.week[:4]}" if self.week else "Report"

    @property
    def days(self) -> str:
        """The days in words: "11 to 17 May 2026"."""
        return days_in_words(self.first, self.last)

    @property
    def unfinished(self) -> bool:
        """Whether the period has days still to come."""
        return self.on < self.last


def week_name(day: date) -> str:
    """The ISO week of a day: 2026-05-14 -> "2026-W20"."""
    year, week, _ = day.isocalendar()
    return f"{year:04d}-W{week:02d}"


def week_days(name: str) -> tuple[date, date]:
    """Monday and Sunday of an ISO week; UsageError for what is none (W00, W54, W53 of a year with 52)."""
    match = _WEEK.fullmatch(name.strip())
    if match is None:
        raise UsageError(f"{name!r} is no week.", hint="Write a year and a week, such as 2026-W20.")
    year, week = int(match[1]), int(match[2])
    try:
        monday = date.fromisocalendar(year, week, 1)
        return monday, monday + timedelta(days=6)
    except (ValueError, OverflowError) as error:
        last = date(year, 12, 28).isocalendar().week if year else 52     # 28 December is always in the last week
        raise UsageError(f"{year} has no week {week}.", hint=f"It has the weeks 01 to {last}.") from error


def today(zone: tzinfo | None, now: datetime | None = None) -> date:
    """The day it is in the shop; `zone` None: on this computer. `now` must name its zone."""
    return (now or datetime.now(UTC)).astimezone(zone).date()


def period_of_week(name: str, now: date) -> Period:
    """The report of an ISO week; of a week that is not over, up to today."""
    first, last = week_days(name)
    return Period(first, last, _counted(first, last, now), week_name(first))


def period_of_days(first: date, last: date, now: date) -> Period:
    """The report of any days, both included; UsageError where they stand the wrong way round."""
    if last < first:
        raise UsageError(f"the last day ({last}) is before the first ({first}).", hint="Swap --from and --to.")
    whole = first.isoweekday() == 1 and last - first == timedelta(days=6)
    return Period(first, last, _counted(first, last, now), week_name(first) if whole else None)


def _counted(first: date, last: date, now: date) -> date:
    if first > now:
        raise UsageError(f"{first} has not come yet.", hint="Choose a week that has begun.")
    return min(last, now)


def parse_day(text: str) -> date:
    """A whole day as typed, 2026-05-14; UsageError else."""
    try:
        if len(text.strip()) != 10:
            raise ValueError(text)
        return date.fromisoformat(text.strip())
    except ValueError as error:
        raise UsageError(f"{text!r} is no day.", hint="Write it as 2026-05-14.") from error


def bounds_utc(first: date, last: date, zone: tzinfo | None) -> tuple[datetime, datetime]:
    """Midnight before the first day and after the last, in UTC; weeks with a change of clocks have 167 or 169 hours."""
    begin = datetime.combine(first, time(), zone)
    end = datetime.combine(last + timedelta(days=1), time(), zone)
    return begin.astimezone(UTC), end.astimezone(UTC)


def chart_weeks(on: date) -> list[tuple[str, date, date]]:
    """The twelve ISO weeks up to that of `on`: name, Monday, Sunday."""
    monday = on - timedelta(days=on.isoweekday() - 1)
    starts = [monday - timedelta(weeks=back) for back in range(CHART_WEEKS - 1, -1, -1)]
    return [(week_name(start), start, start + timedelta(days=6)) for start in starts]


def spread(text: str | None) -> tuple[date, date] | None:
    """The first and the last day that a date known in part may mean: "2026-02" -> 1 and 28 February; None for none."""
    match = _PARTIAL.fullmatch(text or "")
    if match is None:
        return None
    year, month, day = int(match[1]), match[2], match[3]
    try:
        if day:
            return date(year, int(month), int(day)), date(year, int(month), int(day))
        first = date(year, int(month or 1), 1)
        following = date(year + 1, 1, 1) if not month or month == "12" else date(year, int(month) + 1, 1)
        return first, following - timedelta(days=1)
    except ValueError:
        return None


def date_in_words(text: str) -> str:
    """A date as precise as it was told: "Fri 22 May 2026", "some time in May 2026", "some time in 2026"."""
    days = spread(text)
    if days is None:
        return text
    if len(text) == 10:
        return f"{_DAYS[days[0].weekday()]} {day_in_words(days[0])}"
    return f"some time in {_MONTHS[days[0].month - 1]} {days[0].year}" if len(text) == 7 else f"some time in {text}"


def day_in_words(day: date, *, year: bool = True) -> str:
    """14 May 2026, whatever the computer's language."""
    return f"{day.day} {_MONTHS[day.month - 1]}" + (f" {day.year}" if year else "")


def days_in_words(first: date, last: date) -> str:
    """Some days: "11 to 17 May 2026", "29 December 2025 to 4 January 2026"."""
    if first == last:
        return day_in_words(first)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {day_in_words(last)}"
    return f"{day_in_words(first, year=first.year != last.year)} to {day_in_words(last)}"


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")
