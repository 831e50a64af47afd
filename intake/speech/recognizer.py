"""What a recognizer must offer, in our own plain types; whisper.py is the one that hears.

A recognizer reads a recording batch by batch. While a batch is at hand its stretches can be read
again with hints, or texts weighed against the sound, without listening anew: the costly part (the
encoder) is done once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Protocol

from intake.speech.transcript import Word
from intake.speech.voice import VoiceOptions

Progress = Callable[[float], None]      # seconds of sound done so far


@dataclass(frozen=True)
class DecodeOptions:
    """How to decode; everything here changes the result and is stored with it."""

    language: str = "en"
    beam: int = 5                       # hypotheses kept in the first reading
    second_beam: int = 1                # ... and in a reading with hints
    batch: int = 8                      # stretches decoded at once
    hint_tokens: int = 96               # most tokens of hints for one stretch; the decoder holds 448 in all
    second: bool = True                 # read doubtful stretches again with hints
    voice: VoiceOptions = field(default_factory=VoiceOptions)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the stored transcript."""
        return asdict(self)


@dataclass(frozen=True)
class Stretch:
    """Up to 30 seconds of sound as one reading gave them. Times are seconds from the recording's start.

    `logprob` is the mean log probability of the tokens, `no_speech` the recognizer's own
    probability that nobody speaks, `compression` how well the text compresses (loops: above 2.4).
    """

    start: float
    end: float
    words: tuple[Word, ...]
    logprob: float = 0.0
    no_speech: float = 0.0
    compression: float = 1.0
    temperature: float = 0.0
    hint: str = ""

    @property
    def text(self) -> str:
        """The words as one line."""
        return " ".join(word.text for word in self.words)


class Batch(Protocol):
    """Some stretches that have been read once and can still be asked about."""

    @property
    def stretches(self) -> Sequence[Stretch]:
        """The first reading, without hints, in order."""

    @property
    def speech(self) -> Sequence[tuple[float, float]]:
        """Where the voice detector hears speech from the last batch's end to this one's, seconds."""

    @property
    def end_s(self) -> float:
        """Seconds of the recording that are done with this batch."""

    def again(self, hints: Mapping[int, str], filler: str = "") -> dict[int, str]:
        """The numbered stretches read again, each with its own hint words; `filler` makes the prompts equally long."""

    def weigh(self, texts: Mapping[int, Sequence[Sequence[str]]], hints: Mapping[int, str]
              ) -> dict[int, list[list[float]]]:
        """For each numbered stretch and each text (as words): the log probability of each word given the sound."""

    def slowly(self, start: float, end: float) -> Stretch:
        """Read one span of this batch's sound again by itself, with fallback to other temperatures."""


class Recognizer(Protocol):
    """Reads recordings."""

    @property
    def facts(self) -> dict[str, Any]:
        """What reads: model name and hash, device, library version."""

    def batches(self, path: Path, options: DecodeOptions, *, start: float = 0.0) -> Iterator[Batch]:
        """Read a recording from `start` on; the last batch has been given when the iterator ends."""

    def damage(self) -> str:
        """What could not be read of the last recording ("" = nothing)."""

    def count_tokens(self, text: str) -> int:
        """How many of the decoder's tokens a hint takes."""
