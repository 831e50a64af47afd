"""Due dates as an iCalendar file (RFC 5545) that any calendar reads: one all-day entry for each piece of work."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta

from intake.report.lines import Due, Week
from intake.report.weeks import date_in_words

_FOLD = 75                                             # octets of a line, RFC 5545 section 3.1


def ics(week: Week, made: datetime) -> str:
    """The calendar of all open work with a date. A date known in part spans all days that it may mean.

    Each entry keeps its UID, so that a calendar that takes the file again changes entries instead of doubling them.
    """
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//intake//due dates//EN", "CALSCALE:GREGORIAN"]
    seen: dict[str, int] = {}
    for line in week.dated:
        uid = _uid(line)
        seen[uid] = seen.get(uid, 0) + 1
        lines += _event(line, uid if seen[uid] == 1 else f"{seen[uid]}-{uid}", made)
    return "".join(f"{folded}\r\n" for line in [*lines, "END:VCALENDAR"] for folded in _folded(line))


def _event(line: Due, uid: str, made: datetime) -> list[str]:
    what = f"{line.work}: {line.unit.name} ({line.unit.id})"
    about = [f"Due {date_in_words(line.due)}.", f"Place: {line.unit.place or 'unknown'}."]
    if line.waiting_on:
        about.append(f"Waits for: {line.waiting_on}.")
    if line.quote:
        about.append(f"Said in {line.quote.walk}: “{line.quote.words}”")
    return [
        "BEGIN:VEVENT", f"UID:{uid}", f"DTSTAMP:{made.astimezone(UTC):%Y%m%dT%H%M%SZ}",
        f"DTSTART;VALUE=DATE:{line.first:%Y%m%d}", f"DTEND;VALUE=DATE:{line.last + timedelta(days=1):%Y%m%d}",
        f"SUMMARY:{_text(what if line.exact else f'{what}, some day')}", f"DESCRIPTION:{_text(chr(10).join(about))}",
        f"LOCATION:{_text(line.unit.place or '')}", "TRANSP:TRANSPARENT",
        f"CATEGORIES:{_text(line.unit.whose)}", "END:VEVENT"]


def _uid(line: Due) -> str:
    name = f"{line.unit.id}\0{line.work}"
    return f"{hashlib.sha256(name.encode('utf-8', 'surrogatepass')).hexdigest()[:32]}@intake.invalid"


def _text(text: str) -> str:
    r"""Text as RFC 5545 section 3.3.11 has it: backslash, semicolon, comma, line break escaped; no control letters."""
    kept = "".join(" " if letter in "\r\t" else letter if letter == "\n" or not _is_control(letter) else "\ufffd"
                   for letter in text)
    return kept.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def _is_control(letter: str) -> bool:
    return letter < " " or "\x7f" <= letter <= "\x9f" or "\ud800" <= letter <= "\udfff"


def _folded(line: str) -> list[str]:
    """The line cut after at most 75 octets, never inside a letter; what follows begins with a blank."""
    out, part, size = [], "", 0
    for letter in line:
        octets = len(letter.encode("utf-8"))
        if size + octets > _FOLD:
            out.append(part)
            part, size = " ", 1
        part += letter
        size += octets
    return [*out, part]
