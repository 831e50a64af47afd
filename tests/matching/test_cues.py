"""Words about pictures, and the time of day where it is said."""

from __future__ import annotations

from importlib.resources import files
from typing import Any

import pytest
import yaml

from intake.matching.cues import find_cues
from intake.matching.spoken_time import clock_of, spoken_times
from tests.matching.test_timeline import transcript

DATA: dict[str, Any] = yaml.safe_load(files("intake.matching").joinpath("photo-cues.yaml").read_text(encoding="utf-8"))


@pytest.mark.parametrize("cue", DATA["cues"], ids=lambda c: c["said"])
def test_each_cue_finds_the_sentence_that_made_us_add_it(cue: dict[str, Any]) -> None:
    """A cue's own sentence gives its kind and strength."""
    found, = find_cues(cue["said"], 1.0, 2.0)
    assert (found.kind, found.strength, found.start, found.end) == (cue["kind"], cue["strength"], 1.0, 2.0)


@pytest.mark.parametrize("forbids", DATA["not"], ids=lambda c: c["said"])
def test_a_picture_still_to_be_taken_is_no_cue(forbids: dict[str, Any]) -> None:
    """What is to be photographed later was not photographed now."""
    assert find_cues(forbids["said"], 0.0, 1.0) == []


@pytest.mark.parametrize("said", [
    "Oh, great, that was a picture of my shoe.", "Floor shot. Dump that one.", "And that was a picture of nothing.",
    "Ach, that\u2019s a picture of the forklift.", "Okay, whatever, that was my sleeve.",
    "Bother, that was the ceiling.", "That last one's my knee, chuck it.", "Ignore that last photo.", "Delete that picture.",
    "I just photographed my own foot, no, took a picture of my foot.",
])
def test_strays_told_in_other_words(said: str) -> None:
    """The many ways to say that a picture is of nothing."""
    found, = find_cues(said, 0.0, 1.0)
    assert found.kind == "stray"


@pytest.mark.parametrize("said", [
    "The picture tube is dead.", "That was the left channel.", "It's on the floor.", "The feet are missing.",
    "That's a picture of the serial plate.", "It wants a new lamp, by accident it was dropped.", "That was my uncle's.",
    "The hand-wired one.", "Scratch that.", "There's a shot transformer in there.", "It stood on the floor for years.",
])
def test_talk_about_units_is_no_cue(said: str) -> None:
    """Words that look alike but are about the unit."""
    assert [c for c in find_cues(said, 0.0, 1.0) if c.kind == "stray"] == []


@pytest.mark.parametrize("said", [
    "Oh, wait, the big ones, back in bay three.", "Hey, wait.", "Oh, shoot, going back up to the one that skips.",
    "One more thing, the new one up on level four.",
])
def test_going_back_is_told(said: str) -> None:
    """Words with which a speaker goes back to something."""
    assert [c.kind for c in find_cues(said, 0.0, 1.0)] == ["back"]


@pytest.mark.parametrize("said", [
    "The thirty-four seventy-one, no wait, thirty-four seventeen.", "The back panel is scratched.",
    "It's back on the shelf.", "You have to wait for the tubes to warm up.", "That's the two seventy.",
    "That's the manual and the remote.", "It won't hold the bias.",
])
def test_a_correction_is_no_going_back(said: str) -> None:
    """Words that look alike but leave the talk where it is; those that could close a walk count only at its end."""
    assert [c.kind for c in find_cues(said, 0.0, 1.0) if c.kind != "end"] == []


@pytest.mark.parametrize(("said", "clock"), [
    ("nine fifteen now", "09:15"), ("9:15", "09:15"), ("9.15", "09:15"), ("14:05", "14:05"),
    ("a quarter to ten", "09:45"), ("quarter past nine", "09:15"), ("half past ten", "10:30"),
    ("twenty past two", "14:20"), ("ten to four", "15:50"),
    ("nine o'clock", "09:00"), ("two thirty pm", "14:30"), ("nine oh five now", "09:05"), ("two thirty now", "14:30"),
    ("eleven twenty-five a.m.", "11:25"),
])
def test_a_time_of_day_as_it_is_said(said: str, clock: str) -> None:
    """The time of day that a person means; in a shop, one to six is in the afternoon."""
    hours, minutes = clock.split(":")
    assert clock_of(said) == int(hours) * 3600 + int(minutes) * 60


@pytest.mark.parametrize("said", ["nine fifteen", "a Corvane", "nine now", "forty five now", "a hundred",
                                  "the mark four", "twelve volts", ""])
def test_what_is_no_time_of_day(said: str) -> None:
    """A bare number may be a price or a model."""
    assert clock_of(said) is None


def test_a_spoken_time_tells_when_the_recording_began() -> None:
    """"It's about a quarter to ten", twenty seconds in: the start is 09:44:40, about."""
    said, = spoken_times(transcript("a", "Okay, I'm back, it's about a quarter to ten, and things moved.", start=18.0))
    assert said.start_for == pytest.approx(9 * 3600 + 44 * 60 + 40, abs=4)


def test_a_price_is_no_time() -> None:
    """"It's nine fifteen" alone does not tell the time."""
    assert spoken_times(transcript("a", "The tag says it's nine fifty.")) == []
