"""The tables are brought up to date whole or not at all, on a copy's safety."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlmodel import SQLModel

from intake.errors import NewerDatabaseError, RecordsError
from intake.records import tables
from intake.records.database import make_engine
from intake.records.migrate import HEAD, STEPS, bring_up_to_date
from intake.records.store import Store

from .builders import draft, walk

NEXT = '''
"""A step for tests."""
import sqlalchemy as sa
from alembic import op
revision = "9001"
down_revision = "0001"

def upgrade():
    op.create_table("extra", sa.Column("id", sa.Integer, primary_key=True))
    with op.batch_alter_table("unit") as unit:
        unit.add_column(sa.Column("shelf_mark", sa.String, nullable=True))
    op.execute("INSERT INTO extra VALUES (1)")
    {last}
'''


def test_the_newest_step_is_the_one_the_program_wants() -> None:
    """HEAD is the only head of the steps, and each step's file is named after it."""
    config = Config()
    config.set_main_option("script_location", str(STEPS))
    config.set_main_option("path_separator", "newline")
    steps = ScriptDirectory.from_config(config)
    assert steps.get_heads() == [HEAD]
    for step in steps.walk_revisions():
        assert Path(step.path).name.startswith(f"v{step.revision}_")


def test_the_steps_make_the_tables_that_the_program_knows(tmp_path: Path) -> None:
    """A migrated database has the columns, keys, indexes and checks of the table classes."""
    engine = make_engine(tmp_path / "a.db")
    bring_up_to_date(engine, tmp_path / "a.db")
    with engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), SQLModel.metadata) == []
    fresh = make_engine(":memory:")
    SQLModel.metadata.create_all(fresh)
    assert made(engine) == made(fresh)
    assert tables.EntryRow.__tablename__ in {name for name, _ in made(fresh)}


def made(engine: Any) -> dict[tuple[str, str], frozenset[str]]:
    """Each table and index as the set of its lines, order aside."""
    with engine.connect() as connection:
        found = connection.exec_driver_sql(
            "SELECT name, type, sql FROM sqlite_master WHERE type IN ('table', 'index') AND sql IS NOT NULL "
            "AND name NOT LIKE 'unit_text%' AND name NOT LIKE 'sqlite%' AND name <> 'alembic_version'").fetchall()
    return {(name, kind): frozenset(line.strip().rstrip(",").replace("\t", " ") for line in sql.splitlines())
            for name, kind, sql in found}


def step(folder: Path, last: str) -> Path:
    """A folder with one more step, whose last line is given."""
    folder.mkdir()
    (folder / "v9001_next.py").write_text(NEXT.format(last=last), encoding="utf-8")
    return folder


@pytest.fixture
def old(tmp_path: Path) -> Path:
    """A database of today's version with a unit in it."""
    path = tmp_path / "intake.db"
    with Store.open(path) as store:
        store.save_walk(walk(), [draft("u1", maker="Corvane")])
    return path


def test_a_step_that_works_keeps_the_records(old: Path, tmp_path: Path) -> None:
    """A further step runs, the records are there, foreign keys are on again, and a whole copy lies beside the file."""
    engine = make_engine(old)
    copy = bring_up_to_date(engine, old, more_steps=[step(tmp_path / "more", "pass")], head="9001")
    with engine.connect() as connection:
        assert connection.exec_driver_sql("SELECT id, shelf_mark FROM unit").fetchall() == [("U0001", None)]
        assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
    assert copy is not None
    with sqlite3.connect(copy) as before:
        assert before.execute("SELECT count(*) FROM entry").fetchone() == (1,)
        assert before.execute("SELECT version_num FROM alembic_version").fetchone() == (HEAD,)
    before.close()
    engine.dispose()


@pytest.mark.parametrize("last", ['op.execute("INSERT INTO nowhere VALUES (1)")', 'raise RuntimeError("stop")',
                                  'op.execute("UPDATE sighting SET unit_id = \'U0999\'")'])
def test_a_step_that_fails_leaves_the_database_as_it_was(old: Path, tmp_path: Path, last: str) -> None:
    """Tables made, rows put in and columns added by a step that then fails are not there, nor the note that it ran."""
    with sqlite3.connect(old) as connection:
        before = list(connection.iterdump())
    connection.close()
    engine = make_engine(old)
    with pytest.raises((RecordsError, RuntimeError)):
        bring_up_to_date(engine, old, more_steps=[step(tmp_path / "more", last)], head="9001")
    engine.dispose()
    with sqlite3.connect(old) as connection:
        assert list(connection.iterdump()) == before
    connection.close()
    with Store.open(old) as store:
        assert store.unit("U0001").value("maker") == "Corvane"


def test_a_newer_database_is_left_alone(old: Path) -> None:
    """A step this program does not know is an error of its own kind, and the file is not touched."""
    with sqlite3.connect(old) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
    connection.close()
    with pytest.raises(NewerDatabaseError, match="newer version"):
        Store.open(old)
    with sqlite3.connect(old) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchone() == ("0999",)
    connection.close()


def test_two_programs_that_open_a_new_shop_at_once(tmp_path: Path) -> None:
    """The one that comes second waits for the first and finds the tables made."""
    path = tmp_path / "intake.db"
    program = "import sys; from intake.records.store import Store; Store.open(sys.argv[1]).close()"
    root = Path(__file__).resolve().parents[2]
    started = [subprocess.Popen([sys.executable, "-c", program, str(path)], cwd=root, stderr=subprocess.PIPE, text=True)
               for _ in range(2)]
    told = [(one.communicate()[1], one.returncode) for one in started]
    assert [code for _, code in told] == [0, 0], told
    with Store.open(path) as store:
        assert store.walks() == []
