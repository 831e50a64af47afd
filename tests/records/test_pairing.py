"""A unit of a new reading is known again by shared speech and by what it is."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from intake.language.draft import Span
from intake.records.pairing import Known, likeness, pair

from .builders import MEMO, draft


def known(key: int, start: float, end: float, **values: object) -> Known:
    return Known(key, (Span(MEMO, start, end),), {name: frozenset([value]) for name, value in values.items()})


def test_the_same_stretch_is_the_same_unit() -> None:
    """Speech shared in full is certain, speech not shared is nothing."""
    assert likeness(known(1, 0, 20), draft("u1", 0, 20)) == 1.0
    assert likeness(known(1, 0, 20), draft("u1", 30, 50)) == 0.0


def test_of_units_named_in_one_sentence_each_finds_its_own() -> None:
    """Three units introduced together share a stretch; their names tell them apart."""
    stored = [known(n, 0, 10, model=model) for n, model in ((1, "AI-350"), (2, "FT-118"), (3, "CP-12"))]
    drafts = [draft("u1", 0, 10, model="CP-12"), draft("u2", 0, 10, model="AI-350"), draft("u3", 0, 10, model="FT-118")]
    assert pair(stored, drafts) == {"u1": 3, "u2": 1, "u3": 2}


def test_a_serial_finds_a_unit_that_is_talked_about_elsewhere() -> None:
    """Identity alone is enough where the speech was cut otherwise."""
    assert pair([known(1, 0, 5, serial="14772", maker="Corvane")],
                [draft("u1", 50, 60, serial="14772", maker="Corvane")]) == {"u1": 1}


def test_the_same_type_alone_is_not_enough() -> None:
    """Two tuners at different times stay two."""
    assert pair([known(1, 0, 5, unit_type="tuner")], [draft("u1", 50, 60, unit_type="tuner")]) == {}


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 30)), max_size=6),
       st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 30)), max_size=6))
def test_pairs_are_one_to_one(stored: list[tuple[float, float]], read: list[tuple[float, float]]) -> None:
    """No stored unit is taken twice, and each draft at most once."""
    pairs = pair([known(n, a, a + b) for n, (a, b) in enumerate(stored)],
                 [draft(f"u{n + 1}", a, a + b) for n, (a, b) in enumerate(read)])
    assert len(set(pairs.values())) == len(pairs)
