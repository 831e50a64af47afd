"""Built walks (FORMAT.md) laid out as captures: from the true words, or from sound."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class BuiltWalk:
    """A folder with capture/, truth.json, vocabulary.json and gold.json."""

    folder: Path

    @property
    def id(self) -> str:
        """The walk's id, which begins with its date."""
        return self.folder.name

    @property
    def gold(self) -> Path:
        """The answer key."""
        return self.folder / "gold.json"

    @property
    def vocabulary(self) -> Path:
        """What the shop has on file before this walk."""
        return self.folder / "vocabulary.json"

    def truth(self) -> dict[str, Any]:
        """When everything was said and shot."""
        loaded: dict[str, Any] = json.loads((self.folder / "truth.json").read_text(encoding="utf-8"))
        return loaded


def find_walks(folders: Iterable[Path]) -> list[BuiltWalk]:
    """The built walks in or directly under the folders, in order of their dates."""
    found = {}
    for folder in folders:
        for gold in ([folder / "gold.json"] if (folder / "gold.json").exists() else sorted(folder.glob("*/gold.json"))):
            if (gold.parent / "truth.json").exists():
                found[gold.parent.name] = BuiltWalk(gold.parent.resolve())
    return [found[name] for name in sorted(found)]


def stage_text(walk: BuiltWalk, target: Path) -> Path:
    """The photos, and in place of each recording a .vtt with the true sentences at their times."""
    truth = walk.truth()
    capture = _fresh(target / walk.id)
    for recording in truth["recordings"]:
        path = capture / f"{recording['name']}.vtt"
        path.write_text(vtt(recording), encoding="utf-8")
        os.utime(path, (recording["mtime"], recording["mtime"]))
    _copy(walk, capture, truth["photos"])
    return capture


def stage_sound(walk: BuiltWalk, target: Path) -> Path:
    """The capture as the phone left it, with its files' times put back (a checkout loses them)."""
    truth = walk.truth()
    capture = _fresh(target / walk.id)
    _copy(walk, capture, [*truth["recordings"], *truth["photos"]])
    return capture


def vtt(recording: Mapping[str, Any]) -> str:
    """WebVTT of a recording's true sentences, with its start as a comment."""
    cues = [f"{_clock(start)} --> {_clock(end)}\n{text}\n" for start, end, text in recording["sentences"]]
    return "\n".join(["WEBVTT\n", f"NOTE started_at {recording['started_at']}\n", *cues])


def _clock(seconds: float) -> str:
    whole = round(seconds * 1000)
    return f"{whole // 3_600_000:02d}:{whole // 60_000 % 60:02d}:{whole // 1000 % 60:02d}.{whole % 1000:03d}"


def _fresh(capture: Path) -> Path:
    if capture.exists():
        shutil.rmtree(capture)
    capture.mkdir(parents=True)
    return capture


def _copy(walk: BuiltWalk, capture: Path, files: Iterable[Mapping[str, Any]]) -> None:
    for item in files:
        path = Path(shutil.copyfile(walk.folder / "capture" / item["file"], capture / item["file"]))
        os.utime(path, (item["mtime"], item["mtime"]))
