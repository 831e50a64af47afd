"""One shop with the example walks for all tests, copied for each; and who sits at the keyboard."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from intake.settings import Settings, load_settings

from .shops import BUILT, shop_of

WALKS = ["2026-01-12-first-shelf", "2026-01-13-tube-shelf"]


@pytest.fixture(autouse=True)
def _somebody(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("INTAKE_PERSON", "ann")


@pytest.fixture(scope="session")
def _two_walks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if not BUILT.is_dir():
        pytest.skip("the example walks are not beside this checkout")
    return shop_of(tmp_path_factory.mktemp("examples"), WALKS).shop


@pytest.fixture
def shop(_two_walks: Path, tmp_path: Path) -> Settings:
    """A shop with two example walks, read from their true words; this test's own."""
    return load_settings(Path(shutil.copytree(_two_walks, tmp_path / "shop")))
