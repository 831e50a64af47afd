"""Opens the SQLite file: connection settings, sessions, and the database's errors in plain words."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import ConnectionPoolEntry, StaticPool
from sqlmodel import Session

from intake.errors import RecordsError
from intake.records.codec import dumps

IN_MEMORY = ":memory:"
BUSY_S = 10.0


def make_engine(path: Path | str, *, busy_s: float = BUSY_S) -> Engine:
    """An engine whose every connection has foreign keys on, WAL, and waits `busy_s` for another writer."""
    in_memory = str(path) == IN_MEMORY
    engine = create_engine(
        "sqlite://" if in_memory else f"sqlite:///{path}", json_serializer=dumps,
        connect_args={"timeout": busy_s, "check_same_thread": False},
        **({"poolclass": StaticPool} if in_memory else {}),
    )

    @event.listens_for(engine, "connect")
    def _settle(raw: sqlite3.Connection, _record: ConnectionPoolEntry) -> None:
        raw.isolation_level = None  # autocommit: transactions are begun in plain words, below
        raw.execute("PRAGMA foreign_keys = ON")
        _write_ahead(raw)
        raw.execute("PRAGMA synchronous = FULL")  # an accepted answer outlives a power cut

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        words = connection.get_execution_options().get("begin", "BEGIN")
        if words is not None:  # None: the caller says BEGIN itself (migrations)
            connection.exec_driver_sql(words)

    return engine


def _write_ahead(raw: sqlite3.Connection) -> None:
    try:
        raw.execute("PRAGMA journal_mode = WAL")
    except sqlite3.OperationalError as error:
        if "readonly" not in str(error):  # a database that may only be read still can be read
            raise


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """A session for queries; all of them see the database as it was at the first."""
    with told(engine), Session(engine, autoflush=False) as session:
        yield session


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """A session for one change: kept whole when the block ends well, else nothing of it."""
    with told(engine), Session(engine.execution_options(begin="BEGIN IMMEDIATE"), expire_on_commit=False) as session:
        yield session
        session.commit()


# What SQLite says -> what happened, what to do.
_PLAIN = (
    ("disk is full", "the disk is full; nothing of this change was kept.", "Free some space and do it again."),
    ("readonly", "the database may not be written.", "Give yourself write permission for the file and its folder."),
    ("locked", "another program is writing to the database.", "Wait until it is done, then do it again."),
    ("unable to open", "the database cannot be opened.", "Look whether the folder exists and may be written."),
    ("not a database", "this file is no intake database.", "Move it away, or name another shop folder."),
    ("malformed", "the database is damaged.", "Restore a copy, or save what is left with: sqlite3 FILE .recover"),
    ("disk i/o error", "the disk could not be read or written.", "Check the disk, and that the folder is not shared."),
)


@contextmanager
def told(engine: Engine) -> Iterator[None]:
    """Turns the database's own errors into RecordsError, in words for the user."""
    try:
        yield
    except DBAPIError as error:
        raise plain(error.orig or error, engine.url.database) from error
    except sqlite3.Error as error:
        raise plain(error, engine.url.database) from error


def plain(error: BaseException, path: str | None) -> RecordsError:
    """The error for the user: what happened, to which file, what to do."""
    said = str(error).casefold()
    for sign, message, hint in _PLAIN:
        if sign in said:
            return RecordsError(message, path=path, hint=hint)
    return RecordsError(f"the database refused: {error}.", path=path)
