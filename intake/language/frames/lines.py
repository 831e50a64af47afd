"""Words as one line for patterns: what fixed phrases can't say ("selling it for a widow") is found by regular expressions."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from re import Match, Pattern

from intake.language.tokens import FILLERS, Token

_EM = re.compile(r"^(\w+)'em$")


@dataclass(frozen=True)
class Line:
    """The words start..end as text: stops kept as " , " and " . ", "paid'em" as two words, fillers left out."""

    text: str
    starts: tuple[int, ...]  # where each piece begins in `text`
    owners: tuple[int, ...]  # the token of each piece

    def find(self, pattern: Pattern[str]) -> Iterator[tuple[int, int, Match[str]]]:
        """Every match as the tokens start..end it covers."""
        for match in pattern.finditer(self.text):
            yield self.token(match.start()), self.token(max(match.start(), match.end() - 1)) + 1, match

    def token(self, at: int) -> int:
        """The token that holds the character `at`."""
        return self.owners[max(0, bisect_right(self.starts, at) - 1)]


def line(tokens: Sequence[Token], start: int, end: int) -> Line:
    """The words start..end as a line."""
    pieces: list[tuple[str, int]] = []
    for i in range(start, end):
        token = tokens[i]
        split = _EM.match(token.norm)
        if split:
            pieces += [(split.group(1), i), ("them", i)]
        elif token.norm not in FILLERS:
            pieces.append(("them" if token.norm in {"'em", "em"} else token.norm, i))
        if token.after:
            pieces.append(("." if token.after in ".?!" else ",", i))
    starts, at = [], 0
    for word, _ in pieces:
        starts.append(at)
        at += len(word) + 1
    return Line(" ".join(w for w, _ in pieces), tuple(starts) or (0,), tuple(o for _, o in pieces) or (start,))
