"""The trade's own words, shipped with the program: vocab/terms.yaml and vocab/spoken/*.yaml as phrases."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from pathlib import Path

from intake.vocabulary import grammar, inflect
from intake.vocabulary.folder import cache_folder, write_cache
from intake.vocabulary.terms import CONTRACT_KINDS, UNITS_OF_MEASURE, Phrase
from intake.vocabulary.tubes import is_ambiguous, spoken_forms, tube_types

CACHE_FORMAT = 3  # raise it when what is cached, or how forms are made, changes


@dataclass(frozen=True)
class Trade:
    """The trade's phrases, the canonical terms per kind, and the spoken units that count more than once."""

    phrases: tuple[Phrase, ...]
    allowed: dict[str, tuple[str, ...]]
    scales: dict[str, float]


def spoken_files(folder: Path) -> list[Path]:
    """The files of spoken forms, in order of name."""
    return sorted((folder / "spoken").glob("*.yaml"))


def read_terms(folder: Path) -> dict[str, tuple[str, ...]]:
    """Canonical terms per kind from terms.yaml, the contract's words unchanged, and the contract's units."""
    path = folder / "terms.yaml"
    node = grammar.compose(grammar.read_text(path), path)
    keys = tuple(CONTRACT_KINDS.values())
    lists = grammar.mapping_of(node, path, keys, grammar.names_of, needed=keys)
    allowed: dict[str, tuple[str, ...]] = {kind: lists[key] for kind, key in CONTRACT_KINDS.items()}
    return {**allowed, "unit_of_measure": UNITS_OF_MEASURE, "tube": tube_types(folder)}


def forms_of(file: grammar.SpokenFile, forms: grammar.TermForms) -> Iterator[tuple[str, bool]]:
    """Every spoken form of a term with whether it is ambiguous; what `unsure` lists is, however else it came."""
    unsure = dict.fromkeys(
        variant for words in _inflected(file, forms.unsure, forms.unsure_verbs) for variant in
        inflect.written_variants(words))
    sure = dict.fromkeys(
        variant for words in (*_inflected(file, (*forms.say, *forms.scaled), forms.verbs), *forms.exact)
        for variant in inflect.written_variants(words))
    yield from ((words, False) for words in sure if words not in unsure)
    yield from ((words, True) for words in unsure)


def _inflected(file: grammar.SpokenFile, said: tuple[str, ...], verbs: tuple[str, ...]) -> Iterator[str]:
    for words in said:
        yield words
        if file.inflect == "noun":
            yield inflect.plural(words, file.plurals)
    for verb in verbs:
        yield from inflect.verb_forms(verb, file.irregular)


def read_trade(folder: Path) -> Trade:
    """Read and check all trade files; raises VocabularyError with file and line."""
    allowed = read_terms(folder)
    phrases: list[Phrase] = []
    scales: dict[str, float] = {}
    for path in spoken_files(folder):
        file = grammar.read_spoken(path)
        for term, forms in file.terms.items():
            if file.kind in allowed and term not in allowed[file.kind]:
                raise grammar.fault(path, forms.line, f"{term!r} is no {file.kind} of the contract.",
                                    "vocab/terms.yaml lists them; a shop's own terms go into its vocab folder.")
            phrases += [Phrase(words, file.kind, term, "trade", unsure) for words, unsure in forms_of(file, forms)]
            scales |= {form: factor for words, factor in forms.scaled.items()
                       for form in (words, inflect.plural(words, file.plurals))}
        if file.kind == "place_noun":
            allowed = {**allowed, "place_noun": tuple(file.terms)}
    phrases += [Phrase(words, "tube", tube, "trade", is_ambiguous(words))
                for tube in allowed["tube"] for words in spoken_forms(tube)]
    return Trade(phrases=tuple(dict.fromkeys(phrases)), allowed=allowed, scales=scales)


def load_trade(folder: Path) -> Trade:
    """As `read_trade`, from a cache where the files have not changed since (the YAML takes a third of a second)."""
    cache = cache_folder() / f"trade-{_fingerprint(folder)}.json"
    try:
        data = json.loads(cache.read_text(encoding="utf-8"))
        return Trade(tuple(Phrase(*row) for row in data["phrases"]),
                     {kind: tuple(terms) for kind, terms in data["allowed"].items()}, data["scales"])
    except (OSError, ValueError, KeyError, TypeError):
        pass  # no cache yet, or a damaged one: read the files themselves
    trade = read_trade(folder)
    write_cache(cache, json.dumps({"phrases": [astuple(p) for p in trade.phrases], "allowed": trade.allowed,
                                   "scales": trade.scales}, ensure_ascii=False).encode())
    return trade


def _fingerprint(folder: Path) -> str:
    digest = hashlib.sha256(str(CACHE_FORMAT).encode())
    code = Path(__file__).parent
    files = (folder / "terms.yaml", folder / "tubes.yaml", *spoken_files(folder))
    for path in (*files, code / "inflect.py", code / "tubes.py", code / "digits.py", code / "trade.py"):
        try:
            digest.update(path.name.encode() + path.read_bytes())
        except OSError:
            digest.update(b"missing " + path.name.encode())
    return digest.hexdigest()[:24]
