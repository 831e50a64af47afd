"""What the language step hands on: units whose every value knows the words it came from."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

#: The reason of a value that two readings of the sound give differently.
DISAGREE = "two decodings disagree"
SCALARS = ("unit_type", "maker", "model", "serial", "quantity", "grouping", "location", "stage", "source", "cosmetic")
LISTS = ("issues", "service", "actions", "accessories", "measurements")


@dataclass(frozen=True)
class Evidence:
    """The words behind a value: which recording, from when to when (seconds), and the words as heard.

    Words read from a photo have its file name in `photo`, no recording ("") and no times (0).
    """

    recording: str
    start_s: float
    end_s: float
    words: str
    photo: str | None = None


@dataclass(frozen=True)
class Value:
    """One value of a field.

    `value` is a str, int, or for list fields the contract's dict. `confidence` is the chance
    that it is right, 0..1. `reasons` say why a person should look (empty: nobody needs to).
    `alternatives` are other readings, likeliest first. `rule` names what set it. `signals`
    are the numbers that `confidence` was made from.
    """

    value: Any
    evidence: tuple[Evidence, ...] = ()
    confidence: float = 1.0
    reasons: tuple[str, ...] = ()
    alternatives: tuple[str, ...] = ()
    rule: str = ""
    signals: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Doubted:
    """A blank field a person should look at all the same (a serial was spoken of but not understood)."""

    field: str
    reason: str
    evidence: tuple[Evidence, ...] = ()
    alternatives: tuple[str, ...] = ()


@dataclass(frozen=True)
class Span:
    """A stretch of one recording, in seconds, that is about one unit."""

    recording: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class UnitDraft:
    """One unit as understood from one walk. `scalars` holds only filled fields."""

    id: str  # "u1", "u2", ... in order of first mention
    scalars: dict[str, Value] = field(default_factory=dict)
    issues: tuple[Value, ...] = ()
    service: tuple[Value, ...] = ()
    actions: tuple[Value, ...] = ()
    accessories: tuple[Value, ...] = ()
    measurements: tuple[Value, ...] = ()
    doubts: tuple[Doubted, ...] = ()
    spans: tuple[Span, ...] = ()  # where it is talked about, in order of time
    named_at: tuple[tuple[str, float], ...] = ()  # (recording, second) of each naming by type, maker or model
    same_as_hint: str | None = None  # words that say it was here before ("the same one as last time")
