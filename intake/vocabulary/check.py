"""Looks for mistakes in the vocabulary: forms with two meanings, entries nothing leads to, names that sound alike."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.recognize import Recognizer
from intake.vocabulary.shopwords import read_shop
from intake.vocabulary.sounds import SoundIndex
from intake.vocabulary.terms import CONTRACT_KINDS, Phrase, Vocabulary, name_key

NEAR = .9                                    # makers this much alike cannot be told apart by ear
NO_SPOKEN_FORM = frozenset({("unit_type", "other")})   # a canonical word that nobody says as such


@dataclass(frozen=True)
class Remark:
    """One thing to look at. `what` is "collision", "unreachable" or "near"; only "near" is no mistake."""

    what: str
    kind: str
    entry: str
    detail: str

    @property
    def is_mistake(self) -> bool:
        """Whether it should be corrected; near names are a fact of the shop."""
        return self.what != "near"


def check_vocabulary(shop: Path | None) -> list[Remark]:
    """All remarks on the trade's and the shop's words; raises VocabularyError where a file breaks its grammar."""
    vocabulary = load_vocabulary(shop)
    remarks = [*_collisions(vocabulary), *_unreachable(vocabulary), *_aliases(shop, vocabulary), *_models(vocabulary)]
    return remarks + list(_near_makers(vocabulary))


def _collisions(vocabulary: Vocabulary) -> Iterator[Remark]:
    """Forms that mean two terms of one kind, unless every meaning is marked unsure.

    An alias overrules: that is no collision.
    """
    meanings: dict[tuple[str, str], dict[str, Phrase]] = {}
    for phrase in vocabulary.phrases:
        if phrase.source != "alias":
            meanings.setdefault((phrase.kind, phrase.words), {})[phrase.canonical] = phrase
    for (kind, words), found in meanings.items():
        sure = [p for p in found.values() if not p.ambiguous]
        keys = {name_key(canonical) for canonical in found}
        if len(keys) > 1 and sure:
            detail = " or ".join(f"{p.canonical}{' (unsure)' if p.ambiguous else ''}" for p in found.values())
            yield Remark("collision", kind, words, detail)


def _unreachable(vocabulary: Vocabulary) -> Iterator[Remark]:
    """Canonical terms without a spoken form, and forms that the reader can never meet as they are written."""
    said = {(p.kind, p.canonical) for p in vocabulary.phrases}
    for kind, terms in vocabulary.allowed.items():
        for term in terms:
            if (kind, term) not in said and (kind in CONTRACT_KINDS or kind == "unit_of_measure"):
                yield Remark("unreachable", kind, term, "no spoken form leads to it")
    recognizer = Recognizer(vocabulary)
    for phrase in vocabulary.phrases:
        found = recognizer.find(phrase.words)
        whole = len(found) == 1 and found[0].end == len(phrase.words.split())
        if not whole or phrase not in found[0].phrases:
            yield Remark("unreachable", phrase.kind, phrase.words, f"is read otherwise, not as {phrase.canonical}")


def _aliases(shop: Path | None, vocabulary: Vocabulary) -> Iterator[Remark]:
    """Aliases that mean nothing, or take another term's own name."""
    if shop is None:
        return
    known: dict[str, set[str]] = {kind: set(terms) for kind, terms in vocabulary.allowed.items()}
    known |= {"maker": set(vocabulary.makers), "model": {m.name for m in vocabulary.models},
              "location": set(vocabulary.locations)}
    for heard, kind, canonical in read_shop(shop / "vocab").aliases:
        if canonical not in known.get(kind, set()):
            yield Remark("unreachable", kind, heard, f"means {canonical}, which is not in the vocabulary")
        other = next((t for t in known.get(kind, ()) if t.lower() == heard and t != canonical), None)
        if other:
            yield Remark("collision", kind, heard, f"taught as {canonical}, but it is the name of another {kind}")


def _models(vocabulary: Vocabulary) -> Iterator[Remark]:
    """Models with a unit type that is none, and names that differ in case or punctuation only."""
    seen: dict[tuple[str, str], str] = {}
    for model in vocabulary.models:
        if model.unit_type and model.unit_type not in vocabulary.allowed["unit_type"]:
            yield Remark("unreachable", "model", f"{model.maker} {model.name}",
                         f"unit type {model.unit_type!r} is unknown")
        key = (name_key(model.maker), name_key(model.name))
        if key in seen and seen[key] != model.name:
            yield Remark("collision", "model", f"{model.maker} {model.name}", f"is also written {seen[key]}")
        seen.setdefault(key, model.name)
    makers: dict[str, str] = {}
    for maker in vocabulary.makers:
        other = makers.setdefault(name_key(maker), maker)
        if other != maker:
            yield Remark("collision", "maker", maker, f"is also written {other}")


def _near_makers(vocabulary: Vocabulary) -> Iterator[Remark]:
    """Pairs of makers that sound so alike that a recognizer cannot tell them apart."""
    index = SoundIndex(("maker", maker, "") for maker in vocabulary.makers)
    for maker in vocabulary.makers:
        for candidate in index.search(maker, limit=6):
            if candidate.score >= NEAR and maker < candidate.canonical:
                yield Remark("near", "maker", maker, f"sounds like {candidate.canonical} ({candidate.score:.2f})")
