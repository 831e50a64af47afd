"""What is known of a camera's clock before looking at its pictures, and how an offset is put into words.

Clocks are mostly right to seconds; else off by seconds to minutes, by whole hours (daylight
saving, a zone not changed on a journey; zones also stand on half hours), by a whole number of
hours and some seconds, or, where a clock was never set, by anything.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from intake.matching.coefficients import Coefficients
from intake.matching.habits import Floats
from intake.matching.types import Anchor

DAY = 86400.0


def log_prior(
    d: Floats, c: Coefficients, *, zoned: bool, local_known: bool, certain: bool,
    shifts: Sequence[float] = (0.0,), anchors: Sequence[Anchor] = (), width: float = 2 * DAY,
) -> Floats:
    """Log density (per second) of offset `d`, seconds camera minus truth.

    `zoned`: the photos name their zone. `local_known`: the shop's zone is known, so that a clock
    without zone can be compared with it. `certain`: a recording knows its start. `shifts`: other
    places where the recordings' zero may lie (a time that is a start or an end). `width`: the
    stretch of offsets that is searched, over which "anything" spreads.
    """
    p = c.prior
    same, off, hours = (p["zoned_same"], p["zoned_off"], p["zoned_hours"]) if zoned else (
        p["same"], p["off"], p["hours"])
    hour_share = _hour_weights(p, spread=not zoned and not local_known)
    d = np.asarray(d, float)
    total = np.zeros_like(d)
    for shift in shifts:
        x = d - shift
        near = (same * _laplace(x, p["same_scale"]) + off * _log_uniform(x, 2.0, p["off_max"])) / len(shifts)
        total += near
        for seconds, weight in hour_share:
            y = x - seconds
            total += hours * weight / len(shifts) * (0.5 * _laplace(y, p["same_scale"])
                                                     + 0.5 * _log_uniform(y, 2.0, p["off_max"]))
    anything = np.where(np.abs(d) <= 1.05 * DAY, p["day"] / (2.1 * DAY), p["beyond"] / max(width, DAY))
    if not certain:
        u = p["uncertain_start"]
        total, anything = total * (1 - u), anything * (1 - u) + u / max(width, 60.0)
    out: Floats = np.log(total + anything)
    for a in anchors:
        z = np.abs(d - a.offset_s) / a.within_s
        out = out + np.log(0.97 * np.exp(-0.5 * np.minimum(z, 38.0) ** 2) / (a.within_s * 2.5066) + 0.03 / DAY)
    return out


def _laplace(x: Floats, scale: float) -> Floats:
    out: Floats = np.exp(-np.abs(x) / scale) / (2 * scale)
    return out


def _log_uniform(x: Floats, least: float, most: float) -> Floats:
    size = np.maximum(np.abs(x), least)
    out: Floats = np.where(size <= most, 1 / (2 * size * (1 + np.log(most / least))), 0.0)
    return out


def _hour_weights(p: dict[str, float], *, spread: bool) -> list[tuple[float, float]]:
    """Offsets by zones with their share; `spread`: the shop's own zone is unknown, so any zone is as good."""
    halves = [h / 2 for h in range(-28, 29) if h] + [5.75, -5.75, 8.75, 12.75]
    raw = {h: (1.0 if h == int(h) else 0.15) * (1.0 if spread else 1 / (1 + abs(h))) for h in halves}
    if not spread:
        far = sum(w for h, w in raw.items() if abs(h) != 1)
        near = p["hour_near_share"]
        return [(h * 3600, near / 2 if abs(h) == 1 else (1 - near) * w / far) for h, w in raw.items()]
    total = sum(raw.values())
    return [(h * 3600, w / total) for h, w in raw.items()]


def split_offset(seconds: float) -> tuple[int, float, float]:
    """An offset as (days, hours, seconds): the zones' half hours apart from the clock's own error.

    -79108 s -> (-1, 2.0, 92.0): two hours ahead, a day behind, and 92 s fast.
    """
    days = 0
    rest = seconds
    if abs(seconds) > 14 * 3600:
        days = round(seconds / DAY)
        rest = seconds - days * DAY
    half = round(rest / 1800)
    if abs(rest - half * 1800) > 600:
        whole = 0.0
    else:
        whole = half / 2
    return days, whole, rest - whole * 3600


def say_offset(seconds: float) -> str:
    """An offset in plain words: 3592 -> "1 h ahead less 8 s"; 45 -> "45 s ahead"."""
    days, hours, rest = split_offset(seconds)
    if not days and not hours:
        return "right to the second" if abs(rest) < 0.5 else _direction(rest, _length(abs(rest)))
    parts = [f"{abs(days)} day{'s' if abs(days) > 1 else ''} {'ahead' if days > 0 else 'behind'}"] if days else []
    if hours:
        parts.append(_direction(hours, f"{abs(hours):g} h"))
    text = ", ".join(parts)
    if abs(rest) < 0.5:
        return text
    ahead = hours > 0 if hours else days > 0
    return f"{text} {'plus' if (rest > 0) == ahead else 'less'} {_length(abs(rest))}"


def _direction(value: float, text: str) -> str:
    return f"{text} {'ahead' if value > 0 else 'behind'}"


def _length(seconds: float) -> str:
    if seconds < 120:
        return f"{seconds:.0f} s"
    minutes, left = divmod(round(seconds), 60)
    if minutes < 120:
        return f"{minutes} min {left} s" if left else f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60} min"
