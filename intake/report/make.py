"""From the store to the report: asks the records, makes the week, and gathers what the page shows beside it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from intake.records import weekly
from intake.report.lines import Week
from intake.report.week import make_week
from intake.report.weeks import Period, bounds_utc, chart_weeks

if TYPE_CHECKING:
    from pathlib import Path

    from intake.records.store import Store
    from intake.report.render_html import Extras
    from intake.settings import Settings


def report(store: Store, period: Period, settings: Settings | None = None) -> Week:
    """The week's numbers and lists."""
    begin, end = bounds_utc(period.first, period.last, settings.zone if settings else None)
    found = weekly.facts(store, period.first, period.last, on=period.on, since=chart_weeks(period.on)[0][1],
                         decided=(_stamp(begin), _stamp(end)))
    return make_week(found, period, {*store.terms.get("part", ()), *store.terms.get("accessory", ())})


def _stamp(at: datetime) -> str:
    """A moment of UTC as the tables write it, so that texts compare as times."""
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def extras(store: Store, week: Week, settings: Settings | None, *, shop: str, thumbnails: Path | None,
           now: datetime, demo: bool = False) -> Extras:
    """What the HTML page shows beside the week."""
    from intake.records.cautions import cautions
    from intake.report.pictures import Album
    from intake.report.render_html import Extras, shown_units
    from intake.report.said import Sayings

    units = weekly.whole_units(store, shown_units(week))
    mains = settings.mains_v if settings else None
    return Extras(shop=shop, made=now, units=units, demo=demo, album=Album(thumbnails),
                  sayings=Sayings(store, settings),
                  cautions={unit: tuple(cautions(whole, mains_v=mains)) for unit, whole in units.items()})
