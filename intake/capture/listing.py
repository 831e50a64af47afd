"""The files of a capture, and what is wrong with those that cannot be looked at.

A folder gives its own files and those of its subfolders, no deeper; hidden files and what operating
systems leave behind are passed over without a word.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from intake.capture.walk import Problem
from intake.errors import CaptureError

_LITTER = {"thumbs.db", "desktop.ini", "icon\r", "__macosx", "@eadir", "$recycle.bin", "system volume information",
           "lost.dir", "ehthumbs.db"}
TOO_DEEP = ("This folder lies too deep; only one level of folders is read. Move its files up, or process it as a walk "
            "of its own.")
NO_FILE = "It is no file but a device or a pipe; it was left out."
GONE = "It is a link to something that is gone."
NO_PERMISSION = "may not be read: you have no permission. Change its permissions, or copy it where you may read it."


@dataclass
class Listing:
    """The plain files found, in order of name, and the problems met; `folders` are those that were named."""

    files: list[Path] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    folders: list[Path] = field(default_factory=list)


def list_capture(paths: Sequence[Path]) -> Listing:
    """Find the files under `paths`; CaptureError for a path that is not there or a folder that may not be read."""
    listing = Listing()
    for path in paths:
        if not os.path.lexists(path):
            raise CaptureError("there is no such file or folder.", path=path,
                               hint="Check the name; with blanks in it, put it in quotes.")
        if path.is_dir():
            listing.folders.append(path)
            _add_folder(path, listing, depth=0)
        else:
            _add_file(path, listing)
    listing.files = list(dict.fromkeys(listing.files))
    return listing


def shown(path: Path) -> str:
    """A file's name as valid text, whatever bytes the disk has for it."""
    return os.fsencode(path.name).decode("utf-8", "replace")


def _add_folder(folder: Path, listing: Listing, *, depth: int) -> None:
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        reason = NO_PERMISSION if isinstance(error, PermissionError) else f"cannot be read: {error.strerror or error}."
        if depth == 0:
            raise CaptureError(f"this folder {reason}", path=folder) from error
        listing.problems.append(Problem(shown(folder), f"This folder {reason}"))
        return
    for entry in _worth_a_look(entries):
        if not entry.is_dir():
            _add_file(entry, listing)
        elif depth == 0:
            _add_folder(entry, listing, depth=1)
        else:
            listing.problems.append(Problem(shown(entry), TOO_DEEP, fatal=False))


def _worth_a_look(entries: Sequence[Path]) -> Iterator[Path]:
    return (entry for entry in entries if not entry.name.startswith(".") and entry.name.lower() not in _LITTER)


def _add_file(path: Path, listing: Listing) -> None:
    """Take a plain file; pipes and devices are never opened, since reading one may wait for ever."""
    try:
        path.name.encode("utf-8")
        is_plain = stat.S_ISREG(path.stat().st_mode)
    except UnicodeEncodeError:
        listing.problems.append(Problem(shown(path), "Its name is not valid UTF-8 and cannot be kept in the records. "
                                        "Rename it."))
        return
    except OSError as error:
        why = GONE if path.is_symlink() else f"It cannot be read: {error.strerror or error}."
        listing.problems.append(Problem(shown(path), f"{why} Copy the file itself into the folder."))
        return
    if is_plain:
        listing.files.append(path)
    else:
        listing.problems.append(Problem(shown(path), NO_FILE, fatal=False))
