"""Tube designations against the handbook table (reference values, section 3: Radiotron Designer's Handbook)."""

from __future__ import annotations

import pytest

from intake.vocabulary.tubes import (
    is_ambiguous,
    is_known_tube,
    is_tube_type,
    normalize,
    other_name,
    read_designation,
    spoken_forms,
    tube_list,
)


@pytest.mark.parametrize(("tube", "heater", "sections", "base"), [
    ("EL34", "6.3 V", ("power pentode",), "octal"),
    ("EL84", "6.3 V", ("power pentode",), "noval"),
    ("ECC83", "6.3 V", ("triode", "triode"), "noval"),
    ("EF86", "6.3 V", ("pentode",), "noval"),
    ("EZ81", "6.3 V", ("full-wave rectifier",), "noval"),
    ("ECF82", "6.3 V", ("triode", "pentode"), "noval"),
    ("GZ34", "5 V", ("full-wave rectifier",), "octal"),
    ("PCC88", "300 mA", ("triode", "triode"), "noval"),
    ("E88CC", "6.3 V", ("triode", "triode"), "noval"),       # digits before the last letters: special quality
    ("EM84", "6.3 V", ("tuning indicator",), "noval"),
    ("PL504", "300 mA", ("power pentode",), "magnoval"),
    ("EB91", "6.3 V", ("double diode",), "miniature 7 pins"),
])
def test_european_types(tube: str, heater: str, sections: tuple[str, ...], base: str) -> None:
    """A European designation tells heater, sections and base as the handbook's table has them."""
    reading = read_designation(tube)
    assert reading is not None
    assert (reading.system, reading.heater, reading.sections, reading.base) == ("European", heater, sections, base)


@pytest.mark.parametrize(("tube", "heater", "elements"), [
    ("12AX7", "12.6 V", 7), ("6SN7GTB", "6.3 V", 7), ("6L6GC", "6.3 V", 6), ("5AR4", "5 V", 4), ("6V6GT", "6.3 V", 6),
    ("7F8", "6.3 V", 8), ("14B6", "12.6 V", 6), ("0A2", "cold cathode", 2), ("5U4GB", "5 V", 4),
])
def test_american_types(tube: str, heater: str, elements: int) -> None:
    """An American designation tells heater volts and useful elements; 7 and 14 are lock-in types at 6.3 and 12.6 V."""
    reading = read_designation(tube)
    assert reading is not None
    assert (reading.system, reading.heater, reading.elements) == ("American", heater, elements)


@pytest.mark.parametrize("tube", ["KT66", "KT88", "300B", "2A3", "845", "807", "5881", "6550", "6922", "7025"])
def test_types_of_neither_system(tube: str) -> None:
    """These follow neither letter scheme and stand on the list."""
    reading = read_designation(tube)
    assert reading is not None
    assert reading.system == "registered"


@pytest.mark.parametrize(("a", "b"), [
    ("ECC81", "12AT7"), ("ECC82", "12AU7"), ("ECC83", "12AX7"), ("ECC85", "6AQ8"), ("ECC88", "6DJ8"), ("E88CC",
                                                                                                       "6922"),
    ("PCC88", "7DJ8"), ("EF86", "6267"), ("EF80", "6BX6"), ("ECL82", "6BM8"), ("ECL86", "6GW8"), ("EL34", "6CA7"),
    ("EL84", "6BQ5"), ("EL86", "6CW5"), ("EM84", "6FG6"), ("EZ80", "6V4"), ("EZ81", "6CA4"), ("EZ90", "6X4"),
    ("GZ34", "5AR4"), ("EB91", "6AL5"), ("0A2", "150C2"), ("0B2", "108C1"),
])
def test_one_tube_two_names(a: str, b: str) -> None:
    """Substitution lists: each name leads to the other (ECC81-83, EL84, ECC88 seen; the rest from memory)."""
    assert other_name(a) == b
    assert other_name(b) == a
    assert is_known_tube(a)
    assert is_known_tube(b)


@pytest.mark.parametrize(("a", "b"), [("6L6GC", "EL34"), ("EL84", "EL34"), ("12AX7", "12AU7"), ("ECC88", "ECC83"),
                                      ("6SN7", "6SL7")])
def test_never_equal(a: str, b: str) -> None:
    """Types that are easily taken for each other are not one tube."""
    assert other_name(a) != b


@pytest.mark.parametrize(("written", "tube"), [
    ("el-34", "EL34"), ("12 ax 7", "12AX7"), ("OA2", "0A2"), ("6SN7 GTB", "6SN7GTB"), ("300 b", "300B"), ("KT.88",
                                                                                                          "KT88"),
])
def test_normalize(written: str, tube: str) -> None:
    """A type is written as it stands on the glass; the letter O in front is the digit."""
    assert normalize(written) == tube


@pytest.mark.parametrize("name", ["AI-350", "CP-12", "HV-46", "TH-60", "LP-90", "CD-3M", "TR-2205", "6OI7", "MB-38",
                                  "X1",
                                  "XC-31", "AMP", "", "EL", "34"])
def test_models_are_no_tubes(name: str) -> None:
    """Ordinary model names do not pass for tube types; the letters I and O are unused in them."""
    assert not is_tube_type(name)


@pytest.mark.parametrize(("tube", "said"), [
    ("EL34", "e l thirty-four"), ("EL34", "el34s"), ("6SN7", "six s n sevens"), ("12AX7", "twelve a x seven"),
    ("300B", "three hundred b"), ("845", "eight forty-five"), ("6550", "sixty-five fifty"), ("ECC83",
                                                                                             "e c c eighty-three"),
    ("KT88", "k t eighty-eights"),
])
def test_how_types_are_said(tube: str, said: str) -> None:
    """The usual types come with the ways they are said."""
    assert said in spoken_forms(tube)


def test_plain_numbers_are_unsure() -> None:
    """"Eighty" and "845" are tubes only where the sentence says so; "el34" always is one."""
    assert is_ambiguous("eighty")
    assert is_ambiguous("845s")
    assert not is_ambiguous("el34")


def test_the_list_follows_its_own_rules() -> None:
    """Every type listed under the systems is read by the rules, none under `registered` is common by mistake."""
    words = tube_list()
    unread = [tube for tube in words.known - words.registered if read_designation(tube).system == "registered"]  # type: ignore[union-attr]
    assert unread == []
    assert words.common <= words.known
