"""A reviewer who knows the answers and only has the keyboard: looks at the screen, presses keys, counts them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from textual.pilot import Pilot

from intake.language.draft import LISTS, SCALARS
from intake.records.export import in_words
from intake.records.heads import LINK, PHOTO, VALUE
from intake.review.desk import Desk
from intake.review.rows import NEW_LETTERS, Row

BY = {"issues": ("part", "symptom", "side", "state"), "service": ("work", "part", "date", "by"),
      "actions": ("work", "part", "due", "waiting_on"), "accessories": ("item", "present"),
      "measurements": ("what", "value", "unit", "side")}


def norm(value: Any) -> Any:
    """As the answer keys compare text: without case and punctuation."""
    return "".join(c for c in value.casefold() if c.isalnum()) or None if isinstance(value, str) else value


def same(field: str, one: Any, other: Any) -> bool:
    """Whether two values of a field are the same by the answer key."""
    if field in BY and isinstance(one, dict) and isinstance(other, dict):
        return all(norm(one.get(key)) == norm(other.get(key)) for key in BY[field])
    return bool(norm(one) == norm(other))


@dataclass
class Count:
    """What it took."""

    accepted: int = 0
    accept_keys: int = 0
    corrected: int = 0
    correct_keys: int = 0                      # besides the letters typed, going to the line included
    letters: int = 0
    turned: int = 0                            # from unit to unit, to look over what nothing asks about


class Reviewer:
    """Corrects a walk to its answer key by keys alone; `units`: the key's units by the record they are."""

    def __init__(self, desk: Desk, pilot: Pilot[None], units: dict[str, dict[str, Any]]) -> None:
        self.desk, self.pilot, self.units = desk, pilot, units
        self.count = Count()
        self.photos = {stem: about for about, unit in units.items() for stem in unit["photos"]}

    async def run(self) -> None:
        """First what is asked, then every unit from the first to the last."""
        while self.desk.head is not None:
            await self._settle()
        order = list(self.desk.names())
        for _ in range(order.index(self.desk.about) if self.desk.about in order else 0):
            await self._turn("pageup")
        for n in range(len(order)):
            await self._check_card()
            if n < len(order) - 1:
                await self._turn("pagedown")

    def truth(self, row: Row) -> Any:
        """What the key says of a line."""
        if row.kind == PHOTO:
            return self.photos.get(row.name.rpartition(".")[0])
        unit = self.units[row.about]
        if row.field in SCALARS:
            return unit[row.field]
        held = next((item for item in unit[row.field] if same(row.field, item, row.value)), None)
        if held is not None:
            return held
        known = [r.value for r in self.desk.rows if r.field == row.field and r is not row]
        left = [item for item in unit[row.field] if not any(same(row.field, item, k) for k in known)]
        return left[0] if left else None

    async def _settle(self) -> None:
        """Answer the question in hand."""
        row = self.desk.row
        assert row is not None
        assert row.asked
        if row.kind == LINK:
            raise NotImplementedError("the example walks from text ask none")
        if row.kind in (VALUE, PHOTO) and same(row.field, row.value, self.truth(row)):
            before = self.desk.store.count_questions()
            await self._press(["space"])
            self.count.accept_keys += 1
            self.count.accepted += 1
            assert self.desk.store.count_questions() != before, self.desk.said
        else:
            await self._correct(row, self.truth(row))

    async def _check_card(self) -> None:
        """Put right every line of the unit shown."""
        while (wrong := next((r for r in self.desk.rows if self._is_wrong(r)), None)) is not None:
            if wrong.letter:
                await self._correcting(wrong.letter)
            else:
                for _ in range(self.desk.rows.index(wrong) - self.desk.cursor):
                    await self._correcting("down")
            await self._correct(wrong, self.truth(wrong))
        for field in LISTS:
            for item in self.units[self.desk.about][field]:
                if not any(r.field == field and same(field, r.value, item) for r in self.desk.rows):
                    await self._correcting(NEW_LETTERS[field])
                    await self._type(in_words(field, item))
                    self.count.corrected += 1

    def _is_wrong(self, row: Row) -> bool:
        return row.kind in (VALUE, PHOTO) and row.field in (*SCALARS, *LISTS, "photos") and not same(
            row.field, row.value, self.truth(row))

    async def _correct(self, row: Row, truth: Any) -> None:
        self.count.corrected += 1
        choice = next((n for n, (_, value) in enumerate(row.choices, 1) if same(row.field, value, truth)), None)
        if choice is not None:
            await self._correcting(str(choice))
        elif truth is None:
            await self._correcting("backspace")
        elif row.kind == PHOTO:
            await self._type(truth.rpartition("/")[2] + " ")
        else:
            await self._type(in_words(row.field, truth) if isinstance(truth, dict) else str(truth))

    async def _type(self, text: str) -> None:
        """Type a value and keep it; what begins with a capital is typed small, with a digit after the sign for it."""
        first = text[0].lower()
        if not first.isalpha():
            await self._correcting("=")
        line = text.lower() if text[0] != first and len(text.split()) == 1 else first + text[1:]
        await self._press(list(line))
        self.count.letters += len(line)
        await self._correcting("enter")

    async def _correcting(self, key: str) -> None:
        await self._press([key])
        self.count.correct_keys += 1

    async def _turn(self, key: str) -> None:
        await self._press([key])
        self.count.turned += 1

    async def _press(self, keys: Sequence[str]) -> None:
        await self.pilot.press(*keys)
