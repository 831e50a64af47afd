"""From the records to the report: asks them, makes the week, and gathers what the page shows beside it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from intake.records import weekly
from intake.report.lines import Quote, Week
from intake.report.week import make_week, quote_of
from intake.report.weeks import Period, bounds_utc, chart_weeks
from intake.report.words import customers_by_kind

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from intake.language.draft import Evidence
    from intake.records.look import Look
    from intake.report.render_html import Extras
    from intake.settings import Settings


def report(look: Look, period: Period, settings: Settings | None = None) -> Week:
    """The week's numbers and lists."""
    begin, end = bounds_utc(period.first, period.last, settings.zone if settings else None)
    found = weekly.facts(look, period.first, period.last, on=period.on, since=chart_weeks(period.on)[0][1],
                         decided=(_stamp(begin), _stamp(end)))
    return make_week(found, period, {*look.terms.get("part", ()), *look.terms.get("accessory", ())})


def _stamp(at: datetime) -> str:
    """A moment of UTC as the tables write it, so that texts compare as times."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def extras(look: Look, week: Week, settings: Settings | None, *, shop: str, thumbnails: Path | None,
           now: datetime, demo: bool = False) -> Extras:
    """What the HTML page shows beside the week."""
    from intake.records import shown
    from intake.report.pictures import Album
    from intake.report.render_html import MOST, Extras, pictured, shown_units
    from intake.report.said import Sayings

    here = [line.unit.id for _, lines in customers_by_kind(week) for line in lines[:MOST]]
    away = [line.unit.id for line in week.missing[:MOST]]
    day = week.period.on
    return Extras(shop=shop, made=now, demo=demo, album=Album(thumbnails), photos=shown.photos(look, pictured(week)),
                  sayings=Sayings(look, settings), sources=_quotes(shown.last_said(look, here, "source", by=day)),
                  places=_quotes(shown.last_said(look, away, "location", by=day)),
                  cautions=shown.warned(look, shown_units(week), mains_v=settings.mains_v if settings else None))


def _quotes(told: Mapping[str, tuple[str, tuple[Evidence, ...]]]) -> dict[str, Quote]:
    found = {unit: quote_of(evidence, sighting) for unit, (sighting, evidence) in told.items()}
    return {unit: quote for unit, quote in found.items() if quote is not None}
