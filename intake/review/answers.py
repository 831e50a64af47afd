"""A key or a typed correction -> a change to a record, with who and when; on disk when the call returns."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from intake.errors import UsageError
from intake.language.draft import LISTS
from intake.records.heads import CLOCK, LINK, PHOTO, VALUE
from intake.records.store import Store
from intake.review.lexicon import Lexicon
from intake.review.rows import NEW, Row, is_whole
from intake.review.words import plain, value_text

ACCEPTED, TOOK, TYPED, BLANKED = "accepted", "took", "typed", "blanked"
_OFFSET = re.compile(r"(?P<sign>[+-]?)(?:(?P<h>\d+)h)?\s*(?:(?P<m>\d+)m)?\s*(?:(?P<s>\d+(?:\.\d+)?)s?)?")


@dataclass(frozen=True)
class Answer:
    """What was decided: how, whether the machine had it right, and a sentence for the reviewer."""

    how: str
    row: Row
    value: Any
    right: bool
    said: str


class Answers:
    """One person's answers to one shop's records."""

    def __init__(self, store: Store, lexicon: Callable[[], Lexicon], who: str) -> None:
        self.store = store
        self.lexicon = lexicon
        self.who = who

    def accept(self, row: Row, also: Row | None = None) -> Answer:
        """It is right as it stands; `also`: another value of the card, by the same look.

        UsageError where there is nothing to say that of.
        """
        if row.kind == LINK:
            raise UsageError("this asks which of two.", hint="1: the same thing. 2: another one.")
        if row.kind == NEW:
            raise UsageError("nothing is there yet.", hint="Type what it is.")
        if row.kind == PHOTO:
            self.store.accept_photo(row.name, walk=row.walk, who=self.who)
        elif row.kind == CLOCK:
            self.store.set_clock(row.walk, row.name, float(row.value), who=self.who)
        elif row.id:
            self.store.accept(row.about, [row.name] if also is None else [row.name, also.name], who=self.who)
        else:
            raise UsageError(f"{row.label} is blank, and nothing asks about it.", hint="Type what it is, if you know.")
        both = "" if also is None else f" and {also.label}: {also.said}"
        said = f"{row.label}: seen" if is_whole(row) else f"{row.label}: {row.said}{both}, right as it stands"
        return Answer(ACCEPTED, row, row.value, True, said)

    def take(self, row: Row, number: int) -> Answer:
        """Another reading, by its number from 1."""
        if not 1 <= number <= len(row.choices):
            raise UsageError(f"there is no reading {number} here.", hint="To type a number: = and then the number.")
        shown, value = row.choices[number - 1]
        if row.kind == LINK and value is None:
            self.store.link_sighting(row.about, None, who=self.who)
        elif row.kind == LINK:
            self.store.answer_link(row.id, bool(value), who=self.who)
        elif row.kind == PHOTO:
            self.store.move_photo(row.name, value, walk=row.walk, who=self.who)
        else:
            value = self._set(row, self._choice(row, value))
        return Answer(TOOK, row, value, False, f"{row.label}: {shown}")

    def _choice(self, row: Row, value: Any) -> Any:
        """A reading as a value: list items stand there as JSON, or in words."""
        if row.field in LISTS and isinstance(value, str):
            return json.loads(value) if value.startswith("{") else self.lexicon().value(row.field, value)
        return value

    def typed(self, row: Row, line: str, *, maker: str | None = None) -> Answer:
        """What the reviewer typed instead. UsageError where the field cannot hold it; nothing is changed then."""
        if row.kind == CLOCK:
            seconds = offset(line)
            self.store.set_clock(row.walk, row.name, seconds, who=self.who)
            return Answer(TYPED, row, seconds, seconds == row.value, f"{row.name}: {seconds:+g} s ahead")
        if row.kind not in (VALUE, NEW) or is_whole(row):
            raise UsageError(f"{row.label} takes no typing.", hint="Space: right. Tab: what can be done with it.")
        value = self._set(row, self.lexicon().value(row.field, line, maker=maker))
        return Answer(TYPED, row, value, value == row.value, f"{row.label}: {value_text(row.field, value)}")

    def _set(self, row: Row, value: Any) -> Any:
        self.store.set_field(row.about, row.name, value, who=self.who)
        return value

    def blank(self, row: Row) -> Answer:
        """Nothing is to stand there; a photo is of no unit."""
        if row.kind == PHOTO:
            self.store.move_photo(row.name, None, walk=row.walk, who=self.who)
            return Answer(BLANKED, row, None, row.value is None, f"{row.name}: of no unit")
        if row.kind != VALUE or is_whole(row):
            raise UsageError(f"{row.label} cannot be left blank.")
        if row.value is None and not row.asked:
            raise UsageError(f"{row.label} is blank already.")
        self.store.blank_field(row.about, row.name, who=self.who)
        return Answer(BLANKED, row, None, row.value is None, f"{row.label}: left blank")

    def move_photo(self, row: Row, to: str | None, called: str) -> Answer:
        """The photo shows that record of its walk (None: no unit)."""
        self.store.move_photo(row.name, to, walk=row.walk, who=self.who)
        return Answer(TYPED, row, to, to == row.value, plain(f"{row.name}: of {called}"))


def offset(line: str) -> float:
    """A clock's offset as typed, in seconds: "45", "-125.5", "+1h", "1h 30m", "-0:02:05"; UsageError else."""
    text = line.strip().lower()
    sign = -1.0 if text.startswith("-") else 1.0
    if ":" in text:
        parts = text.lstrip("+-").split(":")
        if all(re.fullmatch(r"\d+(\.\d+)?", part) for part in parts) and len(parts) <= 3:
            total = 0.0
            for part in parts:
                total = total * 60 + float(part)
            return sign * total
    found = _OFFSET.fullmatch(text)
    if not found or not any(found[name] for name in "hms"):
        raise UsageError(f"{line!r} is no time.", hint="Say it as 45, -125.5, +1h, 1h 30m or -0:02:05.")
    return sign * (int(found["h"] or 0) * 3600 + int(found["m"] or 0) * 60 + float(found["s"] or 0))
