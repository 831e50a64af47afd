"""`intake review`: settle at the screen what the machine was not sure of, and see what that costs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.records.store import Store
    from intake.review.desk import Scope
    from intake.settings import Settings


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command()(review)


def review(
    unit: Annotated[str | None, typer.Argument(metavar="[UNIT]", help="Only this unit: U0001, WALK/u3, or a serial "
                                                                    "number.")] = None,
    walk: Annotated[str | None, typer.Option("--walk", metavar="WALK", help="Only this walk.")] = None,
    stats: Annotated[bool, typer.Option("--stats", help="Instead: how well the flags point, what the review costs, "
                                                       "and which threshold these figures favour.")] = False,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Settle on a full screen what a person should look at, the costliest doubts first; ? shows the keys there."""
    from intake.cli.records import open_store
    from intake.errors import UsageError

    if unit is not None and walk is not None:
        raise UsageError("say either a unit or --walk.")
    settings = common.settings(shop)
    with open_store(settings) as store:
        if walk is not None:
            store.walk(walk)  # says so where there is none
        if stats:
            _stats(store, settings, walk, json_)
        else:
            _screen(store, settings, walk, unit)


def _stats(store: Store, settings: Settings, walk: str | None, json_: bool) -> None:
    from dataclasses import asdict

    from intake.review import effort
    from intake.review import stats as figures

    tallies, settled = store.tallies(walk=walk), store.tallies(walk=walk, settled=True)
    spent = [s for s in effort.read(settings.shop / "review") if walk is None or s.about.startswith(f"{walk}/")]
    if json_:
        proposed = figures.threshold(settled, settings.review_below)
        found = {name: figures.keys(spent, accepted=name == "accepted") for name in ("accepted", "corrected")}
        common.print_json({
            "flags": [asdict(f) for f in figures.flags(tallies)], "threshold": settings.review_below,
            "proposed": asdict(proposed) if proposed else None,
            "effort": {name: asdict(k) if k else None for name, k in found.items()}})
        return
    for line in figures.report(tallies, settled, spent, settings.review_below):
        common.say(line)


def _screen(store: Store, settings: Settings, walk: str | None, unit: str | None) -> None:
    import sys

    from intake.errors import UsageError
    from intake.records.store import person

    scope = _scope(store, walk, unit)
    if not store.walk_ids():
        common.say("No walk is on file yet. Read one in with: intake process FOLDER")
        return
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise UsageError("the review needs a terminal.",
                         hint="For scripts: intake list --open, intake set, intake accept.")
    from intake.review.desk import Desk
    from intake.review.screen import ReviewApp

    desk = Desk(store, settings, person(), scope)
    ReviewApp(desk).run()
    left = len(desk.queue)
    common.say(f"{left} question{'s' if left != 1 else ''} left." if left else "Everything is settled.")


def _scope(store: Store, walk: str | None, unit: str | None) -> Scope:
    from intake.review.desk import Scope

    return Scope(walk=walk, unit=store.unit_id(unit) if unit is not None else None)
