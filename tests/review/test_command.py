"""`intake review` as a command."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner

from intake.cli import build
from intake.records.store import Store
from tests.records import builders

from .made import WALK, flagged, shop_with
from .shops import empty_shop


def test_without_a_terminal_it_says_what_to_use(tmp_path: Path) -> None:
    """A script that calls the review is told of the plain commands, and nothing hangs."""
    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker=flagged("Corvane", 1))])
    result = CliRunner().invoke(build(), ["--shop", str(settings.shop), "review"])
    assert result.exit_code != 0
    assert "needs a terminal" in str(result.exception) + result.output


def test_an_unknown_walk_or_unit_is_told(tmp_path: Path) -> None:
    """A wrong name is an error of ours, before any screen opens."""
    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker="Corvane")])
    for words in (["--walk", "nowhere"], ["U0999"], ["U0001", "--walk", WALK]):
        result = CliRunner().invoke(build(), ["--shop", str(settings.shop), "review", *words])
        assert result.exit_code != 0, words


def test_an_empty_shop_is_told(tmp_path: Path) -> None:
    """Before the first walk there is nothing to review, and the command says what to do."""
    settings = empty_shop(tmp_path / "shop")
    result = CliRunner().invoke(build(), ["--shop", str(settings.shop), "review"])
    assert "intake process" in result.output
    told = CliRunner().invoke(build(), ["--shop", str(settings.shop), "review", "--stats"])
    assert "Nothing was reviewed yet" in told.output


def test_the_figures_come_as_json_too(tmp_path: Path) -> None:
    """A program can read how well the flags point."""
    settings = shop_with(tmp_path / "shop", [builders.draft("u1", maker=flagged("Corvane", 1), stage="received")])
    with Store.open(settings.database) as store:
        store.set_field(f"{WALK}/u1", "maker", "Haldwick")
    result = CliRunner().invoke(build(), ["--shop", str(settings.shop), "review", "--stats", "--json"])
    data = json.loads(result.output)
    assert data["flags"] == [{"field": "maker", "raised": 1, "right": 1, "unflagged_wrong": 0}]
    assert data["proposed"] is None
