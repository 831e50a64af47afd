"""What a recognizer writes for names it does not know: counted, and how well the search finds the names again.

    python bench/confusions.py count      # bench/heard-names.tsv (rows "learn") -> vocab/confusions.tsv
    python bench/confusions.py check      # accuracy on the rows "check", which no cost was learned from
    python bench/confusions.py hear MODEL OUT [--seed N] [--names N]   # speak and decode new names into rows

All names are invented by bench/sounds.py. They were spoken within everyday sentences by free
synthesizer voices (flite's rms, slt and awb; espeak-ng American and British; the CC0 piper voice
joe), with noise at 20 to 35 dB, and decoded by the `base` weights without any hint. What stood where
the name was said is the heard text; sentences whose frame did not come out (about one in eight) are
left out, so the rows are somewhat easier than life. The rows on file were spoken six sentences to a
recording and decoded in batches; "check" holds other names than "learn", but the same voices, and far
more of rms and slt than of the others. `hear` speaks one sentence at a time, without joe; it needs
flite, espeak-ng and ffmpeg on the PATH.
"""

from __future__ import annotations

import argparse
import csv
import itertools
import subprocess
import sys
import tempfile
from collections import defaultdict
from difflib import SequenceMatcher
from pathlib import Path
from typing import Any

import numpy as np

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(ROOT / "bench"))
ROWS = ROOT / "bench" / "heard-names.tsv"
COUNTS = ROOT / "vocab" / "confusions.tsv"
TOO_FAR = .6             # a text this unlike its name is a decoding that went elsewhere: nothing to learn from
ROUNDS = 3
DECOYS = 800
FRAMES = (
    ("And here's a", "integrated amplifier."), ("Next to it is the", "turntable."),
    ("The", "receiver needs a new lamp."), ("Then a pair of speakers, the name is", "and they are good."),
    ("Okay, so this is a", "power amp."), ("Beside that, the big", "cassette deck."),
    ("We took in a", "preamp on trade."),
)
HEADER = """# Which sounds stood for which in what a recognizer wrote for invented names, either way round; - is none.
# Made by bench/confusions.py count from bench/heard-names.tsv; sounds as in intake/vocabulary/pronounce.py.
"""
Pairs = list[tuple[str, str]]


def rows(which: str) -> list[dict[str, str]]:
    """The rows of one set."""
    with ROWS.open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file, delimiter="\t") if row["set"] == which]


# ---------------------------------------------------------------- counting

def align(heard: list[int], name: list[int], swap: Any, indel: Any) -> tuple[float, Pairs]:
    """The cheapest alignment: its cost over the mean weight, and which code stands for which (0: none)."""
    cost = np.zeros((len(heard) + 1, len(name) + 1))
    cost[1:, 0] = np.cumsum(indel[heard])
    cost[0, 1:] = np.cumsum(indel[name])
    for i, j in itertools.product(range(1, len(heard) + 1), range(1, len(name) + 1)):
        cost[i, j] = min(cost[i - 1, j - 1] + swap[heard[i - 1], name[j - 1]], cost[i - 1, j] + indel[heard[i - 1]],
                         cost[i, j - 1] + indel[name[j - 1]])
    pairs: Any = []
    i, j = len(heard), len(name)
    while i or j:
        if i and j and np.isclose(cost[i, j], cost[i - 1, j - 1] + swap[heard[i - 1], name[j - 1]]):
            i, j = i - 1, j - 1
            pairs.append((heard[i], name[j]))
        elif i and np.isclose(cost[i, j], cost[i - 1, j] + indel[heard[i - 1]]):
            i -= 1
            pairs.append((heard[i], 0))
        else:
            j -= 1
            pairs.append((0, name[j]))
    return float(cost[-1, -1] / ((indel[heard].sum() + indel[name].sum()) / 2)), pairs


def count() -> None:
    """Align, count, shift the costs, and again; write the last counts."""
    from intake.vocabulary.likeness import SOUNDS, encode, feature_costs, learned_costs
    from intake.vocabulary.pronounce import variants

    runs = [([encode(v) for v in variants(r["heard"])], [encode(v) for v in variants(r["name"])[:3]])
            for r in rows("learn") if not any(c.isdigit() for c in r["heard"])]
    swap, indel = feature_costs()
    for _ in range(ROUNDS):
        counts = np.zeros_like(swap)
        used = 0
        for heard, names in runs:
            far, pairs = min((align(h, n, swap, indel) for h in heard for n in names), key=lambda found: found[0])
            if far < TOO_FAR:
                used += 1
                for a, b in pairs:
                    counts[a, b] += 1
                    counts[b, a] += a != b
        swap, indel = learned_costs(counts)
    shown = ["-", *SOUNDS]
    lines = [f"{shown[a]}\t{shown[b]}\t{int(counts[a, b])}" for a in range(len(shown)) for b in range(a, len(shown))
             if counts[a, b]]
    COUNTS.write_text(HEADER + "\n".join(lines) + "\n", encoding="utf-8")
    print(f"{used} of {len(runs)} heard names counted, {len(lines)} pairs of sounds -> {COUNTS.relative_to(ROOT)}")


# ---------------------------------------------------------------- checking

def check() -> None:
    """First place, first three, and how much can be taken at which precision, by voice."""
    from intake.vocabulary.sounds import SoundIndex
    from sounds import invented_names

    asked = rows("check")
    names = sorted({row["name"] for row in rows("learn") + asked})
    decoys = [name for name in itertools.islice(invented_names(4), DECOYS) if name not in names]
    index = SoundIndex([("maker", name, "") for name in [*names, *decoys]])
    found = defaultdict(list)
    for row in asked:
        answer = index.search(row["heard"], limit=5)
        place = next((n for n, c in enumerate(answer) if c.canonical == row["name"]), 99)
        margin = answer[0].score - answer[1].score if len(answer) > 1 else 0.0
        for key in (row["voice"], "all"):
            found[key].append((place, answer[0].score if answer else 0.0, margin))
    print(f"{len(index)} names in the index; {len(asked)} heard names")
    print(f"{'voice':12} {'n':>5} {'first':>6} {'first 3':>8}   answered, and right of these (score .8, margin .05)")
    for voice, results in found.items():
        sure = [place == 0 for place, score, margin in results if score >= .8 and margin >= .05]
        first, three = (np.mean([place < most for place, _, _ in results]) for most in (1, 3))
        print(f"{voice:12} {len(results):>5} {first:>6.0%} {three:>8.0%}   {len(sure) / len(results):.0%}, "
              f"{np.mean(sure or [0]):.1%}")


# ---------------------------------------------------------------- hearing

def between(heard: list[str], before: str, after: str) -> str | None:
    """The words between the frame's two parts, or None where the frame is not to be found."""
    plain = ["".join(c for c in w.lower() if c.isalnum() or c == "'") for w in heard]
    first = "".join(c for c in before.lower() if c.isalnum() or c in " '")
    last = "".join(c for c in after.lower() if c.isalnum() or c in " '")
    best: tuple[float, int, int] = (0.0, 0, 0)
    for start, end in itertools.combinations(range(len(plain) + 1), 2):
        if end - start <= 6:
            likes = [SequenceMatcher(None, " ".join(words), text).ratio()
                     for words, text in ((plain[:start], first), (plain[end:], last))]
            if min(likes) > .75:
                best = max(best, (sum(likes), start, end))
    return " ".join(heard[best[1]:best[2]]) if best[0] else None


def speak(text: str, voice: str, folder: Path) -> Any:
    """Samples at 16 kHz."""
    raw, out = folder / "raw.wav", folder / "out.wav"
    command = (["espeak-ng", "-v", voice.removeprefix("espeak-"), "-w", str(raw), text] if voice.startswith("espeak")
               else ["flite", "-voice", voice, "-t", text, "-o", str(raw)])
    subprocess.run(command, check=True, capture_output=True)
    subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", str(raw), "-ar", "16000", "-ac", "1", str(out)], check=True)
    import wave

    with wave.open(str(out)) as sound:
        return np.frombuffer(sound.readframes(sound.getnframes()), np.int16).astype(np.float32) / 32768


def hear(model: str, out: Path, seed: int, names: int) -> None:
    """Speak invented names, decode them, and write the rows."""
    from faster_whisper import WhisperModel

    from sounds import invented_names

    recognizer = WhisperModel(model, device="cpu", compute_type="int8")
    dice = np.random.default_rng(seed)
    with out.open("w", encoding="utf-8", newline="") as file, tempfile.TemporaryDirectory() as folder:
        writer = csv.writer(file, delimiter="\t", lineterminator="\n")
        for name in itertools.islice(invented_names(seed), names):
            for voice in ("rms", "slt", "awb", "espeak-en-us", "espeak-en-gb"):
                before, after = FRAMES[dice.integers(len(FRAMES))]
                sound = speak(f"{before} {name} {after}", voice, Path(folder))
                noise = dice.normal(0, np.sqrt(np.mean(sound ** 2)) * 10 ** (-dice.choice([20, 25, 35]) / 20),
                                    len(sound))
                segments, _ = recognizer.transcribe((sound + noise).astype(np.float32), language="en", beam_size=5,
                                                    condition_on_previous_text=False)
                heard = between(" ".join(s.text for s in segments).split(), before, after)
                if heard:
                    writer.writerow(["new", voice, name, heard])


def main() -> int:
    """Do what was asked."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parts = parser.add_subparsers(dest="what", required=True)
    parts.add_parser("count")
    parts.add_parser("check")
    hearing = parts.add_parser("hear")
    hearing.add_argument("model")
    hearing.add_argument("out", type=Path)
    hearing.add_argument("--seed", type=int, default=1234)
    hearing.add_argument("--names", type=int, default=50)
    args = parser.parse_args()
    if args.what == "hear":
        hear(args.model, args.out, args.seed, args.names)
    else:
        {"count": count, "check": check}[args.what]()
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
