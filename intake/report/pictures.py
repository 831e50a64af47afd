"""Small pictures inside the page: a few kilobytes each, as many as fit the page's budget."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

SIDE = 144                                             # pixels: sharp at 72 on a phone's screen
BUDGET = 400_000                                       # bytes of all pictures of one page, as they stand in it


class Photo(Protocol):
    """What a picture is made from: the file with its hash, and why its placing is doubted."""

    @property
    def sha256(self) -> str: ...

    @property
    def path(self) -> str: ...

    @property
    def reasons(self) -> tuple[str, ...]: ...


@dataclass
class Album:
    """Hands out pictures as data addresses until the budget is spent; counts what it left out."""

    folder: Path | None                                # where thumbnails are kept; None: no pictures
    side: int = SIDE
    budget: int = BUDGET
    left_out: int = 0
    _made: dict[str, str | None] = field(default_factory=dict)

    def first_of(self, photos: Iterable[Photo]) -> str | None:
        """The first of a unit's photos that can be had; sure placings come first."""
        surest = sorted(photos, key=lambda photo: bool(photo.reasons))[:3]
        return next((found for photo in surest if (found := self.of(photo))), None)

    def of(self, photo: Photo) -> str | None:
        """A photo as a data address; None where its file is gone, cannot be read, or the budget is spent."""
        if photo.sha256 not in self._made:
            self._made[photo.sha256] = self._make(photo)
        return self._made[photo.sha256]

    def _make(self, photo: Photo) -> str | None:
        if self.folder is None:
            return None
        if self.budget <= 0:
            self.left_out += 1
            return None
        data = _small(photo, self.folder, self.side)
        if data is None:
            return None
        address = f"data:image/jpeg;base64,{base64.b64encode(data).decode('ascii')}"
        if len(address) > self.budget:
            self.left_out += 1
            return None
        self.budget -= len(address)
        return address


def _small(photo: Photo, folder: Path, side: int) -> bytes | None:
    """The picture at that size, from the thumbnail kept, else from the photo itself."""
    from intake.capture.thumbnails import make_thumbnail, thumbnail_path
    from intake.errors import CaptureError, ShopError

    kept = thumbnail_path(folder, photo.sha256)
    for source in (kept, Path(photo.path)):
        if thumbnail_path(folder, photo.sha256, side).is_file() or source.is_file():
            try:
                return make_thumbnail(source, folder, photo.sha256, side).read_bytes()
            except (CaptureError, ShopError, OSError):
                continue
    return None
