"""Brings a database to this version's tables, whole or not at all; a copy of the file is made first.

SQLite can roll back changes of tables, but Alembic and the driver do not ask it to: so the driver
runs in autocommit, and one explicit BEGIN ... COMMIT holds all steps and the note that they ran.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine

from intake.errors import NewerDatabaseError, RecordsError
from intake.records.database import IN_MEMORY, plain, told

#: The newest step; a test compares it with the files in `migrations/versions`.
HEAD = "0001"
STEPS = Path(__file__).parent / "migrations"


def bring_up_to_date(engine: Engine, path: Path | str, *, more_steps: Sequence[Path] = (),
                     head: str = HEAD) -> Path | None:
    """Create or migrate the database; returns the copy made before a migration, if there was one.

    `more_steps` are further folders of steps (for tests). Raises NewerDatabaseError, RecordsError.
    """
    with told(engine), engine.connect().execution_options(begin=None) as connection:
        found = _version(connection, path)
        if found == head:
            return None
        if found is not None and not _known(found, more_steps):
            raise NewerDatabaseError(
                f"the database was written by a newer version of this program (its tables are at step {found}, "
                f"this version knows up to {head}).", path=path, hint="Install the newer version; nothing was changed.")
        copy = _copy(connection, path, found) if found is not None else None
        _run(connection, path, more_steps)
        return copy


def _version(connection: Connection, path: Path | str) -> str | None:
    tables = {name for (name,) in connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if "alembic_version" in tables:
        return connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    if tables:
        raise RecordsError("this database has other tables than intake's.", path=path,
                           hint="Move it away, or name another shop folder.")
    return None


def _known(version: str, more_steps: Sequence[Path]) -> bool:
    folders = [STEPS / "versions", *more_steps]
    return any(step.name.startswith(f"v{version}_") for folder in folders for step in folder.glob("v*.py"))


def _copy(connection: Connection, path: Path | str, version: str) -> Path | None:
    """A copy of the whole database, what waits in its write-ahead log included."""
    if str(path) == IN_MEMORY:
        return None
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    copy = Path(path).with_name(f"{Path(path).name}.step-{version}-{stamp}")
    raw = connection.connection.driver_connection
    try:
        target = sqlite3.connect(copy)
        try:
            if isinstance(raw, sqlite3.Connection):
                raw.backup(target)
        finally:
            target.close()
    except sqlite3.Error as error:
        copy.unlink(missing_ok=True)
        raise RecordsError(f"no copy of the database could be made before its tables are changed: {error}.",
                           path=path, hint="Free some space, then try again; nothing was changed.") from error
    return copy


def _run(connection: Connection, path: Path | str, more_steps: Sequence[Path]) -> None:
    from alembic import command
    from alembic.config import Config
    from alembic.util.exc import CommandError

    config = Config()
    config.set_main_option("script_location", str(STEPS).replace("%", "%%"))
    config.set_main_option("path_separator", "newline")
    places = [STEPS / "versions", *more_steps]
    config.set_main_option("version_locations", "\n".join(str(place).replace("%", "%%") for place in places))
    config.attributes["connection"] = connection
    connection.exec_driver_sql("PRAGMA foreign_keys = OFF")  # a batch step drops and remakes tables
    connection.exec_driver_sql("BEGIN IMMEDIATE")
    try:
        command.upgrade(config, "head")
        orphans = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if orphans:
            raise RecordsError(f"a migration left {len(orphans)} rows without what they belong to.", path=path)
        connection.exec_driver_sql("COMMIT")
    except BaseException as error:
        connection.exec_driver_sql("ROLLBACK")
        if isinstance(error, CommandError):
            raise plain(error, str(path)) from error
        raise
    finally:
        connection.exec_driver_sql("PRAGMA foreign_keys = ON")
