"""Tables read back by other programs' readers, and no cell of them runs."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.report import calendar, tables, workbook
from intake.report.lines import Due, Quote, Thing

from .conftest import NOW, Shop
from .hostile import HOSTILE
from .test_page import spoiled

# OWASP, "CSV Injection": a cell must not begin with one of these (reference values 13).
FORMULA = ("=", "+", "-", "@", "\t", "\r")


def test_csv_reads_back(shop: Shop) -> None:
    """Every row of the report is in the CSV, cell by cell, by Python's reader; lines end in CRLF (RFC 4180)."""
    week = shop.week()
    text = tables.csv_text(week)
    assert text.startswith("\ufeffsection,group,unit,")
    assert text.count("\r\n") == text.count("\n") == len(tables.rows(week)) + 1
    read = list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline="")))
    for cells, row in zip(read, tables.rows(week), strict=True):
        assert {name: tables.uncell(cell) for name, cell in cells.items()} == {
            name: "" if value is None else str(value) for name, value in row.items()
        }


def test_csv_reads_back_with_pandas(shop: Shop) -> None:
    """pandas reads the same table: as many rows of each section, numbers as numbers, dates as dates."""
    import pandas

    week = shop.week()
    frame = pandas.read_csv(
        io.BytesIO(tables.csv_text(week).encode("utf-8")), dtype={"serial": str}, parse_dates=["date"]
    )
    assert dict(frame.groupby("section").size()) == {
        name: len(lines) for name, lines in tables.sections(tables.rows(week)).items()
    }
    stuck = frame[frame.section == "stuck"]
    assert stuck.days.max() == week.stuck_units[0].days
    assert (frame[frame.section == "came in"].date.dt.date == [line.on for line in week.arrived]).all()


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_no_cell_of_the_csv_runs(shop: Shop, text: str) -> None:
    """No text cell begins like a formula, whatever was said."""
    read = csv.reader(io.StringIO(tables.csv_text(spoiled(shop.week(), text)).removeprefix("\ufeff"), newline=""))
    head = next(read)
    for line in read:
        for name, cell in zip(head, line, strict=True):
            assert name in ("days", "start_s", "end_s") or not cell.lstrip(" ").startswith(FORMULA)


@given(st.text())
def test_cells_round_trip(text: str) -> None:
    """What a cell says comes back whole; only control letters become blanks."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerow([tables.cell(text), "x"])
    ((cell, _),) = csv.reader(io.StringIO(out.getvalue(), newline=""))
    assert tables.uncell(cell) == re.sub(r"[\x00-\x1f\x7f\u2028\u2029]+", " ", text)


def test_json_and_json_lines_agree(shop: Shop) -> None:
    """Both are JSON, have the same numbers, and JSON Lines has a line for each row."""
    week = shop.week()
    whole = json.loads(tables.json_text(week))
    first, *lines = [json.loads(line) for line in tables.json_lines(week).splitlines()]
    assert whole["format"] == first["format"] == "intake-week/1"
    assert whole["numbers"] == {key: value for key, value in first.items() if key not in ("format", "section")}
    assert lines == tables.plain(tables.rows(week))
    assert [line["unit"]["id"] for line in whole["arrived"]] == [line.unit.id for line in week.arrived]


def test_the_workbook_reads_back(shop: Shop) -> None:
    """openpyxl finds every list on its sheet, with dates as dates and numbers as numbers."""
    import openpyxl

    week = shop.week()
    book = openpyxl.load_workbook(io.BytesIO(workbook.xlsx(week, NOW)))
    by_section = tables.sections(tables.rows(week))
    assert book.sheetnames == ["Week", *workbook.SHEETS.values()]
    for section, title in workbook.SHEETS.items():
        head, *lines = book[title].iter_rows(values_only=True)
        rows = by_section.get(section, [])
        assert len(lines) == len(rows)
        for line, row in zip(lines, rows, strict=True):
            found = {
                name: value.date() if isinstance(value, datetime) else value
                for name, value in zip(head, line, strict=True)
            }
            assert found == {name: row[name] or (row[name] if row[name] == 0 else None) for name in found}


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_the_workbook_has_no_formula(shop: Shop, text: str) -> None:
    """Any text is a text cell; the file itself holds no formula."""
    import openpyxl

    made = workbook.xlsx(spoiled(shop.week(), text), NOW)
    with zipfile.ZipFile(io.BytesIO(made)) as packed:
        assert not any(b"<f>" in packed.read(name) or b"<f " in packed.read(name) for name in packed.namelist())
    for sheet in openpyxl.load_workbook(io.BytesIO(made)):
        assert {cell.data_type for line in sheet.iter_rows() for cell in line} <= {"s", "n", "d"}


def _due(due: str, first: date, last: date, *, text: str = "replace belt", unit: str = "U0001") -> Due:
    thing = Thing(unit, text, "turntable", None, text, "in repair", None, "stock", 0)
    return Due(thing, text, due, first, last, 1, first == last, text, False, Quote("w", "w/u1", "m", 1.0, 2.0, text))


def _events(text: str) -> list[Any]:
    import icalendar

    return list(icalendar.Calendar.from_ical(text).walk("VEVENT"))


def test_due_dates_read_back_as_a_calendar(shop: Shop) -> None:
    """The icalendar package reads one all-day event for each piece of dated work, each with its own UID."""
    week = shop.week()
    events = _events(calendar.ics(week, NOW))
    assert [(e["DTSTART"].dt, e["DTEND"].dt) for e in events] == [
        (line.first, line.last + timedelta(days=1)) for line in week.dated
    ]
    assert len({str(e["UID"]) for e in events}) == len(events) > 3
    assert all(e["DTSTAMP"].dt == NOW for e in events)


def test_the_same_work_keeps_its_uid(shop: Shop) -> None:
    """A file made later names the same work by the same UID, so that calendars change entries and double none."""
    uids = [{str(e["UID"]) for e in _events(calendar.ics(shop.week(name), NOW))} for name in ("2026-W19", "2026-W20")]
    assert uids[0] & uids[1]


def test_a_month_spans_its_days(shop: Shop) -> None:
    """Work due "in June" is an entry over all of June that says so."""
    from dataclasses import replace

    week = replace(shop.week(), dated=(_due("2026-06", date(2026, 6, 1), date(2026, 6, 30)),))
    (event,) = _events(calendar.ics(week, NOW))
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (date(2026, 6, 1), date(2026, 7, 1))
    assert "some day" in event["SUMMARY"]
    assert "some time in June 2026" in event["DESCRIPTION"]


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_stays_in_its_property(shop: Shop, text: str) -> None:
    """Lines have at most 75 octets and end in CRLF (RFC 5545, 3.1); text comes back whole and adds no property."""
    from dataclasses import replace

    week = replace(shop.week(), dated=(_due("2026-06-01", date(2026, 6, 1), date(2026, 6, 1), text=text),))
    made = calendar.ics(week, NOW)
    assert max(len(line.encode("utf-8")) for line in made.split("\r\n")) <= 75
    assert "\n" not in made.replace("\r\n", "")
    (event,) = _events(made)
    expected = re.sub(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]", "\ufffd", text.replace("\r\n", " \n").replace("\t", " "))
    assert str(event["SUMMARY"]) == f"{expected}: {expected} (U0001)"
    assert set(event) == {
        "UID",
        "DTSTAMP",
        "DTSTART",
        "DTEND",
        "SUMMARY",
        "DESCRIPTION",
        "LOCATION",
        "TRANSP",
        "CATEGORIES",
    }
