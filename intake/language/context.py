"""How a value counts: negated, suspected, to do, past, ... by cue scopes.

The scopes follow the published NegEx/ConText algorithms (Chapman et al., J. Biomed. Inform. 2001; Harkema et al., J. Biomed.
Inform. 2009): a cue reaches forward or backward over the words of its sentence, up to a stop cue, another cue of
the same signal, the clause's end, or its own limit of words. Cues are data (vocab/cues, or a test's own list).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from intake.language.terms import CueHit


@dataclass(frozen=True)
class Scope:
    """The words start..end that a cue reaches, and the cue's own words."""

    signals: str
    start: int
    end: int
    cue_start: int
    cue_end: int
    cue: str


class _Borders:
    """Sorted places at which a scope may have to end."""

    def __init__(
        self, hits: Sequence[CueHit], sentences: Sequence[tuple[int, int]], clause_ends: Sequence[int]
    ) -> None:
        self.sentences, self.clause_ends = sentences, clause_ends
        stops = [h for h in hits if h.cue.signals == "stop"]
        self.stop_starts = sorted(h.start for h in stops)
        self.stop_ends = sorted(h.end for h in stops)
        self.same_starts: dict[tuple[str, str], list[int]] = defaultdict(list)
        self.same_ends: dict[tuple[str, str], list[int]] = defaultdict(list)
        for hit in hits:
            self.same_starts[(hit.cue.signals, hit.cue.reach)].append(hit.start)
            self.same_ends[(hit.cue.signals, hit.cue.reach)].append(hit.end)
        for found in (*self.same_starts.values(), *self.same_ends.values()):
            found.sort()

    @staticmethod
    def after(places: Sequence[int], at: int, otherwise: int) -> int:
        """The first place at or after `at`."""
        k = bisect_left(places, at)
        return places[k] if k < len(places) else otherwise

    @staticmethod
    def before(places: Sequence[int], at: int, otherwise: int) -> int:
        """The last place at or before `at`."""
        k = bisect_right(places, at)
        return places[k - 1] if k else otherwise


def scopes(hits: Sequence[CueHit], sentences: Sequence[tuple[int, int]], clause_ends: Sequence[int]) -> list[Scope]:
    """The reach of every cue that has one.

    `sentences[i]` is the sentence (start, end) of token i; `clause_ends` are sorted indexes at which a clause ends.
    """
    borders = _Borders(hits, sentences, clause_ends)
    out = []
    for hit in hits:
        if hit.cue.reach in ("forward", "both"):
            out.append(_forward(hit, borders))
        if hit.cue.reach in ("backward", "both"):
            out.append(_backward(hit, borders))
    return [s for s in out if s.start < s.end]


def _forward(hit: CueHit, borders: _Borders) -> Scope:
    end = min(borders.sentences[hit.start][1], hit.end + (hit.cue.words or 10**6))
    if not hit.cue.crosses:
        end = min(
            end, borders.after(borders.clause_ends, hit.end, end), borders.after(borders.stop_starts, hit.end, end)
        )
    end = min(end, borders.after(borders.same_starts[(hit.cue.signals, hit.cue.reach)], hit.end, end))
    return Scope(hit.cue.signals, hit.end, end, hit.start, hit.end, hit.cue.phrase)


def _backward(hit: CueHit, borders: _Borders) -> Scope:
    start = max(borders.sentences[hit.start][0], hit.start - (hit.cue.words or 10**6))
    if not hit.cue.crosses:
        # "Dirty switch, I'd bet.": a cue that is a clause by itself at the end reaches the clause before it
        alone = hit.end == borders.sentences[hit.start][1] and borders.before(borders.clause_ends, hit.start, -1) == hit.start
        start = max(
            start,
            borders.before(borders.clause_ends, hit.start - alone, start),
            borders.before(borders.stop_ends, hit.start, start),
        )
    start = max(start, borders.before(borders.same_ends[(hit.cue.signals, hit.cue.reach)], hit.start, start))
    return Scope(hit.cue.signals, start, hit.start, hit.start, hit.end, hit.cue.phrase)


class Contexts:
    """Answers which signals reach a word; built once for a text."""

    def __init__(self, found: Sequence[Scope], length: int) -> None:
        self._at: dict[int, list[Scope]] = defaultdict(list)
        for scope in found:
            for i in range(scope.start, min(scope.end, length)):
                self._at[i].append(scope)

    def over(self, i: int, *signals: str) -> list[Scope]:
        """The scopes with one of `signals` (all, if none is named) that hold word i."""
        return [s for s in self._at.get(i, ()) if not signals or s.signals in signals]

    def has(self, i: int, *signals: str) -> bool:
        """Whether one of `signals` reaches word i."""
        return bool(self.over(i, *signals))
