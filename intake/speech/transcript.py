"""Words with their times, as a recognizer or a person wrote them; saved as JSON beside the records."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any

FORMAT = "intake-transcript/1"


@dataclass(frozen=True)
class Word:
    """One written word with its punctuation, seconds from the start of the recording.

    `probability` is the recognizer's (1.0 for typed text). `heard` is what the plain decoding
    had at this time, where a second reading put a vocabulary term here; `others` are further
    readings that a reviewer should see.
    """

    text: str
    start: float
    end: float
    probability: float = 1.0
    heard: str | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True)
class Segment:
    """A stretch of speech the recognizer gave as one."""

    words: tuple[Word, ...]

    @property
    def start(self) -> float:
        return self.words[0].start if self.words else 0.0

    @property
    def end(self) -> float:
        return self.words[-1].end if self.words else 0.0

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True)
class Doubt:
    """A stretch that a person should hear, with its reason ("repeated loop", "speech without words", ...)."""

    start: float
    end: float
    reason: str
    detail: str = ""


@dataclass(frozen=True)
class Transcript:
    """All that was heard in one recording, and how it was made."""

    recording: str                                      # file name
    sha256: str                                         # of the recording
    duration_s: float
    segments: tuple[Segment, ...]
    doubts: tuple[Doubt, ...] = ()
    speech: tuple[tuple[float, float], ...] = ()        # where the voice detector hears speech
    options: dict[str, Any] = field(default_factory=dict)  # what made it: model, hash, settings, hints

    def words(self) -> Iterator[Word]:
        """Every word in order."""
        for segment in self.segments:
            yield from segment.words

    def to_dict(self) -> dict[str, Any]:
        """Plain data for JSON; `from_dict` reads it back unchanged."""
        return {"format": FORMAT, **asdict(self)}

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Transcript:
        """Read what `to_dict` wrote."""
        segments = tuple(
            Segment(tuple(Word(**{**w, "others": tuple(w.get("others", ()))}) for w in s["words"]))
            for s in data["segments"]
        )
        return cls(
            recording=data["recording"], sha256=data["sha256"], duration_s=data["duration_s"],
            segments=segments, doubts=tuple(Doubt(**d) for d in data["doubts"]),
            speech=tuple((a, b) for a, b in data["speech"]), options=data["options"],
        )
