"""Plays the very seconds behind a value with the first player that this computer has."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import time
import wave
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from intake.errors import CaptureError

RATE = 16_000
BEFORE_S, AFTER_S = 1.0, 0.8                   # heard around the words, so that they are not cut off

# Players that can begin at a second, and how each is told; then those that only play a file from its start, which
# are given a short file of just these seconds.
Command = Callable[[str, float, float], list[str]]
SEEKING: Mapping[str, Command] = {
    "ffplay": lambda file, start, length: [
        "-nodisp", "-autoexit", "-loglevel", "quiet", "-ss", f"{start:.3f}", "-t", f"{length:.3f}", "-i", file],
    "mpv": lambda file, start, length: [
        "--no-video", "--really-quiet", "--no-terminal", f"--start={start:.3f}", f"--length={length:.3f}", "--", file],
}
PLAIN: Mapping[str, list[str]] = {
    "pw-play": [], "paplay": [], "afplay": [], "aplay": ["-q"], "play": ["-q"],
}
NONE = "no player for sound here: install ffmpeg or mpv. The words: {clock} in {name} ({folder})"
GAVE_UP = "no sound came from {player}. To hear it elsewhere: {clock} in {name} ({folder})"
AT_LEAST = 0.4                                 # share of the seconds that a player which plays them needs


def player() -> str | None:
    """The first player found; None where there is none."""
    return next((name for name in (*SEEKING, *PLAIN) if shutil.which(name)), None)


class Listening:
    """Plays one stretch at a time; a new one, or `stop`, ends the one before."""

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        self._now = now
        self._until = 0.0
        self._ended: float | None = None
        self._gave_up = ""
        self._running: subprocess.Popen[bytes] | None = None
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    def play(self, path: Path, start_s: float, end_s: float, *, clock: str) -> str:
        """Play from a second to another, and a little around; returns what to tell the reviewer.

        Where there is no player, or nothing to play, that is what it tells. Raises CaptureError where the
        recording cannot be read.
        """
        self.stop()
        name = player()
        if not path.is_file():
            return f"{path.name} is not where it was ({path.parent}), so it cannot be played"
        if path.suffix.lower() in (".vtt", ".txt"):
            return f"{path.name} is a written text; there is no sound to play"
        if name is None:
            return NONE.format(clock=clock, name=path.name, folder=path.parent)
        start, length = max(0.0, start_s - BEFORE_S), end_s - start_s + BEFORE_S + AFTER_S
        if name in SEEKING:
            arguments = SEEKING[name](str(path), start, length)
        else:
            arguments = [*PLAIN[name], str(self._cut(path, start, length))]
        try:
            self._running = subprocess.Popen(
                [name, *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        except OSError as error:
            return f"{name} could not be started: {error.strerror}"
        self._until = self._now() + AT_LEAST * length
        self._gave_up = GAVE_UP.format(player=name, clock=clock, name=path.name, folder=path.parent)
        return f"{name} plays {clock} of {path.name}"

    def playing(self) -> bool:
        """Whether a player is at it."""
        return self._running is not None and self._running.poll() is None

    def failed(self) -> str:
        """What to tell where the player gave up; empty while it plays, and where it did.

        Without a sound device some say so, and some end as if all were well: those end too soon.
        """
        code = self._running.poll() if self._running is not None else None
        if code is not None and code == 0 and self._ended is None:
            self._ended = self._now()
        soon = self._ended is not None and self._ended < self._until
        return self._gave_up if code is not None and (code != 0 or soon) else ""

    def stop(self) -> None:
        """End what is playing, and throw away the short file."""
        if self._running is not None and self._running.poll() is None:
            self._running.terminate()
            self._running.wait()
        self._running, self._ended = None, None
        if self._folder is not None:
            self._folder.cleanup()
            self._folder = None

    def _cut(self, path: Path, start_s: float, length_s: float) -> Path:
        self._folder = tempfile.TemporaryDirectory(prefix="intake-hear-")
        target = Path(self._folder.name) / "seconds.wav"
        cut(path, target, start_s, length_s)
        return target


def cut(path: Path, target: Path, start_s: float, length_s: float) -> None:
    """Write these seconds of a recording as a plain wav file (16 bits, one channel). Raises CaptureError."""
    import av

    try:
        with av.open(f"file:{path}", metadata_errors="ignore") as container:
            stream = container.streams.audio[0]
            container.seek(max(0, int((start_s - 1.0) * 1_000_000)))
            blocks = list(_samples(av, container, stream, start_s, start_s + length_s))
    except (av.error.FFmpegError, OSError, IndexError) as error:
        raise CaptureError("these seconds cannot be read.", path=path,
                           hint="Play the file in another program.") from error
    with wave.open(str(target), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(b"".join(blocks))


def _samples(av: Any, container: Any, stream: Any, start_s: float, end_s: float) -> Any:
    """The 16-bit samples from one second to another."""
    resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE)
    at: float | None = None
    for frame in container.decode(stream):
        if frame.time is not None and frame.time >= end_s:
            return
        for part in resampler.resample(frame):
            values = part.to_ndarray().reshape(-1)
            at = float(frame.time or 0.0) if at is None else at
            first = max(0, round((start_s - at) * RATE))
            last = min(len(values), round((end_s - at) * RATE))
            if first < last:
                yield values[first:last].tobytes()
            at += len(values) / RATE
