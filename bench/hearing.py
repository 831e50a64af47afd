"""How well the names come out: word errors on vocabulary words and on all others, plain against final, per walk.

    python bench/hearing.py [BUILT_WALK ...] [--shop-root DIR] [--model NAME] [--blind] [--errors] [--json FILE]

For each built walk (truth.json, vocabulary.json, capture/) the recordings are decoded as `intake
process` does, with the walk's vocabulary as the shop's. Both decodings, the plain one and the
final one, are compared with what the script says, by the declared normalization of words.py.
Prints a table with a row for each walk and voice, then for each voice, then for all; --blind prints
the last row only, and no word, for walks that nobody looks into. With --shop-root the decodings are
kept there and used again; they do not know when the program has changed.

Vocabulary words are the reference words that belong to a maker or model of the walk's vocabulary,
to a tube type, or to a spoken form of a part. "invented" counts the words of the final text that
neither the script nor the plain decoding of that recording has; "misplaced" counts terms put into
the text where the script has another word.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from intake.capture.walk import Recording
from intake.settings import Settings
from intake.speech.hear import load_recognizer, read_plain, transcribe
from intake.speech.transcript import Transcript
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.shopfile import import_vocabulary
from intake.vocabulary.terms import Vocabulary
from words import Counts, alignment, normalize, split_errors

HERE = Path(__file__).resolve().parent
BUILT = (HERE.parent.parent / "shared" / "walks" / "built", HERE / "built")
LONGEST = 5


@dataclass
class Row:
    """The counts of one walk or of all."""

    name: str
    voice: str = ""
    plain_named: Counts = field(default_factory=Counts)
    final_named: Counts = field(default_factory=Counts)
    plain_other: Counts = field(default_factory=Counts)
    final_other: Counts = field(default_factory=Counts)
    invented: list[str] = field(default_factory=list)
    misplaced: list[str] = field(default_factory=list)
    taken: int = 0

    def add(self, other: Row) -> None:
        """Sum up."""
        for key in ("plain_named", "final_named", "plain_other", "final_other"):
            getattr(self, key).add(getattr(other, key))
        self.invented += other.invented
        self.misplaced += other.misplaced
        self.taken += other.taken


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("walks", nargs="*", type=Path)
    parser.add_argument("--shop-root", type=Path, help="keep the shop folders with their decodings here")
    parser.add_argument("--model", default="base")
    parser.add_argument("--blind", action="store_true", help="print totals only")
    parser.add_argument("--errors", action="store_true", help="list every vocabulary word that is still wrong")
    parser.add_argument("--json", type=Path)
    args = parser.parse_args()
    walks = args.walks or [p.parent for root in BUILT for p in sorted(root.glob("*/truth.json"))]
    print(HEAD, flush=True)
    rows: list[Row] = []
    with tempfile.TemporaryDirectory() as temporary:
        for walk in walks:
            found = measure(walk, (args.shop_root or Path(temporary)) / walk.name, args.model)
            rows += found
            for row in () if args.blind else found:
                print(line(row), flush=True)
    sums = [total("all", rows)] if args.blind else summed(rows)
    for row in sums:
        print(line(row))
    for row in rows if args.errors and not args.blind else ():
        for reference, heard in row.final_named.wrong:
            print(f"{row.name}: {reference or '-'} heard as {heard or '-'}")
        for text in (*row.invented, *row.misplaced):
            print(f"{row.name}: not said there: {text}")
    if args.json:
        shown = sums if args.blind else [*rows, *sums]
        args.json.write_text(json.dumps([figures(r) for r in shown], indent=1) + "\n", encoding="utf-8")


def measure(walk: Path, shop: Path, model: str) -> list[Row]:
    """Decode a walk's recordings and count, for each voice of the walk."""
    vocabulary = make_shop(walk, shop)
    settings = Settings(shop=shop, model=model)
    truth = json.loads((walk / "truth.json").read_text(encoding="utf-8"))
    names, parts = name_words(vocabulary), part_words(vocabulary)
    rows: dict[str, Row] = {}
    for said in truth["recordings"]:
        path = walk / "capture" / said["file"]
        recording = Recording(path=path, name=path.name, sha256=hashlib.sha256(path.read_bytes()).hexdigest(),
                              kind=path.suffix[1:])
        final = transcribe(recording, settings, vocabulary, recognizer=load_recognizer(settings))
        plain = read_plain(recording, settings)
        if plain is None:
            raise SystemExit(f"{path}: the plain decoding was not stored")
        row = rows.setdefault(said["voice"], Row(walk.name, said["voice"]))
        row.add(compare(said["reference"], plain, final, names, parts))
    return list(rows.values())


def summed(rows: Sequence[Row]) -> list[Row]:
    """A row for each voice, and one for all."""
    voices = sorted({row.voice for row in rows})
    return [*(total("all of a voice", [r for r in rows if r.voice == v], v) for v in voices), total("all", rows)]


def total(name: str, rows: Sequence[Row], voice: str = "") -> Row:
    """The sum of some rows."""
    whole = Row(name, voice)
    for row in rows:
        whole.add(row)
    return whole


def make_shop(walk: Path, shop: Path) -> Vocabulary:
    """A shop folder with the walk's vocabulary on file."""
    if not (shop / "vocab" / "makers.txt").exists():
        (shop / "vocab").mkdir(parents=True, exist_ok=True)
        import_vocabulary(walk / "vocabulary.json", shop / "vocab")
    return load_vocabulary(shop)


def name_words(vocabulary: Vocabulary) -> frozenset[tuple[str, ...]]:
    """The normalized token runs of makers, models and tube types, plurals and genitives too."""
    names = [*vocabulary.makers, *(m.name for m in vocabulary.models), *vocabulary.allowed.get("tube", ())]
    return frozenset(tuple(normalize(form)) for name in names for form in (name, f"{name}s", f"{name}'s"))


def part_words(vocabulary: Vocabulary) -> frozenset[tuple[str, ...]]:
    """The normalized token runs of all spoken forms of parts that mean nothing else."""
    return frozenset(tuple(normalize(p.words)) for p in vocabulary.phrases_of("part") if not p.ambiguous)


def marked(tokens: Sequence[str], names: frozenset[tuple[str, ...]]) -> Iterator[int]:
    """Which tokens belong to a vocabulary word."""
    for start in range(len(tokens)):
        for end in range(start + 1, min(start + LONGEST, len(tokens)) + 1):
            if tuple(tokens[start:end]) in names and not all(t.isdigit() for t in tokens[start:end]):
                yield from range(start, end)


def compare(script: str, plain: Transcript, final: Transcript, names: frozenset[tuple[str, ...]],
            parts: frozenset[tuple[str, ...]]) -> Row:
    """Count the errors of both decodings of one recording."""
    reference = normalize(script)
    special = set(marked(reference, names | parts))
    single = frozenset(n[0] for n in names if len(n) == 1)
    before, after = (normalize(" ".join(w.text for w in t.words())) for t in (plain, final))
    row = Row("")
    row.plain_named, row.plain_other = split_errors(reference, before, special, single)
    row.final_named, row.final_other = split_errors(reference, after, special, single)
    row.invented = [w for w in after if w not in set(reference) and w not in set(before)]
    row.misplaced = list(misplaced(reference, final))
    row.taken = sum(1 for w in final.words() if w.heard)
    return row


def misplaced(reference: Sequence[str], final: Transcript) -> Iterator[str]:
    """Terms put into the final text that stand in no matching place of the script."""
    words = list(final.words())
    for at, word in enumerate(words):
        if not word.heard:
            continue
        end = at + 1
        while end < len(words) and words[end].heard == "":
            end += 1
        with_term = normalize(" ".join(w.text for w in words))
        undone = [*words[:at], replace(word, text=word.heard), *words[end:]]
        without = normalize(" ".join(w.text for w in undone))
        if _errors(reference, with_term) > _errors(reference, without):
            yield f"{word.heard} -> {' '.join(w.text for w in words[at:end])}"


def _errors(reference: Sequence[str], heard: Sequence[str]) -> int:
    return sum(max(b - a, d - c) for kind, a, b, c, d in alignment(reference, heard) if kind != "equal")


COLUMNS = ("walk", "voice", "vocabulary words", "wrong, plain", "wrong, final", "fewer", "other words", "wrong, plain",
           "wrong, final", "more", "terms taken", "invented", "misplaced")
HEAD = f"| {' | '.join(COLUMNS)} |\n| --- | --- {'| --: ' * (len(COLUMNS) - 2)}|"


def line(row: Row) -> str:
    """A row of the table; shares in percent."""
    named, other = (row.plain_named, row.final_named), (row.plain_other, row.final_other)
    fewer = f"{100 - 100 * named[1].errors / named[0].errors:.0f}" if named[0].errors else "-"
    more = f"{100 * other[1].errors / other[0].errors - 100:+.1f}" if other[0].errors else "-"
    cells = [row.name, row.voice, named[0].words, *(f"{c.errors} ({c.rate:.1%})" for c in named), fewer,
             other[0].words, *(f"{c.errors} ({c.rate:.1%})" for c in other), more, row.taken, len(row.invented),
             len(row.misplaced)]
    return f"| {' | '.join(map(str, cells))} |"


def figures(row: Row) -> dict[str, object]:
    """Plain numbers for JSON."""
    return {"walk": row.name, "voice": row.voice, "vocabulary_words": row.plain_named.words,
            "vocabulary_errors_plain": row.plain_named.errors, "vocabulary_errors_final": row.final_named.errors,
            "other_words": row.plain_other.words, "other_errors_plain": row.plain_other.errors,
            "other_errors_final": row.final_other.errors, "terms_taken": row.taken, "invented": row.invented,
            "misplaced": row.misplaced}


if __name__ == "__main__":
    main()
