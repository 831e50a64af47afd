"""What a frame finds: a value for one field, with the words it stands on."""

from __future__ import annotations

from dataclasses import dataclass
from dataclasses import field as made
from typing import Any


@dataclass
class Fact:
    """A value at the words start..end for `field`; `reasons` say why a person should look."""

    field: str
    value: Any
    start: int
    end: int
    rule: str
    reasons: list[str] = made(default_factory=list)
    signals: dict[str, float] = made(default_factory=dict)
    alternatives: list[str] = made(default_factory=list)
    past: bool = False  # told as it once was (an issue that may have been put right)


@dataclass
class Tale:
    """All facts of one unit in the order they were told, with the clauses they come from."""

    unit: int
    clauses: list[int]
    facts: list[Fact] = made(default_factory=list)

    def of(self, *fields: str) -> list[Fact]:
        """The facts of these fields."""
        return [f for f in self.facts if f.field in fields]

    def drop(self, fact: Fact) -> None:
        """Take a fact back."""
        self.facts = [f for f in self.facts if f is not fact]
