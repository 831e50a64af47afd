"""What a unit's sightings say together, the last word first. Pure: plain values in, plain values out.

The rules, so that nobody has to guess them:

- A field holds its last filled value; a walk that does not speak of it changes nothing.
- An issue lasts until a later walk says that it is fixed (`until`), whatever else is said.
- An action lasts until a later walk tells of the same work on the same part as service, says that the
  issue with that part is fixed, or finds the unit at a stage that work on the bench comes before.
- Of accessories and measurements the last word on each holds; service adds up.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from intake.language.draft import SCALARS
from intake.records.types import Held, Sighting, StageRun, Stored

# Stages that come after the bench, and the work that still may follow there.
AFTER_BENCH = {"ready to photograph": {"photograph", "list", "price", "pack", "call", "identify"},
               "ready to list": {"list", "price", "pack", "call"},
               "listed": {"pack", "call", "price"}}
# Work that an issue put right has ended.
MENDS = {"repair", "replace", "clean", "rebuild", "adjust", "align", "lubricate", "troubleshoot", "recap", "retube",
         "refoam", "recone", "bias", "order"}
Key = tuple[Any, ...]


@dataclass
class Latest:
    """A unit's latest state, as `latest` finds it."""

    scalars: dict[str, Held] = field(default_factory=dict)
    issues: list[Held] = field(default_factory=list)
    service: list[Held] = field(default_factory=list)
    actions: list[Held] = field(default_factory=list)
    accessories: list[Held] = field(default_factory=list)
    measurements: list[Held] = field(default_factory=list)
    stages: list[StageRun] = field(default_factory=list)


def latest(unit: str, seen: Sequence[Sighting]) -> Latest:
    """The latest state of a unit from its sightings, oldest first."""
    state = Latest()
    for sighting in seen:
        _scalars(state, unit, sighting)
        _issues(state, sighting)
        _end_actions(state, sighting)
        _actions(state, sighting)
        _last_word(state.accessories, sighting, "accessories", lambda item: (item["item"],))
        _last_word(state.measurements, sighting, "measurements", lambda item: (item["what"], item["side"]))
        for item in _items(sighting, "service"):
            if item.value not in [held.value for held in state.service]:
                state.service.append(Held(item, sighting.date))
    return state


def _items(sighting: Sighting, name: str) -> Iterable[Stored]:
    return (item for item in sighting.lists.get(name, ()) if item.value is not None)


def _scalars(state: Latest, unit: str, sighting: Sighting) -> None:
    for name in SCALARS:
        stored = sighting.scalars.get(name)
        if stored is None or stored.value is None:
            continue
        before = state.scalars.get(name)
        same = before is not None and before.value == stored.value
        state.scalars[name] = Held(stored, before.since if before is not None and same else sighting.date)
        if name == "stage" and not same:
            if state.stages:
                state.stages[-1] = replace(state.stages[-1], until=sighting.date)
            state.stages.append(StageRun(unit, stored.value, sighting.date, None, sighting.id))


def _issues(state: Latest, sighting: Sighting) -> None:
    for item in _items(sighting, "issues"):
        fixed = item.value["state"] == "fixed"
        same = [held for held in _earlier(state.issues, sighting)
                if held.until is None and _same_issue(held.value, item.value)]
        if not same:
            state.issues.append(Held(item, sighting.date, sighting.date if fixed else None))
        for held in same:
            at = state.issues.index(held)
            state.issues[at] = Held(item, held.since, sighting.date if fixed else None)
        if len(same) > 1:  # "both" ends or renews left and right: one line is enough
            for held in [h for h in state.issues if h.stored is item][1:]:
                state.issues.remove(held)


def _same_issue(one: dict[str, Any], other: dict[str, Any]) -> bool:
    sides = {one["side"], other["side"]}
    return (one["part"], one["symptom"]) == (other["part"], other["symptom"]) and (
        len(sides) == 1 or bool(sides & {None, "both"}))


def _end_actions(state: Latest, sighting: Sighting) -> None:
    """End what this sighting says is done; what it names itself as still to do begins after this."""
    done = [item.value for item in _items(sighting, "service")]
    mended = {item.value["part"] for item in _items(sighting, "issues") if item.value["state"] == "fixed"}
    stage = sighting.value("stage")
    for at, held in enumerate(state.actions):
        if held.until is None and _is_done(held.value, done, mended, stage):
            state.actions[at] = replace(held, until=sighting.date)


def _is_done(action: dict[str, Any], done: list[dict[str, Any]], mended: set[Any], stage: str | None) -> bool:
    if any(service["work"] == action["work"] and service["part"] in (action["part"], None) for service in done):
        return True
    if action["part"] is not None and action["part"] in mended and action["work"] in MENDS:
        return True
    return stage in AFTER_BENCH and action["work"] not in AFTER_BENCH[stage]


def _actions(state: Latest, sighting: Sighting) -> None:
    for item in _items(sighting, "actions"):
        for held in _earlier(state.actions, sighting):
            if held.until is None and all(held.value[key] == item.value[key] for key in ("work", "part")):
                state.actions[state.actions.index(held)] = Held(item, held.since)
                break
        else:
            state.actions.append(Held(item, sighting.date))


def _last_word(held: list[Held], sighting: Sighting, name: str, key: Callable[[dict[str, Any]], Key]) -> None:
    """A walk's items take the place of earlier ones of the same key; two in one walk (a pair's tubes) both stay."""
    items = list(_items(sighting, name))
    before = [h for h in _earlier(held, sighting) if key(h.value) in [key(item.value) for item in items]]
    for old in before:
        held.remove(old)
    for item in items:
        since = next((old.since for old in before if old.value == item.value), sighting.date)
        held.append(Held(item, since))


def _earlier(held: Sequence[Held], sighting: Sighting) -> list[Held]:
    return [one for one in held if one.stored.sighting != sighting.id]
