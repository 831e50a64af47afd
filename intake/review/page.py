"""A unit's whole story as lines: what is known, its sightings and what changed, its days in each stage."""

from __future__ import annotations

from datetime import date

from intake.language.draft import LISTS, SCALARS
from intake.records.cautions import cautions
from intake.records.types import Sighting, StageRun, Unit
from intake.review.words import plain, value_text

TITLES = {"issues": "issue", "service": "service", "actions": "to do", "accessories": "came with",
          "measurements": "measured"}


def story(unit: Unit, *, mains_v: int | None = None, today: date | None = None) -> list[str]:
    """The lines of a unit's page."""
    lines = []
    for caution in cautions(unit, mains_v=mains_v):
        lines += [f"CAUTION, {caution.name}: {plain(caution.text)}", ""]
    for name in SCALARS:
        held = unit.scalars.get(name)
        if held is not None:
            lines.append(f"{name.replace('_', ' '):<11} {value_text(name, held.value)}   (since {held.since})")
    for name in LISTS:
        for held in unit.lists.get(name, ()):
            until = f" to {held.until}" if held.until else ""
            lines.append(f"{TITLES[name]:<11} {value_text(name, held.value)}   ({held.since}{until})")
    lines += ["", "IN EACH STAGE", *(stage_line(run, today or date.today()) for run in unit.stages)]
    if not unit.stages:
        lines.append("  no walk says")
    lines += ["", f"SEEN {len(unit.sightings)} TIME{'S' if len(unit.sightings) != 1 else ''}"]
    before: Sighting | None = None
    for sighting in unit.sightings:
        lines += _sighting(sighting, before)
        before = sighting
    return lines


def stage_line(run: StageRun, today: date) -> str:
    """One stretch of days: "waiting  2026-01-12 to 2026-01-26, 14 days"."""
    days = ((run.until or today) - run.since).days
    until = f"to {run.until}" if run.until else "until today"
    return f"  {run.stage:<20} {run.since} {until}, {days} day{'s' if days != 1 else ''}"


def _sighting(sighting: Sighting, before: Sighting | None) -> list[str]:
    photos = len(sighting.photos)
    lines = [f"  {sighting.date}  {plain(sighting.id)}, {photos} photo{'s' if photos != 1 else ''}"]
    if before is None:
        return lines
    changed = list(_changes(sighting, before))
    return lines + ([f"      {line}" for line in changed] or ["      nothing else than before was said"])


def _changes(now: Sighting, before: Sighting) -> list[str]:
    """What this sighting says that the one before did not; what it leaves out is no change."""
    out = []
    for name in SCALARS:
        old, new = before.value(name), now.value(name)
        if new is not None and new != old:
            out.append(f"{name.replace('_', ' ')}: {value_text(name, old)} → {value_text(name, new)}")
    for name in LISTS:
        known = before.items(name)
        out += [f"{TITLES[name]}: {value_text(name, item)}" for item in now.items(name) if item not in known]
    return out
