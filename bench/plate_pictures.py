"""Draws photos of rear plates, fronts, boxes and plain things, with what they truly say.

Every maker, model and number is invented. A picture is drawn flat (a panel with its plate and
sockets), laid into a scene by a perspective, lit, blurred and made noisy, and saved as a camera would.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path
from random import Random

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

from intake.vocabulary.terms import ModelName, Vocabulary

SIZE, FAR_SIZE = (1800, 1350), (4032, 3024)
FONT_FOLDERS = (
    Path("/usr/share/fonts"),
    Path("/usr/local/share/fonts"),
    Path("/Library/Fonts"),
    Path("C:/Windows/Fonts"),
)
# Families for trying things out, and others that are kept for the figures that are reported.
TRY_FONTS = (
    "DejaVuSans",
    "DejaVuSans-Bold",
    "DejaVuSansCondensed-Bold",
    "DejaVuSansMono",
    "LiberationSans-Regular",
    "LiberationSans-Bold",
    "LiberationSansNarrow-Bold",
    "FreeSans",
    "FreeSansBold",
    "B612-Regular",
    "Roboto-Medium",
    "GilliusADF-Regular",
    "LiberationMono-Bold",
    "DejaVuSerif",
)
HELD_FONTS = (
    "OpenSans-Regular",
    "OpenSans-CondBold",
    "Lato-Medium",
    "Play-Regular",
    "Hack-Regular",
    "RobotoCondensed-Regular",
    "OCRB",
    "GNUTypewriter",
    "allerta_medium",
    "UniversalisADFStd-Regular",
    "Courier Prime Bold",
    "BebasNeue-Regular",
    "OSP-DIN",
    "LiberationSerif-Bold",
    "FreeMonoBold",
)

MODELS = {
    "Corvane": ("AI-350", "AI-355", "CT-12", "CP-80"),
    "Ostrellan": ("TX-4400", "TX-440", "RX-88"),
    "Quillmark": ("Q-2", "Q-20", "QD-515"),
    "Bramholt": ("Fiddler 14", "Fiddler 40", "BH-7 MK2", "BH-7"),
    "Tavisham": ("513", "530", "TV-100"),
    "Dunmarrow": ("9C", "19C", "9B"),
    "Silvaric": ("SV-220", "SV-2200", "Reeve 7"),
    "Kestelan": ("KD-505", "KD-550", "KD-515"),
    "Pevering": ("P-801", "P-80I", "PM-6"),
    "Yarrowgate": ("YG-31", "YG-33"),
    "Mundeford": ("MF-1000", "MF-100"),
    "Norlake & Fenn": ("NF-6", "NF-9"),
    "Hollin": ("H-12", "H-20", "H-2"),
    "Brantwick": ("BX-2", "BX-4"),
    "Brantwyke": ("BK-2", "BK-24"),
}
TYPES = (
    "STEREO INTEGRATED AMPLIFIER",
    "AM/FM STEREO TUNER",
    "STEREO RECEIVER",
    "DIRECT DRIVE TURNTABLE",
    "STEREO POWER AMPLIFIER",
    "COMPACT DISC PLAYER",
    "STEREO CASSETTE DECK",
    "PREAMPLIFIER",
    "",
)
VOLTS = (
    ("120V~ 60Hz", "120 V"),
    ("AC 120V 60Hz", "120 V"),
    ("220-240V~ 50Hz", "220-240 V"),
    ("AC 100V 50/60Hz", "100 V"),
    ("230V~50Hz", "230 V"),
    ("AC 110/120/220/240V 50/60Hz", "110/120/220/240 V"),
    ("117 VOLTS 60 CYCLES", "117 V"),
    ("120 V AC 60 Hz", "120 V"),
    ("AC~240V 50Hz", "240 V"),
    ("100-240V~ 50/60Hz", "100-240 V"),
    ("220V ~ 50Hz", "220 V"),
)
SERIAL_LABELS = (
    "SERIAL NO.",
    "SERIAL NO",
    "SERIAL",
    "S/N",
    "S/N:",
    "SER. NO.",
    "SERIAL NUMBER",
    "Serial No.",
    "SERIAL No.",
)
MODEL_LABELS = ("MODEL", "MODEL NO.", "MODEL NO", "Model:", "MODEL No.", "TYPE", "TYPE NO.")
EXTRAS = (
    "MADE IN SPAIN",
    "POWER CONSUMPTION 180W",
    "CAUTION: RISK OF ELECTRIC SHOCK",
    "DO NOT OPEN",
    "FUSE T2A 250V",
    "PAT. NO. 3,456,789",
    "FILE NO. E48231",
    "USE ONLY WITH A 250V FUSE",
    "4-16 OHMS",
    "NO USER SERVICEABLE PARTS INSIDE",
    "AVIS: RISQUE DE CHOC",
    "MANUFACTURED JUNE 1979",
    "CLASS II",
    "LISTED 512K",
    "DISTRIBUTED BY NORTH BAY AUDIO",
    "MAX 500W",
    "RATED LOAD 8 OHMS",
)


@dataclass
class Sheet:
    """One picture with its truth: the fields that stand on it, and what kind of picture it is."""

    name: str
    kind: str
    photo: bytes
    suffix: str
    orientation: int
    truth: dict[str, str] = field(default_factory=dict)


@dataclass
class Look:
    """How a picture is spoiled; drawn at random, `severe` in 0..1."""

    severe: float
    height: int  # of the small print, in pixels of the photo
    style: str  # "print", "engraved", "stamped"
    contrast: float
    angle: float
    tilt: float
    blur: float
    motion: float
    glare: float
    noise: float
    quality: int
    shift: float  # how far the picture is off its subject, as a share of the width; it may cut the plate
    cable: bool  # one hangs before it


def vocabulary() -> Vocabulary:
    """The invented makers and models, as a shop knows them."""
    return Vocabulary(makers=tuple(MODELS), models=tuple(ModelName(k, m) for k, ms in MODELS.items() for m in ms))


def fonts(names: tuple[str, ...]) -> tuple[Path, ...]:
    """The font files of those names that this machine has."""
    found = {p.stem: p for folder in FONT_FOLDERS if folder.is_dir() for p in sorted(folder.rglob("*.?tf"))}
    return tuple(found[n] for n in names if n in found)


def draw(seed: int, kind: str, faces: tuple[Path, ...]) -> Sheet:
    """The picture of that kind ("plate", "far", "rear", "front", "box", "tag", "plain") and seed.

    "far" is a plate in a photo of twelve megapixels, taken from two metres.
    """
    rng = Random(f"{kind}-{seed}")
    look = _look(rng, kind)
    truth: dict[str, str] = {}
    makers = {
        "plate": _plate_panel,
        "far": _plate_panel,
        "rear": _rear_panel,
        "front": _front_panel,
        "box": _box_panel,
        "tag": _tag_panel,
    }
    scene = (
        _plain_scene(rng)
        if kind == "plain"
        else _laid(rng, makers[kind](rng, look, faces, truth), look, FAR_SIZE if kind == "far" else SIZE)
    )
    scene = _spoiled(rng, scene, look)
    return Sheet(f"{kind}-{seed:04d}", kind, *_saved(rng, scene, look), truth)


# ---------------------------------------------------------------- what stands on things


def serial(rng: Random) -> str:
    """A serial number of the usual shapes."""
    digits = "".join(rng.choice("0123456789") for _ in range(rng.choice((5, 6, 6, 7, 8, 9))))
    letters = "".join(rng.choice("ABCDEFGHJKLMNPRSTUWXYZ") for _ in range(2))
    return rng.choice(
        (
            digits,
            digits,
            digits,
            letters[0] + digits,
            letters + digits,
            digits + letters[0],
            digits[:3] + letters[0] + digits[3:],
        )
    )


def _unit(rng: Random) -> tuple[str, str]:
    maker = rng.choice(tuple(MODELS))
    return maker, rng.choice(MODELS[maker])


def _plate_lines(rng: Random, truth: dict[str, str]) -> list[tuple[str, float]]:
    """Lines of a plate with their size against the small print; fills `truth`."""
    maker, model = _unit(rng)
    number = serial(rng)
    lines: list[tuple[str, float]] = []
    if rng.random() < 0.85:
        lines.append((maker.upper() if rng.random() < 0.7 else maker, rng.choice((1.4, 1.8, 2.4))))
        truth["maker"] = maker
    if kind := rng.choice(TYPES):
        lines.append((kind, rng.choice((0.8, 1.0))))
    shown = model.upper() if rng.random() < 0.85 else model
    if "MK2" in shown and rng.random() < 0.5:
        shown = shown.replace("MK2", "MK II")
    gap = rng.choice((" ", " ", "  ", "   "))
    if rng.random() < 0.9:
        lines.append((f"{rng.choice(MODEL_LABELS)}{gap}{shown}", 1.0))
        truth["model"] = model
    if rng.random() < 0.85:
        text, value = rng.choice(VOLTS)
        lines.append((text + rng.choice(("", "", "  180W", " 45W", " 0.8A")), 1.0))
        truth["line_voltage"] = value
    lines += [(e, rng.choice((0.7, 0.8, 1.0))) for e in rng.sample(EXTRAS, rng.randint(0, 3))]
    how = rng.random()
    if how < 0.75:
        lines.append((f"{rng.choice(SERIAL_LABELS)}{gap}{number}", rng.choice((1.0, 1.2))))
        truth["serial"] = number
    elif how < 0.85:
        lines += [(rng.choice(SERIAL_LABELS), 0.8), (number, 1.2)]
        truth["serial"] = number
    elif how < 0.93:
        lines.append((rng.choice(SERIAL_LABELS), 1.0))  # the label, and the number worn off
    if rng.random() < 0.2:
        lines.append(("MADE IN JAPAN", 0.8))
    return lines


def _font(rng: Random, faces: tuple[Path, ...], height: float) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(
        str(faces[rng.randrange(len(faces))]), max(8, round(height * 1.38))
    )  # capitals are about 0.72 of the size


def _colours(rng: Random, contrast: float) -> tuple[tuple[int, int, int], tuple[int, int, int]]:
    """Ground and ink."""
    base = rng.choice(
        ((24, 24, 26), (40, 38, 36), (180, 182, 184), (205, 205, 200), (235, 233, 225), (60, 62, 70), (150, 140, 110))
    )
    dark = sum(base) < 330
    step = (230 if dark else -220) * contrast
    ink = tuple(int(min(255, max(0, c + step))) for c in base)
    return base, (ink[0], ink[1], ink[2])


def _write(
    image: Image.Image,
    at: tuple[float, float],
    text: str,
    font: ImageFont.FreeTypeFont,
    ink: tuple[int, int, int],
    style: str,
    rng: Random,
) -> None:
    """A line of text: printed, engraved (a lit and a shaded edge) or stamped letter by letter."""
    pen = ImageDraw.Draw(image)
    corner = max(0, min(image.width - 1, int(at[0]))), max(0, min(image.height - 1, int(at[1])))
    ground = tuple(int(c) for c in np.asarray(image.crop((*corner, corner[0] + 1, corner[1] + 1)))[0, 0])
    if style == "engraved":
        shade = tuple(max(0, int(c * 0.55)) for c in ground)
        light = tuple(min(255, int(c * 1.25 + 40)) for c in ground)
        body = tuple(int(c * 0.86) for c in ground)
        for step, colour in ((-1.2, shade), (1.2, light), (0, body)):
            pen.text((at[0] + step, at[1] + step), text, font=font, fill=colour)
    elif style == "stamped":
        x = at[0]
        for letter in text:
            pen.text((x, at[1] + rng.uniform(-0.06, 0.06) * font.size), letter, font=font, fill=ink)
            x += font.getlength(letter) * rng.uniform(1.0, 1.08)
    else:
        pen.text(at, text, font=font, fill=ink)


def _sockets(
    rng: Random, image: Image.Image, look: Look, faces: tuple[Path, ...], ink: tuple[int, int, int], top: int
) -> None:
    """Rows of sockets with their labels, terminals, a fuse holder."""
    pen = ImageDraw.Draw(image)
    words = [
        "TAPE 1",
        "TAPE 2",
        "CD",
        "TUNER",
        "PHONO",
        "AUX",
        "GND",
        "LINE OUT",
        "PRE OUT",
        "MAIN IN",
        "L",
        "R",
        "REC",
        "PLAY",
        "ANTENNA",
        "300",
        "75",
        "SPEAKERS A",
        "SPEAKERS B",
        "8 OHMS",
        "FM",
        "AM",
        "FUSE T3.15A 250V",
        "IN",
        "OUT",
        "1",
        "2",
        "AC OUTLETS",
        "UNSWITCHED 100W",
    ]
    font = _font(rng, faces, look.height * 0.75)
    x, y = 30.0, float(top)
    while y < image.height - 90:
        r = rng.randint(12, 24)
        pen.ellipse((x, y + 22, x + 2 * r, y + 22 + 2 * r), fill=(120, 116, 100), outline=(20, 20, 20), width=5)
        word = rng.choice(words)
        _write(image, (x - 4, y), word, font, ink, "print", rng)
        x += max(3 * r + 20, font.getlength(word) + 24)
        if x > image.width - 120:
            x, y = 30.0, y + 110


def _panel(rng: Random, look: Look, wide: int, high: int) -> tuple[Image.Image, tuple[int, int, int]]:
    ground, ink = _colours(rng, look.contrast)
    image = Image.new("RGB", (wide, high), ground)
    if rng.random() < 0.4:  # brushed metal
        grain = np.random.default_rng(rng.getrandbits(32)).normal(0, 7, (high, 1, 1)) * np.ones((1, wide, 3))
        image = Image.fromarray(np.clip(np.asarray(image).astype(float) + grain, 0, 255).astype(np.uint8))
    return image, ink


def _put_lines(
    rng: Random,
    image: Image.Image,
    lines: list[tuple[str, float]],
    look: Look,
    faces: tuple[Path, ...],
    ink: tuple[int, int, int],
    at: tuple[int, int],
) -> None:
    """Lines under each other in one face; a long gap in a line stays as it is, as in a table."""
    face = (faces[rng.randrange(len(faces))],)
    y = float(at[1])
    inset = rng.choice((0, 0, 0, 14))
    for text, size in lines:
        font = _font(rng, face, look.height * size)
        _write(image, (at[0] + inset, y), text, font, ink, look.style, rng)
        y += look.height * size * rng.uniform(1.7, 2.2)


def _plate_panel(rng: Random, look: Look, faces: tuple[Path, ...], truth: dict[str, str]) -> Image.Image:
    """A rear panel with sockets and the plate: printed on the panel, or a sticker of its own."""
    lines = _plate_lines(rng, truth)
    panel, ink = _panel(rng, look, 1500, 900)
    wide = int(max(look.height * 1.38 * size * 0.68 * len(text) for text, size in lines)) + 60
    high = int(sum(look.height * size * 2.2 for _, size in lines)) + 60
    left, top = rng.randint(20, max(21, 1480 - wide)), rng.randint(10, max(11, 880 - high))
    if rng.random() < 0.5:
        _sockets(rng, panel, look, faces, ink, top=20)
    plate, plate_ink = _panel(rng, look, max(wide, 200), max(high, 120))
    if rng.random() < 0.5:
        ImageDraw.Draw(plate).rectangle((3, 3, plate.width - 4, plate.height - 4), outline=plate_ink, width=2)
    _put_lines(rng, plate, lines, look, faces, plate_ink, (24, 24))
    panel.paste(plate, (left, top))
    return panel


def _rear_panel(rng: Random, look: Look, faces: tuple[Path, ...], truth: dict[str, str]) -> Image.Image:
    """A rear with sockets and warnings, but no plate: no serial, no model, maybe the maker."""
    panel, ink = _panel(rng, look, 1500, 900)
    _sockets(rng, panel, look, faces, ink, top=240)
    lines = [(e, 1.0) for e in rng.sample(EXTRAS, rng.randint(1, 4))]
    if rng.random() < 0.4:
        truth["maker"] = rng.choice(tuple(MODELS))
        lines.insert(0, (truth["maker"].upper(), 1.8))
    _put_lines(rng, panel, lines, look, faces, ink, (40, 20))
    return panel


def _front_panel(rng: Random, look: Look, faces: tuple[Path, ...], truth: dict[str, str]) -> Image.Image:
    """A front: name and model in large letters, knobs with scales, a dial with numbers."""
    maker, model = _unit(rng)
    panel, ink = _panel(rng, look, 1600, 620)
    pen = ImageDraw.Draw(panel)
    small = _font(rng, faces, look.height * 0.7)
    if rng.random() < 0.8:
        truth["maker"] = maker
        _write(panel, (50, 30), maker, _font(rng, faces, look.height * 2), ink, look.style, rng)
    if rng.random() < 0.6:
        truth["model"] = model
        _write(
            panel,
            (50, 50 + look.height * 3.4),
            f"{rng.choice(('MODEL ', 'STEREO AMPLIFIER ', 'STEREO RECEIVER ')) if len(model) < 6 else ''}"
            f"{model.upper()}",
            _font(rng, faces, look.height * 1.1),
            ink,
            look.style,
            rng,
        )
    for i, x in enumerate(range(500, 1500, rng.choice((140, 180)))):
        r = rng.randint(34, 52)
        pen.ellipse((x, 420, x + 2 * r, 420 + 2 * r), fill=(130, 130, 132), outline=(10, 10, 10), width=4)
        word = ("VOLUME", "BASS", "TREBLE", "BALANCE", "SELECTOR", "MODE", "TAPE", "LOUDNESS", "TUNING")[
            (i + rng.randrange(9)) % 9
        ]
        _write(panel, (x - 6, 385), word, small, ink, "print", rng)
        for k, mark in enumerate(rng.choice((("0", "10"), ("MIN", "MAX"), ("-10", "+10"), ("1", "2", "3", "4", "5")))):
            _write(panel, (x - 30 + k * 34, 440 + 2 * r), mark, small, ink, "print", rng)
    scale = rng.choice(
        (
            ("88", "92", "96", "100", "104", "108", "MHz"),
            ("54", "60", "70", "80", "100", "120", "140", "160", "kHz"),
            ("-20", "-10", "-7", "-5", "-3", "0", "+3", "dB"),
            ("0.01", "0.1", "1", "10", "100", "WATTS"),
            (),
        )
    )
    for k, mark in enumerate(scale):
        _write(panel, (560 + k * 112, 270), mark, small, ink, "print", rng)
    return panel


def _box_panel(rng: Random, look: Look, faces: tuple[Path, ...], truth: dict[str, str]) -> Image.Image:
    """A carton or a shipping label: many numbers, none of them a serial."""
    panel, ink = _panel(rng, look, 1400, 950)
    n = "".join(rng.choice("0123456789") for _ in range(10))
    pool = [
        "FRAGILE",
        "THIS SIDE UP",
        f"QTY {rng.randint(1, 9)}",
        f"LOT NO. {n[:5]}",
        f"TEL 555-01{n[:2]}",
        f"PART NO. {n[:2]}-{n[2:6]}-A",
        "HANDLE WITH CARE",
        f"2019-0{rng.randint(1, 9)}-14",
        f"TRACKING {n}",
        f"ORDER NO. {n[:6]}",
        f"INVOICE {n[:7]}",
        f"{n[:3]} MAIN STREET",
        "NORTH BAY, 04417",
        f"WT. {rng.randint(4, 30)} KG",
        f"REF {n[:6]}",
        f"P/N {n[3:9]}",
        n,
        f"BATCH {n[2:7]}",
        f"CARTON {rng.randint(1, 9)} OF 12",
    ]
    _put_lines(
        rng,
        panel,
        [(t, rng.choice((1.0, 1.4, 2.0))) for t in rng.sample(pool, rng.randint(3, 8))],
        look,
        faces,
        ink,
        (60, 50),
    )
    if rng.random() < 0.6:
        pen, x = ImageDraw.Draw(panel), 700.0
        while x < 1250:
            wide = rng.choice((2, 4, 6))
            pen.rectangle((x, 700, x + wide, 830), fill=ink)
            x += wide + rng.choice((3, 5, 8))
    return panel


def _tag_panel(rng: Random, look: Look, faces: tuple[Path, ...], truth: dict[str, str]) -> Image.Image:
    """Tags and small things: a repair tag, a price, a tube, a fuse, a meter, a licence."""
    panel, ink = _panel(rng, look, 1300, 800)
    n = "".join(rng.choice("0123456789") for _ in range(9))
    pools = (
        ["REPAIR NO. " + n[:4], "CUSTOMER", "DATE 5/14", "PHONE 555-0142", "TICKET " + n[:5]],
        ["$" + n[:3] + ".00", "SOLD AS IS", "NO RETURNS", "SKU " + n[:6], "STOCK NO. " + n[:5]],
        ["EL34", "MADE IN GERMANY", "12AX7", n[:4], "ECC83", "6550A"],
        ["T2A 250V", "250V 5A", "FUSE", "SLO-BLO 3A 125V", "U.L."],
        [
            "PATENT NO. " + n[:7],
            "COMPLIES WITH PART 15",
            "MODEL YEAR 1978",
            "ISSUE NO. 44",
            "CAT. NO. " + n[:5],
            "DRAWING NO. " + n[:6],
        ],
        ["MODEL", "SERIAL NO.", "WARRANTY CARD", "DATE OF PURCHASE", "NAME", "ADDRESS " + n[:3] + " HILL ROAD"],
        ["DC 12V 1A", "OUTPUT 9V", "POLARITY", "5V 2A MAX", "INPUT", "USE ADAPTER AD-" + n[:2]],
    )
    _put_lines(
        rng,
        panel,
        [(t, rng.choice((1.0, 1.3, 1.8))) for t in rng.sample(list(rng.choice(pools)), 4)],
        look,
        faces,
        ink,
        (80, 60),
    )
    return panel


def _plain_scene(rng: Random) -> Image.Image:
    """No text at all: shelves, wood, blobs of light, cables."""
    gen = np.random.default_rng(rng.getrandbits(32))
    small = gen.uniform(20, 230, (rng.randint(3, 14), rng.randint(3, 18), 3)).astype(np.uint8)
    image = Image.fromarray(small).resize(
        (1600, 1200), rng.choice((Image.Resampling.BICUBIC, Image.Resampling.NEAREST))
    )
    pen = ImageDraw.Draw(image)
    for _ in range(rng.randint(0, 14)):
        x, y = rng.randint(0, 1600), rng.randint(0, 1200)
        box = (x, y, x + rng.randint(20, 600), y + rng.randint(20, 400))
        shade = tuple(rng.randint(0, 255) for _ in range(3))
        rng.choice((pen.rectangle, pen.ellipse))(
            box, fill=shade if rng.random() < 0.7 else None, outline=shade, width=rng.randint(1, 8)
        )
    for _ in range(rng.randint(0, 6)):
        pen.line(
            [(rng.randint(0, 1600), rng.randint(0, 1200)) for _ in range(5)],
            fill=(15, 15, 15),
            width=rng.randint(2, 14),
            joint="curve",
        )
    return image


# ---------------------------------------------------------------- how a photo spoils it


def _look(rng: Random, kind: str) -> Look:
    severe = rng.random() ** 0.75
    style = rng.choices(("print", "engraved", "stamped"), (0.7, 0.15, 0.15))[0]
    return Look(
        severe=severe,
        height=round(34 - 20 * severe * rng.uniform(0.5, 1)),
        style=style,
        contrast=1 - 0.72 * severe * rng.random(),
        angle=rng.gauss(0, 3 + 7 * severe),
        tilt=rng.uniform(0, 0.05 + 0.16 * severe),
        blur=rng.uniform(0.2, 0.6 + 1.9 * severe),
        motion=rng.uniform(0, 7) * severe if rng.random() < 0.35 else 0,
        glare=rng.uniform(0.3, 1) * severe if rng.random() < 0.5 else 0,
        noise=rng.uniform(1, 4 + 14 * severe),
        quality=rng.randint(45, 95),
        shift=rng.uniform(-0.35, 0.35) if rng.random() < 0.15 else 0.0,
        cable=rng.random() < 0.15,
    )


def _laid(rng: Random, panel: Image.Image, look: Look, size: tuple[int, int]) -> Image.Image:
    """The panel in the scene: turned, tilted away, with something behind it."""
    wide, high = size
    back = Image.fromarray(
        np.random.default_rng(rng.getrandbits(32)).uniform(30, 170, (4, 6, 3)).astype(np.uint8)
    ).resize(size, Image.Resampling.BICUBIC)
    scale = min(wide / panel.width, high / panel.height) * 0.98
    w, h = panel.width * min(1.0, scale), panel.height * min(1.0, scale)
    turn = np.deg2rad(look.angle)
    corners = np.array([[-w, -h], [w, -h], [w, h], [-w, h]]) / 2
    corners *= 1 - look.tilt * np.array([[rng.random(), rng.random()] for _ in range(4)])
    corners = corners @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + np.array(
        [wide * (0.5 + look.shift), high / 2]
    )
    source = np.array([[0, 0], [panel.width, 0], [panel.width, panel.height], [0, panel.height]], float)
    rows = []
    for (x, y), (u, v) in zip(corners, source, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
    data = np.linalg.solve(np.array(rows), source.reshape(8))
    warped = panel.transform(size, Image.Transform.PERSPECTIVE, tuple(data), Image.Resampling.BICUBIC)
    mask = Image.new("L", panel.size, 255).transform(
        size, Image.Transform.PERSPECTIVE, tuple(data), Image.Resampling.BILINEAR
    )
    back.paste(warped, (0, 0), mask)
    if look.cable:
        x, y = rng.uniform(0.2, 0.8) * wide, rng.uniform(0.2, 0.8) * high
        ends = [(x + rng.uniform(-0.3, 0.3) * wide, 0.0), (x, y), (x + rng.uniform(-0.3, 0.3) * wide, float(high))]
        ImageDraw.Draw(back).line(ends, fill=(18, 17, 20), width=round(rng.uniform(0.008, 0.03) * wide), joint="curve")
    return back


def _spoiled(rng: Random, image: Image.Image, look: Look) -> Image.Image:
    """Glare, blur, noise, as a hand-held phone in a shop sees it."""
    pixels = np.asarray(image).astype(np.float32)
    high, wide = pixels.shape[:2]
    if look.glare:
        y, x = np.mgrid[0:high, 0:wide].astype(np.float32)
        cx, cy, rx, ry = (
            rng.uniform(0.2, 0.8) * wide,
            rng.uniform(0.2, 0.8) * high,
            rng.uniform(90, 420),
            rng.uniform(60, 260),
        )
        spot = np.exp(-(((x - cx) / rx) ** 2 + ((y - cy) / ry) ** 2))[..., None]
        pixels = pixels + (255 - pixels) * np.clip(spot * look.glare * 1.15, 0, 1)
    pixels = pixels * np.linspace(rng.uniform(0.6, 1), rng.uniform(0.8, 1.1), wide, dtype=np.float32)[None, :, None]
    spoiled = Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8)).filter(ImageFilter.GaussianBlur(look.blur))
    if look.motion > 1:
        copies = [
            np.roll(np.asarray(spoiled).astype(np.float32), (round(i * rng.uniform(0, 0.4)), i), (0, 1))
            for i in range(round(look.motion))
        ]
        spoiled = Image.fromarray(np.mean(copies, axis=0).astype(np.uint8))
    noise = np.random.default_rng(rng.getrandbits(32)).normal(0, look.noise, (high, wide, 1))
    return Image.fromarray(np.clip(np.asarray(spoiled).astype(np.float32) + noise, 0, 255).astype(np.uint8))


# Exif Orientation -> how the pixels lie, as the inverse of what a viewer does (CIPA DC-008, tag 274).
_STORED = {1: None, 3: Image.Transpose.ROTATE_180, 6: Image.Transpose.ROTATE_90, 8: Image.Transpose.ROTATE_270}


def _saved(rng: Random, image: Image.Image, look: Look) -> tuple[bytes, str, int]:
    """The photo as a file: mostly JPEG, some turned with the tag, some turned without it, some HEIC."""
    orientation = rng.choices((1, 3, 6, 8), (0.6, 0.1, 0.2, 0.1))[0]
    step = _STORED[orientation]
    stored = image.transpose(step) if step is not None else image
    if orientation == 1 and rng.random() < 0.12:
        stored = stored.transpose(
            rng.choice((Image.Transpose.ROTATE_90, Image.Transpose.ROTATE_270, Image.Transpose.ROTATE_180))
        )
    out = BytesIO()
    if orientation == 1 and rng.random() < 0.15:
        from pillow_heif import register_heif_opener

        register_heif_opener()
        stored.save(out, "HEIF", quality=max(60, look.quality))
        return out.getvalue(), ".heic", 1
    exif = Image.Exif()
    exif[274] = orientation
    stored.save(out, "JPEG", quality=look.quality, exif=exif)
    return out.getvalue(), ".jpg", orientation
