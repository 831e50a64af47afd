"""A walk's page shows every word that was heard, and marks those that went into the record."""

from __future__ import annotations

from pathlib import Path

from records import builders

from intake.language.draft import Evidence, Span, UnitDraft, Value
from intake.records.store import Store
from intake.report import sheet
from intake.report.render_html import environment
from intake.settings import Settings
from intake.speech import doubts
from intake.speech.transcript import Doubt, Segment, Transcript, Word

from .conftest import NOW
from .test_page import Page

SPOKEN = "Okay here we go. Next is a Corvane AI-350, scratchy volume control. Lunch now."
MEMO = builders.MEMO


def kept(store: Store) -> Transcript:
    """A walk of one unit, from a spoken text of a word a second."""
    words = tuple(Word(text, float(at), at + 0.8) for at, text in enumerate(SPOKEN.split()))

    def said(first: int, last: int) -> tuple[Evidence, ...]:
        return (Evidence(MEMO, float(first), last + 0.8, " ".join(w.text for w in words[first : last + 1])),)

    draft = UnitDraft(
        "u1",
        scalars={
            "maker": Value("Corvane", said(7, 7), 0.95),
            "model": Value("AI-350", said(8, 8), 0.5, ("not sure enough",), ("AI-300",)),
        },
        issues=(Value(builders.issue("volume control", "scratchy"), said(9, 11), 0.9),),
        spans=(Span(MEMO, 4.0, 11.9),),
    )
    store.save_walk(builders.walk(photos=[builders.photo("P1.JPG")]), [draft])
    return Transcript(MEMO, "x", 15.0, (Segment(words),))


def test_the_words_are_all_there_and_marked() -> None:
    """Passages together hold every word in order; pieces carry the fields that their words went to."""
    with builders.fresh_store() as store:
        transcript = kept(store)
        walk = "2026-05-14-north-aisle"
        found = list(sheet.passages(store.recordings(walk)[0], transcript, store.sightings(walk)))
    assert " ".join(piece.text for passage in found for piece in passage.pieces) == SPOKEN
    assert [passage.unit for passage in found] == [None, "u1", None]
    marked = {piece.text: (piece.labels, piece.asked) for passage in found for piece in passage.pieces if piece.labels}
    assert marked == {
        "Corvane": (("maker",), False),
        "AI-350,": (("model",), True),
        "scratchy volume control.": (("issue 1",), False),
    }


def test_words_that_tell_of_another_unit_name_it() -> None:
    """Where a unit's words were said while another was talked about, the mark says whose they are."""
    with builders.fresh_store() as store:
        words = tuple(Word(text, float(at), at + 0.8) for at, text in enumerate(["Both", "stand", "on", "shelf", "D4", "I", "think"]))
        place = Value("shelf D4", (Evidence(MEMO, 3.0, 4.8, "shelf D4"),), 0.9)
        store.save_walk(builders.walk(), [builders.draft(name, start, start + 10, location=place)
                                          for name, start in (("u1", 0.0), ("u2", 20.0))])
        walk = "2026-05-14-north-aisle"
        transcript = Transcript(MEMO, "x", 40.0, (Segment(words),))
        (passage,) = sheet.passages(store.recordings(walk)[0], transcript, store.sightings(walk))
    assert [piece.labels for piece in passage.pieces if piece.labels] == [("location", "u2 location")]


def test_speech_without_words_is_shown() -> None:
    """Where somebody spoke and no word was made out, the page shows the place, so that it can be heard."""
    with builders.fresh_store() as store:
        kept(store)
        words = (Word("Okay.", 0.0, 0.8), Word("Next.", 9.0, 9.8))
        transcript = Transcript(MEMO, "x", 15.0, (Segment(words),), doubts=(Doubt(1.0, 8.9, doubts.GAP),))
        walk = "2026-05-14-north-aisle"
        found = list(sheet.passages(store.recordings(walk)[0], transcript, []))
    assert [(piece.text, piece.doubt) for passage in found for piece in passage.pieces] == [
        ("Okay.", None), ("…", "speech without words, 0:01 to 0:08"), ("Next.", None)]


def test_the_page_of_a_walk(tmp_path: Path) -> None:
    """The page has the unit's values with their doubts, photos that are not at hand, and what is missing."""
    with builders.fresh_store() as store:
        kept(store)
        made = sheet.html(sheet.make_sheet(store, "2026-05-14-north-aisle", Settings(tmp_path), now=NOW), "A shop")
    text = Page(made).text
    assert "u1 Corvane AI-350 U0001" in text
    assert "? not sure enough; or: AI-300" in text
    assert "volume control: scratchy" in text
    assert "Its transcript is not at hand" in text
    assert "Photos of no unit photo not at hand P1.JPG" in text


def test_the_environment_always_escapes() -> None:
    """The templates' environment escapes whatever is put in."""
    assert environment().autoescape is True
    assert environment().from_string("{{ x }}").render(x="<b>&\"'") == "&lt;b&gt;&amp;&#34;&#39;"
