"""What a reviewer types -> the value meant, and what could be meant before all of it is typed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from intake.errors import UsageError
from intake.language.draft import LISTS
from intake.records.values import SHAPES, TERM_OF, Terms
from intake.review import items
from intake.vocabulary.terms import Vocabulary, name_key

SHOWN = 5
FEWEST_INSIDE = 3                              # letters from which names are offered that have them within a word


@dataclass(frozen=True)
class Offer:
    """A way to go on typing: what to show, and the whole line once it is taken."""

    shown: str
    line: str


class Lexicon:
    """The words that fields can hold: the record's terms and the shop's makers, models and places."""

    def __init__(self, vocabulary: Vocabulary, terms: Terms) -> None:
        self.vocabulary = vocabulary
        self.terms = terms

    def value(self, field: str, typed: str, *, maker: str | None = None) -> Any:
        """The value that a typed line means; UsageError tells what would do.

        Names come out as the vocabulary spells them; unknown ones as typed, or, where all is lower case,
        as such names are written: a maker Capitalized, a model in CAPITALS but for its longer words ("Bramble 12").
        """
        line = " ".join(typed.split())
        if not line:
            raise UsageError("nothing is typed.", hint="To leave a field blank: Backspace.")
        if field in LISTS:
            return items.read(field, line, self)
        if field == "maker":
            return self._named(line, (self._makers,)) or (line.title() if line == line.lower() else line)
        if field == "model":
            known = self._named(line, (self._models_of(maker), self._models))
            return known or (_model_name(line) if line == line.lower() else _begun_large(line))
        if field == "location":
            return self._named(line, (self._places,)) or line
        if field in TERM_OF:
            return self.term(TERM_OF[field], line)
        return line

    def warm(self) -> None:
        """Work out ahead what the first letters typed will need."""
        _ = self._makers, self._models, self._places, self.vocabulary.meanings("")

    def term(self, kind: str, line: str) -> str:
        """The record's term that a line means: spelled out, as it is spoken, or the one that begins so."""
        found = self.meant(kind, line)
        if found is not None:
            return found
        allowed = self.terms[kind]
        begun = [term for term in allowed if term.casefold().startswith(line.casefold())]
        if len(begun) == 1:
            return begun[0]
        raise UsageError(f"{line!r} is no {kind.replace('_', ' ')}.", hint=f"Known: {', '.join(begun or allowed)}.")

    def meant(self, kind: str, words: str) -> str | None:
        """The term of a kind that these very words stand for; None where they stand for none or for several."""
        folded = words.casefold()
        exact = self.exact(kind, words)
        if exact is not None:
            return exact
        said = {p.canonical for p in self.vocabulary.meanings(folded) if p.kind == kind and not p.ambiguous}
        said = said or {p.canonical for p in self.vocabulary.meanings(folded) if p.kind == kind}
        return said.pop() if len(said) == 1 else None

    def exact(self, kind: str, words: str) -> str | None:
        """The record's term that is spelled so, whatever its case."""
        folded = words.casefold()
        return next((term for term in self.terms.get(kind, ()) if term.casefold() == folded), None)

    def offers(self, field: str, typed: str, *, maker: str | None = None, limit: int = SHOWN) -> list[Offer]:
        """How the line could go on, the likeliest first."""
        if field in LISTS:
            return self._item_offers(field, typed, limit)
        line = " ".join(typed.split())
        if not line:
            return []
        pools = {"maker": (self._makers,), "model": (self._models_of(maker), self._models), "location": (self._places,)}
        names = pools.get(field) or ((_keyed(self.terms[TERM_OF[field]]),) if field in TERM_OF else ())
        return [Offer(name, name) for name in _best(line, names, limit)]

    def _item_offers(self, field: str, typed: str, limit: int) -> list[Offer]:
        words = typed.split()
        for take in range(min(3, len(words)), 0, -1):
            begun = " ".join(words[-take:])
            before = " ".join(words[:-take])
            pool = _keyed(term for kind in SHAPES[field].values() for term in self.terms.get(kind, ()))
            found = _best(begun, (pool,), limit, inside=False)
            if found:
                return [Offer(term, f"{before} {term}".strip()) for term in found]
        return []

    def _named(self, line: str, pools: Sequence[Sequence[tuple[str, str]]]) -> str | None:
        key = name_key(line)
        for pool in pools:
            for known, name in pool:
                if known == key:
                    return name
        return None

    @cached_property
    def _makers(self) -> list[tuple[str, str]]:
        return _keyed(self.vocabulary.makers)

    @cached_property
    def _models(self) -> list[tuple[str, str]]:
        return _keyed(model.name for model in self.vocabulary.models)

    @cached_property
    def _places(self) -> list[tuple[str, str]]:
        return _keyed(self.vocabulary.locations)

    def _models_of(self, maker: str | None) -> list[tuple[str, str]]:
        return _keyed(m.name for m in self.vocabulary.models_of(maker)) if maker else []


def _begun_large(line: str) -> str:
    """With a capital: a line that is opened by its first letter has a small one there, whatever was meant."""
    return line[:1].upper() + line[1:]


def _model_name(line: str) -> str:
    return " ".join(word.capitalize() if word.isalpha() and len(word) > 3 else word.upper() for word in line.split())


def _keyed(names: Iterable[str]) -> list[tuple[str, str]]:
    return [(name_key(name), name) for name in dict.fromkeys(names)]


def _best(line: str, pools: Sequence[Sequence[tuple[str, str]]], limit: int, *, inside: bool = True) -> list[str]:
    """Names that begin so; then (`inside`) those of which a later word does, and, from three letters on, those that
    have it within a word. Of alike ones those of the first pool go before."""
    key = name_key(line)
    tests: list[Callable[[str, str], bool]] = [lambda known, _: known.startswith(key)]
    if inside:
        tests.append(lambda _, name: any(name_key(word).startswith(key) for word in name.split()[1:]))
    if inside and len(key) >= FEWEST_INSIDE:
        tests.append(lambda known, _: key in known)
    found: dict[str, None] = {}
    for fits in tests if key else ():
        for pool in pools:
            for known, name in pool:
                if fits(known, name):
                    found.setdefault(name)
                    if len(found) >= limit:
                        return list(found)
    return list(found)
