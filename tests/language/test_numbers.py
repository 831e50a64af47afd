"""Spoken numbers and spelled codes against num2words, published pairs and the ICAO alphabet."""

from __future__ import annotations

import random

import pytest
from num2words import num2words  # type: ignore[import-untyped]  # ships no types

from intake.language.numbers import cardinal, plural_number, read_code, read_number
from tests.language.said import text, words

SAMPLE = random.Random(14772).sample(range(1_000, 1_000_000), 500)
# The figure names as num2words writes them ("one hundred and five") and as they are said in North America.
AND = [False, True]
# ICAO Annex 10 vol. II spelling alphabet (ITU Radio Regulations app. 14), then spellings in common use.
ICAO = [
    "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India",
    "Juliett", "Kilo", "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo",
    "Sierra", "Tango", "Uniform", "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
]  # fmt: skip
ALSO = {"Alpha": "A", "Juliet": "J", "Xray": "X", "Whisky": "W"}


def value(said: str) -> float | None:
    """The number that the words make as a whole; None where it is no number or words are left over."""
    tokens = text(said).tokens
    found = read_number(tokens, 0, len(tokens))
    return found[0] if found and found[1] == len(tokens) else None


def code(said: str) -> str | None:
    """The code that the words make as a whole; None where it is none or words are left over."""
    tokens = text(said).tokens
    found = read_code(tokens, 0, len(tokens))
    return found.text if found and found.end == len(tokens) else None


def figure_name(n: int, *, with_and: bool) -> str:
    name = str(num2words(n)).replace(",", "")
    return name if with_and else name.replace(" and ", " ")


@pytest.mark.parametrize("with_and", AND)
@pytest.mark.parametrize("numbers", [range(1_000), SAMPLE], ids=["below-1000", "sample"])
def test_a_figure_name_is_read_as_its_number(numbers: list[int], with_and: bool) -> None:
    """A number named in full, with or without "and", is read as num2words wrote it, and every word is used."""
    wrong = {}
    for n in numbers:
        said = words(figure_name(n, with_and=with_and))
        if cardinal(said) != (n, len(said)):
            wrong[n] = cardinal(said)
    assert wrong == {}


@pytest.mark.parametrize("numbers", [range(1_000), SAMPLE], ids=["below-1000", "sample"])
def test_a_figure_name_is_a_value_too(numbers: list[int]) -> None:
    """What `cardinal` reads from words, `read_number` reads from tokens."""
    assert [n for n in numbers if value(figure_name(n, with_and=True)) != n] == []


@pytest.mark.parametrize(
    "numbers",
    [
        pytest.param(range(1_000), id="below-1000"),
        pytest.param(SAMPLE, id="sample"),
    ],
)
def test_a_figure_name_in_a_code_gives_its_digits(numbers: list[int]) -> None:
    """A number named in full inside a code is written with its digits and no others."""
    assert [n for n in numbers if code(figure_name(n, with_and=False)) != str(n)] == []


# openai/whisper tests/test_normalizer.py (MIT) and NVIDIA/NeMo-text-processing (Apache-2.0) test data
@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("nineteen ninety nine", 1999),
        ("twenty nineteen", 2019),
        ("five twenty four", 524),
        ("three thousand twenty nine", 3029),
        ("forty three thousand two hundred and sixty", 43260),
        ("two hundred and fifty four", 254),
        ("two thousand and nine", 2009),
        ("3 point 14", 3.14),
        ("minus sixty", -60),
    ],
)
def test_published_pairs_as_values(said: str, number: float) -> None:
    """Number words of published normalizer tests give the value published with them."""
    assert value(said) == pytest.approx(number)


# the same two sources
@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("five twenty four", "524"),
        ("nine double one", "911"),
        ("double oh seven", "007"),
        ("one triple oh one", "10001"),
        ("two double o eight", "2008"),
        ("nineteen ninety nine", "1999"),
        ("oh two three one two three five six seven eight", "0231235678"),
    ],
)
def test_published_pairs_as_codes(said: str, written: str) -> None:
    """Digits read out as published normalizer tests have them keep every digit, leading zeros too."""
    assert code(said) == written


@pytest.mark.parametrize(
    ("said", "number"),
    [
        ("forty-one point five", 41.5),
        ("thirty-three point four", 33.4),
        ("nought point nought three", 0.03),
        ("zero point oh eight", 0.08),
        ("one point two five", 1.25),
        ("one point twenty-five", 1.25),
        ("point six", 0.6),
        ("two and a half", 2.5),
        ("1,240", 1240),
        ("thirty-three 33.4", None),
    ],
)
def test_decimals(said: str, number: float | None) -> None:
    """Digits behind "point" keep their places, and two numbers beside each other never run together."""
    assert value(said) == (None if number is None else pytest.approx(number))


@pytest.mark.parametrize(("word", "letter"), [(w, w[0]) for w in ICAO if w != "X-ray"] + list(ALSO.items()), ids=str)
def test_spelling_alphabet(word: str, letter: str) -> None:
    """Each word of the ICAO alphabet stands for its first letter before a digit and after one."""
    assert code(f"{word} seven") == f"{letter}7"
    assert code(f"seven {word} two") == f"7{letter}2"


@pytest.mark.xfail(strict=True, reason="the hyphen of X-ray parts it in two tokens, and the second is no code")
@pytest.mark.parametrize("word", ["X-ray", "X ray"])
def test_x_ray_in_two_words(word: str) -> None:
    """ "X-ray" and "X ray" stand for X as "Xray" does."""
    assert code(f"seven {word} two") == "7X2"


def test_the_whole_alphabet_in_a_row() -> None:
    """The alphabet said in a row spells the alphabet."""
    assert code(" ".join(ICAO).replace("X-ray", "Xray")) == "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@pytest.mark.parametrize(
    ("said", "digits"),
    [("tree", "3"), ("fower", "4"), ("fife", "5"), ("niner", "9")],  # aviation figures, from memory
)
def test_aviation_figures(said: str, digits: str) -> None:
    """The figures as pilots say them are digits inside a code."""
    assert code(f"bravo {said}") == f"B{digits}"


# common practice and the sentences of the contract (record.md, "Spoken numbers and spellings")
@pytest.mark.parametrize(
    ("said", "written"),
    [
        ("one four double seven two", "14772"),
        ("E L thirty-four", "EL34"),
        ("six S N seven", "6SN7"),
        ("twelve A X seven", "12AX7"),
        ("mark two", "MK2"),
        ("Mark IV", "MK4"),
        ("B as in bravo six", "B6"),
        ("twenty-two oh five", "2205"),
        ("double four nineteen", "4419"),
        ("K dash nine oh two", "K902"),
        ("K. 902", None),
    ],
)
def test_codes_of_the_trade(said: str, written: str | None) -> None:
    """Serials, tube types and marks are read as they are written; a full stop ends a code."""
    assert code(said) == written


@pytest.mark.parametrize(
    ("plural", "single"),
    [
        ("threes", "three"),
        ("sixes", "six"),
        ("fives", "five"),
        ("eighties", "eighty"),
        ("twelves", "twelve"),
        ("feet", None),
        ("is", None),
        ("bus", None),
    ],
)
def test_plural_of_a_number_word(plural: str, single: str | None) -> None:
    """ "threes" and "eighties" are numbers; other words that end in s are not."""
    assert plural_number(plural) == single


@pytest.mark.parametrize(
    ("said", "written"),
    [("eighty-threes", "83"), ("six S N sevens", "6SN7"), ("E L eighty-fours", "EL84"), ("E L 34s", "EL34")],
)
def test_a_plural_ends_a_code(said: str, written: str) -> None:
    """Several of one type ("a pair of EL eighty-fours") carry the type without the plural s."""
    assert code(said) == written


@pytest.mark.parametrize("said", ["the belt", "see the hinge", "of them", "a hinge", "point taken"])
def test_words_that_are_no_number(said: str) -> None:
    """Ordinary words start no value."""
    tokens = text(said).tokens
    assert read_number(tokens, 0, len(tokens)) is None
