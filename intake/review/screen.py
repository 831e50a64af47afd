"""The review on the terminal: routes keys to the desk and draws what it says. Textual is known here and in `sheets`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, ClassVar

from rich.text import Text
from textual import events
from textual.app import App, ComposeResult, RenderResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from intake.records.heads import LINK, PHOTO
from intake.records.types import PhotoPlace
from intake.review import drawing, pictures
from intake.review.desk import Desk
from intake.review.errands import Errands
from intake.review.line import Line
from intake.review.words import cut, plain, value_text

NARROWEST = 64                                 # columns that leave room for a photo beside the card
ROOM_FOR_TWO = 120                             # and for one of each of two units that may be one
MENU = {"c": "cut in two", "j": "join with another", "n": "no such unit", "a": "add a missed one",
        "s": "seen before", "m": "move a photo", "p": "photos", "w": "whole story", "g": "go to"}


class Bench(Errands, can_focus=True):
    """The one widget of the main screen: it draws the desk and takes every key."""

    DEFAULT_CSS = "Bench { width: 1fr; height: 1fr; }"

    def __init__(self, desk: Desk, *, colours: bool) -> None:
        super().__init__(desk, colours=colours)
        self.leaving = False
        self.capitals = ""                     # pressed one right after another, and nothing since
        self.came_from: list[int] = []         # the line on which each of them was pressed

    def on_mount(self) -> None:
        """The vocabulary is read while the reviewer looks at the first question."""
        self.set_timer(0.3, lambda: self.run_worker(self._read_words, thread=True))

    def _read_words(self) -> None:
        self.desk.lexicon.warm()
        self.app.call_from_thread(self.refresh)

    # ---- drawing

    def render(self) -> RenderResult:
        width, height = self.size.width, self.size.height
        desk = self.desk
        both = desk.row is not None and desk.row.kind == LINK      # two units side by side need more lines
        above = min(14, height - 9) if both and height >= 20 else min(12, max(7, (height - 4) // 3 + 1))
        lines = [drawing.header(desk, width), *_filled(drawing.question(desk, width, above), above),
                 Text("─" * width, drawing.QUIET)]
        lines += self._body(width, height - len(lines) - 2)
        return drawing.joined([*lines, *self._foot(width)], height)

    def _body(self, width: int, rows: int) -> list[Text]:
        photos = self.desk.photos() if self.colours and width >= NARROWEST else []
        both = self.desk.row is not None and self.desk.row.kind == LINK and width >= ROOM_FOR_TWO
        shown = photos[:2 if both else 1]
        columns = min(width // 3, rows * 3)
        drawn = [(photo, small) for photo in shown
                 if (small := pictures.small(photo, self.desk.settings.thumbnails)) is not None]
        left = width - (columns + 1) * len(drawn)
        lines = _filled(drawing.card(self.desk, left, rows), rows)
        for n, (photo, small) in enumerate(drawn):
            more = len(photos) - len(drawn) if n == len(drawn) - 1 else 0
            right = self._picture(photo, small, columns, rows, more)
            at = left + (columns + 1) * n + 1
            lines = [_padded(one, at) + two for one, two in zip(lines, right, strict=True)]
        return lines

    def _picture(self, photo: PhotoPlace, small: Path, columns: int, rows: int, more: int) -> list[Text]:
        """A photo under its name, with the unit where that is another one, and how many more there are."""
        mine = self.desk.sighting is None or photo.unit in (None, self.desk.sighting.unit)
        name = plain(photo.name) + ("" if mine else f" {photo.unit}") + (f" +{more}" if more else "")
        blocks = drawing.picture(pictures.blocks(small, columns, rows - 1)).split("\n")
        return _filled([Text(cut(name, columns), drawing.QUIET), *blocks], rows)

    def _foot(self, width: int) -> list[Text]:
        """The line that is typed, what was done, or what is on offer; under it the keys that go with that."""
        keys = drawing.KEYS if width >= len(drawing.KEYS) else drawing.SHORT_KEYS
        if self.line is not None:
            return self.line.drawn(width)
        if self.menu:
            return _filled(_menu(width), 2)
        if self.leaving:
            return [Text("Esc again leaves; every answer is kept already", "bold"), Text(keys, drawing.QUIET)]
        lesson = self.desk.lesson_if_read()
        if lesson is not None:
            return [Text(cut(plain(self.desk.said), width)),
                    Text(cut(f"+ teaches it (another key: no): {lesson.said}", width), "bold")]
        return [Text(cut(plain(self.desk.said), width)), Text(cut(keys, width), drawing.QUIET)]

    # ---- keys

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        typing = self.line is not None and event.is_printable
        self.desk.effort.key(letter=typing or self._opens(event))
        was, self.leaving = self.leaving, False
        if self.line is None and not self.menu and self._is_word(event.character or ""):
            self._word(event.character or "")
        elif self.line is not None:
            self._typing(event)
        elif self.menu:
            self.menu = False
            self._whole(event.character or "")
        elif event.key == "escape":
            self._forget_capitals()
            self.leaving = not was
            if was:
                self.app.exit()
        else:
            self._press(event)
        self.refresh()

    def _opens(self, event: events.Key) -> bool:
        """Whether this key is the first letter of a correction."""
        letter = event.character or ""
        return self.line is None and not self.menu and letter.isalpha() and letter == letter.lower()

    def _is_word(self, letter: str) -> bool:
        """Whether the capitals just pressed turn out, by this key, to have been the beginning of a word.

        A small letter or a hyphen tells so; after two capitals a digit does, where the line has no such reading; after
        three a blank, which would else accept the line that the last one went to.
        """
        if not self.capitals:
            return False
        row = self.desk.row
        readings = len(row.choices) if row is not None else 0
        digit = len(self.capitals) > 1 and letter.isdecimal() and not 1 <= int(letter) <= readings
        shouted = len(self.capitals) > 2 and letter == " "
        return digit or shouted or letter == "-" or (letter.isalpha() and letter == letter.lower())

    def _word(self, letter: str) -> None:
        """Back to the line where the word was begun, and open it.

        "Du": a capital may have gone to a line before, so the word begins with the last one. "AI-", "EL8": with the
        first. Where that is a guess, Enter asks once more before it keeps it.
        """
        capitals, lines = self.capitals, self.came_from
        if letter.isalpha():
            capitals, lines = capitals[-1:], lines[-1:]
        guessed = len(self.capitals) > 1 or not letter.isalpha()
        self._forget_capitals()
        self.desk.cursor, self.desk.said = lines[0], ""
        self._type(capitals + letter)
        if self.line is not None:
            self.line.refused = f"taken as a word; to type on the line of {capitals[0]}: Esc, {capitals[0]}, ="
            self.line.unsure = guessed

    def _forget_capitals(self) -> None:
        self.capitals, self.came_from = "", []

    def _press(self, event: events.Key) -> None:
        desk, letter = self.desk, event.character or ""
        if not (letter.isalpha() and letter == letter.upper() and letter != letter.lower()):
            self._forget_capitals()
        acts: dict[str, Callable[[], Any]] = {
            "space": desk.accept, "backspace": desk.blank, "delete": desk.blank, "right": desk.later,
            "left": desk.earlier, "down": lambda: desk.move(1), "up": lambda: desk.move(-1),
            "pagedown": lambda: desk.next_record(1), "pageup": lambda: desk.next_record(-1), "home": self._first,
            "end": self._last, "enter": self._change, "tab": self._menu, "f1": self._help,
        }
        signs: dict[str, Callable[[], Any]] = {
            "=": lambda: self._type(""), "-": desk.blank, ";": self._hear, ":": lambda: self._hear(6.0),
            "!": self._photos, ",": desk.undo, ".": desk.redo, "<": desk.undo, ">": desk.redo, "+": self._teach,
            "?": self._help,
        }
        act = acts.get(event.key) or signs.get(letter)
        if act is not None:
            if act not in (self._hear,):
                desk.said = "" if event.key not in ("tab", "enter") else desk.said
            act()
        elif letter in "123456789" and letter:
            desk.take(int(letter))
        elif letter.isalpha() and letter == letter.upper() and letter != letter.lower():
            self.capitals, self.came_from = self.capitals + letter, [*self.came_from, desk.cursor]
            desk.said = "" if desk.to_letter(letter) else f"no line has the capital {letter}; a word goes on here"
        elif letter.isalpha():
            self._type(letter)

    def _first(self) -> None:
        self.desk.move(-len(self.desk.rows))

    def _last(self) -> None:
        self.desk.move(len(self.desk.rows))

    # ---- typing

    def _type(self, begun: str) -> None:
        row = self.desk.row
        if row is not None and row.kind == PHOTO:
            self._move_photo(begun)
        elif row is not None:
            self.line = Line(row.label.removeprefix("+ "), begun, self._offers)

    def _change(self) -> None:
        row = self.desk.row
        if row is not None and row.kind == PHOTO:
            self._move_photo("")
        elif row is not None:
            held = row.value is not None and row.field not in ("clock", "link")
            self._type(value_text(row.field, row.value) if held else "")

    def _typing(self, event: events.Key) -> None:
        line = self.line
        if line is None:
            return
        if event.key == "escape":
            self.line, self.adding = None, False
        elif event.key == "enter":
            if line.unsure:
                line.unsure = False
                line.refused = f"{line.label}: {line.text}? Capitals go to lines. Enter again keeps it, Esc drops it"
            elif self.adding:
                self.desk.add(line.entered())
                self.line, self.adding = None, False
            elif self.desk.typed(line.entered()) is not None:
                self.line = None
            else:
                line.refused = self.desk.said
        else:
            line.press(event.key, event.character if event.is_printable else None)

    def on_paste(self, event: events.Paste) -> None:
        """Pasted text goes into the open line, or opens one."""
        event.stop()
        text = plain(event.text).strip()
        self._forget_capitals()
        if self.line is None:
            self._type(text)
        else:
            self.line.insert(text)
        self.refresh()

class Main(Screen[None], inherit_bindings=False):
    """The main screen holds the bench and nothing else."""

    def __init__(self, bench: Bench) -> None:
        super().__init__()
        self.bench = bench

    def compose(self) -> ComposeResult:
        yield self.bench


class ReviewApp(App[None]):
    """The program around the bench: it begins, and it leaves."""

    ENABLE_COMMAND_PALETTE = False
    BINDINGS: ClassVar[list[BindingType]] = [  # before the bench, which takes every other key
        Binding("ctrl+q", "quit", "leave", priority=True), Binding("ctrl+c", "quit", "leave", priority=True)]

    def __init__(self, desk: Desk, *, colours: bool | None = None) -> None:
        super().__init__(ansi_color=True)
        self.desk = desk
        self.bench = Bench(desk, colours=pictures.colours_allowed() if colours is None else colours)

    def get_default_screen(self) -> Main:
        """The bench comes first."""
        return Main(self.bench)

    def on_unmount(self) -> None:
        """The place is kept, however the review ends in good order."""
        self.desk.leave()


def _menu(width: int) -> list[Text]:
    """What can be done with a unit as a whole: the letter, then what it does; an entry is not broken in two."""
    lines = [Text()]
    for key, name in MENU.items():
        if lines[-1].plain and len(lines[-1].plain) + len(name) + 5 > width:
            lines.append(Text())
        lines[-1].append(f"{'  ' if lines[-1].plain else ''}{key}: ", "bold").append(name)
    return lines


def _filled(lines: list[Text], rows: int) -> list[Text]:
    return [*lines[:rows], *([Text()] * max(0, rows - len(lines)))]


def _padded(line: Text, width: int) -> Text:
    from rich.cells import cell_len

    out = line.copy()
    out.append(" " * max(0, width - cell_len(line.plain)))
    return out
