"""Trade words that the recognizer wrote as other words ("tumor" for tuner), read as what was meant; the heard words are kept.

The table is data (vocab/misheard.yaml) and only for talk that was heard: typed text says what it says.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from intake.errors import VocabularyError
from intake.language.tokens import normalise
from intake.speech.transcript import Segment, Transcript, Word

_KEYS = {"heard", "meant", "before", "after"}
_STOPS = ".,;:?!"


@dataclass(frozen=True)
class Misheard:
    """The heard words and what they stand for; `before` and `after`: what must stand beside them, if anything."""

    heard: tuple[str, ...]
    meant: tuple[str, ...]
    before: frozenset[str]
    after: frozenset[str]


@lru_cache(maxsize=4)
def load_misheard(path: Path) -> Mapping[str, tuple[Misheard, ...]]:
    """The table by first heard word, longest first; VocabularyError where an entry is not of the known form."""
    try:
        data = yaml.safe_load(path.read_text(encoding="utf-8"))
    except (OSError, yaml.YAMLError) as error:
        raise VocabularyError(f"the misheard words cannot be read: {error}.", path=path) from error
    if not isinstance(data, dict) or set(data) != {"words"}:
        raise VocabularyError("a file of misheard words holds one list named `words`.", path=path)
    found: dict[str, list[Misheard]] = defaultdict(list)
    for entry in data["words"]:
        for one in _entries(entry, path):
            found[one.heard[0]].append(one)
    return {word: tuple(sorted(these, key=lambda m: -len(m.heard))) for word, these in found.items()}


def _entries(entry: Any, path: Path) -> list[Misheard]:
    if not isinstance(entry, dict) or not _KEYS >= set(entry) >= {"heard", "meant"}:
        raise VocabularyError(f"this entry is not of the known form: {entry!r}.", path=path, hint=f"Keys: {', '.join(sorted(_KEYS))}.")
    before, after = (frozenset(str(w) for w in entry.get(side, ())) for side in ("before", "after"))
    meant = tuple(str(entry["meant"]).split())
    return [Misheard(tuple(normalise(str(h)).split()), meant, before, after) for h in entry["heard"]]


def put_right(transcripts: Sequence[Transcript], table: Mapping[str, tuple[Misheard, ...]]) -> list[Transcript]:
    """The transcripts with misheard trade words as they were meant; typed ones as they are."""
    return [_put_right(t, table) if any(w.probability < 1.0 for w in t.words()) else t for t in transcripts]


def _put_right(transcript: Transcript, table: Mapping[str, tuple[Misheard, ...]]) -> Transcript:
    segments = tuple(Segment(tuple(_words(segment.words, table))) for segment in transcript.segments)
    return replace(transcript, segments=segments)


def _words(words: Sequence[Word], table: Mapping[str, tuple[Misheard, ...]]) -> list[Word]:
    plain = [normalise(w.text.strip()).strip(" \"'.,;:?!") for w in words]
    out: list[Word] = []
    i = 0
    while i < len(words):
        found = _at(words, plain, i, table)
        if found is None:
            out.append(words[i])
            i += 1
            continue
        entry, end = found
        out += _replaced(words[i:end], entry)
        i = end
    return out


def _at(
    words: Sequence[Word], plain: Sequence[str], i: int, table: Mapping[str, tuple[Misheard, ...]]
) -> tuple[Misheard, int] | None:
    first = plain[i].split(" ", 1)[0]
    for entry in table.get(first, ()):
        end, said = i, ""
        while end < len(words) and len(said.split()) < len(entry.heard):
            said = f"{said} {plain[end]}".strip()
            end += 1
            if end < len(words) and words[end - 1].text.strip()[-1:] in _STOPS and len(said.split()) < len(entry.heard):
                break
        if tuple(said.split()) == entry.heard and _fits(words, plain, i, end, entry):
            return entry, end
    return None


def _fits(words: Sequence[Word], plain: Sequence[str], start: int, end: int, entry: Misheard) -> bool:
    before = plain[start - 1] if start else ""
    if entry.before and before not in entry.before:
        return False
    if not entry.after:
        return True
    stop = end == len(words) or words[end - 1].text.strip()[-1:] in _STOPS
    after = plain[end] if end < len(words) else ""
    return ("<stop>" in entry.after and stop) or after in entry.after or ("<number>" in entry.after and after[:1].isdigit())


def _replaced(heard: Sequence[Word], entry: Misheard) -> list[Word]:
    """The meant words in the time of the heard ones, with the stop that ended them."""
    text = " ".join(w.text.strip() for w in heard)
    stop = text[-1] if text[-1:] in _STOPS else ""
    meant = list(entry.meant)
    if text[:1].isupper():
        meant[0] = meant[0].capitalize()
    meant[-1] += stop
    start, end = heard[0].start, heard[-1].end
    step = (end - start) / len(meant)
    others = tuple(o for w in heard for o in w.others)
    chance = min(w.probability for w in heard)
    return [
        Word((" " if not k or heard[0].text.startswith(" ") else "") + word, start + k * step, start + (k + 1) * step, chance, text, others)
        for k, word in enumerate(meant)
    ]
