"""Words about pictures in the talk: strays that the speaker tells, and pictures that are announced."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from intake.matching.types import Cue
from intake.speech.transcript import Transcript, Word

CLOSING = 2              # the last sentences of a recording may close it


@dataclass(frozen=True)
class Rule:
    """A pattern over a sentence, with what it says."""

    kind: str
    pattern: re.Pattern[str]
    strength: float
    said: str


@cache
def rules() -> tuple[tuple[Rule, ...], tuple[re.Pattern[str], ...]]:
    """The cues and the patterns that forbid them, from the data file beside this module."""
    import yaml
    data = yaml.safe_load(files(__package__).joinpath("photo-cues.yaml").read_text(encoding="utf-8"))

    def filled(pattern: str) -> re.Pattern[str]:
        for name, words in data["words"].items():
            pattern = pattern.replace(name, words)
        return re.compile(pattern)
    cues = tuple(Rule(c["kind"], filled(c["pattern"]), float(c["strength"]), c["said"]) for c in data["cues"])
    return cues, tuple(filled(n["pattern"]) for n in data["not"])


def find_cues(text: str, start: float, end: float) -> list[Cue]:
    """The cue in one sentence spoken from `start` to `end`, if there is one."""
    plain = re.sub(r"[^a-z0-9' -]+", " ", text.lower().replace("\u2019", "'"))
    plain = re.sub(r"\s+", " ", plain).strip()
    cues, forbidden = rules()
    if any(p.search(plain) for p in forbidden):
        return []
    hit = next((r for r in cues if r.pattern.search(plain)), None)
    return [Cue(hit.kind, start, end, hit.strength, text.strip())] if hit else []


def cues_in(transcript: Transcript, begin: float = 0.0) -> list[Cue]:
    """Every cue of a recording that starts at `begin` on the walk's line."""
    said = list(sentences(transcript))
    found = [(i, cue) for i, words in enumerate(said)
             for cue in find_cues(" ".join(w.text for w in words), begin + words[0].start, begin + words[-1].end)]
    return [cue for i, cue in found if cue.kind != "end" or i >= len(said) - CLOSING]


def sentences(transcript: Transcript) -> Iterator[list[Word]]:
    """The words sentence by sentence: cut at full stops and at a second of silence."""
    own: list[Word] = []
    for word in transcript.words():
        if own and (own[-1].text.rstrip("\"'").endswith((".", "?", "!")) or word.start - own[-1].end > 1.0):
            yield own
            own = []
        own.append(word)
    if own:
        yield own
