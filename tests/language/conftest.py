"""A cache of this run alone: what the tests make is not written into the user's."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path_factory.getbasetemp() / "cache"))
