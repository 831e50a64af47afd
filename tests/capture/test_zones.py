"""The shop's clock and daylight saving."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo

import pytest

from intake.capture.zones import ShopClock, is_repeated, local_offset_min, with_offset

NEW_YORK = ZoneInfo("America/New_York")


@pytest.mark.parametrize(("zone", "at", "minutes"), [
    # United States: second Sunday of March to first Sunday of November, 2 o'clock (15 U.S.C. 260a).
    ("America/New_York", datetime(2026, 3, 8, 1, 59), -300),
    ("America/New_York", datetime(2026, 3, 8, 3, 0), -240),
    ("America/New_York", datetime(2026, 11, 1, 0, 59), -240),
    ("America/New_York", datetime(2026, 11, 1, 2, 0), -300),
    # European Union and Britain: last Sunday of March to last Sunday of October, 1 o'clock UTC (2000/84/EC).
    ("Europe/London", datetime(2026, 3, 29, 0, 59), 0),
    ("Europe/London", datetime(2026, 3, 29, 2, 0), 60),
    ("Europe/Berlin", datetime(2026, 10, 25, 3, 0), 60),
    ("Asia/Kolkata", datetime(2026, 7, 1, 12, 0), 330),
    ("Asia/Kathmandu", datetime(2026, 7, 1, 12, 0), 345),
    ("America/Phoenix", datetime(2026, 7, 1, 12, 0), -420),
])
def test_daylight_saving(zone: str, at: datetime, minutes: int) -> None:
    """The offset on a day is that of the law in the shop's zone."""
    assert local_offset_min(at, ZoneInfo(zone)) == minutes


def test_the_repeated_hour_is_taken_as_its_first_pass() -> None:
    """In the hour that autumn repeats, summer time holds unless the second pass is meant, and the doubt is visible."""
    at = datetime(2026, 11, 1, 1, 30)
    assert local_offset_min(at, NEW_YORK) == -240
    assert local_offset_min(at.replace(fold=1), NEW_YORK) == -300
    assert is_repeated(at, NEW_YORK)
    assert not is_repeated(datetime(2026, 11, 1, 2, 30), NEW_YORK)
    assert not is_repeated(datetime(2026, 3, 8, 2, 30), NEW_YORK)


def test_an_aware_time_needs_no_guess() -> None:
    """For an instant the offset is exact, also in the repeated hour."""
    assert local_offset_min(datetime(2026, 11, 1, 6, 30, tzinfo=UTC), NEW_YORK) == -300


def test_local_and_utc_are_inverse() -> None:
    """A local time made UTC and back is the same, by zone and by a given offset, which wins."""
    at = datetime(2026, 5, 14, 9, 12, 3)
    by_zone, given = ShopClock(NEW_YORK), ShopClock(NEW_YORK, offset_min=60)
    assert by_zone.utc(at) == datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
    assert given.utc(at) == datetime(2026, 5, 14, 8, 12, 3, tzinfo=UTC)
    for clock in (by_zone, given):
        instant = clock.utc(at)
        assert instant is not None
        assert clock.local(instant) == at


def test_without_a_zone_nothing_is_converted() -> None:
    """An unknown zone makes no UTC of a local time, and keeps a file's own offset."""
    clock = ShopClock()
    assert clock.utc(datetime(2026, 5, 14, 9, 12)) is None
    assert clock.offset_at(datetime(2026, 5, 14, 9, 12)) is None
    own = datetime(2026, 5, 14, 9, 12, tzinfo=timezone(timedelta(hours=-4)))
    assert clock.local(own) == datetime(2026, 5, 14, 9, 12)


def test_instants_are_written_with_the_shops_offset() -> None:
    """The record wants local time with offset, whichever zone the file had."""
    assert with_offset(datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC), -240).isoformat() == "2026-05-14T09:12:03-04:00"
    assert with_offset(datetime(2026, 5, 14, 9, 12, 3), -240).isoformat() == "2026-05-14T09:12:03-04:00"
