"""Letters to sounds: the same name is the same sound however it is written."""

from __future__ import annotations

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from intake.vocabulary.likeness import SOUNDS
from intake.vocabulary.pronounce import phones, variants


@pytest.mark.parametrize("ways", [
    ("HV-46", "H V forty-six", "h v 46", "HV46", "hv 46s", "H.V. 46"),
    ("PT-26 Mk II", "PT26 mark 2", "P T twenty-six mark two", "PT-26 MkII"),
    ("TX-420", "T X four twenty", "tx420"),
    ("EL34", "E L thirty-four", "E.L. 34"),
    ("6SN7", "six S N seven", "6 SN 7"),
    ("300B", "three hundred B"),
    ("AI-350", "A I three fifty", "AI350s"),
    ("Corvane", "core vein", "corvayne"),
    ("Whitlow", "Witlow"),
    ("Greyfell", "gray fell"),
    ("Fenwright", "fen rite"),
    ("Oakmantle", "oak mantle"),
    ("Zoé", "Zoe"),
], ids=lambda ways: ways[0])
def test_one_name_one_sound(ways: tuple[str, ...]) -> None:
    """Spelled letters, numbers in words, hyphens, marks and accents don't change the sound."""
    assert {phones(way) for way in ways} == {phones(ways[0])}


@pytest.mark.parametrize(("one", "other"), [("Haldwick", "Hallwick"), ("Corvane", "Corbane"), ("Vantrell",
                                                                                               "Ventrell"),
                                            ("HV-46", "HV-64"), ("PT-26", "PT-26 Mk II"), ("217", "271")])
def test_near_names_stay_apart(one: str, other: str) -> None:
    """Names that differ in a sound, and models that differ in a digit, are not one."""
    assert phones(one) != phones(other)


@pytest.mark.parametrize(("word", "sounds"), [
    ("knight", "nYt"), ("phono", "fono"), ("chrome", "krom"), ("bridge", "brIJ"), ("shelf", "Self"), ("queen",
                                                                                                      "kwin"),
    ("wright", "rYt"), ("stone", "ston"), ("worth", "wRT"), ("field", "fild"), ("church", "CRC"), ("wax", "waks"),
])
def test_ordinary_words(word: str, sounds: str) -> None:
    """The rules read ordinary English spellings as they are said."""
    assert phones(word) == sounds


def test_digits_are_kept() -> None:
    """Digits stand in the sounds, so that they can be compared exactly."""
    assert [s for s in phones("CD-3M 40") if s.isdigit()] == ["3", "4", "0"]


@pytest.mark.parametrize(("text", "also"), [
    ("D-R-A-V-I-K", "Dravik"), ("Cessing", "Kessing"), ("M6 Dmono blocks", "M60 mono blocks"), ("AMP 3", "amp 3"),
])
def test_variants(text: str, also: str) -> None:
    """Spelled-out names, soft and hard c, acronyms said as words, and "six D" for sixty have a second way."""
    assert phones(also) in variants(text)


@given(st.text(max_size=40))
@example("\U000118e0 and \u0663")          # digits of other scripts
def test_any_text_has_sounds_of_the_alphabet(text: str) -> None:
    """Whatever is typed, the sounds are of the alphabet, and there are at most five ways."""
    ways = variants(text)
    assert len(ways) <= 5
    assert set("".join(ways)) <= set(SOUNDS) | set("0123456789")
