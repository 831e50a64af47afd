"""Digits in words, checked against num2words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from intake.vocabulary.digits import below_hundred, join_numbers, readings


def test_below_a_hundred_as_num2words_has_it() -> None:
    """Numbers below a hundred are written as the reference library writes them."""
    assert [below_hundred(number) for number in range(100)] == [num2words(number) for number in range(100)]


@pytest.mark.parametrize("thousand", range(10))
def test_words_of_num2words_are_read_back(thousand: int) -> None:
    """What the reference library writes for 0 to 9999 is read as the same digits."""
    numbers = range(thousand * 1000, thousand * 1000 + 1000)
    assert [join_numbers(num2words(n).replace(",", "").split()) for n in numbers] == [[str(n)] for n in numbers]


@given(st.from_regex(r"[0-9]{1,5}", fullmatch=True))
def test_every_reading_is_read_back(digits: str) -> None:
    """Each way to say a run of digits leads back to it, zeros in front included."""
    for words in readings(digits):
        assert join_numbers(words.split()) == [digits], words


@pytest.mark.parametrize(("words", "tokens"), [
    # reference values, section 2 (test data of openai/whisper and NVIDIA/NeMo-text-processing)
    ("five twenty four", ["524"]), ("nineteen ninety nine", ["1999"]), ("nine double one", ["911"]),
    ("double oh seven", ["007"]), ("one triple oh one", ["10001"]), ("two double o eight", ["2008"]),
    ("two hundred and fifty four", ["254"]), ("oh two three one two three five six seven eight", ["0231235678"]),
    # names as they are said
    ("h v forty-six", ["h", "v", "46"]), ("f t one eighteen", ["f", "t", "118"]), ("thirty-four seventeen", ["3417"]),
    ("three hundred b", ["300", "b"]), ("six s n sevens", ["6", "s", "n", "7"]), ("fourteen hundred", ["1400"]),
    ("oh well", ["oh", "well"]), ("a double bed", ["a", "double", "bed"]), ("salt and pepper", ["salt", "and",
                                                                                                "pepper"]),
])
def test_number_words_in_a_row(words: str, tokens: list[str]) -> None:
    """Number words next to each other are one run of digits; all other words stay."""
    assert join_numbers(words.split()) == tokens
