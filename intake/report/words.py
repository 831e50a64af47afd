"""Small pieces of wording that every form of the report shares, and text made safe to show."""

from __future__ import annotations

import unicodedata
from datetime import date

from intake.records.cautions import TOLD
from intake.records.codec import in_plain_words
from intake.records.types import WHOLE, Question
from intake.records.weekly import MOST_QUESTIONS
from intake.report.lines import Done, Due, Keeping, Needed, NotYet, Thing, Wait, Week, units_of
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
#: Rows of the table of owners: its words, and the number of `Owned`. All count units, each once.
OWNED = {"on file in all": "on_file", "came in": "arrived", "moved on": "moved", "finished": "finished",
         "stuck": "stuck", "with overdue work": "overdue", "not seen, expected": "missing",
         "not seen, perhaps sold": "sold"}
NOT_YET = "Left out, because the repair is not settled yet"
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
        return f"due {when}, {days(-line.days)} over"
    if not line.exact:
        return when
    near = {0: "today", 1: "tomorrow"}.get(line.days, f"in {days(line.days)}")
    return f"{near} ({when})"


def warning(thing: Thing) -> str:
    """The cautions of this very unit, to stand beside its name; "" where there are none."""
    return " ".join(f"CAUTION, {caution.name}: {caution.noted}" for caution in thing.cautions)


def field_of(question: Question) -> str:
    """What a question is about: a field, an item, a photo; a caution of the whole unit by that name."""
    whole, _, _ = question.name.partition(".")
    if question.kind == "value" and whole in WHOLE:
        told = any(reason.startswith(TOLD) for reason in question.reasons)
        return "caution" if told else "the unit as a whole" if whole == "unit" else "its photos"
    return question.name


def why_look(question: Question) -> str:
    """Why a person should look, in plain words."""
    return "; ".join(in_plain_words(reason).removeprefix(TOLD) for reason in question.reasons)


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


def customers_listed(week: Week) -> list[Keeping]:
    """Customers' units that are here as far as the walks of the period tell."""
    away = {line.unit.id for line in week.missing}
    return [line for line in week.customers if line.unit.id not in away]


def customers_by_kind(week: Week) -> list[tuple[str, list[Keeping]]]:
    """Customers' units by why they are here, those here the longest first; none that stands under "not seen"."""
    groups: dict[str, list[Keeping]] = {title: [] for title in (*HERE_FOR.values(), "Here for something else")}
    for line in customers_listed(week):
        groups[HERE_FOR.get(line.unit.source or "", "Here for something else")].append(line)
    return [(title, lines) for title, lines in groups.items() if lines]


def done_by_unit(week: Week) -> list[tuple[Thing, list[Done]]]:
    """Work done and faults put right: one group for a unit and a day, in the order of the days."""
    found: dict[tuple[str, date], tuple[Thing, list[Done]]] = {}
    for line in week.done:
        found.setdefault((line.unit.id, line.on), (line.unit, []))[1].append(line)
    return list(found.values())


def customers_line(week: Week) -> str:
    """How many of the customers' units on file are listed, and what became of the others."""
    on_file = sum(row.on_file for row in week.owned if row.whose == "customer's")
    kept, away = len(week.customers), on_file - week.customers_seen
    listed = len(customers_listed(week))
    others = [f"{number} {what}" for number, what in (
        (kept - listed, "not seen where the walks went"), (away, "seen by no walk of the last four weeks"),
        (week.customers_seen - kept, "finished")) if number]
    tail = f" The others: {', '.join(others)}." if others else ""
    return f"Customers' units on file: {on_file:,}. Listed here: {listed:,}.{tail}"


def in_short(week: Week) -> list[tuple[str, str, str]]:
    """The report in a few sentences, each with the section it leads to and what it is about."""
    stuck = week.stuck_units
    out = [("arrived", "Came in", count(len(week.arrived), "unit") + _mostly(week)),
           ("moved", "Moved on", moved_count(week) if week.moved else "nothing")]
    if stuck:
        longest = stuck[0]
        out.append(("stuck", "Stuck", f"{count(len(stuck), 'unit')}. The longest, for {waited(longest)}: "
                                      f"{longest.unit.name} ({longest.unit.id}), {waits_for(longest)}"))
    else:
        out.append(("stuck", "Stuck", "nothing"))
    late = week.overdue[0] if week.overdue else None
    out.append(("due", "Due", due_count(week) + (
        f". The longest overdue: {late.work}, {late.unit.name} ({late.unit.id}), {due_when(late)}" if late else "")))
    out.append(("parts", "To order", _to_order(week)))
    if week.unseen:
        out.append(("unseen", "Not seen", unseen_count(week)))
    here = _of_these_walks(week)
    out.append(("questions", "To look at", count(asked(week), "question") + " for the reviewer"
                + (f"; {here} from these days' walks" if here != "all" else "")))
    return out


def moved_count(week: Week) -> str:
    """How many units moved, and how many of them are finished: "18 units; 4 finished"."""
    return f"{count(len(units_of(week.moved)), 'unit')}; {len(units_of(week.finished))} finished"


def due_count(week: Week) -> str:
    """How many jobs are overdue and due: "2 jobs overdue; 3 due by 24 May; 1 with no exact day"."""
    exact = sum(line.exact for line in week.due)
    maybe = f"; {len(week.due) - exact} with no exact day" if exact < len(week.due) else ""
    return f"{count(len(week.overdue), 'job')} overdue; {exact} due by {_end(week)}{maybe}"


def parts_count(week: Week) -> str:
    """How many parts are to order and for how many units, each unit once: "3 kinds of part, for 6 units"."""
    units = units_of(need for part in week.parts for need in part.needs)
    return f"{count(len(week.parts), 'kind')} of part, for {count(len(units), 'unit')}"


def _to_order(week: Week) -> str:
    listed = ", ".join(f"{part.part} for {count(part.units, 'unit')}" for part in week.parts[:4]) or "nothing"
    more = f", and {len(week.parts) - 4} more kinds" if len(week.parts) > 4 else ""
    held = units_of(week.not_yet)
    tail = f". Left out: {count(len(held), 'unit')} whose repair is not settled yet" if held else ""
    return f"{listed}{more}{tail}"


def ordered(need: Needed) -> str:
    """What stands after a unit that needs a part: whether the part may be on its way."""
    return " (waits for it: perhaps ordered)" if need.waits else ""


def not_yet(line: NotYet) -> str:
    """Why a part is not to order yet, after the unit's name: "tweeter; waits for Bev"."""
    return f"{line.part}; waits for {line.waiting_on}"


def unseen_count(week: Week) -> str:
    """How many units were not seen: those expected, and apart from them those that may be sold."""
    sold = f"; {len(week.perhaps_sold)} more may be sold" if week.perhaps_sold else ""
    return f"{count(len(week.missing), 'unit')} expected where the walks went{_customers_among(week)}{sold}"


def _customers_among(week: Week) -> str:
    theirs = sum(line.unit.whose == "customer's" for line in week.missing)
    if not theirs:
        return ""
    if theirs == len(week.missing):
        return ", a customer's" if theirs == 1 else ", all of them customers'"
    return f"; of these, {theirs} {'is a customer' if theirs == 1 else 'are customers'}'{'s' if theirs == 1 else ''}"


def stuck_order(week: Week) -> str:
    """In which order the stuck units stand, and why a unit may stand there twice."""
    twice = sum(len(group) for _, group in week.stuck) > len(week.stuck_units)
    tail = " A unit that waits for two things stands twice, but counts once." if twice else ""
    return f"Grouped by what they wait for; within each group, the longest first.{tail}"


def asked(week: Week) -> int:
    """All questions that are open, about any walk."""
    return sum(number for _, number in week.question_counts)


def _of_these_walks(week: Week) -> str:
    """How many of the open questions are from the period's walks; "all" where none is from another."""
    here = len(week.questions)
    if here >= asked(week):
        return "all"
    return f"{here} or more" if here >= MOST_QUESTIONS else f"{here}"


def look_at(week: Week, most: int | None = None) -> str:
    """How many questions are open, and which of them are listed: those of the period's walks, up to `most`."""
    if not asked(week):
        return "No question is open."
    here = _of_these_walks(week)
    said = f"Open questions now, of all walks: {asked(week):,} ({questions(week)}). From these days' walks: {here}"
    if most is not None and len(week.questions) > most:
        return f"{said}; the first {most} are listed here."
    return f"{said}{', listed here' if week.questions else ''}."


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
