"""What a walk is called, and the day that a folder's name tells."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from intake.capture.stamps import day_in_name
from intake.errors import UsageError

MAX_LENGTH = 80
_GENERIC = re.compile(
    r"(?:the |my )?(?:captures?|photos?|pictures?|pics|images?|recordings?|audio|sound|memos?|voice memos?|"
    r"videos?|media|files?|uploads?|downloads?|desktop|documents?|camera(?: roll)?|dcim|\d{3}[a-z_0-9]{5}|"
    r"(?:new|untitled) folder|incoming|inbox|tmp|temp|phone)(?:[ _-]?\(?\d{1,3}\)?)?", re.IGNORECASE)
_UNSAFE = re.compile(r"[^\w.-]+")


def walk_name(folders: Sequence[Path], first_stem: str, day: date) -> str:
    """The id of a walk: its folder's name made safe; for loose files the day and the first file's stem."""
    for folder in folders[:1]:
        name = safe_name(telling_folder(folder).name)
        if name:
            return name
    stem = safe_name(first_stem) or "walk"
    return stem if day_in_name(stem) == day else safe_name(f"{day.isoformat()}-{stem}")


def telling_folder(folder: Path) -> Path:
    """The folder itself, or the one above it where its own name says no more than "capture" or "photos"."""
    folder = Path(os.path.abspath(folder))
    for place in (folder, folder.parent):
        if place == Path.home():
            break
        if place.name and not _GENERIC.fullmatch(place.name.strip()):
            return place
    return Path()


def folder_day(folders: Sequence[Path]) -> date | None:
    """The day in the name of the folder that names the walk."""
    return day_in_name(telling_folder(folders[0]).name) if folders else None


def safe_name(name: str) -> str:
    """A name of letters, digits, point, underscore and hyphen only; "" where none of it can stay."""
    plain = _UNSAFE.sub("-", unicodedata.normalize("NFC", name))
    plain = re.sub(r"-{2,}", "-", plain)[:MAX_LENGTH]
    return plain.strip("-. _")


def checked_id(walk_id: str) -> str:
    """A walk id that the user gave, if it may be one; raises UsageError with one that may."""
    if walk_id and safe_name(walk_id) == walk_id:
        return walk_id
    hint = safe_name(walk_id)
    raise UsageError(f"{walk_id!r} cannot be a walk's id: letters, digits, points, underscores and hyphens only.",
                     hint=f"Try: {hint}" if hint else "")
