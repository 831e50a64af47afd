"""What the vocabulary is made of: plain frozen types and the few questions asked of them."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TypeVar

T = TypeVar("T")

# The kinds whose canonical terms stand in the contract, and the key of each in vocab/terms.yaml.
CONTRACT_KINDS: Mapping[str, str] = {
    "unit_type": "unit_types",
    "part": "parts",
    "symptom": "symptoms",
    "work": "work",
    "accessory": "accessories",
    "stage": "stages",
    "source": "sources",
    "cosmetic": "cosmetic_grades",
    "measure": "measures",
    "side": "sides",
    "grouping": "groupings",
}
# The contract's units of measure (contract/record.md, "measurements").
UNITS_OF_MEASURE = ("W", "mV", "mA", "V", "%", "Hz", "rpm", "g", "kg", "lb", "h", "ohm")
KINDS = (*CONTRACT_KINDS, "tube", "unit_of_measure", "maker", "model", "location", "place_noun")

_MARK = re.compile(r"(?<![a-z])(?:mark|mk)[\s.-]*(?P<number>[ivx]+|\d+)(?![a-z\d])", re.IGNORECASE)
_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8, "ix": 9, "x": 10}


def name_key(text: str) -> str:
    """Letters and digits only, lower case, with marks as digits: the same for "PT-26 Mk II" and "pt26 mark 2"."""
    def mark(found: re.Match[str]) -> str:
        number = found["number"].lower()
        return f"mk{_ROMAN.get(number, number)}"

    return "".join(c for c in _MARK.sub(mark, text).casefold() if c.isalnum())


@dataclass(frozen=True)
class Phrase:
    """One spoken form: `words` as people say or write it, lower case with single blanks.

    `canonical` is the contract's (or the shop's) spelling. `source` tells who knows it: "trade"
    (shipped), "shop" (the shop's makers, models, places, terms) or "alias" (heard -> meant, taught
    by the shop). `ambiguous`: the form means this only where the sentence says so.
    """

    words: str
    kind: str
    canonical: str
    source: str = "trade"
    ambiguous: bool = False


@dataclass(frozen=True)
class ModelName:
    """A model as its maker writes it; `unit_type` is a term of the contract, or None where unknown."""

    maker: str
    name: str
    unit_type: str | None = None


@dataclass(frozen=True)
class Vocabulary:
    """All words known, trade and shop together.

    `allowed` holds the canonical terms of each kind. `scales` tells for a spoken unit of measure
    how many of its canonical unit it is ("kilohertz": 1000.0); a unit not in it counts once.
    """

    phrases: tuple[Phrase, ...] = ()
    makers: tuple[str, ...] = ()
    models: tuple[ModelName, ...] = ()
    locations: tuple[str, ...] = ()
    allowed: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    scales: Mapping[str, float] = field(default_factory=dict)

    def models_of(self, maker: str) -> tuple[ModelName, ...]:
        """The models of a maker, in file order; the maker's name may differ in case and punctuation."""
        return self._by_maker.get(name_key(maker), ())

    def makers_of(self, model: str) -> tuple[str, ...]:
        """The makers that have a model of this name (case, hyphens and the way marks are written don't count)."""
        return tuple(dict.fromkeys(m.maker for m in self._by_model.get(name_key(model), ())))

    def named(self, model: str) -> tuple[ModelName, ...]:
        """Every model of this name, whoever makes it."""
        return self._by_model.get(name_key(model), ())

    def phrases_of(self, kind: str) -> tuple[Phrase, ...]:
        """All spoken forms of one kind."""
        return self._by_kind.get(kind, ())

    def meanings(self, words: str) -> tuple[Phrase, ...]:
        """What a spoken form can mean; several where it is ambiguous between kinds."""
        return self._by_words.get(words, ())

    @cached_property
    def _by_maker(self) -> dict[str, tuple[ModelName, ...]]:
        return _grouped((name_key(m.maker), m) for m in self.models)

    @cached_property
    def _by_model(self) -> dict[str, tuple[ModelName, ...]]:
        return _grouped((name_key(m.name), m) for m in self.models)

    @cached_property
    def _by_kind(self) -> dict[str, tuple[Phrase, ...]]:
        return _grouped((p.kind, p) for p in self.phrases)

    @cached_property
    def _by_words(self) -> dict[str, tuple[Phrase, ...]]:
        return _grouped((p.words, p) for p in self.phrases)


def _grouped(pairs: Iterable[tuple[str, T]]) -> dict[str, tuple[T, ...]]:
    """Values by key, in the order they came."""
    found: dict[str, list[T]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return {key: tuple(values) for key, values in found.items()}
