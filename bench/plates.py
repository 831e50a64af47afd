"""How well plates are read: drawn photos with known truth, as tables for docs/plates.md.

    python bench/plates.py --count 60 --seed 5000 --fonts held --keep FOLDER

Needs the plates extra. `--keep` leaves the pictures and the readings in a folder, where they are taken up again.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from tempfile import TemporaryDirectory

from intake.capture.plates import PlateLine, read_plates
from intake.capture.walk import Photo
from intake.matching.plates import PlateReading, read_fields
from intake.vocabulary.terms import name_key
from plate_pictures import HELD_FONTS, TRY_FONTS, Sheet, draw, fonts, vocabulary

FIELDS = ("maker", "model", "serial", "line_voltage")
# How many of each kind for one of `--count`; plates count fully.
SHARES = {"plate": 1.0, "far": 0.15, "rear": 0.2, "front": 0.25, "box": 0.2, "tag": 0.2, "plain": 0.2}


@dataclass
class Tally:
    """What came of one field on one kind of picture."""

    there: int = 0
    right: int = 0
    wrong: int = 0
    offered: int = 0


@dataclass
class Result:
    """All tallies, by kind and field; the wrong readings in words; time for each photo."""

    tallies: dict[tuple[str, str], Tally] = field(default_factory=lambda: defaultdict(Tally))
    pictures: Counter[str] = field(default_factory=Counter)
    false_offers: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    cpu: float = 0.0


def sheets(count: int, seed: int, names: tuple[str, ...]) -> Iterator[Sheet]:
    """The pictures of a run, kind by kind."""
    faces = fonts(names)
    if not faces:
        sys.exit(f"None of these fonts is on this machine: {', '.join(names)}")
    print(f"fonts: {', '.join(face.stem for face in faces)}", file=sys.stderr)
    for kind, share in SHARES.items():
        for n in range(max(1, round(count * share))):
            yield draw(seed + n, kind, faces)


def run(count: int, seed: int, names: tuple[str, ...], folder: Path, workers: int | None) -> Result:
    """Draw, read and judge; pictures and readings go to `folder`."""
    result, words = Result(), vocabulary()
    for sheet in sheets(count, seed, names):
        path = folder / f"{sheet.name}{sheet.suffix}"
        path.write_bytes(sheet.photo)
        photo = Photo(path, path.name, hashlib.sha256(sheet.photo).hexdigest(), sheet.suffix[1:])
        start = time.process_time()
        read = read_plates([photo], folder / "read", workers=workers)
        if read.missing:
            sys.exit(read.missing)
        if photo.sha256 in read.seconds:
            result.seconds.append(read.seconds[photo.sha256])
            result.cpu += time.process_time() - start
        lines = read.lines.get(photo.sha256, ())
        judge(result, sheet, read_fields(lines, words), lines)
    return result


def judge(result: Result, sheet: Sheet, reading: PlateReading, lines: tuple[PlateLine, ...]) -> None:
    """Count one picture: right, wrong (another value, or one that is not there), offered, missed."""
    result.pictures[sheet.kind] += 1
    for name in FIELDS:
        tally, wanted, got = result.tallies[sheet.kind, name], sheet.truth.get(name), getattr(reading, name)
        offers = [r.value for r in reading.candidates if r.field == name]
        tally.there += wanted is not None
        if got is not None and wanted is not None and same(name, got.value, wanted):
            tally.right += 1
        elif got is not None:
            tally.wrong += 1
            result.wrong.append(
                f"{sheet.name}: {name} read {got.value!r} ({got.how}) from {got.words!r}; it says {wanted!r}"
            )
        elif wanted is not None and any(same(name, offer, wanted) for offer in offers):
            tally.offered += 1
        if wanted is None and offers:
            result.false_offers[name] += 1


def same(name: str, read: str, wanted: str) -> bool:
    """Makers and models by letters and digits, serials and voltages exactly."""
    return name_key(read) == name_key(wanted) if name in ("maker", "model") else read == wanted


def table(result: Result) -> str:
    """The tallies as Markdown."""
    out = [
        "| pictures | field | on the picture | read | offered, flagged | wrong | precision | recall |",
        "| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for (kind, name), t in result.tallies.items():
        if t.there or t.wrong:
            out.append(
                f"| {kind} ({result.pictures[kind]}) | {name.replace('_', ' ')} "
                f"| {t.there} | {t.right} | {t.offered} | {t.wrong} | "
                f"{_share(t.right, t.right + t.wrong)} | {_share(t.right, t.there)} |"
            )
    for name in FIELDS:
        all_ = [t for (_, other), t in result.tallies.items() if other == name]
        there, right, wrong = sum(t.there for t in all_), sum(t.right for t in all_), sum(t.wrong for t in all_)
        out.append(
            f"| all ({result.pictures.total()}) | **{name.replace('_', ' ')}** "
            f"| {there} | {right} | {sum(t.offered for t in all_)} | "
            f"{wrong} | **{_share(right, right + wrong)}** | {_share(right, there)} |"
        )
    return "\n".join(out)


def _share(part: int, whole: int) -> str:
    return f"{part / whole:.3f}" if whole else ""


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=60, help="plates to draw; other pictures in proportion")
    parser.add_argument("--seed", type=int, default=5000)
    parser.add_argument(
        "--fonts", choices=("try", "held"), default="held", help="the faces that rules were tried on, or the others"
    )
    parser.add_argument("--keep", type=Path, help="folder for pictures and readings")
    parser.add_argument("--workers", type=int, default=None)
    given = parser.parse_args()
    names = TRY_FONTS if given.fonts == "try" else HELD_FONTS
    with TemporaryDirectory() as scratch:
        folder = given.keep or Path(scratch)
        folder.mkdir(parents=True, exist_ok=True)
        result = run(given.count, given.seed, names, folder, given.workers)
    print(table(result))
    negatives = sum(result.pictures[kind] for kind in ("rear", "front", "box", "tag", "plain"))
    invented = sum(
        t.wrong for (kind, name), t in result.tallies.items() if name == "serial" and kind not in ("plate", "far")
    )
    print(
        f"\nSerials invented on {negatives} pictures without one: {invented}. "
        f"False offers (flagged): {dict(result.false_offers)}."
    )
    if result.seconds:
        print(
            f"A photo took {sorted(result.seconds)[len(result.seconds) // 2]:.2f} s (median), "
            f"{max(result.seconds):.2f} s at most, "
            f"{result.cpu / len(result.seconds):.2f} s of processor time on average; {os.cpu_count()} processors."
        )
    print("\n".join(["", *result.wrong]))


if __name__ == "__main__":
    main()
