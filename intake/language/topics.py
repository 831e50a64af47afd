"""The units of a walk as they take shape: what names each, and which clauses are about it."""

from __future__ import annotations

from dataclasses import dataclass, field

from intake.language.names import Naming
from intake.language.numbers import is_mark, model_key
from intake.language.terms import Mention
from intake.vocabulary.tubes import is_known_tube


@dataclass
class Sketch:
    """A unit as it takes shape: its namings, the clauses about it, and whether it was only announced so far."""

    n: int
    namings: list[Naming] = field(default_factory=list)
    clauses: list[int] = field(default_factory=list)
    announced: bool = False
    group_maker: Mention | None = None  # "three pieces, all Halstrom"
    slot: bool = False  # one of several that were announced by their number, not come to yet

    def types(self) -> set[str]:
        sure = {m.canonical for n in self.namings for m in n.types if not m.ambiguous}
        unsure = {t for n in self.namings for m in n.types for t in (m.could_be or (m.canonical,))}
        return sure or unsure or ({"vacuum tube"} if any(is_known_tube(k) for k in self.model_keys()) else set())

    def makers(self) -> set[str]:
        own = {m.canonical for n in self.namings for m in n.makers}
        return own or ({self.group_maker.canonical} if self.group_maker else set())

    def model_keys(self) -> set[str]:
        hits = [h for n in self.namings for h in n.models if not is_mark(h.code)]
        return {h.code for h in hits if h.names or len(h.code) >= 3}


@dataclass
class Topics:
    """The units of a walk and, for every clause, the unit it is about (None: no unit)."""

    units: list[Sketch]
    of_clause: list[int | None]
    announced_in: dict[int, list[int]] = field(default_factory=dict)  # clause -> units it announces together
    grouped: set[int] = field(default_factory=set)  # clauses with facts for a whole place
    ignored: list[Naming] = field(default_factory=list)  # namings that are about no unit of the walk


def replace_names(unit: Sketch, naming: Naming) -> None:
    """A corrected name takes the place of what it corrects."""
    for earlier in unit.namings:
        if naming.models:
            earlier.models = []
        if naming.makers:
            earlier.makers = []
        if naming.types:
            earlier.types = []


def alike(a: str, b: str) -> bool:
    """The same model, or one the other's beginning ("TH60" and "TH60MK4")."""
    a, b = model_key(a), model_key(b)
    return (
        a == b
        or a.startswith(b)
        or b.startswith(a)
        or (len(a) >= 2 and b.endswith(a))
        or (len(b) >= 2 and a.endswith(b))
    )
