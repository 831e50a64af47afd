"""What in a reading a person should hear, each with its reason. Nothing is dropped without a note of its words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import groupby

from intake.speech.coverage import LOOP_RATIO, uncovered
from intake.speech.recognizer import Stretch
from intake.speech.transcript import Doubt, Word
from intake.speech.voice import Span, covered

LOW_PROBABILITY = 0.35      # of a word; a run of words below it is one doubt
WORD_TOO_LONG_S = 2.5
WORD_TOO_SHORT_S = 0.02
REPEATS = 3                 # the same phrase this often in a row is a loop
SILENCE_PAD_S = 0.5         # words this near to speech belong to it
NO_SPEECH = 0.6             # with ...
NO_SPEECH_LOGPROB = -1.0    # ... both of these (openai/whisper), or this alone ...
HOPELESS_LOGPROB = -1.6     # ... a reading is no speech

SILENCE = "words in silence"
NOISE = "words in noise without speech"
LOOP = "repeated loop"
GAP = "speech without words"
LOW = "low probability"
SHAPE = "odd word length"
READINGS = "readings differ"
DAMAGED = "recording damaged"
EMPTY = "no speech in this recording"


def drop_inventions(stretch: Stretch, speech: Sequence[Span]) -> tuple[Stretch, list[Doubt]]:
    """Take out words that nobody can have said, each run of them kept as a doubt with its text.

    That is a reading which the recognizer itself finds unlikely to be speech, and words at a time at
    which the voice detector hears none. Judged by shape, never by a list of phrases.
    """
    if not stretch.words:
        return stretch, []
    if _is_noise(stretch):
        return replace(stretch, words=()), [Doubt(stretch.start, stretch.end, NOISE, stretch.text)]
    near = [(a - SILENCE_PAD_S, b + SILENCE_PAD_S) for a, b in speech]
    doubts, kept = [], []
    for outside, run in groupby(stretch.words, key=lambda w: covered((w.start, w.end + 0.01), near) == 0.0):
        words = list(run)
        if outside:
            doubts.append(Doubt(words[0].start, words[-1].end, SILENCE, _text(words)))
        else:
            kept += words
    return replace(stretch, words=tuple(kept)), doubts


def _is_noise(stretch: Stretch) -> bool:
    return stretch.logprob < HOPELESS_LOGPROB or (
        stretch.no_speech > NO_SPEECH and stretch.logprob < NO_SPEECH_LOGPROB)


def find_doubts(stretch: Stretch, speech: Sequence[Span]) -> list[Doubt]:
    """Everything odd about the words of one stretch."""
    inside = [(max(a, stretch.start), min(b, stretch.end)) for a, b in speech
              if min(b, stretch.end) > max(a, stretch.start)]
    doubts = [Doubt(a, b, GAP) for a, b in uncovered(stretch.words, inside)]
    doubts += [Doubt(w[0].start, w[-1].end, LOOP, _text(w)) for w in loops(stretch.words)]
    if stretch.compression > LOOP_RATIO and not any(d.reason == LOOP for d in doubts):
        doubts.append(Doubt(stretch.start, stretch.end, LOOP, f"compression {stretch.compression:.1f}"))
    for unsure, run in groupby(stretch.words, key=lambda w: w.probability < LOW_PROBABILITY):
        words = list(run)
        if unsure:
            doubts.append(Doubt(words[0].start, words[-1].end, LOW, _text(words)))
    doubts += [Doubt(w.start, w.end, SHAPE, w.text) for w in stretch.words if _odd_length(w)]
    return sorted(doubts, key=lambda d: (d.start, d.end, d.reason))


def loops(words: Sequence[Word]) -> list[list[Word]]:
    """Runs in which a phrase of two to eight words stands REPEATS times or more, one word even more often."""
    keys = [w.text.lower().strip(".,;:?!") for w in words]
    found: list[list[Word]] = []
    at = 0
    while at < len(keys):
        for size in range(1, 9):
            times = _times(keys, at, size)
            if times >= (REPEATS if size > 1 else REPEATS + 2):
                found.append(list(words[at:at + times * size]))
                at += times * size
                break
        else:
            at += 1
    return found


def _times(keys: Sequence[str], at: int, size: int) -> int:
    """How often the phrase of `size` words at `at` stands there in a row."""
    phrase = keys[at:at + size]
    times = 1
    while keys[at + times * size:at + (times + 1) * size] == phrase:
        times += 1
    return times


def _odd_length(word: Word) -> bool:
    length = word.end - word.start
    letters = sum(c.isalnum() for c in word.text)
    return length > WORD_TOO_LONG_S + 0.25 * letters or (length < WORD_TOO_SHORT_S and letters > 3)


def _text(words: Iterable[Word]) -> str:
    return " ".join(w.text for w in words)
