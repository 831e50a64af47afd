"""The shop's clock: from a device's local time to UTC and back, daylight saving included."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from zoneinfo import ZoneInfo


@dataclass(frozen=True)
class ShopClock:
    """What is known of the shop's zone; `offset_min`, minutes ahead of UTC, wins over `zone`."""

    zone: ZoneInfo | None = None
    offset_min: int | None = None

    @property
    def known(self) -> bool:
        """Whether a local time can be set against UTC at all."""
        return self.zone is not None or self.offset_min is not None

    def offset_at(self, at: datetime) -> int | None:
        """Minutes the shop's clock is ahead of UTC at `at` (naive: shop's local time); None where unknown."""
        if self.offset_min is not None:
            return self.offset_min
        return None if self.zone is None else local_offset_min(at, self.zone)

    def utc(self, at: datetime) -> datetime | None:
        """The same instant in UTC; None for a naive time in an unknown zone."""
        if at.tzinfo is not None:
            return at.astimezone(UTC)
        offset = self.offset_at(at)
        return None if offset is None else (at - timedelta(minutes=offset)).replace(tzinfo=UTC)

    def local(self, at: datetime) -> datetime:
        """The wall-clock time, naive; in an unknown zone as the file's own offset or this computer has it."""
        if at.tzinfo is None:
            return at
        offset = self.offset_at(at)
        if offset is not None:
            return (at.astimezone(UTC) + timedelta(minutes=offset)).replace(tzinfo=None)
        own_offset = at.utcoffset() != timedelta(0)
        return (at if own_offset else at.astimezone()).replace(tzinfo=None)

    def timeline(self, at: datetime) -> datetime:
        """An aware time to sort by; a naive one in an unknown zone is taken as this computer's."""
        return self.utc(at) or at.astimezone(UTC)


def local_offset_min(at: datetime, zone: ZoneInfo) -> int:
    """Minutes that `zone` is ahead of UTC at `at`, daylight saving included.

    A naive `at` is the wall clock in `zone`. The hour that autumn repeats is taken as its first
    pass (PEP 495 fold 0, summer time still) unless `at.fold` says otherwise; in the hour that
    spring skips the offset from before the change holds.
    """
    there = at.replace(tzinfo=zone) if at.tzinfo is None else at.astimezone(zone)
    offset = there.utcoffset()
    return 0 if offset is None else round(offset.total_seconds() / 60)


def is_repeated(at: datetime, zone: ZoneInfo) -> bool:
    """Whether the wall clock in `zone` shows the naive `at` twice that night, so that its instant is open."""
    first, second = (at.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    before, after = first.utcoffset(), second.utcoffset()
    return before is not None and after is not None and before > after


def with_offset(at: datetime, offset_min: int) -> datetime:
    """The instant `at` written with the shop's offset, as the exported record wants it."""
    zone = timezone(timedelta(minutes=offset_min))
    return at.replace(tzinfo=zone) if at.tzinfo is None else at.astimezone(zone)
