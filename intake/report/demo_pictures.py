"""Draws a stand-in photo for each kind of unit in the demo, so that the page shows where pictures go."""

from __future__ import annotations

import random
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

SIZE = (320, 240)
_INK = (40, 36, 32)


def draw(unit_type: str, path: Path, *, seed: str) -> None:
    """Write a small JPEG with the outline of such a unit on a shelf."""
    from PIL import Image
    from PIL import ImageDraw as Pen

    dice = random.Random(seed)
    wall = tuple(dice.randint(205, 235) for _ in range(3))
    picture = Image.new("RGB", SIZE, wall)
    pen = Pen.Draw(picture)
    pen.rectangle((0, 195, 320, 240), fill=(150, 118, 84))
    body = tuple(dice.randint(90, 200) for _ in range(3))
    if unit_type == "turntable":
        _turntable(pen, body)
    elif unit_type == "loudspeaker":
        _speakers(pen, body)
    elif unit_type in ("reel-to-reel deck", "cassette deck"):
        _deck(pen, body, reels=46 if unit_type.startswith("reel") else 22)
    else:
        _box(pen, body, dice, window=unit_type in ("tuner", "receiver", "CD player"))
    picture.save(path, "JPEG", quality=80)


def _turntable(pen: ImageDraw, body: tuple[int, ...]) -> None:
    pen.rectangle((40, 130, 280, 195), fill=body, outline=_INK, width=3)
    pen.ellipse((60, 70, 220, 170), fill=(30, 30, 32), outline=_INK, width=3)
    pen.ellipse((125, 108, 155, 128), fill=(190, 60, 50))
    pen.line((262, 80, 250, 130, 190, 140), fill=(230, 230, 230), width=5)


def _speakers(pen: ImageDraw, body: tuple[int, ...]) -> None:
    for left in (50, 190):
        pen.rectangle((left, 35, left + 80, 195), fill=body, outline=_INK, width=3)
        pen.ellipse((left + 12, 110, left + 68, 166), fill=(40, 40, 42), outline=_INK, width=3)
        pen.ellipse((left + 28, 58, left + 52, 82), fill=(60, 60, 62), outline=_INK, width=2)


def _deck(pen: ImageDraw, body: tuple[int, ...], *, reels: int) -> None:
    pen.rectangle((50, 60, 270, 195), fill=body, outline=_INK, width=3)
    for middle in (110, 210):
        round_ = (middle - reels, 110 - reels, middle + reels, 110 + reels)
        pen.ellipse(round_, fill=(225, 222, 215), outline=_INK, width=3)
        pen.ellipse((middle - 8, 102, middle + 8, 118), fill=_INK)
    for left in range(90, 230, 30):
        pen.rectangle((left, 168, left + 20, 184), fill=(60, 58, 55))


def _box(pen: ImageDraw, body: tuple[int, ...], dice: random.Random, *, window: bool) -> None:
    pen.rectangle((30, 90, 290, 195), fill=body, outline=_INK, width=3)
    if window:
        pen.rectangle((60, 105, 200, 135), fill=(35, 60, 52), outline=_INK, width=2)
    pen.ellipse((225, 108, 275, 158), fill=(70, 66, 62), outline=_INK, width=3)
    pen.line((250, 112, 250, 130), fill=(240, 240, 240), width=3)
    for left in range(60, 60 + 32 * dice.randint(2, 5), 32):
        pen.ellipse((left, 155, left + 20, 175), fill=(60, 56, 52))
