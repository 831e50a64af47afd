"""What the text of a photo is taken for: fields read, and what is never read."""

from __future__ import annotations

import pytest
from plate_lines import WORDS, line, plate

from intake.capture.plate_reader import PlateLine
from intake.matching.plate_numbers import suits, volts
from intake.matching.plates import PlateReading, read_fields


def fields(reading: PlateReading) -> dict[str, str]:
    return {r.field: r.value for r in reading.accepted}


def offered(reading: PlateReading, name: str) -> list[str]:
    return [r.value for r in reading.candidates if r.field == name]


def test_a_plate_gives_all_four_fields() -> None:
    """A plain plate is read whole, and each reading knows its line."""
    reading = read_fields(
        plate("CORVANE", "STEREO AMPLIFIER", "MODEL NO. AI-350", "120V~ 60Hz 180W", "SERIAL NO. 14772"), WORDS
    )
    assert fields(reading) == {"maker": "Corvane", "model": "AI-350", "serial": "14772", "line_voltage": "120 V"}
    assert reading.serial is not None
    assert reading.serial.words == "SERIAL NO. 14772"
    assert reading.serial.confidence > 0.9


@pytest.mark.parametrize(
    "text",
    [
        "SERIAL NO. 14772",
        "Serial No: 14772",
        "S/N 14772",
        "S/N: 14772",
        "SER. NO. 14772",
        "SERIAL NUMBER 14772",
        "SERIAL 14772",
        "SERIALNO14772",
        "SER1AL N0. 14772",
        "SERIAI NO 14772",
        "SERIEN-NR. 14772",
        "MODEL AI-350 SERIAL NO. 14772",
        "SERIAL NO. 14-772",
    ],
)
def test_serial_labels(text: str) -> None:
    """A serial stands after its label, however that is worded, run together or misread."""
    assert fields(read_fields(plate(text), WORDS))["serial"] == "14772"


@pytest.mark.parametrize(
    "text",
    [
        "PART NO. 14772",
        "LOT NO. 14772",
        "MODEL 14772",
        "INVOICE 1477200",
        "PAT. NO. 3,456,789",
        "STOCK NO. 14772",
        "TEL 555-0142",
        "FILE NO. E48231",
        "88 92 96 100 104 108 MHz",
        "SERIES 500",
        "SERIAL PORT RS232",
        "14772",
        "$450.00",
        "2019-06-14",
        "SERIAL NO.",
        "No. 14772",
        "TRACKING 0012345678",
        "SERIAL NO. 120V 60Hz",
    ],
)
def test_no_serial_is_invented(text: str) -> None:
    """Numbers under other labels, dials, prices, dates and bare labels are no serials."""
    assert read_fields(plate(text), WORDS).serial is None


def test_value_beside_or_under_its_label() -> None:
    """The value may stand in a column of its own, or under its label; what stands nearest counts."""
    beside = (line("SERIAL NO.", at=(100, 100)), line("14772", at=(260, 101)), line("MADE IN SPAIN", at=(100, 134)))
    under = (line("SERIAL NO.", at=(100, 100)), line("14772", at=(102, 130)), line("99887", at=(102, 164)))
    for lines in (beside, under):
        assert fields(read_fields(lines, WORDS)).get("serial") == "14772"


def test_worn_off_serial_takes_no_neighbour() -> None:
    """A label whose number is gone does not take the words or the power that stand under it."""
    reading = read_fields(plate("SERIAL NO.", "MADE IN SPAIN", "180W"), WORDS)
    assert reading.serial is None
    assert offered(reading, "serial") == []


@pytest.mark.parametrize(
    ("given", "why"),
    [
        (line("SERIAL NO. 14772", second="SERIAL NO. 14777"), "two readings differ"),
        (line("SERIAL NO. 1477", second="SERIAL NO. 14772"), "two readings differ"),
        (line("SERIAL NO. 14772", sure=0.5), "unclear characters"),
        (line("SERIAL NO. A0O772"), "a letter that looks like a digit"),
        (line("SERIAL NO. 14772", more=(False, True)), "more may be hidden beside it"),
        (line("SERIAL NO. 14 772"), "in parts"),
    ],
)
def test_doubtful_serials_are_only_offered(given: PlateLine, why: str) -> None:
    """Where anything speaks against a serial it is offered with the reason, never taken."""
    reading = read_fields((given,), WORDS)
    assert reading.serial is None
    assert [r.how for r in reading.candidates] == [why]


def test_what_is_hidden_before_a_label_does_no_harm() -> None:
    """Something before the label hides no digit of the serial; before a number that stands alone it may."""
    assert fields(read_fields((line("SERIAL NO. 14772", more=(True, False)),), WORDS)) == {"serial": "14772"}
    under = (line("SERIAL NO.", at=(100, 100)), line("14772", at=(102, 130), more=(True, False)))
    assert read_fields(under, WORDS).serial is None


def test_two_serials_cancel_each_other() -> None:
    """Two labelled serials in one picture are two units: neither is taken, both are offered."""
    reading = read_fields(plate("SERIAL NO. 14772", "SERIAL NO. 90001"), WORDS)
    assert reading.serial is None
    assert sorted(offered(reading, "serial")) == ["14772", "90001"]


def test_lone_number_is_offered_only_on_a_plate() -> None:
    """A number without a label is offered where a plate is seen around it, and ignored on a box."""
    assert offered(read_fields(plate("MODEL AI-350", "120V~ 60Hz", "0014772"), WORDS), "serial") == ["0014772"]
    assert offered(read_fields(plate("FRAGILE", "0014772"), WORDS), "serial") == []


@pytest.mark.parametrize(
    ("texts", "model"),
    [
        (("MODEL AI-350",), "AI-350"),
        (("MODEL NO. A1-350",), "AI-350"),
        (("TYPE AI-35O",), "AI-350"),
        (("MODELAI-350",), "AI-350"),
        (("MODEL NOAI-350",), "AI-350"),
        (("MODEL", "AI-350"), "AI-350"),
        (("AI-350",), "AI-350"),
        (("AI 350",), "AI-350"),
        (("STEREO RECEIVER TX-4400",), "TX-4400"),
        (("MODEL H-2",), "H-2"),
        (("MODEL 513",), "513"),
        (("FIDDLER 14",), "Fiddler 14"),
        (("MODEL SV-20 MK II",), "SV-20 MK2"),
        (("MODEL AI-350 SERIAL NO. 14772",), "AI-350"),
    ],
)
def test_models(texts: tuple[str, ...], model: str) -> None:
    """Models are known by their characters; look-alikes, lost blanks and marks written otherwise do no harm."""
    assert fields(read_fields(plate(*texts), WORDS)).get("model") == model


@pytest.mark.parametrize(
    "texts",
    [
        ("H-2",),
        ("513",),
        ("54 60 70 513",),
        ("MODEL AI-350B",),
        ("MODEL AI-350 B",),
        ("MODEL AI-360",),
        ("MODEL SV-20 SE",),
        ("MODEL P-801",),
        ("AI-350", "AI-355"),
        ("MODEL AI-360", "AI-350"),
        ("FOR USE WITH AI-350",),
        ("BRANTWICK", "MODEL AI-350"),
        ("MODEL",),
        ("MODEL YEAR 1978",),
    ],
)
def test_no_model_is_invented(texts: tuple[str, ...]) -> None:
    """Short names on knobs, versions the vocabulary lacks, look-alikes, two models, another maker's: none is taken."""
    assert read_fields(plate(*texts), WORDS).model is None


def test_digits_of_a_model_must_agree() -> None:
    """A model one digit away from a known one is offered as read, never taken for the known one."""
    reading = read_fields(plate("MODEL AI-358"), WORDS)
    assert reading.model is None
    assert offered(reading, "model") == ["AI-358"]


@pytest.mark.parametrize(
    ("text", "maker"),
    [
        ("CORVANE", "Corvane"),
        ("Corvane Ltd", "Corvane"),
        ("C0RVANE", "Corvane"),
        ("NORLAKE & FENN", "Norlake & Fenn"),
        ("BRANTWICK", "Brantwick"),
        ("DISTRIBUTED BY HOLLIN", None),
        ("CORVUS", None),
        ("BRANTW1YK", None),
        ("HOLL", None),
    ],
)
def test_makers(text: str, maker: str | None) -> None:
    """Makers bear a misread letter, unless another maker is as near; a distributor is none."""
    assert fields(read_fields(plate(text), WORDS)).get("maker") == maker


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("120V~ 60Hz", "120 V"),
        ("AC 100V 50/60Hz", "100 V"),
        ("220-240V~ 50Hz", "220-240 V"),
        ("220 - 240 V AC", "220-240 V"),
        ("AC 110/120/220/240V 50/60Hz", "110/120/220/240 V"),
        ("117 VOLTS 60 CYCLES", "117 V"),
        ("AC~240V 50Hz 45W", "240 V"),
        ("12OV 6OHz", None),
        ("I20V~ 60Hz", "120 V"),
        ("120VAC", "120 V"),
        ("100-240V~", "100-240 V"),
        ("LINE VOLTAGE 230V", "230 V"),
        ("FUSE T2A 250V", None),
        ("T3.15A 250V AC OUTLETS", None),
        ("USE ONLY WITH A 250V FUSE", None),
        ("DC 12V", None),
        ("MAX 500W", None),
        ("120", None),
        ("120V", None),
        ("128V~ 60Hz", None),
        ("40-240V~ 50Hz", None),
        ("OUTPUT 100V", None),
        ("70V 100V LINE OUT", None),
    ],
)
def test_line_voltage(text: str, value: str | None) -> None:
    """Line voltage needs a mains voltage with AC, ~ or Hz beside it; fuses, outputs and misread numbers are none."""
    assert fields(read_fields(plate(text), WORDS)).get("line_voltage") == value


@pytest.mark.parametrize(
    ("value", "mains", "fits"),
    [
        ("120 V", 120, True),
        ("110 V", 120, True),
        ("117 V", 120, True),
        ("100 V", 120, False),
        ("220-240 V", 120, False),
        ("220 V", 230, True),
        ("240 V", 230, True),
        ("120 V", 230, False),
        ("100-240 V", 230, True),
        ("110/220 V", 230, True),
        ("100 V", 230, False),
    ],
)
def test_what_suits_the_mains(value: str, mains: int, fits: bool) -> None:
    """Nominal voltages within ten percent count as the same mains (IEC 60038: 230 V +/-10 %; from memory)."""
    assert suits(value, mains) is fits
    assert all(low <= high for low, high in volts(value))


def test_turned_plate_reads_alike() -> None:
    """Label and value find each other whichever way the picture is turned."""

    def turned(given: PlateLine) -> PlateLine:
        a, b, c, d = ((1000 - y, x) for x, y in given.box)
        return PlateLine(given.text, given.confidence, (a, b, c, d), given.sure, given.second)

    lines = (
        line("SERIAL NO.", at=(100, 100)),
        line("14772", at=(102, 130)),
        line("MODEL", at=(100, 200)),
        line("H-2", at=(190, 200)),
    )
    assert (
        fields(read_fields(tuple(map(turned, lines)), WORDS))
        == fields(read_fields(lines, WORDS))
        == {"serial": "14772", "model": "H-2"}
    )
