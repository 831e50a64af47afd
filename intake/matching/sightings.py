"""Units of a walk against units on file: seen before, new, or a question.

A serial decides: the same serial is the same unit, another serial another one. Where a serial is
missing on either side the other fields are weighed (Fellegi and Sunter), but belief alone never
makes it sure: without a serial the speaker must say that it is the same one, and only one unit on
file may fit. So two pieces of one model stay two, and a doubtful pair goes to a person.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import log2
from typing import Any

from intake.language.draft import UnitDraft
from intake.matching import compare
from intake.matching.compare import Agreement
from intake.matching.types import Candidate, KnownUnit, Sighting

WEIGHED = ("serial", "model", "maker", "unit_type", "location", "quantity")


@cache
def load_weights() -> dict[str, Any]:
    """The weights and limits, from the data file beside this module."""
    data: dict[str, Any] = tomllib.loads(files(__package__).joinpath("sightings.toml").read_text(encoding="utf-8"))
    return data


@dataclass(frozen=True)
class Comparison:
    """A draft against one unit on file: how each field compares, and the weight of all in bits."""

    known: KnownUnit
    fields: dict[str, Agreement]
    bits: float
    points: tuple[str, ...]

    @property
    def excluded(self) -> bool:
        """True where the serials say that these are two things."""
        return self.fields["serial"] is Agreement.NONE

    def agrees(self, *names: str) -> bool:
        """True where all these fields agree fully."""
        return all(self.fields[name] is Agreement.FULL for name in names)

    def differs(self, *names: str) -> bool:
        """True where one of these fields differs."""
        return any(self.fields[name] is Agreement.NONE for name in names)


def find_earlier(
    drafts: Sequence[UnitDraft], known_units: Sequence[KnownUnit], *, weights: Mapping[str, Any] | None = None,
) -> dict[str, Sighting]:
    """For every draft whether its unit is on file; no unit on file is surely two of a walk's drafts.

    `known_units` must not hold what this very walk put on file.
    """
    w = weights or load_weights()
    chances = _Chances(known_units, w)
    compared = {d.id: [chances.compare(d, k) for k in known_units] for d in drafts}
    found = {d.id: _judge(d, compared[d.id], chances) for d in drafts}
    taken = _taken(found, compared)
    for d in drafts:
        if found[d.id].verdict == "sure" and taken.get(found[d.id].known or "") != d.id:
            found[d.id] = _contested(found[d.id])
        elif found[d.id].verdict == "ask" and any(c.known in taken for c in found[d.id].candidates):
            left = [c for c in compared[d.id] if taken.get(c.known.id, d.id) == d.id]
            found[d.id] = _judge(d, left, chances)
    return found


def links(found: Mapping[str, Sighting]) -> tuple[dict[str, tuple[str, float]],
                                                  dict[str, list[tuple[str, float, tuple[str, ...]]]]]:
    """The same as two plain tables: draft -> (unit, chance) where sure, draft -> [(unit, chance, reasons)] to ask."""
    sure = {d: (s.known, s.confidence) for d, s in found.items() if s.verdict == "sure" and s.known is not None}
    ask = {d: [(c.known, c.chance, (*s.reasons, *c.points)) for c in s.candidates]
           for d, s in found.items() if s.verdict == "ask" and s.candidates}
    return sure, ask


class _Chances:
    """The weights, with the chance of agreeing by accident counted among the units on file."""

    def __init__(self, known: Sequence[KnownUnit], w: Mapping[str, Any]) -> None:
        self.w, self.size = w, max(1, len(known))
        self.limits: dict[str, float] = w["limits"]
        self.alike = tuple(frozenset(group) for group in w["alike"]["types"])
        self.seen = {name: Counter(compare.plain(getattr(k, name)) for k in known if getattr(k, name))
                     for name in ("maker", "model", "unit_type", "location")}

    def compare(self, draft: UnitDraft, known: KnownUnit) -> Comparison:
        """Weigh one draft against one unit on file."""
        fields = {name: self._agreement(name, draft, known) for name in WEIGHED}
        bits = sum(self._bits(name, fields[name], _text(draft, name)) for name in WEIGHED)
        bits += self._bits("hint", Agreement.FULL if draft.same_as_hint else Agreement.NONE, "")
        return Comparison(known, fields, bits, tuple(_points(draft, known, fields)))

    def _agreement(self, name: str, draft: UnitDraft, known: KnownUnit) -> Agreement:
        own = _text(draft, name)
        if name == "quantity":
            count = known.quantity
            return Agreement.OPEN if own is None or count is None else \
                Agreement.FULL if int(own) == count else Agreement.NONE
        other = getattr(known, name)
        best = self._compared(name, own, other)
        if best in (Agreement.NONE, Agreement.OPEN) and name in ("serial", "model", "maker"):
            value = draft.scalars.get(name)
            heard = value.alternatives if value is not None else ()
            if any(self._compared(name, a, other) is Agreement.FULL for a in heard):
                return Agreement.NEAR
        return best

    def _compared(self, name: str, a: str | None, b: str | None) -> Agreement:
        if name == "unit_type":
            return compare.types(a, b, self.alike)
        by = {"serial": compare.serials, "model": compare.models, "maker": compare.names, "location": compare.places}
        return by[name](a, b)

    def _bits(self, name: str, agreement: Agreement, value: str | None) -> float:
        f = self.w["fields"][name]
        if agreement is Agreement.OPEN:
            return 0.0
        if agreement is Agreement.NEAR:
            return float(f["near"])
        u = f["u"]
        if agreement is Agreement.NONE:
            return log2((1 - f["m"]) / (1 - u))
        if name in self.seen and value:
            share = (self.seen[name][compare.plain(value)] + 0.5) / (self.size + 10)
            u = min(0.6, max(share, u / 10))
        return log2(f["m"] / u)

    def shares(self, compared: Sequence[Comparison]) -> list[float]:
        """The chance of each unit on file of being the one; what is left over is the chance of being new."""
        seen = self.w["prior"]["seen_before"]
        odds = [seen / self.size * 2 ** min(c.bits, 60.0) if not c.excluded else 0.0 for c in compared]
        total = sum(odds) + (1 - seen)
        return [o / total for o in odds]


def _text(draft: UnitDraft, name: str) -> str | None:
    value = draft.scalars.get(name)
    return str(value.value) if value is not None and value.value is not None else None


def _points(draft: UnitDraft, known: KnownUnit, fields: Mapping[str, Agreement]) -> list[str]:
    """What speaks for and against, in words."""
    out = []
    for name, agreement in fields.items():
        label = name.replace("unit_type", "type")
        if agreement is Agreement.FULL and name != "quantity":
            out.append(f"same {label}")
        elif agreement in (Agreement.NEAR, Agreement.NONE):
            out.append(f"{label} {_text(draft, name)} here, {getattr(known, name)} on file")
    if draft.same_as_hint:
        out.append(f'said: "{draft.same_as_hint}"')
    return out


def _judge(draft: UnitDraft, compared: Sequence[Comparison], chances: _Chances) -> Sighting:
    shares = chances.shares(compared)
    order = sorted(range(len(compared)), key=lambda i: (-shares[i], compared[i].known.id))
    limits = chances.limits
    floor = limits["ask_named"] if draft.same_as_hint else limits["ask"]
    likely = [i for i in order if shares[i] >= floor or _close_serial(compared[i])][:int(limits["candidates"])]
    candidates = tuple(Candidate(compared[i].known.id, round(shares[i], 4), compared[i].points) for i in likely)
    if not likely:
        if draft.same_as_hint:
            return Sighting(draft.id, "ask", reasons=("said to have been here before, but no unit on file fits",))
        return Sighting(draft.id, "new", confidence=round(1 - sum(shares), 4))
    best = compared[likely[0]]
    rivals = [shares[i] for i in order if i != likely[0] and not compared[i].differs("maker", "model", "unit_type")]
    chance = shares[likely[0]] / (shares[likely[0]] + sum(rivals) + 1 - sum(shares))
    if _is_sure(draft, best, chance, max(rivals, default=0.0), limits):
        return Sighting(draft.id, "sure", best.known.id, round(shares[likely[0]], 4), candidates[:1])
    return Sighting(draft.id, "ask", best.known.id, round(shares[likely[0]], 4), candidates,
                    _why_ask(draft, best, len(likely)))


def _close_serial(c: Comparison) -> bool:
    """A serial that is off by one mark is worth a question, unless the model is plainly another."""
    return c.fields["serial"] is Agreement.NEAR and not c.differs("model", "maker")


def _is_sure(draft: UnitDraft, c: Comparison, chance: float, second: float, limits: Mapping[str, float]) -> bool:
    """`chance` and `second` leave out units that plainly differ; a model that is itself in doubt proves nothing."""
    if chance < limits["sure"] or second > limits["rival"] or c.differs("maker", "model", "unit_type"):
        return False
    if c.fields["serial"] is Agreement.FULL:
        return len(compare.plain(_text(draft, "serial"))) >= 3 or c.agrees("model")
    model = draft.scalars.get("model")
    return (c.fields["serial"] is Agreement.OPEN and bool(draft.same_as_hint) and c.agrees("model", "maker")
            and model is not None and not model.reasons)


def _why_ask(draft: UnitDraft, c: Comparison, many: int) -> tuple[str, ...]:
    if c.fields["serial"] is Agreement.NEAR:
        return (f"the serial differs in one place: {_text(draft, 'serial')} here, {c.known.serial} on file",)
    if c.fields["serial"] is Agreement.FULL:
        return ("the serial is on file, but maker, model or type differ",)
    if many > 1:
        return ("several units on file fit",)
    return ("it may be the one on file; no serial proves it",)


def _taken(found: Mapping[str, Sighting], compared: Mapping[str, Sequence[Comparison]]) -> dict[str, str]:
    """Unit on file -> the draft that surely is it; where two claim it, the one with the serial, else none."""
    claims: dict[str, list[str]] = {}
    for draft, s in found.items():
        if s.verdict == "sure" and s.known is not None:
            claims.setdefault(s.known, []).append(draft)
    out = {}
    for known, drafts in claims.items():
        proved = [d for d in drafts if any(c.known.id == known and c.agrees("serial") for c in compared[d])]
        pick = drafts if len(drafts) == 1 else proved
        out[known] = pick[0] if len(pick) == 1 else ""
    return out


def _contested(s: Sighting) -> Sighting:
    return Sighting(s.draft, "ask", s.known, s.confidence, s.candidates,
                    ("another record of this walk is taken for the same unit",))
