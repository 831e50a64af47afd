"""Stored transcripts: found again instead of decoding, and a recognizer that only repeats one (for tests)."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from intake.errors import ShopError
from intake.speech.recognizer import DecodeOptions, Stretch
from intake.speech.transcript import Transcript


def key(sha256: str, made_by: Mapping[str, Any]) -> str:
    """The stem of a stored transcript's file name: the recording's hash and what decoded it."""
    canonical = json.dumps(made_by, sort_keys=True, default=str).encode()
    return f"{sha256[:24]}-{hashlib.sha256(canonical).hexdigest()[:8]}"


@dataclass(frozen=True)
class Shelf:
    """The folder in which a shop's transcripts are stored.

    For each decoding there are two files: NAME.json, what is worked with, and NAME.plain.json, the
    decoding without hints: the record of what was said. NAME.part.json is an unfinished decoding.
    """

    folder: Path

    def load(self, name: str) -> Transcript | None:
        """A stored transcript; None where there is none or its file is damaged (it is then made anew)."""
        data = self._read(name)
        try:
            return Transcript.from_dict(data) if data is not None else None
        except (KeyError, TypeError, ValueError):
            return None

    def newest(self, sha256: str) -> Transcript | None:
        """The newest transcript of a recording, whatever decoded it: an earlier version's, or another model's."""
        found = sorted(self.folder.glob(f"{sha256[:24]}-{'[0-9a-f]' * 8}.json"), key=lambda path: path.stat().st_mtime)
        return next((kept for path in reversed(found) if (kept := self.load(path.stem)) is not None), None)

    def load_part(self, name: str) -> dict[str, Any] | None:
        """What an interrupted decoding left."""
        data = self._read(f"{name}.part")
        return data if isinstance(data, dict) else None

    def save(self, name: str, final: Transcript, plain: Transcript) -> None:
        """Store both decodings, the plain one first; then forget the unfinished one."""
        self._write(f"{name}.plain", plain.to_dict())
        self._write(name, final.to_dict())
        self._path(f"{name}.part").unlink(missing_ok=True)

    def save_part(self, name: str, data: dict[str, Any]) -> None:
        """Store how far a decoding has come."""
        self._write(f"{name}.part", data)

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.json"

    def _read(self, name: str) -> Any:
        try:
            return json.loads(self._path(name).read_text(encoding="utf-8"))
        except FileNotFoundError:
            return None
        except (OSError, ValueError):
            return None

    def _write(self, name: str, data: Any) -> None:
        """Write a file whole or not at all."""
        temporary = self.folder / f".{name}.{os.getpid()}.tmp"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with temporary.open("w", encoding="utf-8") as file:
                json.dump(data, file, ensure_ascii=False)
                file.flush()
                os.fsync(file.fileno())
            os.replace(temporary, self._path(name))
        except OSError as error:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
            raise ShopError(f"a transcript cannot be stored ({error.strerror}).", path=self.folder,
                            hint="Make room on the disk or correct the folder's permissions; "
                                 "what was stored before is kept.") from error


class ReplayBatch:
    """A batch that was read before; it knows nothing but its first reading."""

    def __init__(self, stretches: Sequence[Stretch], speech: Sequence[tuple[float, float]], end_s: float,
                 second: Mapping[int, str] | None = None, likely: Mapping[str, float] | None = None) -> None:
        self.stretches = tuple(stretches)
        self.speech = tuple(speech)
        self.end_s = end_s
        self._second = dict(second or {})
        self._likely = dict(likely or {})

    def again(self, hints: Mapping[int, str], filler: str = "") -> dict[int, str]:
        """The prepared second readings, else the first once more."""
        return {i: self._second.get(i, self.stretches[i].text) for i in hints}

    def weigh(self, texts: Mapping[int, Sequence[Sequence[str]]], hints: Mapping[int, str]
              ) -> dict[int, list[list[float]]]:
        """Every word is equally likely, but for those prepared."""
        return {i: [[self._likely.get(word.strip(".,;:?!"), -1.0) for word in words] for words in some]
                for i, some in texts.items()}

    def slowly(self, start: float, end: float) -> Stretch:
        """Nothing more is heard."""
        return Stretch(start=start, end=end, words=())


class ReplayRecognizer:
    """Repeats prepared batches, whatever the recording."""

    def __init__(self, batches: Sequence[ReplayBatch], *, damage: str = "") -> None:
        self._batches = tuple(batches)
        self._damage = damage
        self.heard = 0                          # batches given out, over all recordings

    @classmethod
    def of(cls, transcript: Transcript) -> ReplayRecognizer:
        """One batch whose stretches are the transcript's segments."""
        stretches = [Stretch(start=s.start, end=s.end, words=s.words) for s in transcript.segments if s.words]
        speech = transcript.speech or tuple((s.start, s.end) for s in stretches)
        return cls([ReplayBatch(stretches, speech, transcript.duration_s)])

    @property
    def facts(self) -> dict[str, Any]:
        """What reads."""
        return {"model": "replay", "sha256": "", "device": "none"}

    def damage(self) -> str:
        """What could not be read of the last recording."""
        return self._damage

    def batches(self, path: Path, options: DecodeOptions, *, start: float = 0.0) -> Iterator[ReplayBatch]:
        """The prepared batches that end after `start`."""
        for batch in self._batches:
            if batch.end_s > start:
                self.heard += 1
                yield batch

    def count_tokens(self, text: str) -> int:
        """About four letters a token."""
        return len(text) // 4 + 1
