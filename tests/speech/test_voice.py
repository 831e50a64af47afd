"""Where somebody speaks, and how it is cut; one frame is 32 ms."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from intake.speech.voice import FRAME_S, VoiceOptions, covered, last_silence, overlap, speech_spans, stretches

OPTIONS = VoiceOptions()


def frames(*runs: tuple[float, float]) -> list[float]:
    """Probabilities from (seconds, probability) runs."""
    return [p for seconds, p in runs for _ in range(round(seconds / FRAME_S))]


def test_speech_begins_and_ends_where_the_probability_crosses() -> None:
    """One stretch of speech between silences, to the frame."""
    ((a, b),) = speech_spans(frames((1.6, 0.0), (3.2, 0.9), (1.6, 0.0)), OPTIONS)
    assert abs(a - 1.6) < 0.01
    assert abs(b - 4.8) < 0.01


def test_a_short_silence_does_not_part_speech() -> None:
    """A stop consonant is no pause."""
    assert len(speech_spans(frames((1, 0.9), (0.1, 0.0), (1, 0.9)), OPTIONS)) == 1
    assert len(speech_spans(frames((1, 0.9), (0.3, 0.0), (1, 0.9)), OPTIONS)) == 2


def test_a_click_is_no_speech() -> None:
    """Noises shorter than a tenth of a second are left out."""
    assert speech_spans(frames((1, 0.0), (0.064, 0.9), (1, 0.0)), OPTIONS) == []


def test_speech_to_the_last_frame_counts() -> None:
    """A recording that stops in mid-word keeps that word."""
    assert speech_spans(frames((1, 0.0), (1, 0.9)), OPTIONS)[-1][1] > 1.9


spans_of_speech = st.lists(st.tuples(st.floats(0.05, 40), st.floats(0.2, 6)), max_size=30).map(
    lambda runs: [(a, b) for a, b in _laid_out(runs)])


def _laid_out(runs):  # type: ignore[no-untyped-def]
    at = 0.5
    for length, gap in runs:
        yield at, at + length
        at += length + gap


@given(spans_of_speech)
def test_stretches_hold_all_speech_and_never_overlap(spans: list[tuple[float, float]]) -> None:
    """Nothing spoken is left out of the decoder's windows, nothing is decoded twice, none is too long."""
    end = spans[-1][1] + 1 if spans else 10.0
    parts = stretches(spans, end, OPTIONS)
    assert all(covered(span, parts) > 0.9999 for span in spans)
    assert all(a[1] <= b[0] + 1e-9 for a, b in pairwise(parts))
    assert all(b - a <= OPTIONS.longest_s + 1e-6 for a, b in parts)
    assert all(a >= 0 and b <= end for a, b in parts)


def test_a_piece_is_cut_in_its_last_silence() -> None:
    """Sound that goes on is parted where nobody speaks."""
    assert last_silence([(0, 100), (102, 200), (204, 240)], 240, 40) == 202
    assert last_silence([(0, 240)], 240, 40) == 240
    assert last_silence([(0, 100)], 240, 40) == 170


def test_overlap_and_cover() -> None:
    """Seconds shared, and the share covered."""
    assert overlap((0, 2), (1, 5)) == 1
    assert covered((0, 4), [(0, 1), (3, 9)]) == 0.5
    assert covered((1, 1), [(0, 4)]) == 0
