"""How the sound-alike index grows and how fast it answers, at 1,000 to 200,000 invented names.

    python bench/sounds.py [--sizes 1000,10000,50000,200000] [--spans 300] [--models 4]

Every name and every mishearing here is made up by the generators below; the same seed gives the
same names. Times are processor time of one thread; `growth` is the ratio to the row above, to be compared with the
ratio of the sizes.
"""

from __future__ import annotations

import argparse
import random
import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from statistics import mean, quantiles

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # runs from a checkout, installed or not

def _listed(text: str) -> tuple[str, ...]:
    return tuple(text.split())


HEADS = _listed("""
    Ab Ald Amb Ash Bar Bel Ber Blen Bor Bram Bren Brim Bux Cald Car Cas Chal Cler Clif Col Crom Dal Dar Dor
    Drum Dun Ed El Em Ems Fal Far Fen Fin Gar Gil Glen Gor Gran Grim Hal Ham Hax Hel Hol Hux Ing Jas Kel
    Kil Kings Kir Lam Lang Lar Lox Lyn Mal Man Mel Mer Mil Mor Nar Nes Nor Oak Od Or Ox Pem Pen Per Pol Quar
    Quen Ram Red Rin Ros Rud Sal San Sel Sid Sten Strat Sud Tal Tam Tel Tol Tren Tur Ul Vel Ver Wal War Web
    Wel Win Wol Wren Yar Yel Zan
""")
MIDDLES = _listed("""
    a an ar e el en er i il in ing o on or ster ter der ver by
""")
TAILS = _listed("""
    ack ard aston aven bank beck berg bourne brand bridge brook burn bury by by chester cliffe cote croft
    dale den dine dorf ell erby field fleet ford gate grave grove ham hart haven holm hurst idge ing kirk
    lake land leigh ley lock low man mark mead mere mont more mount mouth ner nell ney os ova pool port rell
    ridge rook sby sett shaw side sley son stead sted sten stock stone ston stow strom tham thorpe ton tor
    vale vane ville von wall ware way well wick win wood worth yard
""")
LETTERS = "ABCDEFGHJKLMNPQRSTUVWXZ"


def invented_names(seed: int = 1) -> Iterator[str]:
    """Invented makers' names without end and without repeats, English in build."""
    dice = random.Random(seed)
    seen: set[str] = set()
    while True:
        middle = dice.choice(MIDDLES) if dice.random() < .45 else ""
        name = dice.choice(HEADS) + middle + dice.choice(TAILS)
        if dice.random() < .12:
            name = f"{name} {dice.choice(HEADS)}{dice.choice(TAILS)}"
        if name not in seen:
            seen.add(name)
            yield name


def invented_model(dice: random.Random) -> str:
    """An invented model: letters and digits, sometimes with a mark."""
    letters = "".join(dice.choice(LETTERS) for _ in range(dice.randint(1, 2)))
    digits = str(dice.choice((dice.randint(2, 99), dice.randint(100, 999), dice.randint(1000, 9999))))
    return f"{letters}-{digits}" + (f" Mk {dice.choice(('II', 'III'))}" if dice.random() < .1 else "")


def vocabulary_of(size: int, seed: int = 1, models: int = 4) -> list[tuple[str, str, str]]:
    """`size` names: one maker to each `models` models."""
    dice = random.Random(seed)
    makers = invented_names(seed)
    names: list[tuple[str, str, str]] = []
    while len(names) < size:
        maker = next(makers)
        names.append(("maker", maker, ""))
        names += [("model", invented_model(dice), maker) for _ in range(models)]
    return names[:size]


def misheard(name: str, dice: random.Random) -> str:
    """The name as a poor recognizer might write it: a vowel changed, a consonant softened, sometimes split."""
    letters = list(name)
    for at, letter in enumerate(letters):
        if letter in "aeiou" and dice.random() < .25:
            letters[at] = dice.choice("aeiou")
        elif dice.random() < .1:
            letters[at] = {"b": "p", "d": "t", "g": "k", "v": "f", "m": "n", "s": "z", "l": "r"}.get(letter, letter)
    text = "".join(letters)
    if dice.random() < .3 and len(text) > 6 and " " not in text:
        at = dice.randint(3, len(text) - 3)
        text = text[:at] + " " + text[at:]
    return text


def measure(size: int, spans: int, models: int) -> dict[str, float]:
    """Build, load and ask an index of `size` names; times in milliseconds, memory in MB."""
    from intake.vocabulary.sounds import SoundIndex

    dice = random.Random(7)
    names = vocabulary_of(size, models=models)
    with tempfile.TemporaryDirectory() as folder:
        begun = time.thread_time()
        SoundIndex(names, cache=Path(folder))
        built = time.thread_time()
        index = SoundIndex(names, cache=Path(folder))
        loaded = time.thread_time()
        stored = sum(path.stat().st_size for path in Path(folder).iterdir()) / 1e6
    index.search("warming up")  # the first search reads the costs and loads the libraries
    asked = dice.sample(names, min(spans, len(names)))
    heard = [(name, misheard(name[1], dice) if name[0] == "maker" else name[1].replace("-", " ")) for name in asked]
    took, found, makers = [], 0, 0
    for (kind, canonical, _), text in heard:
        start = time.thread_time()
        answer = index.search(text, kinds=frozenset({"maker", "model"}))
        took.append((time.thread_time() - start) * 1000)
        if kind == "maker":
            makers += 1
            found += bool(answer) and answer[0].canonical == canonical
    return {"names": size, "build_ms": (built - begun) * 1000, "load_ms": (loaded - built) * 1000,
            "stored_mb": stored,
            "mean_ms": mean(took), "p95_ms": quantiles(took, n=20)[-1], "worst_ms": max(took),
            "top1": found / max(1, makers)}


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sizes", default="1000,10000,50000,200000")
    parser.add_argument("--spans", type=int, default=300)
    parser.add_argument("--models", type=int, default=4, help="models to each maker; 0: makers alone, the slowest case")
    args = parser.parse_args()
    print(f"{'names':>8} {'growth':>7} {'build ms':>9} {'growth':>7} {'load ms':>8} {'MB':>6} {'mean ms':>8} "
          f"{'growth':>7} {'p95 ms':>7} {'worst':>7} {'misheard makers first':>22}")
    before: dict[str, float] = {}
    for size in (int(s) for s in args.sizes.split(",")):
        row = measure(size, args.spans, args.models)
        ratio = {key: f"x{row[key] / before[key]:.1f}" if before else "" for key in ("names", "build_ms", "mean_ms")}
        print(f"{size:>8} {ratio['names']:>7} {row['build_ms']:>9.0f} {ratio['build_ms']:>7} {row['load_ms']:>8.0f} "
              f"{row['stored_mb']:>6.1f} {row['mean_ms']:>8.2f} {ratio['mean_ms']:>7} {row['p95_ms']:>7.2f} "
              f"{row['worst_ms']:>7.2f} {row['top1']:>22.0%}", flush=True)
        before = row
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"largest memory {memory:.0f} MB; Python {sys.version.split()[0]}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
