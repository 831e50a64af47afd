"""Words, places and makers that a recognizer wrote as others: read as meant in heard talk alone, and always in doubt."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from intake.errors import VocabularyError
from intake.language.misheard_words import load_misheard, put_right
from intake.speech.transcript import Segment, Transcript
from intake.vocabulary.folder import vocab_folder
from tests.language.said import transcript
from tests.language.shop import extractor

DAY = date(2026, 1, 14)
TABLE = load_misheard(vocab_folder() / "misheard.yaml")


def heard(said: str, chance: float = 0.9) -> Transcript:
    """The words as a recognizer gives them, each with its chance."""
    typed = transcript(said)
    words = tuple(replace(w, probability=chance) for w in typed.segments[0].words)
    return replace(typed, segments=(Segment(words),))


def texts(given: Transcript) -> list[str]:
    return [w.text.strip() for w in given.words()]


def test_a_misheard_word_is_read_as_meant_and_what_was_heard_is_kept() -> None:
    """What the recognizer wrote stays with the word, and the stop and the time of it too."""
    before = heard("Next, a tumor. Serial 12")
    after = put_right([before], TABLE)[0]
    assert texts(after) == ["Next,", "a", "tuner.", "Serial", "12"]
    word = after.segments[0].words[2]
    assert word.heard == "tumor."
    assert (word.start, word.end) == (before.segments[0].words[2].start, before.segments[0].words[2].end)


def test_several_words_for_one_and_one_for_several() -> None:
    """ "cause medically" is one word, "attack" two; the time is shared out in order."""
    after = put_right([heard("it's attack, and cause medically it's fine")], TABLE)[0]
    assert texts(after) == ["it's", "a", "dack,", "and", "cosmetically", "it's", "fine"]
    starts = [w.start for w in after.words()]
    assert starts == sorted(starts)
    assert all(w.start < w.end for w in after.words())


def test_typed_text_is_left_alone() -> None:
    """Who types "tumor" means it."""
    typed = transcript("Next, a tumor.")
    assert put_right([typed], TABLE) == [typed]


@pytest.mark.parametrize("said", ["the leader of the band", "what I meant was", "a cute little thing", "under attack again"])
def test_a_word_with_a_meaning_of_its_own_needs_its_neighbours(said: str) -> None:
    """Everyday words stand for trade words only between the words that the table asks for."""
    assert texts(put_right([heard(said)], TABLE)[0]) == said.split()


def test_a_type_from_misheard_words_is_a_unit_and_says_so() -> None:
    """The unit is found, never surer than where the word itself was heard, and the value knows that its word was replaced."""
    sure = extractor().extract([heard("Here's a Brackwell tuner. It hums.")], DAY).units
    less = extractor().extract([heard("Here's a Brackwell tumor. It hums.")], DAY).units
    assert [u.scalars["unit_type"].value for u in (*sure, *less)] == ["tuner", "tuner"]
    assert less[0].scalars["unit_type"].signals["replaced"] == 1.0
    assert sure[0].scalars["unit_type"].signals["replaced"] == 0.0
    assert less[0].scalars["unit_type"].confidence <= sure[0].scalars["unit_type"].confidence


def test_a_maker_that_its_model_and_a_likeness_speak_for_is_flagged() -> None:
    """Nobody but Vantrell makes a VX-260: words beside it that sound like Vantrell are taken for it, and a person asked."""
    unit = extractor().extract([heard("Here's a power amplifier, vanilla, the VX-260. It hums.")], DAY).units[0]
    assert (unit.scalars["maker"].value, unit.scalars["model"].value) == ("Vantrell", "VX-260")
    assert unit.scalars["maker"].reasons


def test_two_readings_of_a_name_raise_no_question_of_how_many() -> None:
    """The maker was heard in two ways; that there is one of it was not."""
    given = heard("Here's a Brackwell receiver. It hums.")
    words = tuple(replace(w, others=("Blackwell",)) if "Brackwell" in w.text else w for w in given.segments[0].words)
    unit = extractor().extract([replace(given, segments=(Segment(words),))], DAY).units[0]
    assert unit.scalars["maker"].reasons
    assert not unit.scalars["quantity"].reasons
    assert not unit.scalars["grouping"].reasons


def test_a_model_alone_gives_no_maker() -> None:
    """Without words that sound like the maker the field stays blank."""
    unit = extractor().extract([heard("Here's a power amplifier, the VX-260. It hums.")], DAY).units[0]
    assert "maker" not in unit.scalars


@pytest.mark.parametrize("content", ["words: [{heard: [a]}]", "words: [{heard: [a], meant: b, near: [c]}]", "other: []", "words: ["])
def test_a_table_of_another_form_is_refused_by_name(tmp_path: Path, content: str) -> None:
    """The message names the file."""
    path = tmp_path / "misheard.yaml"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(VocabularyError) as told:
        load_misheard(path)
    assert "misheard.yaml" in str(told.value)
