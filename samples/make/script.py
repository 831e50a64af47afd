"""Reads a walk's script: speech, and marks in braces (the marks are listed in ../README.md)."""

from __future__ import annotations

import re
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Shot:
    """A photo: its name, the unit it shows (None: a stray one) and whether its file tells a date."""

    name: str
    unit: str | None
    dated: bool


@dataclass
class Line:
    """A line of speech about one unit (None: about none), its photos at character offsets, the silence after it."""

    text: str
    unit: str | None
    shots: list[tuple[int, Shot]] = field(default_factory=list)
    pause_s: float = 0.0


@dataclass
class Talk:
    """What becomes one recording; `gap_s` is the time between the recording before it and this one."""

    name: str
    gap_s: float
    lines: list[Line] = field(default_factory=list)


def read_script(text: str) -> list[Talk]:
    """The recordings of a script. Speech stands one sentence a line; raises ValueError at a mark it does not know."""
    talks: list[Talk] = []
    unit: str | None = None
    gap = 0.0
    for row in text.splitlines():
        marks = re.findall(r"\{([^{}]*)\}", row)
        for mark in marks:
            kind, *words = mark.split()
            if kind == "recording":
                talks.append(Talk(words[0], gap))
            elif kind == "gap":
                gap = float(words[0])
            elif kind in ("unit", "aside"):
                unit = words[0] if words else None
            elif kind == "pause":
                talks[-1].lines[-1].pause_s = float(words[0])
            elif kind != "photo":
                raise ValueError(f"unknown mark {{{mark}}}")
        spoken = _spoken(row, unit)
        if spoken.text:
            talks[-1].lines.append(spoken)
    return talks


def _spoken(row: str, unit: str | None) -> Line:
    line = Line("", unit)
    for n, part in enumerate(re.split(r"\{([^{}]*)\}", row)):
        if n % 2 == 0:
            line.text = re.sub(r"\s+", " ", line.text + part).lstrip()
        elif part.startswith("photo "):
            line.shots.append((len(line.text.rstrip()), _shot(part)))
    line.text = line.text.rstrip()
    return line


def _shot(mark: str) -> Shot:
    _, name, *options = mark.split()
    given = dict(option.split("=", 1) for option in options)
    return Shot(name, None if given["unit"] == "none" else given["unit"], given.get("exif") != "none")
