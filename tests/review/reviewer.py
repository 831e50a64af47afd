"""A reviewer who knows the answers and only has the keyboard: looks at the screen, presses keys, counts them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from textual.pilot import Pilot

from intake.language.draft import LISTS, SCALARS
from intake.records.export import in_words
from intake.records.heads import CLOCK, LINK, PHOTO, VALUE
from intake.review.desk import Desk
from intake.review.rows import NEW_LETTERS, Row, is_whole, mate
from intake.review.screen import ReviewApp
from intake.review.sheets import Choosing, Reading

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
    units: int = 0                             # units joined, removed, added, or told to be seen before
    unit_keys: int = 0                         # besides the letters typed
    taught: int = 0
    lessons: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Key:
    """What is true of a walk's records, by record; a camera's clock in seconds ahead, where a question asks for it.

    `extra`: records that should not be, each with the record that it is a piece of (None: of none).
    `missed`: units that have no record yet. `earlier`: unit of the shop that a record is, by its unit in the key.
    """

    units: Mapping[str, dict[str, Any]]
    extra: Mapping[str, str | None] = field(default_factory=dict)
    missed: Sequence[dict[str, Any]] = ()
    earlier: Mapping[str, str] = field(default_factory=dict)
    clock_s: float = 0.0


class Reviewer:
    """Corrects a walk to its answer key by keys alone; `teach`: says yes to all that is offered to be taught."""

    def __init__(self, desk: Desk, pilot: Pilot[None], key: Key, *, teach: bool = False) -> None:
        self.desk, self.pilot, self.key, self.teach = desk, pilot, key, teach
        assert isinstance(pilot.app, ReviewApp)
        self.app = pilot.app
        self.units = dict(key.units)
        self.count = Count()

    async def run(self) -> None:
        """First which units there are, then what is asked, then every unit from the first to the last."""
        await self._arrange()
        while self.desk.head is not None:
            await self._settle()
        order = list(self.desk.names())
        for _ in range(order.index(self.desk.about) if self.desk.about in order else 0):
            await self._turn("pageup")
        await self._strays(order)
        for n in range(len(order)):
            await self._check_card()
            await self._check_seen_before()
            if n < len(order) - 1:
                await self._turn("pagedown")

    # ---- which units there are

    async def _arrange(self) -> None:
        for about, part_of in self.key.extra.items():
            target = part_of if part_of in self.desk.names() else None
            await self._go_to(about if target is None else target)
            await self._whole("n" if target is None else "j")
            if target is not None:
                await self._choose(about)
            self.count.units += 1
            assert about not in self.desk.names(), self.desk.said
        for unit in self.key.missed:
            await self._whole("a")
            await self._unit_press(list(str(unit["unit_type"] or unit["maker"]).lower()))
            await self._unit_press(["enter"])
            self.units[self.desk.about] = unit
            self.count.units += 1

    async def _go_to(self, about: str) -> None:
        if self.desk.about != about:
            await self._whole("g")
            await self._choose(about)
        assert self.desk.about == about, (self.desk.about, about)

    async def _choose(self, about: str) -> None:
        """A record in a list, by its number, and by the arrows where that stands in other names too."""
        await self._unit_press([*about.rpartition("/")[2], " "])
        sheet = self.pilot.app.screen
        assert isinstance(sheet, Choosing)
        at = [key for key, _ in sheet.fitting()].index(about)
        await self._unit_press(["down"] * at + ["enter"])

    async def _whole(self, letter: str) -> None:
        await self._unit_press(["tab", letter])

    async def _unit_press(self, keys: Sequence[str]) -> None:
        typing = self.app.bench.line is not None or isinstance(self.pilot.app.screen, Choosing)
        await self._press(keys)
        letters = sum(len(key) == 1 for key in keys) if typing else 0
        self.count.letters += letters
        self.count.unit_keys += len(keys) - letters

    async def _check_seen_before(self) -> None:
        """A record that is of a unit on file and was not asked about, or was taken for the wrong one."""
        sighting = self.desk.sighting
        assert sighting is not None
        wanted = self._earlier(sighting.id)
        held = [s.id for s in self.desk.store.unit(sighting.unit).sightings]
        if (wanted is None and held[0] == sighting.id) or wanted == sighting.unit:
            return
        await self._whole("s")
        sheet = self.pilot.app.screen
        assert isinstance(sheet, Choosing)
        if wanted is not None and wanted not in [key for key, _ in sheet.fitting()]:
            await self._unit_press(list(str(self.units[sighting.id]["maker"]).lower()))
        at = [key for key, _ in sheet.fitting()].index(wanted or "")
        await self._unit_press(["down"] * at + ["enter"])
        self.count.units += 1

    def _earlier(self, about: str) -> str | None:
        return self.key.earlier.get(self.units[about].get("same_as") or "")

    # ---- what is asked, and what is wrong unasked

    def truth(self, row: Row) -> Any:
        """What the key says of a line."""
        if row.kind == PHOTO:
            return next((about for about, unit in self.units.items() if _stem(row.name) in unit["photos"]), None)
        if row.kind == CLOCK:
            return self.key.clock_s
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
        head = self.desk.head
        assert head is not None
        if self.desk.about != head.about:
            await self._turn("right")
        row = self.desk.row
        assert row is not None
        assert row.asked
        before = self.desk.store.count_questions()
        if row.kind == LINK:
            await self._press(["1" if self._earlier(row.about) == row.name else "2"])
            self.count.accept_keys += 1
            self.count.accepted += 1
        elif self._stands(row) and (also := mate(row, self.desk.rows)) is not None and not self._stands(also):
            await self._to_line(also)              # Space would accept both
            await self._correct(also, self.truth(also), gone_to=bool(also.letter))
        elif self._stands(row):
            await self._press(["space"])
            self.count.accept_keys += 1
            self.count.accepted += 1
            await self._maybe_teach()
        else:
            await self._correct(row, self.truth(row))
        assert self.desk.store.count_questions() != before, (row, self.desk.said)

    def _stands(self, row: Row) -> bool:
        if row.kind == CLOCK:
            return bool(abs(float(row.value) - self.key.clock_s) <= 1.5)
        return is_whole(row) or same(row.field, row.value, self.truth(row))

    async def _strays(self, order: Sequence[str]) -> None:
        """Photos that were placed with no unit: the walk's own card comes before its first unit."""
        if order and any(p.sighting is None and any(_stem(p.name) in u["photos"] for u in self.units.values())
                         for p in self.desk.store.photos(self.desk.walk)):
            await self._turn("pageup")
            while (wrong := next((r for r in self.desk.rows if r.kind == PHOTO and self._is_wrong(r)), None)) is not None:
                await self._to_line(wrong)
                await self._correct(wrong, self.truth(wrong), gone_to=bool(wrong.letter))
            if self.desk.sighting is None:
                await self._turn("pagedown")

    async def _check_card(self) -> None:
        """Put right every line of the unit shown."""
        while (wrong := next((r for r in self.desk.rows if self._is_wrong(r)), None)) is not None:
            await self._to_line(wrong)
            await self._correct(wrong, self.truth(wrong), gone_to=bool(wrong.letter))
        for name in LISTS:
            for item in self.units[self.desk.about][name]:
                if not any(r.field == name and same(name, r.value, item) for r in self.desk.rows):
                    await self._correcting(NEW_LETTERS[name])
                    await self._type(in_words(name, item), on_a_line_gone_to=True)
                    self.count.corrected += 1
                    await self._maybe_teach()

    async def _to_line(self, row: Row) -> None:
        if row.letter:
            await self._correcting(row.letter)
        else:
            by = self.desk.rows.index(row) - self.desk.cursor
            for _ in range(abs(by)):
                await self._correcting("down" if by > 0 else "up")

    def _is_wrong(self, row: Row) -> bool:
        return row.kind in (VALUE, PHOTO) and row.field in (*SCALARS, *LISTS, "photos") and not is_whole(row) and (
            not same(row.field, row.value, self.truth(row)))

    async def _correct(self, row: Row, truth: Any, *, gone_to: bool = False) -> None:
        """Put a line right; `gone_to`: it was reached by its capital just now."""
        self.count.corrected += 1
        choice = next((n for n, (_, value) in enumerate(row.choices, 1) if same(row.field, value, truth)), None)
        if choice is not None:
            await self._correcting(str(choice))
        elif truth is None:
            await self._correcting("backspace")
        elif row.kind == PHOTO:
            await self._type(truth.rpartition("/")[2] + " ", on_a_line_gone_to=gone_to)
        else:
            await self._type(in_words(row.field, truth) if isinstance(truth, dict) else f"{truth}",
                             on_a_line_gone_to=gone_to)
        await self._maybe_teach()

    async def _maybe_teach(self) -> None:
        """Say yes to a lesson, unless it would read otherwise what a person settled."""
        lesson = self.desk.lesson
        if not self.teach or lesson is None:
            return
        await self._press(["plus"])
        if isinstance(self.pilot.app.screen, Reading):
            await self._press(["escape"])
            return
        self.count.taught += 1
        self.count.lessons.append(lesson.said)

    async def _type(self, text: str, *, on_a_line_gone_to: bool = False) -> None:
        """Type a value and keep it; what begins with a capital is typed small.

        The sign for typing comes before a digit, and on a line that a capital went to.
        """
        first = text[0].lower()
        if on_a_line_gone_to or not first.isalpha():
            await self._correcting("=")
        line = text.lower() if text[0] != first and len(text.split()) == 1 else first + text[1:]
        await self._press(list(line))
        self.count.letters += len(line)
        await self._correcting("enter")
        assert self.app.bench.line is None, (text, self.desk.said)

    async def _correcting(self, key: str) -> None:
        await self._press([key])
        self.count.correct_keys += 1

    async def _turn(self, key: str) -> None:
        await self._press([key])
        self.count.turned += 1

    async def _press(self, keys: Sequence[str]) -> None:
        await self.pilot.press(*keys)


def _stem(name: str) -> str:
    return name.rpartition(".")[0]
