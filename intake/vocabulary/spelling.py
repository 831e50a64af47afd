"""Letters, digits and signs said one by one: vocab/spelling.yaml, checked."""

from __future__ import annotations

import string
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from intake.vocabulary import grammar
from intake.vocabulary.folder import vocab_folder

KEYS = ("letters", "digits", "repeats", "signs", "as_in")
LETTER_KEYS = ("standard", "names", "informal")


@dataclass(frozen=True)
class Spelling:
    """Spoken word -> character. `standard` words always mean their letter in a spelling ("bravo"); `names` are
    letter names as a recognizer writes them ("see"), mostly everyday words too; `informal` ones mean their
    letter only after `as_in` ("B as in boy")."""

    standard: Mapping[str, str]
    names: Mapping[str, str]
    informal: Mapping[str, str]
    digits: Mapping[str, str]
    repeats: Mapping[str, int]
    signs: Mapping[str, str]
    as_in: tuple[str, ...]

    def letter(self, word: str) -> str | None:
        """The letter that a word of the standard alphabet, or a lone letter, stands for: "Bravo" is "B"."""
        said = word.lower()
        if len(said) == 1 and said in string.ascii_lowercase:
            return said.upper()
        return self.standard.get(said)


@lru_cache(maxsize=2)
def load_spelling(folder: Path | None = None) -> Spelling:
    """Read the spelling file; raises VocabularyError with file and line where it breaks its grammar."""
    path = (folder or vocab_folder()) / "spelling.yaml"
    top = grammar.mapping_of(grammar.compose(grammar.read_text(path), path), path, KEYS, {
        "letters": _letters, "digits": _words, "repeats": _counts, "signs": _words, "as_in": grammar.list_of},
        needed=KEYS)
    letters: dict[str, dict[str, tuple[str, ...]]] = top["letters"]
    by_kind = {kind: {word: letter for letter, words in letters.items() for word in words.get(kind, ())}
               for kind in LETTER_KEYS}
    return Spelling(standard=by_kind["standard"], names=by_kind["names"], informal=by_kind["informal"],
                    digits=_inverse(top["digits"]), repeats=top["repeats"], signs=_inverse(top["signs"]),
                    as_in=top["as_in"])


def _inverse(words: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    return {word: sign for sign, said in words.items() for word in said}


def _letters(node: Any, path: Path) -> dict[str, dict[str, tuple[str, ...]]]:
    def letter(value: Any, where: Path) -> dict[str, tuple[str, ...]]:
        return grammar.mapping_of(value, where, LETTER_KEYS, dict.fromkeys(LETTER_KEYS, grammar.list_of))

    return grammar.mapping_of(node, path, tuple(string.ascii_uppercase), dict.fromkeys(string.ascii_uppercase,
                                                                                       letter))


def _words(node: Any, path: Path) -> dict[str, tuple[str, ...]]:
    return grammar.mapping_of(node, path, None, grammar.list_of)


def _counts(node: Any, path: Path) -> dict[str, int]:
    def number(value: Any, where: Path) -> int:
        text = grammar.scalar_of(value, where)
        if not text.isdigit():
            raise grammar.fault(where, value.start_mark.line + 1, f"{text!r} is no number.")
        return int(text)

    return grammar.mapping_of(node, path, None, number)
