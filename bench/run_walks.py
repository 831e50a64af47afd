#!/usr/bin/env python3
"""Run walks with answer keys through the whole program and score what comes out.

    python bench/run_walks.py --text  FOLDER...     # from the true words, at their true times
    python bench/run_walks.py --sound FOLDER...     # from the recordings
        [--errors] [--blind] [--jobs N] [--out bench/out] [--redo-speech] [--know-zone] [--docs]

A FOLDER is a built walk or holds several (FORMAT.md); those of one folder go through one shop in order of date, each
importing its vocabulary first, so that a walk can see again what an earlier one saw. What was heard is kept in
OUT/transcripts and used again: a change of the language rules is scored in seconds. Shops, exports and all
figures lie in OUT/<folder>-<text|sound>/.

Walks kept aside (a folder named "held" or "built-held", or --blind) show their totals and nothing else.
"""

from __future__ import annotations

import argparse
import json
import re
import shutil
import sys
import tempfile
import time
import traceback
from collections import defaultdict
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from counting import Scored, add, zero
from figures import Summary, markdown, summary
from score import as_json, report, score_walks
from staging import BuiltWalk, find_walks, stage_sound, stage_text

ROOT = Path(__file__).resolve().parent.parent
DOC = ROOT / "docs" / "scores.md"
HELD = ("held", "built-held")
KIND = re.compile(r"(?:^|: )(unit MISSED|unit SPURIOUS|photo|review missing|same_as|\w+ (?:wrong|missing|spurious))"
                  r".*?(\(SILENT\)|\(flagged\))?$")


@dataclass(frozen=True)
class Job:
    """One folder of walks, and how to run it."""

    name: str
    walks: tuple[BuiltWalk, ...]
    sound: bool
    out: Path
    blind: bool = False
    redo_speech: bool = False
    know_zone: bool = False


@dataclass
class Result:
    """The exports of a job by walk id, and what went wrong."""

    job: Job
    exports: dict[str, dict[str, Any]] = field(default_factory=dict)
    failures: list[str] = field(default_factory=list)
    seconds: float = 0.0


def main() -> int:
    """The command line; exit code 1 where a walk could not be processed."""
    args = _arguments()
    jobs = _jobs(args)
    if args.jobs > 1 and len(jobs) > 1:
        with ProcessPoolExecutor(max_workers=args.jobs) as pool:
            results = list(pool.map(run, jobs))
    else:
        results = [run(job) for job in jobs]
    for result in results:
        show(result, errors=args.errors, into_docs=args.docs)
    return 1 if any(result.failures for result in results) else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    how = parser.add_mutually_exclusive_group(required=True)
    how.add_argument("--text", action="store_true", help="from the true words")
    how.add_argument("--sound", action="store_true", help="from the recordings")
    parser.add_argument("folders", nargs="+", type=Path, metavar="FOLDER")
    parser.add_argument("--errors", action="store_true", help="list every difference, by kind")
    parser.add_argument("--blind", action="store_true", help="show totals only")
    parser.add_argument("--jobs", type=int, default=1, help="folders at the same time")
    parser.add_argument("--out", type=Path, default=ROOT / "bench" / "out")
    parser.add_argument("--redo-speech", action="store_true", help="decode again what was heard before")
    parser.add_argument("--know-zone", action="store_true", help="tell the program the walk's offset from UTC")
    parser.add_argument("--docs", action="store_true", help="put the table into docs/scores.md")
    return parser.parse_args()


def _jobs(args: argparse.Namespace) -> list[Job]:
    jobs = []
    for folder in args.folders:
        walks = find_walks([folder])
        if not walks:
            sys.exit(f"{folder}: no built walk there (a folder with gold.json, truth.json and capture/)")
        place = folder.resolve()
        blind = args.blind or any(part in HELD for part in place.parts)
        named = place.name if place.parent == ROOT else f"{place.parent.name}-{place.name}"
        name = f"{named}-{'sound' if args.sound else 'text'}"
        jobs.append(Job(name, tuple(walks), args.sound, args.out.resolve(), blind, args.redo_speech, args.know_zone))
    return jobs


def run(job: Job) -> Result:
    """Process the walks of a job in order, in one fresh shop, and export each."""
    result, begun = Result(job), time.perf_counter()
    home = job.out / job.name
    shop = fresh_shop(home / "shop", job.out / "transcripts")
    with tempfile.TemporaryDirectory() as scratch:
        for walk in job.walks:
            try:
                result.exports[walk.id] = run_walk(walk, job, shop, Path(scratch))
            except Exception as error:  # whatever stops one walk is told, and the others are still scored
                result.exports[walk.id] = {}
                told = type(error).__name__ if job.blind else f"{walk.id}: {''.join(traceback.format_exception(error))}"
                result.failures.append(told)
    result.seconds = time.perf_counter() - begun
    if job.blind:
        shutil.rmtree(home)
    return result


def fresh_shop(shop: Path, transcripts: Path) -> Path:
    """An empty shop whose transcripts are the kept ones."""
    from intake.cli.shop import make_shop

    if shop.exists():
        shutil.rmtree(shop)
    make_shop(shop)
    transcripts.mkdir(parents=True, exist_ok=True)
    (shop / "transcripts").symlink_to(transcripts, target_is_directory=True)
    return shop


def run_walk(walk: BuiltWalk, job: Job, shop: Path, scratch: Path) -> dict[str, Any]:
    """Import the walk's vocabulary, process its capture, give back its export."""
    from intake.pipeline import process_walk
    from intake.records.export import record
    from intake.records.store import Store
    from intake.settings import load_settings
    from intake.vocabulary.load import load_vocabulary
    from intake.vocabulary.shopfile import import_vocabulary

    settings = load_settings(shop)
    import_vocabulary(walk.vocabulary, settings.vocab)
    capture = (stage_sound if job.sound else stage_text)(walk, scratch)
    process_walk([capture], settings, walk_id=walk.id, redo_speech=job.redo_speech,
                 utc_offset_min=_offset(walk) if job.know_zone else None)
    with Store.open(settings.database, shop_terms=load_vocabulary(shop).allowed) as store:
        export = record(store, walk.id)
    if not job.blind:
        target = job.out / job.name / "exports" / f"{walk.id}.json"
        target.parent.mkdir(exist_ok=True)
        target.write_text(json.dumps(export, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return export


def _offset(walk: BuiltWalk) -> int:
    offset = datetime.fromisoformat(walk.truth()["recordings"][0]["started_at"]).utcoffset()
    return round(offset.total_seconds() / 60) if offset is not None else 0


def show(result: Result, *, errors: bool, into_docs: bool) -> None:
    """Print a job's figures, and write them down unless its walks are kept aside."""
    job = result.job
    walks = score_walks([(walk.gold, result.exports[walk.id]) for walk in job.walks])
    print(f"== {job.name}: {len(walks)} walks in {result.seconds:.1f} s")
    for failure in result.failures:
        print(f"FAILED {failure}")
    if into_docs:
        write_table(job.name, table_rows(walks, only_total=job.blind))
    if errors and not job.blind:
        print(by_kind(walks))
    print(report(walks, only_total=job.blind) + "\n")
    if not job.blind:
        (job.out / job.name / "figures.json").write_text(json.dumps(as_json(walks), indent=1) + "\n", encoding="utf-8")


def table_rows(walks: Mapping[str, Scored], *, only_total: bool) -> list[tuple[str, Summary]]:
    """The rows of a table: one a walk, and their total."""
    total = zero()
    for walk in walks.values():
        total = add(total, walk.counts)
    rows = [] if only_total else [(name, summary(walk.counts)) for name, walk in walks.items()]
    return rows if len(rows) == 1 else [*rows, (f"all {len(walks)}", summary(total))]


def write_table(name: str, rows: list[tuple[str, Summary]]) -> None:
    """Put a table into docs/scores.md, between the marks that bear its name."""
    text = DOC.read_text(encoding="utf-8")
    marks = re.compile(rf"(<!-- begin {re.escape(name)} -->\n).*?(<!-- end {re.escape(name)} -->)", re.DOTALL)
    if not marks.search(text):
        sys.exit(f"{DOC} has no marks <!-- begin {name} --> and <!-- end {name} -->")
    DOC.write_text(marks.sub(lambda found: f"{found[1]}{markdown(rows)}\n{found[2]}", text), encoding="utf-8")


def by_kind(walks: Mapping[str, Scored]) -> str:
    """Every difference under its kind, the most frequent kind first."""
    kinds: dict[str, list[str]] = defaultdict(list)
    for walk_id, walk in walks.items():
        for line in walk.errors:
            kinds[_kind(line)].append(f"{walk_id[5:]} {line}")
    return "\n".join(line for kind, lines in sorted(kinds.items(), key=lambda item: -len(item[1]))
                     for line in (f"-- {kind}: {len(lines)}", *(f"   {line}" for line in lines)))


def _kind(line: str) -> str:
    found = KIND.search(line)
    return " ".join(part for part in found.groups() if part) if found else "other"


if __name__ == "__main__":
    sys.exit(main())
