"""Where the vocabulary's files lie, and where things are kept that can be made again."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from intake.errors import VocabularyError


def vocab_folder() -> Path:
    """The folder with the trade's files: inside the installed package, else vocab/ of the checkout."""
    checkout = Path(__file__).resolve().parents[2] / "vocab"
    packaged = Path(__file__).resolve().parents[1] / "_vocab"  # no package: it holds no code
    for folder in (packaged, checkout):
        if (folder / "terms.yaml").is_file():
            return folder
    raise VocabularyError("the program's own vocabulary files are not there.", path=packaged,
                          hint="Install the program again.")


def cache_folder() -> Path:
    """Where things that can be made again are kept: INTAKE_CACHE, else the user's cache folder."""
    if named := os.environ.get("INTAKE_CACHE"):
        return Path(named)
    base = os.environ.get("XDG_CACHE_HOME") or (os.environ.get("LOCALAPPDATA") if os.name == "nt" else None)
    return Path(base) / "walkaround-intake" if base else Path.home() / ".cache" / "walkaround-intake"


def write_cache(path: Path, data: bytes) -> None:
    """Write a cache file whole or not at all; a cache that cannot be written is no error."""
    part = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_bytes(data)
        os.replace(part, path)
    except OSError:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
