"""Which stored sighting of a walk a unit of a new reading is: by the speech they share and by what they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from intake.language.draft import Span, UnitDraft

ENOUGH = 0.3
# What the fields that name a thing add when both sides have them: when they agree, when they do not.
IDENTITY = {"serial": (0.6, -0.3), "model": (0.2, -0.1), "maker": (0.1, -0.05), "unit_type": (0.1, -0.1)}


@dataclass(frozen=True)
class Known:
    """A stored sighting as far as pairing needs it; `values` holds each field's readings, a person's included."""

    key: int
    spans: tuple[Span, ...]
    values: Mapping[str, frozenset[Any]]


def pair(known: Sequence[Known], drafts: Sequence[UnitDraft]) -> dict[str, int]:
    """Draft id -> key of the stored sighting it is; one to one, the likeliest pairs first."""
    scored = [(likeness(one, draft), -number, one.key, draft.id)
              for number, one in enumerate(known) for draft in drafts]
    paired: dict[str, int] = {}
    for score, _, key, draft_id in sorted(scored, reverse=True):
        if score >= ENOUGH and draft_id not in paired and key not in paired.values():
            paired[draft_id] = key
    return paired


def likeness(one: Known, draft: UnitDraft) -> float:
    """How much a stored sighting and a draft are the same: shared speech counts up to 1, identity up to 1 more."""
    score = _shared(one.spans, draft.spans)
    for name, (agree, part) in IDENTITY.items():
        value = draft.scalars.get(name)
        if value is not None and value.value is not None and one.values.get(name):
            score += agree if value.value in one.values[name] else part
    return score


def _shared(one: Sequence[Span], other: Sequence[Span]) -> float:
    common = sum(max(0.0, min(a.end_s, b.end_s) - max(a.start_s, b.start_s))
                 for a in one for b in other if a.recording == b.recording)
    if common <= 0:
        return 0.0
    lengths = [sum(s.end_s - s.start_s for s in spans) for spans in (one, other)]
    return 0.5 * min(1.0, common / min(lengths)) + 0.5 * min(1.0, common / (sum(lengths) - common))
