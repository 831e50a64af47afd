"""`intake model` and `intake doctor` as a user meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from intake.cli import common, model
from intake.errors import ModelError

HEAD = b"\x06\0\0\0\x0c\0WhisperSpec\0"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("INTAKE_MODELS", str(tmp_path / "models"))
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path / "cache"))
    folder = tmp_path / "shop"
    folder.mkdir()
    (folder / "config.toml").write_text("# a shop\n")
    return folder


def weights(folder: Path) -> Path:
    folder.mkdir(parents=True)
    for name in ("config.json", "tokenizer.json"):
        (folder / name).write_text("{}")
    (folder / "model.bin").write_bytes(HEAD)
    return folder


def run(*args: str) -> Result:
    app = typer.Typer()
    app.callback()(common.remember_shop)
    model.register(app)
    return CliRunner().invoke(app, args)


def test_using_a_folder_of_ones_own_changes_the_shops_setting(shop: Path, tmp_path: Path) -> None:
    """It says that the hash is not one we know, and the next look shows that folder."""
    folder = weights(tmp_path / "own [model]")
    used = run("model", "use", str(folder), "--shop", str(shop))
    assert used.exit_code == 0
    assert "hash not known to us" in used.stdout
    facts = json.loads(run("model", "--json", "--shop", str(shop)).stdout)
    assert (facts["folder"], facts["verified"], facts["model"]) == (str(folder), False, "own [model]")


def test_missing_weights_are_one_clear_error(shop: Path) -> None:
    """It says which, where they were looked for, and what to run."""
    result = run("model", "--shop", str(shop))
    assert isinstance(result.exception, ModelError)
    assert "intake model fetch" in str(result.exception)


def test_doctor_says_what_is_wrong_and_goes_on(shop: Path) -> None:
    """One missing thing does not hide the state of the others; the exit code tells."""
    result = run("doctor", "--json", "--shop", str(shop))
    assert result.exit_code == 1
    report = json.loads(result.stdout)
    state = {check["check"]: check["ok"] for check in report["checks"]}
    assert state == {"model": False, "sound": True, "photos": True, "database": True, "words": True, "disk": True}
    assert "intake model fetch" in report["checks"][0]["text"]


def test_doctor_is_content_where_all_is_there(shop: Path, tmp_path: Path) -> None:
    """The last line says it in plain words."""
    weights(tmp_path / "own")
    run("model", "use", str(tmp_path / "own"), "--shop", str(shop))
    result = run("doctor", "--shop", str(shop))
    assert result.exit_code == 0
    assert result.stdout.splitlines()[-1] == "This machine can do the job."


def test_unknown_names_are_refused_with_the_known_ones(shop: Path) -> None:
    """A typing error is no download."""
    result = run("model", "fetch", "bse")
    assert isinstance(result.exception, ModelError)
    assert "base, tiny.en" in str(result.exception)
