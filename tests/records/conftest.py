"""A fresh database in memory for each test."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from intake.records.store import Store

from .builders import fresh_store


@pytest.fixture
def store() -> Iterator[Store]:
    with fresh_store() as opened:
        yield opened


@pytest.fixture(autouse=True)
def _somebody(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("INTAKE_PERSON", "ann")
