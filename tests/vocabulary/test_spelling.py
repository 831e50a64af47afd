"""The spelling alphabet against its standard (ICAO Annex 10 vol. II; ITU Radio Regulations app. 14)."""

from __future__ import annotations

import string
from pathlib import Path

import pytest

from intake.errors import VocabularyError
from intake.vocabulary.folder import vocab_folder
from intake.vocabulary.spelling import load_spelling

# reference values, section 1
ICAO = (
    "Alfa", "Bravo", "Charlie", "Delta", "Echo", "Foxtrot", "Golf", "Hotel", "India", "Juliett", "Kilo",
    "Lima", "Mike", "November", "Oscar", "Papa", "Quebec", "Romeo", "Sierra", "Tango", "Uniform",
    "Victor", "Whiskey", "X-ray", "Yankee", "Zulu",
)
ITU = ["nadazero", "unaone", "bissotwo", "terrathree", "kartefour", "pantafive", "soxisix", "setteseven",
       "oktoeight", "novenine"]


@pytest.mark.parametrize(("word", "letter"), list(zip(ICAO, string.ascii_uppercase, strict=True)))
def test_the_standard_alphabet(word: str, letter: str) -> None:
    """Each word of the standard is its letter."""
    assert load_spelling().letter(word) == letter


@pytest.mark.parametrize(("word", "letter"), [("Alpha", "A"), ("Juliet", "J"), ("Xray", "X"), ("x ray", "X"),
                                              ("Whisky", "W")])
def test_spellings_people_use(word: str, letter: str) -> None:
    """The accepted other spellings are taken too."""
    assert load_spelling().letter(word) == letter


@pytest.mark.parametrize(("word", "digit"), [*zip(ITU, string.digits, strict=True), ("oh", "0"), ("nought", "0"),
                                             ("tree", "3"),
                                             ("fower", "4"), ("fife", "5"), ("niner", "9")])
def test_digit_words(word: str, digit: str) -> None:
    """ITU figures, aviation digits and everyday words for nought are digits."""
    assert load_spelling().digits[word] == digit


def test_informal_words_never_clash_with_the_standard() -> None:
    """A word of the standard alphabet means its letter only, whatever people say in "B as in boy"."""
    words = load_spelling()
    assert all(words.standard.get(word, letter) == letter for word, letter in words.informal.items())
    assert words.informal["boy"] == "B"
    assert words.letter("boy") is None


def test_repeats_and_signs() -> None:
    """Double and triple repeat; dash, slash and point are signs."""
    words = load_spelling()
    assert (words.repeats["double"], words.repeats["triple"]) == (2, 3)
    assert (words.signs["dash"], words.signs["stroke"], words.signs["point"]) == ("-", "/", ".")


@pytest.mark.parametrize(("old", "new", "says"), [
    ("  A:\n", "  a:\n", "unknown key 'a'"), ("standard: [bravo]", "usual: [bravo]", "unknown key 'usual'"),
    ("double: 2", "double: two", "'two' is no number"), ("repeats:", "repeat:", "unknown key 'repeat'"),
])
def test_a_broken_file_names_its_line(tmp_path: Path, old: str, new: str, says: str) -> None:
    """Each break of the grammar is told with file and line."""
    text = (vocab_folder() / "spelling.yaml").read_text(encoding="utf-8")
    (tmp_path / "spelling.yaml").write_text(text.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(VocabularyError, match=r"spelling\.yaml, line \d+") as error:
        load_spelling(tmp_path)
    assert says in str(error.value)
