"""Dates and times as devices write them, in tags and in file names, made into datetimes.

Nothing is filled in: a text without a time of day is no time, an impossible date is no date.
A result is aware where the text names its zone and naive where it does not.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone

FIRST_YEAR = 1995          # the year of the first Exif and of the first phones' cameras: older dates are no dates
_WIDEST_ZONE = timedelta(hours=14)
_BLANKS = " \t\r\n\0"

_STAMP = re.compile(
    r"(?P<y>\d{4})[-:/.](?P<mo>\d{1,2})[-:/.](?P<d>\d{1,2})"
    r"(?:[T ] ?(?P<h>\d{1,2}):(?P<mi>\d{2})(?P<sec>:(?P<s>\d{2})(?:[.,](?P<f>\d{1,12}))?)?"
    r" ?(?P<zone>[Zz]|[+-]\d{1,2}:?\d{2})?)?", re.ASCII)
_ZONE = re.compile(r"([+-])(\d{1,2}):?(\d{2})", re.ASCII)
_NAME = re.compile(
    r"(?<!\d)(?P<y>\d{4})[-_.]?(?P<mo>\d{2})[-_.]?(?P<d>\d{2})(?:\sat\s|[\sTt_.,(\[-]{0,3})"
    r"(?:(?P<h12>\d{1,2})[.:_-](?P<mi12>\d{2})[.:_-](?P<s12>\d{2})[\s\xa0\u202f]?(?P<half>[AaPp])\.?[Mm]"
    r"|(?P<h>\d{2})[-_.:h]?(?P<mi>\d{2})[-_.:m]?(?P<s>\d{2})(?:\.?(?P<f>\d{3}))?(?P<zone>[Zz])?)(?!\d)", re.ASCII)
_MILLIS = re.compile(r"(?<!\d)(1\d{12})(?!\d)", re.ASCII)
_NAME_DAY = re.compile(r"(?<!\d)((?:19|20)\d\d)[-_. ]?(\d{2})[-_. ]?(\d{2})(?!\d)", re.ASCII)
_UTC_NAMES = ("PXL_",)     # a phone family that names its pictures by UTC (common practice, from memory)


@dataclass(frozen=True)
class Stamp:
    """A time as written; `exact` is False where it was written to the minute only."""

    at: datetime
    exact: bool = True


def parse_stamp(text: str) -> Stamp | None:
    """Read "2026:05:14 09:12:03", "2026-05-14T09:12:03.5-04:00" and their like.

    Covers Exif (CIPA DC-008), RFC 3339, ID3v2.4 and XMP; second 60 (RFC 3339 section 5.7) becomes 59.
    None for a date without a time of day, for blanks, zeros and days that no calendar has.
    """
    found = _STAMP.fullmatch(text[:64].strip(_BLANKS))
    if found is None or found["h"] is None:
        return None
    zone = parse_zone(found["zone"] or "")
    if found["zone"] and zone is None:
        return None
    at = _moment(found["y"], found["mo"], found["d"], found["h"], found["mi"], found["s"] or "0", found["f"] or "")
    if at is None:
        return None
    return Stamp(at if zone is None else at.replace(tzinfo=zone), exact=found["sec"] is not None)


def parse_day(text: str) -> date | None:
    """The day that a stamp names, with or without a time of day."""
    found = _STAMP.fullmatch(text[:64].strip(_BLANKS))
    return _day(found["y"], found["mo"], found["d"]) if found else None


def parse_zone(text: str) -> timezone | None:
    """Read "+02:00", "-0400", "Z" (Exif OffsetTime, RFC 3339); None for blanks and for zones the earth has not."""
    text = text.strip(_BLANKS)
    if text in ("Z", "z"):
        return UTC
    found = _ZONE.fullmatch(text)
    if found is None or int(found[3]) > 59:
        return None
    offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
    if offset > _WIDEST_ZONE:
        return None
    return timezone(-offset if found[1] == "-" else offset)


def subsecond(digits: str) -> int:
    """Microseconds of an Exif SubSecTime, digits after the point: "5" is half a second, "05" a twentieth."""
    digits = digits.strip(_BLANKS)
    if not (digits.isascii() and digits.isdigit()):
        return 0
    return int(digits[:6].ljust(6, "0"))


def time_in_name(stem: str) -> datetime | None:
    """The time a device put into a file name: "2026-05-14 09.12.03", "20260514_091203", Unix milliseconds.

    Naive (the device's own clock), but aware for "...Z", for milliseconds and for names known to be UTC.
    A name with a day only ("PTT-20260514-WA0003") has no time.
    """
    for found in _NAME.finditer(stem):
        at = _name_moment(found)
        if at is not None and at.year >= FIRST_YEAR:
            utc = found["zone"] or stem.startswith(_UTC_NAMES)
            return at.replace(tzinfo=UTC) if utc else at
    millis = _MILLIS.search(stem)
    if millis is not None:
        return datetime.fromtimestamp(0, UTC) + timedelta(milliseconds=int(millis[1]))
    return None


def day_in_name(name: str) -> date | None:
    """The day in a name, written year first ("2026-05-14-north-aisle", "PTT-20260514-WA0003")."""
    for found in _NAME_DAY.finditer(name):
        day = _day(found[1], found[2], found[3])
        if day is not None and day.year >= FIRST_YEAR:
            return day
    at = time_in_name(name)
    return at.date() if at is not None else None


def believable(at: datetime) -> bool:
    """Whether a clock that was ever set may have written this time.

    Not so before 1995 (1904, 1970 and 1980 are where unset clocks start) and on the stroke of a
    new year, the value that a camera shows after its battery was out.
    """
    reset = (at.month, at.day, at.hour, at.minute, at.second) == (1, 1, 0, 0, 0)
    return at.year >= FIRST_YEAR and not reset


def _name_moment(found: re.Match[str]) -> datetime | None:
    if found["h12"] is None:
        return _moment(found["y"], found["mo"], found["d"], found["h"], found["mi"], found["s"], found["f"] or "")
    hour = int(found["h12"])
    if not 1 <= hour <= 12:
        return None
    hour = hour % 12 + (12 if found["half"] in "Pp" else 0)
    return _moment(found["y"], found["mo"], found["d"], str(hour), found["mi12"], found["s12"], "")


def _moment(y: str, mo: str, d: str, h: str, mi: str, s: str, fraction: str) -> datetime | None:
    try:
        return datetime(int(y), int(mo), int(d), int(h), int(mi), 59 if s == "60" else int(s), subsecond(fraction))
    except ValueError:
        return None


def _day(y: str, mo: str, d: str) -> date | None:
    try:
        return date(int(y), int(mo), int(d))
    except ValueError:
        return None
