"""A shop of its own for each test, and a cache that no other run sees."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.terms import Vocabulary


@pytest.fixture(autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path_factory.getbasetemp() / "cache"))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop folder with an empty vocab folder."""
    (tmp_path / "shop" / "vocab").mkdir(parents=True)
    return tmp_path / "shop"


@pytest.fixture(scope="session")
def trade() -> Vocabulary:
    """The words shipped with the program."""
    return load_vocabulary(None)
