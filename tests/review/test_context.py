"""The words around a value."""

from __future__ import annotations

from intake.cli import unit_page
from intake.language.draft import Evidence
from intake.records.store import Store
from intake.review import drawing
from intake.review.context import Talk
from intake.settings import Settings

from .conftest import WALKS
from .shops import opened


def heard(shop: Settings, store: Store) -> list[tuple[str, str, str]]:
    """Every flagged value's words, and what the talk marks and shows around them."""
    talk, out = Talk(store, shop), []
    for question in store.open_questions(walk=WALKS[1]):
        for place, evidence in zip(talk.around(question.walk, question.evidence), question.evidence, strict=False):
            marked = " ".join(p.text for p in place.pieces if p.heard)
            out.append((evidence.words, marked, " ".join(p.text for p in place.pieces)))
    return out


def letters(text: str) -> str:
    """The letters alone: the reading may join words with a hyphen."""
    return "".join(c for c in text.casefold() if c.isalnum())


def test_the_heard_part_is_marked_among_its_neighbours(shop: Settings) -> None:
    """Just the words that a value rests on are marked, and the sentence around them is there."""
    with opened(shop) as store:
        found = heard(shop, store)
    assert len(found) >= 3
    for words, marked, whole in found:
        assert letters(marked) == letters(words)
        assert len(whole.split()) > len(words.split()) + 10


def test_without_a_transcript_the_words_themselves_remain(shop: Settings) -> None:
    """A transcript that was moved away costs only the neighbours."""
    with opened(shop) as store:
        talk = Talk(store, shop)
        talk._walks[WALKS[0]] = {}
        place = talk.around(WALKS[0], [Evidence("memo-01.vtt", 3.0, 4.0, "a Corvane")])[0]
    assert [(p.text, p.heard) for p in place.pieces] == [("a Corvane", True)]


def test_the_heard_part_always_fits(shop: Settings) -> None:
    """However few lines there are, what was heard is among those shown."""
    with opened(shop) as store:
        talk = Talk(store, shop)
        question = next(q for q in store.open_questions(walk=WALKS[1]) if q.evidence)
        place = talk.around(question.walk, question.evidence)[0]
    for width, rows in ((80, 4), (60, 3), (200, 2)):
        lines = drawing.words(place, width, rows)
        assert len(lines) <= rows
        text = " ".join(line.plain.strip() for line in lines)
        assert letters(question.evidence[0].words) in letters(text.partition("»")[2].partition("«")[0])


def test_words_read_on_a_photo_tell_the_photo(shop: Settings) -> None:
    """A plate has no seconds in a recording: the line names the photo instead, after what was said."""
    with opened(shop) as store:
        talk = Talk(store, shop)
        said = Evidence("gone.m4a", 3.0, 4.0, "ai three fifty")
        places = talk.around(WALKS[0], [Evidence("", 0.0, 0.0, "MODEL AI-350", "P03.JPG"), said])
    shown = [drawing.words(place, 80, 3)[0].plain for place in places]
    assert shown == ["gone.m4a 0:03.0 »ai three fifty«", "read on photo P03.JPG »MODEL AI-350«"]
    assert unit_page.said([Evidence("", 0.0, 0.0, "AI-350", "P03.JPG")]) == ["“AI-350” read on photo P03.JPG"]
