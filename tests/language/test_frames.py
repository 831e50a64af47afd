"""What is wrong, what was done, what is to do, what came along and what was measured, in many people's words."""

from __future__ import annotations

from typing import Any

import pytest

from tests.language.test_cases import drafts

UNIT = "Here's a Brackwell receiver."


def told(said: str, field: str, *keys: str) -> list[tuple[Any, ...]]:
    """The values of a list field that one unit got from these words, as tuples of some keys."""
    units = drafts(f"{UNIT} {said}")
    assert len(units) == 1, [u.scalars for u in units]
    return [tuple(value.value[k] for k in keys) for value in getattr(units[0], field)]


def issues(said: str) -> list[tuple[Any, ...]]:
    """The issues as (part, symptom, side, state)."""
    return told(said, "issues", "part", "symptom", "side", "state")


ISSUES = {
    # a part, its side and its channel
    "The right-hand channel drops out.": ("channel", "drops out", "right", "present"),
    "No output on the left, the right is fine.": ("channel", "no output", "left", "present"),
    "The stylus is worn right down.": ("stylus", "worn", None, "present"),
    "One of the valves is microphonic.": ("tube", "microphonic", None, "present"),
    "Every time you switch on, it blows the fuse.": (None, "blows fuse", None, "present"),
    "No output on the left. My guess is a shorted output transistor on that side.": (
        "output transistor",
        "shorted",
        "left",
        "suspected",
    ),
    "There's no belt in it to perish, but the speed wanders.": (None, "speed unstable", None, "present"),
    # a word taken back, a side put right, a fault that got worse
    "The display is weak, no, weak is not the right word, it is dim.": ("display", "dim", None, "present"),
    "The left meter is dead, hold on, it's the right meter that is dead.": ("meter", "dead", "right", "present"),
    "The display was only dim before, but it's stone dead now.": ("display", "dead", None, "present"),
    # cures
    "It hums. I tightened the transformer and the hum is away.": (None, "hum", None, "fixed"),
    "The balance pot was scratchy, and now it's like silk.": ("balance control", "scratchy", None, "fixed"),
    "The motor was noisy. I oiled it on Monday and it's gone quiet.": ("motor", "noisy", None, "fixed"),
    "The left channel was dropping out. It hasn't dropped out since.": ("channel", "drops out", "left", "fixed"),
    "The surrounds were rotted, so that is in order again.": ("surround", "deteriorated", None, "fixed"),
    "Earlier it was humming, but I changed the filter capacitors and now it doesn't hum at all.": (
        None,
        "hum",
        None,
        "fixed",
    ),
    "The tray was stuck, and it slides out like it's on ice.": ("disc tray", "stuck", None, "fixed"),
    # what only sounds like a cure
    "The volume pot is scratchy. The boy went away with his tuner.": ("volume control", "scratchy", None, "present"),
    "The volume pot is scratchy. No hum, though, dead quiet otherwise.": ("volume control", "scratchy", None, "present"),
    "The display is dim, and it isn't fixed.": ("display", "dim", None, "present"),
}


@pytest.mark.parametrize(("said", "issue"), ISSUES.items())
def test_a_fault_has_its_part_its_side_and_its_state(said: str, issue: tuple[Any, ...]) -> None:
    """Part, side and state are linked over clauses, and the last word stands."""
    assert issue in issues(said)
    assert not [other for other in issues(said) if other[1] == issue[1] and other != issue]


@pytest.mark.parametrize(
    "said",
    [
        "The serial has been scraped off.",
        "The badge is worn, I can't read it.",
        "The stamp is very faint.",
        "It's heavy, so bend your knees.",
        "There's a label stuck under it.",
        "It was the year he broke his hip.",
        "It's dead quiet.",
        "The hum was coming from my bench lamp.",
        "I have it in bits at present.",
        "A few rubs on the corners.",
        "He took it on the way out the door.",
        "To look at, it scrapes a fair.",
        "I'm not moving that before breakfast.",
    ],
)
def test_an_idiom_is_no_fault(said: str) -> None:
    """Words of a fault that tell of a label, a person, the bench or a manner of speaking make no issue."""
    assert issues(said) == []


SERVICE = {
    "The owner had it done up by a guy in Ellery in 2017, a full recap.": ("recap", None, "2017", "guy in Ellery"),
    "Last month I changed the filter capacitors.": ("replace", "filter capacitor", "2025-12", None),
    "The bias I set yesterday.": ("bias", None, "2026-01-13", None),
    "One XLR jack was loose, this I repaired on Monday.": ("repair", "XLR jack", "2026-01-12", None),
    "The motor was noisy, but on Monday have I it lubricated.": ("lubricate", "motor", "2026-01-12", None),
    "It still has to be biased, no, wait, he's done that too.": ("bias", None, None, None),
}


@pytest.mark.parametrize(("said", "job"), SERVICE.items())
def test_work_done_has_its_part_its_date_and_its_hand(said: str, job: tuple[Any, ...]) -> None:
    """Work done is told in many orders of words; nothing of it is left as work to do."""
    assert told(said, "service", "work", "part", "date", "by") == [job]
    assert told(said, "actions", "work") == []


@pytest.mark.parametrize(
    "said",
    [
        "Got the box.",
        "Nobody ever recapped it.",
        "Recapped it has never been.",
        "So that's sorted.",
        "I had the bubble wrap off.",
        "It's the same one he had on this level.",
        "I got zero point zero six.",
        "Had the back off.",
        "All set.",
    ],
)
def test_no_work_is_made_of_things_and_manners_of_speaking(said: str) -> None:
    """A box, a level, a wrap or a matter settled is no job, and what nobody did was not done."""
    assert told(said, "service", "work") == []
    assert told(said, "actions", "work") == []


ACTIONS = {
    "I've to put in a new dial cord.": ("replace", "dial cord", None),
    "The volume pot is scratchy, so I've that to clean yet.": ("clean", "volume control", None),
    "The dial string's snapped, so that string will want replacing.": ("replace", "dial cord", None),
    "The idler wheel is worn, and that wheel must be sent away.": ("send out", "idler wheel", None),
    "Col is to troubleshoot the display by Friday.": ("troubleshoot", "display", "2026-01-16"),
    "I've to call them tomorrow.": ("call", None, "2026-01-15"),
    "The bearing wants a drop of oil.": ("lubricate", "main bearing", None),
    "There must a new display in.": ("replace", "display", None),
    "Both woofers get refoamed.": ("refoam", "woofer", None),
    "The woofers need a refoam.": ("refoam", "woofer", None),
    "It has never been recapped, so a recap is pending.": ("recap", None, None),
    "I have to send that motor out to the rewinder.": ("send out", "motor", None),
    "Left binding post is broken, that has to be replaced.": ("replace", "binding post", None),
    "The battery is leaking, and after that the whole thing's got to be cleaned.": ("clean", None, None),
    "One knob is missing, this must only be fitted, so, replace the knob.": ("replace", "knob", None),
    "The owner wants it back, so pack it by Friday.": ("pack", None, "2026-01-16"),
    "It has to be looked at.": ("inspect", None, None),
}


@pytest.mark.parametrize(("said", "job"), ACTIONS.items())
def test_work_to_do_has_its_part_and_its_day(said: str, job: tuple[Any, ...]) -> None:
    """What is to do is told as need, wish, order or plan, about the part that was spoken of."""
    assert told(said, "actions", "work", "part", "due") == [job]


@pytest.mark.parametrize(
    "said",
    [
        "I'd have to look that up.",
        "He just wants it fixed.",
        "To look at, it's fair.",
        "I'm not about to recap it.",
        "The right binding post is chipped, but that we leave.",
        "It is ready to be photographed.",
        "The display used to be dim.",
    ],
)
def test_a_wish_or_a_refusal_sets_no_work(said: str) -> None:
    """An owner's wish, a would-have-to, a refusal and a unit that is ready leave nothing on the list."""
    assert told(said, "actions", "work") == []


ACCESSORIES = {
    "No manual, power cord's in the bag.": [("manual", False), ("power cord", True)],
    "The aerial's taped to the back, the manual's been lost.": [("antenna", True), ("manual", False)],
    "No manual. Oh, I found the manual, so forget I said no manual.": [("manual", True)],
    "The manual's in with it, didn't see that.": [("manual", True)],
    "The original box did not come.": [("original box", False)],
    "The lid's on it, cracked the same as ever.": [("dust cover", True)],
    "The remote and the power cord are both in the bag.": [("remote", True), ("power cord", True)],
    "It stands open since the morning.": [],
    "Lid off, innards everywhere.": [],
    "It's in two boxes.": [],
    "The brochure says thirty watts a side.": [],
    "I haven't popped the lid.": [],
    "It's not the one with the brass feet.": [],
}


@pytest.mark.parametrize(("said", "items"), ACCESSORIES.items())
def test_what_came_along_is_told_apart_from_what_did_not(said: str, items: list[tuple[str, bool]]) -> None:
    """A negation ends where another statement begins, the last word stands, and a verb or a comparison is no item."""
    assert sorted(told(said, "accessories", "item", "present")) == sorted(items)


MEASURED = {
    "I measured thirty-one watts left and twenty-six watts right, and the company is claiming forty.": [
        ("output power", 31, "W", "left"),
        ("output power", 26, "W", "right"),
    ],
    "I'd thirty-three point three R P M off the strobe.": [("speed", 33.3, "rpm", None)],
    "On the scales it's eighteen point six kilos.": [("weight", 18.6, "kg", None)],
    "Both cases together have thirty-eight point five kilos.": [("weight", 38.5, "kg", None)],
    "On the kitchen scales it's four hundred and forty grams.": [("weight", 440, "g", None)],
    "The counter shows two, three, one, six.": [("hours", 2316, "h", None)],
    "The leaflet says it tracks at one and a half grams.": [],
    "It says two hundred watts on the front.": [],
}


@pytest.mark.parametrize(("said", "readings"), MEASURED.items())
def test_a_reading_is_what_was_read_on_this_unit(said: str, readings: list[tuple[Any, ...]]) -> None:
    """A number with its unit and side is a measurement; a maker's or a paper's number is none."""
    assert told(said, "measurements", "what", "value", "unit", "side") == readings
