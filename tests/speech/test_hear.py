"""A recording becomes a stored transcript, once; an interrupted run goes on where it was."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from intake.capture.walk import Recording
from intake.errors import CaptureError, ShopError
from intake.settings import Settings
from intake.speech import doubts as d
from intake.speech.hear import sentences, transcribe
from intake.speech.recognizer import DecodeOptions, Stretch
from intake.speech.replay import ReplayBatch, ReplayRecognizer, Shelf
from intake.speech.transcript import Doubt, Segment, Transcript, Word


def said(text: str, start: float = 0.0) -> tuple[Word, ...]:
    return tuple(Word(t, start + i * 0.5, start + i * 0.5 + 0.4, 0.9) for i, t in enumerate(text.split()))


def batch(text: str, start: float, end: float) -> ReplayBatch:
    words = said(text, start)
    return ReplayBatch([Stretch(start, end, words, logprob=-0.2)], [(start, words[-1].end)], end)


@pytest.fixture
def recording(tmp_path: Path) -> Recording:
    path = tmp_path / "memo 01.m4a"
    path.write_bytes(b"sound")
    return Recording(path=path, name=path.name, sha256="ab" * 32, kind="m4a")


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(shop=tmp_path / "shop")


class Breaking(ReplayRecognizer):
    """Stops after the first batch, as a killed run does."""

    def batches(self, path: Path, options: DecodeOptions, *, start: float = 0.0) -> Iterator[ReplayBatch]:
        for number, one in enumerate(super().batches(path, options, start=start)):
            if number:
                raise KeyboardInterrupt
            yield one


def test_a_recording_is_decoded_once(recording: Recording, settings: Settings) -> None:
    """The second time the stored transcript is taken, word for word, with the options that made it."""
    recognizer = ReplayRecognizer([batch("the lamp is dead.", 0.5, 10.0)])
    first = transcribe(recording, settings, None, recognizer=recognizer)
    again = transcribe(recording, settings, None, recognizer=recognizer)
    assert again == first
    assert recognizer.heard == 1
    assert first.duration_s == 10.0
    assert first.options["model"] == "replay"
    assert first.options["beam"] == DecodeOptions().beam


def test_redo_decodes_again(recording: Recording, settings: Settings) -> None:
    """What is stored does not stand in the way of a new decoding."""
    transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("one", 0.0, 10.0)]))
    fresh = transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("two", 0.0, 10.0)]), redo=True)
    assert [w.text for w in fresh.words()] == ["two"]


def test_a_killed_run_goes_on_where_it_was(recording: Recording, settings: Settings) -> None:
    """Batches that were heard before the kill are not decoded again, and nothing is lost or doubled."""
    parts = [batch("one two", 0.0, 10.0), batch("three four", 10.0, 20.0)]
    with pytest.raises(KeyboardInterrupt):
        transcribe(recording, settings, None, recognizer=Breaking(parts))
    second = ReplayRecognizer(parts)
    whole = transcribe(recording, settings, None, recognizer=second)
    assert [w.text for w in whole.words()] == ["one", "two", "three", "four"]
    assert second.heard == 1
    assert not list(settings.transcripts.glob("*.part.json"))


def test_other_options_are_another_decoding(recording: Recording, settings: Settings) -> None:
    """A stored transcript answers only for the options that made it."""
    transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("one", 0.0, 10.0)]))
    other = transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("two", 0.0, 10.0)]),
                       options=DecodeOptions(beam=1))
    assert [w.text for w in other.words()] == ["two"]


def test_the_plain_decoding_is_stored_beside_the_final_one(recording: Recording, settings: Settings) -> None:
    """The record of what was said, without any hint, is kept."""
    transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("one", 0.0, 10.0)]))
    names = sorted(p.name.split(".", 1)[1] for p in settings.transcripts.iterdir())
    assert names == ["json", "plain.json"]


def test_a_damaged_stored_transcript_is_made_anew(recording: Recording, settings: Settings) -> None:
    """Half a file is no transcript."""
    transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("one", 0.0, 10.0)]))
    for path in settings.transcripts.iterdir():
        path.write_text('{"format": "intake-tr')
    fresh = transcribe(recording, settings, None, recognizer=ReplayRecognizer([batch("two", 0.0, 10.0)]))
    assert [w.text for w in fresh.words()] == ["two"]


def test_damage_and_silence_are_doubts_not_failures(recording: Recording, settings: Settings) -> None:
    """What could be read of a cut-short recording is kept; a silent one has no words and says so."""
    damaged = ReplayRecognizer([batch("one", 0.0, 10.0)], damage="ends early")
    cut = transcribe(recording, settings, None, recognizer=damaged)
    assert Doubt(10.0, 10.0, d.DAMAGED, "ends early") in cut.doubts
    silent = transcribe(recording, settings, None, recognizer=ReplayRecognizer([ReplayBatch([], [], 30.0)]), redo=True)
    assert list(silent.words()) == []
    assert [x.reason for x in silent.doubts] == [d.EMPTY]


def test_a_recording_without_any_sound_is_an_error(recording: Recording, settings: Settings) -> None:
    """It names the file and says what to do."""
    with pytest.raises(CaptureError, match=r"memo 01\.m4a.*no sound"):
        transcribe(recording, settings, None, recognizer=ReplayRecognizer([]))


def test_a_transcript_that_cannot_be_stored_is_an_error(recording: Recording, tmp_path: Path) -> None:
    """A file in the place of the folder stands for any disk that refuses."""
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / "transcripts").write_text("in the way")
    with pytest.raises(ShopError, match="cannot be stored"):
        transcribe(recording, Settings(shop=tmp_path / "shop"), None,
                   recognizer=ReplayRecognizer([batch("one", 0.0, 10.0)]))


def test_progress_is_told_in_seconds_of_sound(recording: Recording, settings: Settings) -> None:
    """One call after each batch."""
    told: list[float] = []
    transcribe(recording, settings, None, progress=told.append,
               recognizer=ReplayRecognizer([batch("one", 0.0, 10.0), batch("two", 10.0, 20.0)]))
    assert told == [10.0, 20.0]


def test_segments_end_with_sentences() -> None:
    """A full stop ends a segment, the stop after a spelled letter does not."""
    assert [s.text for s in sentences(said("It hums. Marrowby M. B. 38. Is it dead? I think"))] == [
        "It hums.", "Marrowby M. B. 38.", "Is it dead?", "I think"]


def test_a_transcript_is_read_back_unchanged() -> None:
    """Stored as JSON and read again it is the same, readings and doubts included."""
    transcript = Transcript(
        "a.wav", "00", 3.0, (Segment((Word("Haldwick", 0.0, 1.0, 0.4, heard="hull would", others=("Haldon",)),)),),
        (Doubt(0.0, 1.0, d.READINGS, "x"),), ((0.0, 2.0),), {"beam": 5})
    assert Transcript.from_dict(json.loads(json.dumps(transcript.to_dict()))) == transcript


def test_a_full_disk_leaves_what_was_stored(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write that fails in the middle neither damages the old file nor leaves a temporary one."""
    shelf = Shelf(settings.transcripts)
    one = Transcript("a", "00", 1.0, ())
    shelf.save("x", one, one)

    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(json, "dump", full)
    with pytest.raises(ShopError, match="No space left"):
        shelf.save("x", Transcript("a", "00", 2.0, ()), one)
    assert shelf.load("x") == one
    assert sorted(p.name for p in settings.transcripts.iterdir()) == ["x.json", "x.plain.json"]
