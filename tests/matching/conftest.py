"""Small walks for matching's tests, and the programs of bench/ that make random ones."""

from __future__ import annotations

import importlib
from pathlib import Path
from types import ModuleType

import pytest

BENCH = Path(__file__).resolve().parents[2] / "bench"


@pytest.fixture
def simulate(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """bench/simulate.py: random walks with known truth."""
    monkeypatch.syspath_prepend(str(BENCH))
    return importlib.import_module("simulate")


@pytest.fixture
def built(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """bench/built.py: built example walks with known truth."""
    monkeypatch.syspath_prepend(str(BENCH))
    return importlib.import_module("built")
