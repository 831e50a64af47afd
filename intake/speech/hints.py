"""Which few terms may have been said where a stretch reads otherwise: what a second reading is hinted with.

A shop knows thousands of names, the decoder's prompt holds some hundred tokens; so the names that
sound like what was heard in this very stretch are looked up, and only these are given.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from intake.speech.transcript import Word
from intake.vocabulary.folder import cache_folder
from intake.vocabulary.sounds import Candidate, SoundIndex, index_of, phones, sound_distance
from intake.vocabulary.terms import Vocabulary, name_key

TRADE = "trade"
TRADE_KINDS = ("unit_type", "part", "symptom", "work", "accessory", "measure", "source", "stage", "cosmetic")
LONGEST = {"maker": 4, "model": 4, "tube": 4, "location": 3, TRADE: 3}      # heard words that may be one term
FLOORS = {"maker": 0.62, "model": 0.72, "tube": 0.72, "location": 0.8, TRADE: 0.72}
RIVAL = 0.2                     # a name of the same kind that scores at most so much less is a rival to be weighed too
SURE = 0.92                     # heard words that are all at least so probable are not doubted
TRADE_LIKELY = 0.85             # less alike trade words come after the names
MOST_TERMS = 14                 # for one stretch
LEAST_LETTERS = 5               # of a trade word; shorter ones sound like too much else
TWIN = 0.72                     # two makers whose names are at least so alike are easily taken for each other
MODEL_AFTER, MODEL_BEFORE = 8, 4    # words from a maker within which its model is looked for
MODEL_FLOOR = 0.75
MODEL_ALIKE = 0.85              # a designation so much like a model's names its maker ...
MOST_MAKERS_OF_MODEL = 3        # ... where so few makers have it, ...
BESIDE_MODEL_FLOOR = 0.5        # ... if words beside it sound so much like the maker's name,
MODEL_SAME, BESIDE_SAME_FLOOR = 0.97, 0.4   # ... or a little less where the designation is the very one and no other's
# No term goes on after a comma or a stop, but for a spelled letter's.
BREAK = re.compile(r"(?:\w\w|\d)[\"')]*[,;:.?!]+$")
STOP = re.compile(r"[.?!][\"')]*$")
WORD = re.compile(r"[^\W\d_]+")
END = re.compile(r"[\s.,;:?!\"')\]]+$")

# Goes before shorter hints to make prompts equally long: how people talk about such things, no names.
FILLER = (
    "We look at used hi-fi on the shelf: receivers, preamps, turntables, tonearms, loudspeakers, tweeters, woofers, "
    "tuners, tubes, binding posts, capacitors; recapped, retubed, refoamed, on consignment, trade-in, cosmetically "
    "very good, needs a new lamp, ready to list.")

Rare = Callable[[str], bool]


@dataclass(frozen=True)
class Proposal:
    """A term that may have been said where the stretch's words [start, end) stand.

    `score` is the likeness of the sounds, 0 to 1. `rank` is 0 for the name most like them, 1 and more for its
    rivals of the same kind. `support` is how well something heard beside it fits: a maker's model, a model's
    maker (0 to 1). `common`: the recognizer knows all the heard words well.
    """

    start: int
    end: int
    term: str
    kind: str
    score: float
    rank: int = 0
    maker: str = ""
    support: float = 0.0
    common: bool = False

    def meets(self, other: Proposal) -> bool:
        """Whether two proposals are about a word in common."""
        return self.start < other.end and other.start < self.end


class Hinter:
    """Looks up, for the words of a stretch, the terms that sound alike."""

    def __init__(self, vocabulary: Vocabulary, rare: Rare) -> None:
        """`rare` tells whether the recognizer has no single token for a word: such words it gets wrong."""
        self.rare = rare
        self.names = index_of(vocabulary)
        words = trade_words(vocabulary, rare)
        self.trade = SoundIndex(((TRADE, word, "") for word in words), cache=cache_folder())
        self.written = dict(written_names(vocabulary))
        self.makers = {name_key(m): m for m in vocabulary.makers}
        self.known = frozenset(known_words(vocabulary))
        self._terms = {name_key(w): (w, TRADE) for w in words}
        self._terms |= {name_key(t): (t, "tube") for t in vocabulary.allowed.get("tube", ())}
        self._terms |= {name_key(p): (p, "location") for p in vocabulary.locations}
        self._terms |= {key: (m, "maker") for key, m in self.makers.items()}
        self._twins: dict[str, list[str]] = {}

    def proposals(self, words: Sequence[Word]) -> list[Proposal]:
        """What may stand in the words of one stretch, best first; nothing where all reads as known terms."""
        found: dict[tuple[str, int], Proposal] = {}
        texts = [w.text for w in words]
        right = self._written_right(texts)
        for start, end in _spans(texts):
            if all(w.probability >= SURE for w in words[start:end]) or any(right[start:end]):
                continue
            for proposal in self._of_span(texts, start, end):
                key = (proposal.term, start // 3)
                if key not in found or found[key].score < proposal.score:
                    found[key] = proposal
        for proposal in [p for p in found.values() if p.kind == "maker" and p.rank == 0]:
            for twin in self.twins(proposal.term):
                alike = 1.0 - sound_distance(" ".join(texts[proposal.start:proposal.end]), twin)
                found.setdefault((twin, proposal.start // 3),
                                 replace(proposal, term=twin, rank=1, score=round(alike, 4)))
        for proposal in self._makers_of_models(texts, right):
            found.setdefault((proposal.term, proposal.start // 3), proposal)
        best = sorted(found.values(), key=_order)
        return [self._supported(p, texts, best) for p in best]

    def _makers_of_models(self, texts: Sequence[str], right: Sequence[bool]) -> Iterator[Proposal]:
        """Where a model is heard that few makers have: the words beside it that sound most like its maker's name."""
        for start, end in _spans(texts, longest=3):
            heard = " ".join(texts[start:end])
            if not any(c.isdigit() for c in digits_of(heard)):
                continue
            found = self.names.search(heard, kinds=frozenset({"model"}), limit=4)
            makers = dict.fromkeys(c.maker for c in found if c.score >= MODEL_ALIKE)
            if len(makers) > MOST_MAKERS_OF_MODEL:
                continue
            same = len({c.maker for c in found if c.score >= MODEL_SAME}) == 1 == len(makers)
            for maker in makers:
                yield from self._maker_near(maker, start, end, texts, right,
                                            floor=BESIDE_SAME_FLOOR if same else BESIDE_MODEL_FLOOR)

    def _maker_near(self, maker: str, start: int, end: int, texts: Sequence[str], right: Sequence[bool], *,
                    floor: float) -> Iterator[Proposal]:
        low, high = max(0, start - MODEL_AFTER), min(len(texts), end + MODEL_BEFORE)
        best: tuple[float, int, int] = (0.0, 0, 0)
        for a, b in _spans(texts[low:high], longest=LONGEST["maker"]):
            a, b = a + low, b + low
            if (a < end and start < b) or any(right[a:b]):
                continue
            score = 1.0 - sound_distance(" ".join(texts[a:b]), maker)
            best = max(best, (score, -a, b))
        if best[0] >= floor:
            yield Proposal(-best[1], best[2], maker, "maker", round(best[0], 4))

    def term_of(self, text: str) -> tuple[str, str] | None:
        """The term, as it is written, and its kind, if the text is one that a second reading may bring in."""
        key = name_key(text)
        return self._terms.get(key) or self._terms.get(key.removesuffix("s"))

    def twins(self, maker: str) -> list[str]:
        """Other makers of the vocabulary whose names sound much like this one's."""
        if maker not in self._twins:
            found = self.names.search(maker, kinds=frozenset({"maker"}), limit=5)
            self._twins[maker] = [c.canonical for c in found
                                  if c.score >= TWIN and name_key(c.canonical) != name_key(maker)]
        return self._twins[maker]

    def written_makers(self, words: Sequence[Word]) -> set[str]:
        """The makers that stand in a text as the vocabulary writes them."""
        found = set()
        for start, end in _spans([w.text for w in words], longest=3):
            key = name_key(" ".join(w.text for w in words[start:end]))
            maker = self.makers.get(key) or self.makers.get(key.removesuffix("s"))
            if maker:
                found.add(maker)
        return found

    def _written_right(self, texts: Sequence[str]) -> list[bool]:
        """For each word whether it belongs to a name that is written as the vocabulary has it."""
        right = [False] * len(texts)
        for start in range(len(texts)):
            for end in range(start + 1, min(start + 4, len(texts)) + 1):
                key = name_key(" ".join(texts[start:end]))
                if end - start <= self.written.get(key, 0):
                    right[start:end] = [True] * (end - start)
        return right

    def _of_span(self, texts: Sequence[str], start: int, end: int) -> Iterator[Proposal]:
        heard = " ".join(texts[start:end])
        size = end - start
        kinds = frozenset(k for k, longest in LONGEST.items() if k != TRADE and size <= longest)
        if kinds:
            yield from _ranked(heard, start, end, self.names.search(heard, kinds=kinds, limit=8))
        genitive = END.sub("", heard).endswith("'s")
        if size <= LONGEST[TRADE] and not (genitive or self._is_known(heard) or _has_name(texts, start, end)):
            common = self.is_common(heard)
            yield from (replace(p, common=common)
                        for p in _ranked(heard, start, end, self.trade.search(heard, limit=3)))

    def is_common(self, heard: str) -> bool:
        """Whether all heard words are such as the recognizer has a token for: everyday words, not garbled ones."""
        return not any(self.rare(part) for part in WORD.findall(heard.lower()))

    def _is_known(self, heard: str) -> bool:
        """Whether every word is one that the trade's phrases use: then there is nothing to mend."""
        return all(part in self.known for part in END.sub("", heard.lower()).split())

    def _supported(self, p: Proposal, texts: Sequence[str], all_: Sequence[Proposal]) -> Proposal:
        if p.kind == "maker":
            return replace(p, support=self._model_beside(p.term, p.start, p.end, texts))
        if p.kind == "model":
            return replace(p, support=self._maker_beside(p, texts, all_))
        return p

    def _model_beside(self, maker: str, start: int, end: int, texts: Sequence[str]) -> float:
        """How well one of the maker's models is heard beside its name."""
        best = 0.0
        for low, high in ((end, min(len(texts), end + MODEL_AFTER)), (max(0, start - MODEL_BEFORE), start)):
            for a, b in _spans(texts[low:high], longest=3):
                heard = " ".join(texts[low + a:low + b])
                found = self.names.search(heard, kinds=frozenset({"model"}), maker=maker, limit=1)
                if found and found[0].score >= MODEL_FLOOR:
                    best = max(best, found[0].score)
        return best

    def _maker_beside(self, p: Proposal, texts: Sequence[str], all_: Sequence[Proposal]) -> float:
        """1 where the model's maker is written beside it, the score of the sounds where it may be."""
        low, high = max(0, p.start - MODEL_AFTER), min(len(texts), p.end + MODEL_BEFORE)
        key = name_key(p.maker)
        for a, b in _spans(texts[low:high], longest=3):
            if name_key(" ".join(texts[low + a:low + b])).removesuffix("s") == key.removesuffix("s"):
                return 1.0
        beside = (o.score for o in all_ if o.kind == "maker" and o.term == p.maker and low <= o.start < high)
        return max(beside, default=0.0)


def _order(p: Proposal) -> tuple[int, bool, float, int, int]:
    """Best first: names before trade words that are only somewhat alike."""
    return p.rank, p.kind == TRADE and p.score < TRADE_LIKELY, -p.score, p.start, p.end


def _spans(texts: Sequence[str], longest: int = max(LONGEST.values())) -> Iterator[tuple[int, int]]:
    """All runs of words that may be one term."""
    for start in range(len(texts)):
        for end in range(start + 1, min(start + longest, len(texts)) + 1):
            yield start, end
            if BREAK.search(texts[end - 1]):
                break


def digits_of(text: str) -> str:
    """The digits of a text, number words and marks read as digits."""
    return "".join(s for s in phones(text) if s.isdigit()) if text.strip() else ""


def _has_name(texts: Sequence[str], start: int, end: int) -> bool:
    """Whether a word has a capital where no sentence begins: a person's or a town's name, no term of the trade."""
    return any(texts[i][:1].isupper() and i > 0 and not STOP.search(texts[i - 1]) for i in range(start, end))


def _ranked(heard: str, start: int, end: int, found: Sequence[Candidate]) -> Iterator[Proposal]:
    """The best name of each kind where it is like enough, and its rivals; nothing where the sounds are the same."""
    said = phones(heard)
    for kind in dict.fromkeys(c.kind for c in found):
        rivals = [c for c in found if c.kind == kind]
        only_a_number = said.isdigit() and phones(rivals[0].canonical) == said
        if rivals[0].score < FLOORS[kind] or only_a_number:
            continue
        for rank, c in enumerate(rivals[:3]):
            if c.score >= rivals[0].score - RIVAL:
                yield Proposal(start, end, c.canonical, kind, c.score, rank, c.maker)


def trade_words(vocabulary: Vocabulary, rare: Rare) -> list[str]:
    """The trade's single words, and two-word terms that hold one, that the recognizer has no token for.

    Of words that sound the same only one is kept: the contract's own, else the one used most.
    """
    official = {word for terms in vocabulary.allowed.values() for term in terms for word in term.lower().split()}
    used: Counter[str] = Counter()
    for kind in TRADE_KINDS:
        for phrase in vocabulary.phrases_of(kind):
            parts = phrase.words.split()
            hard = [p for p in parts if len(p) >= LEAST_LETTERS and p.isalpha() and rare(p)]
            if not phrase.ambiguous:
                used.update(hard)
                used.update([phrase.words] if hard and len(parts) == 2 else [])
    best: dict[str, str] = {}
    for word in sorted(used, key=lambda w: (w not in official, -used[w], w)):
        best.setdefault(phones(word), word)
    return list(best.values())


def written_names(vocabulary: Vocabulary) -> Iterable[tuple[str, int]]:
    """Keys of all names, also in the plural and the genitive, that need no mending, and in how many words at most.

    "HV 46" is right for HV-46, "raven sholts" is not for Ravensholts.
    """
    coded = [*(m.name for m in vocabulary.models), *vocabulary.locations, *vocabulary.allowed.get("tube", ())]
    for name, most in [*((n, 4) for n in coded), *((m, len(m.split())) for m in vocabulary.makers)]:
        key = name_key(name)
        if len(key) > 2:
            yield from ((key, most), (f"{key}s", most))


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
