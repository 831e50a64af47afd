"""How long the weekly report takes over a large shop's history, and how large its page is.

    python bench/report.py                  100,000 units and five years, made in a temporary folder (about a minute)
    python bench/report.py --units 5000     a smaller shop
    python bench/report.py --keep FOLDER    keep the shop, or use it again

Each report is a process of its own on one core, as a user starts it: start of Python, opening of the database, the
queries, the page. The first makes its thumbnails and compiles the modules; the others find them. A loop of ten million
additions is timed too, so that figures from different machines can be set side by side.
"""

from __future__ import annotations

import argparse
import itertools
import json
import os
import random
import resource
import sqlite3
import subprocess
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from intake.cli.shop import make_shop
from intake.report import demo_pictures
from intake.report import demo_stock as stock

LAST = date(2026, 5, 17)
WEEKS = 260
LIMIT_S, LIMIT_BYTES = 2.0, 1_000_000
PICTURES = 24
PATH = ("received", "testing", "in repair", "waiting", "ready to photograph", "ready to list", "listed")


def main() -> None:
    """Make the shop, time the reports, say whether they keep the limits."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--units", type=int, default=100_000)
    parser.add_argument("--keep", type=Path)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        shop = options.keep or Path(scratch) / "shop"
        if not (shop / "config.toml").exists():
            began = time.perf_counter()
            make(shop, options.units)
            print(f"made {options.units:,} units over {WEEKS} weeks in {time.perf_counter() - began:.0f} s")
        print(f"ten million additions: {loop():.2f} s of processor time")
        print(f"database {(shop / 'intake.db').stat().st_size / 1e6:.0f} MB, one core")
        print(f"{'report':<36}{'wall s':>8}{'cpu s':>8}{'bytes':>11}")
        kept = [run(shop, *case) for case in CASES]
        print("every report under 2 s and 1 MB" if all(kept) else "NOT every report under 2 s and 1 MB")


def loop() -> float:
    """Processor seconds for a loop of ten million additions."""
    began, total = time.process_time(), 0
    for number in range(10_000_000):
        total += number
    return time.process_time() - began


CASES = (
    ("last week, html, first time", "2026-W20", "html"), ("last week, html", "2026-W20", "html"),
    ("last week, terminal", "2026-W20", "terminal"), ("last week, csv", "2026-W20", "csv"),
    ("last week, xlsx", "2026-W20", "xlsx"),
    ("two years before, html, first time", "2024-W20", "html"), ("two years before, html", "2024-W20", "html"))


def run(shop: Path, name: str, week: str, form: str) -> bool:
    """One report in a process of its own; True where it keeps the limits (the first makes its thumbnails)."""
    out = shop / f"report.{form}"
    command = [sys.executable, "-m", "intake", "report", "--shop", str(shop), "--week", week, "--format", form,
               "-o", str(out)]
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    # As installed: with its modules compiled once, whatever the environment here says.
    around = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    around["PYTHONPYCACHEPREFIX"] = str(shop / "compiled")
    subprocess.run(command, check=True, capture_output=True, preexec_fn=_one_core, env=around)
    wall, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    size = out.stat().st_size
    print(f"{name:<36}{wall:>8.2f}{cpu:>8.2f}{size:>11,}")
    if form == "xlsx" or "first time" in name:         # told, not held: all rows as cells; pictures still to be made
        return True
    return cpu < LIMIT_S and (form != "html" or size < LIMIT_BYTES)


def _one_core() -> None:
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


# ---- the shop, written straight into its tables


def make(shop: Path, units: int) -> None:
    """A shop with that many units over five years; two walks a week, every unit told of one to five times."""
    make_shop(shop)
    pictures = shop / "pictures"
    pictures.mkdir(exist_ok=True)
    kinds = [kind.unit_type for kind in stock.KINDS]
    for at in range(PICTURES):
        demo_pictures.draw(kinds[at % len(kinds)], pictures / f"{at}.jpg", seed=str(at))
    with sqlite3.connect(shop / "intake.db") as database:
        database.execute("PRAGMA synchronous = OFF")
        database.execute("PRAGMA cache_size = -400000")
        fill(Rows(database, pictures), units, random.Random(1))
        database.execute("ANALYZE")


class Rows:
    """Collects rows and writes them many at a time; hands out the keys of sightings and entries."""

    def __init__(self, database: sqlite3.Connection, pictures: Path) -> None:
        self.database, self.pictures = database, pictures
        self.waiting: dict[tuple[str, tuple[str, ...]], list[tuple[Any, ...]]] = {}
        self.sightings, self.entries = itertools.count(1), itertools.count(1)

    def add(self, table: str, **values: Any) -> None:
        """Put a row of a table aside; days are written as texts."""
        rows = self.waiting.setdefault((table, tuple(values)), [])
        rows.append(tuple(str(value) if isinstance(value, date) else value for value in values.values()))
        if len(rows) >= 20_000:
            self.write(table, tuple(values))

    def write(self, table: str, columns: tuple[str, ...]) -> None:
        """Write what was put aside."""
        marks = ", ".join("?" * len(columns))
        self.database.executemany(f"INSERT INTO {table} ({', '.join(columns)}) VALUES ({marks})",
                                  self.waiting.pop((table, columns)))

    def entry(self, sighting: int, field: str, number: int, value: Any, *, second: float, doubt: bool) -> int:
        """One value of a sighting with the words behind it."""
        key = next(self.entries)
        words = f"and it's {value}"
        said = [{"recording": "memo-01.m4a", "start_s": second, "end_s": second + 3, "words": words}]
        self.add("entry", id=key, sighting_id=sighting, field=field, number=number, value=json.dumps(value),
                 confidence=0.9, reasons='["the speaker was unsure"]' if doubt else "[]", alternatives="[]",
                 evidence=json.dumps(said),
                 rule="", signals="{}", notes="[]", differs=0)
        return key


def fill(rows: Rows, units: int, dice: random.Random) -> None:
    """Write all rows."""
    rows.database.execute("PRAGMA foreign_keys = OFF")
    days = sorted(LAST - timedelta(weeks=week, days=back) for week in range(WEEKS) for back in (5, 2))
    for day in days:
        rows.add("walk", id=f"{day}-walk", date=day, utc_offset_min=-240, settings="{}", fingerprint="",
                 processed_at=f"{day}T20:00:00.000Z")
        rows.add("file", sha256=f"rec{day}", path=f"memo-{day}.m4a", kind="m4a")
        rows.add("recording", walk_id=f"{day}-walk", sha256=f"rec{day}", name="memo-01.m4a", position=0,
                 duration_s=36000.0, started_source="", started_marks="start", times="[]")
    told = dict.fromkeys(days, 0)
    for number in range(1, units + 1):
        life(rows, f"U{number:04d}", days[(number - 1) * len(days) // units:], told, dice)
    for table, columns in list(rows.waiting):
        rows.write(table, columns)


def life(rows: Rows, name: str, days: list[date], told: dict[date, int], dice: random.Random) -> None:
    """One unit's life: its sightings with their values, its runs, its latest state. `days`: walks since it came."""
    kind, source = dice.choice(stock.KINDS), dice.choice(stock.SOURCES)
    about = {"unit_type": kind.unit_type, "maker": dice.choice(kind.makers), "model": dice.choice(kind.models),
             "location": f"{dice.choice(stock.SHELVES)}-{dice.randint(1, 40)}"}
    stages, at = [], 0
    for stage in PATH:
        if at < len(days) and (stage != "waiting" or dice.random() < 0.4):
            stages.append((stage, days[at]))
            at += dice.randint(1, 9 if stage == "waiting" else 3)
    trouble = dice.choice(kind.troubles)
    sightings, work = [], 0
    for stage, day in stages:
        told[day] += 1
        key, second = next(rows.sightings), told[day] * 15.0
        sightings.append((key, f"{day}-walk/u{told[day]}"))
        rows.add("sighting", id=key, walk_id=f"{day}-walk", local_id=f"u{told[day]}", position=second, unit_id=name,
                 origin="machine", present=1, named_at="[]", linked="own", link_confidence=1.0,
                 spans=json.dumps([{"recording": "memo-01.m4a", "start_s": second, "end_s": second + 14}]))
        for field, value in {**about, "stage": stage}.items():
            rows.entry(key, field, 0, value, second=second, doubt=dice.random() < 0.03)
        if stage == "in repair":
            todo = {"work": trouble.work, "part": trouble.part}
            work = rows.entry(key, "actions", 1, todo, second=second, doubt=False)
    _runs(rows, name, stages, [sighting for _, sighting in sightings], trouble, work, dice)
    first, last = stages[0][1], stages[-1][1]
    rows.add("unit", id=name, made_at=f"{first}T20:00:00.000Z", made_for=sightings[0][1])
    rows.add("unit_now", unit_id=name, **about, serial=name[1:], quantity=1, grouping="single", stage=stages[-1][0],
             source=source, stage_since=last, first_seen=first, last_seen=last, first_sighting=sightings[0][1],
             last_sighting=sightings[-1][1], sightings=len(sightings), photos=1, questions=0)
    rows.add("unit_words", unit_id=name, words=f"{about['maker']} {about['model']}".casefold(), indexed=1)
    _photo(rows, name, first, sightings[0][0], dice)


def _runs(rows: Rows, name: str, stages: list[tuple[str, date]], sightings: list[str], trouble: stock.Trouble,
          work: int, dice: random.Random) -> None:
    began = dict(stages)
    for at, (stage, since) in enumerate(stages):
        until = stages[at + 1][1] if at + 1 < len(stages) else None
        rows.add("stage_run", unit_id=name, stage=stage, since=since, until=until, sighting=sightings[at])
    if work:
        since = began["in repair"]
        rows.add("action_run", unit_id=name, work=trouble.work, part=trouble.part, since=since, entry_id=work,
                 due=since + timedelta(days=dice.randint(3, 40)) if dice.random() < 0.4 else None,
                 waiting_on=dice.choice((trouble.part, "owner's okay", "Bev")) if stages[-1][0] == "waiting" else None,
                 until=began.get("ready to photograph"), sighting=sightings[list(began).index("in repair")])


def _photo(rows: Rows, name: str, day: date, sighting: int, dice: random.Random) -> None:
    number = int(name[1:])
    rows.add("file", sha256=f"pic{name}", path=str(rows.pictures / f"{dice.randrange(PICTURES)}.jpg"), kind="jpeg")
    rows.add("photo", id=number, walk_id=f"{day}-walk", sha256=f"pic{name}", name=f"{name}.JPG", position=number,
             taken_source="exif DateTimeOriginal", times="[]", orientation=1, width=320, height=240)
    rows.add("placement", photo_id=number, sighting_id=sighting, confidence=0.9, reasons="[]", why="")


if __name__ == "__main__":
    main()
