"""One declared normalization of spoken and written text, and word errors by it.

Both the script ("H V forty-six", "mark two", "three one oh seven nine") and a recognizer's text
("HV-46", "Mark II", "31079") become the same tokens: lower case, no punctuation, number words as
digits, letters and digits of one designation joined (hv46), marks as "mark 2". Hesitations (uh, um,
er, mm, hmm, ahem, ah, oh before a comma) are left out on both sides. Of spellings
that sound the same only those in SPELLINGS are unified.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import jiwer

from intake.vocabulary.digits import join_numbers

HESITATIONS = frozenset({"uh", "um", "er", "erm", "mm", "hmm", "ahem", "ah", "eh"})
ROMAN = {"i": "1", "ii": "2", "iii": "3", "iv": "4", "v": "5", "vi": "6", "vii": "7", "viii": "8", "ix": "9", "x": "10"}
SPELLINGS = {"grill": "grille", "grills": "grilles", "ok": "okay", "mr": "mister", "mrs": "missus", "dr": "doctor",
             "alright": "all right", "gray": "grey", "color": "colour", "disk": "disc", "disks": "discs"}
SMALL = re.compile(r"(?<=\d)[,](?=\d{3}\b)")
ORDINALS = {"first": "1st", "second": "2nd", "third": "3rd", "fourth": "4th", "fifth": "5th", "sixth": "6th",
            "seventh": "7th", "eighth": "8th", "ninth": "9th", "tenth": "10th", "eleventh": "11th", "twelfth": "12th",
            "thirteenth": "13th", "fourteenth": "14th", "fifteenth": "15th", "sixteenth": "16th",
            "seventeenth": "17th", "eighteenth": "18th", "nineteenth": "19th", "twentieth": "20th",
            "thirtieth": "30th"}


def normalize(text: str, *, spelled: bool = False) -> list[str]:
    """The tokens of a text by the declared normalization; `spelled`: each letter and digit is one."""
    text = SMALL.sub("", text.replace("’", "'").replace("%", " percent ").replace("per cent", "percent"))
    text = re.sub(r"\b(\d+)(mA|mV|rpm|RPM|Hz|kHz|W|V)\b", r"\1 \2", text)
    raw = re.findall(r"\d+(?:\.\d+)?(?:st|nd|rd|th|s)?(?![A-Za-z\d])|[A-Za-z]+(?:'[A-Za-z]+)?|\d+", text)
    raw = [t[:-1] if t[0].isdigit() and t.endswith("s") else t for t in raw if t.lower() not in HESITATIONS]
    raw = _ordinals(raw)
    tokens = [t for t in join_numbers(raw) if t] if raw else []
    if spelled:
        return [c.lower() for t in tokens for c in (t if t.isdigit() or (t.isupper() and len(t) < 8) else [t])]
    return _joined(_points(_marks(tokens)))


def _ordinals(tokens: Sequence[str]) -> list[str]:
    """"twenty third" as 23rd, "first" as 1st."""
    out: list[str] = []
    tens = {"twenty": 20, "thirty": 30}
    for token in tokens:
        word = ORDINALS.get(token.lower(), token)
        if word != token and out and out[-1].lower() in tens and int(word[:-2]) < 10:
            word = f"{tens[out.pop().lower()] + int(word[:-2])}{word[-2:]}"
        out.append(word)
    return out


def _marks(tokens: Sequence[str]) -> list[str]:
    out: list[str] = []
    for token in tokens:
        if out and out[-1].lower() in ("mark", "mk") and token.lower() in ROMAN:
            out[-1:] = ["mark", ROMAN[token.lower()]]
        else:
            out.append(token)
    return out


def _points(tokens: Sequence[str]) -> list[str]:
    """"33", "point", "4" as 33.4."""
    out: list[str] = []
    for token in tokens:
        if token.isdigit() and len(out) > 1 and out[-1].lower() == "point" and out[-2].isdigit():
            out[-2:] = [f"{out[-2]}.{token}"]
        else:
            out.append(token)
    return out


def _joined(tokens: Sequence[str]) -> list[str]:
    """Runs of capitals and digits joined ("H", "V", "46"), all in lower case."""
    out: list[list[str]] = []
    for i, token in enumerate(tokens):
        code = token.isdigit() or _spelled(tokens, i)
        if code and out and out[-1][0] == "code" and not (token.isdigit() and out[-1][1][-1].isdigit()):
            out[-1][1] += token
        else:
            out.append(["code" if code else "word", token])
    return [SPELLINGS.get(text.lower(), text.lower()) for _, text in out]


def _spelled(tokens: Sequence[str], i: int) -> bool:
    """Whether a token is letters said one by one: capitals, but a lone "I" or "A" only beside another letter."""
    token = tokens[i]
    if not token.isupper() or len(token) > 3:
        return False
    if token in ("I", "A"):
        after = tokens[i + 1] if i + 1 < len(tokens) else ""
        before = tokens[i - 1] if i else ""
        return (len(after) == 1 and after.isupper() and after not in ("I", "A")) or (
            len(before) == 1 and before.isupper()) or (
            token == "A" and before.lower() in ("shelf", "bay", "rack", "row"))
    return True


@dataclass
class Counts:
    """Errors over reference words: substitutions, deletions, insertions."""

    words: int = 0
    errors: int = 0
    wrong: list[tuple[str, str]] = field(default_factory=list)      # reference, heard ("" = nothing)

    @property
    def rate(self) -> float:
        """Errors per reference word."""
        return self.errors / self.words if self.words else 0.0

    def add(self, other: Counts) -> None:
        """Sum up."""
        self.words += other.words
        self.errors += other.errors
        self.wrong += other.wrong


def alignment(reference: Sequence[str], heard: Sequence[str]) -> list[tuple[str, int, int, int, int]]:
    """Chunks (type, reference start, end, heard start, end) of jiwer's alignment."""
    if not reference or not heard:
        kind = "delete" if reference else "insert"
        return [(kind, 0, len(reference), 0, len(heard))] if reference or heard else []
    result = jiwer.process_words(" ".join(reference), " ".join(heard))
    return [(c.type, c.ref_start_idx, c.ref_end_idx, c.hyp_start_idx, c.hyp_end_idx) for c in result.alignments[0]]


def split_errors(reference: Sequence[str], heard: Sequence[str], special: Iterable[int],
                 vocabulary: frozenset[str]) -> tuple[Counts, Counts]:
    """Word errors over the reference words numbered in `special`, and over all others.

    An inserted word counts with the special ones where it is a name of the vocabulary, else with
    the others.
    """
    chosen = frozenset(special)
    named, other = Counts(words=len(chosen)), Counts(words=len(reference) - len(chosen))
    for kind, a, b, c, e in alignment(reference, heard):
        if kind == "equal":
            continue
        if kind == "insert":
            for word in heard[c:e]:
                _note(named if word in vocabulary else other, "", word)
            continue
        for i in range(a, b):
            word = heard[c + i - a] if kind == "substitute" else ""
            _note(named if i in chosen else other, reference[i], word)
    return named, other


def _note(counts: Counts, reference: str, heard: str) -> None:
    counts.errors += 1
    counts.wrong.append((reference, heard))
