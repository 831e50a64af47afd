"""What the vocabulary sees in a text: spoken forms as they stand, and names that sound like the rest.

This is the view for a person (`intake vocab test`) and for the checks; the language step has its
own reading with context.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from intake.vocabulary import grammar
from intake.vocabulary.folder import vocab_folder
from intake.vocabulary.sounds import SoundIndex, SpanHit
from intake.vocabulary.terms import Phrase, Vocabulary

SOUND_KINDS = frozenset({"maker", "model", "named model", "tube", "location"})
SOUND_FLOOR = .62
LONGEST_SOUND = 5


@dataclass(frozen=True)
class Finding:
    """Words [start, end) of the text mean or sound like something.

    `phrases` are the meanings of a spoken form; `sound` is the sound-alike hit. One of the two is there.
    """

    start: int
    end: int
    text: str
    phrases: tuple[Phrase, ...] = ()
    sound: SpanHit | None = None

    @property
    def why(self) -> str:
        """One line on why this was found."""
        if self.sound is None:
            return "; ".join(reason(phrase) for phrase in self.phrases)
        hit = self.sound
        other = f", next {hit.runner_up.canonical} {hit.runner_up.score:.2f}" if hit.runner_up else ""
        return f"sounds like it ({hit.candidate.score:.2f}{other})"


def reason(phrase: Phrase) -> str:
    """Who knows this form, and whether it needs a sentence that says so."""
    knows = {"trade": "the trade's word", "shop": "the shop's word", "alias": "taught by the shop"}[phrase.source]
    return knows + (", only where the sentence says so" if phrase.ambiguous else "")


@lru_cache(maxsize=1)
def everyday_words() -> frozenset[str]:
    """Words too frequent to begin or end a misheard name (vocab/everyday.yaml)."""
    path = vocab_folder() / "everyday.yaml"
    top = grammar.mapping_of(grammar.compose(grammar.read_text(path), path), path, ("words",),
                             {"words": grammar.list_of}, needed=("words",))
    return frozenset(top["words"])


def words_of(text: str) -> list[str]:
    """The words of a text as they stand."""
    return text.split()


def key_of(word: str) -> str:
    """A word as phrases have it: lower case, straight apostrophes, no punctuation around it."""
    return re.sub(r"^[^\w%&'./]+|[^\w%&]+$", "", word.replace("’", "'").lower())


class Recognizer:
    """Finds the spoken forms of a vocabulary; with an index also what sounds like a name."""

    def __init__(self, vocabulary: Vocabulary, index: SoundIndex | None = None) -> None:
        self._phrases: dict[str, list[Phrase]] = {}
        for phrase in vocabulary.phrases:
            self._phrases.setdefault(" ".join(map(key_of, phrase.words.split())), []).append(phrase)
        self._longest = max((len(p.words.split()) for p in vocabulary.phrases), default=1)
        self._index = index

    def find(self, text: str) -> list[Finding]:
        """All findings in order; the longest form wins, sound-alikes only where no form stands."""
        words = words_of(text)
        found = list(self._forms(words))
        if self._index is not None:
            found += self._sounds(words, found)
        return sorted(found, key=lambda f: (f.start, f.end))

    def _forms(self, words: Sequence[str]) -> Iterator[Finding]:
        keys = [key_of(word) for word in words]
        at = 0
        while at < len(words):
            for end in range(min(at + self._longest, len(words)), at, -1):
                phrases = self._phrases.get(" ".join(keys[at:end]))
                if phrases:
                    yield Finding(at, end, " ".join(words[at:end]), phrases=tuple(phrases))
                    at = end - 1
                    break
            at += 1

    def _sounds(self, words: Sequence[str], found: Sequence[Finding]) -> list[Finding]:
        """Sound-alikes for the words that no name stands for; a form of the trade may be a misheard name as well."""
        taken = {at for f in found for at in range(f.start, f.end)
                 if any(p.kind in SOUND_KINDS and not p.ambiguous for p in f.phrases)}
        hits = []
        for start in range(len(words)):
            for end in range(start + 1, min(start + LONGEST_SOUND, len(words)) + 1):
                span = range(start, end)
                if taken.isdisjoint(span) and not _everyday(words, start, end):
                    hits += self._hit(words, start, end)
        return [Finding(h.start, h.end, " ".join(words[h.start:h.end]), sound=h) for h in apart(hits)]

    def _hit(self, words: Sequence[str], start: int, end: int) -> list[SpanHit]:
        if self._index is None:
            return []
        hit = self._index.span(words, start, end, kinds=SOUND_KINDS, floor=SOUND_FLOOR)
        return [hit] if hit else []


def _everyday(words: Sequence[str], start: int, end: int) -> bool:
    """Whether a span begins or ends with an everyday word: no name is looked for there."""
    return not everyday_words().isdisjoint({key_of(words[start]), key_of(words[end - 1])})


def apart(hits: Sequence[SpanHit]) -> list[SpanHit]:
    """The best hits that share no word, in order of place."""
    kept: list[SpanHit] = []
    for hit in sorted(hits, key=lambda h: (-h.candidate.score, h.end - h.start, h.start)):
        if all(hit.end <= other.start or hit.start >= other.end for other in kept):
            kept.append(hit)
    return sorted(kept, key=lambda h: h.start)
