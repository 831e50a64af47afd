"""Words of a job that tell none: "got the box", "the set", "bubble wrap", "nice to look at", "so that's sorted"."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.frames.parts import parts_in
from intake.language.reading import Reading
from intake.language.terms import Mention

# Job words that are things as well, and what stands before them where they are things
_THINGS = frozenset(
    ["set", "box", "boxes", "boxed", "list", "lists", "price", "pack", "packing", "photo", "photos", "picture", "pictures", "ring", "text", "message", "wrap", "bubble wrap", "shrink wrap", "crate", "crates", "call", "calls", "snap", "courier", "contact", "contacts", "order", "orders", "note", "value", "source", "phone", "package", "packed", "buffed", "stripped", "mark", "email", "e-mail", "photograph", "return", "returns", "parcel", "level", "levels", "back off", "test", "check"]
)
_OF_THINGS = frozenset(
    ["the", "a", "an", "its", "his", "her", "their", "my", "our", "this", "that", "no", "original", "through", "matched", "same", "one", "each", "every", "both", "of", "another", "first", "second", "next", "last", "full", "complete", "whole", "tuning", "in", "brown", "wooden", "old", "some", "any", "tv", "telly", "two", "three", "four", "five", "which", "top", "bottom", "on"]
)
_NUMBER_WORDS = frozenset(["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "point", "oh", "percent", "double", "treble", "triple", "serial", "number", "is"])
# Tools that are set or zeroed, not the unit
_TOOLS = frozenset(["scale", "scales", "meter", "gauge", "variac", "alarm", "clock", "timer", "phone", "recorder", "table", "record"])


def no_job(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """Whether the words of a job tell no job here."""
    words = reading.text.norms(clause.start, mention.start)
    before = words[-1] if words else ""
    needed = reading.contexts.has(mention.start, "todo") and before in {"a", "an", "to", "full", "complete"}
    if mention.phrase in _THINGS and before in _OF_THINGS and not needed:
        return True
    if mention.phrase in {"look at", "looking at"} and not _object(reading, mention, clause) and before in {"to", "for"}:
        return True
    behind = reading.text.norms(mention.end, min(clause.end, mention.end + 1))
    if mention.phrase == "zero" or (mention.canonical == "test" and behind in (["me"], ["that"]) and "check" in mention.phrase):
        return not behind or behind[0] in _NUMBER_WORDS or behind[0] in {"me", "that"} or before in _NUMBER_WORDS
    if mention.phrase in {"set", "zeroed", "reset", "set up", "adjusted", "zero"} and set(words[-4:]) & _TOOLS:
        return True
    return _sorted(reading, mention, clause) or _seen_set(reading, mention, words)


def _object(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """Whether something follows in the same breath: "look at the heads", not "to look at, it's fair"."""
    return mention.end < clause.end and not reading.text.tokens[mention.end - 1].after


def _sorted(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "So that's sorted": a matter settled; a job only where a part or somebody's hand is named."""
    if mention.phrase.split()[0] not in {"sorted", "sort", "sorting"}:
        return False
    return not parts_in(reading, clause.start, clause.end)


def _seen_set(reading: Reading, mention: Mention, words: list[str]) -> bool:
    """ "I never set eyes on it", "all set", "dead set", "a set of": nothing was adjusted."""
    if mention.phrase != "set":
        return False
    behind = reading.text.norms(mention.end, mention.end + 1)
    return behind in (["of"], ["eyes"], ["foot"], ["aside"], ["on"], ["off"], ["down"], ["out"]) or words[-1:] in (
        ["all"],
        ["dead"],
        ["tea"],
        ["well"],
        ["wants"],
    )
