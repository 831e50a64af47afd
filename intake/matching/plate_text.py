"""The text of a photo as the rules of plates see it: tokens, labels and their values, look-alike characters."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from intake.capture.plate_reader import PlateLine

# Characters that printing, stamping and reading take for each other. The first two groups look alike in many
# faces; the others only where the picture is poor.
ALIKE = str.maketrans("OQDILZSBG", "000112586")
SAME_SHAPE = str.maketrans("OQDIL", "00011")
_DIGITISH = str.maketrans("OQDILZSB", "00011258")
_SERIAL_WORD = r"[S5]E[R][I1L|!][A4][L1I|!]"
_NUMBER_WORD = r"(?:N[O0Q]|N[UÚ]M(?:BER|ERO)?|NR|#)"
SERIAL_LABEL = re.compile(
    rf"(?<![A-Z0-9])(?:{_SERIAL_WORD}\s*(?:{_NUMBER_WORD}(?![A-Z]))?|S\s?/\s?N(?![A-Z])|[S5]ER\s*[.,]?\s*N[O0](?![A-Z])|"
    rf"SERIEN\W?(?:NUMMER|NR)|N[O0]\W{{0,2}}DE S[EÉ]RIE)[\s.,:;#*·-]*"
)
MODEL_LABEL = re.compile(
    rf"(?<![A-Z0-9])(?:M[O0Q]DE[L1I|!](?:E|O)?\s*(?:{_NUMBER_WORD}(?![A-Z])|NAME)?|TYPE\s*(?:{_NUMBER_WORD}(?![A-Z]))?|TYP(?![A-Z]))"
    r"[\s.,:;#*·-]*"
)
BARE_NUMBER = re.compile(r"^(?:N[O0]|#)[\s.:]+(?=[A-Z]{0,3}\d)")
HIDDEN = "more may be hidden beside it"
_SPLIT = re.compile(r"[\s,;:()\[\]|]+")


@dataclass(frozen=True)
class Token:
    """A run of characters without blanks; `start` and `end` are its place in the line's text."""

    text: str
    start: int
    end: int


def tokens(text: str, start: int = 0) -> list[Token]:
    """The tokens of a line's text from `start` on."""
    out, at = [], start
    for found in _SPLIT.finditer(text, start):
        if found.start() > at:
            out.append(Token(text[at : found.start()], at, found.start()))
        at = found.end()
    if at < len(text):
        out.append(Token(text[at:], at, len(text)))
    return out


def upper(text: str) -> str:
    """Upper case, character for character (so that places in it stay those of the line)."""
    return "".join(c.upper() if len(c.upper()) == 1 else c for c in text)


def alike(text: str) -> str:
    """The text with each character as the plainest of those it may be taken for: "AI-3S0" and "A1-350" are one."""
    return upper(text).translate(ALIKE)


def digits_meant(text: str) -> str:
    """Letters that look like digits as digits: "I2O" is "120"."""
    return text.translate(_DIGITISH)


def weakest(line: PlateLine, start: int, end: int) -> float:
    """The reader's confidence in the least sure character of that part of the line, blanks aside."""
    part = [s for c, s in zip(line.text[start:end], line.sure[start:end], strict=False) if not c.isspace()]
    return min(part, default=line.confidence)


def may_go_on(line: PlateLine, start: int, end: int) -> bool:
    """Whether characters may be hidden before or behind that part of the line's text."""
    first, last = not line.text[:start].strip(), not line.text[end:].strip()
    return (first and line.more_before) or (last and line.more_after)


def read_twice(line: PlateLine, part: str) -> bool:
    """Whether the second reading of the line has the same characters as whole words (True where none was made)."""
    if line.second is None:
        return True
    text, wanted = upper(line.second), _squeezed(part)
    starts = [0, *(found.end() for label in (SERIAL_LABEL, MODEL_LABEL) for found in label.finditer(text))]
    for start in starts:
        words = tokens(text, start)
        for i in range(len(words)):
            joined = ""
            for word in words[i : i + 5]:
                joined += _squeezed(word.text)
                if wanted in (joined, joined.removeprefix("N0")):  # "NOAI-350" has lost a blank
                    return True
    return False


def _squeezed(text: str) -> str:
    return "".join(c for c in upper(text) if c.isascii() and c.isalnum()).translate(SAME_SHAPE)


def geometry(line: PlateLine) -> tuple[tuple[float, float], tuple[float, float], float, float]:
    """Where the text begins (left middle), its direction, its length and its height."""
    a, b, _, d = line.box
    length = math.dist(a, b) or 1e-6
    along = ((b[0] - a[0]) / length, (b[1] - a[1]) / length)
    return ((a[0] + d[0]) / 2, (a[1] + d[1]) / 2), along, length, math.dist(a, d) or 1e-6


def beside(label: PlateLine, lines: Sequence[PlateLine]) -> Iterator[PlateLine]:
    """Lines that may hold the value of a label: the next one on its row, then the one that stands squarest under it."""
    (x, y), (ux, uy), length, high = geometry(label)
    right: list[tuple[float, PlateLine]] = []
    under: list[tuple[float, PlateLine]] = []
    for line in lines:
        if line is label:
            continue
        (px, py), (vx, vy), _, other = geometry(line)
        if ux * vx + uy * vy < 0.97 or not 0.45 < other / high < 2.4:
            continue
        along, down = (px - x) * ux + (py - y) * uy, (py - y) * ux - (px - x) * uy
        if abs(down) < 0.55 * high and -0.5 * high < along - length < 7 * high:
            right.append((along, line))
        elif 0.6 * high < down < 2.6 * high and -3 * high < along < 0.6 * length:
            under.append((down + abs(along), line))
    for group in (right, under):
        if group:
            yield min(group, key=lambda pair: pair[0])[1]
