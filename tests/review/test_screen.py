"""The screen itself: what it shows at the sizes it must work at, and what its keys do."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from rich.cells import cell_len
from textual.pilot import Pilot

from intake.language.draft import Evidence, Value
from intake.matching.types import PhotoMatch
from intake.records.store import Store
from intake.review import drawing, pictures
from intake.review.desk import Desk
from intake.review.screen import ReviewApp
from intake.review.sheets import Choosing, Looking, Reading
from intake.settings import Settings
from tests.records import builders

from .made import DAY, WALK, flagged, shop_with

NASTY = "[bold]left[/] [/] \x1b[31mred\x1b[0m \u202eback [@click=app.quit]x[/]"
Steps = Callable[[Pilot[None], Desk], Awaitable[None]]


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    path = tmp_path / "P1.jpg"
    Image.new("RGB", (60, 40), (200, 30, 30)).save(path)
    photo = replace(builders.photo("P1.jpg"), path=path, orientation=1)
    return _with_photo(tmp_path, photo)


def _with_photo(folder: Path, photo: Any) -> Settings:
    settings = shop_with(folder / "shop", [])
    settings.database.unlink()
    with Store.open(settings.database) as store:
        store.save_walk(builders.walk(WALK, on=DAY, photos=[photo]), [
            builders.draft("u1", 0, 20, maker=flagged("Corvane", 1, words=NASTY),
                           model=flagged("AI-300", 2, others=["AI-350"])),
            builders.draft("u2", 20, 40, maker="Haldwick", model="HV-46"),
        ], [PhotoMatch("P1.jpg", "u1", 0.6, reasons=("between u1 and u2",), runner_up="u2")])
    return settings


def run(settings: Settings, steps: Steps, *, size: tuple[int, int] = (80, 24), colours: bool = False) -> None:
    """Open the review, take the steps."""
    async def go() -> None:
        with Store.open(settings.database) as store:
            desk = Desk(store, settings, "ann")
            async with ReviewApp(desk, colours=colours).run_test(size=size) as pilot:
                await steps(pilot, desk)

    asyncio.run(go())


def shown(pilot: Pilot[None]) -> list[str]:
    """The lines on the screen, as text."""
    width, height = pilot.app.size
    lines = pilot.app.screen._compositor.render_strips()
    assert len(lines) == height
    text = [strip.text for strip in lines]
    assert all(cell_len(line) <= width for line in text)
    return text


@pytest.mark.parametrize("size", [(80, 24), (200, 50), (40, 12)])
@pytest.mark.parametrize("colours", [True, False])
def test_it_draws_at_any_size(settings: Settings, size: tuple[int, int], colours: bool) -> None:
    """Question, card and keys are all there, no line is wider than the terminal, and spoken brackets are just words."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("B")
        text = "\n".join(shown(pilot))
        assert f"{len(desk.queue)} to settle" in text
        assert "MAKER: Corvane" in text
        assert "the speaker was unsure" in text
        if size != (40, 12):
            assert "[bold]left[/]" in text
            assert "[@click=app.quit]x[/]" in text
            assert "Tab" in text
            assert "help" in text
            assert ("▀" in text) is colours
        assert "\x1b" not in text
        assert "\u202e" not in text

    run(settings, steps, size=size, colours=colours)


def test_the_cursor_and_the_doubts_show_without_colour(settings: Settings) -> None:
    """A mark tells what colour would: ▸ where we are, ? what is asked, = what a person settled, »« what was heard."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        text = shown(pilot)
        assert any(line.startswith("▸?") for line in text)
        assert any("»" in line for line in text)
        await pilot.press("C", "space")
        assert any(line[1:3] == "=C" for line in shown(pilot))

    run(settings, steps)


def test_typing_opens_the_line_and_completes(settings: Settings) -> None:
    """A letter opens the line with that letter; Tab takes what is offered; Enter keeps it."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("B", "=", "h", "a", "l")
        assert "Haldwick" in shown(pilot)[-1]
        await pilot.press("tab", "enter")
        assert desk.store.sighting(f"{WALK}/u1").value("maker") == "Haldwick"
        await pilot.press("D", "=", "0", "4", "x", "escape")
        assert desk.store.sighting(f"{WALK}/u1").value("serial") is None

    run(settings, steps)


def test_a_wrong_line_says_why_and_stays_open(settings: Settings) -> None:
    """What the field cannot hold is not lost: the line stays, with the reason under it."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("H", "=", *"limbo", "enter")
        assert "limbo" in shown(pilot)[-2]
        assert "is no stage" in shown(pilot)[-1]
        await pilot.press(*["backspace"] * 5, *"testing", "enter")
        assert desk.store.sighting(f"{WALK}/u1").value("stage") == "testing"

    run(settings, steps)


def test_help_is_one_key_away_and_names_every_key(settings: Settings) -> None:
    """? opens the help; every sign that does something stands in it."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("question_mark")
        assert isinstance(pilot.app.screen, Reading)
        await pilot.press("escape")
        assert not isinstance(pilot.app.screen, Reading)

    run(settings, steps)
    for sign in ("Space", "Enter", "Backspace", "Tab", *"=;:!,.+V", "Esc", "Ctrl+Q", "Page Down"):
        assert sign in drawing.HELP
    assert all(len(line) <= 80 for line in drawing.help_lines())


def test_a_photo_is_looked_at_and_moved(settings: Settings) -> None:
    """A photo question names the photo; its other unit is one digit away, any unit a few letters."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("exclamation_mark")
        assert isinstance(pilot.app.screen, Looking)
        await pilot.press("escape", "K")
        assert "P1.jpg" in "\n".join(shown(pilot)[:6])
        await pilot.press("=", "h")
        assert isinstance(pilot.app.screen, Choosing)
        await pilot.press("a", "l", "enter")
        assert desk.store.photos(WALK)[0].sighting == f"{WALK}/u2"
        await pilot.press("comma")
        assert desk.store.photos(WALK)[0].sighting == f"{WALK}/u1"
        assert desk.row is not None
        assert desk.row.name == "P1.jpg"
        await pilot.press("backspace")
        assert desk.store.photos(WALK)[0].sighting is None

    run(settings, steps, colours=True)


def test_whole_units_are_worked_on_by_the_menu(settings: Settings) -> None:
    """Tab and a letter: join, remove, add, and the whole story."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("tab")
        assert "j: join" in " ".join(shown(pilot)[-2:])
        await pilot.press("j", *"haldwick", "enter")
        assert [s.id for s in desk.store.sightings(WALK)] == [f"{WALK}/u1"]
        await pilot.press("comma", "tab", "a", *"tuner", "enter")
        assert len(desk.store.sightings(WALK)) == 3
        await pilot.press("tab", "w")
        assert "ALL THAT IS KNOWN" in shown(pilot)[0]
        await pilot.press("escape", "tab", "n")
        assert len(desk.store.sightings(WALK)) == 2

    run(settings, steps)


@pytest.mark.parametrize("keys", [["ctrl+q"], ["escape", "escape"]])
def test_it_leaves_and_keeps_the_place(settings: Settings, keys: list[str]) -> None:
    """Two ways out; next time the same question is in hand."""
    places = []

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("right")
        places.append(desk.head)
        await pilot.press(*keys)
        assert pilot.app._exit

    run(settings, steps)

    async def again(pilot: Pilot[None], desk: Desk) -> None:
        assert desk.head == places[0]

    run(settings, again)


def test_one_escape_does_not_leave(settings: Settings) -> None:
    """A stray Esc costs nothing."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("escape", "down", "escape")
        assert not pilot.app._exit

    run(settings, steps)


def test_no_key_crashes_it(settings: Settings) -> None:
    """Every key there is, at a card, in a menu and on an empty review: never an error."""
    keys = ["space", "enter", "tab", "up", "down", "left", "right", "pageup", "pagedown", "home", "end", "delete",
            "backspace", "insert", "f1", "f5", "ctrl+u", *"éß語~@#09QZ+!:"]

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        for key in keys:
            await pilot.press(key, "escape")
            await pilot.press("tab", key, "escape")
            while len(pilot.app.screen_stack) > 1:
                await pilot.press("escape")
        while desk.head is not None:
            await pilot.press("space" if desk.row is not None and desk.row.asked else "right")
        for key in keys:
            await pilot.press(key, "down", "escape")

    run(settings, steps)


def test_seen_before_shows_both_side_by_side_once(tmp_path: Path) -> None:
    """The reviewer sees what differs, answers with one digit, and is not asked again."""
    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker="Corvane", model="AI-350", serial="14772",
                                                            stage="in repair")])
    later, name = DAY + timedelta(days=7), "2026-05-21-north-aisle"
    second = builders.walk(name, on=later, recordings=[builders.recording("memo-02.m4a")])
    with Store.open(settings.database) as store:
        store.save_walk(second, [builders.draft("u1", maker="Corvane", model="AI-350", serial="14712", stage="waiting",
                                                recording="memo-02.m4a")],
                        candidates={"u1": [("U0001", 0.6, ["the serial differs in one place"])]})

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        text = "\n".join(shown(pilot))
        assert "14712" in text
        assert "14772" in text
        assert "≠" in text
        assert "1 the same thing   2 another one" in text
        await pilot.press("space")
        assert desk.head is not None
        await pilot.press("1")
        assert desk.head is None
        assert desk.store.unit("U0001").sightings[-1].id == f"{name}/u1"
        await pilot.press("comma")
        assert desk.head is not None
        await pilot.press("2")
        assert desk.head is None
        assert len(desk.store.unit("U0001").sightings) == 1

    run(settings, steps)


def test_the_story_tells_sightings_changes_and_days(tmp_path: Path) -> None:
    """A unit's page: each sighting, what changed, and how long it stood in each stage."""
    from intake.review.page import story

    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker="Corvane", stage="in repair")])
    second = builders.walk("later", on=DAY + timedelta(days=7), recordings=[builders.recording("memo-02.m4a")])
    with Store.open(settings.database) as store:
        store.save_walk(second, [builders.draft("u1", maker="Corvane", stage="waiting", recording="memo-02.m4a",
                                                issues=[builders.issue("lamp", "dead")])],
                        same_as={"u1": ("U0001", 0.9)})
        lines = story(store.unit("U0001"), today=date(2026, 5, 31))
    assert "  in repair            2026-05-14 to 2026-05-21, 7 days" in lines
    assert "  waiting              2026-05-21 until today, 10 days" in lines
    assert "      stage: in repair → waiting" in lines
    assert "      issue: lamp: dead" in lines
    assert "SEEN 2 TIMES" in lines


def test_a_photo_in_half_blocks_has_the_photos_colours(tmp_path: Path) -> None:
    """Upper and lower halves are the picture's own pixels, within the cells given."""
    path = tmp_path / "p.png"
    picture = Image.new("RGB", (8, 8), (255, 0, 0))
    picture.paste((0, 0, 255), (0, 4, 8, 8))
    picture.save(path)
    cells = pictures.blocks(path, 8, 4)
    assert (len(cells), len(cells[0])) == (4, 8)
    assert cells[0][0][0][0] > 200
    assert cells[3][0][1][2] > 200
    wide = pictures.blocks(path, 30, 3)
    assert len(wide) <= 3
    assert len(wide[0]) <= 30


@pytest.mark.parametrize(("environment", "allowed"), [
    ({"TERM": "xterm-256color"}, True), ({"TERM": "xterm", "COLORTERM": "truecolor"}, True), ({"TERM": "vt100"}, False),
    ({"TERM": "xterm-256color", "NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False),
])
def test_pictures_are_drawn_only_where_colours_are(monkeypatch: pytest.MonkeyPatch, environment: dict[str, str],
                                                   allowed: bool) -> None:
    """NO_COLOR and poor terminals get the path instead."""
    for name in ("TERM", "COLORTERM", "NO_COLOR"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert pictures.colours_allowed() is allowed


def test_what_a_plate_says_shows_its_photo(tmp_path: Path) -> None:
    """A value read on a photo has that photo beside it, and its sound key says that nobody spoke it."""
    photos = []
    for name in ("P1.jpg", "P2.jpg"):
        Image.new("RGB", (60, 40), (200, 30, 30)).save(tmp_path / name)
        photos.append(replace(builders.photo(name), path=tmp_path / name, orientation=1))
    settings = shop_with(tmp_path / "shop", [])
    settings.database.unlink()
    plate = Value("14772", (Evidence("", 0.0, 0.0, "S/N 14772", "P2.jpg"),), 0.6, ("read from the plate",))
    with Store.open(settings.database) as store:
        store.save_walk(builders.walk(WALK, on=DAY, photos=photos), [builders.draft("u1", 0, 20, serial=plate)],
                        [PhotoMatch(name, "u1", 0.9) for name in ("P1.jpg", "P2.jpg")])

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        text = "\n".join(shown(pilot))
        assert "read on photo P2.jpg »S/N 14772«" in text
        assert "P2.jpg +1" in text
        await pilot.press("semicolon")
        assert "read on photo P2.jpg" in shown(pilot)[-2]
        await pilot.press("exclamation_mark")
        assert "P2.jpg" in shown(pilot)[0]

    run(settings, steps, colours=True)


def test_a_walks_photos_of_no_unit_are_within_reach(settings: Settings) -> None:
    """Page Up before the first unit shows the walk's own card, from where a photo is moved to a unit."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("K", "backspace")
        while desk.about != f"{WALK}/u1":
            await pilot.press("pageup")
        await pilot.press("pageup")
        assert desk.about == WALK
        assert "P1.jpg of no unit" in "\n".join(shown(pilot))
        await pilot.press("h", "enter")
        assert desk.store.photos(WALK)[0].sighting == f"{WALK}/u2"

    run(settings, steps)


@pytest.mark.parametrize("width", [12, 40, 80])
def test_cut_words_stay_within_the_width(width: int) -> None:
    """A line that ends in an ellipsis is no wider than the others; else the keys at the foot are pushed off."""
    words = [(("several units on file fit; " * 9).strip(), "")]
    assert all(cell_len(line.plain) <= width for line in drawing.flow(words, width, most=2, indent="    "))
