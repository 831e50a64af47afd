"""Plurals, verb forms and written variants of spoken forms, by the ordinary rules of English spelling."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

PARTICLES = ("out", "up", "down", "off", "over", "in", "back", "away")
PRONOUNS = ("it", "them", "this", "that", "these", "those", "this one", "that one")

_VOWELS = "aeiou"
# One syllable, consonant-vowel-consonant: the last letter doubles (swap -> swapped), but not w, x, y.
_DOUBLES = re.compile(r"^[^aeiou]*(?:qu)?[aeiou][bdgklmnprt]$")


def plural(word: str, irregular: Mapping[str, str] | None = None) -> str:
    """The plural of the last word: "tube" -> "tubes", "battery" -> "batteries", "binding post" -> "binding posts"."""
    *before, last = word.split(" ")
    return " ".join([*before, (irregular or {}).get(last) or _plural_of(last)])


def _plural_of(word: str) -> str:
    if word.endswith(("s", "x", "z", "ch", "sh")):
        return word + "es"
    if word.endswith("y") and len(word) > 1 and word[-2] not in _VOWELS:
        return word[:-1] + "ies"
    return word + "s"


def verb_forms(verb: str, irregular: Mapping[str, tuple[str, ...]] | None = None) -> tuple[str, ...]:
    """The base, -s, -ed and -ing forms of the first word, the rest unchanged.

    "swap out" -> "swap out", "swaps out", "swapped out", "swapping out", and with a pronoun
    before a closing particle ("swap it out", "swapped them out"). `irregular` gives all forms
    but the base ("send": sends, sent, sending).
    """
    first, _, rest = verb.partition(" ")
    forms = (first, *((irregular or {}).get(first) or _regular(first)))
    spoken = [f"{form} {rest}".strip() for form in dict.fromkeys(forms)]
    if rest in PARTICLES:
        spoken += [f"{form} {pronoun} {rest}" for form in dict.fromkeys(forms) for pronoun in PRONOUNS]
    return tuple(spoken)


def _regular(verb: str) -> tuple[str, ...]:
    third = _plural_of(verb)
    if verb.endswith("e") and not verb.endswith(("ee", "oe", "ye")):
        return third, verb + "d", verb[:-1] + "ing"
    if verb.endswith("y") and verb[-2:-1] not in _VOWELS:
        return third, verb[:-1] + "ied", verb + "ing"
    if _DOUBLES.match(verb):
        return third, verb + verb[-1] + "ed", verb + verb[-1] + "ing"
    return third, verb + ("d" if verb.endswith("e") else "ed"), verb + "ing"


_CONTRACTIONS = (("won't", "will not"), ("can't", "cannot"), ("can't", "can not"), ("isn't", "is not"),
                 ("doesn't", "does not"), ("don't", "do not"), ("didn't", "did not"), ("hasn't", "has not"),
                 ("haven't", "have not"), ("wasn't", "was not"), ("couldn't", "could not"), ("it's", "it is"))


def written_variants(words: str) -> Iterator[str]:
    """The form itself, then how else it is written: hyphens as blanks, contractions in full."""
    yield words
    if "-" in words:
        yield words.replace("-", " ")
    for short, full in _CONTRACTIONS:
        if re.search(rf"(?<!\w){re.escape(short)}(?!\w)", words):
            yield words.replace(short, full)
