"""Spoken and written numbers, spelled codes and marks, read from tokens.

Two readings of the same words: `read_number` gives a value ("forty-two point five" -> 42.5), `read_code`
gives characters ("twenty-two oh five" -> "2205", "double four nineteen" -> "4419", "B as in bravo six" -> "B6").
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from intake.language.tokens import FILLERS, Token

ONES = {
    w: n
    for n, w in enumerate(
        ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
    )
}
TENS = {w: 10 * n for n, w in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"], start=2)}
SCALES = {"hundred": 100, "thousand": 1000, "million": 1_000_000}
ZERO = {"oh": "0", "o": "0", "zero": "0", "nought": "0", "naught": "0", "nil": "0", "nadazero": "0"}
DIGIT_WORDS = {w: str(n) for w, n in ONES.items() if n < 10} | {
    "niner": "9",
    "fife": "5",
    "tree": "3",
    "fower": "4",
}  # aviation forms, from memory
REPEATS = {"double": 2, "triple": 3, "treble": 3}
JOINERS = {"dash", "hyphen", "slash", "stroke"}
# ICAO Annex 10 vol. II spelling alphabet, with the accepted spellings of reference values section 1
ALPHABET = {
    w: w[0].upper()
    for w in ["alfa", "alpha", "bravo", "charlie", "delta", "echo", "foxtrot", "golf", "hotel", "india", "juliett", "juliet", "kilo", "lima", "mike", "november", "oscar", "papa", "quebec", "romeo", "sierra", "tango", "uniform", "victor", "whiskey", "whisky", "xray", "yankee", "zulu"]
} | {"x-ray": "X"}
ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4, "v": 5, "vi": 6, "vii": 7, "viii": 8, "ix": 9, "x": 10}
ORDINALS = {
    w: n
    for n, w in enumerate(
        ["first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth", "seventeenth", "eighteenth", "nineteenth", "twentieth"],
        start=1,
    )
} | {"thirtieth": 30}
LETTER_NAMES = {
    "bee": "B",
    "cee": "C",
    "see": "C",
    "dee": "D",
    "eff": "F",
    "gee": "G",
    "aitch": "H",
    "haitch": "H",
    "jay": "J",
    "kay": "K",
    "ell": "L",
    "el": "L",
    "em": "M",
    "en": "N",
    "pee": "P",
    "cue": "Q",
    "queue": "Q",
    "ar": "R",
    "ess": "S",
    "tee": "T",
    "vee": "V",
    "ex": "X",
    "wye": "Y",
    "zed": "Z",
    "zee": "Z",
}
_NUMERIC = re.compile(r"^[$£€#]?(\d[\d,]*)(\.\d+)?$")
_CODE_TEXT = re.compile(r"^[A-Za-z]{0,4}[-/.]?\d[\dA-Za-z/.-]*$|^[A-Z]{1,4}$|^[A-Z]{1,4}(?:-[A-Z0-9]{1,6})+$")


@dataclass(frozen=True)
class Piece:
    """Characters of a code with the tokens start..end they came from; `kind` is digit, letter, mixed or mark."""

    chars: str
    start: int
    end: int
    kind: str


@dataclass(frozen=True)
class Code:
    """A run of pieces."""

    pieces: tuple[Piece, ...]

    @property
    def start(self) -> int:
        return self.pieces[0].start

    @property
    def end(self) -> int:
        return self.pieces[-1].end

    @property
    def text(self) -> str:
        return "".join(p.chars for p in self.pieces)

    @property
    def has_digit(self) -> bool:
        return any(c.isdigit() for c in self.text)

    @property
    def has_letter(self) -> bool:
        return any(c.isalpha() for p in self.pieces if p.kind != "mark" for c in p.chars)


def skip_fillers(tokens: Sequence[Token], i: int, end: int) -> int:
    """The first index at or after i that is no filler sound."""
    while i < end and tokens[i].norm in FILLERS:
        i += 1
    return i


def cardinal(words: Sequence[str]) -> tuple[int, int] | None:
    """The whole number at the start of `words` and how many words it took.

    "three thousand twenty nine" -> (3029, 4); "twenty two" -> (22, 2). Digits groups that make no single
    number ("five twenty four") end after the first: (5, 1). None where no number starts.
    """
    total, group, taken, used = 0, 0, 0, False
    last = 10**9  # the next small number must be smaller than this
    n = 0
    while n < len(words):
        word = words[n]
        if word in ONES and (ONES[word] < last or not used) and not (used and last == 1):
            value = ONES[word]
            if used and last <= 10 and value >= last:
                break
            if used and last not in (10, 100, 1000, 10**6) and last != 10**9:
                break
            group += value
            last, used = 1, True
        elif word in TENS and (not used or last in (100, 1000, 10**6)):
            group += TENS[word]
            last, used = 10, True
        elif word == "hundred" and used and 0 < group < 100:
            group *= 100
            last = 100
        elif word in ("thousand", "million") and used and group:
            total += group * SCALES[word]
            group, last = 0, SCALES[word]
        elif word in ("a", "an") and n + 1 < len(words) and words[n + 1] in SCALES and not used:
            group, used, last = 1, True, 1
        elif (
            word == "and"
            and used
            and last in (100, 1000, 10**6)
            and n + 1 < len(words)
            and (words[n + 1] in ONES or words[n + 1] in TENS)
        ):
            n += 1
            continue
        else:
            break
        n += 1
        taken = n
        if last == 10 and n < len(words) and words[n] in ONES and not 1 <= ONES[words[n]] <= 9:
            break
    return (total + group, taken) if used else None


def read_number(tokens: Sequence[Token], i: int, end: int) -> tuple[float, int] | None:
    """A value at token i and the index after it: "thirty-three point four" -> 33.4, "1,240" -> 1240.0."""
    i = skip_fillers(tokens, i, end)
    if i >= end:
        return None
    token = tokens[i]
    if match := _NUMERIC.match(token.norm):
        return _written_number(tokens, i, end, match)
    words = []
    for t in tokens[i:end]:
        words.append(t.norm)
        if t.after in {".", "?", "!", ";"} or len(words) >= 14:
            break
    sign, skip = (-1.0, 1) if words[0] in {"minus", "negative"} else (1.0, 0)
    whole = _pairs_or_cardinal(words[skip:])
    value, used = whole if whole else (0.0, 0)
    at = skip + used
    if at < len(words) and words[at] == "point" and (used or at + 1 < len(words)):
        decimals, taken = _decimals(words[at + 1 :])
        if taken:
            return sign * (value + decimals), i + at + 1 + taken
    if used and at + 2 < len(words) and words[at : at + 3] == ["and", "a", "half"]:
        return sign * (value + 0.5), i + at + 3
    return (sign * value, i + at) if used else None


def _written_number(tokens: Sequence[Token], i: int, end: int, match: re.Match[str]) -> tuple[float, int]:
    value = float(match.group(1).replace(",", "") + (match.group(2) or ""))
    j = i + 1
    if not match.group(2) and j + 1 < end and tokens[j].norm == "point" and _NUMERIC.match(tokens[j + 1].norm):
        return float(f"{match.group(1).replace(',', '')}.{tokens[j + 1].norm}"), j + 2
    if j < end and tokens[j].norm in ("hundred", "thousand", "million") and not match.group(2):
        return value * SCALES[tokens[j].norm], j + 1
    return value, j


def _pairs_or_cardinal(words: Sequence[str]) -> tuple[float, int] | None:
    """A cardinal, or a number said in pairs: "twenty nineteen" -> 2019, "twelve forty" -> 1240, "one eighteen" -> 118."""
    first = cardinal(words)
    if not first:
        return (0.0, 1) if words and words[0] in ("oh", "nought") and len(words) > 1 and words[1] == "point" else None
    value, used = first
    if used < len(words) and 1 <= value < 100 and words[used] not in ("and", "point"):
        rest = words[used:]
        if rest[0] in ("oh", "o") and len(rest) > 1 and rest[1] in DIGIT_WORDS:
            return value * 100 + int(DIGIT_WORDS[rest[1]]), used + 2
        second = cardinal(rest)
        if second and 10 <= second[0] < 100:
            return float(value * 100 + second[0]), used + second[1]
    return float(value), used


def _decimals(words: Sequence[str]) -> tuple[float, int]:
    """ "oh eight" -> 0.08; "four" -> 0.4; "twenty-five" -> 0.25."""
    digits, n = "", 0
    while n < len(words):
        word = words[n]
        if word in ZERO and word != "o":
            digits += "0"
        elif word in DIGIT_WORDS:
            digits += DIGIT_WORDS[word]
        elif word in TENS or (word in ONES and ONES[word] >= 10):
            number = cardinal(words[n:])
            if number is None or number[0] > 99:
                break
            digits += str(number[0])
            n += number[1]
            break
        elif word.isdecimal():
            digits += word
        else:
            break
        n += 1
    return (float(f"0.{digits}"), n) if digits else (0.0, 0)


def whole_number(words: Sequence[str], *, figures: int = 3) -> tuple[int, int] | None:
    """The number that `words` begin with, spoken ("twenty-two") or written in at most so many figures; with the words it took."""
    spoken = cardinal(words)
    if spoken is not None:
        return spoken
    return (int(words[0]), 1) if words and words[0].isdecimal() and len(words[0]) <= figures else None


def read_code(tokens: Sequence[Token], i: int, end: int, *, across_commas: bool = False) -> Code | None:
    """The code that starts at token i, as far as it goes; None where none starts.

    A code is a run of letters, spelled letters, digits, number words, "double four", tube types, "mark two".
    It ends at a full stop, and at a comma unless `across_commas`.
    """
    pieces: list[Piece] = []
    n = i
    while n < end:
        n2 = skip_fillers(tokens, n, end)
        if pieces and [t.norm for t in tokens[n2 : n2 + 3]] == ["r", "p", "m"]:
            break
        piece = _piece(tokens, n2, end, bool(pieces))
        if piece is None:
            break
        if pieces and _said_again(pieces[-1], piece):
            pieces.pop()                        # "an L, L as in Lima" is one L
        pieces.append(piece)
        n = piece.end
        mark = tokens[n - 1].after
        if mark in {".", "?", "!", ";", ":"} or (
            mark == "," and not across_commas and not _one_by_one(tokens, piece, n, end)
        ):
            break
    return Code(tuple(pieces)) if pieces else None


def _said_again(before: Piece, piece: Piece) -> bool:
    return (
        before.kind == piece.kind == "letter"
        and before.chars == piece.chars
        and before.end - before.start == 1
        and piece.end - piece.start >= 3
    )


def _one_by_one(tokens: Sequence[Token], piece: Piece, n: int, end: int) -> bool:
    """ "the B, two, zero, seven": a code told character by character goes on over its commas."""
    if len(piece.chars) != 1 or n >= end:
        return False
    word = tokens[n].norm
    return word in DIGIT_WORDS or word in ("oh", "zero") or (len(word) == 1 and word.isdigit())


def _piece(tokens: Sequence[Token], i: int, end: int, inside: bool) -> Piece | None:
    if i >= end:
        return None
    word, raw = tokens[i].norm, tokens[i].text
    if word in ("mark", "mk", "mach", "em") and (mark := _mark(tokens, i, end)):
        return mark
    if word in REPEATS and i + 1 < end:
        following = _piece(tokens, i + 1, end, True)
        if following and len(following.chars) >= 1 and following.kind in ("digit", "letter"):
            return Piece(following.chars[0] * REPEATS[word] + following.chars[1:], i, following.end, following.kind)
        return None
    if spelled := _spelled_letter(tokens, i, end, inside):
        return spelled
    if word in ZERO and (inside or _number_follows(tokens, i, end)):
        return Piece("0", i, i + 1, "digit")
    if word in JOINERS and inside:
        following = _piece(tokens, i + 1, end, True)
        return Piece(following.chars, i, following.end, following.kind) if following else None
    if word in ONES or word in TENS or word in DIGIT_WORDS or plural_number(word):
        return _number_piece(tokens, i, end)
    if _CODE_TEXT.match(raw) and not (raw in {"I", "A"} and not _letter_here(tokens, i, end, inside)):
        chars = re.sub(r"[^0-9A-Za-z]", "", raw)
        if any(c.isdigit() for c in chars):
            chars = re.sub(r"(?<=\d)(?:'?s)$", "", chars)  # "eighty-threes", "620s"
        chars = chars.upper()
        kind = "digit" if chars.isdigit() else "letter" if chars.isalpha() else "mixed"
        return Piece(chars, i, i + 1, kind)
    return None


def _mark(tokens: Sequence[Token], i: int, end: int) -> Piece | None:
    """ "mark two", "Mark II", "mk 2", "em-kay two" -> MK2."""
    j = i + 1
    if tokens[i].norm == "em":
        if j >= end or tokens[j].norm != "kay":
            return None
        j += 1
    if j >= end:
        return None
    word = tokens[j].norm
    number = ONES.get(word) or ROMAN.get(word) or (int(word) if word.isdecimal() and len(word) < 3 else None)
    return Piece(f"MK{number}", i, j + 1, "mark") if number else None


def _spelled_letter(tokens: Sequence[Token], i: int, end: int, inside: bool) -> Piece | None:
    """ "bravo", "B as in bravo", "B for bravo" -> B; an alphabet word alone counts only beside other code."""
    word = tokens[i].norm
    if re.fullmatch(r"[a-z]", word) and i + 2 < end:
        if tokens[i + 1].norm in ("as", "like") and tokens[i + 2].norm == "in" and i + 3 < end:
            return Piece(word.upper(), i, i + 4, "letter")
        if (
            tokens[i + 1].norm in ("for", "like")
            and tokens[i + 2].norm[:1] == word
            and (inside or tokens[i + 2].norm in ALPHABET or (tokens[i].capital and (tokens[i + 2].capital or _goes_on(tokens, i + 2, end))))
        ):
            return Piece(word.upper(), i, i + 3, "letter")
    if word in ALPHABET and (
        inside or _number_follows(tokens, i, end) or (i + 1 < end and tokens[i + 1].norm in ALPHABET)
    ):
        return Piece(ALPHABET[word], i, i + 1, "letter")
    if re.fullmatch(r"[a-z]", word) and (tokens[i].capital or inside or word not in "aio"):
        if word in "ai" and not _letter_here(tokens, i, end, inside):
            return None
        if word == "o" and (inside or _number_follows(tokens, i, end)):
            return Piece("0", i, i + 1, "digit")
        return Piece(word.upper(), i, i + 1, "letter")
    if word in {"zed", "zee"} and _number_follows(tokens, i, end):
        return Piece("Z", i, i + 1, "letter")
    if word in LETTER_NAMES and inside and word not in ("see", "en", "el", "ex", "ar"):
        return Piece(LETTER_NAMES[word], i, i + 1, "letter")
    return None


def _goes_on(tokens: Sequence[Token], i: int, end: int) -> bool:
    """ "M for mother, two nine": code follows the word that spells a letter."""
    return i < end and tokens[i].after in {"", ","} and _number_follows(tokens, i, end)


def _letter_here(tokens: Sequence[Token], i: int, end: int, inside: bool) -> bool:
    """Whether "I" or "a" is a letter of a code here, not a pronoun or an article: code follows, or it closes one."""
    if _code_follows(tokens, i, end):
        return inside or tokens[i].norm != "a" or tokens[i].capital
    closes = tokens[i].after in {".", ",", "?"} or i + 1 >= end
    return inside and closes and tokens[i - 1].after == ""


def _number_follows(tokens: Sequence[Token], i: int, end: int) -> bool:
    if i + 1 >= end or tokens[i].after in {".", "?", "!"}:
        return False
    word = tokens[i + 1].norm
    return word in ONES or word in TENS or word in ZERO or word in REPEATS or word in DIGIT_WORDS or word[:1].isdigit()


def _code_follows(tokens: Sequence[Token], i: int, end: int) -> bool:
    if i + 1 >= end or tokens[i].after in {".", "?", "!", ","}:
        return False
    token = tokens[i + 1]
    return (
        _number_follows(tokens, i, end) or bool(re.fullmatch(r"[A-Z]{1,3}[-\d]*", token.text)) or token.norm in ALPHABET
    )


def _number_piece(tokens: Sequence[Token], i: int, end: int) -> Piece | None:
    """One spoken number as characters; plural forms come in as "threes" and are handled by `plural_number`."""
    words: list[str] = []
    for t in tokens[i:end]:
        single = plural_number(t.norm)
        words.append(single or t.norm)
        if t.after or single or len(words) >= 14:
            break
    if words[0] in DIGIT_WORDS and words[0] not in ONES:
        return Piece(DIGIT_WORDS[words[0]], i, i + 1, "digit")
    number = cardinal(words)
    if number is None:
        return None
    value, used = number
    return Piece(str(value), i, i + used, "digit")


def plural_number(word: str) -> str | None:
    """ "eighties" -> "eighty", "threes" -> "three", "sixes" -> "six", "forties" -> "forty"; None for other words."""
    for ending, repl in (("ies", "y"), ("es", ""), ("s", ""), ("ves", "ve")):
        if word.endswith(ending):
            stem = word[: -len(ending)] + repl
            if stem in ONES or stem in TENS:
                return stem
    return None


def is_mark(code: str) -> bool:
    """Whether a code is a mark alone ("MK2"), no model that begins so ("MKD550")."""
    return bool(re.fullmatch(r"MK\d{1,2}", code))


def model_key(name: str) -> str:
    """A model's characters for comparison: upper case, no blanks or punctuation, "Mk IV" as MK4."""
    text = name.upper()
    text = re.sub(
        r"\bM(?:AR)?K[\s.-]*(VIII|VII|VI|IV|IX|III|II|I|V|X|\d+)\b",
        lambda m: "MK" + (m.group(1) if m.group(1).isdigit() else str(ROMAN[m.group(1).lower()])),
        text,
    )
    return re.sub(r"[^0-9A-Z]", "", text)
