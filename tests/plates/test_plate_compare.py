"""What plates do to a unit: confirm, contradict, offer, caution."""

from __future__ import annotations

from plate_lines import WORDS, plate

from intake.language.confidence import UNSURE, why_unsure
from intake.language.draft import Doubted, Evidence, UnitDraft, Value
from intake.matching.plates import SETTLED, PlateReading, compare, read_fields, seen_in, with_plates
from intake.matching.types import PhotoMatch

SAID = Evidence("memo-01.m4a", 3.0, 4.0, "corvane a i three fifty")
PLATE = read_fields(plate("CORVANE", "MODEL NO. AI-350", "120V~ 60Hz", "SERIAL NO. 14772"), WORDS)


def unit(**scalars: Value) -> UnitDraft:
    return UnitDraft("u1", scalars=scalars)


def said(value: str, *reasons: str, confidence: float = 0.7) -> Value:
    return Value(value, (SAID,), confidence, reasons)


def test_agreement_settles_the_machines_doubts() -> None:
    """A plate that says the same raises the confidence, drops the machine's doubts and stands in the evidence."""
    doubt = "the model was taken for one that sounds alike"
    value = compare(unit(model=said("AI-350", doubt)), {"P1.JPG": PLATE}, mains_v=120).scalars["model"]
    assert value.value == "AI-350"
    assert value.reasons == ()
    assert value.confidence > 0.97
    assert value.evidence[0] == SAID
    assert (value.evidence[1].photo, value.evidence[1].words) == ("P1.JPG", "MODEL NO. AI-350")


def test_speakers_doubt_stays_in_review() -> None:
    """What the speaker was unsure of is listed even where the plate says the same: the contract asks for it."""
    value = compare(unit(model=said("AI-350", "the speaker was unsure")), {"P1.JPG": PLATE}, mains_v=120).scalars[
        "model"
    ]
    assert value.reasons == ("the speaker was unsure",)


def test_contradiction_keeps_what_was_said_and_shows_both() -> None:
    """Another model on the plate changes nothing but the review: reason with the photo, the reading as alternative."""
    value = compare(unit(model=said("AI-355", confidence=0.98)), {"P1.JPG": PLATE}, mains_v=120).scalars["model"]
    assert value.value == "AI-355"
    assert value.reasons == ("the plate in P1.JPG reads AI-350",)
    assert value.alternatives == ("AI-350",)
    assert value.confidence < 0.5
    assert [e.photo for e in value.evidence] == [None, "P1.JPG"]


def test_one_photo_agrees_and_one_differs() -> None:
    """Where two photos of a unit say different things the field goes to review with both."""
    other = read_fields(plate("MODEL AI-355"), WORDS)
    value = compare(unit(model=said("AI-350")), {"P1.JPG": PLATE, "P2.JPG": other}, mains_v=120).scalars["model"]
    assert value.reasons == ("the plate in P2.JPG reads AI-355", "the plate in P1.JPG reads AI-350, as was said")


def test_serial_nobody_spoke_is_offered_flagged() -> None:
    """A serial that only the plate has fills the blank with a reason and its photo as evidence."""
    value = compare(unit(), {"P1.JPG": PLATE}, mains_v=120).scalars["serial"]
    assert (value.value, value.rule) == ("14772", "plate")
    assert value.reasons == ("read from the plate in P1.JPG; nobody said it",)
    assert value.evidence == (Evidence("", 0.0, 0.0, "SERIAL NO. 14772", "P1.JPG"),)
    assert value.confidence <= 0.8


def test_serial_spoken_but_not_understood_is_found_on_the_plate() -> None:
    """A doubt about a blank serial turns into the plate's reading, and its reason is kept."""
    heard = Doubted("serial", "a serial was spoken of, but not understood", (SAID,))
    done = compare(UnitDraft("u1", doubts=(heard,)), {"P1.JPG": PLATE}, mains_v=120)
    assert done.doubts == ()
    assert done.scalars["serial"].reasons[1] == heard.reason
    assert SAID in done.scalars["serial"].evidence


def test_two_plates_two_serials_stay_a_question() -> None:
    """Different serials in two photos of one unit (a pair) fill nothing and are both listed."""
    other = read_fields(plate("SERIAL NO. 90001"), WORDS)
    done = compare(unit(), {"P1.JPG": PLATE, "P2.JPG": other}, mains_v=120)
    assert "serial" not in done.scalars
    doubt = next(d for d in done.doubts if d.field == "serial")
    assert doubt.alternatives == ("14772", "90001")


def test_mere_guess_fills_nothing() -> None:
    """A number without a label is listed as a doubt, never as a value, and never contradicts."""
    guess = read_fields(plate("MODEL AI-350", "120V~ 60Hz", "0099887"), WORDS)
    done = compare(unit(), {"P1.JPG": guess}, mains_v=120)
    assert "serial" not in done.scalars
    assert [d.alternatives for d in done.doubts] == [("0099887",)]
    assert compare(unit(serial=said("14772")), {"P1.JPG": guess}, mains_v=120).scalars["serial"] == said("14772")


def test_guess_that_says_what_was_said_confirms_it() -> None:
    """A number without a label that equals the spoken serial is no chance."""
    guess = read_fields(plate("MODEL AI-350", "0099887"), WORDS)
    value = compare(unit(serial=said("0099887", "two decodings disagree")), {"P1.JPG": guess}, mains_v=120).scalars[
        "serial"
    ]
    assert value.reasons == ()


def test_letters_that_look_like_digits_agree() -> None:
    """A serial spoken with a letter and read with the digit of the same look is the same serial."""
    read = read_fields(plate("SERIAL NO. B0412"), WORDS)
    value = compare(unit(serial=said("BO412")), {"P1.JPG": read}, mains_v=120).scalars["serial"]
    assert (value.value, value.reasons) == ("BO412", ())


def test_other_mains_is_a_caution() -> None:
    """A line voltage that does not suit the shop's mains puts a caution on the unit; one that does puts none."""
    done = compare(unit(), {"P1.JPG": PLATE}, mains_v=230)
    caution = next(d for d in done.doubts if d.field == "unit")
    assert caution.reason.startswith("caution: the plate in P1.JPG reads 120 V, the mains here is 230 V")
    assert "service manual" in caution.reason
    assert caution.evidence[0].photo == "P1.JPG"
    assert not [d for d in compare(unit(), {"P1.JPG": PLATE}, mains_v=120).doubts if d.field == "unit"]


def test_voltage_selector_is_a_caution_too() -> None:
    """A unit for several voltages may be set for another one than the shop's."""
    read = read_fields(plate("AC 110/120/220/240V 50/60Hz"), WORDS)
    assert ["selector" in d.reason for d in compare(unit(), {"P1.JPG": read}, mains_v=120).doubts] == [True]


def test_plate_helps_to_place_its_photo() -> None:
    """A photo whose plate names one unit's model is likelier that unit's; a plate that fits none says nothing."""
    drafts = [unit(model=said("AI-350")), UnitDraft("u2", scalars={"model": said("BX-2")})]
    assert list(seen_in(drafts, {"P1.JPG": PLATE, "P2.JPG": PlateReading()})) == ["P1.JPG"]
    assert seen_in(drafts, {"P1.JPG": PLATE})["P1.JPG"].keys() == {"u1"}


def test_photo_of_doubtful_unit_only_confirms() -> None:
    """A photo that may belong to another unit confirms, but neither contradicts nor fills a blank."""
    drafts = [unit(model=said("AI-350"), maker=said("Hollin"))]
    unsure = PhotoMatch("P1.JPG", "u1", 0.5, reasons=("two units are as likely",))
    sure = PhotoMatch("P1.JPG", "u1", 0.99)
    doubtful = with_plates(drafts, [unsure], {"P1.JPG": PLATE}, mains_v=230)[0]
    assert doubtful.scalars["model"].confidence > 0.95
    assert doubtful.scalars["maker"] == said("Hollin")
    assert doubtful.doubts == ()
    assert "serial" not in doubtful.scalars
    certain = with_plates(drafts, [sure], {"P1.JPG": PLATE}, mains_v=230)[0]
    assert {"serial", "model", "maker"} <= certain.scalars.keys()
    assert certain.scalars["maker"].reasons == ("the plate in P1.JPG reads Corvane",)


def test_settled_doubts_are_the_language_steps_own_words() -> None:
    """The doubts that a plate settles are spelled as the language step spells them."""
    from intake.language.identity import LIKE_MAKER, LIKE_MODEL, SEVERAL, UNKNOWN_MAKER, UNKNOWN_MODEL

    assert {LIKE_MAKER, LIKE_MODEL, SEVERAL, UNKNOWN_MAKER, UNKNOWN_MODEL} <= SETTLED


def test_a_plate_that_agrees_settles_every_reason_of_a_low_chance() -> None:
    """Whatever words a low chance is told in, the plate that says the same puts it to rest."""
    signals = ({"probability": 0.3}, {"replaced": 1.0}, {"nameless unit": 1.0}, {"rough": 0.9}, {})
    reasons = {why_unsure(s) for s in signals}
    assert reasons == UNSURE
    for reason in reasons:
        after = compare(unit(serial=said("14772", reason)), {"P1.JPG": PLATE}, mains_v=120)
        assert after.scalars["serial"].reasons == ()
