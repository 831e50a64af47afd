"""Sound-alike search: spans of one to five heard words against the names and terms of the vocabulary.

A name is found in three steps: names with exactly the heard digits (or, for words without digits,
names that share pieces of their consonant frame) are gathered from an index; these are compared
sound by sound; the best come back with their distance. Close in sound is a suggestion, never proof:
every hit brings its runner-up, so that a caller can ask for a margin.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from intake.vocabulary.folder import cache_folder
from intake.vocabulary.likeness import distances, encode, matrix
from intake.vocabulary.pronounce import phones, variants, with_digits_said
from intake.vocabulary.soundstore import (
    CACHE_FORMAT,
    NAMED_MODEL,
    Name,
    build,
    digits_of,
    features,
    load,
    save,
    standard_key,
)
from intake.vocabulary.terms import Vocabulary

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["NAMED_MODEL", "Candidate", "SoundIndex", "SpanHit", "index_of", "phones", "sound_distance", "standard_key"]

MOST_COMPARED = 128                      # names compared sound by sound for one span without digits
MOST_WITH_DIGITS = 1024                  # the same with digits, where these already agree
PLURAL_COST = .02                        # a plural s that the name does not have

SAID_COST = .1                           # digits of a tube type that were written as words of another meaning

@dataclass(frozen=True)
class Candidate:
    """A name that sounds like what was heard. `score` is 1 for the same sound, 0 for nothing in common."""

    canonical: str
    kind: str
    maker: str
    score: float
    distance: float


@dataclass(frozen=True)
class SpanHit:
    """Heard words [start, end) sound like `candidate`; `runner_up` is the next best other name of its kind."""

    start: int
    end: int
    candidate: Candidate
    runner_up: Candidate | None = None

    @property
    def margin(self) -> float:
        """How much better the candidate scores than the runner-up (its whole score where there is none)."""
        return self.candidate.score - (self.runner_up.score if self.runner_up else 0.0)


def sound_distance(a: str, b: str) -> float:
    """How unlike two names or runs of heard words sound, 0 (the same) to 1; 1 where their digits differ."""
    best = 1.0
    for x in variants(a):
        for y in variants(b):
            if digits_of(x) == digits_of(y):
                best = min(best, float(distances(encode(x), matrix([encode(y)]))[0]))
    return best


class SoundIndex:
    """Names by their sound. Built once for a set of names; with `cache` the built form is kept on disk."""

    def __init__(self, names: Iterable[Name], *, cache: Path | None = None) -> None:
        self._names: list[Name] = list(dict.fromkeys(names))
        self._kinds = sorted({kind for kind, _, _ in self._names})
        stored = cache / f"sounds-{self._fingerprint()}.npz" if cache else None
        arrays = load(stored) if stored else None
        if arrays is None:
            arrays = build(self._names)
            if stored:
                save(stored, arrays)
        self._use(arrays)

    def __len__(self) -> int:
        return len(self._names)

    def _fingerprint(self) -> str:
        from intake.vocabulary import digits, likeness, pronounce, soundstore

        digest = hashlib.sha256(str(CACHE_FORMAT).encode())
        for module in (digits, likeness, pronounce, soundstore):
            digest.update(Path(str(module.__file__)).read_bytes())
        digest.update("\n".join("\t".join(name) for name in self._names).encode())
        return digest.hexdigest()[:24]

    def _use(self, arrays: dict[str, NDArray[np.generic]]) -> None:
        import numpy as np

        self._codes = np.asarray(arrays["codes"], dtype=np.uint8)
        self._owner = np.asarray(arrays["owner"], dtype=np.int32)
        self._posting_at = np.asarray(arrays["posting_at"], dtype=np.int64)
        self._postings = np.asarray(arrays["postings"], dtype=np.int32)
        self._weights = np.asarray(arrays["weights"], dtype=np.float32)
        self._norms = np.asarray(arrays["norms"], dtype=np.float32)
        self._said = np.asarray(arrays["said"], dtype=bool)
        kinds = {kind: number for number, kind in enumerate(self._kinds)}
        self._kind_of = np.array([kinds[kind] for kind, _, _ in self._names], dtype=np.int16)
        self._by_digits: dict[str, list[int]] = {}
        self._by_key: dict[str, list[int]] = {}
        for entry, (digits, key) in enumerate(zip(arrays["digits"].tolist(), arrays["keys"].tolist(), strict=True)):
            if digits:
                self._by_digits.setdefault(digits, []).append(entry)
            elif key:
                self._by_key.setdefault(key, []).append(entry)
        self._masks: dict[frozenset[str] | None, NDArray[np.bool_]] = {}

    def search(self, heard: str, *, kinds: frozenset[str] | None = None, maker: str | None = None,
               limit: int = 5) -> list[Candidate]:
        """The names most like the heard words, best first. Digits must agree exactly; only a tube type is also found
        where its digits were written as other words ("success and sevens" for 6SN7), at a cost.

        `kinds` keeps to some kinds, `maker` to the models of one maker.
        """
        import numpy as np

        best: dict[int, float] = {}
        wanted = self._mask(kinds)
        same_key = np.array(self._by_key.get(standard_key(heard), [])[:MOST_COMPARED], dtype=np.intp)
        for sounds, extra in _heard_variants(heard):
            codes, digits = encode(sounds), digits_of(sounds)
            entries = self._withdigits_of(digits) if digits else np.union1d(self._sharing(codes, wanted), same_key)
            self._compare(codes, entries[wanted[entries]][:MOST_WITH_DIGITS], extra, best)
        if self._said.any() and (kinds is None or "tube" in kinds):
            codes = encode(with_digits_said(heard))
            self._compare(codes, self._sharing(codes, self._said), SAID_COST, best)
        ranked = sorted((far, owner) for owner, far in best.items() if maker is None or self._names[owner][2] == maker)
        return [_candidate(self._names[owner], far) for far, owner in ranked[:limit]]

    def _compare(self, codes: list[int], entries: NDArray[np.intp], extra: float, best: dict[int, float]) -> None:
        """Put the distances of the entries into `best`, by name."""
        far = distances(codes, self._codes[entries]) + extra
        for owner, distance in zip(self._owner[entries].tolist(), far.tolist(), strict=True):
            if distance < best.get(owner, 9.0):
                best[owner] = distance

    def _withdigits_of(self, digits: str) -> NDArray[np.intp]:
        """The entries with exactly these digits."""
        import numpy as np

        return np.array(self._by_digits.get(digits, []), dtype=np.intp)

    def _sharing(self, codes: list[int], wanted: NDArray[np.bool_]) -> NDArray[np.intp]:
        """The wanted entries without digits that share most of the heard consonant frame, rare pieces counting more."""
        import numpy as np

        pieces = np.array(features(codes))
        spans = [slice(self._posting_at[f], self._posting_at[f + 1]) for f in pieces]
        hits = np.concatenate([self._postings[span] for span in spans])
        weights = np.repeat(self._weights[pieces], [span.stop - span.start for span in spans])
        shared = np.bincount(hits, weights=weights, minlength=len(self._owner)) * self._norms * wanted
        if len(shared) <= MOST_COMPARED:
            return np.flatnonzero(shared > 0)
        near = np.argpartition(-shared, MOST_COMPARED)[:MOST_COMPARED]
        return near[shared[near] > 0]

    def _mask(self, kinds: frozenset[str] | None) -> NDArray[np.bool_]:
        """For every entry whether its name is of one of the kinds (None: of any) and its digits are digits."""
        import numpy as np

        if kinds not in self._masks:
            wanted = np.array([kinds is None or kind in kinds for kind in self._kinds], dtype=bool)
            self._masks[kinds] = wanted[self._kind_of][self._owner] & ~self._said
        return self._masks[kinds]

    def spans(self, words: Sequence[str], *, longest: int = 5, kinds: frozenset[str] | None = None,
              floor: float = .6, overlapping: bool = False) -> list[SpanHit]:
        """Where in the heard words a name may stand: the best name of each span of one to `longest` words.

        Only hits with a score of at least `floor`. Unless `overlapping`, a span that crosses a
        better one is left out, so that each word has one reading; in order of place.
        """
        hits = []
        for start in range(len(words)):
            for end in range(start + 1, min(start + longest, len(words)) + 1):
                hit = self.span(words, start, end, kinds=kinds, floor=floor)
                if hit:
                    hits.append(hit)
        return hits if overlapping else _apart(hits)

    def span(self, words: Sequence[str], start: int, end: int, *, kinds: frozenset[str] | None = None,
             floor: float = .6) -> SpanHit | None:
        """The best name for the words [start, end) with its runner-up, or None where none scores `floor`."""
        found = self.search(" ".join(words[start:end]), kinds=kinds, limit=8)
        if not found or found[0].score < floor:
            return None
        return SpanHit(start, end, found[0], runner_up(found))


def runner_up(found: Sequence[Candidate]) -> Candidate | None:
    """The best candidate of the first one's kind that is another name."""
    first = found[0]
    return next((c for c in found[1:] if c.kind == first.kind and c.canonical != first.canonical), None)


def _candidate(name: Name, distance: float) -> Candidate:
    kind, canonical, maker = name
    return Candidate(canonical, kind, maker, score=round(max(0.0, 1.0 - distance), 4), distance=round(distance, 4))


def _apart(hits: list[SpanHit]) -> list[SpanHit]:
    """The best hits that share no word, in order of place."""
    kept: list[SpanHit] = []
    for hit in sorted(hits, key=lambda h: (-h.candidate.score, h.end - h.start, h.start)):
        if all(hit.end <= other.start or hit.start >= other.end for other in kept):
            kept.append(hit)
    return sorted(kept, key=lambda h: h.start)


def _heard_variants(heard: str) -> list[tuple[str, float]]:
    """The ways the heard words may sound, each with what it costs; a plural also without its s."""
    found = [(sounds, 0.0) for sounds in variants(heard)]
    if re.search(r"[a-z]s\b", heard.lower()):
        found += [(sounds[:-1], PLURAL_COST) for sounds, _ in found if len(sounds) > 3 and sounds[-1] in "sz"]
    return found


def index_of(vocabulary: Vocabulary, *, cache: Path | None = None) -> SoundIndex:
    """The index of a vocabulary's makers, models, makers with models, places, tube types and trade terms."""
    names: list[Name] = [("maker", maker, "") for maker in vocabulary.makers]
    for model in vocabulary.models:
        names += [("model", model.name, model.maker), (NAMED_MODEL, model.name, model.maker)]
    names += [("location", place, "") for place in vocabulary.locations]
    names += [("tube", tube, "") for tube in vocabulary.allowed.get("tube", ())]
    return SoundIndex(names, cache=cache or cache_folder())

