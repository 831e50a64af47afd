"""Compares the words with the stretches in which somebody speaks, and reads again what was missed.

Decoding in batches has no fallback and can lose speech (SYSTRAN/faster-whisper #1179, #1351).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from intake.speech.recognizer import Batch, Stretch
from intake.speech.transcript import Word
from intake.speech.voice import Span, overlap

LEAST_GAP_S = 1.2           # shorter uncovered speech is a breath, a stretched vowel or a word time that is off
WORD_REACH_S = 0.35         # a word accounts for speech this far before and after it ...
WORD_LONGEST_S = 1.5        # ... and for no more than this, however long its own time is
LOOP_RATIO = 2.4            # a text that compresses better goes in circles (openai/whisper's threshold)
POOR_LOGPROB = -1.0         # openai/whisper's threshold


def uncovered(words: Iterable[Word], speech: Iterable[Span]) -> list[Span]:
    """Stretches of speech of at least LEAST_GAP_S that no word accounts for."""
    taken = sorted((w.start - WORD_REACH_S, min(w.end, w.start + WORD_LONGEST_S) + WORD_REACH_S) for w in words)
    gaps: list[Span] = []
    for a, b in speech:
        at = a
        for start, end in taken:
            if end <= at or start >= b:
                continue
            if start - at >= LEAST_GAP_S:
                gaps.append((at, start))
            at = max(at, end)
        if b - at >= LEAST_GAP_S:
            gaps.append((at, b))
    return gaps


def is_poor(stretch: Stretch) -> bool:
    """A reading so unsure or so circular that it should be tried again."""
    return bool(stretch.words) and (stretch.compression > LOOP_RATIO or stretch.logprob < POOR_LOGPROB)


def complete(batch: Batch) -> list[Stretch]:
    """The batch's stretches, poor ones read again slowly and missed speech filled in.

    A slow reading replaces a poor one only if it is better; elsewhere it only adds words where
    there were none.
    """
    return [_fill(batch, _better(batch, stretch)) for stretch in batch.stretches]


def _better(batch: Batch, stretch: Stretch) -> Stretch:
    if not is_poor(stretch):
        return stretch
    slow = batch.slowly(stretch.start, stretch.end)
    if not slow.words or slow.compression > LOOP_RATIO:
        return stretch
    circular = stretch.compression > LOOP_RATIO         # loops are often sure of themselves
    return slow if circular or slow.logprob > stretch.logprob else stretch


def _fill(batch: Batch, stretch: Stretch) -> Stretch:
    """Add what a slow reading finds in the uncovered speech of one stretch."""
    speech = [(max(a, stretch.start), min(b, stretch.end)) for a, b in batch.speech
              if overlap((a, b), (stretch.start, stretch.end)) > 0]
    found: list[Word] = []
    for a, b in uncovered(stretch.words, speech):
        slow = batch.slowly(max(stretch.start, a - 0.2), min(stretch.end, b + 0.2))
        if not is_poor(slow):
            found += [w for w in slow.words if not _meets(w, stretch.words)]
    if not found:
        return stretch
    words = sorted((*stretch.words, *found), key=lambda w: (w.start, w.end))
    return replace(stretch, words=tuple(words))


def _meets(word: Word, others: Sequence[Word]) -> bool:
    """Whether the time of a word is mostly taken by another one already."""
    length = max(0.05, word.end - word.start)
    return any(overlap((word.start, word.end), (o.start, min(o.end, o.start + WORD_LONGEST_S))) > 0.5 * length
               for o in others)
