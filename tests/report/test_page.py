"""The page holds what the week holds, says it in words, and takes any text as text."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from intake.records import shown
from intake.records.types import RecordingInfo
from intake.report import render_html, render_markdown, said, words
from intake.report.lines import Thing, Week
from intake.report.pictures import Album
from intake.settings import Settings
from intake.speech.replay import Shelf
from intake.speech.transcript import Segment, Transcript, Word

from .conftest import NOW, Shop
from .hostile import HOSTILE


class Page(HTMLParser):
    """A page taken apart: its elements with their attributes, and its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


def spoiled(week: Week, text: str) -> Week:
    """The week with that text in every field that is spoken or typed."""

    def thing(unit: Thing) -> Thing:
        return replace(unit, name=text, unit_type=text, serial=text, place=text, stage=text, source=text)

    def quote(line: Any) -> dict[str, Any]:
        found = getattr(line, "quote", None)
        return {"quote": replace(found, words=text, recording=text)} if found else {}

    def lines(group: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(replace(line, unit=thing(line.unit), **quote(line)) for line in group)

    stuck = tuple(
        (kind, tuple(replace(w, what=text, to_do=(text,)) for w in lines(group))) for kind, group in week.stuck
    )
    return replace(
        week,
        arrived=lines(week.arrived),
        moved=lines(week.moved),
        done=tuple(replace(d, what=text) for d in lines(week.done)),
        stuck=stuck,
        overdue=tuple(replace(d, work=text, waiting_on=text) for d in lines(week.overdue)),
        due=lines(week.due),
        dated=tuple(replace(d, work=text) for d in lines(week.dated)),
        parts=tuple(replace(p, part=text, needs=lines(p.needs)) for p in week.parts),
        not_yet=tuple(replace(n, part=text, work=text, waiting_on=text) for n in lines(week.not_yet)),
        customers=lines(week.customers),
        unseen=tuple(replace(m, place=text) for m in lines(week.unseen)),
        places=(text,),
        by_source=((text, 1),),
        by_type=((text, 2),),
        questions=tuple(
            (thing(unit) if unit else None, replace(q, value=text, reasons=(text,), name=text))
            for unit, q in week.questions
        ),
    )


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_inert_in_the_page(shop: Shop, text: str) -> None:
    """No text becomes an element, an attribute or a link that the page would not have without it."""
    week = shop.week()
    plain = Page(render_html.html(spoiled(week, "harmless"), render_html.Extras(shop="harmless", made=NOW)))
    found = Page(render_html.html(spoiled(week, text), render_html.Extras(shop=text, made=NOW)))
    assert [tag for tag, _ in found.elements] == [tag for tag, _ in plain.elements]
    for (_, attributes), (_, expected) in zip(found.elements, plain.elements, strict=True):
        assert set(attributes) == set(expected)
        assert (attributes.get("href") or "#").startswith(("#", "data:,", "file:"))


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_a_page_shows_no_control_letters(text: str) -> None:
    """Control letters and those that turn a line around stand as a sign; long text is cut, and says so."""
    shown = words.shown(text)
    assert not re.search("[\x00-\x1f\x7f\u202a-\u202e\u2066-\u2069]", shown)
    assert len(shown) < 200
    if len(text) > 200:
        assert "letters more" in shown


def test_the_page_answers_the_owners_questions(shop: Shop) -> None:
    """What came in, what is stuck the longest, what to order and what is due stand in the page in words."""
    week = shop.week()
    text = Page(render_html.html(week, shop.extras(week))).text
    longest = week.stuck_units[0]
    assert f"Came in {len(week.arrived)} units" in text
    assert f"Stuck {len(week.stuck_units)} units. The longest, for {longest.days} days: {longest.unit.name}" in text
    assert f"Due {len(week.overdue)} jobs overdue; {len(week.due)} due by 24 May" in text
    for part in week.parts:
        assert f"{part.part} for {part.units} unit" in text
    for line in (*week.overdue, *week.due):
        assert words.due_when(line) in text
    assert "invented" in text


def test_every_unit_of_every_section_is_on_the_page(shop: Shop) -> None:
    """A shop of this size sees all of its lines, none cut."""
    week = shop.week()
    text = Page(render_html.html(week, shop.extras(week))).text
    for line in (
        *week.arrived,
        *week.moved,
        *week.stuck_units,
        *week.overdue,
        *week.due,
        *week.customers,
        *week.unseen,
    ):
        assert line.unit.id in text


def test_charts_carry_their_numbers_as_text(shop: Shop) -> None:
    """Each bar's number stands in the drawing as text, and the whole again in its label."""
    week = shop.week()
    page = Page(render_html.html(week, shop.extras(week)))
    labels = [a["aria-label"] or "" for tag, a in page.elements if tag == "svg" and "aria-label" in a]
    assert ", ".join(f"{p.week[5:]} {p.arrived}" for p in week.chart) in labels[0]
    assert ", ".join(f"{p.week[5:]} {p.stuck}" for p in week.chart) in labels[1]
    assert ", ".join(f"{name} {number}" for name, number in week.ages) in labels[2]


def test_links_lead_to_anchors_on_the_page(shop: Shop) -> None:
    """Every link within the page finds its target, no id stands twice, and claims lead to quotes."""
    week = shop.week()
    page = Page(render_html.html(week, shop.extras(week)))
    ids = [a["id"] for _, a in page.elements if a.get("id")]
    assert len(ids) == len(set(ids))
    targets = [(a["href"] or "")[1:] for tag, a in page.elements if tag == "a" and (a["href"] or "").startswith("#")]
    assert set(targets) <= set(ids)
    assert sum(target.startswith("said-") for target in targets) >= len(week.stuck_units) + len(week.arrived)


def test_nothing_is_fetched(shop: Shop) -> None:
    """The page has no script, and every source is in the file."""
    week = shop.week()
    page = Page(render_html.html(week, shop.extras(week)))
    assert "script" not in [tag for tag, _ in page.elements]
    for tag, attributes in page.elements:
        for name in ("src", "srcset", "data", "action", "poster"):
            assert (attributes.get(name) or "data:").startswith("data:"), tag
        assert tag != "link" or (attributes["href"] or "").startswith("data:")


def test_cautions_stand_beside_what_can_hurt(shop: Shop) -> None:
    """Every caution of a unit shown is named beside it and told once in full, with whom to ask."""
    week = shop.week()
    extras = shop.extras(week)
    text = Page(render_html.html(week, extras)).text
    names = {caution for listed in extras.cautions.values() for caution in listed}
    assert names
    for caution in names:
        assert " ".join(caution.text.split()) in text
    assert "service manual" in text


def test_the_pictures_keep_to_their_budget(shop: Shop, tmp_path: Path) -> None:
    """Pictures stop at the budget; the page says how many it left out."""
    week = shop.week()
    full = shop.extras(week)
    small = replace(full, album=Album(tmp_path, budget=6000))
    html = render_html.html(week, small)
    assert 0 < html.count("data:image/jpeg") < render_html.html(week, full).count("data:image/jpeg")
    assert sum(map(len, re.findall(r"data:image/jpeg[^\"]*", html))) <= 6000
    assert f"{small.album.left_out} photos were left out" in html


def test_the_sentence_around_the_words() -> None:
    """A claim's words are shown in their sentence."""
    spoken = "That one is fine. It needs new output transistors, they're on order. Next."
    heard = [Word(text, at, at + 0.8) for at, text in enumerate(spoken.split())]
    assert said.sentence(heard, 5.0, 6.9) == ("It", "needs new", "output transistors, they're on order.")
    assert said.sentence(heard, 90.0, 91.0) is None


def test_a_transcript_of_an_earlier_version_is_read(tmp_path: Path) -> None:
    """Sentences are shown from the newest transcript on file, also where today's settings would decode it anew."""
    info = RecordingInfo("w", "memo.m4a", str(tmp_path / "memo.m4a"), "ab" * 32, "m4a", 70.0, None, "")
    settings = Settings(tmp_path)
    assert said.transcript_of(info, settings) is None
    for name, word in (("0badcafe", "Older."), ("0badcaff", "Newer.")):
        kept = Transcript("memo.m4a", info.sha256, 70.0, (Segment((Word(word, 0.0, 0.8),)),))
        Shelf(settings.transcripts).save(f"{info.sha256[:24]}-{name}", kept, kept)
        at = 1.0 if word == "Older." else 2.0
        os.utime(settings.transcripts / f"{info.sha256[:24]}-{name}.json", (at, at))
    found = said.transcript_of(info, settings)
    assert found is not None
    assert [word.text for word in found.words()] == ["Newer."]


def test_a_page_reads_only_so_many_transcripts(
    shop: Shop, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Past some hours of talk the page shows the words on file, so that a long history does not hold it up."""
    settings = Settings(tmp_path)
    quotes = list(shop.extras(shop.week()).sources.values())
    for walk in {quote.walk for quote in quotes}:
        for info in shown.recordings(shop.look, walk).values():
            said_ = (Word("Well,", 0.0, 0.1), *(Word("so", float(at), at + 0.9) for at in range(600)))
            kept = Transcript(info.name, info.sha256, 600.0, (Segment(said_),))
            Shelf(settings.transcripts).save(f"{info.sha256[:24]}-0badcafe", kept, kept)

    def read(hours: float) -> set[str]:
        monkeypatch.setattr(said, "MOST_HOURS", hours)
        sayings = said.Sayings(shop.look, settings)
        return {quote.walk for quote in quotes if "so" in getattr(sayings.of(quote), "sentence", "").split()}

    assert read(100.0) == {quote.walk for quote in quotes}
    assert len(read(100.0)) > 2
    assert len(read(0.0)) == 1


def test_work_that_is_done_cites_the_words_that_say_so(shop: Shop) -> None:
    """The words behind "done" are of the day on which it was done, not of the day on which it was named."""
    week = shop.week()
    assert week.done
    for line in week.done:
        assert line.quote is not None
        assert line.quote.walk.startswith(line.on.isoformat())
        assert "done" in line.quote.words


def test_each_quote_names_its_unit_and_leads_back(shop: Shop) -> None:
    """From the words at the page's end one gets back to the unit that they were told of."""
    week = shop.week()
    html = render_html.html(week, shop.extras(week))
    rows = re.findall(r'<li id="(said-\d+)">(.*?)</li>', html, re.DOTALL)
    assert rows
    for anchor, row in rows:
        assert html.count(f'id="from-{anchor}"') == 1
        assert re.search(rf'<a href="#from-{anchor}">U\d{{4}} ', row)


def test_claims_of_customers_and_missing_units_have_their_words(shop: Shop) -> None:
    """Whose a unit is and where it stood last lead to what was said."""
    week = shop.week()
    extras = shop.extras(week)
    assert {line.unit.id for line in week.unseen if not line.sold} == set(extras.places)
    assert {line.unit.id for line in words.customers_listed(week)} == set(extras.sources)
    for line in week.unseen:
        if not line.sold:
            assert line.place in extras.places[line.unit.id].words
            assert extras.places[line.unit.id].walk.startswith(line.last_seen.isoformat())


@pytest.mark.parametrize(
    ("part", "whole", "said_"), [(0, 9, "0 %"), (1, 244, "under 1 %"), (1, 2, "50 %"), (243, 244, "over 99 %"),
                                 (9, 9, "100 %"), (0, 0, "-")]
)
def test_some_is_never_none(part: int, whole: int, said_: str) -> None:
    """A share that is not nothing is not shown as 0 %, and one that is not all not as 100 %."""
    assert words.percent(part, whole) == said_


@pytest.mark.parametrize(
    ("start", "end", "fragment"), [(41.2, 66.0, "#t=41.2,66"), (0.0, 0.0, "#t=0,0.1"), (-1, 2.04, "#t=0,2")]
)
def test_sound_links_are_media_fragments(tmp_path: Path, start: float, end: float, fragment: str) -> None:
    """W3C Media Fragments 1.0, 4.2.1: #t=BEGIN,END in normal play time, seconds; only where the file is there."""
    sound = tmp_path / "a memo?.m4a"
    info = RecordingInfo("w", "memo.m4a", str(sound), "x", "m4a", 70.0, None, "")
    assert said.sound_address(info, start, end) is None
    sound.touch()
    address = said.sound_address(info, start, end) or ""
    assert address.startswith("file:///")
    assert address.endswith(f"a%20memo%3F.m4a{fragment}")
    assert said.sound_address(replace(info, kind="transcript"), start, end) is None


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_text_is_inert_in_markdown(shop: Shop, text: str) -> None:
    """No text opens an element, a link, a table cell or a heading of its own."""
    lines = render_markdown.markdown(spoiled(shop.week(), text), text).splitlines()
    plain = render_markdown.markdown(spoiled(shop.week(), "harmless"), "harmless").splitlines()
    assert [line[:2] for line in lines if line.startswith(("#", "- ", "| "))] == [
        line[:2] for line in plain if line.startswith(("#", "- ", "| "))
    ]
    whole = "\n".join(lines)
    assert "<" not in whole
    assert re.search(r"(?<!\\)\]\(", whole) is None
    assert re.search(r"(?<!\\)://", whole) is None


def test_an_empty_week_says_so(shop: Shop) -> None:
    """A week without a walk has a whole page: it says that there was none, and which walk is the newest."""
    week = shop.week("2026-W25", today=datetime(2026, 7, 1, tzinfo=UTC).date())
    text = Page(render_html.html(week, shop.extras(week))).text
    assert "No walk was made in these days. The newest before it is 2026-05-15-benches" in text
    assert "Nothing came in." in text
    assert week.stuck_units[0].days > 30
