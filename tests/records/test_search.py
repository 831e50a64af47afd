"""Units are found by what is known and what was said of them."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from intake.language.draft import Value
from intake.records import search
from intake.records.store import Store

from .builders import draft, heard, issue, walk


def fill(store: Store) -> None:
    store.save_walk(walk(), [
        draft("u1", 0, 20, maker="Corvane", model="AI-350", serial="K90213",
              issues=[Value(issue("volume control", "scratchy"), heard("crackles like a campfire", 5), 0.9)]),
        draft("u2", 20, 40, maker="Brunhölt", model="Q-14", location="shelf B2"),
        draft("u3", 40, 60, maker="Corvane", model="CP-12")])


@pytest.fixture(params=["with full text", "without"])
def shop(request: pytest.FixtureRequest, store: Store, monkeypatch: pytest.MonkeyPatch) -> Store:
    """Three units, with SQLite's full-text search and in an SQLite that lacks it."""
    if request.param == "without":
        monkeypatch.setattr(search, "_can_index", lambda session: False)
    fill(store)
    return store


@pytest.mark.parametrize(("asked", "found"), [
    ("corvane", ["U0001", "U0003"]), ("CORV", ["U0001", "U0003"]), ("corvane 350", ["U0001"]), ("ai350", ["U0001"]),
    ("AI-350", ["U0001"]), ("k90213", ["U0001"]), ("0213", ["U0001"]), ("brunholt", ["U0002"]), ("campfire", ["U0001"]),
    ("scratchy volume", ["U0001"]), ("shelf b2", ["U0002"]), ("corvane shelf", []), ("nothing", []), ("", []),
    ('"', []), ("a AND b OR (", []), ("%", [])])
def test_what_is_asked_is_found(shop: Store, asked: str, found: list[str]) -> None:
    """Case, accents and marks do not matter; each word must occur; a word's beginning or a part of it is enough."""
    assert sorted(unit.id for unit in shop.find(asked)) == found


def test_a_correction_is_found_at_once(shop: Store) -> None:
    """What was corrected is found, by the words once heard too; dropped units are not."""
    shop.set_field("U0003", "maker", "Dravik")
    shop.drop("U0002")
    assert [u.id for u in shop.find("dravik")] == ["U0003"]
    assert sorted(u.id for u in shop.find("corvane")) == ["U0001", "U0003"]
    assert shop.find("brunholt") == []


def test_what_was_written_without_the_index_is_found_with_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A database that a simpler SQLite wrote to is indexed when a fuller one opens it."""
    path = tmp_path / "intake.db"
    with monkeypatch.context() as simple:
        simple.setattr(search, "_can_index", lambda session: False)
        with Store.open(path) as store:
            fill(store)
    with Store.open(path) as store:
        assert [u.id for u in store.find("campf")] == ["U0001"]
        with store._engine.connect() as connection:
            assert connection.exec_driver_sql("SELECT count(*) FROM unit_text").scalar() == 3


def test_anything_may_be_asked(store: Store) -> None:
    """No question, whatever its letters, is an error."""
    fill(store)

    @settings(max_examples=60, deadline=None)
    @given(st.text(max_size=30))
    def ask(asked: str) -> None:
        assert len(store.find(asked)) <= 3

    ask()
