"""Sound files become samples, in pieces; damage is told, not hidden."""

from __future__ import annotations

import math
import wave
from pathlib import Path

import numpy as np
import pytest

from intake.errors import CaptureError
from intake.speech.sound import RATE, SoundReader, read_all


def tone(path: Path, *, seconds: float = 3.0, rate: int = 44_100, channels: int = 2, level: float = 0.5) -> Path:
    """A 440 Hz tone as a 16-bit WAV file."""
    n = np.arange(int(seconds * rate))
    samples = (level * 32767 * np.sin(2 * math.pi * 440 * n / rate)).astype("<i2")
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(np.repeat(samples, channels).tobytes())
    return path


def test_any_rate_and_channels_become_mono_at_16_khz(tmp_path: Path) -> None:
    """Length, level and pitch survive."""
    samples = read_all(tone(tmp_path / "a tone 'quoted' \n ü.wav"))
    assert len(samples) == pytest.approx(3 * RATE, abs=400)
    assert np.abs(samples).max() == pytest.approx(0.5, abs=0.02)
    spectrum = np.abs(np.fft.rfft(samples[:RATE]))
    assert int(spectrum.argmax()) == pytest.approx(440, abs=1)


def test_pieces_join_to_the_whole(tmp_path: Path) -> None:
    """Nothing is lost or doubled at the joints."""
    path = tone(tmp_path / "a.wav", seconds=7.3)
    pieces = list(SoundReader(path, piece_s=2.0).pieces())
    assert len(pieces) == 4
    assert np.array_equal(np.concatenate(pieces), read_all(path))


@pytest.mark.parametrize("content", [b"", b"not sound at all " * 50, b"RIFF\x00\x00\x00\x00WAVE"])
def test_a_file_without_sound_is_an_error_that_names_it(tmp_path: Path, content: bytes) -> None:
    """Zero bytes, text, an empty container: one clear message."""
    path = tmp_path / "memo.wav"
    path.write_bytes(content)
    with pytest.raises(CaptureError, match=r"memo\.wav"):
        list(SoundReader(path).pieces())


def test_a_truncated_file_gives_what_is_left(tmp_path: Path) -> None:
    """The start of a recording that was cut off is kept."""
    path = tone(tmp_path / "a.wav")
    whole = path.read_bytes()
    path.write_bytes(whole[:len(whole) // 2])
    samples = read_all(path)
    assert len(samples) == pytest.approx(1.5 * RATE, abs=2000)


def test_a_missing_file_is_an_error(tmp_path: Path) -> None:
    """It may have been moved since the capture was read."""
    with pytest.raises(CaptureError, match="cannot be read"):
        list(SoundReader(tmp_path / "gone.m4a").pieces())
