"""A photo as coloured half blocks for a terminal, and the programs that open one in a window."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from functools import lru_cache
from pathlib import Path

from intake.capture.thumbnails import make_thumbnail, thumbnail_path
from intake.errors import IntakeError
from intake.records.types import PhotoPlace

Colour = tuple[int, int, int]
#: Rows of cells, each an upper and a lower colour.
Blocks = tuple[tuple[tuple[Colour, Colour], ...], ...]


def colours_allowed() -> bool:
    """Whether the terminal shows enough colours for a photo, and wants any (https://no-color.org)."""
    if os.environ.get("NO_COLOR") or os.environ.get("TERM", "") in ("", "dumb", "linux", "vt100", "vt220", "ansi"):
        return False
    return "256" in os.environ.get("TERM", "") or os.environ.get("COLORTERM", "") in ("truecolor", "24bit")


def small(photo: PhotoPlace, folder: Path) -> Path | None:
    """The photo's small upright copy, made where it is missing; None where it cannot be."""
    made = thumbnail_path(folder, photo.sha256)
    if made.exists():
        return made
    try:
        return make_thumbnail(Path(photo.path), folder, photo.sha256)
    except IntakeError:
        return None


@lru_cache(maxsize=64)
def blocks(path: Path, columns: int, rows: int) -> Blocks:
    """The picture within so many columns and rows; a cell is about twice as high as wide, so it holds two pixels."""
    from PIL import Image

    with Image.open(path) as picture:
        width, height = picture.size
        scale = min(columns / width, rows * 2 / height)
        size = max(1, round(width * scale)), max(2, round(height * scale) // 2 * 2)
        pixels = picture.convert("RGB").resize(size, Image.Resampling.LANCZOS).tobytes()
    def at(x: int, y: int) -> Colour:
        start = (y * size[0] + x) * 3
        return pixels[start], pixels[start + 1], pixels[start + 2]
    return tuple(tuple((at(x, y), at(x, y + 1)) for x in range(size[0])) for y in range(0, size[1], 2))


def open_outside(path: Path) -> str:
    """Open the photo in the computer's own viewer; returns what to tell the reviewer."""
    if sys.platform == "win32":
        os.startfile(path)
        return f"opened {path.name}"
    name = next((n for n in ("xdg-open", "open") if shutil.which(n)), None)
    headless = sys.platform != "darwin" and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
    if name is None or headless:
        return f"no window to open it in here; the photo is {path}"
    try:
        subprocess.Popen([name, str(path)], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                         stderr=subprocess.DEVNULL, start_new_session=True)
    except OSError as error:
        return f"{name} could not be started: {error.strerror}; the photo is {path}"
    return f"opened {path}"
