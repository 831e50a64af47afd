"""Hearing the very seconds."""

from __future__ import annotations

import math
import struct
import subprocess
import wave
from pathlib import Path

import pytest

from intake.errors import CaptureError
from intake.review import sound


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Ten seconds: silence, and a tone from second 4 to second 5."""
    path = tmp_path / "memo.wav"
    samples = [int(12000 * math.sin(2 * math.pi * 440 * n / 8000)) if 4 <= n / 8000 < 5 else 0 for n in range(80_000)]
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return path


def fake_player(folder: Path, name: str, monkeypatch: pytest.MonkeyPatch, *, does: str = "") -> Path:
    """A player on the path, the only one, that notes what it was told."""
    folder.mkdir()
    program, told = folder / name, folder / "told"
    program.write_text(f'#!/bin/sh\nprintf "%s\\n" "$@" > "{told}"\n{does}\n')
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}:/bin")
    monkeypatch.setattr(sound.shutil, "which", lambda n: str(program) if n == name else None)
    return told


def test_the_cut_holds_just_these_seconds(recording: Path, tmp_path: Path) -> None:
    """A player that cannot seek is given a short file, and the tone is where it was said to be."""
    target = tmp_path / "cut.wav"
    sound.cut(recording, target, 3.5, 2.0)
    with wave.open(str(target)) as file:
        rate, count = file.getframerate(), file.getnframes()
        values = struct.unpack(f"<{count}h", file.readframes(count))
    assert count / rate == pytest.approx(2.0, abs=0.05)
    loud = [n / rate for n, value in enumerate(values) if abs(value) > 3000]
    assert loud[0] == pytest.approx(0.5, abs=0.05)
    assert loud[-1] == pytest.approx(1.5, abs=0.05)


def test_a_seeking_player_is_told_the_second(recording: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The player begins a little before the words and ends a little after."""
    told = fake_player(tmp_path / "bin", "ffplay", monkeypatch)
    listening = sound.Listening()
    assert "0:04.0" in listening.play(recording, 4.0, 5.0, clock="0:04.0")
    assert isinstance(listening._running, subprocess.Popen)
    listening._running.wait()
    lines = told.read_text().split("\n")
    assert lines[lines.index("-ss") + 1] == "3.000"
    assert lines[lines.index("-t") + 1] == "2.800"
    assert str(recording) in lines


def test_a_plain_player_gets_a_short_file(recording: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What only plays whole files plays just the seconds, and the file goes when it stops."""
    told = fake_player(tmp_path / "bin", "aplay", monkeypatch)
    listening = sound.Listening()
    listening.play(recording, 4.0, 5.0, clock="0:04.0")
    assert listening._running is not None
    listening._running.wait()
    given = Path(told.read_text().split("\n")[1])
    assert given.name == "seconds.wav"
    listening.stop()
    assert not given.exists()


def test_without_a_player_it_says_so(recording: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No player: the reviewer is told where the words are."""
    monkeypatch.setattr(sound.shutil, "which", lambda _: None)
    said = sound.Listening().play(recording, 4.0, 5.0, clock="0:04.0")
    assert "no player" in said
    assert "0:04.0" in said
    assert recording.name in said
    assert "install" in said[:80]


def test_a_player_that_fails_is_noticed(recording: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A computer without a sound device: the player's failure is told."""
    fake_player(tmp_path / "bin", "mpv", monkeypatch, does="exit 3")
    listening = sound.Listening()
    listening.play(recording, 4.0, 5.0, clock="0:04.0")
    assert listening._running is not None
    listening._running.wait()
    assert listening.failed()


def test_a_missing_or_broken_recording_is_told(tmp_path: Path) -> None:
    """A moved file is a sentence; a damaged one an error of ours."""
    assert "not where it was" in sound.Listening().play(tmp_path / "gone.m4a", 0, 1, clock="0:00.0")
    broken = tmp_path / "broken.wav"
    broken.write_bytes(b"RIFF nothing")
    with pytest.raises(CaptureError):
        sound.cut(broken, tmp_path / "out.wav", 0, 1)


def test_a_player_that_ends_too_soon_made_no_sound(recording: Path, tmp_path: Path,
                                                   monkeypatch: pytest.MonkeyPatch) -> None:
    """Some players end as if all were well where there is no sound device: far sooner than the seconds take."""
    for took, silent in ((0.5, True), (3.0, False)):
        fake_player(tmp_path / f"bin{took}", "ffplay", monkeypatch)
        at = [100.0]
        listening = sound.Listening(now=lambda at=at: at[0])  # type: ignore[misc]  # mypy has no type for defaults
        listening.play(recording, 4.0, 5.0, clock="0:04.0")
        assert listening._running is not None
        listening._running.wait()
        at[0] += took
        told = listening.failed()
        assert ("0:04.0" in told and told[:80].startswith("no sound came")) if silent else told == ""
