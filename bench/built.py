"""Reads built example walks (truth.json) as cases with known truth: true spans of talk, photos as their files tell."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from statistics import median
from typing import Any

from intake.capture.walk import Moment, Photo
from intake.matching.types import Cue, Stretch, Timeline, Visit
from simulate import Case


def load_built(folder: Path, *, pauses: bool = True) -> list[Case]:
    """Every built walk under `folder`, in order."""
    return [read_case(path.parent, pauses=pauses) for path in sorted(folder.glob("*/truth.json"))]


def read_case(folder: Path, *, pauses: bool = True) -> Case:
    """One built walk; `pauses` False leaves out where speech stands still."""
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    zero = datetime.fromisoformat(truth["recordings"][0]["started_at"]).astimezone(UTC)
    begins = {r["name"]: (datetime.fromisoformat(r["started_at"]) - zero).total_seconds() for r in truth["recordings"]}
    photos = tuple(_photo(p) for p in truth["photos"])
    gaps = [(datetime.fromisoformat(p["camera_time"]) - datetime.fromisoformat(p["taken_at"]).replace(tzinfo=None)
             ).total_seconds() for p in truth["photos"]]
    whole = all(p.taken_at is None or not p.taken_at.at.microsecond for p in photos)
    offset = round(max(gaps)) if whole else median(gaps)
    return Case(_timeline(truth, zero, begins, pauses), photos, {p["file"]: p["unit"] for p in truth["photos"]},
                float(offset), 0.0, "built")


def _photo(p: Mapping[str, Any]) -> Photo:
    at = datetime.fromisoformat(p["camera_time"])
    moment = Moment(at, "exif DateTimeOriginal") if p["exif"] else None
    return Photo(Path(p["file"]), p["file"], p["file"], "jpeg", moment, camera="Camera C-1")


def _timeline(truth: Mapping[str, Any], zero: datetime, begins: Mapping[str, float], pauses: bool) -> Timeline:
    sign = -1 if truth["utc_offset"].startswith("-") else 1
    hours, minutes = truth["utc_offset"][1:].split(":")
    visits = sorted((Visit(unit, begins[name] + a, begins[name] + b) for unit, spans in truth["units"].items()
                     for name, a, b in spans), key=lambda v: v.start)
    said = [(begins[r["name"]] + a, begins[r["name"]] + b, text)
            for r in truth["recordings"] for a, b, text in r["sentences"]]
    return Timeline(
        zero, tuple(Stretch(r["name"], begins[r["name"]], begins[r["name"]] + r["duration_s"], source="container")
                    for r in truth["recordings"]),
        tuple(visits), tuple((a, b) for a, b, _ in said) if pauses else (), _cues(said),
        sign * (int(hours) * 60 + int(minutes)))


def _cues(said: list[tuple[float, float, str]]) -> tuple[Cue, ...]:
    from intake.matching.cues import find_cues
    return tuple(cue for a, b, text in said for cue in find_cues(text, a, b))
