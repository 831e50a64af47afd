"""What a person should hear again, and what nobody can have said."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from intake.speech import doubts as d
from intake.speech.coverage import complete, uncovered
from intake.speech.doubts import drop_inventions, find_doubts, loops
from intake.speech.recognizer import Stretch
from intake.speech.replay import ReplayBatch
from intake.speech.transcript import Word


def said(text: str, *, start: float = 0.0, pace: float = 0.4, probability: float = 0.9) -> tuple[Word, ...]:
    """Words one after the other, `pace` seconds each."""
    return tuple(Word(t, round(start + i * pace, 3), round(start + (i + 1) * pace, 3), probability)
                 for i, t in enumerate(text.split()))


def stretch(words: Sequence[Word], **shape: float) -> Stretch:
    return Stretch(start=0.0, end=30.0, words=tuple(words), **{"logprob": -0.2, **shape})


def test_words_where_nobody_speaks_are_taken_out_and_kept_as_a_doubt() -> None:
    """Invented speech in silence never reaches the text, and is never silently lost."""
    words = said("the lamp is dead") + said("thank you", start=20.0)
    kept, found = drop_inventions(stretch(words), [(0.0, 1.6)])
    assert kept.text == "the lamp is dead"
    assert [(x.reason, x.detail) for x in found] == [(d.SILENCE, "thank you")]


@pytest.mark.parametrize("shape", [{"no_speech": 0.75, "logprob": -1.2}, {"logprob": -1.9}])
def test_a_reading_that_looks_like_noise_is_taken_out_whole(shape: dict[str, float]) -> None:
    """Judged by its shape, not by its words; the words are noted."""
    kept, found = drop_inventions(stretch(said("I'm going to have a look"), **shape), [(0.0, 2.4)])
    assert kept.words == ()
    assert [(x.reason, x.detail) for x in found] == [(d.NOISE, "I'm going to have a look")]


def test_quiet_speech_with_a_sure_reading_stays() -> None:
    """A high no-speech probability alone does not silence a speaker."""
    kept, found = drop_inventions(stretch(said("yes"), no_speech=0.9, logprob=-0.5), [(0.0, 0.4)])
    assert kept.text == "yes"
    assert not found


def test_a_phrase_again_and_again_is_a_loop() -> None:
    """Three times the same phrase in a row is doubtful; a word said twice is not."""
    (run,) = loops(said("it hums and I don't know, I don't know, I don't know and so on"))
    assert " ".join(w.text for w in run) == "I don't know, I don't know, I don't know"
    assert loops(said("very very good, no no it is mark four, mark four")) == []


def test_speech_without_words_is_found() -> None:
    """More than a second of speech that no word accounts for is told with its place."""
    words = said("one two") + said("three", start=10.0)
    assert uncovered(words, [(0.0, 10.4)]) == [(pytest.approx(1.15), pytest.approx(9.65))]
    assert any(x.reason == d.GAP for x in find_doubts(stretch(words), [(0.0, 10.4)]))


def test_one_long_word_does_not_hide_lost_speech() -> None:
    """A word whose time was stretched over lost speech accounts for a word's length only."""
    assert uncovered([Word("so", 0.0, 12.0)], [(0.0, 12.0)]) == [(pytest.approx(1.85), 12.0)]


def test_low_probability_and_odd_lengths_are_told() -> None:
    """A run of unsure words is one doubt."""
    words = (*said("a fine"), *said("haul it in", start=0.8, probability=0.2), Word("tuner", 2.0, 7.0, 0.9))
    assert [(x.reason, x.detail) for x in find_doubts(stretch(words), [(0.0, 7.0)]) if x.reason != d.GAP] == [
        (d.LOW, "haul it in"), (d.SHAPE, "tuner")]


class SlowBatch(ReplayBatch):
    """A batch whose slow reading is given."""

    def __init__(self, first: Stretch, slow: Stretch, speech: Sequence[tuple[float, float]]) -> None:
        super().__init__([first], speech, 30.0)
        self.slow = slow
        self.asked: list[tuple[float, float]] = []

    def slowly(self, start: float, end: float) -> Stretch:
        self.asked.append((start, end))
        return self.slow


def test_lost_speech_is_read_again_and_put_in_its_place() -> None:
    """Words found in uncovered speech join the others in order; none that were there change."""
    slow = Stretch(5.0, 9.0, said("it runs slow", start=5.0), logprob=-0.3)
    batch = SlowBatch(stretch(said("one two") + said("three", start=10.0)), slow, [(0.0, 10.4)])
    (filled,) = complete(batch)
    assert filled.text == "one two it runs slow three"
    assert batch.asked == [(pytest.approx(0.95), pytest.approx(9.85))]


def test_a_circular_reading_is_replaced_by_a_better_slow_one() -> None:
    """Batches have no fallback of their own."""
    slow = Stretch(0.0, 30.0, said("the belt is worn"), logprob=-0.3, compression=1.1)
    batch = SlowBatch(stretch(said("the the the the"), compression=3.1), slow, [(0.0, 1.6)])
    assert [s.text for s in complete(batch)] == ["the belt is worn"]


def test_a_poor_slow_reading_changes_nothing() -> None:
    """What is as bad as before is not taken."""
    slow = Stretch(0.0, 30.0, said("no no no no"), logprob=-2.0, compression=3.0)
    batch = SlowBatch(stretch(said("the the the the"), compression=3.1), slow, [(0.0, 1.6)])
    assert [s.text for s in complete(batch)] == ["the the the the"]
