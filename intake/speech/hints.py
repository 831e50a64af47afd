"""Which few terms may have been said where a stretch reads otherwise: what a second reading is hinted with.

A shop knows thousands of names, the decoder's prompt holds some hundred tokens; so the names that
sound like what was heard in this very stretch are looked up, and only these are given.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from intake.speech.transcript import Word
from intake.vocabulary.sounds import Candidate, SoundIndex, index_of
from intake.vocabulary.terms import Vocabulary, name_key

NAME_KINDS = frozenset({"maker", "model", "tube", "location"})
TRADE = "trade"
TRADE_KINDS = ("unit_type", "part", "symptom", "work", "accessory", "measure", "source", "stage", "cosmetic")
LONGEST = {"maker": 4, "model": 4, "tube": 4, "location": 3, TRADE: 3}      # heard words that may be one term
FLOORS = {"maker": 0.62, "model": 0.72, "tube": 0.72, "location": 0.8, TRADE: 0.72}
SURE = 0.92                     # heard words that are all at least so probable are not doubted
MOST_TERMS = 12                 # for one stretch
LEAST_LETTERS = 5               # of a trade word; shorter ones sound like too much else
BREAK = re.compile(r"\w\w[\"')]*[,;:.?!]+$|\d[,;:.?!]+$")
END = re.compile(r"[\s.,;:?!\"')\]]+$")
Rare = Callable[[str], bool]


@dataclass(frozen=True)
class Proposal:
    """A term that may have been said where the stretch's words [start, end) stand.

    `score` is the likeness of the sounds, 0 to 1; `margin` how much better it is than the next
    name's of its kind. `term` is written as it would be put into the text.
    """

    start: int
    end: int
    term: str
    kind: str
    score: float
    margin: float
    maker: str = ""

    def meets(self, other: Proposal) -> bool:
        """Whether two proposals are about a word in common."""
        return self.start < other.end and other.start < self.end


class Hinter:
    """Looks up, for the words of a stretch, the terms that sound alike."""

    def __init__(self, vocabulary: Vocabulary, rare: Rare) -> None:
        """`rare` tells whether the recognizer has no single token for a word: such words it gets wrong."""
        self.names = index_of(vocabulary)
        words = trade_words(vocabulary, rare)
        self.trade = SoundIndex((TRADE, word, "") for word in words)
        self.written = frozenset(written_names(vocabulary))
        self.known = frozenset(known_words(vocabulary))

    def proposals(self, words: Sequence[Word]) -> list[Proposal]:
        """What may stand in the words of one stretch, best first; nothing where all reads as known terms."""
        found: dict[tuple[str, int], Proposal] = {}
        texts = [w.text for w in words]
        right = self._written_right(texts)
        for start in range(len(words)):
            for end in range(start + 1, min(start + max(LONGEST.values()), len(words)) + 1):
                if end - start > 1 and BREAK.search(texts[end - 2]):
                    break                           # no term goes over a comma or a stop
                if all(w.probability >= SURE for w in words[start:end]) or any(right[start:end]):
                    continue
                for proposal in self._of_span(texts, start, end):
                    key = (proposal.term, start // 3)
                    if key not in found or found[key].score < proposal.score:
                        found[key] = proposal
        return sorted(found.values(), key=lambda p: (-p.score, p.start, p.end))

    def _written_right(self, texts: Sequence[str]) -> list[bool]:
        """For each word whether it belongs to a name that is written as the vocabulary has it."""
        right = [False] * len(texts)
        for start in range(len(texts)):
            for end in range(start + 1, min(start + 4, len(texts)) + 1):
                if name_key(" ".join(texts[start:end])) in self.written:
                    right[start:end] = [True] * (end - start)
        return right

    def _of_span(self, texts: Sequence[str], start: int, end: int) -> Iterable[Proposal]:
        heard = " ".join(texts[start:end])
        size = end - start
        kinds = frozenset(k for k in NAME_KINDS if size <= LONGEST[k])
        if kinds:
            yield from self._pick(heard, start, end, self.names.search(heard, kinds=kinds, limit=4))
        if size <= LONGEST[TRADE] and not self.is_known(heard):
            yield from self._pick(heard, start, end, self.trade.search(heard, limit=3))

    def _pick(self, heard: str, start: int, end: int, found: Sequence[Candidate]) -> Iterable[Proposal]:
        for kind in dict.fromkeys(c.kind for c in found):
            of_kind = [c for c in found if c.kind == kind]
            for c in of_kind[:2]:
                if c.score >= FLOORS[kind]:
                    others = [o.score for o in of_kind if o.canonical != c.canonical]
                    yield Proposal(start, end, c.canonical, kind, c.score, c.score - max(others, default=0.0), c.maker)

    def is_known(self, heard: str) -> bool:
        """Whether every word is one that the trade's phrases use: then there is nothing to mend."""
        return all(part in self.known for part in END.sub("", heard.lower()).split())


def trade_words(vocabulary: Vocabulary, rare: Rare) -> list[str]:
    """The trade's single words, and two-word terms that hold one, that the recognizer has no token for."""
    found: dict[str, None] = {}
    for kind in TRADE_KINDS:
        for phrase in vocabulary.phrases_of(kind):
            parts = phrase.words.split()
            hard = [p for p in parts if len(p) >= LEAST_LETTERS and p.isalpha() and rare(p)]
            found.update(dict.fromkeys(hard))
            if hard and len(parts) == 2:
                found[phrase.words] = None
    return list(found)


def written_names(vocabulary: Vocabulary) -> Iterable[str]:
    """Keys of all names, also in the plural and the genitive, that need no mending."""
    names = [*vocabulary.makers, *(m.name for m in vocabulary.models), *vocabulary.locations,
             *vocabulary.allowed.get("tube", ())]
    for name in names:
        key = name_key(name)
        if len(key) > 2:
            yield from (key, f"{key}s")


def known_words(vocabulary: Vocabulary) -> Iterable[str]:
    """All words that trade phrases consist of."""
    return (word for kind in TRADE_KINDS for phrase in vocabulary.phrases_of(kind) for word in phrase.words.split())


def hint_of(proposals: Iterable[Proposal], count: Callable[[str], int], budget: int) -> str:
    """The terms as one line of hints that takes at most `budget` tokens, best first, each once."""
    terms: list[str] = []
    for proposal in proposals:
        if proposal.term in terms:
            continue
        if len(terms) == MOST_TERMS or count(", ".join([*terms, proposal.term])) > budget:
            break
        terms.append(proposal.term)
    return ", ".join(terms)
