"""Words for the screen: spoken and typed text made safe to show, times, values as a person says them."""

from __future__ import annotations

import unicodedata
from typing import Any

from intake.records.export import in_words

_TURNING = "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def plain(text: object) -> str:
    """Text without what could steer the terminal or turn the line around; line breaks become blanks."""
    return "".join(" " if letter in "\n\r\t\u2028\u2029" else
                   "\ufffd" if letter in _TURNING or unicodedata.category(letter) in ("Cc", "Cs") else letter
                   for letter in str(text))


def clock(seconds: float) -> str:
    """Seconds into a recording as minutes: 66.04 -> "1:06.0"."""
    tenths = round(max(0.0, seconds) * 10)
    return f"{tenths // 600}:{tenths % 600 // 10:02d}.{tenths % 10}"


def value_text(field: str, value: Any) -> str:
    """A value as a person would say it; "(blank)" for none."""
    if value is None:
        return "(blank)"
    if isinstance(value, dict):
        try:
            return plain(in_words(field, value))
        except KeyError:                       # a part is missing: shown as it stands
            return plain(", ".join(f"{key} {part}" for key, part in value.items() if part is not None))
    return plain(value)


def cut(text: str, width: int) -> str:
    """At most so many letters, the last an ellipsis where some are left out."""
    return text if len(text) <= width else text[: max(0, width - 1)] + "…"
