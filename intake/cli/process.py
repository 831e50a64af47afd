"""`intake process`: captures become walks."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.pipeline import Processed, Watch


def register(app: typer.Typer) -> None:
    """Add `process`."""
    app.command()(process)


def process(
    captures: Annotated[
        list[Path],
        typer.Argument(
            metavar="CAPTURE...", help="A capture's folder (several: one walk each), or single files for one walk."
        ),
    ],
    walk_id: Annotated[
        str | None, typer.Option("--walk-id", metavar="ID", help="The walk's id (default: from the folder's name).")
    ] = None,
    day: Annotated[
        str | None,
        typer.Option("--date", metavar="YYYY-MM-DD", help="The day of the walk (default: as the files tell)."),
    ] = None,
    utc_offset: Annotated[
        str | None, typer.Option("--utc-offset", metavar="+HH:MM", help="The shop's clock against UTC on that day.")
    ] = None,
    redo: Annotated[
        bool, typer.Option("--redo", help="Read the stored transcripts again through the language rules.")
    ] = False,
    redo_speech: Annotated[bool, typer.Option("--redo-speech", help="Decode the recordings again as well.")] = False,
    json_: JsonOption = False,
    shop: ShopOption = None,
) -> None:
    """Turn captures - recordings and photos - into walks with units, photos and questions.

    Running it again adds nothing. Exit codes: 0 all done, 1 nothing could be done, 2 the words of the
    command are off, 3 done but some file could not be used.
    """
    from intake.errors import CaptureError
    from intake.outcome import Outcome
    from intake.pipeline import process_walk

    settings = common.settings(shop)
    outcome, results = Outcome(), []
    groups = _walks_of(captures)
    if walk_id and len(groups) > 1:
        raise _usage("--walk-id names one walk, but several captures were given.", "Process them one at a time.")
    for paths in groups:
        with _shown() as watch:
            try:
                result = process_walk(
                    paths,
                    settings,
                    walk_id=walk_id,
                    day=_day(day),
                    utc_offset_min=_offset(utc_offset),
                    redo=redo,
                    redo_speech=redo_speech,
                    watch=watch,
                )
            except CaptureError as error:
                outcome.failed.append((str(paths[0]), str(error)))
                continue
        outcome.done.append(result.walk.id)
        outcome.failed += [(p.name, p.reason) for p in result.problems if p.fatal]
        results.append(result)
    if json_:
        common.print_json({"walks": [_as_data(r) for r in results], **outcome.to_dict()})
    else:
        for result in results:
            for line in summary(result):
                common.say(line)
        for name, reason in outcome.failed:
            if not any(p.name == name for r in results for p in r.problems):
                common.say_error(reason)
    raise typer.Exit(outcome.exit_code)


def _walks_of(captures: list[Path]) -> list[list[Path]]:
    """Folders are a walk each; single files together are one."""
    files = [c for c in captures if not c.is_dir()]
    return [[c] for c in captures if c.is_dir()] + ([files] if files else [])


def _usage(message: str, hint: str = "") -> Exception:
    from intake.errors import UsageError

    return UsageError(message, hint=hint)


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise _usage(f"--date {text!r} is no date.", "Write it as 2026-05-14.") from error


def _offset(text: str | None) -> int | None:
    """ "-04:00" -> -240 minutes."""
    import re

    if text is None:
        return None
    if text.upper() == "Z":
        return 0
    match = re.fullmatch(r"([+-])(\d\d?):?([0-5]\d)", text)
    if not match or int(match.group(2)) > 14:
        raise _usage(f"--utc-offset {text!r} is no offset.", "Write it as -04:00 or +05:30.")
    minutes = int(match.group(2)) * 60 + int(match.group(3))
    return -minutes if match.group(1) == "-" else minutes


@contextmanager
def _shown() -> Iterator[Watch]:
    """A progress bar with an estimate on a terminal; nothing in a pipe."""
    from intake.pipeline import Watch

    if not sys.stderr.isatty():
        yield Watch()
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskProgressColumn, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(bar_width=24),
        TaskProgressColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=None)

        def step(name: str) -> None:
            bar.update(task, description=name)

        def heard(name: str, done: float, total: float) -> None:
            bar.update(task, description=f"listening: {name}", completed=min(done, total), total=total or None)

        yield Watch(step, heard)


def summary(result: Processed) -> list[str]:
    """The closing summary: units, fields to look at, photos, and every file that could not be used."""
    report, walk = result.report, result.walk
    if report.unchanged:
        lines = [f"Walk {walk.id} is on file already; nothing was added. (--redo reads it again.)"]
    else:
        placed, stray = report.placed, report.stray
        photos = f"; photos: {placed} placed, {stray} of no unit" if walk.photos else "; no photos"
        lines = [
            f"Walk {walk.id} ({walk.date}): {_count(report.units, 'unit')}, {_count(report.questions, 'question')} for the reviewer{photos}."
        ]
        if report.linked:
            lines.append(
                "  Seen before: " + ", ".join(f"{_local(a)} = {b}" for a, b in sorted(report.linked.items())) + "."
            )
        if report.asked:
            lines.append(
                "  Perhaps seen before: " + ", ".join(_local(a) for a in report.asked) + " (the reviewer is asked)."
            )
        for difference in report.differences:
            lines.append(f"  Differs from what a person settled: {difference}")
    for problem in result.problems:
        lines.append(f"  {'NOT USED' if problem.fatal else 'note'}: {problem.name}: {problem.reason}{_placed(result, problem.name)}")
    if not report.unchanged:
        lines.append(f"  Next: intake list --walk {walk.id}   or   intake list --open")
    return lines


def _placed(result: Processed, name: str) -> str:
    """Where a photo that is noted stands all the same, and how it came there."""
    match = next((m for m in result.matches if m.photo == name and m.unit), None)
    if match is None:
        return ""
    why = match.why.rstrip(".") or "by its place among the others"
    return f" Placed with {match.unit}, {match.confidence:.0%} sure ({why})."


def _local(sighting: str) -> str:
    """ "walk/u3" -> "u3"."""
    return sighting.rsplit("/", 1)[-1]


def _count(n: int, what: str) -> str:
    return f"{n} {what}{'' if n == 1 else 's'}"


def _as_data(result: Processed) -> dict[str, Any]:
    report = result.report
    return {
        "id": result.walk.id,
        "date": result.walk.date.isoformat(),
        "unchanged": report.unchanged,
        "units": report.units,
        "questions": report.questions,
        "photos_placed": report.placed,
        "photos_without_unit": report.stray,
        "seen_before": report.linked,
        "perhaps_seen_before": list(report.asked),
        "problems": [{"file": p.name, "reason": p.reason, "fatal": p.fatal} for p in result.problems],
    }
