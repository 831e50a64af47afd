"""The geometry of the page's small charts; the drawing itself stands in the template, so nothing here is markup."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT = 360, 132
_TOP, _FOOT = 16, 18                                   # room for the number above a bar and the label below it


@dataclass(frozen=True)
class Bar:
    """One bar with its number and label, in the units of the picture."""

    x: float
    y: float
    width: float
    height: float
    middle: float
    value: int
    label: str


@dataclass(frozen=True)
class Chart:
    """A bar chart; `text` says the same in a sentence, for those who cannot see it."""

    name: str
    title: str
    bars: tuple[Bar, ...]
    text: str
    width: int = WIDTH
    height: int = HEIGHT

    @property
    def base(self) -> int:
        """Where the bars stand."""
        return self.height - _FOOT


def columns(name: str, title: str, values: Sequence[tuple[str, int]]) -> Chart:
    """Upright bars side by side, the number on each."""
    most = max([value for _, value in values] or [0])
    step = WIDTH / max(1, len(values))
    room = HEIGHT - _TOP - _FOOT
    bars = []
    for at, (label, value) in enumerate(values):
        height = round(room * value / most, 1) if most else 0.0
        width = round(step * 0.62, 1)
        left = round(at * step + (step - width) / 2, 1)
        top = round(HEIGHT - _FOOT - height, 1)
        bars.append(Bar(left, top, width, height, round(left + width / 2, 1), value, label))
    said = ", ".join(f"{label} {value}" for label, value in values)
    return Chart(name, title, tuple(bars), f"{title}: {said}.")


def lying(name: str, title: str, values: Sequence[tuple[str, int]]) -> Chart:
    """Bars that lie under one another, label before and number after each."""
    most = max([value for _, value in values] or [0])
    row, left, room = 24, 126, WIDTH - 126 - 30         # the longest label needs 120 in the widest of the fonts
    bars = [Bar(left, at * row + 5, round(room * value / most, 1) if most else 0.0, 15, at * row + 17, value, label)
            for at, (label, value) in enumerate(values)]
    said = ", ".join(f"{label} {value}" for label, value in values)
    return Chart(name, title, tuple(bars), f"{title}: {said}.", height=row * len(values) + 2)
