"""`intake report` and `intake sheet`: the week for the owner, a walk for a second pair of eyes."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from intake.cli import common
from intake.cli.common import ShopOption

if TYPE_CHECKING:
    from intake.records.look import Look
    from intake.report.lines import Week
    from intake.report.weeks import Period
    from intake.settings import Settings


class Format(StrEnum):
    """What `report` writes."""

    terminal = "terminal"
    html = "html"
    md = "md"
    csv = "csv"
    json = "json"
    xlsx = "xlsx"
    ics = "ics"
    jsonl = "jsonl"


_BY_SUFFIX = {".html": Format.html, ".htm": Format.html, ".md": Format.md, ".csv": Format.csv, ".json": Format.json,
              ".xlsx": Format.xlsx, ".ics": Format.ics, ".jsonl": Format.jsonl, ".txt": Format.terminal}
OutputOption = Annotated[Path | None, typer.Option(
    "-o", "--output", metavar="FILE", help="Write here instead of to standard output.")]


def register(app: typer.Typer) -> None:
    """Add the commands `report` and `sheet`."""
    app.command()(report)
    app.command()(sheet)


def report(
    week: Annotated[str | None, typer.Option("--week", metavar="WEEK", help="An ISO week, such as 2026-W20 "
                                                                           "(default: this week).")] = None,
    from_: Annotated[str | None, typer.Option("--from", metavar="DAY", help="The first day, as 2026-05-11.")] = None,
    to: Annotated[str | None, typer.Option("--to", metavar="DAY", help="The last day (default: today).")] = None,
    format_: Annotated[Format | None, typer.Option(
        "--format", help="terminal; html: one page to open or print; md; csv, xlsx: tables; json, jsonl: for programs; "
                         "ics: due dates for a calendar (default: by the name of FILE, else terminal).")] = None,
    output: OutputOption = None,
    demo: Annotated[bool, typer.Option("--demo", help="Show an invented shop's week; nothing is kept.")] = False,
    shop: ShopOption = None,
) -> None:
    """Report a week: what came in, what moved on, what is stuck and on what, what is due, what to order."""
    chosen = format_ or (_BY_SUFFIX.get(output.suffix.lower(), Format.terminal) if output else Format.terminal)
    with (_demo() if demo else _shop(shop)) as source:
        period = _period(week, from_, to, source.today)
        made = _write(source, period, chosen)
    if output is None:
        _print(made)
    else:
        _save(output, made)
        common.remark(f"{period.title}, {period.days}: written to {output}")


@dataclass(frozen=True)
class _Source:
    """Where a report comes from: the shop's records, or the invented shop's."""

    look: Look
    settings: Settings | None
    name: str
    thumbnails: Path | None
    today: date
    now: datetime
    demo: bool = False


@contextmanager
def _shop(shop: Path | None) -> Iterator[_Source]:
    from intake.cli.records import shop_terms
    from intake.records.look import Look
    from intake.report.weeks import today

    settings = common.settings(shop)
    now = datetime.now().astimezone(settings.zone)
    with Look.open(settings.database, shop_terms=shop_terms(settings)) as look:
        yield _Source(look, settings, settings.shop.name, settings.thumbnails, today(settings.zone, now), now)


@contextmanager
def _demo() -> Iterator[_Source]:
    import tempfile

    from intake.records.look import Look
    from intake.records.store import Store
    from intake.report import demo

    common.remark("Living twelve weeks of an invented shop; this takes some seconds.")
    with tempfile.TemporaryDirectory(prefix="intake-demo-") as folder, Store.open(":memory:") as store:
        demo.build(store, pictures=Path(folder))
        now = datetime(demo.LAST_DAY.year, demo.LAST_DAY.month, demo.LAST_DAY.day, 18).astimezone()
        with Look.of(store) as look:
            yield _Source(look, None, demo.SHOP, Path(folder), demo.LAST_DAY, now, demo=True)


def _period(week: str | None, from_: str | None, to: str | None, today: date) -> Period:
    from intake.errors import UsageError
    from intake.report import weeks

    if week is not None and (from_ or to):
        raise UsageError("--week and --from/--to say two things.", hint="Give one of them.")
    if to is not None and from_ is None:
        raise UsageError("--to needs --from.", hint="Give both days, or --week.")
    if from_ is not None:
        last = weeks.parse_day(to) if to else max(today, weeks.parse_day(from_))
        return weeks.period_of_days(weeks.parse_day(from_), last, today)
    return weeks.period_of_week(week or weeks.week_name(today), today)


def _write(source: _Source, period: Period, chosen: Format) -> str | bytes:
    from intake.report import make

    week = make.report(source.look, period, source.settings)
    if chosen is Format.terminal:
        from intake.cli import week_page

        return "\n".join(week_page.page(week, source.name)) + "\n"
    if chosen in (Format.html, Format.md):
        return _page(source, week, chosen)
    return _table(week, chosen, source.now)


def _page(source: _Source, week: Week, chosen: Format) -> str:
    from intake.report import make, render_html, render_markdown

    beside = make.extras(source.look, week, source.settings, shop=source.name, thumbnails=source.thumbnails,
                         now=source.now, demo=source.demo)
    if chosen is Format.html:
        return render_html.html(week, beside)
    return render_markdown.markdown(week, source.name, beside.cautions)


def _table(week: Week, chosen: Format, now: datetime) -> str | bytes:
    from intake.report import calendar, tables, workbook

    if chosen is Format.xlsx:
        return workbook.xlsx(week, now)
    if chosen is Format.ics:
        return calendar.ics(week, now)
    if chosen is Format.csv:
        return tables.csv_text(week)
    return tables.json_text(week) if chosen is Format.json else tables.json_lines(week)


def sheet(
    walk: Annotated[str, typer.Argument(metavar="WALK", help="The walk's id, as `intake list --walks` shows it.")],
    output: OutputOption = None, shop: ShopOption = None,
) -> None:
    """Show a walk as a page (HTML): what was said with the extracted words marked, units with photos, doubts."""
    from intake.cli.records import open_store
    from intake.report import sheet as sheets

    settings = common.settings(shop)
    with open_store(settings) as store:
        made = sheets.html(sheets.make_sheet(store, walk, settings, now=datetime.now().astimezone(settings.zone)),
                           settings.shop.name)
    if output is None:
        _print(made)
    else:
        _save(output, made)
        common.remark(f"Walk {walk}: written to {output}")


def _print(made: str | bytes) -> None:
    """Exactly these bytes on standard output; a workbook is not for a terminal."""
    import sys

    from intake.errors import UsageError

    if isinstance(made, bytes) and sys.stdout.isatty():
        raise UsageError("a workbook is no text for a terminal.", hint="Name a file with -o.")
    data = made if isinstance(made, bytes) else made.encode("utf-8", "replace")
    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:
        sys.stdout.write(data.decode("utf-8"))
        return
    sys.stdout.flush()
    stream.write(data)
    stream.flush()


def _save(path: Path, made: str | bytes) -> None:
    """Write a file whole, or leave what was there."""
    from intake.errors import IntakeError

    unfinished = path.with_name(path.name + ".part")
    try:
        unfinished.write_bytes(made if isinstance(made, bytes) else made.encode("utf-8", "replace"))
        unfinished.replace(path)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise IntakeError(f"the report cannot be written: {error.strerror or error}.", path=path,
                          hint="Name another file with -o.") from error
