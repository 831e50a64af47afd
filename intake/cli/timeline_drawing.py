"""Draws a walk in the terminal: units, speech and photos on one axis. Pure text in, lines out.

    memo-01.m4a  09:12:03, 5:40
                09:12:30       09:13:00       09:13:30
    ------------|--------------|--------------|------
      u1----------------  u2---------  u1---            units
      ######## #### ####  ##### #####  ####             speech
          ^         ?          ^          x             photos: ^ placed, ? look at it, x of no unit
          P01       P02?       P03        P04x
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

FINEST, COARSEST = 0.5, 60.0        # seconds that a column may stand for
COMFORTABLE = 2.0


@dataclass(frozen=True)
class Mark:
    """A photo on the axis: its short name, second, unit (None: of none), and whether a person should look."""

    name: str
    second: float
    unit: str | None
    asked: bool = False


@dataclass(frozen=True)
class Track:
    """One recording to draw; seconds from its start. `start` None: its start is not known."""

    name: str
    start: datetime | None
    length: float
    spans: tuple[tuple[str, float, float], ...] = ()
    speech: tuple[tuple[float, float], ...] = ()
    photos: tuple[Mark, ...] = ()


def draw(tracks: Sequence[Track], *, width: int, column_s: float | None = None, plain: bool = False) -> list[str]:
    """The recordings one under another, each in as many blocks as its length needs.

    `column_s`: seconds a column stands for (chosen so that photos keep apart where None). `plain`: ASCII only.
    """
    lines: list[str] = []
    for track in tracks:
        scale = min(max(column_s or COMFORTABLE, FINEST), COARSEST)
        across = max(20, width - 2)
        if lines:
            lines.append("")
        began = f"{track.start:%Y-%m-%d %H:%M:%S}" if track.start else "start not known"
        lines.append(f"{track.name}  {began}, {_clock(track.length)}")
        a = 0.0
        while a < max(track.length, 1e-6):
            lines += _block(track, a, scale, min(across, int(max(track.length - a, 1) / scale) + 1), plain)
            a += across * scale
    return lines


def _block(track: Track, a: float, scale: float, across: int, plain: bool) -> list[str]:
    b = a + across * scale
    rows = [_labels(track, a, scale, across), _ticks(track, a, scale, across),
            _units(track, a, b, scale, across, plain)]
    if track.speech:
        rows.append(_speech(track, a, scale, across, plain))
    rows += _photos(track, a, b, scale, across)
    return ["  " + row.rstrip() for row in rows if row.strip()] + [""]


def _tick_s(scale: float) -> float:
    """A round number of seconds that is about twenty columns."""
    return next(t for t in (10, 15, 30, 60, 120, 300, 600, 1200, 3600) if t / scale >= 14 or t == 3600)


def _phase(track: Track, tick: float) -> float:
    """Seconds from the start back to the last round time of day."""
    if track.start is None:
        return 0.0
    return (track.start.hour * 3600 + track.start.minute * 60 + track.start.second) % tick


def _labels(track: Track, a: float, scale: float, across: int) -> str:
    row = [" "] * across
    tick = _tick_s(scale)
    phase = _phase(track, tick)
    t = -(-(a + phase) // tick) * tick - phase
    while t < a + across * scale:
        at = int((t - a) / scale)
        text = f"{track.start + timedelta(seconds=t):%H:%M:%S}" if track.start else _clock(t)
        if at + len(text) <= across:
            row[at:at + len(text)] = text
        t += tick
    return "".join(row)


def _ticks(track: Track, a: float, scale: float, across: int) -> str:
    tick = _tick_s(scale)
    begin = a + _phase(track, tick)
    return "".join("|" if (begin + i * scale) // tick != (begin + (i - 1) * scale) // tick else "-"
                   for i in range(across))


def _units(track: Track, a: float, b: float, scale: float, across: int, plain: bool) -> str:
    row = [" "] * across
    for unit, start, end in track.spans:
        if end <= a or start >= b:
            continue
        x, y = max(0, int((start - a) / scale)), min(across, max(int((end - a) / scale), int((start - a) / scale) + 1))
        bar = (unit + ("-" if plain else "\u2500") * (y - x))[:max(y - x, 1)]
        row[x:x + len(bar)] = bar
    return "".join(row)


def _speech(track: Track, a: float, scale: float, across: int, plain: bool) -> str:
    levels = " .:#" if plain else " \u2581\u2584\u2588"
    spoken = [0.0] * across
    for start, end in track.speech:
        for i in range(max(0, int((start - a) / scale)), min(across, int((end - a) / scale) + 1)):
            spoken[i] += max(0.0, min(end, a + (i + 1) * scale) - max(start, a + i * scale))
    return "".join(levels[min(3, round(3 * s / scale))] for s in spoken)


def _photos(track: Track, a: float, b: float, scale: float, across: int) -> list[str]:
    """Photo names under their moments, in as many rows as keep them apart; "?" asks for a look, "x" is of no unit."""
    own = sorted((p for p in track.photos if a <= p.second < b), key=lambda p: p.second)
    arrows = [" "] * across
    rows: list[list[str]] = []
    for p in own:
        at = min(across - 1, int((p.second - a) / scale))
        arrows[at] = "?" if p.asked else "x" if p.unit is None else "^"
        text = p.name + ("?" if p.asked else "") + ("x" if p.unit is None else "")
        at = max(0, min(at, across - len(text)))
        free = next((r for r in rows if not "".join(r[max(0, at - 1):at + len(text) + 1]).strip()), None)
        if free is None:
            free = [" "] * (across + len(text))
            rows.append(free)
        free[at:at + len(text)] = text
    return ["".join(arrows), *("".join(r) for r in rows)] if own else []


def _clock(seconds: float) -> str:
    whole = round(seconds)
    hours, rest = divmod(whole, 3600)
    return f"{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{rest // 60}:{rest % 60:02d}"
