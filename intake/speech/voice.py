"""Where somebody speaks, and how that is cut into stretches for the recognizer. Plain arithmetic, no model.

The voice detector gives one probability for each frame of 32 ms (512 samples at 16 kHz).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

FRAME_S = 0.032
Span = tuple[float, float]


@dataclass(frozen=True)
class VoiceOptions:
    """When sound counts as speech, and how it is cut.

    Padding is 0.4 s because detectors clip quiet word ends (faster-whisper PR #1153).
    """

    on: float = 0.5               # speech begins at this probability ...
    off: float = 0.35             # ... and lasts until it falls below this one
    min_silence_s: float = 0.16   # shorter silences do not part speech
    min_speech_s: float = 0.10    # shorter noises are no speech
    pad_s: float = 0.4            # kept on both sides when decoding
    longest_s: float = 29.0       # of one stretch; the recognizer's window is 30 s
    gap_s: float = 3.0            # a longer silence ends a stretch


def speech_spans(probabilities: Sequence[float], options: VoiceOptions) -> list[Span]:
    """Stretches of speech in seconds, without padding."""
    spans: list[Span] = []
    start: int | None = None
    quiet: int | None = None                # the frame at which the current silence began
    patience = options.min_silence_s / FRAME_S
    for i, p in enumerate(probabilities):
        if p >= options.on:
            quiet = None
            start = i if start is None else start
        elif start is not None and p < options.off:
            quiet = i if quiet is None else quiet
            if i - quiet >= patience:
                spans.append((start * FRAME_S, quiet * FRAME_S))
                start = quiet = None
    if start is not None:
        spans.append((start * FRAME_S, (quiet if quiet is not None else len(probabilities)) * FRAME_S))
    return [(a, b) for a, b in spans if b - a >= options.min_speech_s]


def stretches(spans: Iterable[Span], end_s: float, options: VoiceOptions) -> list[Span]:
    """Padded stretches of at most `longest_s` seconds that hold all speech, cut in the silences between.

    Speech without any silence for that long is cut at the limit.
    """
    padded = [s for span in spans for s in _chopped(span, end_s, options)]
    out: list[Span] = []
    for a, b in padded:
        if out and b - out[-1][0] <= options.longest_s and a - out[-1][1] <= options.gap_s:
            out[-1] = (out[-1][0], b)
        else:
            if out and a < out[-1][1]:                   # padding of neighbours overlaps: part them in the middle
                middle = (a + out[-1][1]) / 2
                out[-1] = (out[-1][0], middle)
                a = middle
            out.append((a, b))
    return out


def _chopped(span: Span, end_s: float, options: VoiceOptions) -> list[Span]:
    a, b = max(0.0, span[0] - options.pad_s), min(end_s, span[1] + options.pad_s)
    out = []
    while b - a > options.longest_s:
        out.append((a, a + options.longest_s))
        a += options.longest_s
    return [*out, (a, b)]


def last_silence(spans: Sequence[Span], end_s: float, within_s: float) -> float:
    """Where to cut a piece of sound that goes on: the middle of the last silence of its last `within_s` seconds.

    Where there is none, the end itself.
    """
    for (_, a), (b, _) in reversed(list(pairwise(spans))):
        if b < end_s - within_s:
            break
        return (a + b) / 2
    if spans and spans[-1][1] < end_s - 0.5:
        return (spans[-1][1] + end_s) / 2
    return end_s


def overlap(a: Span, b: Span) -> float:
    """Seconds that two spans share."""
    return max(0.0, min(a[1], b[1]) - max(a[0], b[0]))


def covered(span: Span, others: Iterable[Span]) -> float:
    """The share of `span` that `others` (in order, apart) cover; 0 for an empty span."""
    length = span[1] - span[0]
    return min(1.0, sum(overlap(span, o) for o in others) / length) if length > 0 else 0.0
