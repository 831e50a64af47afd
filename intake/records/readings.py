"""A draft as the store takes it: checked values, field by field; and drafts joined or cut in two."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from dataclasses import field as made
from typing import Any

from intake.language.draft import LISTS, SCALARS, Doubted, Evidence, Span, UnitDraft, Value
from intake.records.types import WHOLE
from intake.records.values import Terms, ValueRefused, checked


@dataclass(frozen=True)
class Reading:
    """One value as the machine reads it, fit for a table. `value` None: a blank that is asked about."""

    field: str
    value: Any
    confidence: float = 1.0
    reasons: tuple[str, ...] = ()
    alternatives: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    rule: str = ""
    signals: dict[str, float] = made(default_factory=dict)


def readings(draft: UnitDraft, terms: Terms, refused: list[str]) -> list[Reading]:
    """Every value of a draft, checked; one that the record has no place for is a doubt, told in `refused`."""
    out: dict[str, Reading] = {}
    for name in SCALARS:
        if name in draft.scalars:
            out[name] = _reading(draft, name, draft.scalars[name], terms, refused)
    items = [_reading(draft, name, value, terms, refused)
             for name in LISTS for value in getattr(draft, name)]
    for doubt in draft.doubts:
        if doubt.field in SCALARS:
            out[doubt.field] = _with_doubt(out.get(doubt.field), doubt)
        else:
            items.append(_doubt(doubt))
    for name in set(draft.scalars) - set(SCALARS):
        items.append(_doubt(Doubted(name, f"read as {draft.scalars[name].value!r}")))
    return [out[name] for name in SCALARS if name in out] + items


def _reading(draft: UnitDraft, name: str, value: Value, terms: Terms, refused: list[str]) -> Reading:
    reading = Reading(
        field=name, value=None, confidence=share(value.confidence), reasons=_texts(value.reasons),
        alternatives=_texts(value.alternatives), evidence=tuple(value.evidence), rule=value.rule,
        signals={key: float(number) for key, number in value.signals.items() if math.isfinite(number)},
    )
    if value.value is None:
        return replace(reading, reasons=reading.reasons or ("left blank",))
    try:
        return replace(reading, value=checked(name, value.value, terms))
    except ValueRefused as error:
        refused.append(f"{draft.id} {name}: {error}")
        return replace(reading, reasons=(*reading.reasons, f"not used: {error}"),
                       alternatives=(str(value.value), *reading.alternatives))


def _with_doubt(reading: Reading | None, doubt: Doubted) -> Reading:
    if reading is None:
        return _doubt(doubt)
    return replace(reading, reasons=_texts((*reading.reasons, doubt.reason)),
                   alternatives=_texts((*reading.alternatives, *doubt.alternatives)),
                   evidence=reading.evidence + tuple(e for e in doubt.evidence if e not in reading.evidence))


def _doubt(doubt: Doubted) -> Reading:
    known = doubt.field in SCALARS + LISTS + WHOLE
    reason = doubt.reason if known else f"{doubt.field}: {doubt.reason}"
    return Reading(field=doubt.field if known else "unit", value=None, confidence=0.0,
                   reasons=(reason or "not understood",), alternatives=_texts(doubt.alternatives),
                   evidence=tuple(doubt.evidence), rule="doubt")


def _texts(texts: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(str(text) for text in texts if text))


def share(number: float) -> float:
    """A confidence brought between 0 and 1; what is no number counts as 0."""
    return min(1.0, max(0.0, float(number))) if math.isfinite(number) else 0.0


# ---- what people did to the units of a walk, done again to a new reading


def join(first: UnitDraft, second: UnitDraft) -> UnitDraft:
    """Two drafts that a person said are one unit: the first's scalars win, the other's are doubts beside them."""
    scalars = dict(first.scalars)
    for name, value in second.scalars.items():
        held = scalars.get(name)
        if held is None:
            scalars[name] = value
        elif held.value != value.value:
            scalars[name] = replace(
                held, reasons=(*held.reasons, differ(held.value, value.value)),
                alternatives=(*held.alternatives, str(value.value)))
    lists: dict[str, Any] = {name: _union(getattr(first, name), getattr(second, name)) for name in LISTS}
    return replace(
        first, scalars=scalars, doubts=first.doubts + second.doubts, spans=first.spans + second.spans,
        named_at=first.named_at + second.named_at, same_as_hint=first.same_as_hint or second.same_as_hint, **lists)


def differ(one: Any, other: Any) -> str:
    """The reason put where two joined records contradict each other."""
    return f"the two records that were joined differ: {one!s} and {other!s}"


def _union(first: tuple[Value, ...], second: tuple[Value, ...]) -> tuple[Value, ...]:
    known = [value.value for value in first]
    return first + tuple(value for value in second if value.value not in known)


def cut(draft: UnitDraft, is_after: Callable[[str, float], bool]) -> tuple[UnitDraft, UnitDraft]:
    """A draft in two: what was said before a moment, and from it on (`is_after(recording, second)`).

    A value goes where its first words are. The place carries over, as it does between units.
    """
    def late(evidence: tuple[Evidence, ...]) -> bool:
        return bool(evidence) and is_after(evidence[0].recording, evidence[0].start_s)

    head: dict[str, Value] = {}
    tail: dict[str, Value] = {}
    for name, value in draft.scalars.items():
        (tail if late(value.evidence) else head)[name] = value
    if "location" in head:
        tail.setdefault("location", head["location"])
    parts: list[Mapping[str, Any]] = []
    for wanted in (False, True):
        parts.append({
            **{name: tuple(v for v in getattr(draft, name) if late(v.evidence) is wanted) for name in LISTS},
            "doubts": tuple(d for d in draft.doubts if late(d.evidence) is wanted),
            "named_at": tuple(n for n in draft.named_at if is_after(*n) is wanted),
        })
    before, after = cut_spans(draft.spans, is_after)
    return (replace(draft, scalars=head, spans=before, **parts[0]),
            replace(draft, scalars=tail, spans=after, same_as_hint=None, **parts[1]))


def cut_spans(spans: Sequence[Span],
              is_after: Callable[[str, float], bool]) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
    """Stretches before and after a moment; one that holds it is cut there."""
    before, after = [], []
    for span in spans:
        if is_after(span.recording, span.start_s):
            after.append(span)
        elif not is_after(span.recording, span.end_s):
            before.append(span)
        else:
            at = _border(span, is_after)
            before.append(replace(span, end_s=at))
            after.append(replace(span, start_s=at))
    return tuple(before), tuple(after)


def _border(span: Span, is_after: Callable[[str, float], bool]) -> float:
    low, high = span.start_s, span.end_s
    for _ in range(40):  # halving finds the moment to well under a microsecond
        middle = (low + high) / 2
        low, high = (low, middle) if is_after(span.recording, middle) else (middle, high)
    return round(high, 3)
