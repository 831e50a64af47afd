"""Spoken dates against the walk's date: absolute, partial and relative, in the past and in the future.

Follows common practice: "Friday" after "by" is the next one, in a sentence about the past the last one; "last Tuesday"
is the most recent Tuesday before the walk; "end of the month" its last day. Precision is kept: 2019, 2019-06, 2019-06-14.
"""

from __future__ import annotations

import calendar
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from intake.language.numbers import ORDINALS, TENS, cardinal
from intake.language.tokens import Token

MONTHS = (
    {m.lower(): n for n, m in enumerate(calendar.month_name) if m}
    | {m.lower(): n for n, m in enumerate(calendar.month_abbr) if m and m != "May"}
    | {"sept": 9}
)
WEEKDAYS = {d.lower(): n for n, d in enumerate(calendar.day_name)} | {"tues": 1, "weds": 2, "thurs": 3}
_DIGITS = {w: n for n, w in enumerate(["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"]) if n}
_COUNTED_THINGS = frozenset(["one", "ones", "channel", "shelf", "unit", "pair", "box", "side", "row", "time", "piece", "tube", "set", "drawer", "pallet", "cart", "bay", "owner"])
_PARTS_OF_DAY = frozenset(["morning", "afternoon", "evening", "lunchtime", "noon"])
_UNITS = {"day": 1, "days": 1, "week": 7, "weeks": 7, "fortnight": 14, "fortnights": 14}


@dataclass(frozen=True)
class SpokenDate:
    """Words start..end that tell a date. `text` is as precise as spoken; `due` the day it means as a deadline."""

    start: int
    end: int
    text: str | None
    due: str | None
    vague: bool = False  # "next week", "a while back": a person should look


def find_dates(tokens: Sequence[Token], start: int, end: int, walk_day: date, *, future: bool) -> list[SpokenDate]:
    """All dates among the tokens start..end; `future` tells which side a bare weekday or day lies on."""
    out, i = [], start
    while i < end:
        found = read_date(tokens, i, end, walk_day, future=future)
        if found:
            out.append(found)
            i = found.end
        else:
            i += 1
    return out


def read_date(tokens: Sequence[Token], i: int, end: int, day: date, *, future: bool) -> SpokenDate | None:
    """The date that starts at token i, or None."""
    words = [t.norm for t in tokens[i : min(end, i + 9)]]
    for reader in (_relative_day, _ago, _end_of, _last_next, _month_first, _day_first, _year_words, _weekday):
        found = reader(words, day, future)
        if found:
            used, text, due, vague = found
            return SpokenDate(i, i + used, text, due, vague)
    return None


_Found = tuple[int, str | None, str | None, bool]


def _exact(used: int, day: date) -> _Found:
    return used, day.isoformat(), day.isoformat(), False


def _relative_day(w: Sequence[str], day: date, future: bool) -> _Found | None:
    if w[:4] == ["the", "day", "before", "yesterday"] or w[:3] == ["day", "before", "yesterday"]:
        return _exact(4 if w[0] == "the" else 3, day - timedelta(2))
    if w[:4] == ["the", "day", "after", "tomorrow"] or w[:3] == ["day", "after", "tomorrow"]:
        return _exact(4 if w[0] == "the" else 3, day + timedelta(2))
    extra = 1 if len(w) > 1 and w[1] in _PARTS_OF_DAY | {"night"} else 0
    if w[0] == "yesterday":
        return _exact(1 + extra, day - timedelta(1))
    if w[0] == "tomorrow":
        return _exact(1 + extra, day + timedelta(1))
    if w[0] in ("today", "tonight"):
        return _exact(1, day)
    if w[:1] == ["this"] and len(w) > 1 and w[1] in _PARTS_OF_DAY:
        return _exact(2, day)
    if w[:2] == ["last", "night"]:
        return _exact(2, day - timedelta(1))
    return None


def _number(w: Sequence[str]) -> tuple[int, int] | None:
    if not w:
        return None
    if w[0].isdecimal() and len(w[0]) < 4:
        return int(w[0]), 1
    if w[0] in ("a", "an"):
        return 1, 1
    if w[0] == "couple":
        return 2, 2 if w[1:2] == ["of"] else 1
    return cardinal(w)


def _ago(w: Sequence[str], day: date, future: bool) -> _Found | None:
    """ "three days ago", "two weeks from now", "in two weeks", "a year ago" (years and months keep their precision)."""
    begin = 1 if w[0] in ("in", "within") else 0
    if w[begin : begin + 1] == ["a"] and w[begin + 1 : begin + 2] == ["couple"]:
        begin += 1
    number = _number(w[begin:])
    if not number:
        return None
    n, used = number
    at = begin + used
    unit = w[at] if at < len(w) else ""
    tail = w[at + 1 : at + 3]
    back = tail[:1] in (["ago"], ["back"], ["earlier"])
    ahead = begin == 1 or tail in (["from", "now"], ["from", "today"]) or tail[:1] == ["hence"]
    if not back and not ahead:
        return None
    size = at + 1 + (1 if back else 2 if tail[:1] == ["from"] else 0)
    sign = -1 if back else 1
    if unit in _UNITS:
        return _exact(size, day + timedelta(sign * n * _UNITS[unit]))
    if unit in ("month", "months"):
        index = day.year * 12 + day.month - 1 + sign * n
        last = _month_end(index // 12, index % 12 + 1)
        moved = date(index // 12, index % 12 + 1, min(day.day, last.day))
        return size, f"{moved.year:04d}-{moved.month:02d}", moved.isoformat(), False
    if unit in ("year", "years"):
        return size, f"{day.year + sign * n:04d}", None, False
    return None


def _month_end(year: int, month: int) -> date:
    return date(year, month, calendar.monthrange(year, month)[1])


def _end_of(w: Sequence[str], day: date, future: bool) -> _Found | None:
    """ "the end of the month", "end of next week", "month end", "end of March", "the middle of the month"."""
    k = 1 if w[0] == "the" else 0
    if w[k : k + 2] == ["month", "end"] or (w[k : k + 1] == ["month's"] and w[k + 1 : k + 2] == ["end"]):
        return _exact(k + 2, _month_end(day.year, day.month))
    if w[k : k + 2] not in (["end", "of"], ["middle", "of"], ["start", "of"], ["beginning", "of"]):
        return None
    which, k = w[k], k + 2
    step = 0
    if w[k : k + 1] in (["the"], ["this"]):
        k += 1
    elif w[k : k + 1] == ["next"]:
        step, k = 1, k + 1
    if w[k : k + 1] == ["month"]:
        index = day.year * 12 + day.month - 1 + step
        return _exact(k + 1, _month_part(which, index // 12, index % 12 + 1))
    if w[k : k + 1] == ["week"]:
        monday = day - timedelta(day.weekday()) + timedelta(7 * step)
        return _exact(k + 1, monday + timedelta({"end": 4, "middle": 2}.get(which, 0)))
    if w[k : k + 1] == ["year"]:
        return _exact(k + 1, date(day.year + step, 12, 31))
    if w[k : k + 1] in (["today"], ["day"], ["business"]):
        return _exact(k + 1, day)
    if k < len(w) and w[k] in MONTHS:
        return _exact(k + 1, _month_part(which, _near_year(MONTHS[w[k]], day, future), MONTHS[w[k]]))
    return None


def _month_part(which: str, year: int, month: int) -> date:
    return _month_end(year, month) if which == "end" else date(year, month, 15 if which == "middle" else 1)


def _near_year(month: int, day: date, future: bool) -> int:
    """The year of a bare month: the coming one for what is to be done, else the last that began."""
    if future:
        return day.year if month >= day.month else day.year + 1
    return day.year if month <= day.month else day.year - 1


def _last_next(w: Sequence[str], day: date, future: bool) -> _Found | None:
    """ "last Thursday", "next Friday", "this coming Monday", "last month", "next week", "last year"."""
    if w[0] not in ("last", "next", "this", "coming") or len(w) < 2:
        return None
    k = 2 if w[1] == "coming" else 1
    if k >= len(w):
        return None
    word = w[k]
    if word in WEEKDAYS:
        if w[0] == "last":
            back = (day.weekday() - WEEKDAYS[word] - 1) % 7 + 1
            return _exact(k + 1, day - timedelta(back))
        ahead = (WEEKDAYS[word] - day.weekday() - 1) % 7 + 1
        if w[0] == "next" and k == 1:
            monday = day - timedelta(day.weekday()) + timedelta(7)
            chosen = monday + timedelta(WEEKDAYS[word])
            nearest = day + timedelta(ahead)
            return k + 1, chosen.isoformat(), chosen.isoformat(), chosen != nearest
        if w[0] == "this" and not future:
            back = (day.weekday() - WEEKDAYS[word]) % 7
            return _exact(k + 1, day - timedelta(back))
        return _exact(
            k + 1, day + timedelta(ahead if word != day.strftime("%A").lower() else 0 if w[0] == "this" else ahead)
        )
    if word == "weekend":
        saturday = day + timedelta((5 - day.weekday()) % 7)
        chosen = saturday if w[0] == "this" else saturday + timedelta(7) if w[0] == "next" else saturday - timedelta(7)
        return k + 1, chosen.isoformat(), chosen.isoformat(), True
    sign = {"last": -1, "next": 1}.get(w[0], 0)
    if word == "week":
        chosen = day + timedelta(7 * sign)
        friday = day - timedelta(day.weekday()) + timedelta(7 * sign + 4)
        return k + 1, None if sign < 0 else chosen.isoformat(), friday.isoformat(), True
    if word == "month":
        index = day.year * 12 + day.month - 1 + sign
        month_end = _month_end(index // 12, index % 12 + 1)
        return k + 1, f"{index // 12:04d}-{index % 12 + 1:02d}", month_end.isoformat(), sign > 0
    if word == "year" and (sign or not future):
        return k + 1, f"{day.year + sign:04d}", f"{day.year + sign:04d}-12-31", sign > 0
    if word in MONTHS:
        month = MONTHS[word]
        year = _near_year(month, day, w[0] != "last")
        if w[0] == "last" and month == day.month:
            year -= 1
        return k + 1, f"{year:04d}-{month:02d}", _month_end(year, month).isoformat(), False
    if word in ("spring", "summer", "autumn", "fall", "winter"):
        year = day.year - 1 if w[0] == "last" else day.year
        return k + 1, f"{year:04d}", None, True
    return None


def _ordinal(word: str) -> int | None:
    if match := re.fullmatch(r"(\d{1,2})(?:st|nd|rd|th)", word):
        return int(match.group(1))
    return ORDINALS.get(word)


def _day_number(w: Sequence[str], *, plain: bool) -> tuple[int, int] | None:
    """ "twenty-first" -> (21, 2), "3rd" -> (3, 1), "thirty-first" -> (31, 2); plain numbers too where `plain`."""
    if not w:
        return None
    if w[0] in TENS and len(w) > 1 and (unit := ORDINALS.get(w[1])) and unit < 10 and TENS[w[0]] + unit <= 31:
        return TENS[w[0]] + unit, 2
    if (n := _ordinal(w[0])) and n <= 31:
        return n, 1
    if plain and w[0].isdecimal() and 1 <= int(w[0]) <= 31:
        return int(w[0]), 1
    if plain and (number := cardinal(w)) and 1 <= number[0] <= 31:
        return number
    return None


def _year(w: Sequence[str]) -> tuple[int, int] | None:
    """ "2019", "twenty nineteen", "nineteen ninety-eight", "two thousand and nine", "two thousand seven"."""
    if not w:
        return None
    if re.fullmatch(r"(19|20)\d\d", w[0]):
        return int(w[0]), 1
    if w[0] == "two" and w[1:2] == ["thousand"]:
        number = cardinal(w)
        if number and 2000 <= number[0] <= 2099:
            return number
    if w[0] in ("nineteen", "twenty") and len(w) > 1:
        century = 1900 if w[0] == "nineteen" else 2000
        if w[1] in ("oh", "o") and len(w) > 2 and (n := cardinal(w[2:3])):
            return century + n[0], 3
        rest = cardinal(w[1:])
        if rest and 10 <= rest[0] <= 99:
            return century + rest[0], 1 + rest[1]
        if w[0] == "nineteen" and w[1] == "hundred":
            number = cardinal(w)
            return (number[0], number[1]) if number and 1900 <= number[0] <= 1999 else None
    return None


def _iso(year: int, month: int, day: int | None) -> str | None:
    try:
        return f"{year:04d}-{month:02d}" if day is None else date(year, month, day).isoformat()
    except ValueError:
        return None


def _month_first(w: Sequence[str], day: date, future: bool) -> _Found | None:
    """ "March of 2024", "June fourteenth", "May 3rd, 2021", "in February"."""
    if w[0] not in MONTHS:
        return None
    month, k = MONTHS[w[0]], 1
    if (
        w[0] in ("may", "march", "mar", "jan", "sat")
        and len(w) > 1
        and w[1] in ("be", "have", "need", "the", "not", "also", "well")
    ):
        return None
    number = _day_number(w[k + 1 :] if w[k : k + 1] == ["the"] else w[k:], plain=not _year(w[k:]))
    the_day = None
    if number:
        the_day, k = number[0], k + number[1] + (1 if w[k : k + 1] == ["the"] else 0)
    j = k + 1 if w[k : k + 1] in (["of"], ["in"]) else k
    if year := _year(w[j:]):
        return _dated(j + year[1], year[0], month, the_day)
    if w[0] == "may" and the_day is None:
        return None
    if w[j : j + 1] == ["last"] and w[j + 1 : j + 2] == ["year"]:
        return _dated(j + 2, day.year - 1, month, the_day)
    return _dated(k, _near_year_day(month, the_day, day, future), month, the_day)


def _near_year_day(month: int, the_day: int | None, day: date, future: bool) -> int:
    year = _near_year(month, day, future)
    if the_day and month == day.month:
        if future and the_day < day.day:
            return day.year + 1
        if not future and the_day > day.day:
            return day.year - 1
    return year


def _dated(used: int, year: int, month: int, the_day: int | None) -> _Found | None:
    text = _iso(year, month, the_day)
    return None if text is None else (used, text, text if the_day else _month_end(year, month).isoformat(), False)


def _day_first(w: Sequence[str], day: date, future: bool) -> _Found | None:
    """ "the fourteenth of June 2019", "the thirtieth", "3rd of May"."""
    k = 1 if w[0] == "the" else 0
    number = _day_number(w[k:], plain=False)
    if not number:
        return None
    the_day, k2 = number[0], k + number[1]
    j = k2 + 1 if w[k2 : k2 + 1] == ["of"] else k2
    if j < len(w) and w[j] in MONTHS:
        month = MONTHS[w[j]]
        j2 = j + 1
        if year := _year(w[j2:]):
            return _dated(j2 + year[1], year[0], month, the_day)
        return _dated(j2, _near_year_day(month, the_day, day, future), month, the_day)
    if k == 0 or (k2 < len(w) and w[k2] in _COUNTED_THINGS):
        return None
    if w[j : j + 2] in (["this", "month"], ["the", "month"]):
        return _dated(j + 2, day.year, day.month, the_day)
    index = day.year * 12 + day.month - 1
    if future and the_day < day.day:
        index += 1
    elif not future and the_day > day.day:
        index -= 1
    return _dated(k2, index // 12, index % 12 + 1, the_day)


def _year_words(w: Sequence[str], day: date, future: bool) -> _Found | None:
    """A year, or two digits after "back in", "in", "'": "ninety-eight" -> 1998."""
    if year := _year(w):
        return year[1], str(year[0]), f"{year[0]}-12-31", False
    if w[0] in ("oh", "o") and len(w) > 1 and w[1] in _DIGITS and (len(w) == 2 or w[2] not in _DIGITS):
        return 2, str(2000 + _DIGITS[w[1]]), None, False
    if w[0] in ("in", "from", "of", "since", "around", "about") or w[:2] == ["back", "in"]:
        k = 2 if w[:2] == ["back", "in"] else 1
        if year := _year(w[k:]):
            return k + year[1], str(year[0]), f"{year[0]}-12-31", False
        short = _short_year(w[k:], day)
        return (k + short[1], str(short[0]), None, False) if short else None
    if re.fullmatch(r"'\d\d", w[0]):
        n = int(w[0][1:])
        return 1, str(1900 + n if n > day.year % 100 else 2000 + n), None, False
    return None


def _short_year(w: Sequence[str], day: date) -> tuple[int, int] | None:
    if not w:
        return None
    if re.fullmatch(r"'?\d\d", w[0]):
        n, used = int(w[0].strip("'")), 1
    elif w[0] in ("oh", "o") and len(w) > 1 and (unit := cardinal(w[1:2])) and unit[0] < 10:
        n, used = unit[0], 2
    elif (number := cardinal(w)) and (50 <= number[0] <= 99 or (10 <= number[0] <= day.year % 100)):
        n, used = number
    else:
        return None
    after = w[used : used + 1]
    if after and after[0] in (
        "watts",
        "milliamps",
        "ohms",
        "volts",
        "percent",
        "hours",
        "pounds",
        "kilos",
        "grams",
        "of",
        "pieces",
    ):
        return None
    return (1900 + n if n > day.year % 100 else 2000 + n), used


def _weekday(w: Sequence[str], day: date, future: bool) -> _Found | None:
    if w[0] not in WEEKDAYS or w[0] in ("sun", "sat", "mon"):
        return None
    week = 2 if w[1:2] == ["week"] else 1  # British "Friday week" is a week later
    if future:
        ahead = (WEEKDAYS[w[0]] - day.weekday() - 1) % 7 + 1 + (7 if week == 2 else 0)
        return _exact(week, day + timedelta(ahead))
    extra = 1 if len(w) > 1 and w[1] in _PARTS_OF_DAY else 0
    return _exact(1 + extra, day - timedelta((day.weekday() - WEEKDAYS[w[0]] - 1) % 7 + 1))
