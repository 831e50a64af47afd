"""The report as rows for other programs: one list for CSV, JSON Lines and the sheets of a workbook."""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import asdict, is_dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from intake.records.export import safe_cell
from intake.report import words
from intake.report.lines import Quote, Thing, Week, units_of

FORMAT = "intake-week/1"
#: Column -> what it holds, as docs/report.md tells it.
COLUMNS = {
    "section": "came in, moved, done, stuck, job waits, overdue, due, part, part not yet, customer's unit, not seen, "
               "perhaps sold or question",
    "group": "what the section is grouped by: source, way, kind of wait, part, field",
    "unit": "the unit's id", "name": "maker and model, else the type", "unit_type": "the type",
    "serial": "serial number",
    "place": "where it was last said to stand", "stage": "its stage on the day of the report", "source": "how it came",
    "owner": "customer's, stock or not known", "date": "the day it is about (arrived, moved, waits since, last seen)",
    "days": "days waited, days since, or days until it is due (negative: overdue)", "due": "the due date as told",
    "what": "the claim in words", "walk": "the walk it was said in", "recording": "the recording",
    "start_s": "seconds into it, from", "end_s": "seconds into it, to", "words": "the words",
    "cautions": "what its plate warns of, whatever was answered",
}
#: Number -> what it counts, as the workbook tells it.
NUMBERS = {
    "week": "the ISO week", "first": "the first day", "last": "the last day", "on": "the day at whose end is counted",
    "walks": "walks of these days", "came in": "units that a walk of these days saw for the first time",
    "moved on": "units that came to another stage, each once", "changes of stage": "each change, also of the same unit",
    "finished": "units that came to the last stage, listed, each once",
    "work done": "jobs done and faults put right", "stuck": "units at the stage waiting, each once",
    "jobs waiting": "single jobs that wait, of units that are not stuck", "overdue": "jobs whose date is past",
    "due": "jobs with a date in the next seven days", "parts": "kinds of part to order",
    "parts left out": "units that need a part, but their repair is not settled yet",
    "customers' units here": "customers' units that a walk of the last four weeks saw, without finished repairs",
    "not seen": "units expected where the walks went", "not seen, perhaps sold": "listed units; not part of: not seen",
    "open questions": "about any walk, as of now", "values": "values of these days' walks",
    "values asked about": "of these values, open now", "values accepted": "of these values, by people, up to now",
    "values corrected": "of these values, by people, up to now",
    "answers given": "people's acts within these days, about any walk",
}
Row = dict[str, Any]


def rows(week: Week) -> list[Row]:
    """Every line of the report, in the page's order."""
    return [*_units(week), *_waits(week), *_work(week), *_rest(week)]


def _row(section: str, group: str | None, thing: Thing | None, what: str, *, on: date | None = None,
         days: int | None = None, due: str | None = None, quote: Quote | None = None) -> Row:
    row: Row = dict.fromkeys(COLUMNS)
    row.update(section=section, group=group, what=what, date=on, days=days, due=due)
    if thing is not None:
        row.update(unit=thing.id, name=thing.name, unit_type=thing.unit_type, serial=thing.serial, place=thing.place,
                   stage=thing.stage, source=thing.source, owner=thing.whose,
                   cautions=" ".join(caution.noted for caution in thing.cautions) or None)
    if quote is not None:
        row.update(walk=quote.walk, recording=quote.recording, start_s=quote.start_s, end_s=quote.end_s,
                   words=quote.words)
    return row


def _units(week: Week) -> Iterator[Row]:
    for arrival in week.arrived:
        yield _row("came in", arrival.unit.source or "not said", arrival.unit, "came in", on=arrival.on,
                   quote=arrival.quote)
    for move in week.moved:
        yield _row("moved", words.WAYS[move.way], move.unit, f"{move.before} to {move.after}", on=move.on,
                   quote=move.quote)
    for done in week.done:
        yield _row("done", done.kind, done.unit, done.what, on=done.on, quote=done.quote)


def _waits(week: Week) -> Iterator[Row]:
    for kind, group in week.stuck:
        for wait in group:
            yield _row("stuck", kind, wait.unit, wait.what or "", on=wait.since, days=wait.days, quote=wait.quote)
    for wait in week.work_waits:
        yield _row("job waits", wait.kind, wait.unit, wait.what or "", on=wait.since, days=wait.days, quote=wait.quote)


def _work(week: Week) -> Iterator[Row]:
    for section, lines in (("overdue", week.overdue), ("due", week.due)):
        for line in lines:
            group = "exact day" if line.exact else "some day"
            yield _row(section, group, line.unit, line.work, on=line.last, days=line.days, due=line.due,
                       quote=line.quote)
    for part in week.parts:
        for need in part.needs:
            what = f"{need.work} ({'waits' if need.waits else 'needed'})"
            yield _row("part", part.part, need.unit, what, on=need.since, quote=need.quote)
    for later in week.not_yet:
        yield _row("part not yet", later.part, later.unit, f"{later.work} (waits for {later.waiting_on} first)",
                   on=later.since, quote=later.quote)


def _rest(week: Week) -> Iterator[Row]:
    for kept in week.customers:
        yield _row("customer's unit", kept.unit.source, kept.unit, words.kept(kept), on=kept.since, days=kept.days)
    for one in week.unseen:
        yield _row("perhaps sold" if one.sold else "not seen", one.place, one.unit, f"not seen at {one.place}",
                   on=one.last_seen, days=one.days)
    for thing, question in week.questions:
        first = question.evidence[0] if question.evidence else None
        quote = None if first is None else Quote(question.walk, question.about, first.recording, first.start_s,
                                                 first.end_s, first.words)
        yield _row("question", f"{question.kind} {question.name}", thing, words.why_look(question), quote=quote)


# ---- CSV


def csv_text(week: Week) -> str:
    """All rows as CSV (RFC 4180: CRLF, quotes doubled), with a byte-order mark, and safe to open in a spreadsheet."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in rows(week):
        writer.writerow([cell(value) for value in row.values()])
    return "\ufeff" + out.getvalue()


def cell(value: Any) -> Any:
    """A cell that no spreadsheet runs or rewrites, from which `uncell` gets the text back."""
    if isinstance(value, str):
        return _text_cell(value)
    return value.isoformat() if isinstance(value, date) else safe_cell(value)


@lru_cache(maxsize=10_000)                             # the same names and places come again and again
def _text_cell(text: str) -> Any:
    if text.startswith("'"):
        return "'" + re.sub(r"[\x00-\x1f\x7f\u2028\u2029]+", " ", text)
    return safe_cell(text)


def uncell(text: str) -> str:
    """What a cell of the CSV says, without the apostrophe that keeps a spreadsheet from running it."""
    return text[1:] if text.startswith("'") else text


# ---- JSON


def json_lines(week: Week) -> str:
    """One JSON object a line (JSON Lines): first the numbers, then every row."""
    first = {"format": FORMAT, "section": "numbers", **numbers(week)}
    return "".join(json.dumps(plain(line), ensure_ascii=False, default=str) + "\n" for line in (first, *rows(week)))


def json_text(week: Week) -> str:
    """The whole report as one JSON document."""
    return json.dumps({"format": FORMAT, "numbers": numbers(week), **plain(week)}, ensure_ascii=False, indent=1) + "\n"


def numbers(week: Week) -> dict[str, Any]:
    """The week's numbers, flat; NUMBERS says what each counts."""
    sure = week.sure
    values = (
        week.period.week, week.period.first.isoformat(), week.period.last.isoformat(), week.period.on.isoformat(),
        len(week.walks), len(week.arrived), len(units_of(week.moved)), len(week.moved), len(units_of(week.finished)),
        len(week.done), len(week.stuck_units), len(week.work_waits), len(week.overdue), len(week.due), len(week.parts),
        len(units_of(week.not_yet)), len(week.customers), len(week.missing), len(week.perhaps_sold), words.asked(week),
        sure.values, sure.flagged, sure.accepted, sure.corrected, sure.decided)
    return dict(zip(NUMBERS, values, strict=True))


def plain(value: Any) -> Any:
    """Dataclasses, dates and tuples as JSON has them."""
    if is_dataclass(value) and not isinstance(value, type):
        return plain(asdict(value))
    if isinstance(value, dict):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [plain(part) for part in value]
    return value.isoformat() if isinstance(value, date) else value


def sections(table: Iterable[Row]) -> dict[str, list[Row]]:
    """The rows by section, in order."""
    out: dict[str, list[Row]] = {}
    for row in table:
        out.setdefault(row["section"], []).append(row)
    return out
