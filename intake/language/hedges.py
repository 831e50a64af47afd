"""Which values the speaker was unsure of: a hedge before the value, or one in the clause behind that has no value of its own."""

from __future__ import annotations

from collections.abc import Mapping

from intake.language.frames.facts import Fact, Tale
from intake.language.reading import Reading

_IDENTITY = ("unit_type", "maker", "model", "serial", "source", "cosmetic", "stage", "location")
_LISTS = ("service", "actions", "accessories", "measurements")
_FAR = 14


def hedge(reading: Reading, tale: Tale, facts: Mapping[str, Fact]) -> dict[int, str]:
    """id(fact) -> the hedging words, for the facts a hedge reaches. Issues show their doubt in their state instead."""
    candidates = [f for name, f in facts.items() if name in _IDENTITY] + [f for f in tale.facts if f.field in _LISTS]
    out: dict[int, str] = {}
    for c in tale.clauses:
        clause = reading.clauses[c]
        for hit in reading.cues_in(clause.start, clause.end, "hedged"):
            fact = _hedged_fact(reading, hit.start, hit.end, hit.cue.reach, candidates, tale)
            if fact is not None:
                out[id(fact)] = hit.cue.phrase
    return out


def _hedged_fact(reading: Reading, start: int, end: int, reach: str, candidates: list[Fact], tale: Tale) -> Fact | None:
    """The one value a hedge is about: the nearest after it in its sentence, else the nearest before it."""
    sentence = reading.text.sentence_at(start)
    issues = [f for f in tale.of("issues") if f.value["state"] == "suspected" and end <= f.start < sentence.end]
    if reach in ("forward", "both"):
        after = sorted((f for f in candidates if end <= f.start < min(sentence.end, end + _FAR)), key=lambda f: f.start)
        if issues and (not after or issues[0].start <= after[0].start):
            return None
        if after:
            return after[0]
        return None
    clause = reading.clause_at(start)
    inside = sorted((f for f in candidates if clause.start <= f.start and f.end <= start), key=lambda f: -f.end)
    if inside:
        return inside[0]
    own = [f for f in candidates if end <= f.start < clause.end]
    if own:
        return None
    before = sorted(
        (f for f in candidates if sentence.start <= f.start and f.end <= start and start - f.end <= _FAR + 6),
        key=lambda f: -f.end,
    )
    if before:
        return before[0]
    if start - sentence.start <= 3:
        earlier = sorted(
            (f for f in candidates if f.end <= sentence.start and sentence.start - f.end <= 2), key=lambda f: -f.end
        )
        return earlier[0] if earlier else None
    return None
