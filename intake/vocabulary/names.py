"""How the shop's own names are said: makers, models and places as spoken forms."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from intake.vocabulary import digits
from intake.vocabulary.inflect import plural, verb_forms

_MARK = re.compile(r"(?<![a-z])(?:mark|mk)[\s.-]*(?P<number>[ivx]+|\d+)(?![a-z\d])")
_ROMAN = ("", "i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x")


def maker_forms(maker: str) -> tuple[str, ...]:
    """A maker as written and in the plural ("a pair of Wexcombes"), hyphens also as blanks."""
    name = spoken(maker)
    forms = [name, name.replace("-", " "), re.sub(r"[^\w\s]", "", name)]
    return tuple(dict.fromkeys([*forms, *(plural(form) for form in forms), *(form + "'s" for form in forms)]))


def model_forms(model: str) -> tuple[str, ...]:
    """A model as written and as said: "AI-350" gives "ai-350", "ai 350", "ai350", "a i three fifty", and its plural.

    Only the usual ways, as a shop may have tens of thousands of models; any other spelling of letters and
    digits is the same by `terms.name_key`.
    """
    name = spoken(model)
    found = _MARK.search(name)
    body = (name[:found.start()] + name[found.end():]).strip() if found else name
    bodies = _body_forms(body)
    if not found:
        return tuple(dict.fromkeys([*bodies, f"{name}s", plural(bodies[-1])]))
    value = _ROMAN.index(found["number"]) if found["number"] in _ROMAN else int(found["number"])
    ends = [f"mark {_roman(value)}", f"mark {value}", f"mk {_roman(value)}", f"mk{value}"]
    forms = [f"{form} {end}".strip() for form in bodies[:3] for end in ends]
    return tuple(dict.fromkeys([name, *forms, f"{bodies[-1]} mark {digits.below_hundred(value % 100)}".strip()]))


def _body_forms(body: str) -> tuple[str, ...]:
    parts = re.findall(r"\d+|[^\W\d_]+", body)
    if not parts or "." in body:
        return (body,)
    said = [_said(p) if p.isdigit() else (" ".join(p) if len(p) <= 3 else p) for p in parts]
    return tuple(dict.fromkeys([body, " ".join(parts), "".join(parts), " ".join(said)]))


def _said(number: str) -> str:
    return digits.readings(number)[0]


def _roman(value: int) -> str:
    return _ROMAN[value] if 0 < value < len(_ROMAN) else str(value)


def place_forms(place: str) -> tuple[str, ...]:
    """A place as said: "shelf B2" gives "shelf b2", "shelf b 2", "shelf b two"; "bay 3" gives "bay three"."""
    name = spoken(place)
    parts = re.findall(r"\d+|[^\W\d_]+|[^\w\s]", name)
    apart = [p for p in parts if p.isalnum()]
    words = [_said(p) if p.isdigit() else p for p in apart]
    return tuple(dict.fromkeys([name, " ".join(apart), " ".join(words), " ".join(words).replace("-", " ")]))


def spoken(name: str) -> str:
    """Lower case with single blanks, curly apostrophes straight."""
    return " ".join(name.replace("’", "'").lower().split())


def all_forms(kind: str, name: str) -> Iterator[tuple[str, bool]]:
    """Each spoken form of a shop name with whether it is ambiguous by itself, as a model that is a plain number is."""
    plain_number = kind == "model" and not any(c.isalpha() for c in name)
    makers: Mapping[str, Callable[[str], tuple[str, ...]]] = {
        "maker": maker_forms, "model": model_forms, "location": place_forms}
    for form in makers[kind](name) if kind in makers else _term_forms(kind, spoken(name)):
        yield form, plain_number


def _term_forms(kind: str, words: str) -> tuple[str, ...]:
    """A shop's own term as said: things also in the plural, work in all verb forms."""
    if kind == "work":
        return verb_forms(words)
    return (words, plural(words)) if kind in ("part", "unit_type", "accessory") else (words,)
