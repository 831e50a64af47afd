"""Spoken places ("shelf B two", "north bench"), known to the shop or of the shape that its places have."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from intake.language.numbers import read_code
from intake.language.terms import Mention, match_key
from intake.language.tokens import Text, normalise
from intake.vocabulary.terms import Vocabulary

# Heads of place names in use in shops (common practice); a shop's own places add theirs.
_HEADS = frozenset(
    ["shelf", "bay", "rack", "bench", "cart", "row", "aisle", "bin", "pallet", "table", "drawer", "crate", "trolley", "cabinet", "locker", "room", "counter", "wall", "level", "tier", "zone", "section", "dock", "stand", "cage"]
)
_QUALIFIERS = frozenset(
    ["north", "south", "east", "west", "upper", "lower", "left", "right", "front", "back", "top", "bottom", "middle", "main", "center", "centre"]
)


@dataclass(frozen=True)
class Place:
    """A place at the words start..end; `known` where the shop has it on file. `heard`: the words, where only their
    sound speaks for it."""

    start: int
    end: int
    name: str
    known: bool
    heard: str = ""


class PlaceIndex:
    """The shop's places by their spoken characters, and the shapes they teach."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._known = {_key(name): name for name in vocabulary.locations}
        tails: dict[str, set[str]] = {}
        for name in vocabulary.locations:
            words = name.split()
            for n in range(1, len(words) - 1):
                tails.setdefault(_key(" ".join(words[n:])), set()).add(name)
        self._tails = {k: v.pop() for k, v in tails.items() if len(v) == 1 and k not in self._known}
        self.heads = {
            w for name in vocabulary.locations for w in normalise(name).split() if w.isalpha() and len(w) > 2
        } - _QUALIFIERS
        self.codes = {
            normalise(name).split()[0]
            for name in vocabulary.locations
            if len(name.split()) == 2 and any(c.isdigit() for c in name)
        }

    def known(self, spoken: str) -> str | None:
        """The shop's spelling of a spoken place, or None; the end of one place's name alone will do ("shelf one")."""
        key = _key(spoken)
        return self._known.get(key) or self._tails.get(key)


def _key(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.casefold())


def find_places(text: Text, index: PlaceIndex, mentions: Sequence[Mention]) -> list[Place]:
    """Every place named, longest first; "shelf B two" -> "shelf B2"."""
    found: list[Place] = [Place(m.start, m.end, m.canonical, True) for m in mentions if m.kind == "location"]
    for sentence in text.sentences:
        for i in range(sentence.start, sentence.end):
            place = _coded(text, i, sentence.end, index) or _qualified(text, i, sentence.end, index)
            if place:
                found.append(place)
    out: list[Place] = []
    for place in sorted(found, key=lambda p: (not p.known, -(p.end - p.start), p.start)):
        if all(place.end <= o.start or place.start >= o.end for o in out):
            out.append(place)
    return sorted(out, key=lambda p: p.start)


def _coded(text: Text, i: int, end: int, index: PlaceIndex) -> Place | None:
    """A head with its code: "bay three", "shelf C one", "rack number four"."""
    head = match_key(text.tokens[i].norm)
    if head not in index.heads and head not in _HEADS:
        return None
    j = i + 1
    if j < end and text.tokens[j].norm in {"number", "letter"}:
        j += 1
    if j >= end or text.tokens[i].after in {".", ","}:
        return None
    code = read_code(text.tokens, j, end)
    letter = text.tokens[j].norm
    if code is None and len(letter) == 1 and letter.isalpha() and (name := index.known(f"{head} {letter}")):
        return Place(i, j + 1, name, True)
    if code is None:
        return None
    for n in range(len(code.pieces), 0, -1):
        chars = "".join(p.chars for p in code.pieces[:n])
        known = index.known(f"{head} {chars}")
        if known:
            return Place(i, code.pieces[n - 1].end, known, True)
    chars = code.text
    plain = head in index.codes or (
        head in {"shelf", "bay", "rack", "bench", "cart", "aisle", "row", "bin", "pallet"} and len(chars) <= 3
    )
    if plain and len(chars) <= 4 and any(c.isdigit() for c in chars):
        return Place(i, code.end, f"{head} {chars}", False)
    return None


def _qualified(text: Text, i: int, end: int, index: PlaceIndex) -> Place | None:
    """A place named by words: two to four words that the shop has as a place ("front window", "north bench")."""
    for n in (4, 3, 2):
        if i + n <= end and (name := index.known(" ".join(match_key(t.norm) for t in text.tokens[i : i + n]))):
            return Place(i, i + n, name, True)
    return None
