"""What a review costs, kept in the shop's own folder: keys and seconds of each answer, a line of JSON each."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from intake.review.answers import Answer

AWAY_S = 180.0                                 # longer without a key: the reviewer was not at the screen


@dataclass(frozen=True)
class Spent:
    """One answer's effort; `asked`: a flag had put it before the reviewer; `right`: the machine's value stood."""

    at: str
    who: str
    about: str
    field: str
    how: str
    asked: bool
    right: bool
    keys: int
    letters: int
    seconds: float
    confidence: float


class Effort:
    """Counts keys and seconds between answers and appends them to a file; a lost line costs only a figure."""

    def __init__(self, folder: Path, who: str, now: Callable[[], float] = time.monotonic) -> None:
        self.file = folder / "effort.jsonl"
        self.who = who
        self.now = now
        self.keys = self.letters = 0
        self.seconds = 0.0
        self._last = now()

    def key(self, *, letter: bool = False) -> None:
        """A key was pressed; `letter`: one of a typed correction."""
        at = self.now()
        self.seconds += min(at - self._last, AWAY_S)
        self._last = at
        self.keys += not letter
        self.letters += letter

    def answered(self, answer: Answer) -> Spent:
        """An answer is given: its effort is what came since the one before."""
        row = answer.row
        spent = Spent(datetime.now(UTC).isoformat(timespec="seconds"), self.who, row.about, row.field, answer.how,
                      row.asked, answer.right, self.keys, self.letters, round(self.seconds, 2), row.confidence)
        self.keys = self.letters = 0
        self.seconds = 0.0
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            with self.file.open("a", encoding="utf-8") as file:
                file.write(json.dumps(spent.__dict__, ensure_ascii=False) + "\n")
        except OSError:                        # a full disk must not stop the review: the answer itself is kept
            pass
        return spent


def read(folder: Path) -> Iterator[Spent]:
    """All efforts on file; a line that was cut off is passed over."""
    file = folder / "effort.jsonl"
    if not file.exists():
        return
    for line in file.read_text(encoding="utf-8", errors="replace").splitlines():
        try:
            data: dict[str, Any] = json.loads(line)
            yield Spent(**data)
        except (ValueError, TypeError):
            continue
