"""Sound-alike search: spans of heard words against the names and terms of the vocabulary."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Candidate:
    """A name that sounds like what was heard. `score` is 1 for the same sound, 0 for nothing in common."""

    canonical: str
    kind: str
    maker: str
    score: float
    distance: float


@dataclass(frozen=True)
class SpanHit:
    """Heard words [start, end) sound like `candidate`; `runner_up` is the next best other name of its kind."""

    start: int
    end: int
    candidate: Candidate
    runner_up: Candidate | None = None

    @property
    def margin(self) -> float:
        """How much better the candidate scores than the runner-up (its whole score where there is none)."""
        return self.candidate.score - (self.runner_up.score if self.runner_up else 0.0)
