"""Dates and times as devices write them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from intake.capture.stamps import (
    believable,
    day_in_name,
    parse_day,
    parse_stamp,
    parse_zone,
    subsecond,
    time_in_name,
)


@pytest.mark.parametrize(("text", "instant"), [
    ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520000, UTC)),
    ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
    ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870000, UTC)),
    ("1990-12-31T23:59:60Z", datetime(1990, 12, 31, 23, 59, 59, tzinfo=UTC)),
])
def test_internet_times(text: str, instant: datetime) -> None:
    """The examples of RFC 3339 section 5.8 give the instants that it names; a leap second stays in its minute."""
    stamp = parse_stamp(text)
    assert stamp is not None
    assert stamp.at == instant


@pytest.mark.parametrize(("text", "at"), [
    ("2026:05:14 09:12:03", datetime(2026, 5, 14, 9, 12, 3)),
    ("2026:05:14 09:12:03\0", datetime(2026, 5, 14, 9, 12, 3)),
    ("2026-05-14 09:12:03", datetime(2026, 5, 14, 9, 12, 3)),
    ("2026/05/14 09:12:03", datetime(2026, 5, 14, 9, 12, 3)),
])
def test_exif_times_have_no_zone(text: str, at: datetime) -> None:
    """An Exif date (CIPA DC-008: "YYYY:MM:DD HH:MM:SS") is a local time without a zone."""
    stamp = parse_stamp(text)
    assert stamp is not None
    assert stamp.at == at
    assert stamp.at.tzinfo is None


@pytest.mark.parametrize("text", [
    "", " ", "    :  :     :  :  ", "0000:00:00 00:00:00", "2026:02:30 09:00:00", "2026:13:01 09:00:00",
    "2026:05:14 25:00:00", "2026:05:14", "2026", "9:12:03", "2026:05:14 09:12:03+99:00", "x" * 10_000,
])
def test_what_is_no_time_gives_none(text: str) -> None:
    """Blanks, zeros, days and hours that do not exist, and dates without a time of day are no times."""
    assert parse_stamp(text) is None


def test_minutes_only_is_marked_inexact() -> None:
    """A time written to the minute (ID3v2.4 allows it) says that it is not exact."""
    stamp = parse_stamp("2026-05-14T09:12")
    assert stamp is not None
    assert (stamp.at, stamp.exact) == (datetime(2026, 5, 14, 9, 12), False)


@pytest.mark.parametrize(("digits", "micro"), [
    ("5", 500_000), ("05", 50_000), ("054", 54_000), ("00", 0), ("", 0), ("  ", 0), ("550", 550_000),
    ("1234567", 123_456), ("x1", 0),
])
def test_subsecond_digits_stand_after_the_point(digits: str, micro: int) -> None:
    """SubSecTime is a fraction's digits, not a number of milliseconds (CIPA DC-008)."""
    assert subsecond(digits) == micro


@pytest.mark.parametrize(("text", "minutes"), [
    ("+02:00", 120), ("-05:00", -300), ("+05:30", 330), ("-0400", -240), ("+1:00", 60), ("Z", 0),
])
def test_zones(text: str, minutes: int) -> None:
    """Offsets are read in Exif's and in ISO 8601's spelling."""
    assert parse_zone(text) == timezone(timedelta(minutes=minutes))


@pytest.mark.parametrize("text", ["", "      ", "   :  ", "+15:00", "+09:75", "EST", "5"])
def test_blank_and_impossible_zones_are_unknown(text: str) -> None:
    """A blank offset means unknown (CIPA DC-008); none lies more than 14 hours from UTC."""
    assert parse_zone(text) is None


@pytest.mark.parametrize(("stem", "at"), [
    ("2026-05-14 09.12.03", datetime(2026, 5, 14, 9, 12, 3)),
    ("20260514_091203", datetime(2026, 5, 14, 9, 12, 3)),
    ("20260514091203", datetime(2026, 5, 14, 9, 12, 3)),
    ("IMG_20260514_091203", datetime(2026, 5, 14, 9, 12, 3)),
    ("IMG_20260514_091203_1", datetime(2026, 5, 14, 9, 12, 3)),
    ("20260514_091203(2)", datetime(2026, 5, 14, 9, 12, 3)),
    ("Recording (2026-05-14 09_12_03)", datetime(2026, 5, 14, 9, 12, 3)),
    ("Memo 2026-05-14 at 09.12.03", datetime(2026, 5, 14, 9, 12, 3)),
    ("Screen 2026-05-14 at 9.12.03\u202fPM", datetime(2026, 5, 14, 21, 12, 3)),
    ("Screen 2026-05-14 at 12.12.03 AM", datetime(2026, 5, 14, 0, 12, 3)),
    ("voice-2026-05-14-091203", datetime(2026, 5, 14, 9, 12, 3)),
    ("2026-05-14T09-12-03Z", datetime(2026, 5, 14, 9, 12, 3, tzinfo=UTC)),
    ("PXL_20260514_131203123", datetime(2026, 5, 14, 13, 12, 3, 123_000, UTC)),
    ("1768228883000", datetime(2026, 1, 12, 14, 41, 23, tzinfo=UTC)),
])
def test_times_in_file_names(stem: str, at: datetime) -> None:
    """The names that recorders and phones give are read, with the zone where one is known."""
    found = time_in_name(stem)
    assert found == at
    assert (found.tzinfo is None) == (at.tzinfo is None)


@pytest.mark.parametrize("stem", ["memo-01", "P1010007", "PTT-20260514-WA0003", "2026-05-14", "20261399_091203",
                                  "20260514_256199", "4155551234", "00000000_000000", "12345678901234567890"])
def test_names_without_a_time(stem: str) -> None:
    """Counters, telephone numbers, days alone and impossible times are not taken for times."""
    assert time_in_name(stem) is None


@pytest.mark.parametrize(("name", "day"), [
    ("2026-05-14-north-aisle", date(2026, 5, 14)), ("PTT-20260514-WA0003", date(2026, 5, 14)),
    ("walk 2026_05_14", date(2026, 5, 14)), ("20260514091203", date(2026, 5, 14)), ("north aisle", None),
    ("2026-02-31 x", None), ("14772", None),
])
def test_days_in_names(name: str, day: date | None) -> None:
    """A day is read from a name where it is written year first."""
    assert day_in_name(name) == day


def test_a_date_tag_without_time_still_tells_the_day() -> None:
    """A date without a time of day is a day and no time."""
    assert parse_day("2026-05-14") == date(2026, 5, 14)
    assert parse_stamp("2026-05-14") is None


@pytest.mark.parametrize(("at", "is_believable"), [
    (datetime(2026, 5, 14, 9, 12, 3), True), (datetime(1980, 1, 1, 0, 12, 3), False),
    (datetime(1970, 1, 1, tzinfo=UTC), False), (datetime(2007, 1, 1, 0, 0, 0), False),
    (datetime(2007, 1, 1, 0, 0, 1), True), (datetime(2000, 1, 1, tzinfo=UTC), False),
])
def test_times_of_unset_clocks_are_not_believed(at: datetime, is_believable: bool) -> None:
    """Dates before 1995 and the stroke of a new year are what unset clocks show."""
    assert believable(at) is is_believable
