"""Which values a field may hold: checked here before they reach a table, whoever they come from.

The terms stand in `shared/intake-record-1.schema.json`; a shop adds its own to them.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Collection, Mapping, Sequence
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from intake.language.draft import LISTS, SCALARS

SCHEMA_NAME = "intake-record-1.schema.json"
Terms = Mapping[str, Collection[str]]

# The scalars that hold a term, and its kind (a name under "$defs" of the schema).
TERM_OF = {"unit_type": "unit_type", "grouping": "grouping", "stage": "stage", "source": "source",
           "cosmetic": "cosmetic"}
# The keys of each list's items: a kind of term, or one of the plain kinds below.
SHAPES: Mapping[str, Mapping[str, str]] = {
    "issues": {"part": "part", "symptom": "symptom", "side": "side", "state": "issue_state"},
    "service": {"work": "work", "part": "part", "date": "date", "by": "text"},
    "actions": {"work": "work", "part": "part", "due": "date", "waiting_on": "text"},
    "accessories": {"item": "accessory", "present": "yes or no"},
    "measurements": {"what": "measure", "value": "number", "unit": "unit_of_measure", "side": "side"},
}
# What an item cannot be without.
NEEDED = {"issues": ("state",), "service": ("work",), "actions": ("work",), "accessories": ("item", "present"),
          "measurements": ("what", "value")}
_DATE = re.compile(r"\d{4}(-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?)?", re.ASCII)


class ValueRefused(ValueError):
    """A value that the record has no place for; the message says what would do."""


@cache
def schema() -> dict[str, Any]:
    """The JSON Schema of the exported record, from the installed package or the checkout."""
    packaged = resources.files("intake").joinpath("_shared", SCHEMA_NAME)
    beside = Path(__file__).resolve().parents[2] / "shared" / SCHEMA_NAME
    text = packaged.read_text("utf-8") if packaged.is_file() else beside.read_text("utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


@cache
def contract_terms() -> dict[str, tuple[str, ...]]:
    """The canonical terms of each kind, as the schema enumerates them."""
    return {kind: tuple(rule["enum"]) for kind, rule in schema()["$defs"].items() if "enum" in rule}


def with_shop_terms(extra: Terms | None) -> dict[str, tuple[str, ...]]:
    """The contract's terms and a shop's own; `extra` maps a kind ("part", "work", ...) to terms."""
    terms = dict(contract_terms())
    for kind, words in (extra or {}).items():
        if kind in terms:
            terms[kind] = tuple(dict.fromkeys((*terms[kind], *words)))
    return terms


def checked(field: str, value: Any, terms: Terms) -> Any:
    """The value as the record writes it; None stays None. Raises ValueRefused where nothing fits.

    A serial keeps its letters and digits, upper case. A term is found whatever its case.
    """
    if value is None:
        return None
    if field == "quantity":
        return _quantity(value)
    if field in LISTS:
        return _item(field, value, terms)
    if field not in SCALARS:
        raise ValueRefused(f"there is no field {field!r}; fields are {', '.join(SCALARS + LISTS)}")
    text = _text(field, value)
    if field == "serial":
        return _serial(text)
    return _term(field, TERM_OF[field], text, terms) if field in TERM_OF else text


def offered(field: str, alternatives: Sequence[str], terms: Terms) -> tuple[str, ...]:
    """Those other readings that the field can hold; some come from the words beside it. Items of lists all pass."""
    return tuple(text for text in alternatives if field in LISTS or field not in SCALARS or _holds(field, text, terms))


def _holds(field: str, text: str, terms: Terms) -> bool:
    try:
        value = checked(field, text, terms)
    except ValueRefused:
        return False
    return field != "serial" or any(letter.isdigit() for letter in value)


def _text(name: str, value: Any) -> str:
    if not isinstance(value, str):
        raise ValueRefused(f"{name} is words, not {value!r}")
    text = " ".join(value.replace("\x00", " ").split())
    if not text:
        raise ValueRefused(f"{name} is empty; to leave a field blank, blank it")
    return text


def _serial(text: str) -> str:
    serial = re.sub(r"[^0-9A-Z]", "", text.upper())
    if not serial:
        raise ValueRefused(f"a serial number is letters and digits; {text!r} has none")
    return serial


def _quantity(value: Any) -> int:
    if isinstance(value, str) and value.strip().isascii() and value.strip().isdigit():
        value = int(value)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int) or not 1 <= value <= 1_000_000:
        raise ValueRefused(f"quantity is a whole number from 1 up, not {value!r}")
    return value


def _term(name: str, kind: str, text: str, terms: Terms) -> str:
    allowed = terms[kind]
    if text in allowed:
        return text
    for term in allowed:
        if term.casefold() == text.casefold():
            return term
    raise ValueRefused(f"{text!r} is no {name.replace('_', ' ')} of the record; known: {', '.join(allowed)}")


def _item(field: str, value: Any, terms: Terms) -> dict[str, Any]:
    shape = SHAPES[field]
    if not isinstance(value, Mapping):
        raise ValueRefused(f"one of {field} has the parts {', '.join(shape)}; {value!r} has none of them")
    unknown = [key for key in value if key not in shape]
    if unknown:
        raise ValueRefused(f"{field} has no part {unknown[0]!r}; it has {', '.join(shape)}")
    item = {key: _part(key, kind, value.get(key), terms) for key, kind in shape.items()}
    missing = [key for key in NEEDED[field] if item[key] is None]
    if missing:
        raise ValueRefused(f"one of {field} needs {missing[0]}")
    if field == "issues" and item["part"] is None and item["symptom"] is None:
        raise ValueRefused("an issue needs a part or a symptom")
    return item


def _part(key: str, kind: str, value: Any, terms: Terms) -> Any:
    if value is None:
        return None
    if kind == "yes or no":
        return _yes_or_no(key, value)
    if kind == "number":
        return _number(key, value)
    text = _text(key, value)
    if kind == "date":
        if not _DATE.fullmatch(text):
            raise ValueRefused(f"{key} is a date as 2019, 2019-06 or 2019-06-14, not {text!r}")
        return text
    return text if kind == "text" else _term(key, kind, text, terms)


def _yes_or_no(key: str, value: Any) -> bool:
    if isinstance(value, bool):
        return value
    if isinstance(value, str) and value.strip().casefold() in ("true", "yes", "false", "no"):
        return value.strip().casefold() in ("true", "yes")
    raise ValueRefused(f"{key} is yes or no, not {value!r}")


def _number(key: str, value: Any) -> float | int:
    if isinstance(value, str):
        try:
            value = float(value)
        except ValueError:
            raise ValueRefused(f"{key} is a number, not {value!r}") from None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise ValueRefused(f"{key} is a number, not {value!r}")
    return int(value) if isinstance(value, float) and value.is_integer() and abs(value) < 1e15 else value
