"""What can go wrong with the file is told in plain words, and connections are set as the records need them."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import event
from sqlalchemy.exc import IntegrityError

from intake.errors import RecordsError
from intake.records.store import Store

from .builders import draft, walk
from .test_save import dump


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A database with one walk."""
    made = tmp_path / "intake.db"
    with Store.open(made) as store:
        store.save_walk(walk(), [draft("u1", maker="Corvane")])
    return made


def test_every_connection_is_set(path: Path) -> None:
    """Foreign keys are on, the log is written ahead, and each change reaches the disk before it is reported."""
    with Store.open(path) as store, store._engine.connect() as connection:
        settings = [connection.exec_driver_sql(f"PRAGMA {name}").scalar()
                    for name in ("foreign_keys", "journal_mode", "synchronous", "busy_timeout")]
    assert settings == [1, "wal", 2, 10000]


def test_what_was_kept_is_there_for_the_next(path: Path) -> None:
    """A second opening reads what the first wrote."""
    with Store.open(path) as store:
        assert store.unit("U0001").value("maker") == "Corvane"


def test_another_programs_database_is_not_touched(tmp_path: Path) -> None:
    """A SQLite file with other tables is refused and left as it is."""
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE invoice (id INTEGER)")
    connection.close()
    with pytest.raises(RecordsError, match="other tables"):
        Store.open(other)


@pytest.mark.parametrize("content", [b"this is a letter, not a database\n" * 200, b"\x00" * 5000])
def test_a_file_that_is_no_database(tmp_path: Path, content: bytes) -> None:
    """Any other file is refused by name and left as it is."""
    letter = tmp_path / "letter.db"
    letter.write_bytes(content)
    with pytest.raises(RecordsError, match=r"letter\.db"):
        Store.open(letter)
    assert letter.read_bytes() == content


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """A missing folder is told as such."""
    with pytest.raises(RecordsError, match="cannot be opened"):
        Store.open(tmp_path / "nowhere" / "intake.db")
    with pytest.raises(RecordsError, match="folder, not a database"):
        Store.open(tmp_path)


def test_a_full_disk_loses_nothing(path: Path) -> None:
    """When the disk is full the change is refused in plain words and nothing of it is kept."""
    with Store.open(path) as store:
        before = dump(store)

        @event.listens_for(store._engine, "begin")
        def _full(connection: object) -> None:
            connection.exec_driver_sql("PRAGMA max_page_count = 1")  # type: ignore[attr-defined]  # no more pages

        store._engine.dispose()
        big = walk("big", problems=())
        with pytest.raises(RecordsError, match="disk is full"):
            store.save_walk(big, [draft(f"u{n}", maker="x" * 3000) for n in range(1, 40)])
        assert dump(store) == before


def test_a_file_that_may_only_be_read(path: Path) -> None:
    """Reading goes on, writing says what is missing."""
    with Store.open(path) as store:
        @event.listens_for(store._engine, "begin")
        def _read_only(connection: object) -> None:
            connection.exec_driver_sql("PRAGMA query_only = ON")  # type: ignore[attr-defined]  # as on a read-only disk

        assert store.unit("U0001").value("maker") == "Corvane"
        with pytest.raises(RecordsError, match="may not be written"):
            store.set_field("U0001", "maker", "Corbane")


def test_a_writer_that_does_not_end(path: Path) -> None:
    """While another program writes, reading goes on; writing waits, then says so."""
    with sqlite3.connect(path, isolation_level=None) as other, Store.open(path, busy_s=0.05) as store:
        other.execute("BEGIN IMMEDIATE")
        assert store.unit("U0001").value("maker") == "Corvane"
        with pytest.raises(RecordsError, match="another program"):
            store.set_field("U0001", "maker", "Corbane")
        other.execute("ROLLBACK")
        store.set_field("U0001", "maker", "Corbane")
    other.close()


@pytest.mark.parametrize("statement", [
    "INSERT INTO sighting (walk_id, local_id, position, unit_id, origin, present, linked, link_confidence) "
    "VALUES ('nowhere', 'u1', 1, 'U0001', 'x', 1, 'own', 1)",
    "UPDATE entry SET confidence = 1.5", "UPDATE entry SET field = 'colour'", "UPDATE entry SET reasons = NULL",
    "UPDATE entry SET decision = 'accepted'", "UPDATE sighting SET local_id = 'x1'", "UPDATE unit SET id = 'banana'",
    "DELETE FROM unit", "UPDATE sighting SET decision = 'merged', decided_by = 'x'", "UPDATE entry SET number = 3"])
def test_the_schema_itself_refuses_nonsense(store: Store, statement: str) -> None:
    """What may not be is refused by the database, whoever writes to it."""
    store.save_walk(walk(), [draft("u1", maker="Corvane")])
    with store._engine.connect() as connection, pytest.raises(IntegrityError):
        connection.exec_driver_sql(statement)
