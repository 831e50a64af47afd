"""Two readings side by side: what the second may change, and what it never may."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.speech.agree import (
    Evidence,
    conclude,
    gains,
    in_second,
    numbers_that_differ,
    places,
    put,
    settle,
    suggested,
    upto,
    written,
)
from intake.speech.doubts import READINGS
from intake.speech.hints import Hinter, Proposal
from intake.speech.transcript import Word
from intake.speech.verdict import Weighed, accepted
from intake.vocabulary.terms import ModelName, Vocabulary


def said(text: str) -> tuple[Word, ...]:
    return tuple(Word(t, i * 0.5, i * 0.5 + 0.5, 0.5) for i, t in enumerate(text.split()))


def maker(start: int, end: int, term: str, *, gain: float, second: bool = True, support: float = 0.0,
          score: float = 0.85) -> Weighed:
    return Weighed(Proposal(start, end, term, "maker", score, support=support), second, gain)


@pytest.fixture
def hinter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Hinter:
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path))
    vocabulary = Vocabulary(makers=("Thorncross", "Kestrin", "Kestren", "Ravensholt"),
                            models=(ModelName("Kestrin", "A-15"),))
    return Hinter(vocabulary, lambda word: True)


def test_a_term_takes_the_place_and_time_of_what_was_heard() -> None:
    """The words around it stay as they were; what was heard is kept beside it."""
    words = said("here is a foreign cross, the big one")
    taken = [maker(3, 5, "Thorncross", gain=4.0)]
    final = settle(words, "here is a Thorncross, the big one", taken, taken).words
    assert [w.text for w in final] == ["here", "is", "a", "Thorncross,", "the", "big", "one"]
    assert (final[3].start, final[3].end, final[3].heard) == (1.5, 2.5, "foreign cross,")
    assert [w.heard for w in final if w.heard is not None] == ["foreign cross,"]


def test_the_second_reading_can_neither_add_nor_drop_nor_repeat() -> None:
    """However different it is, without a taken term the words are the first reading's."""
    words = said("the AI 300, or sorry, the one with the stuck tray")
    for second in ("", "the AI 300, or sorry, the AI 300,", "the AI 300 the AI 300 the AI 300 and much more talk"):
        assert [w.text for w in settle(words, second, [], []).words] == [w.text for w in words]


@given(st.lists(st.sampled_from(["a", "hull", "would", "tuner,", "46", "lamp."]), min_size=1, max_size=12),
       st.text(alphabet="ab 46", max_size=30))
def test_without_a_verdict_nothing_changes(texts: list[str], second: str) -> None:
    """Whatever the second reading says, the texts stay, word for word."""
    assert [w.text for w in settle(said(" ".join(texts)), second, [], []).words] == texts


def test_numbers_that_differ_keep_the_first_reading_and_the_other_beside_it() -> None:
    """Both go to the reviewer."""
    changed = settle(said("the AI 350 here"), "the AI 300 here", [], [])
    assert [(w.text, w.others) for w in changed.words] == [("the", ()), ("AI", ()), ("350", ("300",)), ("here", ())]
    assert [(x.reason, x.detail) for x in changed.doubts] == [(READINGS, "350 / 300")]


def test_the_same_number_written_otherwise_is_no_difference() -> None:
    """Mark II and mark 2, forty-six and 46."""
    assert list(numbers_that_differ(said("the Mark II, forty-six volts"), "the mark 2, 46 volts")) == []


def test_a_name_needs_the_sound_to_speak_for_it() -> None:
    """Without a gain in likelihood the second reading alone changes nothing; it is told the reviewer if it is close."""
    assert accepted([maker(0, 1, "Thorncross", gain=0.5)], {}, set()) == []
    assert accepted([maker(0, 1, "Thorncross", gain=4.0)], {}, set())


def test_a_name_the_second_reading_has_not_needs_a_neighbour() -> None:
    """Sound-alike search alone is no proof."""
    assert accepted([maker(0, 1, "Thorncross", gain=9.0, second=False)], {}, set()) == []
    assert accepted([maker(0, 1, "Thorncross", gain=3.0, second=False, support=1.0)], {}, set())


def test_a_close_rival_keeps_a_name_out() -> None:
    """Two makers as likely as each other are a question to the reviewer."""
    both = [maker(0, 1, "Nordahl", gain=6.1), maker(0, 1, "Nordell", gain=5.8, second=False)]
    assert accepted(both, {}, set()) == []


def test_a_rival_with_a_fitting_model_keeps_a_name_out() -> None:
    """The sound says Hallwick, the model beside it is Haldwick's: neither is taken."""
    both = [maker(0, 1, "Hallwick", gain=13.7), maker(0, 1, "Haldwick", gain=2.7, second=False, support=0.82)]
    assert accepted(both, {}, set()) == []


def test_a_name_with_a_twin_is_not_taken_by_sound_alone() -> None:
    """Kestrin and Kestren cannot be told apart by ear; named elsewhere, one of them can be taken."""
    one = [maker(0, 2, "Kestren", gain=12.7, score=0.84)]
    twins = {"Kestren": ["Kestrin"], "Kestrin": ["Kestren"]}
    assert accepted(one, twins, set()) == []
    assert accepted(one, twins, {"Kestrin"}) == []
    assert accepted([maker(0, 2, "Kestrin", gain=12.7)], twins, {"Kestrin"})


def test_a_name_less_alike_is_taken_only_where_the_recording_has_it_elsewhere() -> None:
    """A maker that is not on file may sound so; one that was named must still gain much and lead all others by much."""
    one = maker(0, 1, "Kessing", gain=4.5, score=0.62)
    far, near = (maker(0, 1, "Kissling", gain=g, second=False, score=0.51) for g in (-3.1, 1.9))
    assert accepted([one], {}, set()) == []
    assert accepted([maker(0, 1, "Kessing", gain=9.0, score=0.8)], {}, set()) == []
    assert accepted([one, far], {}, {"Kessing"}) == [one]
    assert accepted([one, near], {}, {"Kessing"}) == []


def test_a_model_without_its_maker_needs_more_of_the_sound() -> None:
    """Its digits agree, but letters sound alike: it must gain much and lead all others by much."""
    def model(term: str, gain: float, *, second: bool = True) -> Weighed:
        return Weighed(Proposal(0, 3, term, "model", 0.74, maker="Halstrom"), second, gain)

    assert accepted([model("PR-11", 6.4), model("BR-11", 1.3, second=False)], {}, set()) == [model("PR-11", 6.4)]
    assert accepted([model("PR-11", 6.4), model("BR-11", 3.0, second=False)], {}, set()) == []
    assert accepted([model("PR-11", 4.0)], {}, set()) == []


@pytest.mark.parametrize(("size", "score", "common", "gain", "taken"), [
    (1, 0.92, False, 0.6, True),            # "rectify" for rectifier
    (1, 0.92, False, 0.2, False),
    (1, 0.86, False, 1.0, False),           # "bleaking" for leaking is no bleaching
    (1, 0.83, False, 1.6, True),            # "wifers" for woofers
    (1, 0.76, False, 5.3, False),           # "wither" for woofer is no wafer
    (2, 0.76, True, 7.7, True),
    (2, 0.86, True, 5.3, True),             # "cause medically" for cosmetically
    (2, 0.86, True, 4.0, False),
    (1, 0.88, True, 5.6, False),            # "cotton" is no carton
])
def test_everyday_words_yield_to_a_trade_word_only_for_much(
        size: int, score: float, common: bool, gain: float, taken: bool) -> None:
    """What the recognizer has no token for was hardly said; what it has may have been, a single word most of all."""
    c = Weighed(Proposal(0, size, "woofers", "trade", score, common=common), True, gain)
    assert (accepted([c], {}, set()) == [c]) == taken


def test_what_was_not_taken_is_told_with_the_reading() -> None:
    """The reviewer sees the name that was close."""
    c = maker(1, 3, "Kestren", gain=12.7)
    agreement = settle(said("the cast ran, traded in"), "the Kestren, traded in", [c], [])
    assert [w.others for w in agreement.words][1] == ("Kestren",)
    assert agreement.doubts[0].detail == "cast ran, / Kestren"


def test_a_maker_named_later_helps_before(hinter: Hinter) -> None:
    """What is certain in one place of the recording decides in another, earlier ones too."""
    early, late = said("the cast rin here"), said("it is the Kestrin again")
    evidence = [Evidence("the Kestrin here", (maker(1, 3, "Kestrin", gain=8.0),)), None]
    first, second = conclude([early, late], evidence, hinter)
    assert [w.text for w in first.words] == ["the", "Kestrin", "here"]
    assert [w.text for w in second.words] == [w.text for w in late]
    alone, = conclude([early], evidence[:1], hinter)
    assert [w.text for w in alone.words] == [w.text for w in early]


def test_a_model_is_changed_only_in_its_letters_and_told() -> None:
    """Digits agree by search; the reviewer gets both readings."""
    c = Weighed(Proposal(1, 2, "FV-7", "model", 0.85, maker="Wickersley", support=1.0), True, 6.5)
    assert accepted([c], {}, set()) == [c]
    agreement = settle(said("the FD7, serial"), "the FV-7, serial", [c], [c])
    assert agreement.words[1].text == "FV-7,"
    assert agreement.words[1].heard == "FD7,"
    assert [x.reason for x in agreement.doubts] == [READINGS]


def test_a_term_of_several_words_keeps_count_of_the_heard_words() -> None:
    """The first word holds what was heard, further ones an empty text, so that the place can be undone."""
    c = Weighed(Proposal(1, 3, "phono stage", "trade", 0.8), True, 9.0)
    final = settle(said("Next, no stage. Corvane"), "", [c], [c]).words
    assert [(w.text, w.heard) for w in final[1:3]] == [("phono", "no stage."), ("stage.", "")]
    assert final[1].end == final[2].start


@pytest.mark.parametrize(("term", "kind", "heard", "text"), [
    ("Ravensholt", "maker", "raven sholts,", "Ravensholts,"), ("EL34", "tube", "L34s.", "EL34s."),
    ("cosmetically", "trade", "Cause medically", "Cosmetically"),
    ("Thorncross", "maker", "foreign cross.", "Thorncross."),
])
def test_a_term_keeps_the_heard_plural_capital_and_stop(term: str, kind: str, heard: str, text: str) -> None:
    """Only the word itself changes."""
    assert written(Proposal(0, 2, term, kind, 0.9), said(heard)) == text


def test_differences_are_found_whatever_the_punctuation() -> None:
    """Letters and digits count, and neighbouring differences are one."""
    assert places(["a", "foreign", "cross,", "the", "TH60"], ["a", "Thorncross", "the", "TH-60"]) == [(1, 3, 1, 2)]
    assert in_second(Proposal(1, 3, "Thorncross", "maker", 0.9), ["a", "foreign", "cross"], ["a", "Thorncross"])
    assert not in_second(Proposal(0, 1, "Thorncross", "maker", 0.9), ["a", "foreign", "cross"], ["a", "Thorncross"])


def test_the_gain_is_that_of_the_term_and_what_follows() -> None:
    """Each place is compared by itself; the words of the next term do not count."""
    words = said("a foreign cross the TH60 here now")
    found = [Proposal(1, 3, "Thorncross", "maker", 0.9), Proposal(4, 5, "TH-60", "model", 0.9)]
    assert put(words, found) == ["a", "Thorncross", "the", "TH-60", "here", "now"]
    assert upto(words, found[:1]) == ["a", "Thorncross", "the", "TH60"]     # no more than is weighed
    assert gains(words, found, [-1, -5, -5, -1, -4, -2, -2], [-1, -3, -1, -1, -1, -1]) == [7, 5]


def test_a_term_only_the_second_reading_has_is_weighed_where_it_sounds_alike(hinter: Hinter) -> None:
    """Suggested by the second reading, but only over words that sound like it."""
    found = list(suggested(said("a foreign gross here"), "a Thorncross here", hinter))
    assert [(p.start, p.end, p.term) for p in found] == [(1, 3, "Thorncross")]
    assert list(suggested(said("a lamp here"), "a Thorncross here", hinter)) == []
