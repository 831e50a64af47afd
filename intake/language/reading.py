"""Everything found in a walk's text before units are told apart: one value that the later steps share."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

from intake.language.clauses import Clause, clauses
from intake.language.context import Contexts, scopes
from intake.language.misheard_places import MisheardPlaces
from intake.language.names import ModelHit, ModelIndex, model_hits
from intake.language.places import Place, PlaceIndex, find_places
from intake.language.serials import Serial, find_serials
from intake.language.terms import CueHit, Mention, TermFinder
from intake.language.tokens import Text
from intake.vocabulary.terms import Vocabulary


@dataclass
class Reading:
    """The text of a walk with its mentions, cues, scopes, codes, serials and places."""

    text: Text
    day: date
    vocabulary: Vocabulary
    mentions: list[Mention]
    cues: list[CueHit]
    clauses: list[Clause]
    contexts: Contexts
    serials: list[Serial]
    places: list[Place]
    models: list[ModelHit]
    clause_of: list[int] = field(default_factory=list)
    _starts: list[int] = field(default_factory=list)
    _cue_starts: list[int] = field(default_factory=list)

    def add(self, mentions: Sequence[Mention]) -> None:
        """Mentions found later join the others, in order."""
        self.mentions = sorted([*self.mentions, *mentions], key=lambda m: (m.start, m.end))
        self._starts = [m.start for m in self.mentions]

    def within(self, start: int, end: int, *kinds: str) -> list[Mention]:
        """Mentions that begin in start..end, of these kinds (all, if none is named)."""
        a, b = bisect_left(self._starts, start), bisect_left(self._starts, end)
        return [m for m in self.mentions[a:b] if not kinds or m.kind in kinds]

    def cues_in(self, start: int, end: int, *signals: str) -> list[CueHit]:
        """Cues that begin in start..end with one of these signals."""
        a, b = bisect_left(self._cue_starts, start), bisect_right(self._cue_starts, end - 1)
        return [h for h in self.cues[a:b] if h.cue.signals in signals]

    def models_in(self, start: int, end: int) -> list[ModelHit]:
        """Model readings that begin in start..end."""
        return self.models[bisect_left(self._model_starts, start) : bisect_left(self._model_starts, end)]

    def models_near(self, low: int, high: int) -> list[ModelHit]:
        """Model readings that end at or after `low` and begin at or before `high`."""
        return self.models[bisect_left(self._model_ends, low) : bisect_right(self._model_starts, high)]

    def serials_in(self, start: int, end: int) -> list[Serial]:
        """Serials that begin in start..end, in the order in which they are told."""
        a, b = bisect_left(self._serial_starts, (start, -1)), bisect_left(self._serial_starts, (end, -1))
        return [self.serials[k] for k in sorted(k for _, k in self._serial_starts[a:b])]

    def places_in(self, start: int, end: int) -> list[Place]:
        """Places that begin in start..end."""
        return self.places[bisect_left(self._place_starts, start) : bisect_left(self._place_starts, end)]

    @cached_property
    def heard(self) -> bool:
        """Whether a recognizer wrote the words; typed text is sure of each."""
        return any(t.probability < 1.0 for t in self.text.tokens)

    @cached_property
    def spoken_for(self) -> frozenset[int]:
        """Words that belong to a serial, a place or a known model, and are nothing else."""
        words = {i for s in self.serials for i in s.words} | self.named
        return frozenset(words | {i for p in self.places for i in range(p.start, p.end)})

    @cached_property
    def named(self) -> frozenset[int]:
        """Words of known models."""
        return frozenset(i for h in self.models if h.names for i in range(h.start, h.end))

    @cached_property
    def _model_starts(self) -> list[int]:
        return [h.start for h in self.models]

    @cached_property
    def _model_ends(self) -> list[int]:
        return [h.end for h in self.models]

    @cached_property
    def _place_starts(self) -> list[int]:
        return [p.start for p in self.places]

    @cached_property
    def _serial_starts(self) -> list[tuple[int, int]]:
        return sorted((s.start, k) for k, s in enumerate(self.serials))

    def clause_at(self, i: int) -> Clause:
        """The clause that holds token i."""
        return self.clauses[self.clause_of[i]]


def read(
    text: Text,
    finder: TermFinder,
    vocabulary: Vocabulary,
    models: ModelIndex,
    places: PlaceIndex,
    misheard: MisheardPlaces,
    day: date,
) -> Reading:
    """Find everything that can be found word by word."""
    mentions = sorted(finder.mentions(text), key=lambda m: (m.start, m.end))
    cues = [hit for hit in finder.cues(text) if not _simile(text, hit)]
    cut = clauses(text)
    serials = find_serials(text, lambda code: bool(models.exact(code)))
    found_places = misheard.find(text, find_places(text, places, mentions), cues, mentions)
    blocked = {i for s in serials for i in (s.words or range(s.start, s.end))}
    blocked |= {i for p in found_places for i in range(p.start, p.end)}
    hits = model_hits(text, models, blocked)
    reading = Reading(
        text, day, vocabulary, mentions, cues, cut, Contexts([], len(text.tokens)), serials, found_places, hits
    )
    reading.clause_of = _owner(cut, len(text.tokens))
    reading._starts = [m.start for m in mentions]
    reading._cue_starts = [h.start for h in cues]
    borders = [(text.sentences[s].start, text.sentences[s].end) for s in text.sentence_of]
    reading.contexts = Contexts(scopes(cues, borders, [c.end for c in cut]), len(text.tokens))
    return reading


def _simile(text: Text, hit: CueHit) -> bool:
    """ "It comes and goes like my brother-in-law" tells no story of a brother-in-law."""
    if hit.cue.signals != "aside" or not hit.start or not hit.cue.phrase.startswith(("my ", "our ")):
        return False
    return hit.start > text.sentence_at(hit.start).start + 2 and text.tokens[hit.start - 1].norm == "like"


def _owner(cut: Sequence[Clause], length: int) -> list[int]:
    owner = [0] * length
    for n, clause in enumerate(cut):
        for i in range(clause.start, clause.end):
            owner[i] = n
    return owner
