"""What someone said, as the language step gets it: a transcript of typed words with made-up, even times."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.tokens import Text, read_text
from intake.speech.transcript import Segment, Transcript, Word

WORD_S = 0.3  # well under the pause that ends a sentence


def transcript(said: str, recording: str = "memo-01.m4a") -> Transcript:
    """One recording in which these words are said one after the other without a pause."""
    words = tuple(Word(w, n * WORD_S, (n + 1) * WORD_S) for n, w in enumerate(said.split()))
    length = len(words) * WORD_S
    return Transcript(recording, "0" * 64, length, (Segment(words),) if words else (), speech=((0.0, length),))


def text(*said: str) -> Text:
    """The tokens of one recording for each of `said`."""
    return read_text([transcript(s, f"memo-{n:02}.m4a") for n, s in enumerate(said, start=1)])


def words(said: str) -> Sequence[str]:
    """The normalised words."""
    return [t.norm for t in text(said).tokens]
