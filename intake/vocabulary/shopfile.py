"""Changes to a shop's own words: import, add, remove, export.

Nothing is ever doubled; a file changes whole or not at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from intake.errors import VocabularyError
from intake.vocabulary.importing import BadRow, Entry, read_entries
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.names import spoken
from intake.vocabulary.shopwords import (
    ALIAS_KINDS,
    FILES,
    TERM_KINDS,
    ShopWords,
    append,
    clean,
    read_shop,
    rewrite,
)
from intake.vocabulary.terms import Vocabulary, name_key

__all__ = ["ImportResult", "add_alias", "add_maker", "add_model", "add_place", "add_term", "export",
           "import_vocabulary",
           "read_shop", "remove", "unit_type_of"]


@dataclass(frozen=True)
class ImportResult:
    """What an import did: entries added, entries that were there already, rows not used (line, reason)."""

    added: int = 0
    already: int = 0
    bad_rows: list[tuple[int, str]] = field(default_factory=list)


def import_vocabulary(file: Path, shop_vocab: Path) -> ImportResult:
    """Add the makers, models and places of a CSV or JSON file to the shop's; doing it again adds nothing.

    Bad rows are reported by line, good ones kept. Raises VocabularyError where the whole file cannot be read.
    """
    merge = _Merge(read_shop(shop_vocab), load_vocabulary(None))
    for entry in read_entries(file):
        merge.take(entry)
    merge.write(shop_vocab)
    return ImportResult(added=merge.added, already=merge.already, bad_rows=sorted(merge.bad))


class _Merge:
    """Gathers what is new of a file against what the shop has."""

    def __init__(self, words: ShopWords, vocabulary: Vocabulary) -> None:
        self.vocabulary = vocabulary
        self.added = self.already = 0
        self.bad: list[tuple[int, str]] = []
        self.makers = {name_key(m): m for m in words.makers}
        self.models = {(name_key(m.maker), name_key(m.name)): m.unit_type for m in words.models}
        self.places = {_place_key(place) for place in words.locations}
        self.aliases = {(heard, kind) for heard, kind, _ in words.aliases}
        self.terms = set(words.terms)
        self.new: dict[str, list[tuple[str, ...]]] = {what: [] for what in FILES}
        self.typed: dict[tuple[str, str], str] = {}    # models that had no unit type and now get one

    def take(self, entry: Entry | BadRow) -> None:
        """Count one row, and keep it if it is new."""
        if isinstance(entry, BadRow):
            self.bad.append((entry.line, entry.reason))
            return
        takes = {"maker": self._maker, "model": self._model, "location": self._place, "alias": self._alias,
                 "term": self._term}
        takes[entry.what](entry)

    def _count(self, new: bool) -> None:
        self.added += new
        self.already += not new

    def _maker(self, entry: Entry) -> None:
        self._count(self._know(entry.fields[0]))

    def _know(self, maker: str) -> bool:
        key = name_key(maker)
        if key in self.makers:
            return False
        self.makers[key] = maker
        self.new["maker"].append((maker,))
        return True

    def _model(self, entry: Entry) -> None:
        maker, model, said = entry.fields
        unit_type = unit_type_of(said, self.vocabulary) if said else None
        if said and unit_type is None:
            self.bad.append((entry.line, f"unit type {said!r} is unknown; the model was kept without it"))
        if self._know(maker):
            self.added += 1
        key = (name_key(maker), name_key(model))
        if key not in self.models:
            self.models[key] = unit_type
            self.new["model"].append((self.makers[key[0]], model, unit_type or ""))
            self.added += 1
        elif unit_type and self.models[key] is None:
            self.models[key] = self.typed[key] = unit_type
            self.added += 1
        else:
            if unit_type and unit_type != self.models[key]:
                self.bad.append((entry.line,
                                 f"{maker} {model} is a {self.models[key]} here, not a {unit_type}; kept as it was"))
            self.already += 1

    def _place(self, entry: Entry) -> None:
        key = _place_key(entry.fields[0])
        new = key not in self.places
        if new:
            self.places.add(key)
            self.new["location"].append(entry.fields)
        self._count(new)

    def _alias(self, entry: Entry) -> None:
        heard, kind, canonical = entry.fields
        if kind not in ALIAS_KINDS:
            self.bad.append((entry.line, f"kind {kind!r} is unknown"))
            return
        new = (spoken(heard), kind) not in self.aliases
        if new:
            self.aliases.add((spoken(heard), kind))
            self.new["alias"].append((spoken(heard), kind, canonical))
        self._count(new)

    def _term(self, entry: Entry) -> None:
        kind, canonical = entry.fields
        if kind not in TERM_KINDS:
            self.bad.append((entry.line, f"kind {kind!r} is unknown"))
            return
        new = (kind, canonical) not in self.terms
        if new:
            self.terms.add((kind, canonical))
            self.new["term"].append((kind, canonical))
        self._count(new)

    def write(self, folder: Path) -> None:
        """Put what is new into the shop's files."""
        if self.typed:
            rewrite(folder, "model", self._with_type)
        # A model whose type was learned in the same file is new itself.
        self.new["model"] = [self._with_type(fields) for fields in self.new["model"]]
        for what, entries in self.new.items():
            if entries:
                append(folder, what, entries)

    def _with_type(self, fields: tuple[str, ...]) -> tuple[str, ...]:
        unit_type = self.typed.get((name_key(fields[0]), name_key(fields[1])))
        return (*fields[:2], unit_type) if unit_type else fields


def _place_key(place: str) -> str:
    return name_key(place)


def unit_type_of(said: str, vocabulary: Vocabulary) -> str | None:
    """The contract's unit type for a word such as "integrated amp"; None where it is unknown or unclear."""
    words = spoken(said.replace("_", " "))
    exact = next((t for t in vocabulary.allowed["unit_type"] if t.lower() == words), None)
    meant = {p.canonical for p in vocabulary.meanings(words) if p.kind == "unit_type"}
    return exact or (meant.pop() if len(meant) == 1 else None)


# ---------------------------------------------------------------- single changes

def _field(text: str) -> str:
    """A field as it goes into a shop file; raises VocabularyError where it cannot stand there."""
    value = clean(text)
    if not any(c.isalnum() for c in value) or "|" in value or value.startswith("#"):
        raise VocabularyError(f"{text!r} cannot be a name.",
                              hint="A name has letters or digits, and neither | nor a # in front.")
    return value


def add_maker(shop_vocab: Path, maker: str) -> bool:
    """Add a maker; False where it is there already."""
    return _added(shop_vocab, Entry("maker", (_field(maker),), 1))


def add_model(shop_vocab: Path, maker: str, model: str, unit_type: str | None = None) -> bool:
    """Add a model, and its maker where that is new; False where it is there already."""
    if unit_type and unit_type_of(unit_type, load_vocabulary(None)) is None:
        raise VocabularyError(f"unit type {unit_type!r} is unknown.",
                              hint=f"Known: {', '.join(load_vocabulary(None).allowed['unit_type'])}.")
    return _added(shop_vocab, Entry("model", (_field(maker), _field(model), clean(unit_type or "")), 1))


def add_place(shop_vocab: Path, place: str) -> bool:
    """Add a place; False where it is there already."""
    return _added(shop_vocab, Entry("location", (_field(place),), 1))


def add_term(shop_vocab: Path, kind: str, canonical: str) -> bool:
    """Add a term of the shop's own to a kind of the contract; False where it is there already."""
    if kind not in TERM_KINDS:
        raise VocabularyError(f"kind {kind!r} takes no terms of the shop's own.",
                              hint=f"Known: {', '.join(TERM_KINDS)}.")
    if canonical in load_vocabulary(None).allowed[kind]:
        return False
    return _added(shop_vocab, Entry("term", (kind, _field(canonical)), 1))


def add_alias(shop_vocab: Path, heard: str, kind: str, canonical: str) -> bool:
    """Teach that `heard` means `canonical`; False where this is known, an older meaning of `heard` is replaced.

    Raises VocabularyError where the kind is unknown or has no such term.
    """
    if kind not in ALIAS_KINDS:
        raise VocabularyError(f"kind {kind!r} is unknown.", hint=f"Known: {', '.join(ALIAS_KINDS)}.")
    words, meant = spoken(_field(heard)), _known(shop_vocab, kind, _field(canonical))
    existing = {(h, k): c for h, k, c in read_shop(shop_vocab).aliases}
    if existing.get((words, kind)) == meant:
        return False
    if (words, kind) in existing:
        rewrite(shop_vocab, "alias", lambda f: (words, kind, meant) if (spoken(f[0]), f[1]) == (words, kind) else f)
    else:
        append(shop_vocab, "alias", [(words, kind, meant)])
    return True


def _known(shop_vocab: Path, kind: str, canonical: str) -> str:
    """The canonical term as the vocabulary spells it."""
    words = read_shop(shop_vocab)
    known: Iterable[str] = {
        "maker": words.makers, "model": tuple(m.name for m in words.models), "location": words.locations,
    }.get(kind) or (*load_vocabulary(None).allowed.get(kind, ()), *(t for k, t in words.terms if k == kind))
    found = next((term for term in known if name_key(term) == name_key(canonical) or term == canonical), None)
    if found is None:
        raise VocabularyError(f"there is no {kind.replace('_', ' ')} {canonical!r} to mean.", path=shop_vocab,
                              hint="Add it first: intake vocab add.")
    return found


def _added(shop_vocab: Path, entry: Entry) -> bool:
    merge = _Merge(read_shop(shop_vocab), load_vocabulary(None))
    merge.take(entry)
    merge.write(shop_vocab)
    return merge.added > 0


def remove(shop_vocab: Path, what: str, *fields: str) -> int:
    """Remove entries whose first fields are these (a maker: with its models); returns how many went.

    `what` is "maker", "model", "location", "alias" or "term".
    """
    if what not in FILES:
        raise VocabularyError(f"{what!r} is nothing a shop keeps.", hint=f"Known: {', '.join(FILES)}.")
    wanted = [name_key(f) for f in fields]

    def gone(row: tuple[str, ...]) -> tuple[str, ...] | None:
        return None if [name_key(f) for f in row[:len(wanted)]] == wanted else row

    count = rewrite(shop_vocab, what, gone)
    if what == "maker":
        count += rewrite(shop_vocab, "model", gone)
    return count


def export(shop_vocab: Path) -> dict[str, Any]:
    """All of the shop's words as plain data; importing it into an empty shop gives the same words."""
    words = read_shop(shop_vocab)
    models: dict[str, list[str | dict[str, str]]] = {}
    for model in words.models:
        models.setdefault(model.maker, []).append(
            {"model": model.name, "unit_type": model.unit_type} if model.unit_type else model.name)
    return {"makers": list(words.makers), "models": models, "locations": list(words.locations),
            "aliases": [{"heard": h, "kind": k, "canonical": c} for h, k, c in words.aliases],
            "terms": [{"kind": k, "canonical": c} for k, c in words.terms]}
