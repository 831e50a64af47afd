"""Captures in which nobody speaks: no word and no unit may come of them. Needs the weights, so it is slow.

All sound is made here by plain arithmetic; nothing is recorded.
"""

from __future__ import annotations

import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from intake.settings import Settings, load_settings
from intake.speech import doubts as d
from intake.speech.recognizer import Recognizer
from intake.speech.sound import RATE
from intake.speech.whisper import WhisperRecognizer

Sound = NDArray[np.float64]
SECONDS = 40                    # more than one stretch of the recognizer
TIMES = np.arange(SECONDS * RATE) / RATE
CHORDS = ((0, 4, 7), (9, 12, 16), (5, 9, 12), (7, 11, 14))      # semitones: tonic, relative minor, fourth, fifth

VOCABULARY = '{"makers": ["Quenlow", "Dunbarrow"], "models": {"Quenlow": ["QT-41"]}, "locations": ["shelf B2"]}'


def silence() -> Sound:
    return np.zeros_like(TIMES)


def near_silence() -> Sound:
    """The lowest bit of a recorder."""
    return np.random.default_rng(1).normal(0, 1e-4, len(TIMES))


def hiss() -> Sound:
    return np.random.default_rng(2).normal(0, 1, len(TIMES))


def pink_noise() -> Sound:
    """Equal power in each octave, as of fans and rooms."""
    spectrum = np.fft.rfft(np.random.default_rng(3).normal(0, 1, len(TIMES)))
    return np.fft.irfft(spectrum / np.sqrt(np.arange(1, len(spectrum) + 1)), len(TIMES))


def hum() -> Sound:
    """Mains hum with its overtones, over a rumble."""
    rumble = np.cumsum(np.random.default_rng(4).normal(0, 0.02, len(TIMES)))
    return sum((np.sin(2 * np.pi * 60 * k * TIMES + k) / k for k in range(1, 6)), 0.3 * (rumble - rumble.mean()))


def beeps() -> Sound:
    """A scanner's beep every two seconds, of changing pitch."""
    sound = np.random.default_rng(5).normal(0, 0.01, len(TIMES))
    for i in range(0, SECONDS - 1, 2):
        put(sound, i, np.sin(2 * np.pi * (900 + 150 * (i % 5)) * TIMES[:RATE // 5]))
    return sound


def clatter() -> Sound:
    """Knocks, clinks and things put down, over a quiet room."""
    rng = np.random.default_rng(6)
    sound = rng.normal(0, 0.01, len(TIMES))
    for at in rng.uniform(0, SECONDS - 1, 80):
        length = int(rng.integers(800, 8000))
        ring = np.sin(2 * np.pi * rng.uniform(300, 4000) * TIMES[:length])
        put(sound, at, rng.uniform(0.2, 1) * (rng.normal(0, 1, length) + ring) * np.exp(-np.arange(length) / length * 6))
    return sound


def shop() -> Sound:
    """All of a working shop at once."""
    return pink_noise() * 4 + 0.2 * hum() + 0.5 * clatter() + 0.3 * beeps()


def notes() -> Sound:
    """Single plucked notes in random order."""
    rng = np.random.default_rng(7)
    sound = silence()
    for at in np.arange(0, SECONDS - 2, 0.5):
        put(sound, at, tone(220 * 2 ** (rng.integers(0, 24) / 12), 1.0, fall=3))
    return sound


def chords() -> Sound:
    """Sustained chords of an organ."""
    sound = silence()
    for i, at in enumerate(range(0, SECONDS - 2, 2)):
        for semitone in CHORDS[i % len(CHORDS)]:
            put(sound, at, tone(196 * 2 ** (semitone / 12), 2.0, fall=0.5))
    return sound


def drums() -> Sound:
    """A bass drum on each beat, a snare on every other one, a hat between."""
    rng = np.random.default_rng(8)
    sound = silence()
    for i in range((SECONDS - 1) * 4):
        n = RATE // 4
        fade = np.exp(-np.arange(n) / n * 8)
        if i % 2 == 0:
            put(sound, i / 4, fade * np.sin(2 * np.pi * 60 * TIMES[:n]) * 2)
        if i % 4 == 2:
            put(sound, i / 4, fade * rng.normal(0, 1, n))
        put(sound, i / 4, fade ** 4 * np.diff(rng.normal(0, 0.4, n + 1)))
    return sound


def band() -> Sound:
    """Chords, drums and a tune together: what a shop's radio plays between the talk."""
    return chords() + drums() + 0.8 * notes()


def tone(pitch: float, seconds: float, *, fall: float) -> Sound:
    """A note with overtones and vibrato that dies away."""
    t = TIMES[:int(seconds * RATE)]
    swing = 0.003 * pitch * np.sin(2 * np.pi * 5 * t) / (2 * np.pi * 5)
    waves: Sound = sum((np.sin(2 * np.pi * k * (pitch * t + swing)) / k for k in range(1, 7)), np.zeros_like(t))
    return waves * np.minimum(1, t * 50) * np.exp(-fall * t)


def put(sound: Sound, at: float, piece: Sound) -> None:
    """Add a piece at a time in seconds."""
    start = int(at * RATE)
    room = sound[start:start + len(piece)]
    room += piece[:len(room)]


def save(path: Path, sound: Sound, level: float = 0.4) -> None:
    loudest = np.abs(sound).max()
    if loudest > 0.01:                              # near silence stays as quiet as it is
        sound = sound / loudest * level
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((sound.clip(-1, 1) * 32767).astype("<i2").tobytes())


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """A shop with names that a second reading could be hinted with."""
    from intake.cli.shop import make_shop
    from intake.vocabulary.shopfile import import_vocabulary

    make_shop(tmp_path / "shop")
    (tmp_path / "names.json").write_text(VOCABULARY)
    import_vocabulary(tmp_path / "names.json", tmp_path / "shop" / "vocab")
    return load_settings(tmp_path / "shop")


def understood(settings: Settings, capture: Path, recognizer: Recognizer) -> tuple[list[str], list[Any], list[Any]]:
    """The words, the doubts and the units that come of a capture."""
    from intake.pipeline import process_walk
    from intake.records.export import record
    from intake.records.store import Store
    from intake.speech.replay import Shelf
    from intake.speech.transcript import Transcript

    process_walk([capture], settings, recognizer=recognizer)
    stored = [path for path in settings.transcripts.glob("*.json") if path.stem.count(".") == 0]
    transcripts = [Shelf(settings.transcripts).load(path.stem) for path in stored]
    assert len(transcripts) == 1
    transcript = transcripts[0]
    assert isinstance(transcript, Transcript)
    with Store.open(settings.database) as store:
        export = record(store, capture.name)
    return [w.text for w in transcript.words()], list(transcript.doubts), export["units"]


@pytest.mark.slow
@pytest.mark.parametrize("make", [silence, near_silence, hiss, pink_noise, hum, beeps, clatter, shop, notes, chords, drums,
                                  band], ids=lambda make: make.__name__)
def test_nobody_speaking_gives_no_words_and_no_units(
        recognizer: WhisperRecognizer, settings: Settings, tmp_path: Path, make: Callable[[], Sound]) -> None:
    """Silence, music and a working shop are no words, whatever a recognizer likes to hear in them; the walk says so."""
    capture = tmp_path / "2026-05-14-empty-room"
    capture.mkdir()
    save(capture / "memo-01.wav", make())
    words, doubts, units = understood(settings, capture, recognizer)
    assert words == []
    assert units == []
    assert doubts
    assert {doubt.reason for doubt in doubts} <= {d.EMPTY, d.NOISE, d.SILENCE, d.GAP}
