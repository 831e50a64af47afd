"""Corrections by plain commands: set, accept, blank, add, drop, split, merge, link, move-photo, undo, redo."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.records.store import Store

UnitArgument = Annotated[str, typer.Argument(
    metavar="UNIT", help="A unit id (U0001), a walk's record (WALK/u3), or a serial number.")]
FieldArgument = Annotated[str, typer.Argument(
    metavar="FIELD", help="model, stage, ...; issues.2 for an item, issues.2.part for a part of it, issues.new.")]
WhyOption = Annotated[str, typer.Option("--why", metavar="TEXT", help="Why; kept in the history.")]


def register(app: typer.Typer) -> None:
    """Add the commands that change records."""
    app.command("set")(set_)
    for command in (accept, blank, add, drop, split, merge, link):
        app.command()(command)
    app.command("move-photo")(move_photo)
    app.command()(undo)
    app.command()(redo)


def _store(shop: Any) -> Store:
    from intake.cli.records import open_store

    return open_store(common.settings(shop))


def _tell(json_: bool, said: str, **data: Any) -> None:
    from intake.cli import text

    if json_:
        common.print_json(data)
        return
    for line in text.wrap(said):
        common.say(line)


def set_(
    unit: UnitArgument, field: FieldArgument,
    value: Annotated[list[str], typer.Argument(metavar="VALUE...", help="The value; for an item its parts as "
                                                                      "part=lamp symptom=dead.")],
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Correct a field, or add an item to a list: intake set U0001 issues.new part=lamp symptom=dead"""
    from intake.records import refs

    given = _value(refs.address(field), value)
    with _store(shop) as store:
        done = store.set_field(unit, field, given, why=why)
    _tell(json_, f"Set {done} to {' '.join(value)}. (Take back: intake undo)", set=done, value=given)


def _value(address: Any, words: list[str]) -> Any:
    """The typed words as a value: text, or an item's parts from key=value words or JSON."""
    from intake.language.draft import LISTS

    if address.field not in LISTS or address.part is not None:
        return " ".join(words)
    return item_of(address.field, words)


def item_of(field: str, words: list[str]) -> dict[str, Any]:
    """An item from "part=lamp symptom=dead" (values with blanks in quotes) or a JSON object; UsageError else."""
    import json

    from intake.errors import UsageError
    from intake.records.values import SHAPES

    if words and words[0].lstrip().startswith("{"):
        try:
            loaded = json.loads(" ".join(words))
        except json.JSONDecodeError as error:
            raise UsageError(f"that is no JSON: {error}.") from error
        return dict(loaded)
    item: dict[str, Any] = {"state": "present"} if field == "issues" else {"present": True} if (
        field == "accessories") else {}
    for word in words:
        name, sign, said = word.partition("=")
        if not sign:
            raise UsageError(f"{word!r} says nothing of an item.",
                             hint=f"Write its parts as name=value; {field} has: {', '.join(SHAPES[field])}.")
        item[name.strip()] = said.strip() or None
    return item


def accept(
    unit: UnitArgument,
    fields: Annotated[list[str] | None, typer.Argument(metavar="[FIELD]...", help="Only these; else all that is to "
                                                                                 "be looked at.")] = None,
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Say that values are right as they stand."""
    with _store(shop) as store:
        done = store.accept(unit, fields or [], why=why)
    _tell(json_, f"Accepted {', '.join(done)}." if done else f"{unit} has nothing to look at.", accepted=done)


def blank(unit: UnitArgument, field: FieldArgument, why: WhyOption = "", json_: JsonOption = False,
          shop: ShopOption = None) -> None:
    """Leave a field blank, or take an item away."""
    with _store(shop) as store:
        done = store.blank_field(unit, field, why=why)
    _tell(json_, f"Blanked {done}. (Take back: intake undo)", blanked=done)


def add(
    walk: Annotated[str, typer.Argument(metavar="WALK", help="The walk that it was seen in.")],
    values: Annotated[list[str], typer.Argument(metavar="FIELD=VALUE...", help="What it is: maker=Corvane "
                                                                              "model=AI-350 ...")],
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Add a unit that was missed."""
    from intake.errors import UsageError

    given = dict(value.partition("=")[::2] for value in values)
    if any("=" not in value for value in values):
        raise UsageError("values are written as field=value.", hint='For example: maker=Corvane "location=shelf B2"')
    with _store(shop) as store:
        done = store.add_unit(walk, given, why=why)
        unit = store.unit_id(done)
    _tell(json_, f"Added {done}, unit {unit}.", added=done, unit=unit)


def drop(unit: UnitArgument, why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Say that there is no such unit; its record counts no more. Undo brings it back."""
    with _store(shop) as store:
        done = store.drop(unit, why=why)
    _tell(json_, f"Dropped {', '.join(done)}. (Take back: intake undo)", dropped=done)


def split(
    unit: UnitArgument,
    at: Annotated[str, typer.Option("--at", metavar="TIME", help="The moment in the recording: 66.5 or 1:06.5")],
    recording: Annotated[str | None, typer.Option("--recording", metavar="FILE", help="Which recording, where the unit "
                                                                                    "is in more than one.")] = None,
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Make two units of one: what was said and photographed from a moment on becomes another."""
    from intake.cli import text
    from intake.errors import UsageError

    try:
        second = text.seconds_of(at)
    except ValueError as error:
        raise UsageError(f"{at!r} is no time.", hint="Write seconds (66.5) or minutes (1:06.5).") from error
    with _store(shop) as store:
        done = store.split(unit, second, recording=recording, why=why)
        made = store.unit_id(done)
    _tell(json_, f"The rest is {done}, unit {made}. (Take back: intake undo)", split=done, unit=made)


def merge(
    keep: Annotated[str, typer.Argument(metavar="UNIT", help="The unit that stays.")],
    other: Annotated[str, typer.Argument(metavar="OTHER", help="The unit that is the same thing.")],
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Make one unit of two that are the same thing."""
    with _store(shop) as store:
        kept = store.merge(keep, other, why=why)
    _tell(json_, f"{other} is {kept} now. (Take back: intake undo)", unit=kept)


def link(
    record: Annotated[str, typer.Argument(metavar="WALK/uN", help="A walk's record.")],
    unit: Annotated[str | None, typer.Argument(metavar="[UNIT]", help="The unit on file that it is.")] = None,
    new: Annotated[bool, typer.Option("--new", help="It is none of those on file.")] = False,
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Say which unit on file a walk's record is of: intake link WALK/u3 U0001, or --new."""
    from intake.errors import UsageError

    if (unit is None) is not new:
        raise UsageError("say one of the two: a unit, or --new.")
    with _store(shop) as store:
        done = store.link_sighting(record, unit, why=why)
    _tell(json_, f"{record} is {done}. (Take back: intake undo)", record=record, unit=done)


def move_photo(
    photo: Annotated[str, typer.Argument(metavar="PHOTO", help="The photo's file name.")],
    unit: Annotated[str, typer.Argument(metavar="UNIT", help="The unit it shows; none for no unit.")],
    walk: Annotated[str | None, typer.Option("--walk", metavar="WALK", help="The photo's walk, where several walks "
                                                                          "have such a name.")] = None,
    why: WhyOption = "", json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Say which unit a photo shows."""
    with _store(shop) as store:
        done = store.move_photo(photo, None if unit.casefold() == "none" else unit, walk=walk, why=why)
    _tell(json_, f"{photo} shows {done}. (Take back: intake undo)", photo=photo, shows=done)


def undo(
    batch: Annotated[int | None, typer.Option("--act", metavar="NUMBER", help="This act instead of your latest; "
                                                                            "numbers: intake history --json")] = None,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Take back your latest change; again for the one before, without limit."""
    with _store(shop) as store:
        turned = store.undo(batch=batch)
        _turn_vocabulary(store, turned, shop, back=True)
    _told(turned, "Took back", "There is nothing of yours to take back.", json_)


def redo(json_: JsonOption = False, shop: ShopOption = None) -> None:
    """Do again what you took back last."""
    with _store(shop) as store:
        turned = store.redo()
        _turn_vocabulary(store, turned, shop, back=False)
    _told(turned, "Did again", "There is nothing to do again.", json_)


def _turn_vocabulary(store: Store, turned: Any, shop: Any, *, back: bool) -> None:
    """What a review taught goes from the shop's vocabulary with the act that taught it, or comes back."""
    from intake.review import learning

    for change in store.act(turned.batch) if turned is not None else ():
        if change.field == "vocabulary":
            learning.turn(common.settings(shop).vocab, change.new, back=back)


def _told(turned: Any, done: str, nothing: str, json_: bool) -> None:
    from dataclasses import asdict

    if turned is None:
        _tell(json_, nothing, act=None)
        raise typer.Exit(1)
    _tell(json_, f"{done}: {turned.action} {', '.join(turned.changes)} ({turned.who}, {turned.at[:16]} UTC).",
          **asdict(turned))
