"""Screens that come before the card for a moment: something to read, a list to choose from, words to cut at, photos."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult, RenderResult
from textual.screen import Screen
from textual.widget import Widget

from intake.records.types import PhotoPlace
from intake.review import drawing, pictures
from intake.review.words import clock, plain

if TYPE_CHECKING:
    from intake.speech.transcript import Word


class Face(Widget, can_focus=True):
    """What a sheet draws; keys go to the sheet."""

    DEFAULT_CSS = "Face { width: 1fr; height: 1fr; }"

    def __init__(self, sheet: Sheet[Any]) -> None:
        super().__init__()
        self.sheet = sheet

    def render(self) -> RenderResult:
        return drawing.joined(self.sheet.lines(self.size.width, self.size.height), self.size.height)

    def on_key(self, event: events.Key) -> None:
        event.stop()
        event.prevent_default()
        self.sheet.counted()
        self.sheet.pressed(event.key, event.character)
        self.refresh()


Result = TypeVar("Result")


class Sheet(Screen["Result | None"], Generic[Result], inherit_bindings=False):
    """A screen of its own; Esc goes back to the card with nothing done."""

    def __init__(self, counted: Callable[[], None] = lambda: None) -> None:
        super().__init__()
        self.counted = counted

    def compose(self) -> ComposeResult:
        yield Face(self)

    def lines(self, width: int, height: int) -> list[Text]:
        """What to draw."""
        raise NotImplementedError

    def pressed(self, key: str, letter: str | None) -> None:
        """What a key does."""
        if key == "escape":
            self.dismiss(None)


class Reading(Sheet[bool]):
    """Lines to read; `yes`: a key that says yes to what they tell."""

    def __init__(self, title: str, lines: Sequence[str], *, yes: str = "", counted: Callable[[], None]) -> None:
        super().__init__(counted)
        self.heading, self.text, self.yes, self.top = title, list(lines), yes, 0

    def lines(self, width: int, height: int) -> list[Text]:
        flowed = [line for text in self.text for line in self._line(text, width)]
        self.top = max(0, min(self.top, len(flowed) - (height - 2)))
        foot = f"{self.yes} yes   Esc no" if self.yes else "Esc back"
        above, below = self.top > 0, self.top + height - 2 < len(flowed)
        more = f"   {'↑ ' if above else ''}{'↓ ' if below else ''}{'more' if below else 'back up'}" * (above or below)
        shown = flowed[self.top:self.top + height - 2]
        return [Text(f" {self.heading} ", "reverse bold"), *shown, *([Text()] * (height - 2 - len(shown))),
                Text(foot + more, "bold")]

    def _line(self, text: str, width: int) -> list[Text]:
        indent = " " * (len(text) - len(text.lstrip()))
        if len(text) <= width:
            return [Text(text)]
        lines = drawing.flow([(text, "")], width - len(indent), indent="  ")
        return [Text(indent) + line for line in lines]

    def pressed(self, key: str, letter: str | None) -> None:
        moves = {"down": 1, "up": -1, "pagedown": 15, "pageup": -15, "space": 15, "home": -9999, "end": 9999}
        if key in moves:
            self.top = max(0, self.top + moves[key])
        elif self.yes and letter == self.yes:
            self.dismiss(True)
        elif key in ("escape", "q", "question_mark", "enter"):
            self.dismiss(None)


class Choosing(Sheet[str]):
    """A list to choose from: arrows and Enter, or letters that narrow it down."""

    def __init__(self, title: str, options: Sequence[tuple[str, str]], *, typed: str = "", at: str = "",
                 counted: Callable[[], None]) -> None:
        super().__init__(counted)
        self.heading, self.options, self.typed = title, list(options), typed
        self.cursor = next((n for n, (key, _) in enumerate(self.options) if key == at), 0)

    def fitting(self) -> list[tuple[str, str]]:
        """The options that have all the typed words."""
        words = self.typed.casefold().split()
        return [(key, shown) for key, shown in self.options if all(word in shown.casefold() for word in words)]

    def lines(self, width: int, height: int) -> list[Text]:
        fitting = self.fitting()
        self.cursor = max(0, min(self.cursor, len(fitting) - 1))
        first = max(0, min(self.cursor - (height - 3) // 2, len(fitting) - (height - 3)))
        out = [Text(f" {self.heading} ", "reverse bold")]
        for n, (_, shown) in enumerate(fitting[first:first + height - 3], first):
            line = Text(("▸ " if n == self.cursor else "  ") + plain(shown)[: width - 2])
            if n == self.cursor:
                line.stylize(drawing.CURSOR)
            out.append(line)
        out += [Text()] * (height - 2 - len(out))
        return [*out, Text(f"> {self.typed}"), Text("↑ ↓ Enter choose   letters narrow it down   Esc back", "bold")]

    def pressed(self, key: str, letter: str | None) -> None:
        fitting = self.fitting()
        if key == "escape":
            self.dismiss(None)
        elif key == "enter" and fitting:
            self.dismiss(fitting[self.cursor][0])
        elif key in ("down", "up", "pagedown", "pageup"):
            self.cursor += {"down": 1, "up": -1, "pagedown": 10, "pageup": -10}[key]
        elif key == "backspace":
            self.typed = self.typed[:-1]
        elif letter is not None and letter.isprintable():
            self.typed, self.cursor = self.typed + letter, 0


class Finding(Choosing):
    """A list to choose from that is looked for anew with each letter; `none`: the choice of none of them, last."""

    def __init__(self, title: str, find: Callable[[str], Sequence[tuple[str, str]]], none: str, *,
                 counted: Callable[[], None]) -> None:
        super().__init__(title, [], counted=counted)
        self.find, self.none = find, none
        self._look()

    def fitting(self) -> list[tuple[str, str]]:
        return self.options

    def _look(self) -> None:
        self.options = [*self.find(self.typed), ("", self.none)]

    def pressed(self, key: str, letter: str | None) -> None:
        typed = self.typed
        super().pressed(key, letter)
        if self.typed != typed:
            self._look()


class Cutting(Sheet[tuple[str, float]]):
    """A record's words with a cut between two of them; what comes after it becomes a unit of its own."""

    def __init__(self, words: Sequence[tuple[str, Word]], *, counted: Callable[[], None]) -> None:
        super().__init__(counted)
        self.words = list(words)
        self.at = self._next_sentence(0, 1)

    def _next_sentence(self, at: int, by: int) -> int:
        """The next word (in that direction) that begins a sentence; the most likely place for a cut."""
        at += by
        while 1 <= at < len(self.words) - 1 and not self.words[at - 1][1].text.rstrip("\"'”").endswith((".", "?", "!")):
            at += by
        return max(1, min(at, len(self.words) - 1))

    def lines(self, width: int, height: int) -> list[Text]:
        pieces = []
        for n, (_, word) in enumerate(self.words):
            if n == self.at:
                pieces.append(("━━┃", "bold yellow"))
            pieces.append((plain(word.text), drawing.STRONG if n >= self.at else drawing.QUIET))
        flowed = drawing.flow(pieces, width)
        here = next((n for n, line in enumerate(flowed) if "━━┃" in line.plain), 0)
        first = max(0, min(here - (height - 3) // 2, len(flowed) - (height - 3)))
        recording, word = self.words[self.at]
        out = [Text(" WHERE DOES THE OTHER UNIT BEGIN? ", "reverse bold"), *flowed[first:first + height - 3]]
        out += [Text()] * (height - 2 - len(out))
        return [*out, Text(f"from “{plain(word.text)}” {plain(recording)} {clock(word.start)}"),
                Text("↑ ↓ sentence   ← → word   Enter cut here   Esc back", "bold")]

    def pressed(self, key: str, letter: str | None) -> None:
        if key == "escape":
            self.dismiss(None)
        elif key == "enter":
            self.dismiss((self.words[self.at][0], self.words[self.at][1].start))
        elif key in ("left", "right"):
            self.at = max(1, min(self.at + (1 if key == "right" else -1), len(self.words) - 1))
        elif key in ("up", "down"):
            self.at = self._next_sentence(self.at, 1 if key == "down" else -1)


class Looking(Sheet[PhotoPlace]):
    """The photos, one at a time and as large as the terminal allows; Enter goes on to move that photo."""

    def __init__(self, photos: Sequence[PhotoPlace], folder: Path, *, colours: bool,
                 counted: Callable[[], None]) -> None:
        super().__init__(counted)
        self.photos, self.folder, self.colours, self.at, self.said = list(photos), folder, colours, 0, ""

    def lines(self, width: int, height: int) -> list[Text]:
        photo = self.photos[self.at]
        of = f"of {photo.sighting} ({photo.unit})" if photo.sighting else f"of no unit, {photo.walk}"
        title = Text(f" {self.at + 1}/{len(self.photos)}   {plain(photo.name)} {plain(of)} ", "reverse bold")
        title.truncate(width)
        small = pictures.small(photo, self.folder) if self.colours else None
        if small is not None:
            body = list(drawing.picture(pictures.blocks(small, width, height - 3)).split("\n"))
        else:
            why = "It cannot be opened here." if self.colours else "This terminal cannot draw it."
            body = drawing.flow([(why, "")], width)
        out = [title, *body]
        out += [Text()] * (height - 2 - len(out))
        return [*out, Text(self.said or plain(photo.path)),
                Text("← → other photos   o open in a window   Enter move it to another unit   Esc back", "bold")]

    def pressed(self, key: str, letter: str | None) -> None:
        if key == "escape":
            self.dismiss(None)
        elif key == "enter":
            self.dismiss(self.photos[self.at])
        elif key in ("left", "right"):
            self.at, self.said = (self.at + (1 if key == "right" else -1)) % len(self.photos), ""
        elif letter == "o":
            self.said = pictures.open_outside(Path(self.photos[self.at].path))
