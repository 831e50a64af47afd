"""Reads the cue files (vocab/cues/*.yaml): phrases that signal something, and which words they reach."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from intake.errors import VocabularyError
from intake.language.tokens import normalise

REACHES = ("forward", "backward", "both", "none")
_KEYS = {"signals", "reach", "words", "crosses", "say", "example"}


@dataclass(frozen=True)
class Cue:
    """A phrase that signals something about the words it reaches.

    `words` is the longest reach (0 = to the end of the clause); `crosses`: clause borders do not stop it.
    """

    phrase: str
    signals: str
    reach: str
    words: int = 0
    crosses: bool = False


@lru_cache(maxsize=8)
def load_cues(folder: Path) -> tuple[Cue, ...]:
    """All cues of the *.yaml files in `folder`; raises VocabularyError on an unknown key or a missing one."""
    cues: list[Cue] = []
    for path in sorted(folder.glob("*.yaml")):
        try:
            data = yaml.safe_load(path.read_text(encoding="utf-8"))
        except (OSError, yaml.YAMLError) as error:
            raise VocabularyError(f"the cues cannot be read: {error}.", path=path) from error
        if not isinstance(data, dict) or set(data) != {"cues"}:
            raise VocabularyError("a cue file holds one list named `cues`.", path=path)
        for entry in data["cues"]:
            cues.extend(_entry(entry, path))
    return tuple(cues)


def _entry(entry: Any, path: Path) -> list[Cue]:
    if not isinstance(entry, dict) or not _KEYS >= set(entry) >= {"signals", "reach", "say", "example"}:
        raise VocabularyError(
            f"this cue is not of the known form: {entry!r}.",
            path=path,
            hint=f"Keys: {', '.join(sorted(_KEYS))}; words and crosses may be left out.",
        )
    if entry["reach"] not in REACHES:
        raise VocabularyError(f"reach {entry['reach']!r} is unknown.", path=path, hint=f"Known: {', '.join(REACHES)}.")
    return [
        Cue(
            normalise(str(say)),
            entry["signals"],
            entry["reach"],
            int(entry.get("words", 0)),
            bool(entry.get("crosses", False)),
        )
        for say in entry["say"]
    ]
