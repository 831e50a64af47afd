"""A list item as a person types it -> the record's item: "left channel dead suspected", "recap 2019 by Ann".

What `export.in_words` writes is read back as the same item, so a line can be opened, changed and kept.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from intake.errors import UsageError
from intake.records.values import SHAPES

if TYPE_CHECKING:
    from intake.review.lexicon import Lexicon

LONGEST = 5                                    # words of a term
_FREE = {"by": "by", "due": "due", "waiting on": "waiting_on", "waiting for": "waiting_on", "waits for": "waiting_on"}
_MARK = re.compile(r"(?i)\b(" + "|".join(_FREE) + r")\b")
_DATE = re.compile(r"\d{4}(-\d\d){0,2}")
_NUMBER = re.compile(r"(?P<number>-?\d+(?:\.\d+)?)(?P<unit>[a-zA-Z%]*)")
_START: dict[str, dict[str, Any]] = {"issues": {"state": "present"}, "accessories": {"present": True}}


def read(field: str, line: str, lexicon: Lexicon) -> dict[str, Any]:
    """The item that a line means; UsageError where words are left over, for nothing typed is ever dropped."""
    shape = SHAPES[field]
    item: dict[str, Any] = dict.fromkeys(shape) | _START.get(field, {})
    if re.match(r"\s*\w+\s*=", line):
        return item | _named_parts(field, line)
    if field == "accessories":
        found = re.match(r"(?i)(no|not|without|missing)\s+(.+)", line)
        item["present"] = found is None
        line = found[2] if found else line
    for piece in re.split(r"[(),;]", line):
        _read_piece(field, piece, item, lexicon)
    return item


def _named_parts(field: str, line: str) -> dict[str, Any]:
    """Parts written as name=value, with commas between them."""
    out = {}
    for piece in line.split(","):
        name, _, said = piece.partition("=")
        if name.strip() not in SHAPES[field]:
            raise UsageError(f"{name.strip()!r} is no part of {field}.", hint=f"It has: {', '.join(SHAPES[field])}.")
        out[name.strip()] = said.strip() or None
    return out


def _read_piece(field: str, piece: str, item: dict[str, Any], lexicon: Lexicon) -> None:
    shape = SHAPES[field]
    cuts = [m for m in _MARK.finditer(piece) if _FREE[m[1].lower()] in shape]
    for number, mark in enumerate(cuts):
        end = cuts[number + 1].start() if number + 1 < len(cuts) else len(piece)
        item[_FREE[mark[1].lower()]] = " ".join(piece[mark.end():end].split()) or None
    words = piece[: cuts[0].start() if cuts else len(piece)].replace(":", " ").split()
    while words:
        used = _take(shape, words, item, lexicon)
        if not used:
            raise UsageError(f"{' '.join(words)!r} is not understood.", hint=_hint(field, lexicon, words))
        words = words[used:]


def _take(shape: Any, words: list[str], item: dict[str, Any], lexicon: Lexicon) -> int:
    """How many words the next part takes; 0 where none fits."""
    if "date" in shape and _DATE.fullmatch(words[0]):
        item["date"] = words[0]
        return 1
    number = _NUMBER.fullmatch(words[0]) if "value" in shape and item["value"] is None else None
    if number:
        item["value"] = float(number["number"])
        if number["unit"]:
            item["unit"] = lexicon.term("unit_of_measure", number["unit"])
        return 1
    free = [(key, kind) for key, kind in shape.items() if kind in lexicon.terms and _is_free(key, item)]
    for meaning in (lexicon.exact, lexicon.meant):  # the record's own words first: "left channel" is a side and a part
        for length in range(min(LONGEST, len(words)), 0, -1):
            for key, kind in free:
                meant = meaning(kind, " ".join(words[:length]))
                if meant is not None:
                    item[key] = meant
                    return length
    return 0


def _is_free(key: str, item: dict[str, Any]) -> bool:
    return item[key] is None or (key == "state" and item[key] == "present")


def _hint(field: str, lexicon: Lexicon, words: list[str]) -> str:
    begun = [term for kind in SHAPES[field].values() for term in lexicon.terms.get(kind, ())
             if words[0] and term.casefold().startswith(words[0].casefold())]
    if begun:
        return f"Perhaps: {', '.join(begun[:6])}."
    return f"Say its parts in the record's words: {', '.join(SHAPES[field])}; or as {next(iter(SHAPES[field]))}=..."
