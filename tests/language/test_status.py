"""Source, cosmetic grade and stage as people tell them in roundabout words, and words that only look like them."""

from __future__ import annotations

import pytest

from tests.language.test_cases import drafts

SOURCES = [
    ("purchase", "We paid him two hundred and ten for it."),
    ("purchase", "Paid 'em sixty bucks, we did, I mean we paid 'em sixty bucks for the thing."),
    ("purchase", "Gave a lady in Corbridge ninety pounds for it, cash."),
    ("purchase", "It came out of the Dunstable house clearance."),
    ("purchase", "I picked it up at a flea market."),
    ("purchase", "We got it off the widow at the estate sale."),
    ("purchase", "It was bought from the cinema that shut down."),
    ("purchase", "A dealer clearance, we bought it outright."),
    ("purchase", "Deceased estate, that one."),
    ("purchase", "It's bought and paid for."),
    ("trade-in", "Somebody traded it in on Saturday."),
    ("trade-in", "Part exchange, off a vicar."),
    ("trade-in", "A student swapped it for a box of records."),
    ("trade-in", "It came in against a new pair of headphones."),
    ("trade-in", "It was given to us in payment for another machine."),
    ("trade-in", "Traded in by a fella with a ponytail."),
    ("trade-in", "We took it in part ex."),
    ("trade-in", "He put it towards a bigger one, so it's a trade."),
    ("consignment", "We're selling it for a widow in Corbridge, on commission."),
    ("consignment", "He still owns it, we're just selling 'em for him."),
    ("consignment", "It's sold for the account of a Mister Brandt."),
    ("consignment", "The owner lets us sell it and keeps the rest."),
    ("consignment", "My neighbour wants it sold."),
    ("consignment", "She gets paid when it sells."),
    ("consignment", "We take a fifteen percent cut."),
    ("consignment", "We're flogging it for Missus Pell."),
    ("consignment", "A gentleman has kept it with us for selling."),
    ("consignment", "It's here on the family's behalf."),
    ("customer repair", "It's Doctor Ames's, and he wants it back working."),
    ("customer repair", "It belongs to a Mister Bell, who'd like it mended in time for the cricket."),
    ("customer repair", "It's Missus Orlo's, in to us for repair."),
    ("customer repair", "Coach Miller just wants 'em fixed."),
    ("customer repair", "The radio crowd left it with us to be fixed."),
    ("customer repair", "The temple people have given it for repair."),
    ("customer repair", "He just wants it to stop buzzing."),
    ("customer repair", "It's in for a service."),
    ("customer repair", "It goes back to Frau Lind once it's done."),
    ("customer repair", "So that's a repair for a customer."),
    (None, "That was a customer at the door, sorry."),
    (None, "It's waiting on customer approval."),
    (None, "He bought it new in seventy eight."),
    (None, "It's not a trade-in."),
    (None, "I swapped the belt on Tuesday."),
    (None, "We sold one like it for a song."),
    (None, "A friend of ours has one."),
    (None, "I said seventy two on the job card."),
    (None, "It's the trade price list."),
    (None, "He doesn't want it back."),
    (None, "A chap in Hull paid for the recap."),
    (None, "It belongs to the same series as the tuner."),
]

GRADES = [
    ("poor", "Body's beat to heck, so poor."),
    ("fair", "To look at, it scrapes a fair and no more."),
    ("fair", "One corner is chipped, so I give it not more than a fair."),
    ("fair", "There's a long scratch on top, call it fair."),
    ("fair", "To look at, well, fair."),
    ("fair", "Fair."),
    ("fair", "Put it down as fair."),
    ("mint", "I'd go mint."),
    ("mint", "It's as good as the day it left the works, so put mint."),
    ("mint", "Minters."),
    ("excellent", "Excellent otherwise, just look at that faceplate."),
    ("excellent", "Consignment, excellent, and ready to photograph."),
    ("excellent", "I'd call it excellent, and I don't hand those out."),
    ("good", "Looks wise it's a good, solid good."),
    ("good", "For looks, call it good."),
    ("good", "From the outside it's only fair, no, it's good."),
    ("good", "Cosmetically I'd still call it good."),
    ("very good", "I can't call it excellent, so very good."),
    ("very good", "I never gave you a grade for the looks. Very good, and that's all."),
    ("very good", "The finish is very good."),
    ("poor", "Pretty sad to look at, so poor, let's not pretend."),
    (None, "The pinch roller is still good."),
    (None, "That one's good to go."),
    (None, "Fair enough, he said."),
    (None, "Very good, moving on."),
    (None, "Excellent, next."),
    (None, "It sounds excellent."),
    (None, "The reception is poor."),
    (None, "The manual is mint."),
    (None, "It's good with that firmware."),
    (None, "It was mint before somebody stood a mug on it."),
    (None, "It's far from mint."),
    (None, "It takes a good while to warm up."),
    (None, "It tests very good."),
    (None, "Good morning, it's fair weather."),
]

STAGES = [
    ("testing", "It's on the test loop right now, so, testing."),
    ("testing", "Keep it under testing."),
    ("testing", "It's on the tester this week."),
    ("waiting", "We wait still for the new tube from the post."),
    ("waiting", "It's going nowhere till I hear back from that bloke in Perth."),
    ("waiting", "Until that turns up, the receiver waits."),
    ("waiting", "So long must the receiver also wait."),
    ("waiting", "He can't make up his mind, so it's waiting."),
    ("received", "It came today itself, nobody has touched it."),
    ("received", "Just off the lorry, that one."),
    ("ready to list", "It can go straight into the shop."),
    ("ready to photograph", "Ready it is, ready for the photograph."),
    ("listed", "It's been listed since Monday."),
    ("in repair", "Lid off, innards everywhere, so it's in repair."),
    ("in repair", "It was waiting for a lamp, and the lamp came, so it isn't waiting now, it's in repair."),
    (None, "It's waiting on the lamp. No, it isn't waiting any more."),
    (None, "The customer is waiting."),
    (None, "A recap is pending."),
    (None, "There's nothing to wait for."),
    (None, "The tray slides out like it's on ice."),
    (None, "It's listed at sixty watts in the catalogue."),
    (None, "The new lamp just arrived."),
    (None, "Just in case, I checked the fuse."),
    (None, "The platter stands still."),
    (None, "It's not ready to list."),
    (None, "The veneer is coming loose."),
    (None, "Somebody kissed it on the way out the door."),
]


def field(name: str, said: str) -> str | None:
    """The value of one scalar of the one unit of which all this is said."""
    units = drafts(f"Here's a Brackwell receiver, the thirty four seventeen. {said}")
    assert len(units) == 1
    value = units[0].scalars.get(name)
    return None if value is None else str(value.value)


@pytest.mark.parametrize(("wanted", "said"), SOURCES)
def test_source_is_told_in_many_words(wanted: str | None, said: str) -> None:
    """How a unit came is understood however it's told, and words that only sound like it tell nothing."""
    assert field("source", said) == wanted


@pytest.mark.parametrize(("wanted", "said"), GRADES)
def test_grade_is_of_the_whole_unit(wanted: str | None, said: str) -> None:
    """A grade of the whole unit is taken; one of a part, the sound or the day isn't."""
    assert field("cosmetic", said) == wanted


@pytest.mark.parametrize(("wanted", "said"), STAGES)
def test_stage_is_the_units_own_and_last(wanted: str | None, said: str) -> None:
    """The stage is the unit's own, the last word of it stands, and look-alikes set none."""
    assert field("stage", said) == wanted


GROUPS = [
    (
        "the first unit of a place gets what was said of all",
        "Okay, rolling. We bought the contents, so everything in here is a purchase unless I tell you different, and all of it is just received."
        " Here's a Brackwell receiver. Next is a Kessing C D player.",
        [("purchase", "received", None), ("purchase", "received", None)],
    ),
    (
        "an exception told before its name overrides it",
        "Everything in here is a purchase unless I tell you different. Here's a Brackwell receiver. Next is a Kessing C D player."
        " It's not like the others, we're selling it for a neighbour.",
        [("purchase", None, None), ("consignment", None, None)],
    ),
    (
        "what is said of all of a lot is the lot's alone",
        "Here's a set of four E L thirty four tubes by Vantrell. All of them are in the original boxes. We purchased them at an auction,"
        " and they're ready to list. Next is a Kessing C D player.",
        [("purchase", "ready to list", None), (None, None, None)],
    ),
    (
        "a statement for a stack reaches the pieces named after it",
        "On the north bench there's a stack of three, all Vantrell, all off the same dentist, so consignment on all three, and the"
        " whole stack is mint. Top box, preamp, V P twenty. Middle box, power amp, V X two sixty, that one's fair."
        " Bottom, monoblock amp, V M forty.",
        [("consignment", None, "mint"), ("consignment", None, "fair"), ("consignment", None, "mint")],
    ),
    (
        "of two statements for all the later stands",
        "Everything on this cart is received. No, everything on this cart is in testing. Here's a Brackwell receiver.",
        [(None, "testing", None)],
    ),
]


@pytest.mark.parametrize(("said", "wanted"), [pytest.param(s, w, id=name) for name, s, w in GROUPS])
def test_what_is_said_once_holds_for_its_group(said: str, wanted: list[tuple[str | None, ...]]) -> None:
    """A fact for many reaches each of them, the first too, and no others."""
    units = drafts(said)
    got = [tuple(u.scalars[f].value if f in u.scalars else None for f in ("source", "stage", "cosmetic")) for u in units]
    assert got == wanted
