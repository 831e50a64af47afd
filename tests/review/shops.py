"""Shops to review in: the example walks from their true words, or a few made-up records."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

from intake.pipeline import process_walk
from intake.records.store import Store
from intake.settings import CONFIG_TEXT, Settings, load_settings
from intake.vocabulary.shopfile import import_vocabulary

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT / ".." / "shared"
BUILT = SHARED / "walks" / "built"


def stamp(seconds: float) -> str:
    """A WebVTT time."""
    return f"{int(seconds // 3600):02d}:{int(seconds // 60) % 60:02d}:{seconds % 60:06.3f}"


def written(walk: Path, folder: Path) -> Path:
    """A capture of an example walk with its true words as WebVTT in place of the sound, and its photos."""
    folder.mkdir(parents=True)
    for recording in json.loads((walk / "truth.json").read_text())["recordings"]:
        cues = "".join(f"{stamp(a)} --> {stamp(b)}\n{text}\n\n" for a, b, text in recording["sentences"])
        head = f"WEBVTT\n\nNOTE started_at {recording['started_at']}\n\n"
        (folder / Path(recording["file"]).with_suffix(".vtt").name).write_text(head + cues)
    for photo in (walk / "capture").glob("*.JPG"):
        shutil.copyfile(photo, folder / photo.name)
    return folder


def empty_shop(folder: Path) -> Settings:
    """A new shop folder."""
    (folder / "vocab").mkdir(parents=True)
    (folder / "config.toml").write_text(CONFIG_TEXT)
    return load_settings(folder)


def shop_of(folder: Path, walks: list[str]) -> Settings:
    """A shop that has taken in these example walks, from their true words."""
    settings = empty_shop(folder / "shop")
    for name in walks:
        import_vocabulary(BUILT / name / "vocabulary.json", settings.vocab)
        process_walk([written(BUILT / name, folder / "captures" / name)], settings)
    return settings


def key_of(walk: str) -> dict[str, Any]:
    """The answer key of an example walk."""
    key: dict[str, Any] = json.loads((BUILT / walk / "gold.json").read_text())
    return key


def opened(settings: Settings) -> Store:
    """The shop's records."""
    return Store.open(settings.database)
