"""Vocabulary phrases and cues found in the text, by spaCy's PhraseMatcher over the whole walk."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from intake.language.cues import Cue
from intake.language.tokens import Text, normalise
from intake.vocabulary.terms import Phrase, Vocabulary

if TYPE_CHECKING:
    from spacy.matcher import PhraseMatcher
    from spacy.tokens import Doc

_ACRONYMS = frozenset(["rca", "xlr", "cd", "dc", "dac", "ac", "tv", "vu", "led", "usb", "fm", "am", "rpm", "din", "eq", "ic", "lcd", "vfd", "mm", "mc", "psu"])
_KEEP_S = frozenset(
    ["it's", "that's", "he's", "she's", "here's", "there's", "what's", "who's", "let's", "where's", "this's", "one's", "everything's", "how's", "when's"]
)


@dataclass(frozen=True)
class Mention:
    """Words start..end that may name `canonical` of `kind`."""

    kind: str
    canonical: str
    start: int
    end: int
    phrase: str
    source: str = "trade"
    ambiguous: bool = False
    could_be: tuple[str, ...] = ()  # of an ambiguous phrase: every term of its kind that it may mean


@dataclass(frozen=True)
class CueHit:
    """A cue at the words start..end."""

    cue: Cue
    start: int
    end: int


def match_key(norm: str) -> str:
    """The form in which vocabulary phrases are compared: a possessive 's is dropped ("Pruitt's" -> "pruitt")."""
    if norm.endswith("'s") and norm not in _KEEP_S:
        return norm[:-2]
    return norm.rstrip("'")


def _spellings(words: str) -> Iterable[list[str]]:
    """A phrase as token lists: as it is, and with acronyms spelled ("rca jack" also as "r c a jack")."""
    tokens = [match_key(w) for w in normalise(words).split()]
    yield tokens
    if any(t in _ACRONYMS for t in tokens):
        yield [c for t in tokens for c in (t if t in _ACRONYMS else [t])]


def _plurals(word: str) -> tuple[str, ...]:
    """ "the big Marrowbys": makers are spoken of in the plural, with either ending."""
    if word.endswith(("s", "x", "z", "ch", "sh")):
        return (word + "es",)
    return (word + "s", word[:-1] + "ies") if word.endswith("y") else (word + "s",)


class TermFinder:
    """Matchers for one vocabulary and one set of cues, built once; `mentions` and `cues` read a text."""

    def __init__(self, vocabulary: Vocabulary, cues: Sequence[Cue]) -> None:
        import spacy
        from spacy.matcher import PhraseMatcher

        self._vocab = spacy.blank("en").vocab
        self._phrases: dict[str, list[Phrase]] = defaultdict(list)
        self._cues: dict[str, list[Cue]] = defaultdict(list)
        phrases = [p for p in vocabulary.phrases if p.kind not in ("model",)]
        for phrase in phrases:
            for tokens in _spellings(phrase.words):
                self._phrases[" ".join(tokens)].append(phrase)
                if phrase.kind == "maker":
                    for plural in _plurals(tokens[-1]):
                        self._phrases[" ".join([*tokens[:-1], plural])].append(phrase)
        for cue in cues:
            self._cues[cue.phrase].append(cue)
        self._term_matcher = self._build(PhraseMatcher, self._phrases)
        self._cue_matcher = self._build(PhraseMatcher, self._cues)

    def _build(self, kind: type[PhraseMatcher], phrases: Iterable[str]) -> PhraseMatcher:
        matcher = kind(self._vocab, attr="ORTH")
        matcher.add("phrase", [self._doc(p.split()) for p in phrases if p])
        return matcher

    def _doc(self, words: list[str]) -> Doc:
        from spacy.tokens import Doc

        return Doc(self._vocab, words=words)

    def mentions(self, text: Text) -> list[Mention]:
        """Vocabulary terms, longest first won; a phrase with several meanings gives one mention for each."""
        spans = self._spans(self._term_matcher, [match_key(t.norm) for t in text.tokens], text)
        out: list[Mention] = []
        for start, end, words in spans:
            for phrase, could_be in _meanings(self._phrases[words]):
                out.append(
                    Mention(phrase.kind, phrase.canonical, start, end, words, phrase.source, phrase.ambiguous, could_be)
                )
        return out

    def cues(self, text: Text) -> list[CueHit]:
        """Cues of every signal. The longest phrase wins within its signal; look-alikes win over what they contain."""
        norms = [t.norm for t in text.tokens]
        hits = self._all_spans(self._cue_matcher, norms, text)
        look = sorted({(s, e) for s, e, words in hits if any(c.signals == "look-alike" for c in self._cues[words])})
        longest = max((e - s for s, e in look), default=0)
        by_signal: dict[tuple[str, str], list[tuple[int, int, Cue]]] = defaultdict(list)
        for start, end, words in hits:
            near = look[bisect_left(look, (end - longest, 0)) : bisect_left(look, (start + 1, 0))]
            if any(end <= e and e - s > end - start for s, e in near):
                continue
            for cue in self._cues[words]:
                by_signal[(cue.signals, cue.reach)].append((start, end, cue))
        out = []
        for found in by_signal.values():
            for start, end, cue in _longest(found):
                out.append(CueHit(cue, start, end))
        return sorted(out, key=lambda h: (h.start, h.end))

    def _all_spans(self, matcher: Any, words: list[str], text: Text) -> list[tuple[int, int, str]]:
        if not words:
            return []
        doc = self._doc(words)
        found = []
        for _, start, end in matcher(doc):
            if text.sentence_of[start] == text.sentence_of[end - 1]:
                found.append((start, end, " ".join(words[start:end])))
        return found

    def _spans(self, matcher: Any, words: list[str], text: Text) -> list[tuple[int, int, str]]:
        return list(_longest(self._all_spans(matcher, words, text)))


def _meanings(phrases: Sequence[Phrase]) -> list[tuple[Phrase, tuple[str, ...]]]:
    """The meanings of one spoken form: of each kind the sure ones, else the first of the unsure with all it could be."""
    out: list[tuple[Phrase, tuple[str, ...]]] = []
    for kind in dict.fromkeys(p.kind for p in phrases):
        same = list({p.canonical: p for p in reversed(phrases) if p.kind == kind}.values())[::-1]
        sure = [p for p in same if not p.ambiguous]
        if sure:
            out += [(p, ()) for p in sure]
        elif same:
            out.append((same[0], tuple(p.canonical for p in same)))
    return out


def _longest(spans: Iterable[tuple[int, int, Any]]) -> list[tuple[int, int, Any]]:
    """Spans without those that overlap a longer (or equally long, earlier) one."""
    chosen: list[tuple[int, int, Any]] = []
    taken: set[int] = set()
    # of two as long, one that begins with a negation gives way: "no power cord" is about the cord
    for span in sorted(spans, key=lambda s: (-(s[1] - s[0]), str(s[2]).startswith(("no ", "not ")), s[0])):
        if taken.isdisjoint(range(span[0], span[1])):
            chosen.append(span)
            taken.update(range(span[0], span[1]))
    return sorted(chosen, key=lambda s: s[0])
