"""Places that the recognizer wrote as other words: "great two" where the shop has a crate 2.

Only a place that is announced by itself counts ("Okay, great too."), or the code after a head that the shop uses ("shelf be
free"), and only where it sounds like one place of the shop and no other. All of them are for a person to look at.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from intake.language.places import Place, PlaceIndex
from intake.language.terms import CueHit, Mention, match_key
from intake.language.tokens import Sentence, Text
from intake.vocabulary.likeness import distances, encode, matrix
from intake.vocabulary.pronounce import with_digits_said

if TYPE_CHECKING:
    from intake.vocabulary.likeness import Codes

MOST_UNLIKE = 0.33              # the distance of an announced place from its name; 0 is the same sound
MOST_UNLIKE_CODE = 0.13         # of a code after a head that was heard well
LEAST_MARGIN = 0.09             # how much further every other place is
LONGEST = 4                     # words that may stand for a place
SEGMENTS = 3                    # stretches between commas in which a sentence may announce one
_NUMBER = re.compile(r"\d+$")
_ALIKE = str.maketrans("T", "f")                       # "free" for three


@dataclass(frozen=True)
class _Names:
    names: tuple[str, ...]

    @cached_property
    def sounds(self) -> tuple[str, ...]:
        return tuple(with_digits_said(name) for name in self.names)

    @cached_property
    def numbers(self) -> tuple[str, ...]:
        """How each name's number sounds; empty for a name without one."""
        found = (_NUMBER.search(name) for name in self.names)
        return tuple(with_digits_said(n.group()).translate(_ALIKE) if n else "" for n in found)

    @cached_property
    def _matrix(self) -> Codes:
        return matrix([encode(sounds) for sounds in self.sounds])

    def like(self, heard: str, most: float) -> str | None:
        """The one name that the heard words sound like. A number must end both, words be as many."""
        sounds = with_digits_said(heard)
        codes = encode(sounds)
        if not codes:
            return None
        far = distances(codes, self._matrix)
        fits = [k for k in range(len(self.names)) if self._fits(k, heard, sounds.translate(_ALIKE))]
        ranked = sorted(fits, key=lambda k: float(far[k]))
        if not ranked or far[ranked[0]] > most:
            return None
        if len(ranked) > 1 and far[ranked[1]] - far[ranked[0]] < min(LEAST_MARGIN, most / 3):
            return None
        return self.names[ranked[0]]

    def _fits(self, k: int, heard: str, sounds: str) -> bool:
        if self.numbers[k]:
            return sounds.endswith(self.numbers[k]) and sounds != self.numbers[k]
        words = self.names[k].split()
        return len(words) > 1 and len(words) == len(heard.split())


class MisheardPlaces:
    """Finds them for one shop's places."""

    def __init__(self, index: PlaceIndex, locations: Sequence[str], is_model: Callable[[str], bool]) -> None:
        self._all = _Names(tuple(locations))
        by_head: dict[str, list[str]] = defaultdict(list)
        for name in locations:
            by_head[name.split()[0].lower()].append(name)
        self._of_head = {head: _Names(tuple(names)) for head, names in by_head.items() if head in index.heads}
        self._is_model = is_model

    def find(self, text: Text, places: Sequence[Place], cues: Sequence[CueHit], mentions: Sequence[Mention]) -> list[Place]:
        """The places with those added, or put right, that only the sound speaks for; in order."""
        if not self._all.names:
            return list(places)
        out = [self._put_right(text, place) for place in places]
        taken = {i for p in out for i in range(p.start, p.end)}
        out += [p for p in self._codes(text) if taken.isdisjoint(range(p.start, p.end))]
        told = {text.sentence_of[p.start] for p in out}
        leads, ends, other = (_words_of(cues, signal) for signal in ("place_lead", "place_end", "place_not"))
        other |= {i for m in mentions if m.kind in ("unit_type", "maker") and not m.ambiguous for i in range(m.start, m.end)}
        for number, sentence in enumerate(text.sentences):
            if number in told:
                continue
            span = _announced(text, sentence, leads, ends)
            if span is None or not other.isdisjoint(range(*span)):
                continue
            heard = " ".join(t.text for t in text.tokens[span[0] : span[1]])
            if any(match_key(t.norm).rstrip("s") in self._of_head for t in text.tokens[span[0] : span[1]][-1:]):
                continue                # "that's the pallet": the head alone names no place
            name = None if self._is_model(heard) else self._all.like(heard, MOST_UNLIKE)
            if name is not None:
                out.append(Place(*span, name, True, heard))
        return sorted(out, key=lambda p: p.start)

    def _put_right(self, text: Text, place: Place) -> Place:
        """ "shelf E2" where the shop has only a B2 that sounds like it."""
        head = text.tokens[place.start].norm
        if place.known or head not in self._of_head:
            return place
        name = self._of_head[head].like(place.name, MOST_UNLIKE_CODE)
        return Place(place.start, place.end, name, True, place.name) if name else place

    def _codes(self, text: Text) -> Iterator[Place]:
        """ "shelf be free": a head of the shop's, and words that sound like the code of one of its places."""
        for i, token in enumerate(text.tokens):
            if token.norm not in self._of_head or token.after:
                continue
            end = text.sentence_at(i).end
            for n in (2, 1):
                j = i + 1 + n
                if j > end or any(t.after for t in text.tokens[i : j - 1]):
                    continue
                heard = " ".join(t.text for t in text.tokens[i:j])
                if name := self._of_head[token.norm].like(heard, MOST_UNLIKE_CODE):
                    yield Place(i, j, name, True, heard)
                    break


def _words_of(cues: Sequence[CueHit], signal: str) -> set[int]:
    return {i for hit in cues if hit.cue.signals == signal for i in range(hit.start, hit.end)}


def _announced(text: Text, sentence: Sentence, leads: set[int], ends: set[int]) -> tuple[int, int] | None:
    """The words by which a sentence may announce a place: what is left, up to a comma, without the words that lead to it."""
    i, segments = sentence.start, 0
    while i < sentence.end and segments < SEGMENTS:
        j = next((k + 1 for k in range(i, sentence.end) if text.tokens[k].after), sentence.end)
        a, b = i, j
        while a < b and a in leads:
            a += 1
        while b > a and b - 1 in ends:
            b -= 1
        if a < b:
            return (a, b) if b - a <= LONGEST else None
        i, segments = j, segments + 1
    return None
