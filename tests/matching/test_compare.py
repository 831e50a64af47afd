"""Fields of two sightings held against each other."""

from __future__ import annotations

import pytest
from rapidfuzz.distance import JaroWinkler

from intake.matching.compare import Agreement, models, names, places, serials, types

FULL, NEAR, NONE, OPEN = Agreement.FULL, Agreement.NEAR, Agreement.NONE, Agreement.OPEN


@pytest.mark.parametrize(("a", "b", "expected"), [
    ("14772", "14772", FULL), ("k 902-13", "K90213", FULL), ("K90213", "K90231", NEAR), ("14772", "14773", NEAR),
    ("14772", "1477", NEAR), ("14772", "14881", NONE), ("A1", "A2", NONE), ("14772", None, OPEN), ("", "1", OPEN),
])
def test_serials(a: str | None, b: str | None, expected: Agreement) -> None:
    """Exact after dropping case, blanks and dashes; one mark off, or two changed places, is near; short ones never."""
    assert serials(a, b) is expected


@pytest.mark.parametrize(("a", "b", "expected"), [
    ("AI-350", "ai 350", FULL), ("AI-350", "AI-355", NONE), ("AE-350", "AI-350", NEAR), ("PT-26", "PT-26 MK2", NEAR),
    ("PT-26", "PT-28", NONE), ("217", "271", NONE), (None, "PT-28", OPEN), ("XR-350", "AI-350", NONE),
])
def test_models(a: str | None, b: str | None, expected: Agreement) -> None:
    """Digits must agree; letters may differ a little; a version mark may be missing."""
    assert models(a, b) is expected


@pytest.mark.parametrize(("a", "b", "expected"), [
    ("Haldwick", "HALDWICK", FULL), ("Haldwick", "Haldwik", NEAR), ("Haldwick", "Marrowby", NONE), (None, "x", OPEN)])
def test_makers(a: str | None, b: str | None, expected: Agreement) -> None:
    """Makers may be misheard a little."""
    assert names(a, b) is expected


def test_the_likeness_of_names_is_the_published_one() -> None:
    """Jaro-Winkler: MARTHA/MARHTA 0.961, DIXON/DICKSONX 0.813, DWAYNE/DUANE 0.840 (jellyfish's test data)."""
    for a, b, value in (("MARTHA", "MARHTA", 0.961), ("DIXON", "DICKSONX", 0.813), ("DWAYNE", "DUANE", 0.840)):
        assert JaroWinkler.similarity(a, b) == pytest.approx(value, abs=0.0006)


@pytest.mark.parametrize(("a", "b", "expected"), [
    ("shelf B2", "Shelf B2", FULL), ("shelf B2", "shelf B3", NEAR), ("shelf B2", "bay 3", NONE), (None, "bay 3", OPEN),
    ("north bench", "south bench", NONE)])
def test_places(a: str | None, b: str | None, expected: Agreement) -> None:
    """The same place, or a neighbour of it."""
    assert places(a, b) is expected


def test_types_that_are_taken_for_each_other() -> None:
    """A receiver may be called a tuner, but not a turntable."""
    alike = (frozenset({"receiver", "tuner"}),)
    assert [types("receiver", t, alike) for t in ("receiver", "tuner", "turntable", None)] == [FULL, NEAR, NONE, OPEN]
