"""Sound-alike search: spans of one to five heard words against the names and terms of the vocabulary.

A name is found in three steps: names with exactly the heard digits (or, for words without digits,
names that share pieces of their consonant frame) are gathered from an index; these are compared
sound by sound; the best come back with their distance. Close in sound is a suggestion, never proof:
every hit brings its runner-up, so that a caller can ask for a margin.
"""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from intake.vocabulary.folder import cache_folder, write_cache
from intake.vocabulary.likeness import CODE, distances, encode, matrix
from intake.vocabulary.pronounce import phones, plain, variants
from intake.vocabulary.terms import Vocabulary

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

__all__ = ["Candidate", "SoundIndex", "SpanHit", "index_of", "phones", "sound_distance", "standard_key"]

Name = tuple[str, str, str]              # kind, canonical, maker (or "")
CACHE_FORMAT = 5                         # raise it when sounds, features or the stored arrays change
NAMED_MODEL = "named model"              # maker and model said together
MOST_COMPARED = 128                      # names compared sound by sound for one span without digits
MOST_WITH_DIGITS = 1024                  # the same with digits, where these already agree
PLURAL_COST = .02                        # a plural s that the name does not have

# Sounds that are taken for each other often enough to be one letter of the consonant frame.
_CLASSES = ("pb", "fvTD", "td", "kg", "szSZCJ", "mnN", "l", "rR", "w", "y", "h", "#")
_VOWEL_CLASS, _EDGE = len(_CLASSES) + 1, len(_CLASSES) + 2
_SIDE = _EDGE + 1                        # number of classes with 0
_CLASS_OF = {CODE[s]: n for n, group in enumerate(_CLASSES, 1) for s in group}


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
            if _digits(x) == _digits(y):
                best = min(best, float(distances(encode(x), matrix([encode(y)]))[0]))
    return best


@lru_cache(maxsize=65536)
def standard_key(text: str) -> str:
    """The Metaphone key of a text's letters run together: "core vein" and "Corvane" are both KRFN.

    A second way to a name beside our own sounds, where a spelling is too odd for our rules.
    """
    import jellyfish

    key: str = jellyfish.metaphone("".join(c for c in plain(text) if c.isalpha()))
    return key


def _digits(sounds: str) -> str:
    return "".join(s for s in sounds if s.isdigit())


def _features(codes: Sequence[int]) -> list[int]:
    """The pieces of the consonant frame: neighbours, and neighbours but one, with the edges."""
    frame = [_EDGE]
    for at, code in enumerate(codes):
        if code in _CLASS_OF:
            frame.append(_CLASS_OF[code])
        elif at == 0:
            frame.append(_VOWEL_CLASS)
    frame.append(_EDGE)
    near = {a * _SIDE + b for a, b in pairwise(frame)}
    far = {_SIDE * _SIDE + a * _SIDE + b for a, b in zip(frame, frame[2:], strict=False)}
    return sorted(near | far)


class SoundIndex:
    """Names by their sound. Built once for a set of names; with `cache` the built form is kept on disk."""

    def __init__(self, names: Iterable[Name], *, cache: Path | None = None) -> None:
        self._names: list[Name] = list(dict.fromkeys(names))
        self._kinds = sorted({kind for kind, _, _ in self._names})
        stored = cache / f"sounds-{self._fingerprint()}.npz" if cache else None
        arrays = _load(stored) if stored else None
        if arrays is None:
            arrays = _build(self._names)
            if stored:
                _save(stored, arrays)
        self._use(arrays)

    def __len__(self) -> int:
        return len(self._names)

    def _fingerprint(self) -> str:
        from intake.vocabulary import likeness, pronounce

        digest = hashlib.sha256(str(CACHE_FORMAT).encode())
        for module in (likeness, pronounce):
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
        kinds = {kind: number for number, kind in enumerate(self._kinds)}
        self._kind_of = np.array([kinds[kind] for kind, _, _ in self._names], dtype=np.int16)
        self._by_digits: dict[str, list[int]] = {}
        self._by_key: dict[str, list[int]] = {}
        for entry, (digits, key) in enumerate(zip(arrays["digits"].tolist(), arrays["keys"].tolist(), strict=True)):
            if digits:
                self._by_digits.setdefault(digits, []).append(entry)
            elif key:
                self._by_key.setdefault(key, []).append(entry)
        self._masks: dict[frozenset[str], NDArray[np.bool_]] = {}

    def search(self, heard: str, *, kinds: frozenset[str] | None = None, maker: str | None = None,
               limit: int = 5) -> list[Candidate]:
        """The names most like the heard words, best first. Digits must agree exactly.

        `kinds` keeps to some kinds, `maker` to the models of one maker.
        """
        import numpy as np

        best: dict[int, float] = {}
        same_key = np.array(self._by_key.get(standard_key(heard), [])[:MOST_COMPARED], dtype=np.intp)
        for sounds, extra in _heard_variants(heard):
            codes, digits = encode(sounds), _digits(sounds)
            entries = self._with_digits(digits) if digits else np.union1d(self._sharing(codes, kinds), same_key)
            if kinds is not None:
                entries = entries[self._mask(kinds)[entries]]
            entries = entries[:MOST_WITH_DIGITS]
            if not len(entries):
                continue
            far = distances(codes, self._codes[entries]) + extra
            for at in np.argsort(far)[:limit * 6]:
                owner = int(self._owner[entries[at]])
                if maker is None or self._names[owner][2] == maker:
                    best[owner] = min(best.get(owner, 9.0), float(far[at]))
        ranked = sorted(best.items(), key=lambda item: (item[1], item[0]))[:limit]
        return [_candidate(self._names[owner], far) for owner, far in ranked]

    def _with_digits(self, digits: str) -> NDArray[np.intp]:
        """The entries with exactly these digits."""
        import numpy as np

        return np.array(self._by_digits.get(digits, []), dtype=np.intp)

    def _sharing(self, codes: list[int], kinds: frozenset[str] | None) -> NDArray[np.intp]:
        """The entries without digits that share most of the heard consonant frame, rare pieces counting more."""
        import numpy as np

        features = np.array(_features(codes))
        spans = [slice(self._posting_at[f], self._posting_at[f + 1]) for f in features]
        hits = np.concatenate([self._postings[span] for span in spans])
        weights = np.repeat(self._weights[features], [span.stop - span.start for span in spans])
        shared = np.bincount(hits, weights=weights, minlength=len(self._owner)) * self._norms
        if kinds is not None:
            shared *= self._mask(kinds)
        if len(shared) <= MOST_COMPARED:
            return np.flatnonzero(shared > 0)
        near = np.argpartition(-shared, MOST_COMPARED)[:MOST_COMPARED]
        return near[shared[near] > 0]

    def _mask(self, kinds: frozenset[str]) -> NDArray[np.bool_]:
        """For every entry whether its name is of one of the kinds."""
        import numpy as np

        if kinds not in self._masks:
            wanted = np.array([kind in kinds for kind in self._kinds], dtype=bool)
            self._masks[kinds] = wanted[self._kind_of][self._owner]
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


def _build(names: Sequence[Name]) -> dict[str, NDArray[np.generic]]:
    """The arrays of an index: the codes of every way to say every name, and which share which features."""
    import numpy as np

    owner: list[int] = []
    runs: list[list[int]] = []
    digits: list[str] = []
    keys: list[str] = []
    for number, (kind, canonical, maker) in enumerate(names):
        said = f"{maker} {canonical}" if kind == NAMED_MODEL else canonical
        for sounds in variants(said)[:3]:
            owner.append(number)
            runs.append(encode(sounds))
            digits.append(_digits(sounds))
            keys.append(standard_key(said))
    pairs = [(f, entry) for entry, run in enumerate(runs) if not digits[entry] for f in _features(run)]
    table = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    table = table[np.argsort(table[:, 0], kind="stable")]
    posting_at = np.searchsorted(table[:, 0], np.arange(2 * _SIDE * _SIDE + 1))
    share = np.diff(posting_at) / max(1, len(runs))
    weights = np.log(1.2 / (share + .01))
    weights = np.maximum(weights, .1).astype(np.float32)
    norms = np.zeros(len(runs), dtype=np.float32)
    np.add.at(norms, table[:, 1], weights[table[:, 0]])
    return {"codes": matrix(runs), "owner": np.array(owner, dtype=np.int32), "digits": np.array(digits,
                                                                                                dtype=np.str_),
            "keys": np.array(keys, dtype=np.str_),
            "posting_at": posting_at, "postings": table[:, 1].astype(np.int32), "weights": weights,
            "norms": 1 / np.sqrt(np.maximum(norms, 1e-3))}


def _load(path: Path) -> dict[str, NDArray[np.generic]] | None:
    """The stored arrays, or None where there are none or they are damaged."""
    import zipfile

    import numpy as np

    try:
        with np.load(path, allow_pickle=False) as data:
            return {key: data[key] for key in data.files}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def _save(path: Path, arrays: dict[str, NDArray[np.generic]]) -> None:
    import numpy as np

    buffer = io.BytesIO()
    np.savez(buffer, **arrays)  # type: ignore[arg-type]  # the stubs take any keyword for allow_pickle
    write_cache(path, buffer.getvalue())


def index_of(vocabulary: Vocabulary, *, cache: Path | None = None) -> SoundIndex:
    """The index of a vocabulary's makers, models, makers with models, places, tube types and trade terms."""
    names: list[Name] = [("maker", maker, "") for maker in vocabulary.makers]
    for model in vocabulary.models:
        names += [("model", model.name, model.maker), (NAMED_MODEL, model.name, model.maker)]
    names += [("location", place, "") for place in vocabulary.locations]
    names += [("tube", tube, "") for tube in vocabulary.allowed.get("tube", ())]
    return SoundIndex(names, cache=cache or cache_folder())

