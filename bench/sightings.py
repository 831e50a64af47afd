"""Measures how units are found again: random shops, a hearing that errs, and what is said sure, asked or new.

    python bench/sightings.py [--shops 300]

The rates of error below are assumptions, not measurements of a shop; they set `m` in
intake/matching/sightings.toml. The numbers printed stand in docs/photo-matching.md.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # runs from a checkout, installed or not

from intake.language.draft import UnitDraft, Value
from intake.matching.sightings import find_earlier
from intake.matching.types import KnownUnit

TYPES = ("turntable", "CD player", "integrated amplifier", "power amplifier", "receiver", "tuner", "loudspeaker",
         "cassette deck", "preamplifier", "DAC")
SERIAL_UNSPOKEN, SERIAL_MISHEARD, MODEL_MISHEARD, MODEL_BLANK = 0.3, 0.03, 0.06, 0.05
MAKER_MISHEARD, MAKER_BLANK, TYPE_WRONG, MOVED, HINT, HINT_ASTRAY = 0.04, 0.05, 0.03, 0.38, 0.35, 0.01


def shop(rng: np.random.Generator) -> list[KnownUnit]:
    """Units of a shop: some makers are common, one unit in ten is the second of its model, a third have no serial."""
    makers = ["".join(rng.choice(list("abdefgklmnoprstuvw"), 7)).title() for _ in range(40)]
    often = 1 / np.arange(1, 41)
    units: list[KnownUnit] = []
    for i in range(int(rng.integers(15, 250))):
        if units and rng.random() < 0.1:
            twin = units[int(rng.integers(0, len(units)))]
            units.append(replace(twin, id=f"U{i}", serial=_serial(rng), location=_place(rng)))
            continue
        model = f"{''.join(rng.choice(list('ABCDMPRSTX'), 2))}-{rng.integers(10, 999)}"
        units.append(KnownUnit(f"U{i}", str(rng.choice(makers, p=often / often.sum())), model, _serial(rng),
                               str(rng.choice(TYPES)), _place(rng), quantity=1))
    return units


def _serial(rng: np.random.Generator) -> str | None:
    return str(rng.integers(1000, 99999)) if rng.random() < 0.65 else None


def _place(rng: np.random.Generator) -> str:
    return f"shelf {rng.choice(list('ABCD'))}{rng.integers(1, 5)}"


def heard(rng: np.random.Generator, unit: KnownUnit, name: str, *, again: bool) -> UnitDraft:
    """A unit as a walk has it."""
    found: dict[str, str | int | None] = {
        "maker": unit.maker, "model": unit.model, "serial": unit.serial, "unit_type": unit.unit_type,
        "location": _place(rng) if again and rng.random() < MOVED else unit.location, "quantity": 1}
    if rng.random() < SERIAL_UNSPOKEN:
        found["serial"] = None
    elif unit.serial and rng.random() < SERIAL_MISHEARD:
        found["serial"] = _garble(rng, unit.serial)
    if unit.model and rng.random() < MODEL_MISHEARD:
        found["model"] = _garble(rng, unit.model)
    found["model"] = None if rng.random() < MODEL_BLANK else found["model"]
    if unit.maker and rng.random() < MAKER_MISHEARD:
        found["maker"] = _garble(rng, unit.maker)
    found["maker"] = None if rng.random() < MAKER_BLANK else found["maker"]
    if rng.random() < TYPE_WRONG:
        found["unit_type"] = str(rng.choice(TYPES))
    hint = "the same one as last time" if rng.random() < (HINT if again else HINT_ASTRAY) else None
    return UnitDraft(name, {k: Value(v) for k, v in found.items() if v is not None}, same_as_hint=hint)


def _garble(rng: np.random.Generator, text: str) -> str:
    i = int(rng.integers(0, len(text)))
    pool = "0123456789" if text[i].isdigit() else "abcdefghklmnoprstuvw"
    return text[:i] + str(rng.choice(list(pool))) + text[i + 1:]


def measure(shops: int) -> Counter[str]:
    """Count verdicts against the truth."""
    count: Counter[str] = Counter()
    for seed in range(shops):
        rng = np.random.default_rng(seed)
        units = shop(rng)
        order = rng.permutation(len(units))
        filed = len(units) * 3 // 4
        on_file, fresh = [units[i] for i in order[:filed]], [units[i] for i in order[filed:]]
        back = [on_file[i] for i in rng.permutation(len(on_file))[:6]]
        drafts = [heard(rng, u, f"u{i}", again=True) for i, u in enumerate(back)]
        drafts += [heard(rng, u, f"u{i + 6}", again=False) for i, u in enumerate(fresh[:6])]
        found = find_earlier(drafts, on_file)
        for i, d in enumerate(drafts):
            true = back[i].id if i < len(back) else None
            s = found[d.id]
            offered = true in [c.known for c in s.candidates]
            outcome = {"sure": "sure right" if s.known == true else "sure wrong",
                       "ask": "asked, offered" if offered else "asked, in vain", "new": "new"}[s.verdict]
            count[("again: " if true else "first: ") + outcome] += 1
    return count


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--shops", type=int, default=300)
    count = measure(parser.parse_args().shops)
    for kind in ("again", "first"):
        total = sum(n for key, n in count.items() if key.startswith(kind))
        print(kind, total, {key.split(": ")[1]: f"{n} ({100 * n / total:.1f}%)"
                            for key, n in sorted(count.items()) if key.startswith(kind)})


if __name__ == "__main__":
    main()
