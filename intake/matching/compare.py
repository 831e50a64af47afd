"""Whether two sightings agree in a field: fully, nearly, not, or nothing to compare.

Letters may be fuzzy, digits must agree. Values are compared without case, blanks and punctuation.
"""

from __future__ import annotations

import re
from enum import Enum

from rapidfuzz.distance import OSA, JaroWinkler


class Agreement(Enum):
    """How two values of one field compare."""

    FULL = "agrees"
    NEAR = "nearly agrees"
    NONE = "differs"
    OPEN = "unknown"


def plain(value: str | None) -> str:
    """Letters and digits only, upper case."""
    return re.sub(r"[^0-9A-Z]", "", (value or "").upper())


def serials(a: str | None, b: str | None) -> Agreement:
    """Exact, or off by one letter or digit or by two neighbours changed places.

    Distance: optimal string alignment, for serials of four and more; a short one is the same or another.
    """
    x, y = plain(a), plain(b)
    if not x or not y:
        return Agreement.OPEN
    if x == y:
        return Agreement.FULL
    near = min(len(x), len(y)) >= 4 and OSA.distance(x, y) <= 1
    return Agreement.NEAR if near else Agreement.NONE


def models(a: str | None, b: str | None) -> Agreement:
    """The same letters and digits; or the same digits and nearly the same letters; or one lacks its version mark."""
    x, y = plain(a), plain(b)
    if not x or not y:
        return Agreement.OPEN
    if x == y:
        return Agreement.FULL
    short, long = sorted((x, y), key=len)
    if re.fullmatch(re.escape(short) + r"(MK\w{1,4}|[A-Z])", long):
        return Agreement.NEAR
    if re.sub(r"\D", "", x) != re.sub(r"\D", "", y):
        return Agreement.NONE
    letters = re.sub(r"\d", "", x), re.sub(r"\d", "", y)
    return Agreement.NEAR if OSA.distance(*letters) <= 1 else Agreement.NONE


def names(a: str | None, b: str | None) -> Agreement:
    """Makers: the same, or near in letters (Jaro-Winkler 0.9)."""
    x, y = plain(a), plain(b)
    if not x or not y:
        return Agreement.OPEN
    if x == y:
        return Agreement.FULL
    return Agreement.NEAR if JaroWinkler.similarity(x, y) >= 0.9 else Agreement.NONE


def places(a: str | None, b: str | None) -> Agreement:
    """The same place, or the same kind of place with the same letter ("shelf B2", "shelf B3")."""
    x, y = plain(a), plain(b)
    if not x or not y:
        return Agreement.OPEN
    if x == y:
        return Agreement.FULL
    stem = re.sub(r"\d+$", "", x)
    return Agreement.NEAR if stem and stem != x and stem == re.sub(r"\d+$", "", y) else Agreement.NONE


def types(a: str | None, b: str | None, alike: tuple[frozenset[str], ...]) -> Agreement:
    """The same term, or two of a group that is easily taken for each other."""
    if not a or not b:
        return Agreement.OPEN
    if a == b:
        return Agreement.FULL
    return Agreement.NEAR if any(a in group and b in group for group in alike) else Agreement.NONE
