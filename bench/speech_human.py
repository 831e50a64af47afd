"""Word error rate on human speech, plain and final, by the declared normalization of words.py (jiwer aligns).

    python bench/speech_human.py [DATA_FOLDER] [--shop-root DIR] [--model NAME] [--errors]

The data folder holds transcripts.tsv (file TAB reference), by default ../shared/data/speech beside
the checkout. The final decoding uses the trade's vocabulary and, as decoys, that of an example
walk: none of its names is spoken here, so each name taken is an error. In the sets of spelled letters and
digits every letter and digit is a word of its own.
"""

from __future__ import annotations

import argparse
import csv
import hashlib
import sys
import tempfile
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from hearing import make_shop
from intake.capture.walk import Recording
from intake.settings import Settings
from intake.speech.hear import load_recognizer, read_plain, transcribe
from words import Counts, normalize, split_errors

HERE = Path(__file__).resolve().parent
SPELLED = ("an4", "fsdd", "digits")     # letters and digits said one by one: each counts
SHARED = HERE.parent.parent / "shared"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("data", nargs="?", type=Path, default=SHARED / "data" / "speech")
    parser.add_argument("--decoys", type=Path, default=SHARED / "walks" / "built" / "2026-01-20-returns-and-repairs")
    parser.add_argument("--shop-root", type=Path)
    parser.add_argument("--model", default="base")
    parser.add_argument("--errors", action="store_true")
    args = parser.parse_args()
    plain: dict[str, Counts] = defaultdict(Counts)
    final: dict[str, Counts] = defaultdict(Counts)
    taken: list[str] = []
    with tempfile.TemporaryDirectory() as temporary:
        shop = (args.shop_root or Path(temporary)) / "human"
        vocabulary = make_shop(args.decoys, shop)
        settings = Settings(shop=shop, model=args.model)
        with (args.data / "transcripts.tsv").open(encoding="utf-8", newline="") as file:
            for line in csv.DictReader(file, delimiter="\t"):
                path = args.data / line["file"]
                recording = Recording(path=path, name=path.name, sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
                                      kind=path.suffix[1:])
                after = transcribe(recording, settings, vocabulary, recognizer=load_recognizer(settings))
                before = read_plain(recording, settings) or after
                group = line["file"].split("/")[0]
                spoken = " ".join(t if len(t) == 1 else t.lower() for t in line["reference"].split())
                reference = normalize(spoken, spelled=group in SPELLED)     # AN4 writes all in capitals
                for counts, transcript in ((plain, before), (final, after)):
                    heard = normalize(" ".join(w.text for w in transcript.words()), spelled=group in SPELLED)
                    _, found = split_errors(reference, heard, (), frozenset())
                    counts[group].add(found)
                taken += [f"{w.heard} -> {w.text}" for w in after.words() if w.heard]
    print(f"{'set':<12} {'words':>6} {'plain':>8} {'final':>8}")
    for group in plain:
        print(f"{group:<12} {plain[group].words:>6} {plain[group].rate:>8.2%} {final[group].rate:>8.2%}")
        for reference, heard in plain[group].wrong if args.errors else []:
            print(f"    {reference or '-'} heard as {heard or '-'}")
    words = sum(c.words for c in plain.values())
    print(f"{'all':<12} {words:>6} {sum(c.errors for c in plain.values()) / words:>8.2%} "
          f"{sum(c.errors for c in final.values()) / words:>8.2%}")
    print(f"names taken: {taken or 'none'}")


if __name__ == "__main__":
    main()
