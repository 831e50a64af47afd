"""The numbers matching runs on, read once from the data file beside this module."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Any


@dataclass(frozen=True)
class Coefficients:
    """Each table of coefficients.toml by its name; `with_changes` makes a variant for fitting."""

    shots: dict[str, Any] = field(default_factory=dict)
    pauses: dict[str, Any] = field(default_factory=dict)
    strays: dict[str, Any] = field(default_factory=dict)
    prior: dict[str, Any] = field(default_factory=dict)
    drift: dict[str, Any] = field(default_factory=dict)
    search: dict[str, Any] = field(default_factory=dict)
    posterior: dict[str, Any] = field(default_factory=dict)
    flags: dict[str, Any] = field(default_factory=dict)

    def with_changes(self, **changes: Any) -> Coefficients:
        """The same with single numbers replaced: `with_changes(shots__after_sd=3.0)`."""
        tables: dict[str, dict[str, Any]] = {name: dict(getattr(self, name)) for name in self.__dataclass_fields__}
        for name, value in changes.items():
            table, key = name.split("__", 1)
            if key not in tables[table]:
                raise KeyError(name)
            tables[table][key] = value
        return Coefficients(**tables)


@cache
def load() -> Coefficients:
    """The coefficients as shipped."""
    return Coefficients(**tomllib.loads(files(__package__).joinpath("coefficients.toml").read_text(encoding="utf-8")))
