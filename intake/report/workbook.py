"""The report as an XLSX workbook: a sheet with the numbers and one for each list. Knows openpyxl."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from intake.report import tables
from intake.report.lines import Week

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

LONGEST_CELL = 32_767                                  # characters that a cell can hold (ECMA-376 readers' limit)
SHEETS = {"came in": "Came in", "moved": "Moved on", "done": "Done", "stuck": "Stuck", "job waits": "Jobs waiting",
          "overdue": "Overdue", "due": "Due", "part": "Parts", "part not yet": "Parts not yet",
          "customer's unit": "Customers", "not seen": "Not seen", "perhaps sold": "Perhaps sold",
          "question": "Questions"}


def xlsx(week: Week, made: datetime) -> bytes:
    """The workbook's bytes. Text stays text: nothing in it is ever a formula."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    book.properties.created = book.properties.modified = made.replace(tzinfo=None, microsecond=0)
    book.properties.creator = "intake"
    numbers = [[name, value, tables.NUMBERS[name]] for name, value in tables.numbers(week).items()]
    _fill(book.create_sheet("Week"), ["number", "value", "what it counts"], numbers)
    by_section = tables.sections(tables.rows(week))
    for section, title in SHEETS.items():
        lines = by_section.get(section, [])
        columns = [name for name in tables.COLUMNS if name != "section"]
        _fill(book.create_sheet(title), columns, [[row[name] for name in columns] for row in lines])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _fill(sheet: Worksheet, head: Sequence[str], lines: Sequence[Sequence[Any]]) -> None:
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    for at, name in enumerate(head, 1):
        _put(sheet, 1, at, name).font = Font(bold=True)
    for row, line in enumerate(lines, 2):
        for at, value in enumerate(line, 1):
            _put(sheet, row, at, value)
    sheet.freeze_panes = "A2"
    _for_paper(sheet)
    if lines:
        sheet.auto_filter.ref = f"A1:{get_column_letter(len(head))}{len(lines) + 1}"
    for at, name in enumerate(head):
        widest = max([len(name), *(len(str(line[at] if line[at] is not None else "")) for line in lines[:200])])
        sheet.column_dimensions[get_column_letter(at + 1)].width = min(46, widest + 2)


def _for_paper(sheet: Worksheet) -> None:
    """Lying, as wide as the paper, with the head of the table on every page."""
    from openpyxl.worksheet.properties import PageSetupProperties

    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.print_title_rows = "1:1"


def _put(sheet: Worksheet, row: int, column: int, value: Any) -> Any:
    """Write a cell: numbers and dates as such, all else as text, even where it begins like a formula."""
    cell = sheet.cell(row, column)
    if value is None:
        return cell
    if isinstance(value, date | int | float) and not isinstance(value, bool):
        cell.value = value
        if isinstance(value, date):
            cell.number_format = "yyyy-mm-dd"
        return cell
    cell.value = _text(str(value))
    cell.data_type = "s"
    return cell


def _text(text: str) -> str:
    """Text that XML can hold and a cell takes; what had to go stands as a sign."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    kept = ILLEGAL_CHARACTERS_RE.sub("\ufffd", text)
    kept = "".join("\ufffd" if "\ud800" <= sign <= "\udfff" or sign in "\ufffe\uffff" else sign for sign in kept)
    return kept if len(kept) <= LONGEST_CELL else kept[:LONGEST_CELL - 1] + "…"
