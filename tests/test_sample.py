"""The sample walk through the whole program: from its true words in the ordinary run, from sound in the slow one."""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[1]
SAMPLE = ROOT / "samples" / "2026-04-17-lantern-street"


@pytest.fixture(autouse=True)
def bench_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """Scorer and staging are programs of bench/, which import their neighbours by plain name."""
    monkeypatch.syspath_prepend(str(ROOT / "bench"))


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A shop that knows the sample's vocabulary, from its CSV file."""
    from intake.cli.shop import make_shop
    from intake.vocabulary.shopfile import import_vocabulary

    folder = tmp_path / "shop"
    make_shop(folder)
    assert import_vocabulary(SAMPLE / "vocabulary.csv", folder / "vocab").bad_rows == []
    return folder


def processed(shop: Path, capture: Path) -> tuple[dict[str, Any], Any]:
    """The export of the processed capture, and its score."""
    from intake.pipeline import process_walk
    from intake.records.export import record
    from intake.records.store import Store
    from intake.settings import load_settings
    from score import score_walks

    settings = load_settings(shop)
    process_walk([capture], settings)
    with Store.open(settings.database) as store:
        export = record(store, SAMPLE.name)
    return export, score_walks([(SAMPLE / "gold.json", export)])[SAMPLE.name]


def identities(export: dict[str, Any]) -> list[tuple[Any, Any]]:
    """Maker and model of each unit."""
    return [(unit["maker"], unit["model"]) for unit in export["units"]]


def doubts(export: dict[str, Any], unit: int) -> set[str]:
    """The fields of a unit that a person is asked to look at."""
    return {entry["field"].split(".")[0].split("[")[0] for entry in export["units"][unit]["review"]}


NAMES = [("Wrenfield", "WA-24"), ("Dunmarrow", "DT-9"), ("Aldersley", "F-26"), ("Castermere", "Beacon 3"),
         ("Bexhollow", "BC-500"), ("Marlstone", "EL84")]


def test_the_true_words_give_the_records(shop: Path, tmp_path: Path) -> None:
    """From the words of the script the sample gives its units with right names, doubts and photos."""
    from figures import summary
    from staging import BuiltWalk, stage_text

    export, walk = processed(shop, stage_text(BuiltWalk(SAMPLE), tmp_path))
    assert identities(export)[:6] == NAMES
    assert "model" in doubts(export, 1)
    assert "maker" in doubts(export, 4)
    rates = summary(walk.counts)
    assert rates["photo_accuracy"] == 1.0
    assert rates["headline_f1"] > 0.8, walk.errors


def test_coming_back_to_a_unit_makes_no_second_one(shop: Path, tmp_path: Path) -> None:
    """The turntable that the talk comes back to at the end is the one it has told of."""
    from staging import BuiltWalk, stage_text

    export, _ = processed(shop, stage_text(BuiltWalk(SAMPLE), tmp_path))
    assert identities(export) == NAMES


def test_a_capture_named_from_where_one_stands_is_found_from_anywhere(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The records know their files by whole paths, however the capture was named to `process`."""
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes" / "typed.txt").write_text("Next is a tuner, an Aldersley F-26.", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    from intake.pipeline import process_walk
    from intake.settings import load_settings

    process_walk([Path("notes")], load_settings(shop))
    with closing(sqlite3.connect(shop / "intake.db")) as database:
        paths = [Path(path) for (path,) in database.execute("SELECT path FROM file")]
    assert paths == [tmp_path / "notes" / "typed.txt"]


@pytest.mark.slow
def test_the_sound_gives_the_units(shop: Path, tmp_path: Path) -> None:
    """From sound, as a checkout leaves the files (without their times), at least five of the six units are found."""
    capture = tmp_path / SAMPLE.name
    shutil.copytree(SAMPLE / "capture", capture, copy_function=shutil.copyfile)
    export, walk = processed(shop, capture)
    assert walk.counts["units"]["matched"] >= 5, walk.errors
    assert export["walk"]["date"] == "2026-04-17"
    assert walk.counts["photos"]["right"] >= 6, walk.errors


def test_the_vocabulary_files_agree() -> None:
    """The sample's CSV and JSON hold the same makers, models and places as its answer key."""
    from intake.vocabulary.importing import Entry, read_entries

    key = json.loads((SAMPLE / "gold.json").read_text(encoding="utf-8"))["vocabulary"]
    listed = {(maker, model) for maker, models in key["models"].items() for model in models}
    for name in ("vocabulary.csv", "vocabulary.json"):
        entries = [entry for entry in read_entries(SAMPLE / name) if isinstance(entry, Entry)]
        assert {entry.fields[:2] for entry in entries if entry.what == "model"} == listed
        assert {entry.fields[0] for entry in entries if entry.what == "location"} == set(key["locations"])
