"""The line that a correction is typed on: its letters, its cursor, and what is offered to go on with."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rich.text import Text

from intake.review.lexicon import Offer
from intake.review.words import cut, plain


class Line:
    """One line of typing. Up and Down choose among the offers, Tab takes the chosen one (or the first)."""

    def __init__(self, label: str, text: str, offers: Callable[[str], Sequence[Offer]]) -> None:
        self.label, self.text, self.at = label, text, len(text)
        self._find = offers
        self.refused = ""                      # why Enter did not take it
        self.unsure = False                    # begun by a guess: Enter asks once more
        self.chosen: int | None = None
        self.offers: Sequence[Offer] = offers(text) if text else ()

    def insert(self, text: str) -> None:
        """Letters at the cursor."""
        self.text = self.text[:self.at] + text + self.text[self.at:]
        self.at += len(text)
        self._changed()

    def press(self, key: str, letter: str | None) -> None:
        """What a key other than Enter and Esc does."""
        if letter is not None:
            self.insert(letter)
        elif key == "backspace" and self.at:
            self.text = self.text[:self.at - 1] + self.text[self.at:]
            self.at -= 1
            self._changed()
        elif key == "delete":
            self.text = self.text[:self.at] + self.text[self.at + 1:]
            self._changed()
        elif key in ("left", "right", "home", "end"):
            self.at = {"left": max(0, self.at - 1), "right": min(len(self.text), self.at + 1), "home": 0,
                       "end": len(self.text)}[key]
        elif key == "ctrl+u":
            self.text, self.at = "", 0
            self._changed()
        elif key in ("down", "up") and self.offers:
            step = 1 if key == "down" else -1
            self.chosen = (0 if step > 0 else len(self.offers) - 1) if self.chosen is None else (
                (self.chosen + step) % len(self.offers))
        elif key == "tab" and self.offers:
            self._take(self.offers[self.chosen or 0])

    def entered(self) -> str:
        """What Enter keeps: the chosen offer, else the letters as they stand."""
        return self.text if self.chosen is None else self.offers[self.chosen].line

    def _take(self, offer: Offer) -> None:
        self.text, self.at = offer.line, len(offer.line)
        self._changed()

    def _changed(self) -> None:
        self.refused, self.chosen = "", None
        self.offers = self._find(self.text) if self.text.strip() else ()

    def drawn(self, width: int) -> list[Text]:
        """The line itself, and under it the offers, or why it was refused."""
        before = f"{self.label}: "
        room = max(8, width - len(before) - 1)
        first = max(0, self.at - room + 1)
        shown = plain(self.text)[first:first + room] + " "
        line = Text(before, "bold")
        line.append(shown)
        line.stylize("reverse", len(before) + self.at - first, len(before) + self.at - first + 1)
        if self.refused:
            return [line, Text(cut(plain(self.refused), width), "bold yellow")]
        under = Text()
        for n, offer in enumerate(self.offers):
            under.append("  " if n else "")
            under.append(plain(offer.shown), "reverse" if n == self.chosen else "bold" if n == 0 else "")
        if not self.offers:
            under.append("Enter keeps it   Esc drops it", "dim")
        else:
            under.append("   (Tab takes the first)" if self.chosen is None else "   (Enter keeps it)", "dim")
        under.truncate(width)
        return [line, under]
