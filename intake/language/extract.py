"""Transcripts -> units: the chain of steps in the order in which they run."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from intake.language.assemble import assemble
from intake.language.cues import load_cues
from intake.language.draft import UnitDraft
from intake.language.misheard_places import MisheardPlaces
from intake.language.misheard_words import load_misheard, put_right
from intake.language.names import ModelIndex
from intake.language.places import PlaceIndex
from intake.language.reading import Reading, read
from intake.language.repairs import Repair, apply_repairs, find_repairs
from intake.language.soundalikes import find_alikes
from intake.language.tales import tell
from intake.language.terms import TermFinder
from intake.language.tokens import Text, read_text
from intake.language.units import find_topics
from intake.speech.transcript import Transcript
from intake.vocabulary.sounds import SoundIndex
from intake.vocabulary.terms import Vocabulary


@dataclass(frozen=True)
class Extraction:
    """The units of a walk."""

    units: tuple[UnitDraft, ...]


class Extractor:
    """Reads walks with one vocabulary; building it is the slow part, so keep it for several walks."""

    def __init__(self, vocabulary: Vocabulary, cue_folder: Path) -> None:
        self.vocabulary = vocabulary
        self.finder = TermFinder(vocabulary, load_cues(cue_folder))
        self.misheard = load_misheard(cue_folder.parent / "misheard.yaml")
        self.models = ModelIndex(vocabulary)
        self.places = PlaceIndex(vocabulary)
        self.misheard_places = MisheardPlaces(
            self.places, tuple(vocabulary.locations), lambda words: bool(self.models.exact(re.sub(r"[^A-Z0-9]", "", words.upper())))
        )
        self.sounds = SoundIndex(("maker", maker, "") for maker in vocabulary.makers) if vocabulary.makers else None

    def reading(self, transcripts: Sequence[Transcript], day: date) -> tuple[Reading, list[Repair]]:
        """The text with everything found in it, read again after its corrections are settled."""
        text = read_text(put_right(transcripts, self.misheard))
        first = self._read(text, day)
        repairs = find_repairs(first)
        return (self._read(apply_repairs(text, repairs), day) if repairs else first), repairs

    def _read(self, text: Text, day: date) -> Reading:
        return read(text, self.finder, self.vocabulary, self.models, self.places, self.misheard_places, day)

    def extract(self, transcripts: Sequence[Transcript], day: date) -> Extraction:
        """The units told in these transcripts, in order of their first mention."""
        reading, repairs = self.reading(transcripts, day)
        if self.sounds is not None:
            reading.add([a.mention for a in find_alikes(reading, self.sounds, self.models)])
        if not reading.text.tokens:
            return Extraction(())
        topics = find_topics(reading)
        tales = tell(reading, topics)
        units = assemble(reading, topics, tales, repairs, self.models)
        return Extraction(tuple(units))

