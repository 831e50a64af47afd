"""Small pieces of wording that every form of the report shares, and text made safe to show."""

from __future__ import annotations

import unicodedata
from datetime import date

from intake.report.lines import Done, Due, Keeping, Thing, Wait, Week
from intake.report.weeks import date_in_words, day_in_words

LONGEST = 160                                          # letters of one value that a page shows
KIND_TITLES = {"part": "Waits for a part", "person": "Waits for a person", "decision": "Waits for a decision",
               "test": "Waits for a test", "something else": "Waits for something else",
               "not said": "Nobody said what for"}
WAYS = {"on": "went on", "back": "went back", "stuck": "got stuck", "free": "goes on again"}
OWNERS = {"customer's": "Customers' property", "stock": "The shop's own", "not known": "Owner not said"}
QUESTION_KINDS = {"value": ("value", None), "photo": ("photo", None),
                  "link": ("unit perhaps seen before", "units perhaps seen before"), "clock": ("camera clock", None)}
DONE = {"work": "done", "issue": "put right"}
HERE_FOR = {"customer repair": "In for repair", "consignment": "On consignment"}
_TURNS = set("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def shown(text: object, longest: int | None = LONGEST) -> str:
    """A value as one line of harmless text: no control characters, nothing that turns the line around, not too long."""
    line = str(text)
    if line.isascii() and line.isprintable():
        return _cut(line, longest)
    out = []
    for letter in line:
        kind = unicodedata.category(letter)
        if letter in "\n\r\t\u2028\u2029":
            out.append(" ")
        elif kind in ("Cc", "Cs", "Cn", "Co") or letter in _TURNS:
            out.append("\ufffd")
        else:
            out.append(letter)
    return _cut("".join(out), longest)


def _cut(line: str, longest: int | None) -> str:
    if longest is None or len(line) <= longest:
        return line
    if len(line) <= 3 * longest:
        return f"{line[:longest - 1].rstrip()}…"
    return f"{line[:longest - 1].rstrip()}… ({len(line) - longest + 1:,} letters more)"


def count(number: int, one: str, many: str | None = None) -> str:
    """A number with its word: 1 unit, 2 units."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def days(number: int) -> str:
    """Days in words: "1 day", "23 days"."""
    return count(number, "day")


def clock(seconds: float) -> str:
    """Seconds into a recording: 66.0 -> "1:06"."""
    whole = int(seconds)
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"


def waited(wait: Wait) -> str:
    """How long a unit has waited; one that waited when it was first seen may have waited longer."""
    return f"{'at least ' if wait.first else ''}{days(wait.days)}"


def waits_for(wait: Wait) -> str:
    """What a unit waits for, in the words that were said."""
    if wait.what is not None:
        return f"waits for {wait.what}"
    return f"nobody said what it waits for{'; to do: ' + ', '.join(wait.to_do) if wait.to_do else ''}"


def due_when(line: Due) -> str:
    """When work is due, or by how much it is late."""
    when = date_in_words(line.due)
    if line.days < 0:
        return f"{days(-line.days)} overdue ({when})"
    if not line.exact:
        return when
    near = {0: "today", 1: "tomorrow"}.get(line.days, f"in {days(line.days)}")
    return f"{near} ({when})"


def facts(thing: Thing) -> str:
    """Serial, place and stage of a unit, as far as they are known."""
    serial = f"serial {thing.serial}" if thing.serial else None
    return "; ".join(part for part in (serial, thing.place or "place unknown", thing.stage) if part)


def kept(line: Keeping) -> str:
    """How long a customer's unit has been here, and since when it is at its stage."""
    stage = line.unit.stage or "stage not said"
    since = f" since {day_in_words(line.stage_since, year=False)}" if line.stage_since else ""
    return f"{stage}{since}; here {days(line.days)}"


def percent(part: int, whole: int) -> str:
    """A share in percent; a dash of nothing. Some is never called none, nor most all."""
    if not whole:
        return "-"
    share = 100 * part / whole
    if 0 < share < 1:
        return "under 1 %"
    return "over 99 %" if 99 < share < 100 else f"{share:.0f} %"


def questions(week: Week) -> str:
    """The open questions by kind: "14 values, 1 photo", or "none"."""
    return ", ".join(count(number, *QUESTION_KINDS[kind]) for kind, number in week.question_counts if number) or "none"


def customers_by_kind(week: Week) -> list[tuple[str, list[Keeping]]]:
    """Customers' units by why they are here; those here the longest first."""
    groups: dict[str, list[Keeping]] = {title: [] for title in (*HERE_FOR.values(), "Here for something else")}
    for line in week.customers:
        groups[HERE_FOR.get(line.unit.source or "", "Here for something else")].append(line)
    return [(title, lines) for title, lines in groups.items() if lines]


def done_by_unit(week: Week) -> list[tuple[Thing, list[Done]]]:
    """Work done and faults put right, unit by unit, in the order of the days."""
    found: dict[str, tuple[Thing, list[Done]]] = {}
    for line in week.done:
        found.setdefault(line.unit.id, (line.unit, []))[1].append(line)
    return list(found.values())


def in_short(week: Week) -> list[tuple[str, str, str]]:
    """The report in a few sentences, each with the section it leads to and what it is about."""
    arrived, stuck = len(week.arrived), week.stuck_units
    moved = len({move.unit.id for move in week.moved})
    out = [("arrived", "Came in", count(arrived, "unit") + _mostly(week)),
           ("moved", "Moved on", f"{count(moved, 'unit')}; {len(week.finished)} finished" if moved else "nothing")]
    if stuck:
        longest = stuck[0]
        out.append(("stuck", "Stuck", f"{count(len(stuck), 'unit')}. The longest, for {waited(longest)}: "
                                      f"{longest.unit.name} ({longest.unit.id}), {waits_for(longest)}"))
    else:
        out.append(("stuck", "Stuck", "nothing"))
    exact = [line for line in week.due if line.exact]
    maybe = len(week.due) - len(exact)
    out.append(("due", "Due", f"{len(week.overdue)} overdue; {len(exact)} due by {_end(week)}"
                       + (f"; {maybe} with no exact day" if maybe else "")))
    if week.parts:
        listed = ", ".join(f"{part.part} for {count(part.units, 'unit')}" for part in week.parts[:4])
        more = f", and {len(week.parts) - 4} more" if len(week.parts) > 4 else ""
        out.append(("parts", "To order", f"{listed}{more}"))
    else:
        out.append(("parts", "To order", "nothing"))
    missing = [line for line in week.unseen if not line.sold]
    if missing:
        out.append(("unseen", "Not seen", f"{count(len(missing), 'unit')} expected where the walks went"))
    asked = sum(number for _, number in week.question_counts)
    out.append(("questions", "To look at", f"{count(asked, 'question')} for the reviewer"))
    return out


def _mostly(week: Week) -> str:
    if not week.by_source:
        return ""
    return ": " + ", ".join(f"{number} {source if source != 'not said' else 'with no source said'}"
                            for source, number in week.by_source)


def _end(week: Week) -> str:
    from datetime import timedelta

    from intake.report.weeks import DUE_DAYS

    return day_in_words(week.period.on + timedelta(days=DUE_DAYS), year=False)


def walks_line(week: Week) -> str:
    """Which walks the period had; where there was none, where to look."""
    if week.walks:
        walks = ", ".join(f"{walk.id} ({count(walk.units, 'unit')})" for walk in week.walks)
        return f"From {count(len(week.walks), 'walk')}: {walks}."
    before = f" The newest before it is {week.walk_before[0]}." if week.walk_before else ""
    return f"No walk was made in these days.{before}"


def as_of(week: Week) -> str:
    """Of which day the numbers are."""
    tail = " (the week is not over)" if week.period.unfinished else ""
    return f"Counted at the end of {day_in_words(week.period.on)}{tail}."


def short_day(day: date) -> str:
    """A day of the period: "14 May"."""
    return day_in_words(day, year=False)
