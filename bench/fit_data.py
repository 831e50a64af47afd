"""Drafts of a built walk, from its true words or from stored transcripts of its sound, with the export a scorer reads."""

from __future__ import annotations

import json
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

from intake.language.draft import LISTS, SCALARS, UnitDraft
from intake.language.extract import Extractor
from intake.speech.transcript import Segment, Transcript
from intake.speech.written import spread
from intake.vocabulary.load import load_vocabulary, vocab_folder
from intake.vocabulary.shopfile import import_vocabulary


def from_words(folder: Path) -> tuple[list[Transcript], date]:
    """The true words with each sentence's time spread over its words."""
    truth = json.loads((folder / "truth.json").read_text())
    out = []
    for recording in truth["recordings"]:
        segments = tuple(Segment(spread(sentence.split(), start, end)) for start, end, sentence in recording["sentences"])
        out.append(Transcript(recording["file"], "0" * 64, recording["duration_s"], segments))
    return out, date.fromisoformat(truth["date"])


def from_sound(folder: Path, shelf: Path) -> tuple[list[Transcript], date]:
    """The stored transcripts of the walk's recordings, found by the sound's content hash."""
    import hashlib

    truth = json.loads((folder / "truth.json").read_text())
    out = []
    for recording in truth["recordings"]:
        digest = hashlib.sha256((folder / "capture" / recording["file"]).read_bytes()).hexdigest()
        stored = [p for p in shelf.glob(f"{digest[:24]}-*.json") if not p.name.endswith(".plain.json")]
        if stored:
            out.append(Transcript.from_dict(json.loads(max(stored, key=lambda p: p.stat().st_mtime).read_text())))
    return out, date.fromisoformat(truth["date"])


def drafts_of(folder: Path, mode: str, shelf: Path | None = None) -> tuple[tuple[UnitDraft, ...], dict[str, Any]]:
    """The drafts of one walk and the part of its export that fields are scored on."""
    with tempfile.TemporaryDirectory() as shop:
        (Path(shop) / "vocab").mkdir()
        import_vocabulary(folder / "vocabulary.json", Path(shop) / "vocab")
        vocabulary = load_vocabulary(Path(shop))
    shelf = shelf or Path(__file__).resolve().parent / "out" / "transcripts"
    transcripts, day = from_words(folder) if mode == "text" else from_sound(folder, shelf)
    drafts = Extractor(vocabulary, vocab_folder() / "cues").extract(transcripts, day).units
    units = [{"id": d.id, **{n: d.scalars[n].value if n in d.scalars else None for n in SCALARS}, **{n: [v.value for v in getattr(d, n)] for n in LISTS},
              "photos": [], "review": [{"field": n} for n, v in d.scalars.items() if v.reasons]} for d in drafts]
    return drafts, {"walk": {"id": folder.name, "photos": []}, "units": units}
