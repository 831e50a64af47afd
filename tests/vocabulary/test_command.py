"""`intake vocab`: each part does its work, tells it to a person and to a program, and fails with a clear word."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from intake.cli import common, vocab
from intake.errors import IntakeError, NotFoundError, ShopError, UsageError
from intake.settings import CONFIG_NAME, CONFIG_TEXT


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    (tmp_path / "vocab").mkdir()
    (tmp_path / CONFIG_NAME).write_text(CONFIG_TEXT, encoding="utf-8")
    return tmp_path


def run(shop: Path | None, *words: str) -> Result:
    app = typer.Typer()
    app.callback()(common.remember_shop)
    vocab.register(app)
    named = ["--shop", str(shop)] if shop else []
    return CliRunner().invoke(app, [*named, "vocab", *words])


def failure(shop: Path | None, *words: str) -> IntakeError:
    found = run(shop, *words).exception
    assert isinstance(found, IntakeError)
    return found


def test_import_tells_what_it_did(shop: Path) -> None:
    """One line for a good file; a bad row is named and the exit code tells."""
    (shop / "good.csv").write_text("maker,model\nCorvane,AI-350\n", encoding="utf-8")
    (shop / "bad.csv").write_text("maker,model\n,AI-350\nDravik,743\n", encoding="utf-8")
    good, bad = run(shop, "import", str(shop / "good.csv")), run(shop, "import", str(shop / "bad.csv"))
    assert (good.exit_code, good.stdout) == (0, "good.csv: 2 added, 0 already there.\n")
    assert bad.exit_code == 3
    assert "line 2: model 'AI-350' has no maker" in bad.stdout
    again = json.loads(run(shop, "import", str(shop / "good.csv"), "--json").stdout)
    assert (again["added"], again["already"], again["bad_rows"]) == (0, 1, [])


@pytest.mark.parametrize("words", [
    ("maker", "Corvane"), ("model", "Corvane", "AI-350", "--type", "integrated amp"), ("place", "shelf B2"),
    ("term", "part", "tape counter"),
])
def test_add_and_remove(shop: Path, words: tuple[str, ...]) -> None:
    """What is added is listed, is there the second time, and can be taken away again."""
    named = words[:words.index("--type")] if "--type" in words else words
    assert run(shop, "add", *words).stdout.startswith("Added")
    assert run(shop, "add", *words).stdout.startswith("Already there")
    assert named[-1] in run(shop, "list").stdout
    assert run(shop, "remove", *named).stdout.startswith("Removed")
    assert isinstance(failure(shop, "remove", *named), NotFoundError)


def test_aliases(shop: Path) -> None:
    """An alias is added for a known name and shows in `test` with its reason."""
    run(shop, "add", "maker", "Haldwick")
    assert run(shop, "add", "alias", "hull would", "maker", "Haldwick").exit_code == 0
    assert "maker Haldwick - taught by the shop" in run(shop, "test", "the hull would tuner").stdout


@pytest.mark.parametrize("words", [
    ("add", "colour", "red"), ("add", "model", "Corvane"), ("add", "maker", "Corvane", "--type", "tuner"),
    ("remove", "colour", "red"), ("list", "colour"),
])
def test_wrong_words_are_told_with_an_example(shop: Path, words: tuple[str, ...]) -> None:
    """A command whose words make no sense says how it should look."""
    assert isinstance(failure(shop, *words), UsageError)
    assert failure(shop, *words).hint


def test_test_shows_forms_and_sounds(shop: Path) -> None:
    """Spoken forms and sound-alikes come with their words and why; as JSON with scores."""
    run(shop, "add", "model", "Thorncross", "TH-60")
    shown = run(shop, "test", "a foreign cross with a scratchy volume pot").stdout
    assert "'foreign cross': maker Thorncross? sounds like it (0." in shown
    assert "'volume pot': part volume control - the trade's word" in shown
    found = json.loads(run(shop, "test", "a foreign cross", "--json").stdout)["found"]
    assert found[0]["canonical"] == "Thorncross"
    assert (found[0]["start"], found[0]["end"]) == (1, 3)
    assert found[0]["score"] > .7


def test_spoken_text_is_shown_as_it_is(shop: Path) -> None:
    """Brackets in a text are text, never markup."""
    assert json.loads(run(shop, "test", "[bold] lamp [/]", "--json").stdout)["text"] == "[bold] lamp [/]"


def test_check_finds_mistakes_and_tells_by_exit_code(shop: Path) -> None:
    """A clean shop is 0; a mistake is 1 and is named."""
    assert run(shop, "check").exit_code == 0
    (shop / "vocab" / "aliases.txt").write_text("hull would | maker | Haldwick\n", encoding="utf-8")
    found = run(shop, "check")
    assert found.exit_code == 1
    assert "hull would" in found.stdout
    assert json.loads(run(shop, "check", "--json").stdout)["ok"] is False


def test_list_of_a_kind(shop: Path) -> None:
    """A kind of the trade lists its terms with their forms; unsure ones carry a question mark."""
    shown = run(shop, "list", "cosmetic").stdout
    assert "mint" in shown
    assert "good?" in shown
    assert run(shop, "list").stdout.startswith("The shop has no words of its own yet")
    assert {entry["kind"] for entry in json.loads(run(shop, "list", "side", "--json").stdout)} == {"side"}


def test_export_comes_back(shop: Path, tmp_path: Path) -> None:
    """The exported file imports into another shop as the same words."""
    run(shop, "add", "model", "Corvane", "AI-350")
    out = tmp_path / "words.json"
    assert run(shop, "export", "-o", str(out)).stdout.endswith("1 makers, 1 models, 0 places.\n")
    assert json.loads(out.read_text(encoding="utf-8")) == json.loads(run(shop, "export").stdout)


def test_without_a_shop(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """`test`, `check` and `list` show the shipped words outside a shop; what changes a shop needs one."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("INTAKE_SHOP", raising=False)
    assert "part lamp" in run(None, "test", "a lamp").stdout
    assert isinstance(failure(None, "add", "maker", "Corvane"), ShopError)
    assert isinstance(failure(tmp_path / "none", "check"), ShopError)


def test_every_part_has_help() -> None:
    """Each part says what it does."""
    for part in ("import", "add", "remove", "check", "test", "list", "export"):
        shown = run(None, part, "--help")
        assert shown.exit_code == 0
        assert len(shown.stdout) > 200
