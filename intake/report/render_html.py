"""The week as one HTML file that needs nothing else: no network, no script; for the screen, the phone and paper."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Any

from intake.records.cautions import Caution
from intake.records.shown import Shot
from intake.records.types import Question
from intake.report import charts, words
from intake.report.lines import Arrival, Quote, Thing, Week
from intake.report.pictures import Album
from intake.report.said import Sayings
from intake.report.week import quote_of
from intake.report.weeks import day_in_words

if TYPE_CHECKING:
    from jinja2 import Environment

#: Lines of one list that the page shows; the tables have all.
MOST = 30
MOST_QUESTIONS = 15


@dataclass(frozen=True)
class Extras:
    """What the page shows beside the week itself: units' photos and cautions, the quotes' words."""

    shop: str
    made: datetime
    photos: Mapping[str, Sequence[Shot]] = field(default_factory=dict)
    sources: Mapping[str, Quote] = field(default_factory=dict)      # customer's unit -> the words that say so
    places: Mapping[str, Quote] = field(default_factory=dict)       # unit not seen -> where it was said to stand
    cautions: Mapping[str, tuple[Caution, ...]] = field(default_factory=dict)
    album: Album = field(default_factory=lambda: Album(None))
    sayings: Sayings = field(default_factory=lambda: Sayings(None, None))
    demo: bool = False


def pictured(week: Week) -> list[str]:
    """The units that the page shows with a photo, each once, in the order of the page."""
    things = [line.unit for _, group in week.stuck for line in group[:MOST]]
    return _once([*things, *(line.unit for line in week.arrived[:MOST])])


def shown_units(week: Week) -> list[str]:
    """The units that the page shows with their cautions, each once."""
    things = [line.unit for line in (*week.overdue[:MOST], *week.due[:MOST])]
    things += [line.unit for line in week.moved[:MOST]]
    things += [line.unit for _, lines in words.customers_by_kind(week) for line in lines[:MOST]]
    return list(dict.fromkeys([*pictured(week), *_once(things)]))


def _once(things: Iterable[Thing]) -> list[str]:
    return list(dict.fromkeys(thing.id for thing in things))


def html(week: Week, extras: Extras) -> str:
    """The page."""
    page = environment().get_template("week.html.j2")
    return page.render(
        week=week, w=words, extras=extras, most=MOST, most_questions=MOST_QUESTIONS, said=extras.sayings,
        charts=_charts(week), picture=lambda thing: extras.album.first_of(extras.photos.get(thing.id, ())),
        cautions=_all_cautions(extras), tags=lambda thing: _usual(extras, thing),
        matrix=_matrix(week.arrived), asked=_asked, missing=week.missing, sold=week.perhaps_sold)


def _usual(extras: Extras, thing: Thing) -> list[str]:
    """The names of a unit's usual cautions; those told of this very unit stand in full beside its name."""
    return [caution.name for caution in extras.cautions.get(thing.id, ()) if not caution.told]


def _charts(week: Week) -> dict[str, charts.Chart]:
    def short(name: str) -> str:
        return name[5:]

    return {
        "arrived": charts.columns("arrived", "Units that came in, by week",
                                  [(short(point.week), point.arrived) for point in week.chart]),
        "stuck": charts.columns("stuck", "Units stuck at the week’s end",
                                [(short(point.week), point.stuck) for point in week.chart]),
        "ages": charts.lying("ages", "How long the stuck units have waited", list(week.ages))}


def _all_cautions(extras: Extras) -> list[tuple[Caution, list[str]]]:
    """Each caution once, with the units on the page that it is for."""
    found: dict[Caution, list[str]] = {}
    for unit, listed in extras.cautions.items():
        for caution in listed:
            found.setdefault(caution, []).append(unit)
    return list(found.items())


def _matrix(arrived: Iterable[Arrival]) -> dict[str, Any]:
    """Arrivals by type and source."""
    lines = list(arrived)
    sources = list(dict.fromkeys(name for name in ("purchase", "trade-in", "consignment", "customer repair", None)
                                 if any(line.unit.source == name for line in lines)))
    types = sorted({line.unit.unit_type or "type not said" for line in lines})
    found = Counter((line.unit.unit_type or "type not said", line.unit.source) for line in lines)
    rows = [(kind, [found[kind, source] for source in sources]) for kind in types]
    return {"sources": [source or "not said" for source in sources], "rows": rows,
            "sums": [sum(row[1][at] for row in rows) for at in range(len(sources))]}


def _asked(question: Question) -> Quote | None:
    return quote_of(question.evidence, question.about)


@cache
def environment() -> Environment:
    """Jinja with escaping always on, and only the filters that the pages need."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(loader=PackageLoader("intake.report", "templates"), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True)
    made.filters.update(shown=words.shown, day=day_in_words, near=words.short_day, clock=words.clock, count=words.count)
    made.globals["css"] = style()
    return made


@cache
def style() -> str:
    """The pages' style sheet."""
    return resources.files("intake.report").joinpath("templates", "page.css").read_text("utf-8")
