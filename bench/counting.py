"""What of an export is right, wrong, missing or too much, counted against a walk's answer key.

Every value of every unit counts, also those of missed units (as missing) and of units too many
(as spurious), so leaving units out or adding some is never free.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from alignment import Unit, align, item_matches, items, norm, scalar, stem

SCALARS = ("unit_type", "maker", "model", "serial", "quantity", "grouping", "location", "stage", "source", "cosmetic")
IDENTITY = ("maker", "model", "serial", "unit_type", "location")      # where a silent error hurts
# What makes two list items the same. "full" looks at what the strict key leaves out; it is shown, not in the headline.
LISTS: dict[str, dict[str, tuple[str, ...]]] = {
    "issues": {"strict": ("part", "symptom", "side", "state"), "lenient": ("part", "symptom")},
    "service": {"strict": ("work", "date"), "lenient": ("work",), "full": ("work", "part", "date", "by")},
    "actions": {"strict": ("work", "part"), "lenient": ("work",), "full": ("work", "part", "due", "waiting_on")},
    "accessories": {"strict": ("item", "present"), "lenient": ("item",)},
    "measurements": {"strict": ("what", "value", "unit", "side"), "lenient": ("what", "value", "unit")},
}

Counts = dict[str, Any]
Say = Callable[[str], None]


@dataclass
class Scored:
    """One walk scored: the counts, each difference as a line of text, and gold unit -> export unit by index."""

    gold: Unit
    export: Unit
    counts: Counts
    errors: list[str]
    pairs: dict[int, int]


def zero() -> Counts:
    """Counts of nothing."""
    return {
        "units": {"gold": 0, "predicted": 0, "matched": 0},
        "scalars": {f: {"gold": 0, "right": 0, "wrong": 0, "missing": 0, "spurious": 0} for f in SCALARS},
        "lists": {f: {k: {"tp": 0, "fp": 0, "fn": 0} for k in keys} for f, keys in LISTS.items()},
        "photos": {"gold": 0, "right": 0, "wrong": 0, "unassigned": 0},
        "silent": {"predicted": 0, "errors": 0, "silent": 0},
        "review": {"predicted": 0, "flagged": 0, "unflagged_right": 0, "unflagged_wrong": 0, "gold": 0,
                   "lists": 0, "lists_flagged": 0, "flags": 0},
        "hedges": {"gold": 0, "flagged": 0},
        "unknown_makers": {"gold": 0, "flagged": 0},
        "resightings": {"gold": 0, "predicted": 0, "right": 0},
    }


def add(one: Counts, other: Counts) -> Counts:
    """The sum of two counts."""
    return {k: add(one[k], other[k]) if isinstance(one[k], dict) else one[k] + other[k] for k in one}


def score(gold: Unit, export: Unit, strays: Iterable[str] = ()) -> Scored:
    """Compare one walk's export with its answer key; `strays` names the photos that belong to no unit."""
    gold_units = gold.get("units") or []
    units = [u for u in export.get("units") or [] if isinstance(u, dict)]
    pairs, counts, errors = align(gold_units, units), zero(), list[str]()
    counts["units"] = {"gold": len(gold_units), "predicted": len(units), "matched": len(pairs)}
    unknown = {norm(maker) for maker in gold.get("vocabulary_unknown") or []} - {None}
    for g, unit in enumerate(gold_units):
        told: list[str] = [] if g in pairs else ["unit MISSED"]
        _count_unit(counts, unit, units[pairs[g]] if g in pairs else None, told.append, unknown)
        errors += [f"{unit.get('id')} {_title(unit)}: {text}" for text in told]
    for p, unit in enumerate(units):
        if p not in pairs.values():
            errors.append(f"export {unit.get('id')} {_title(unit)}: unit SPURIOUS")
            _count_unit(counts, None, unit, errors.append, ())
    _count_photos(counts, gold_units, units, _photos_claimed(units, export), pairs, strays, errors.append)
    return Scored(gold, export, counts, errors, pairs)


def flagged(unit: Unit) -> set[str]:
    """The fields that a unit's review names; "issues[0].part" counts as issues."""
    names = (entry.get("field") if isinstance(entry, dict) else entry for entry in unit.get("review") or [])
    return {re.split(r"[.\[]", str(name))[0].strip() for name in names if name}


def _title(unit: Unit) -> str:
    return " ".join(str(unit[f]) for f in ("maker", "model", "unit_type") if unit.get(f)) or "?"


def _count_unit(counts: Counts, gold: Unit | None, export: Unit | None, say: Say, unknown: Collection[Any]) -> None:
    """Count one pair; `gold` or `export` is None for a spurious or a missed unit."""
    marks = flagged(export) if export else set()
    counts["review"]["flags"] += len(marks)
    for field in SCALARS:
        _count_scalar(counts, field, gold, export, field in marks, say)
    for field in LISTS:
        _count_list(counts, field, gold, export, field in marks, say)
    if not gold:
        return
    hedges = flagged(gold)
    counts["hedges"]["gold"] += len(hedges)
    counts["hedges"]["flagged"] += len(hedges & marks)
    if scalar(gold, "maker") in unknown:
        counts["unknown_makers"]["gold"] += 1
        counts["unknown_makers"]["flagged"] += "maker" in marks
    if export:
        for field in sorted(hedges - marks):
            say(f"review missing: {field}")


def _count_scalar(counts: Counts, field: str, gold: Unit | None, export: Unit | None, flag: bool, say: Say) -> None:
    want, have = scalar(gold or {}, field), scalar(export or {}, field)
    right = want is not None and want == have
    tally, review = counts["scalars"][field], counts["review"]
    tally["gold"] += want is not None
    tally["right"] += right
    tally["wrong"] += want is not None and have is not None and not right
    tally["missing"] += want is not None and have is None
    tally["spurious"] += want is None and have is not None
    review["gold"] += want is not None
    if have is not None:
        review["predicted"] += 1
        review["flagged"] += flag
        review["unflagged_right"] += right and not flag
        review["unflagged_wrong"] += not right and not flag
        if field in IDENTITY:
            counts["silent"]["predicted"] += 1
            counts["silent"]["errors"] += not right
            counts["silent"]["silent"] += not right and not flag
    if gold and export and want != have:
        kind = "missing" if have is None else "spurious" if want is None else "wrong"
        note = "" if have is None else " (flagged)" if flag else " (SILENT)" if field in IDENTITY else ""
        say(f"{field} {kind}: gold {gold.get(field)!r}, export {export.get(field)!r}{note}")


def _count_list(counts: Counts, field: str, gold: Unit | None, export: Unit | None, flag: bool, say: Say) -> None:
    want, have = items(gold or {}, field), items(export or {}, field)
    counts["review"]["lists"] += bool(have)
    counts["review"]["lists_flagged"] += bool(have) and flag
    for name, fields in LISTS[field].items():
        matched = item_matches(want, have, fields)
        tally = counts["lists"][field][name]
        tally["tp"] += len(matched)
        tally["fp"] += len(have) - len(matched)
        tally["fn"] += len(want) - len(matched)
        if name == "strict" and gold and export:
            found, used = {g for g, _ in matched}, {p for _, p in matched}
            for kind, all_items, done in (("missing", want, found), ("spurious", have, used)):
                for n, item in enumerate(all_items):
                    if n not in done:
                        say(f"{field} {kind}: {_short(item)}")


def _short(item: Mapping[str, Any]) -> str:
    return ", ".join(f"{k}={v}" for k, v in item.items() if v is not None)


def _photos_claimed(units: Sequence[Unit], export: Unit) -> tuple[dict[str, set[int]], set[str]]:
    """Photo -> the export's units that claim it (-1: a unit that is not there), and the photos it lists at all."""
    have: dict[str, set[int]] = {}
    for p, unit in enumerate(units):
        for photo in unit.get("photos") or []:
            have.setdefault(stem(photo), set()).add(p)
    by_id = {str(unit.get("id")): p for p, unit in enumerate(units)}
    listed: set[str] = set()
    for photo in (export.get("walk") or {}).get("photos") or []:
        if isinstance(photo, dict) and photo.get("file"):
            listed.add(stem(photo["file"]))
            if photo.get("unit") is not None and stem(photo["file"]) not in have:
                have[stem(photo["file"])] = {by_id.get(str(photo["unit"]), -1)}
    return have, listed


def _count_photos(counts: Counts, gold_units: Sequence[Unit], units: Sequence[Unit],
                  claimed: tuple[dict[str, set[int]], set[str]], pairs: Mapping[int, int], strays: Iterable[str],
                  say: Say) -> None:
    have, listed = claimed
    want: dict[str, set[int]] = {stem(s): set() for s in strays}
    for g, unit in enumerate(gold_units):
        for photo in unit.get("photos") or []:
            want.setdefault(stem(photo), set()).add(g)
    gold_of = {p: g for g, p in pairs.items()}
    tally = counts["photos"]
    for name, owners in sorted(want.items()):
        got = have.get(name, set())
        right = bool(got) and {gold_of.get(p) for p in got} <= owners if owners else not got and name in listed
        tally["gold"] += 1
        tally["right"] += right
        tally["unassigned"] += not right and not got
        tally["wrong"] += not right and bool(got)
        if not right:
            really = {gold_of[p] for p in got if p in gold_of}
            say(f"photo {name.upper()}: gold {_ids(gold_units, owners)}, export {_ids(units, got)}"
                + (f" (= gold {_ids(gold_units, really)})" if got else ""))


def _ids(units: Sequence[Unit], which: Iterable[int]) -> str:
    return ",".join(str(units[i].get("id")) if i >= 0 else "?" for i in sorted(which)) or "none"
