"""One `process` at a time in a shop folder."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from intake.errors import ShopError

LOCK_NAME = ".intake-lock"


@contextmanager
def only_one(shop: Path) -> Iterator[None]:
    """Hold the shop's lock, which goes with the process; ShopError at once where another run holds it."""
    path = shop / LOCK_NAME
    try:
        file = path.open("a+")
    except OSError as error:
        raise ShopError(
            f"the shop folder cannot be written to: {error.strerror}.",
            path=shop,
            hint="Check its permissions and the free space.",
        ) from error
    with file:
        if not _take(file):
            raise ShopError(
                "another `intake process` is at work in this shop.",
                path=shop,
                hint="Wait until it is done, then run this again; nothing is lost.",
            )
        file.seek(0)
        file.truncate()
        file.write(f"{os.getpid()}\n")
        file.flush()
        yield


def _take(file: IO[str]) -> bool:
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
    import fcntl

    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
