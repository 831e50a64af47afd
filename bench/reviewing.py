#!/usr/bin/env python3
"""What the review costs on walks from sound, and what it teaches for the next walk.

    python bench/reviewing.py effort FOLDER...          # each walk corrected to its answer key, by keys alone
    python bench/reviewing.py teach FIRST SECOND [FIRST SECOND ...]
        [--bare] [--lessons] [--out bench/out] [--redo-speech]

FOLDER, FIRST and SECOND are built walks (FORMAT.md); of `effort` a FOLDER may hold several, which go through one shop
in order of date. The reviewer is a program that sees the screen and presses keys (tests/review/reviewer.py); it knows
the answer key and nothing else.

`effort` tells the keys of each accepted and corrected field, and what was still wrong at the end (it must be nothing).
`teach` reads SECOND in a shop that knows the vocabulary of both walks (before), then in one where FIRST was corrected
and every lesson that the review offered was taken (after), and counts makers and models that came out right without
review. With `--bare` the shops have no maker, model or place on file but those that were taught. SECOND is decoded anew
in the taught shop, for what the shop knows biases the second decoding. What was heard is kept under OUT and used again.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
for folder in (ROOT, ROOT / "bench"):
    sys.path.insert(0, str(folder))

from alignment import align, norm  # noqa: E402 - the checkout's own modules
from intake.records.export import record  # noqa: E402
from intake.records.store import Store  # noqa: E402
from intake.review.desk import Desk, Scope  # noqa: E402
from intake.review.screen import ReviewApp  # noqa: E402
from intake.settings import Settings, load_settings  # noqa: E402
from intake.vocabulary.load import load_vocabulary  # noqa: E402
from intake.vocabulary.shopfile import import_vocabulary  # noqa: E402
from run_walks import Job, fresh_shop, run_walk  # noqa: E402
from score import score_walks  # noqa: E402
from staging import BuiltWalk, find_walks  # noqa: E402
from tests.review.reviewer import Count, Key, Reviewer  # noqa: E402

NAMES = ("maker", "model")


def main() -> None:
    """The command line."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("what", choices=("effort", "teach"))
    parser.add_argument("folders", nargs="+", type=Path, metavar="FOLDER")
    parser.add_argument("--out", type=Path, default=ROOT / "bench" / "out")
    parser.add_argument("--redo-speech", action="store_true", help="decode again what was heard before")
    parser.add_argument("--bare", action="store_true", help="nothing on file but what was taught")
    parser.add_argument("--lessons", action="store_true", help="list what was taught")
    args = parser.parse_args()
    os.environ["INTAKE_PERSON"] = "reviewer"
    walks = [walk for folder in args.folders for walk in find_walks([folder])]
    if args.what == "effort":
        done = effort(walks, args.out.resolve(), redo_speech=args.redo_speech)
        print(effort_table(done))
        return
    if len(walks) % 2:
        parser.error("walks to teach with come in pairs")
    pairs = [taught(one, two, args.out.resolve(), bare=args.bare, redo_speech=args.redo_speech)
             for one, two in zip(walks[::2], walks[1::2], strict=True)]
    print(teach_table(pairs))
    for pair in pairs if args.lessons else ():
        print(f"\n{pair.first} taught:", *pair.lessons, sep="\n  ")


# ---- a walk corrected


@dataclass(frozen=True)
class Corrected:
    """What a walk's review took, and what was still wrong after it."""

    walk: str
    count: Count
    wrong: Sequence[str]
    before: Mapping[str, Any]


def effort(walks: Sequence[BuiltWalk], out: Path, *, redo_speech: bool = False) -> list[Corrected]:
    """Process and correct these walks in order, in one shop."""
    shop = _fresh(out, "review-effort/shop")
    job = Job("review-effort", tuple(walks), True, out, redo_speech=redo_speech)
    (out / job.name / "captures").mkdir(exist_ok=True)
    done, earlier = [], dict[str, str]()
    for walk in walks:
        run_walk(walk, job, shop, out / job.name / "captures")
        done.append(correct(load_settings(shop), walk, earlier))
    return done


def correct(settings: Settings, walk: BuiltWalk, earlier: dict[str, str], *, teach: bool = False) -> Corrected:
    """Review one walk to its answer key; `earlier`: units of the shop by the keys' names of them, added to here."""
    gold = json.loads(walk.gold.read_text(encoding="utf-8"))
    with _store(settings) as store:
        before = record(store, walk.id)
        key = _key(store, walk, gold, before, earlier)
        desk = Desk(store, settings, "reviewer", Scope(walk=walk.id))
        units, count = asyncio.run(_review(desk, key, teach=teach))
        after = record(store, walk.id)
        earlier |= {f"{walk.id}/{unit['id']}": store.unit_id(about) for about, unit in units.items()}
    scored = score_walks([(walk.gold, after)])[walk.id]
    wrong = [line for line in scored.errors if ": review missing:" not in line]  # what a person settled has no flag
    return Corrected(walk.id, count, wrong, before)


def _fresh(out: Path, name: str) -> Path:
    """An empty shop that knows what was heard, and read on photos, before."""
    shop = fresh_shop(out / name, out / "transcripts")
    (out / "plates").mkdir(exist_ok=True)
    (shop / "plates").symlink_to(out / "plates", target_is_directory=True)
    return shop


async def _review(desk: Desk, key: Key, *, teach: bool) -> tuple[dict[str, Any], Count]:
    app = ReviewApp(desk, colours=False)
    async with app.run_test(size=(80, 24)) as pilot:
        reviewer = Reviewer(desk, pilot, key, teach=teach)
        await reviewer.run()
    return reviewer.units, reviewer.count


def _key(store: Store, walk: BuiltWalk, gold: Mapping[str, Any], export: Mapping[str, Any],
         earlier: Mapping[str, str]) -> Key:
    """What is true of each record: those paired with the key's units, those too many, and units without a record."""
    truth = walk.truth()
    pairs = align(gold["units"], export["units"])
    of_record = {f"{walk.id}/{export['units'][p]['id']}": gold["units"][g] for g, p in pairs.items()}
    extra = {f"{walk.id}/{unit['id']}": None for n, unit in enumerate(export["units"]) if n not in pairs.values()}
    by_unit = {unit["id"]: about for about, unit in of_record.items()}
    pieces = {about: by_unit.get(_talked_of(store, about, truth) or "") for about in extra}
    offsets = sorted(_offset(photo) for photo in truth["photos"] if photo["exif"])
    return Key(of_record, pieces, [u for g, u in enumerate(gold["units"]) if g not in pairs], earlier,
               offsets[len(offsets) // 2] if offsets else 0.0)


def _talked_of(store: Store, about: str, truth: Mapping[str, Any]) -> str | None:
    """The key's unit that most of a record's talk is about."""
    spans = [(s.recording.rpartition(".")[0], s.start_s, s.end_s) for s in store.sighting(about).spans]
    shared = {unit: sum(max(0.0, min(b, end) - max(a, start)) for name, a, b in theirs
                        for mine, start, end in spans if mine == name) for unit, theirs in truth["units"].items()}
    best = max(shared, key=lambda unit: shared[unit], default=None)
    return best if best is not None and shared[best] > 0 else None


def _offset(photo: Mapping[str, Any]) -> float:
    from datetime import datetime

    taken = datetime.fromisoformat(photo["taken_at"]).replace(tzinfo=None)
    return (datetime.fromisoformat(photo["camera_time"]) - taken).total_seconds()


def _store(settings: Settings) -> Store:
    return Store.open(settings.database, shop_terms=load_vocabulary(settings.shop).allowed)


def effort_table(done: Sequence[Corrected]) -> str:
    """A row a walk, and their sum."""
    rows = ["| walk | units | accepted | keys each | corrected | keys each, besides letters | letters each | "
            "units joined, removed, added, tied | keys each, besides letters | turning | still wrong |",
            "| --- |" + " --: |" * 10]
    total = Count()
    for one in done:
        rows.append(_row(one.walk, len(one.before["units"]), one.count, len(one.wrong)))
        for name in ("accepted", "accept_keys", "corrected", "correct_keys", "letters", "turned", "units", "unit_keys"):
            setattr(total, name, getattr(total, name) + getattr(one.count, name))
    rows.append(_row(f"all {len(done)}", sum(len(one.before["units"]) for one in done), total,
                     sum(len(one.wrong) for one in done)))
    return "\n".join([*rows, *(f"{one.walk}: {line}" for one in done for line in one.wrong)])


def _row(name: str, units: int, count: Count, wrong: int) -> str:
    def each(keys: int, of: int) -> str:
        return f"{keys / of:.2f}" if of else "-"

    cells = (name, units, count.accepted, each(count.accept_keys, count.accepted), count.corrected,
             each(count.correct_keys, count.corrected), each(count.letters, count.corrected), count.units,
             each(count.unit_keys, count.units), count.turned, wrong)
    return "| " + " | ".join(map(str, cells)) + " |"


# ---- what is taught


@dataclass(frozen=True)
class Names:
    """Of one field over a walk's units: those that have one, and how they came out before any review."""

    of: int = 0
    right: int = 0
    unflagged: int = 0                         # right, and nobody is asked to look
    silent: int = 0                            # wrong, and nobody is asked to look


@dataclass(frozen=True)
class Taught:
    """A pair of walks: what the first taught, and how the second's names came out before and after."""

    first: str
    second: str
    lessons: Sequence[str]
    before: Mapping[str, Names]
    after: Mapping[str, Names]


class Unknown(BuiltWalk):
    """A built walk of which the shop has no maker, model or place on file."""

    @property
    def vocabulary(self) -> Path:
        """An empty list of names."""
        return ROOT / "bench" / "no-names.json"


def taught(first: BuiltWalk, second: BuiltWalk, out: Path, *, bare: bool = False, redo_speech: bool = False) -> Taught:
    """Read the second walk in a fresh shop, and in one where the first was corrected and taught."""
    name = f"review-teach-{'bare-' if bare else ''}{second.id}"
    if bare:
        first, second, out = Unknown(first.folder), Unknown(second.folder), out / "bare"
    job = Job(name, (first, second), True, out, redo_speech=redo_speech)
    captures = out / name / "captures"
    captures.mkdir(parents=True, exist_ok=True)
    gold = json.loads(second.gold.read_text(encoding="utf-8"))
    fresh = _fresh(out, f"{name}/fresh")
    import_vocabulary(first.vocabulary, load_settings(fresh).vocab)
    before = run_walk(second, job, fresh, captures)
    shop = _fresh(out, f"{name}/shop")
    run_walk(first, job, shop, captures)
    settings = load_settings(shop)
    corrected = correct(settings, first, {}, teach=True)
    settings.transcripts.unlink()              # the second walk is heard by a shop that has learned
    (out / name / "transcripts").mkdir(exist_ok=True)
    settings.transcripts.symlink_to(out / name / "transcripts", target_is_directory=True)
    after = run_walk(second, job, shop, captures)
    lessons = corrected.count.lessons
    return Taught(first.id, second.id, lessons, names(gold, before), names(gold, after))


def names(gold: Mapping[str, Any], export: Mapping[str, Any]) -> dict[str, Names]:
    """How a walk's makers and models came out."""
    pairs = align(gold["units"], export["units"])
    out = {}
    for field in NAMES:
        of = right = unflagged = silent = 0
        for g, unit in enumerate(gold["units"]):
            if unit[field] is None:
                continue
            of += 1
            made = export["units"][pairs[g]] if g in pairs else None
            if made is None:
                continue
            asked = any(entry["field"] == field for entry in made["review"])
            if norm(made[field]) == norm(unit[field]):
                right, unflagged = right + 1, unflagged + (not asked)
            elif made[field] is not None:
                silent += not asked
        out[field] = Names(of, right, unflagged, silent)
    return out


def teach_table(pairs: Sequence[Taught]) -> str:
    """A row a pair and field: right without review, of them not asked about, and silently wrong; before -> after."""
    rows = ["| taught from | then read | field | of | right before | right after | of them not flagged | "
            "silently wrong |", "| --- | --- | --- |" + " --: |" * 5]
    for pair in pairs:
        for field in NAMES:
            was, now = pair.before[field], pair.after[field]
            rows.append(f"| {pair.first} | {pair.second} | {field} | {now.of} | {was.right} | {now.right} | "
                        f"{was.unflagged} → {now.unflagged} | {was.silent} → {now.silent} |")
    return "\n".join(rows)


if __name__ == "__main__":
    main()
