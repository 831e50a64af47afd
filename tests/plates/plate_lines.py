"""Lines of text as a reader of photos hands them on, laid out under each other."""

from __future__ import annotations

from intake.capture.plate_reader import PlateLine
from intake.vocabulary.terms import ModelName, Vocabulary

HIGH = 20.0

WORDS = Vocabulary(
    makers=("Corvane", "Brantwick", "Brantwyke", "Norlake & Fenn", "Hollin"),
    models=(
        ModelName("Corvane", "AI-350"),
        ModelName("Corvane", "AI-355"),
        ModelName("Corvane", "TX-440"),
        ModelName("Corvane", "TX-4400"),
        ModelName("Corvane", "513"),
        ModelName("Brantwick", "BX-2"),
        ModelName("Brantwick", "Fiddler 14"),
        ModelName("Hollin", "H-2"),
        ModelName("Hollin", "P-801"),
        ModelName("Hollin", "P-80I"),
        ModelName("Hollin", "SV-20 MK2"),
        ModelName("Hollin", "SV-20"),
    ),
)


def line(
    text: str,
    *,
    at: tuple[float, float] = (100, 100),
    sure: float = 0.99,
    second: str | None = "",
    more: tuple[bool, bool] = (False, False),
) -> PlateLine:
    """One line 20 high; `second` of "" means that the second reading (made for lines with digits) agrees."""
    x, y = at
    wide = 11.0 * len(text)
    if second == "":
        second = text if any(c.isdigit() for c in text) else None
    return PlateLine(
        text, sure, ((x, y), (x + wide, y), (x + wide, y + HIGH), (x, y + HIGH)), (sure,) * len(text), second, *more
    )


def plate(*texts: str) -> tuple[PlateLine, ...]:
    """Lines under each other, all of them sure."""
    return tuple(line(text, at=(100, 100 + 34.0 * n)) for n, text in enumerate(texts))
