"""Run as a program: reviews a shop by keys in children that are killed at random moments, and checks the records.

    python -m tests.review.killing SHOP KILLS SEED

Each child says what it is about to press and, once the screen has shown it as done, that it is. What was said to be
done must be in the records after the kill. Prints a JSON line with what was lost; the children are forked, so that
a hundred kills cost seconds and not minutes.
"""

from __future__ import annotations

import asyncio
import json
import os
import random
import select
import signal
import sys
from pathlib import Path
from typing import Any

from intake.records.store import Store
from intake.review.desk import Desk
from intake.review.screen import ReviewApp
from intake.settings import Settings, load_settings

TYPED = {"maker": "haldwick", "model": "hv-46", "serial": "z9z9", "unit_type": "tuner", "stage": "testing",
         "location": "bay 7", "cosmetic": "fair"}


def child(settings: Settings, out: int, rng: random.Random) -> None:
    """Answer question after question until killed."""
    def say(**what: Any) -> None:
        os.write(out, (json.dumps(what) + "\n").encode())

    async def go() -> None:
        with Store.open(settings.database) as store:
            desk = Desk(store, settings, "ann")
            async with ReviewApp(desk, colours=False).run_test(size=(80, 24)) as pilot:
                while desk.head is not None and desk.row is not None:
                    row = desk.row
                    keys, wanted = _answer(row, rng)
                    say(begin=[row.about, row.name], value=wanted, old=row.value)
                    await pilot.press(*keys)
                    if desk.row is row:
                        raise SystemExit(f"not answered: {desk.said}")
                    say(done=[row.about, row.name], value=wanted)
        say(end=True)

    asyncio.run(go())


def _answer(row: Any, rng: random.Random) -> tuple[list[str], Any]:
    if rng.random() < 0.6 or row.field not in TYPED:
        return ["space"], row.value
    if rng.random() < 0.2:
        return ["backspace"], None
    text = TYPED[row.field]
    meant = {"maker": "Haldwick", "model": "HV-46", "serial": "Z9Z9"}.get(row.field, text)
    return [*text, "enter"], meant


def kill_one(settings: Settings, rng: random.Random) -> tuple[dict[tuple[str, str], Any], Any, bool]:
    """Run a child, kill it at a random moment; what it said was done, what was on its way, whether it had ended."""
    read, write = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(read)
        try:
            child(settings, write, rng)
        finally:
            os._exit(0)
    os.close(write)
    lines, rest, ended = _listen(read, rng.randint(1, 14), rng.random() * 0.05, b"")
    os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
    while piece := os.read(read, 65536):
        rest += piece
    os.close(read)
    lines += [json.loads(line) for line in rest.split(b"\n")[:-1]]
    done = {tuple(line["done"]): line["value"] for line in lines if "done" in line}
    last = lines[-1] if lines and "begin" in lines[-1] else None
    return done, last, ended or any("end" in line for line in lines)


def _listen(read: int, wanted: int, then_s: float, rest: bytes) -> tuple[list[dict[str, Any]], bytes, bool]:
    """So many lines of the child, and a moment more."""
    lines: list[dict[str, Any]] = []
    while len(lines) < wanted:
        piece = os.read(read, 65536)
        if not piece:
            return lines, rest, True
        *whole, rest = (rest + piece).split(b"\n")
        lines += [json.loads(line) for line in whole]
    select.select([], [], [], then_s)
    return lines, rest, False


def main(shop: str, kills: int, seed: int) -> None:
    """Kill, look, and go on."""
    settings, rng = load_settings(Path(shop)), random.Random(seed)
    lost, kept, sure = [], 0, {}
    for number in range(kills):
        done, last, ended = kill_one(settings, random.Random(rng.random()))
        sure |= done
        if last is not None:
            sure.pop(tuple(last["begin"]), None)
        with Store.open(settings.database) as store:
            for (about, name), value in sure.items():
                held = store.sighting(about).scalars.get(name)
                if held is None or held.state == "open" or held.value != value:
                    lost.append([number, about, name, value, held.value if held else None])
            kept = len(sure)
            left = sum(store.count_questions().values())
        if ended or not left:
            kills = number + 1
            break
    print(json.dumps({"kills": kills, "answers": kept, "lost": lost, "left": left}))


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), int(sys.argv[3]))
