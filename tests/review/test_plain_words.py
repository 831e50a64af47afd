"""What the screen tells, and the way back: said so that a person who is new to it understands."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot

from intake.language.draft import Doubted, Value
from intake.matching.types import ClockOffset
from intake.review import sound
from intake.review.desk import Desk
from intake.review.screen import ReviewApp
from intake.settings import Settings
from tests.records import builders

from .made import WALK, flagged, shop_with
from .test_screen import run, shown


def same_words(quantity: int, grouping: str) -> dict[str, Value]:
    """Number and grouping that rest on the one word "pair"."""
    return {"quantity": flagged(quantity, 5, words="pair"), "grouping": flagged(grouping, 5, words="pair")}


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """Three units that are asked about, the second of them most urgently."""
    return shop_with(tmp_path / "shop", [
        builders.draft("u1", 0, 20, maker=flagged("Corvane", 1, sure=0.7), cosmetic=flagged("good", 3)),
        builders.draft("u2", 20, 40, serial=flagged("7715203", 21, sure=0.3)),
        builders.draft("u3", 40, 60, unit_type="loudspeaker", **same_words(2, "pair"),
                       doubts=[Doubted("unit", "a plate says 230 V, and the shop's mains are 120 V")]),
    ])


def test_back_goes_over_the_questions_that_were_shown(settings: Settings) -> None:
    """← goes to what this person saw before, answered or not, and to nothing that was not shown yet."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("left")
        assert "the first that you were shown" in shown(pilot)[-2]
        seen = []
        for key in ("right", "space", "right"):
            assert desk.row is not None
            seen.append((desk.about, desk.row.name))
            await pilot.press(key)
        in_hand = desk.head
        for about, name in reversed(seen):
            await pilot.press("left")
            assert desk.row is not None
            assert (desk.about, desk.row.name) == (about, name)
        await pilot.press("left")
        assert desk.row is not None
        assert (desk.about, desk.row.name) == seen[0]
        await pilot.press("right", "right")    # past the answered one
        assert desk.head == in_hand

    run(settings, steps)


def test_back_to_an_answered_question_and_on_again(settings: Settings) -> None:
    """An answered question that was gone back to says that it is settled, and → returns to the one in hand."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("space")
        in_hand = desk.head
        await pilot.press("left")
        assert "SERIAL: 7715203 [accepted by a person]" in "\n".join(shown(pilot))
        assert "settled" in shown(pilot)[-2]
        await pilot.press("right")
        assert desk.head == in_hand
        assert desk.row is not None
        assert in_hand is not None
        assert desk.row.is_of(in_hand)

    run(settings, steps)


def test_a_doubt_of_the_whole_has_no_chance(settings: Settings, tmp_path: Path) -> None:
    """Only a reading is more or less sure: no percentage stands beside a caution, nor beside an unknown clock."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        desk.go_to(f"{WALK}/u3")
        while desk.row is not None and desk.row.field != "unit":
            await pilot.press("right")
        await pilot.press("down", "up")
        text = "\n".join(shown(pilot))
        assert "WHOLE UNIT:" in text
        assert "230 V" in text
        assert "%" not in text
        await pilot.press("space")
        assert shown(pilot)[-2].startswith("whole unit: seen")

    run(settings, steps)
    clocks = shop_with(tmp_path / "clocks", [builders.draft("u1", maker="Corvane")], offsets=[
        ClockOffset("Lumora K5", 12.0, -3600.0, 3600.0, known=False, how="only one photo")])

    async def clock(pilot: Pilot[None], desk: Desk) -> None:
        assert "CLOCK: Lumora K5" in "\n".join(shown(pilot))
        assert "%" not in "\n".join(shown(pilot))

    run(clocks, clock)


def test_one_look_settles_number_and_grouping(settings: Settings) -> None:
    """Where both rest on the same word both are shown, accepted by one key, and taken back by one."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        desk.go_to(f"{WALK}/u3")
        while desk.row is not None and desk.row.field not in ("quantity", "grouping"):
            await pilot.press("right")
        open_before = len(desk.queue)
        assert "QUANTITY: 2 and GROUPING: pair" in "\n".join(shown(pilot))
        await pilot.press("space")
        held = desk.store.sighting(f"{WALK}/u3").scalars
        assert (held["quantity"].state, held["grouping"].state) == ("accepted", "accepted")
        assert len(desk.queue) == open_before - 2
        await pilot.press("comma")
        assert shown(pilot)[-2].strip() == "took back: u3 quantity: 2 and grouping: pair, right as they stand"
        assert len(desk.queue) == open_before

    run(settings, steps)


def test_number_and_grouping_of_other_words_are_asked_one_by_one(tmp_path: Path) -> None:
    """A grouping that another word said is not accepted unseen."""
    settings = shop_with(tmp_path / "shop", [builders.draft(
        "u1", quantity=flagged(2, 5, words="two"), grouping=flagged("pair", 9, words="pair"))])

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("space")
        assert desk.head is not None
        assert sorted(v.state for v in desk.store.sighting(f"{WALK}/u1").scalars.values()) == ["accepted", "open"]

    run(settings, steps)


def test_two_readings_are_both_told(tmp_path: Path) -> None:
    """Where the two decodings disagree both are shown, also a reading that the field itself could not hold."""
    settings = shop_with(tmp_path / "shop", [builders.draft(
        "u1", grouping=flagged("single", 5, words="Wrenfield,", reason="two decodings disagree", others=["Renfold"]))])

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        text = "\n".join(shown(pilot))
        assert "look: heard in two ways: Wrenfield or Renfold" in text
        assert "decodings" not in text

    run(settings, steps)


@pytest.mark.parametrize(("steps_taken", "said"), [
    (["space"], "took back: u2 serial: 7715203, right as it stands"),
    (["=", *"77", "enter"], "took back: u2 serial: 77"),
    (["backspace"], "took back: u2 serial: left blank"),
    (["tab", "n"], "took back: u2 no such unit"),
    (["V", "=", *"lamp dead", "enter"], "took back: u2 issue: lamp: dead"),
])
def test_what_is_taken_back_is_said_as_it_was_answered(settings: Settings, steps_taken: list[str], said: str) -> None:
    """No address of a field, no name of an act on file."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        assert desk.about.endswith("u2")
        await pilot.press(*steps_taken, "comma")
        assert shown(pilot)[-2].strip() == said
        await pilot.press("full_stop")
        assert shown(pilot)[-2].strip() == said.replace("took back", "did again")

    run(settings, steps)


def test_a_seen_caution_is_taken_back_in_plain_words(settings: Settings) -> None:
    """Of the unit as a whole there is no value to tell."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        desk.go_to(f"{WALK}/u3")
        while desk.row is not None and desk.row.field != "unit":
            await pilot.press("right")
        await pilot.press("space", "comma")
        assert shown(pilot)[-2].strip() == "took back: u3 whole unit: seen"

    run(settings, steps)


def test_without_a_player_one_line_says_what_to_do(settings: Settings, monkeypatch: pytest.MonkeyPatch) -> None:
    """80 columns hold that there is no player and what to install."""
    monkeypatch.setattr(sound.shutil, "which", lambda _: None)
    memo = settings.shop / builders.MEMO
    memo.write_bytes(b"sound")

    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        known = desk.store.recordings(WALK)
        monkeypatch.setattr(desk.store, "recordings", lambda walk: [
            type(r)(**{**r.__dict__, "path": str(memo)}) for r in known])
        await pilot.press("semicolon")
        assert "no player for sound here: install ffmpeg or mpv" in shown(pilot)[-2]

    run(settings, steps)


def test_a_card_that_does_not_fit_tells_so(settings: Settings) -> None:
    """At 80 by 24 the last line names how many lines more there are and the keys to them; at the end there are none."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        assert isinstance(pilot.app, ReviewApp)
        card = shown(pilot)[9:-2]
        hidden = len(desk.rows) - sum(line[1] in " ?+=" and line[2].isupper() for line in card)
        told = [line for line in card if "more lines of this card: ↓, End" in line]
        assert told
        assert f"▼ {hidden} more" in told[0]
        await pilot.press("end")
        text = "\n".join(shown(pilot))
        assert "Z measured" in text
        assert "▼" not in text
        assert "more lines of this card: ↑, Home" in text

    run(settings, steps)


def test_the_help_says_where_more_is(settings: Settings) -> None:
    """Its last line names the way that there is more, and at the end no way on."""
    async def steps(pilot: Pilot[None], desk: Desk) -> None:
        await pilot.press("question_mark")
        assert shown(pilot)[-1].rstrip().endswith("↓ more")
        assert "↑" not in shown(pilot)[-1]
        await pilot.press("end")
        assert "MARKS" in "\n".join(shown(pilot))
        assert "↑ back up" in shown(pilot)[-1]
        assert "more" not in shown(pilot)[-1]
        await pilot.press("up")
        assert "↑ ↓ more" in shown(pilot)[-1]

    run(settings, steps)
