"""Vacuum-tube type designations: the two letter-and-digit systems, and the list of types (vocab/tubes.yaml).

American (RETMA/EIA): heater volts, letters, number of useful elements, suffix (12AX7, 6SN7GTB).
European (Pro Electron): heater code, one letter a section, base and serial digits (ECC83), digits
before the last letters for special quality (E88CC). Rules and equal types: Radiotron Designer's
Handbook, 4th edition, and substitution lists.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from intake.vocabulary import digits, grammar
from intake.vocabulary.folder import vocab_folder

_AMERICAN = re.compile(
    r"(?P<heater>\d{1,3})(?P<letters>[A-HJ-NP-Z]{1,3})(?P<elements>1[0-2]|[1-9])"
    r"(?P<suffix>W?(?:GT|GX|G|MG|M)?W?[A-F]?[YX]?)")
_EUROPEAN = re.compile(r"(?P<heater>[ACDEGHKLPUV]|X(?=[A-Z]{2}))(?P<sections>[A-FHKLMYZ]{1,4})"
                       r"(?P<digits>[3-69]\d|8\d|18\d|[2589]\d\d)(?P<suffix>[ABS]?)")
_SPECIAL = re.compile(r"(?P<heater>[EP])(?P<digits>[3-69]\d|8\d|18\d|[2589]\d\d)(?P<sections>[A-FHKLMYZ]{1,3})")

_HEATER_EUROPEAN = {"A": "4 V", "C": "200 mA", "D": "1.4 V", "E": "6.3 V", "G": "5 V", "H": "150 mA", "K": "2 V",
                    "L": "450 mA", "P": "300 mA", "U": "100 mA", "V": "50 mA", "X": "600 mA"}
_SECTIONS = {"A": "diode", "B": "double diode", "C": "triode", "D": "power triode", "E": "tetrode", "F": "pentode",
             "H": "hexode or heptode", "K": "octode", "L": "power pentode", "M": "tuning indicator",
             "Y": "half-wave rectifier", "Z": "full-wave rectifier"}
_BASES = {"3": "octal", "4": "rimlock", "5": "magnoval", "8": "noval", "9": "miniature 7 pins"}
_HEATER_AMERICAN = {5: 5.0, 6: 6.3, 7: 6.3, 12: 12.6, 14: 12.6}  # 7 and 14: lock-in types, really 6.3 and 12.6
_FIRST_NUMBERS = frozenset({*range(20), *range(20, 61), 70, 117})


@dataclass(frozen=True)
class Designation:
    """What a type designation says. `elements` is the American last digit; `sections` and `base` are European."""

    tube: str
    system: str                      # "American", "European" or "registered" (follows neither)
    heater: str | None = None
    elements: int | None = None
    sections: tuple[str, ...] = ()
    base: str | None = None


def normalize(text: str) -> str:
    """The type as written on the glass: "el-34" is "EL34", "12 ax 7" is "12AX7", "OA2" is "0A2"."""
    joined = re.sub(r"[\s.\-/]+", "", text).upper()
    return re.sub(r"^O(?=[A-Z]\d)", "0", joined)


def read_designation(text: str) -> Designation | None:
    """What the designation says by its rules; None where it follows neither system and is not on the list."""
    tube = normalize(text)
    if tube in tube_list().registered:
        return Designation(tube, "registered")
    return _american(tube) or _european(tube) or (Designation(tube,
                                                              "registered") if tube in tube_list().known else None)


def _american(tube: str) -> Designation | None:
    found = _AMERICAN.fullmatch(tube)
    if not found or int(found["heater"]) not in _FIRST_NUMBERS or (len(found["heater"]) > 1 and tube[0] == "0"):
        return None
    volts = int(found["heater"])
    heater = "cold cathode" if volts == 0 else f"{_HEATER_AMERICAN.get(volts, float(volts)):g} V"
    return Designation(tube, "American", heater, elements=int(found["elements"]))


def _european(tube: str) -> Designation | None:
    found = _EUROPEAN.fullmatch(tube) or _SPECIAL.fullmatch(tube)
    if not found:
        return None
    base = found["digits"]
    first = "8" if len(base) == 3 and base.startswith("1") else base[0]
    return Designation(tube, "European", _HEATER_EUROPEAN[found["heater"]],
                       sections=tuple(_SECTIONS[letter] for letter in found["sections"]), base=_BASES.get(first))


def is_tube_type(text: str) -> bool:
    """Whether this can be a tube type: it is on the list, or follows one of the two systems."""
    return read_designation(text) is not None


def is_known_tube(text: str) -> bool:
    """Whether this is a type on the list; safer than the rules where a model name could look alike."""
    return normalize(text) in tube_list().known


@dataclass(frozen=True)
class TubeList:
    """vocab/tubes.yaml: the types known, those that shops meet every week, and the pairs of names of one tube."""

    registered: frozenset[str]
    known: frozenset[str]
    common: frozenset[str]
    equal: Mapping[str, str]


@lru_cache(maxsize=2)
def tube_list(folder: Path | None = None) -> TubeList:
    """Read the list of types; raises VocabularyError with file and line where it breaks its grammar."""
    path = (folder or vocab_folder()) / "tubes.yaml"
    keys = ("registered", "system", "common", "equal")
    top = grammar.mapping_of(grammar.compose(grammar.read_text(path), path), path, keys,
                             dict.fromkeys(keys, grammar.names_of) | {"equal": _pairs_of}, needed=keys)
    pairs: list[tuple[str, str]] = top["equal"]
    registered = frozenset(top["registered"])
    return TubeList(registered, registered | frozenset(top["system"]), frozenset(top["common"]),
                    dict(pairs) | {b: a for a, b in pairs})


def _pairs_of(node: Any, path: Path) -> list[tuple[str, str]]:
    pairs = []
    for item in node.value:
        names = grammar.names_of(item, path)
        if len(names) != 2:
            raise grammar.fault(path, item.start_mark.line + 1, "a pair [a, b] is expected here.")
        pairs.append((names[0], names[1]))
    return pairs


def tube_types(folder: Path | None = None) -> tuple[str, ...]:
    """All types on the list, in order."""
    return tuple(sorted(tube_list(folder).known))


def other_name(text: str) -> str | None:
    """The same tube's name in the other system ("ECC83" for "12AX7"), or None where there is none."""
    return tube_list().equal.get(normalize(text))


def spoken_forms(tube: str) -> tuple[str, ...]:
    """How a type is said and written, lower case: "EL34" gives "el34", "el 34", "e l thirty-four", and plurals.

    Rare types get their written forms only; spoken numbers and letters reach these through the
    number rules of the language step.
    """
    parts = re.findall(r"\d+|[a-z]+", tube.lower())
    common = tube in tube_list().common
    written = ["".join(parts), "-".join(parts), " ".join(parts)]
    if tube.endswith("S") and tube[:-1] in tube_list().known:
        del written[0]  # "ECC83s" is more of the ECC83
    if common:
        written.append(" ".join(" ".join(p) if p.isalpha() else p for p in parts))
        for reading in range(2):
            said = " ".join(" ".join(p) if p.isalpha() else _reading(p, reading) for p in parts)
            written += [said, said.replace("-", " ")]
    forms = list(dict.fromkeys(written if common or len(parts) > 1 else parts))
    counted = forms if common else forms[:1]
    return tuple(dict.fromkeys([*forms, *(plural for form in counted for plural in _plurals(form))]))


def _reading(number: str, which: int) -> str:
    said = digits.readings(number)
    return said[min(which, len(said) - 1)]


def _plurals(form: str) -> tuple[str, ...]:
    if form.endswith("six"):
        return (form + "es",)
    if form.endswith("y"):
        return (form[:-1] + "ies",)
    return (form + "s", form + "'s") if form[-1].isdigit() else (form + "s",)


def is_ambiguous(form: str) -> bool:
    """Whether a spoken form is as well a plain number ("eighty", "845"): a tube only where the sentence says so."""
    counted = form.removesuffix("s").removesuffix("'")
    return any(all(token.isdigit() for token in digits.join_numbers(words.split())) for words in (form, counted))
