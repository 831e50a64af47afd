"""The text on a walk's photos: read side by side by the optional reader, and kept, so that a photo is read once.

Where the reader is not installed the result says so, and nothing else changes.
"""

from __future__ import annotations

import gc
import json
import os
import time
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from intake.capture.plate_reader import PlateLine, give_memory_back, read_plate, reader_missing, reader_name
from intake.capture.walk import Photo, Problem
from intake.errors import CaptureError
from intake.vocabulary.folder import write_cache

__all__ = [
    "PlateLine",
    "PlatesRead",
    "from_dict",
    "plates_folder",
    "read_plate",
    "read_plates",
    "reader_missing",
    "to_dict",
]

FORMAT = 1  # of what is kept; raise it when lines are found or read in another way
MAX_WORKERS = 2  # each holds an engine of its own, about 130 MB


@dataclass(frozen=True)
class PlatesRead:
    """What the photos of a walk say: lines by content hash (a photo without text has none), and what failed.

    `missing` tells why nothing was read at all (None: the reader is there). `seconds` holds the time
    each photo took that was not read before.
    """

    lines: Mapping[str, tuple[PlateLine, ...]] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    missing: str | None = None
    seconds: Mapping[str, float] = field(default_factory=dict)


def plates_folder(shop: Path) -> Path:
    """Where a shop keeps what was read from its photos."""
    return shop / "plates"


def read_plates(
    photos: Sequence[Photo],
    folder: Path | None,
    *,
    workers: int | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> PlatesRead:
    """Read many photos at once; `folder` keeps what was read (None: nothing is kept).

    A photo that cannot be read is a problem of its own and costs no other. `progress` is told
    how many of how many are done. Never raises for a photo.
    """
    missing = reader_missing()
    if missing is not None:
        return PlatesRead(missing=missing)
    try:
        return _read_all(photos, folder, workers=workers, progress=progress)
    finally:
        gc.collect()
        give_memory_back()


def _read_all(
    photos: Sequence[Photo],
    folder: Path | None,
    *,
    workers: int | None,
    progress: Callable[[int, int], None] | None,
) -> PlatesRead:
    """Read the photos in threads; the engines end with them."""
    todo = list({photo.sha256: photo for photo in photos}.values())
    count = max(1, min(workers or MAX_WORKERS, os.cpu_count() or 1, len(todo) or 1))
    lines: dict[str, tuple[PlateLine, ...]] = {}
    problems: list[Problem] = []
    seconds: dict[str, float] = {}

    def one(photo: Photo) -> tuple[tuple[PlateLine, ...] | Problem, float | None]:
        try:
            return _read_once(photo, folder, threads=max(1, (os.cpu_count() or 1) // count))
        except CaptureError as error:
            return Problem(
                photo.name, f"Its text could not be read: {error.args[0]} {error.hint}".strip(), fatal=False
            ), None

    pool = ThreadPoolExecutor(max_workers=count, thread_name_prefix="plates")
    try:
        for n, (photo, (found, took)) in enumerate(zip(todo, pool.map(one, todo), strict=True), 1):
            if isinstance(found, Problem):
                problems.append(found)
            else:
                lines[photo.sha256] = found
            if took is not None:
                seconds[photo.sha256] = took
            if progress is not None:
                progress(n, len(todo))
    finally:
        pool.shutdown(cancel_futures=True)  # whoever interrupts waits for no more than the photos in hand
    return PlatesRead(lines, tuple(problems), None, seconds)


# ---------------------------------------------------------------- kept readings


def _read_once(photo: Photo, folder: Path | None, *, threads: int) -> tuple[tuple[PlateLine, ...], float | None]:
    """The lines from the cache, else from the photo, with the seconds that took."""
    kept = folder / f"{photo.sha256}.json" if folder is not None and photo.sha256 else None
    found = _load(kept) if kept is not None else None
    if found is not None:
        return found, None
    start = time.perf_counter()
    lines = read_plate(photo.path, threads=threads)
    if kept is not None:
        write_cache(kept, json.dumps(to_dict(lines), ensure_ascii=False).encode())
    return lines, time.perf_counter() - start


def to_dict(lines: Sequence[PlateLine]) -> dict[str, Any]:
    """Lines as plain data, with the version of what read them."""
    return {
        "format": FORMAT,
        "reader": reader_name(),
        "lines": [
            {
                "text": n.text,
                "confidence": n.confidence,
                "box": n.box,
                "sure": n.sure,
                "second": n.second,
                "more": [n.more_before, n.more_after],
            }
            for n in lines
        ],
    }


def from_dict(data: Mapping[str, Any]) -> tuple[PlateLine, ...]:
    """Lines from plain data; raises ValueError, KeyError or TypeError where it is none of ours."""
    if data["format"] != FORMAT or data["reader"] != reader_name():
        raise ValueError("read by another version")
    return tuple(_line_of(entry) for entry in data["lines"])


def _line_of(entry: Mapping[str, Any]) -> PlateLine:
    a, b, c, d = ((float(x), float(y)) for x, y in entry["box"])
    second = entry["second"]
    return PlateLine(
        str(entry["text"]),
        float(entry["confidence"]),
        (a, b, c, d),
        tuple(map(float, entry["sure"])),
        None if second is None else str(second),
        *map(bool, entry["more"]),
    )


def _load(path: Path) -> tuple[PlateLine, ...] | None:
    try:
        return from_dict(json.loads(path.read_text(encoding="utf-8")))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None  # not read yet, read by another version, or damaged: read the photo itself
