#!/usr/bin/env python3
"""Score exported intake records against answer keys.

    python bench/score.py --gold G.json --export E.json [--gold G2.json --export E2.json ...]
    python bench/score.py --built FOLDER --exports FOLDER      # exports/<walk-id>.json for each built walk
        [--json OUT] [--errors] [--record-map MAP.json]

How units are paired stands in alignment.py, what counts in counting.py, what the figures mean in figures.py.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from alignment import Unit, stem
from counting import Scored, add, score, zero
from figures import closing, details, summary, table
from resightings import count_resightings


def score_walks(pairs: Sequence[tuple[Path, Unit]], record_map: Mapping[str, Any] | None = None) -> dict[str, Scored]:
    """Score exports, each with the path of its gold.json; the result is by walk id, in the same order."""
    walks: dict[str, Scored] = {}
    for gold_path, export in pairs:
        gold = json.loads(gold_path.read_text(encoding="utf-8"))
        walks[gold["walk"]["id"]] = score(gold, export, stray_photos(gold_path, gold))
    count_resightings(walks, record_map or {})
    return walks


def stray_photos(gold_path: Path, gold: Unit) -> list[str]:
    """Photos of no unit: gold.json has no place for them, the truth or the script beside it has."""
    mine = {stem(photo) for unit in gold.get("units") or [] for photo in unit.get("photos") or []}
    truth, script = gold_path.parent / "truth.json", gold_path.parent / "script.txt"
    names: list[str] = []
    if truth.exists():
        names = [p["name"] for p in json.loads(truth.read_text(encoding="utf-8"))["photos"] if p["unit"] is None]
    elif script.exists():
        marks = re.findall(r"\{photo (\S+)([^{}]*)\}", script.read_text(encoding="utf-8"))
        names = [name for name, options in marks if not re.search(r"unit=(?!none\b)", options)]
    return [name for name in names if stem(name) not in mine]


def report(walks: Mapping[str, Scored], *, errors: bool = False, only_total: bool = False) -> str:
    """The tables a person reads; with `only_total` nothing of a single walk is shown."""
    total = zero()
    for walk in walks.values():
        total = add(total, walk.counts)
    rows = [] if only_total else [(walk_id, summary(walk.counts)) for walk_id, walk in walks.items()]
    if len(rows) != 1:
        rows.append(("TOTAL", summary(total)))
    lines: list[str] = []
    if errors and not only_total:
        lines = [f"{walk_id} {line}" for walk_id, walk in walks.items() for line in walk.errors] + [""]
    return "\n".join([*lines, table(rows), "", details(summary(total)), "", closing(total)])


def as_json(walks: Mapping[str, Scored]) -> dict[str, Any]:
    """All numbers, and which unit was paired with which, as plain data."""
    total = zero()
    for walk in walks.values():
        total = add(total, walk.counts)
    pairs = {name: {walk.gold["units"][g]["id"]: walk.export["units"][p].get("id") for g, p in walk.pairs.items()}
             for name, walk in walks.items()}
    return {"total": summary(total), "counts": total, "walks": {name: summary(w.counts) for name, w in walks.items()},
            "alignment": pairs}


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--gold", action="append", type=Path, default=[])
    parser.add_argument("--export", action="append", type=Path, default=[])
    parser.add_argument("--built", type=Path, help="folder of built walks, each with gold.json")
    parser.add_argument("--exports", type=Path, help="folder of exports named <walk-id>.json")
    parser.add_argument("--record-map", type=Path, help='JSON: {"record id": "walk-id/unit-id", ...}')
    parser.add_argument("--json", type=Path, help="write all numbers here")
    parser.add_argument("--errors", action="store_true", help="list every error")
    args = parser.parse_args()
    if args.built and args.exports:
        found = sorted(args.built.glob("*/gold.json"))
        args.gold += found
        args.export += [args.exports / f"{path.parent.name}.json" for path in found]
    if not args.gold or len(args.gold) != len(args.export):
        parser.error("as many --export as --gold, at least one")
    pairs = [(gold, _export(path)) for gold, path in zip(args.gold, args.export, strict=True)]
    record_map = json.loads(args.record_map.read_text(encoding="utf-8")) if args.record_map else {}
    walks = score_walks(pairs, record_map)
    print(report(walks, errors=args.errors))
    if args.json:
        args.json.write_text(json.dumps(as_json(walks), indent=1) + "\n", encoding="utf-8")


def _export(path: Path) -> dict[str, Any]:
    if path.exists():
        data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        return data
    print(f"warning: no {path}: scored as an empty export", file=sys.stderr)
    return {}


if __name__ == "__main__":
    main()
