"""Digits said in words, as far as names, places and tube types need it.

The full number grammar of speech is the language step's; names need only this: "H V forty-six"
and "HV-46" are one name.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache

UNITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen")
TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

_VALUE = {word: n for n, word in enumerate(UNITS)} | {word: 10 + n for n, word in enumerate(TEENS)}
_VALUE |= {word: 10 * n for n, word in enumerate(TENS) if word} | {"fourty": 40}
_ZERO = frozenset({"oh", "o", "nought", "naught", "aught", "nil"})
_REPEATS = {"double": 2, "triple": 3, "treble": 3}


def below_hundred(number: int) -> str:
    """A number from 0 to 99 in words: 46 is "forty-six"."""
    if number < 10:
        return UNITS[number]
    if number < 20:
        return TEENS[number - 10]
    return TENS[number // 10] + (f"-{UNITS[number % 10]}" if number % 10 else "")


@lru_cache(maxsize=16384)
def readings(digits: str) -> tuple[str, ...]:
    """How people say a run of digits, usual ways first: "2205" is "twenty-two oh five", "two two oh five", ..."""
    one_by_one = " ".join(UNITS[int(d)] for d in digits)
    with_oh = " ".join("oh" if d == "0" else UNITS[int(d)] for d in digits)
    spelled = [with_oh, one_by_one] if digits.strip("0") else [one_by_one]  # "oh" alone is no number
    return tuple(dict.fromkeys([*_in_pairs(digits), *_as_number(digits), *spelled]))


def _as_number(digits: str) -> list[str]:
    number = int(digits)
    if digits.startswith("0") or number >= 10_000:
        return []
    if number < 100:
        return [below_hundred(number)]
    hundreds, rest = divmod(number, 100)
    said = []
    if hundreds % 10:  # "twenty-two hundred", never "twenty hundred"
        said.append(f"{below_hundred(hundreds)} hundred")
    elif not rest:
        said.append(f"{UNITS[hundreds // 10]} thousand")
    if said and rest:
        if number >= 1000:
            return []
        said = [f"{said[0]} and {below_hundred(rest)}", f"{said[0]} {below_hundred(rest)}"]
    return said


def _in_pairs(digits: str) -> list[str]:
    if len(digits) not in (3, 4):
        return []
    head, tail = digits[:-2], digits[-2:]
    if head.startswith("0") or tail == "00":
        return []
    last = f"oh {UNITS[int(tail[1])]}" if tail[0] == "0" else below_hundred(int(tail))
    return [f"{below_hundred(int(head))} {last}"]


def join_numbers(tokens: Sequence[str]) -> list[str]:
    """Tokens with each run of number words turned into one run of digits: "forty-one oh seven" gives "4107".

    Within a run numbers that make one number are added up ("forty" "six", "three hundred"),
    all others follow each other ("one eighteen" is "118"). "oh" counts only beside a number.
    """
    out: list[str] = []
    run: list[str] = []
    words = [part for token in tokens for part in _split(token)]
    for at, token in enumerate(words):
        word = token.lower()
        starts = word in _ZERO and (run or _number_follows(words, at))
        if word in _VALUE or starts or word in _REPEATS or (run and word in ("hundred", "thousand")):
            run.append(word)
        elif word == "and" and run and run[-1] in ("hundred", "thousand"):
            continue
        else:
            out += [*_digits_of(run), token]
            run = []
    return out + _digits_of(run)


def _number_follows(words: Sequence[str], at: int) -> bool:
    """Whether the next word after a run of "oh"s is a number word."""
    after = next((word.lower() for word in words[at + 1:] if word.lower() not in _ZERO), "")
    return after in _VALUE or after in _REPEATS


def _split(token: str) -> list[str]:
    """"forty-six" as two tokens, all else as it is; plural number words lose their s ("sevens")."""
    parts = token.split("-")
    if len(parts) > 1 and all(_singular(p.lower()) in _VALUE for p in parts):
        return [_singular(p.lower()) for p in parts]
    return [_singular(token.lower()) if _singular(token.lower()) in _VALUE else token]


def _singular(word: str) -> str:
    if word in _VALUE or not word.endswith("s"):
        return word
    if word.endswith("ies") and word[:-3] + "y" in _VALUE:
        return word[:-3] + "y"
    if word == "sixes":
        return "six"
    return word[:-1] if word[:-1] in _VALUE else word


def _digits_of(run: Sequence[str]) -> list[str]:
    """The run's digits as one token; a lone "double" is a word."""
    groups: list[int] = []
    text = ""
    repeat = 1
    previous = ""
    for word in run:
        if word in _REPEATS:
            text, groups = text + "".join(map(str, groups)), []
            repeat = _REPEATS[word]
        elif word in ("hundred", "thousand"):
            if groups:
                groups[-1] = _times(groups[-1], word)
        else:
            value = 0 if word in _ZERO else _VALUE[word]
            if repeat > 1:
                text, repeat = text + str(value) * repeat, 1
            elif groups and _adds(groups[-1], value, previous):
                groups[-1] += value
            else:
                groups.append(value)
        previous = word
    text += "".join(map(str, groups))
    lone = ["double"] if repeat > 1 and not text else []
    return [*lone, *([text] if text else [])]


def _times(number: int, word: str) -> int:
    """The number with "hundred" or "thousand" behind it: 1 and "hundred" is 100, 1001 and "hundred" is 1100."""
    low = number % 1000 if number >= 1000 else number
    return number - low + low * (100 if word == "hundred" else 1000)


def _adds(before: int, value: int, previous: str) -> bool:
    """Whether a number word goes on with the number before it ("forty" "six", "three hundred" "five")."""
    if previous == "hundred":
        return 0 < value < 100 and before % 100 == 0
    if previous == "thousand":
        return 0 < value < 100
    return 0 < value < 10 and before % 10 == 0 and before % 100 >= 20 and previous in TENS


def has_digit(text: str) -> bool:
    """Whether any digit stands in the text."""
    return re.search(r"\d", text) is not None
