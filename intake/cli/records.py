"""`intake list`, `show`, `find`, `export`, `explain`, `history`: what is on file, for a person or a program."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.records.store import Store
    from intake.records.types import Stored, UnitLine
    from intake.settings import Settings

UnitArgument = Annotated[str, typer.Argument(
    metavar="UNIT", help="A unit id (U0001), a walk's record (WALK/u3), or a serial number.")]


class Format(StrEnum):
    """What `export` writes."""

    json = "json"
    csv = "csv"


def register(app: typer.Typer) -> None:
    """Add the commands that read the records, and those that change them."""
    from intake.cli import edits

    app.command("list")(list_)
    for command in (show, find, export, explain, history):
        app.command()(command)
    edits.register(app)


def open_store(settings: Settings) -> Store:
    """The shop's records, with the shop's own terms."""
    from intake.records.store import Store

    return Store.open(settings.database, shop_terms=shop_terms(settings))


def shop_terms(settings: Settings) -> dict[str, list[str]]:
    """The terms that a shop has of its own, by kind."""
    from intake.vocabulary.shopfile import read_shop

    terms: dict[str, list[str]] = {}
    for kind, term in read_shop(settings.vocab).terms:
        terms.setdefault(kind, []).append(term)
    return terms


def list_(
    walk: Annotated[str | None, typer.Option("--walk", metavar="WALK", help="Only the units of this walk.")] = None,
    open_: Annotated[bool, typer.Option("--open", help="Only units with something to look at.")] = False,
    stage: Annotated[str | None, typer.Option("--stage", metavar="STAGE", help='Only units in this stage, e.g. '
                                                                              '"waiting".')] = None,
    walks: Annotated[bool, typer.Option("--walks", help="List the walks instead of the units.")] = False,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """List the units by the place where each was last seen, with what is known of them."""
    with open_store(common.settings(shop)) as store:
        if walks:
            _list_walks(store, json_)
            return
        if walk is not None:
            store.walk(walk)  # says so where there is none
        if stage is not None:
            _known_stage(store, stage)
        units = store.units(walk=walk, stage=stage, with_questions=open_)
    if json_:
        common.print_json([asdict(unit) for unit in units])
    else:
        _say_units(units, "No unit is on file" + (" that fits." if walk or stage or open_ else
                                                  " yet. Read in a walk with: intake process FOLDER"))


def _known_stage(store: Store, stage: str) -> None:
    from intake.errors import UsageError

    if stage not in store.terms["stage"]:
        raise UsageError(f"there is no stage {stage!r}.", hint=f"Stages are: {', '.join(store.terms['stage'])}.")


def _list_walks(store: Store, json_: bool) -> None:
    from intake.cli import text

    walks = store.walks()
    if json_:
        common.print_json([asdict(walk) for walk in walks])
        return
    if not walks:
        common.say("No walk is on file yet. Read one in with: intake process FOLDER")
    for walk in walks:
        parts = [text.count(walk.units, "unit"), text.count(walk.photos, "photo"),
                 text.count(walk.recordings, "recording"), f"{walk.questions} to look at"]
        if walk.problems:
            parts.append(text.count(walk.problems, "file") + " not used")
        for line in text.wrap(f"{walk.id}: {', '.join(parts)}", first=f"{walk.date}  ", rest="    "):
            common.say(line)


def _say_units(units: Sequence[UnitLine], none: str) -> None:
    from intake.cli import unit_list

    if not units:
        common.say(none)
    for line in unit_list.lines(units):
        common.say(line)


def show(unit: UnitArgument, json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Show one unit whole: values with the words behind them, what to look at, photos, where it stood, cautions."""
    from intake.records.cautions import cautions

    settings = common.settings(shop)
    with open_store(settings) as store:
        found = store.unit(unit)
        changes, terms = store.history(found.id), store.terms
    warned = cautions(found, mains_v=settings.mains_v)
    if json_:
        common.print_json({**asdict(found), "cautions": [asdict(c) for c in warned],
                           "history": [asdict(c) for c in changes]})
        return
    from intake.cli import unit_page

    for line in unit_page.page(found, warned, changes, terms):
        common.say(line)


def find(
    text: Annotated[list[str], typer.Argument(metavar="TEXT...", help="Words of a maker, model, serial, issue, or "
                                                                      "anything that was said.")],
    limit: Annotated[int, typer.Option(min=1, help="At most this many units.")] = 50,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Find units by what is known or was said of them; every word must occur, its beginning is enough."""
    asked = " ".join(text)
    with open_store(common.settings(shop)) as store:
        units = store.find(asked, limit=limit)
    if json_:
        common.print_json([asdict(unit) for unit in units])
    else:
        _say_units(units, f"Nothing on file for: {asked}")
    if not units:
        raise typer.Exit(1)


def export(
    walk: Annotated[str, typer.Option("--walk", metavar="WALK", help="The walk to write out.")],
    output: Annotated[Path | None, typer.Option("-o", "--output", metavar="FILE", help="Write here instead of to "
                                                                                     "standard output.")] = None,
    format_: Annotated[Format, typer.Option("--format", help="json: the whole record; csv: one row a unit.")]
        = Format.json,
    shop: ShopOption = None,
) -> None:
    """Write the record of one walk: JSON (intake-record/1), or a table for a spreadsheet."""
    import json

    from intake.records import export as exporting

    with open_store(common.settings(shop)) as store:
        if format_ is Format.csv:
            written = exporting.csv_text(store, walk)
        else:
            written = json.dumps(exporting.record(store, walk), ensure_ascii=False, indent=1) + "\n"
    if output is None:
        _write_out(written)
    else:
        _write_file(output, written)
        common.remark(f"Written to {output}")


def _write_out(written: str) -> None:
    import sys

    stream = getattr(sys.stdout, "buffer", None)
    if stream is None:
        sys.stdout.write(written)
    else:  # exactly these bytes, whatever the terminal's encoding and line ends
        sys.stdout.flush()
        stream.write(written.encode("utf-8"))
        stream.flush()


def _write_file(path: Path, written: str) -> None:
    from intake.errors import IntakeError

    unfinished = path.with_name(path.name + ".part")
    try:
        unfinished.write_bytes(written.encode("utf-8"))
        unfinished.replace(path)
    except OSError as error:
        unfinished.unlink(missing_ok=True)
        raise IntakeError(f"the export cannot be written: {error.strerror or error}.", path=path,
                          hint="Name another file with -o.") from error


def explain(
    unit: UnitArgument,
    field: Annotated[str, typer.Argument(metavar="FIELD", help="A field, e.g. model, or an item, e.g. issues.2.")],
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Tell why a field says what it says: the words, their time, the rule, other readings, doubts, changes."""
    from intake.errors import NotFoundError
    from intake.records import refs

    address = refs.address(field)
    with open_store(common.settings(shop)) as store:
        sightings = [store.sighting(unit)] if "/" in unit else list(store.unit(unit).sightings)
        changes = store.history(unit)
    found = [stored for sighting in sightings for stored in sighting.stored()
             if stored.field == address.field and address.number in (None, stored.number)]
    if not found:
        raise NotFoundError(f"nothing is on file for {field} of {unit}, and nothing was heard that could be it.")
    names = {(stored.sighting, stored.address) for stored in found}
    told = [change for change in changes if (change.about, change.field) in names]
    if json_:
        common.print_json({"values": [{**asdict(s), "address": s.address} for s in found],
                           "changes": [asdict(change) for change in told]})
        return
    from intake.cli import unit_page

    for stored in found:
        for line in _explained(stored):
            common.say(line)
    if told:
        common.say("Changes:")
    for change in told:
        for line in unit_page.change_lines(change):
            common.say(line)


def _explained(stored: Stored) -> list[str]:
    from intake.cli import signals, text, unit_page
    from intake.records.codec import in_plain_words

    lines = text.wrap(f"{stored.sighting} {stored.address}: {unit_page.value_text(stored.field, stored.value)} "
                      f"({unit_page.who(stored)})", rest="    ")

    def add(name: str, *said: str) -> None:
        for part in said:
            lines.extend(text.wrap(part, first=f"  {text.pad(name, 14)}", rest=" " * 16))

    photos = bool(stored.evidence) and all(said.photo for said in stored.evidence)
    add("read" if photos else "heard", *unit_page.said(stored.evidence))
    if not stored.evidence:
        add("heard", "no words are kept for it")
    if stored.rule:
        add("set by", stored.rule)
    if stored.state != "open" and stored.machine_value != stored.value:
        add("machine reads", unit_page.value_text(stored.field, stored.machine_value))
    add("could also be", *stored.alternatives)
    add("look because", *(in_plain_words(reason) for reason in stored.reasons))
    if not stored.reasons:
        add("look because", "nothing: no doubt was raised" if stored.state == "open" else "nothing: a person decided")
    signs = signals.in_words(stored.signals)
    if signs:
        add("how sure", signs)
    return lines


def history(
    unit: Annotated[str, typer.Argument(metavar="UNIT", help="A unit, as for `intake show`; or a walk's id.")],
    field: Annotated[str | None, typer.Option("--field", metavar="FIELD", help="Only this field.")] = None,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Tell what happened to a unit or a walk: who, when (UTC), from what to what, why."""
    with open_store(common.settings(shop)) as store:
        changes = store.walk_history(unit) if store.has_walk(unit) else store.history(unit)
    if field is not None:
        changes = [c for c in changes if c.field == field or c.field.startswith(f"{field}.")]
    if json_:
        common.print_json([asdict(change) for change in changes])
        return
    from intake.cli import unit_page

    if not changes:
        common.say("Nothing was changed.")
    for change in changes:
        for line in unit_page.change_lines(change):
            common.say(line)
