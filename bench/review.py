#!/usr/bin/env python3
"""How fast the review is in a large shop: opening it, and each key.

    python bench/review.py [--units 100000] [--open 0.1] [--shop DIR] [--json OUT]

A shop of so many units, two photos each, is made by copying one walk of forty; in a share of the walks (`--open`) the
questions are still open, three to a unit, elsewhere they are answered. Measured: the records opened and put in order
up to the first screen drawn, in a process that has its packages loaded (goal under 0.5 s); the whole command from its
start to the first screen in a terminal, Python's own start included (told, no goal); and each key from pressing it to
the screen drawn anew (goal under 0.1 s). The processor's seconds stand beside, which other programs at work don't
stretch. `--shop` keeps the shop for another run.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import pty
import select
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from intake.capture.walk import Photo, Recording, Walk  # noqa: E402 - the checkout's own package
from intake.language.draft import Evidence, Span, UnitDraft, Value  # noqa: E402
from intake.matching.types import PhotoMatch  # noqa: E402
from intake.records.store import Store  # noqa: E402
from intake.review.desk import Desk  # noqa: E402
from intake.review.screen import ReviewApp  # noqa: E402
from intake.settings import CONFIG_TEXT, Settings, load_settings  # noqa: E402
from intake.vocabulary.shopfile import add_model  # noqa: E402

PER_WALK = 40
MODELS = 2000


@dataclass(frozen=True)
class Timing:
    """Seconds of a key pressed several times; `cpu`: the processor's, which other programs at work don't stretch."""

    key: str
    middle: float
    worst: float
    cpu: float
    times: int


def main() -> None:
    """Measure, print, write down."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--units", type=int, default=100_000)
    parser.add_argument("--open", type=float, default=0.1, help="share of the walks that are not reviewed yet")
    parser.add_argument("--shop", type=Path, help="where the shop is made, or lies from an earlier run")
    parser.add_argument("--json", type=Path, help="write the figures here")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        settings = made(args.shop or Path(folder) / "shop", args.units, args.open)
        figures = measure(settings)
    for name, value in figures.items():
        print(f"{name:<34} {value}")
    if args.json:
        args.json.write_text(json.dumps(figures, indent=1) + "\n")


# ---- a large shop


def made(folder: Path, units: int, share: float) -> Settings:
    """The shop, made unless it is there."""
    if (folder / "config.toml").exists():
        return load_settings(folder)
    (folder / "vocab").mkdir(parents=True)
    (folder / "config.toml").write_text(CONFIG_TEXT)
    settings = load_settings(folder)
    add_model(settings.vocab, "Corvane", "AI-350", "integrated amplifier")
    with (settings.vocab / "models.txt").open("a") as file:
        file.writelines(f"Maker{n % 97} | MX-{n} | receiver\n" for n in range(MODELS))
    with Store.open(settings.database) as store:
        recording = Recording(Path("/captures/memo.m4a"), "memo.m4a", "0" * 64, "m4a", 1200.0)
        photos = [Photo(Path(f"/captures/P{n}.JPG"), f"P{n}.JPG", f"{n:064d}", "jpeg") for n in range(2 * PER_WALK)]
        matches = [PhotoMatch(p.name, f"u{n // 2 + 1}", 0.9) for n, p in enumerate(photos)]
        store.save_walk(Walk("w00000", date(2026, 1, 5), 0, (recording,), tuple(photos)),
                        [_draft(n) for n in range(PER_WALK)], matches)
    walks = max(1, units // PER_WALK)
    connection = sqlite3.connect(settings.database)
    _copy(connection, walks)
    _settle(connection, int(walks * (1 - share)))
    connection.close()
    with Store.open(settings.database):                # fills the full-text index
        pass
    return settings


def _draft(n: int) -> UnitDraft:
    def value(said: Any, at: float, flag: bool = False) -> Value:
        return Value(said, (Evidence("memo.m4a", n * 30 + at, n * 30 + at + 1, str(said)),), 0.7 if flag else 0.95,
                     ("not sure enough",) if flag else (), ("AI-300",) if flag and said == "AI-350" else ())

    issue = {"part": "lamp", "symptom": "dead", "side": None, "state": "present"}
    return UnitDraft(f"u{n + 1}", {
        "maker": value("Corvane", 1), "model": value("AI-350", 2, flag=True),
        "serial": value(f"S{n:05d}", 3, flag=True),
        "unit_type": value("receiver", 4), "location": value("shelf B2", 5), "stage": value("in repair", 6, flag=True),
    }, issues=(value(issue, 7),), spans=(Span("memo.m4a", n * 30.0, n * 30.0 + 29),))


#: Tables that a copied walk has rows in, with the columns that must differ from copy to copy.
TABLES = {
    "walk": {"id": "walk"}, "unit": {"id": "unit", "made_for": "named"},
    "recording": {"id": "number", "walk_id": "walk"},
    "photo": {"id": "number", "walk_id": "walk"},
    "placement": {"photo_id": "number:photo", "sighting_id": "number:sighting"},
    "sighting": {"id": "number", "walk_id": "walk", "unit_id": "unit"},
    "entry": {"id": "number", "sighting_id": "number:sighting"},
    "unit_now": {"unit_id": "unit", "first_sighting": "named", "last_sighting": "named"},
    "unit_words": {"unit_id": "unit", "indexed": "zero"},
    "stage_run": {"id": "number", "unit_id": "unit", "sighting": "named"},
    "issue_run": {"id": "number", "unit_id": "unit", "sighting": "named", "entry_id": "number:entry"},
}


def _copy(connection: sqlite3.Connection, walks: int) -> None:
    """Copies of the first walk, each with ids of its own; the whole in one transaction."""
    connection.execute("CREATE TEMP TABLE n (n INTEGER)")
    connection.executemany("INSERT INTO n VALUES (?)", ((n,) for n in range(1, walks)))
    size = {table: connection.execute(f"SELECT max(rowid) FROM {table}").fetchone()[0] or 1 for table in TABLES}
    for table, changed in TABLES.items():
        columns = [row[1] for row in connection.execute(f"PRAGMA table_xinfo({table})") if row[6] == 0]
        picked = [_changed(name, changed.get(name), table, size) for name in columns]
        connection.execute(f"INSERT INTO {table} ({', '.join(columns)}) SELECT {', '.join(picked)} FROM {table} t, n")
    connection.commit()


def _changed(column: str, how: str | None, table: str, size: dict[str, int]) -> str:
    kind, _, other = (how or "").partition(":")
    return {
        "": f"t.{column}", "zero": "0", "walk": "printf('w%05d', n.n)",
        "unit": f"printf('U%04d', CAST(substr(t.{column}, 2) AS INTEGER) + n.n * {PER_WALK})",
        "named": f"printf('w%05d', n.n) || substr(t.{column}, 7)",
        "number": f"t.{column} + n.n * {size[other or table]}",
    }[kind]


def _settle(connection: sqlite3.Connection, walks: int) -> None:
    """The questions of the first walks are answered."""
    connection.execute(
        "UPDATE entry SET decision = 'accepted', decided_value = value, seen_value = value, decided_by = 'ann', "
        "decided_at = '2026-01-06T00:00:00Z' WHERE reasons <> '[]' AND sighting_id IN "
        "(SELECT id FROM sighting WHERE walk_id < printf('w%05d', ?))", (walks,))
    connection.commit()


# ---- the figures


def measure(settings: Settings) -> dict[str, Any]:
    """All figures of a shop."""
    _from_start(settings)                              # the files are in memory then, as on a day's second start
    program, cpu = _from_start(settings)
    figures = asyncio.run(_in_process(settings))
    return {**figures, "the command, start to first screen, s": f"{program}, processor {cpu}"}


async def _in_process(settings: Settings) -> dict[str, Any]:
    least = min([await _opening(settings) for _ in range(3)])
    began, cpu = time.perf_counter(), time.process_time()
    with Store.open(settings.database) as store:
        opened = time.perf_counter()
        desk = Desk(store, settings, "bench")
        ordered = time.perf_counter()
        questions = len(desk.queue)
        async with ReviewApp(desk, colours=False).run_test(size=(80, 24)) as pilot:
            drawn, cpu = time.perf_counter(), time.process_time() - cpu
            timings = [await _press(pilot, keys) for keys in (
                ["space"] * 20, ["1"] * 5, ["down"] * 10, ["right"] * 10, ["left"] * 10, ["pagedown"] * 10,
                ["V", "=", *"left channel dead", "enter"], ["C", "=", *"mx-19", "tab", "enter"], ["comma"] * 5,
                ["full_stop"] * 5)]
    return {
        "open questions": questions, "records opened, s": round(opened - began, 3),
        "questions loaded and ordered, s": round(ordered - opened, 3),
        "first screen drawn, s": round(drawn - ordered, 3),
        "review opens (goal 0.5), s": round(drawn - began, 3), "of that processor, s": round(cpu, 3),
        "least processor time of three, s": round(least, 3),
        **{f"key {t.key} (goal 0.1), s":
           f"middle {t.middle:.3f}  worst {t.worst:.3f}  cpu {t.cpu:.3f}  of {t.times}" for t in timings}}


async def _opening(settings: Settings) -> float:
    """The processor's seconds to the first screen."""
    cpu = time.process_time()
    with Store.open(settings.database) as store:
        async with ReviewApp(Desk(store, settings, "bench"), colours=False).run_test(size=(80, 24)):
            return time.process_time() - cpu


async def _press(pilot: Any, keys: Sequence[str]) -> Timing:
    spent, cpu = [], time.process_time()
    for key in keys:
        began = time.perf_counter()
        await pilot.press("space" if key == " " else key)
        spent.append(time.perf_counter() - began)
    name = keys[0] if len(set(keys)) == 1 else "typing " + "".join(k for k in keys if len(k) == 1)
    return Timing(name, statistics.median(spent), max(spent), (time.process_time() - cpu) / len(spent), len(spent))


def _from_start(settings: Settings) -> tuple[float, float]:
    """Seconds from starting the command in a terminal of its own to the first screen; the processor's, to its end."""
    began = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.environ.update(TERM="xterm-256color", COLUMNS="80", LINES="24")
        os.chdir(ROOT)
        os.execv(sys.executable, [sys.executable, "-m", "intake", "--shop", str(settings.shop), "review"])
    seen = b""
    while b"to settle" not in seen and time.perf_counter() - began < 60:
        if select.select([terminal], [], [], 1.0)[0]:
            seen += os.read(terminal, 65536)
    spent = time.perf_counter() - began
    os.write(terminal, b"\x11")                        # Ctrl+Q
    _drain(terminal)
    used = os.wait4(pid, 0)[2]
    return round(spent, 2), round(used.ru_utime + used.ru_stime, 2)


def _drain(terminal: int) -> None:
    try:
        while os.read(terminal, 65536):
            pass
    except OSError:                                    # the terminal is gone with the program
        os.close(terminal)


if __name__ == "__main__":
    main()
