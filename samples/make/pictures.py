"""Draws the photos of the sample walk: fronts of gear on a shelf, rear plates with their lettering, a ceiling."""

from __future__ import annotations

import io
import zlib
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

SIZE = (960, 720)
Pen = ImageDraw.ImageDraw

PLATES = {
    "P02": ("WRENFIELD", "INTEGRATED AMPLIFIER", "MODEL  WA-24", "SERIAL NO.  60417", "120 V ~  60 Hz  180 W"),
    "P04": ("ALDERSLEY", "FM STEREO TUNER", "MODEL  F-26", "SERIAL NO.  7715203", "230 V ~  50 Hz  25 W"),
    "P07": ("BEXHOLLOW", "COMPACT DISC PLAYER", "MODEL  BC-500", "SERIAL NO.  88130", "120 V ~  60 Hz  30 W"),
}


def draw(name: str, unit: str | None) -> Image.Image:
    """The picture of one photo; the same name gives the same picture."""
    rng = np.random.default_rng(zlib.crc32(name.encode()))
    image = Image.new("RGB", SIZE, (188, 184, 172))
    pen = ImageDraw.Draw(image)
    if name in PLATES:
        image = _plate(image, pen, PLATES[name], rng)
    else:
        _shelf(pen)
        FRONTS.get(unit or "", _ceiling)(pen)
    return _as_taken(image, rng)


def save(image: Image.Image, path: Path, *, taken: datetime | None, zone: str | None) -> None:
    """Write a JPEG; `taken` is the camera's own clock, None leaves the date out."""
    exif = image.getexif()
    exif[0x010F], exif[0x0110], exif[0x0112] = "Camera", "C-2", 1          # Make, Model, Orientation
    if taken is not None:
        stamp = taken.strftime("%Y:%m:%d %H:%M:%S")
        exif[0x0132] = stamp                                                # DateTime
        details = exif.get_ifd(0x8769)
        details[0x9003] = details[0x9004] = stamp                           # DateTimeOriginal, DateTimeDigitized
        if zone is not None:
            details[0x9010] = details[0x9011] = details[0x9012] = zone      # OffsetTime and its two sisters
    buffer = io.BytesIO()
    image.save(buffer, format="JPEG", quality=78, exif=exif.tobytes())
    path.write_bytes(buffer.getvalue())


def _shelf(pen: Pen) -> None:
    pen.rectangle([0, 560, 960, 592], fill=(122, 92, 62))
    pen.rectangle([0, 592, 960, 720], fill=(92, 70, 48))


def _plate(image: Image.Image, pen: Pen, rows: tuple[str, ...], rng: np.random.Generator) -> Image.Image:
    """A printed plate on a metal rear panel between its sockets, a little turned."""
    pen.rectangle([0, 0, 960, 720], fill=(58, 60, 64))
    for x in range(70, 900, 120):
        pen.ellipse([x, 590, x + 46, 636], fill=(196, 190, 170), outline=(20, 20, 20), width=4)
        pen.ellipse([x + 15, 605, x + 31, 621], fill=(30, 30, 30))
    pen.rounded_rectangle([120, 110, 840, 530], radius=14, fill=(214, 214, 208), outline=(30, 30, 30), width=5)
    for n, row in enumerate(rows):
        size = 62 if n == 0 else 40
        pen.text((160, 138 + (0 if n == 0 else 26) + 68 * n), row, fill=(24, 24, 28), font=ImageFont.load_default(size))
    return image.rotate(float(rng.uniform(-2.5, 2.5)), resample=Image.Resampling.BICUBIC, fillcolor=(58, 60, 64))


def _amplifier(pen: Pen) -> None:
    pen.rectangle([170, 400, 790, 560], fill=(168, 158, 132), outline=(40, 36, 30), width=4)
    for x in (250, 350, 450, 550):
        pen.rounded_rectangle([x, 250, x + 54, 400], radius=24, fill=(226, 190, 130), outline=(90, 70, 40), width=3)
    for x in (240, 420, 600, 700):
        pen.ellipse([x, 450, x + 56, 506], fill=(50, 48, 46))


def _turntable(pen: Pen) -> None:
    pen.rectangle([160, 440, 800, 560], fill=(112, 74, 44), outline=(40, 30, 20), width=4)
    pen.ellipse([220, 380, 620, 480], fill=(30, 30, 32), outline=(170, 170, 170), width=5)
    pen.ellipse([395, 420, 445, 440], fill=(190, 60, 40))
    pen.line([(720, 380), (700, 430), (540, 440)], fill=(200, 200, 205), width=10)


def _loudspeakers(pen: Pen) -> None:
    for x in (160, 540):
        pen.rectangle([x, 130, x + 260, 560], fill=(96, 62, 38), outline=(40, 26, 16), width=4)
        pen.ellipse([x + 40, 310, x + 220, 490], fill=(28, 28, 30), outline=(120, 120, 120), width=6)
        pen.ellipse([x + 90, 180, x + 170, 260], fill=(46, 46, 50), outline=(150, 150, 150), width=4)


def _tubes(pen: Pen) -> None:
    for n in range(6):
        x = 150 + 112 * n
        pen.rectangle([x, 330, x + 90, 560], fill=(206, 176, 66), outline=(96, 80, 20), width=3)
        glass = [x + 20, 250, x + 70, 330]
        pen.rounded_rectangle(glass, radius=20, fill=(222, 226, 228), outline=(110, 110, 110), width=3)


def _ceiling(pen: Pen) -> None:
    pen.rectangle([0, 0, 960, 720], fill=(226, 224, 216))
    pen.rectangle([250, 300, 720, 380], fill=(252, 252, 246), outline=(150, 150, 150), width=3)


FRONTS: dict[str, Callable[[Pen], None]] = {"u1": _amplifier, "u2": _turntable, "u4": _loudspeakers, "u6": _tubes}


def _as_taken(image: Image.Image, rng: np.random.Generator) -> Image.Image:
    """Lens and sensor: a soft edge, a falling light, some grain."""
    pixels = np.asarray(image.filter(ImageFilter.GaussianBlur(0.8)), np.float32)
    light = np.linspace(1.06, 0.86, SIZE[1])[:, None, None] * np.linspace(0.95, 1.04, SIZE[0])[None, :, None]
    grain = rng.normal(0, 4, pixels.shape)
    return Image.fromarray(np.clip(pixels * light + grain, 0, 255).astype(np.uint8), "RGB")
