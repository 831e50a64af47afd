"""Plain text for terminals of any width: what was spoken or typed is shown as it is, never as markup."""

from __future__ import annotations

import os
import shutil
import sys
import unicodedata
from collections.abc import Sequence

NARROW = 72
LONGEST = 120


def width() -> int:
    """Columns to write in: the terminal's, at most 120; 100 where the output is no terminal."""
    if not sys.stdout.isatty() and not os.environ.get("COLUMNS"):
        return 100
    return max(30, min(LONGEST, shutil.get_terminal_size((80, 24)).columns))


def clean(text: object) -> str:
    """Text without what could steer the terminal or turn the line around; line breaks become blanks."""
    out = []
    for letter in str(text):
        kind = unicodedata.category(letter)
        if letter in "\n\r\t\u2028\u2029":
            out.append(" ")
        elif kind in ("Cc", "Cs") or letter in "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069":
            out.append("\ufffd")
        else:
            out.append(letter)
    return "".join(out)


def columns(text: str) -> int:
    """How many columns a text takes: wide East Asian letters two, combining marks none."""
    return sum(0 if unicodedata.combining(letter) else 2 if unicodedata.east_asian_width(letter) in "WF" else 1
               for letter in text)


def pad(text: str, to: int) -> str:
    """The text with blanks after it, up to a width."""
    return text + " " * max(0, to - columns(text))


def wrap(text: str, *, first: str = "", rest: str = "", to: int | None = None) -> list[str]:
    """Lines no wider than `to`, broken between words only: a serial number or a path is never cut."""
    limit = to or width()
    lines, line, empty = [], first, True
    for word in clean(text).split():
        if not empty and columns(line) + 1 + columns(word) > limit:
            lines.append(line)
            line, empty = rest, True
        line = line + word if empty else f"{line} {word}"
        empty = False
    return [*lines, line.rstrip() if empty else line]


def table(rows: Sequence[Sequence[str]], *, indent: str = "", to: int | None = None) -> list[str] | None:
    """Rows in columns two blanks apart; None where they do not fit the terminal (a pipe takes any width)."""
    if not rows:
        return []
    filled = [at for at in range(len(rows[0])) if any(row[at] for row in rows)]
    rows = [[row[at] for at in filled] for row in rows]
    widths = [max(columns(row[at]) for row in rows) for at in range(len(filled))]
    limit = to or (width() if sys.stdout.isatty() or os.environ.get("COLUMNS") else None)
    if limit is not None and columns(indent) + sum(widths) + 2 * (len(widths) - 1) > limit:
        return None
    return [(indent + "  ".join(pad(cell, widths[at]) for at, cell in enumerate(row))).rstrip() for row in rows]


def clock(seconds: float) -> str:
    """Seconds into a recording as minutes: 66.04 -> "1:06.0"."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def seconds_of(text: str) -> float:
    """A moment as typed: "66", "66.5", "1:06.5", "1:01:06"; ValueError else."""
    parts = text.strip().split(":")
    if not 1 <= len(parts) <= 3 or any(not part for part in parts):
        raise ValueError(text)
    total = 0.0
    for part in parts:
        number = float(part)
        if not 0 <= number < 1e6:
            raise ValueError(text)
        total = total * 60 + number
    return total


def count(number: int, one: str, many: str | None = None) -> str:
    """A number with its word: 1 photo, 2 photos."""
    return f"{number} {one if number == 1 else many or one + 's'}"
