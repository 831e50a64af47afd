"""Seen before, new, or a question."""

from __future__ import annotations

import json
from math import log2
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.language.draft import SCALARS, UnitDraft, Value
from intake.matching.sightings import find_earlier, links, load_weights
from intake.matching.types import KnownUnit, Sighting
from tests.matching.walks import EXAMPLES, SHARED

FILE = (
    KnownUnit("U1", "Haldwick", "HV-46", "31079", "integrated amplifier", "shelf B2", quantity=1),
    KnownUnit("U2", "Kessing", "4107", "K90213", "CD player", "shelf B3", quantity=1),
    KnownUnit("U3", "Marrowby", "MB-38", None, "loudspeaker", "shelf B3", quantity=2),
    KnownUnit("U4", "Wexcombe", "271", "20881", "loudspeaker", "bay 3", quantity=2),
    KnownUnit("U5", "Pellworth", "PT-26", None, "turntable", "shelf B3", quantity=1),
    KnownUnit("U6", "Corvane", "CP-21", "116B203", "phono stage", "shelf C2", quantity=1),
)


def draft(name: str = "u1", *, hint: str | None = None, **fields: Any) -> UnitDraft:
    scalars = {k: v if isinstance(v, Value) else Value(v) for k, v in fields.items() if v is not None}
    return UnitDraft(name, scalars, same_as_hint=hint)


def look(d: UnitDraft, known: tuple[KnownUnit, ...] = FILE) -> Sighting:
    return find_earlier([d], known)[d.id]


def test_the_same_serial_is_the_same_unit() -> None:
    """Serial first: with maker and model agreeing it is sure, wherever it stands now."""
    found = look(draft(maker="Haldwick", model="HV-46", serial="31079", unit_type="integrated amplifier",
                       location="bay 9"))
    assert (found.verdict, found.known, found.reasons) == ("sure", "U1", ())


def test_a_serial_alone_finds_its_unit() -> None:
    """Nothing but the serial was understood: that is enough."""
    assert look(draft(serial="K90213")).known == "U2"
    assert look(draft(serial="K90213")).verdict == "sure"


def test_a_serial_one_mark_off_is_a_question() -> None:
    """K90231 against K90213, all else alike: misheard, or the unit's neighbour from the factory; never sure."""
    found = look(draft(maker="Kessing", model="4107", serial="K90231", unit_type="CD player", location="shelf B3"))
    assert found.verdict == "ask"
    assert found.candidates[0].known == "U2"
    assert found.reasons == ("the serial differs in one place: K90231 here, K90213 on file",)


def test_another_serial_is_another_unit() -> None:
    """Two pieces of one model stay two, on the same shelf and even if said to be the same."""
    same = {"maker": "Kessing", "model": "4107", "unit_type": "CD player", "location": "shelf B3"}
    assert look(draft(serial="K55555", **same)).verdict == "new"
    assert look(draft(serial="K55555", hint="the same one", **same)).verdict == "ask"   # nothing on file fits the words


def test_a_known_serial_with_another_maker_is_a_question() -> None:
    """Two makers may use the same number."""
    found = look(draft(maker="Kessing", model="9031", serial="31079", unit_type="CD transport"))
    assert found.verdict != "sure"


def test_without_a_serial_the_speakers_word_makes_it_sure() -> None:
    """Maker and model agree, one unit on file fits, and the speaker says it is the same."""
    words = "same pair as last time"
    found = look(draft(maker="Marrowby", model="MB-38", unit_type="loudspeaker", location="bay 1", hint=words))
    assert (found.verdict, found.known) == ("sure", "U3")


def test_without_a_serial_or_a_word_it_is_a_question() -> None:
    """Maker, model, type and place agree: likely, but no proof."""
    found = look(draft(maker="Marrowby", model="MB-38", unit_type="loudspeaker", location="shelf B3"))
    assert (found.verdict, found.candidates[0].known) == ("ask", "U3")
    assert found.reasons == ("it may be the one on file; no serial proves it",)


def test_two_on_file_that_fit_are_a_question_even_with_the_speakers_word() -> None:
    """With two of a model on file nobody can tell which is meant."""
    twins = (*FILE, KnownUnit("U7", "Marrowby", "MB-38", None, "loudspeaker", "bay 1"))
    found = look(draft(maker="Marrowby", model="MB-38", unit_type="loudspeaker", hint="the same pair"), twins)
    assert found.verdict == "ask"
    assert {c.known for c in found.candidates} == {"U3", "U7"}


def test_a_model_that_is_itself_in_doubt_proves_nothing() -> None:
    """A flagged model and the speaker's word make a question, not a fact."""
    found = look(draft(maker="Pellworth", model=Value("PT-26", reasons=("speaker was unsure",)), unit_type="turntable",
                       hint="still here"))
    assert found.verdict == "ask"


def test_another_reading_of_a_serial_that_is_on_file_is_a_question() -> None:
    """The second decoding heard the serial that is on file: that is worth a question."""
    found = look(draft(maker="Corvane", model="CP-21", serial=Value("160203", alternatives=("116B203",)),
                       unit_type="phono stage"))
    assert (found.verdict, found.candidates[0].known) == ("ask", "U6")


def test_a_stranger_is_new() -> None:
    """Nothing on file is like it."""
    found = look(draft(maker="Slatebrook", unit_type="equipment rack", location="bay 2"))
    assert (found.verdict, found.known) == ("new", None)
    assert found.confidence > 0.9


def test_a_word_that_it_was_here_before_without_anything_that_fits_is_a_question() -> None:
    """The speaker says that it was here, but nothing on file fits: a person should know."""
    found = look(draft(maker="Slatebrook", unit_type="equipment rack", hint="still standing here"))
    assert (found.verdict, found.candidates) == ("ask", ())


def test_one_unit_on_file_is_not_two_of_a_walk() -> None:
    """Two drafts that both claim it: the one with the serial has it, the other is asked about, and why."""
    same = {"maker": "Haldwick", "model": "HV-46", "unit_type": "integrated amplifier"}
    found = find_earlier([draft("u1", serial="31079", **same), draft("u2", hint="same one", **same)], FILE)
    assert found["u1"].verdict == "sure"
    assert found["u2"].verdict == "ask"
    assert found["u2"].reasons == ("another record of this walk is taken for the same unit",)


def test_two_claims_of_equal_right_are_both_asked() -> None:
    """The same serial read twice in one walk: nobody wins."""
    found = find_earlier([draft("u1", serial="31079"), draft("u2", serial="31079")], FILE)
    assert {s.verdict for s in found.values()} == {"ask"}


def test_nothing_on_file_makes_everything_new() -> None:
    """The first walk of a shop asks nothing."""
    assert look(draft(maker="Kessing", model="4107", serial="K90213"), ()).verdict == "new"


def test_the_weights_are_those_of_the_formula() -> None:
    """log2(m/u): m 0.95, u 0.01 -> +6.57, disagree -4.31 (reference values, section 8)."""
    assert log2(0.95 / 0.01) == pytest.approx(6.57, abs=0.005)
    assert log2(0.05 / 0.99) == pytest.approx(-4.31, abs=0.005)
    for field in load_weights()["fields"].values():
        assert 0 < field["u"] < field["m"] < 1


def test_links_are_plain_tables_for_the_records() -> None:
    """Sure ones and questions as the records take them."""
    likely = draft("u2", maker="Marrowby", model="MB-38", unit_type="loudspeaker")
    found = find_earlier([draft("u1", serial="31079"), likely], FILE)
    sure, ask = links(found)
    assert sure == {"u1": ("U1", found["u1"].confidence)}
    assert ask["u2"][0][0] == "U3"
    assert "it may be the one on file; no serial proves it" in ask["u2"][0][2]


def test_the_example_walks_second_look_finds_its_units() -> None:
    """Of seven units two weeks later four are the earlier ones, surely; one, a serial two marks changed, is asked."""
    folder = SHARED / "walks"
    if not folder.is_dir():
        pytest.skip("the reference walks are not beside the checkout")
    known: list[KnownUnit] = []
    for walk in EXAMPLES:
        gold = json.loads((folder / walk / "gold.json").read_text(encoding="utf-8"))["units"]
        drafts = [UnitDraft(u["id"], {k: Value(u[k]) for k in SCALARS if u.get(k) is not None},
                            same_as_hint="the same one" if u.get("same_as") else None) for u in gold]
        found = find_earlier(drafts, known)
        for u in gold:
            sighting = found[u["id"]]
            if u.get("same_as"):
                assert (sighting.verdict, sighting.known) == ("sure", u["same_as"])
            else:
                assert sighting.verdict != "sure"
                known.append(KnownUnit(f"{walk}/{u['id']}", *(u[k] for k in ("maker", "model", "serial", "unit_type",
                                                                             "location")), quantity=u["quantity"]))


TEXTS = ["Kessing", "4107", "K90213", "K90231", "31079", "shelf B3", "\u00fc[x]", "0"]
text = st.one_of(st.none(), st.sampled_from(TEXTS))
Row = tuple[str | None, str | None, str | None, str | None, bool]


@settings(max_examples=80, deadline=None)
@given(st.lists(st.tuples(text, text, text, text, st.booleans()), max_size=4))
def test_no_unit_on_file_is_ever_surely_two(rows: list[Row]) -> None:
    """Whatever was understood: at most one draft surely is a unit on file, chances are chances, questions say why."""
    drafts = [draft(f"u{i}", maker=a, model=b, serial=c, location=d, hint="same" if e else None)
              for i, (a, b, c, d, e) in enumerate(rows, 1)]
    found = find_earlier(drafts, FILE)
    sure = [s.known for s in found.values() if s.verdict == "sure"]
    assert len(sure) == len(set(sure))
    for s in found.values():
        assert 0 <= s.confidence <= 1
        assert all(0 <= c.chance <= 1 for c in s.candidates)
        assert bool(s.reasons) == (s.verdict == "ask")
