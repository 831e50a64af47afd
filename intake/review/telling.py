"""An act on file as a sentence, in the words in which the review said it when it was done."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from intake.language.draft import LISTS, SCALARS
from intake.records.types import WHOLE, Change
from intake.review.rows import ONE_OF
from intake.review.words import plain, value_text

ACTS = {"merge": "joined with another", "split": "cut in two", "drop": "no such unit", "add": "added",
        "link": "seen before or not", "teach": "taught"}


def told(action: str, changes: Sequence[Change]) -> str:
    """What was done: "u3 serial: 77", "u4 quantity: 2 and grouping: pair, right as they stand"."""
    named = list(dict.fromkeys(_local(c.about) for c in changes if c.about))
    if action in ACTS or not changes:
        return plain(f"{', '.join(named[:3])} {ACTS.get(action, action)}".strip())
    facts = list(dict.fromkeys(_fact(action, change) for change in sorted(changes, key=_on_the_card)))
    said = " and ".join(facts[:3]) + (f" and {len(facts) - 3} more" if len(facts) > 3 else "")
    end = {"accept": ", right as it stands" if len(facts) == 1 else ", right as they stand",
           "accept photo": ", right as it stands"}.get(action, "")
    seen = all(_field(change) in WHOLE for change in changes)
    return plain(f"{named[0] if named else ''} {said}{'' if seen else end}".strip())


def _fact(action: str, change: Change) -> str:
    """One value of an act, without the unit's name."""
    field = _field(change)
    if change.field == "photo":
        return f"of {_local(str(change.new))}" if change.new else "of no unit"
    if field in WHOLE:
        return "whole unit: seen"
    label = ONE_OF[field] if field in LISTS else field.replace("_", " ")
    return f"{label}: {_value(action, field, change.new if change.new is not None else change.old)}"


def _value(action: str, field: str, value: Any) -> str:
    if action == "blank" or value is None:
        return "left blank"
    return f"{value:+g} s ahead" if field.startswith("clock of ") else value_text(field, value)


def _field(change: Change) -> str:
    return change.field.partition(".")[0]


def _on_the_card(change: Change) -> int:
    """Where the card has it: the fields of a record in its order, then the rest as it was done."""
    return SCALARS.index(change.field) if change.field in SCALARS else len(SCALARS)


def _local(about: str) -> str:
    """A record's or a photo's name within its walk."""
    return about.rpartition("/")[2]
