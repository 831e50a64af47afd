"""`intake photos`, `intake walk timeline`, `intake walk set-offset`, and what they draw."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from intake.capture.walk import Moment, Photo, Recording, Walk
from intake.cli import build
from intake.cli.photos import offset_by_photo, parse_offset
from intake.cli.shop import make_shop
from intake.cli.timeline_drawing import Mark, Track, draw
from intake.errors import IntakeError, NotFoundError, UsageError
from intake.language.draft import Span, UnitDraft, Value
from intake.matching.arrange import arrange
from intake.records.store import Store

START = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
MEMO = "memo-01.vtt"
VTT = "WEBVTT\n\n" + "\n".join(f"{a} --> {b}\n{text}\n" for a, b, text in (
    ("00:00:05.000", "00:00:30.000", "First a Corvane amplifier [left] of the door."),
    ("00:00:34.000", "00:01:00.000", "Then a Haldwick tuner."),
    ("00:01:04.000", "00:01:30.000", "And a Kessing player.")))
# Camera two hours ahead: the pictures' true seconds are 10, 31, 40 and 71; one has no date.
TRUE = {"P01.JPG": 10.0, "P02.JPG": 31.0, "P03.JPG": 40.0, "P04.JPG": None, "P05.JPG": 71.0}


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop with one walk of three units and five photos, whose clock a few pictures cannot tell."""
    folder = tmp_path / "shop"
    make_shop(folder)
    memo = tmp_path / MEMO
    memo.write_text(VTT, encoding="utf-8")
    walk = Walk("w1", date(2026, 5, 14), -240,
                (Recording(memo, MEMO, "m", "transcript", 95.0, Moment(START, "note"), transcript=memo),),
                tuple(_photo(name, t) for name, t in TRUE.items()))
    drafts = [UnitDraft(f"u{i}", {"maker": Value(maker)}, spans=(Span(MEMO, a, b),), named_at=((MEMO, a + 1),))
              for i, (maker, a, b) in enumerate((("Corvane", 5, 30), ("Haldwick", 34, 60), ("Kessing", 64, 90)), 1)]
    found = arrange(walk, drafts, {}, given={"*": 0.0})
    with Store.open(folder / "intake.db") as store:
        store.save_walk(walk, drafts, found.matches, found.offsets)
    return folder


def _photo(name: str, true: float | None) -> Photo:
    if true is None:
        return Photo(Path(name), name, name, "jpeg", camera="Corvid K-1")
    clock = (START + timedelta(hours=-4 + 2, seconds=true)).replace(tzinfo=None)
    moment = Moment(clock, "exif DateTimeOriginal")
    return Photo(Path(name), name, name, "jpeg", moment, (moment,), "Corvid K-1")


def run(shop: Path, *words: str) -> Result:
    return CliRunner().invoke(build(), ["--shop", str(shop), *words])


def test_photos_are_listed_with_time_unit_and_reason(shop: Path) -> None:
    """Each photo with both times, its unit, how sure it is, and why a person should look."""
    result = run(shop, "photos", "w1")
    assert result.exit_code == 0
    assert "Corvid K-1: clock right to the second" in result.stdout
    row = next(line for line in result.stdout.splitlines() if line.startswith("P01"))
    assert "11:12:13" in row
    assert "none" in row                                  # two hours after the talk: nothing ties it to a unit
    assert "no date" in next(line for line in result.stdout.splitlines() if line.startswith("P04"))


def test_setting_the_clock_places_the_photos_anew(shop: Path) -> None:
    """With the offset given, each photo finds its unit at once, and undo and history know who said so."""
    result = run(shop, "walk", "set-offset", "w1", "+2h", "--why", "set on a journey")
    assert result.exit_code == 0
    assert "2 h ahead" in result.stdout
    data = json.loads(run(shop, "photos", "w1", "--json").stdout)
    assert [p["sighting"] and p["sighting"][-2:] for p in data["photos"]][:3] == ["u1", "u1", "u2"]
    assert data["photos"][-1]["sighting"] == "w1/u3"
    assert data["clocks"][0]["offset_s"] == 7200.0
    assert data["clocks"][0]["state"] == "corrected"


def test_a_photo_a_person_moved_stays_when_the_clock_is_set(shop: Path) -> None:
    """Placing anew never undoes what a person decided."""
    with Store.open(shop / "intake.db") as store:
        store.move_photo("P01.JPG", "w1/u3")
    run(shop, "walk", "set-offset", "w1", "7200")
    data = json.loads(run(shop, "photos", "w1", "--json").stdout)
    assert next(p for p in data["photos"] if p["name"] == "P01.JPG")["sighting"] == "w1/u3"


def test_a_photo_of_a_clock_sets_the_offset(shop: Path) -> None:
    """P01 was taken at 09:12:13, as the clock in it shows: the camera is two hours ahead."""
    result = run(shop, "walk", "set-offset", "w1", "--photo", "P01", "--at", "09:12:13", "--json")
    assert json.loads(result.stdout)["offset_s"] == 7200.0


@pytest.mark.parametrize("words", [("set-offset", "w1"), ("set-offset", "w1", "5", "--photo", "P01"),
                                   ("set-offset", "w1", "--photo", "P01"), ("set-offset", "w1", "soon"),
                                   ("set-offset", "w1", "--photo", "P01", "--at", "25:00")])
def test_words_that_make_no_sense_are_told(shop: Path, words: tuple[str, ...]) -> None:
    """Neither offset nor photo, both, or something that is no time: a usage error, not a traceback."""
    assert isinstance(run(shop, "walk", *words).exception, UsageError)


@pytest.mark.parametrize("words", [("photos", "w9"), ("walk", "timeline", "w9"), ("walk", "set-offset", "w9", "5"),
                                   ("walk", "set-offset", "w1", "5", "--camera", "X"),
                                   ("walk", "set-offset", "w1", "--photo", "P04", "--at", "09:12:13")])
def test_what_is_not_there_is_told(shop: Path, words: tuple[str, ...]) -> None:
    """No such walk or camera, or a photo without a date."""
    assert isinstance(run(shop, *words).exception, NotFoundError)


def test_the_timeline_shows_units_speech_and_photos(shop: Path) -> None:
    """One axis: the units' names, bars of speech, photos under their moments, and those outside."""
    run(shop, "walk", "set-offset", "w1", "7200")
    result = run(shop, "walk", "timeline", "w1", "--scale", "1")
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    units = next(line for line in lines if "u1" in line)
    assert units.index("u1") - 2 == 5                                   # a column a second, two blanks in front
    assert units.index("u3") - 2 == 64
    names = next(line for line in lines if "P01" in line)
    assert names.index("P01") - 2 == 10
    assert any(set(line.strip()) & set("#\u2588") for line in lines)
    assert "Not during a recording: P04.JPG" in result.stdout


@pytest.mark.parametrize(("said", "seconds"), [
    ("45", 45), ("-125.5", -125.5), ("+1h", 3600), ("1h30m", 5400), ("1h 30m 5s", 5405), ("-0:02:05", -125),
    ("1:00", 3600), ("\u22125 min", -300), ("1d", 86400), ("90 s", 90), ("0", 0)])
def test_an_offset_as_it_is_typed(said: str, seconds: float) -> None:
    """Seconds, words or a clock's form, with either sign."""
    assert parse_offset(said) == seconds


@pytest.mark.parametrize("said", ["", "h", "soon", "1:99x", "++", "1h-2"])
def test_what_is_no_offset_is_refused(said: str) -> None:
    """Nothing is guessed from what cannot be read."""
    with pytest.raises(IntakeError):
        parse_offset(said)


@pytest.mark.parametrize(("taken", "shown", "offset"), [
    ("2026-05-14T11:12:13", "09:12:13", 7200), ("2026-05-14T09:12:13", "9:12", 13),
    ("2026-05-15T00:01:00", "23:59:00", 120), ("2026-05-14T23:59:00-04:00", "00:01:00", -120)])
def test_the_offset_that_a_photo_of_a_clock_tells(taken: str, shown: str, offset: float) -> None:
    """Camera minus the time shown, across midnight too."""
    assert offset_by_photo(taken, shown) == offset


def test_a_long_recording_is_drawn_in_blocks_of_the_terminals_width() -> None:
    """No line is wider than asked, and every photo's name is there."""
    marks = tuple(Mark(f"P{i:02d}", i * 7.0, "u1" if i % 3 else None, i % 4 == 0) for i in range(40))
    track = Track("memo", START, 300.0, (("u1", 0.0, 140.0), ("u2", 150.0, 299.0)), ((0.0, 140.0),), marks)
    lines = draw([track], width=60, column_s=1.0)
    assert max(len(line) for line in lines) <= 60
    text = "\n".join(lines)
    assert all(f"P{i:02d}" in text for i in range(40))
    assert "P00?x" in text
    assert "13:12:30" in text


def test_names_of_photos_close_together_do_not_cover_each_other() -> None:
    """Three photos in two seconds take three rows."""
    marks = tuple(Mark(f"P{i}", 10.0 + i, "u1") for i in range(3))
    lines = draw([Track("memo", None, 60.0, (), (), marks)], width=80, column_s=2.0)
    assert sum("P" in line for line in lines) == 3
    assert "start not known" in lines[0]


def test_a_plain_terminal_gets_plain_letters() -> None:
    """Where the output is not UTF-8 nothing but ASCII is drawn."""
    track = Track("memo", START, 60.0, (("u1", 3.0, 50.0),), ((3.0, 20.0),), ())
    assert "\n".join(draw([track], width=80, plain=True)).isascii()


def test_an_empty_walk_draws_nothing_and_does_not_hang() -> None:
    """No recordings, or one of no length."""
    assert draw([], width=80) == []
    assert draw([Track("memo", START, 0.0)], width=80)[0].startswith("memo")
