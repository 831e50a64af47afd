"""Only looking: plain SQL on the shop's records without the classes of its tables, where a page must be there at once.

`Store` is the way in and out; loading it takes longer than all questions of a weekly report. A look reads, never
writes, and sees the records as they were at its first question. Rows are tuples; `weekly` makes plain values of them.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from intake.records.values import Terms, with_shop_terms

if TYPE_CHECKING:
    from intake.records.store import Store

BUSY_S = 10.0
STEPS = Path(__file__).parent / "migrations" / "versions"


class Look:
    """The records of one shop, to be read. Open it with `Look.open` or `Look.of`; use it as a context manager."""

    def __init__(self, connection: sqlite3.Connection, path: Path | str, terms: Terms) -> None:
        self._connection = connection
        self.path = path
        self.terms = terms

    @classmethod
    @contextmanager
    def open(cls, path: Path | str, *, shop_terms: Terms | None = None) -> Iterator[Look]:
        """Look into a database; one that is not there yet, or not at this version's tables, is brought there first.

        Raises RecordsError and NewerDatabaseError as `Store.open` does.
        """
        if not _is_current(path):
            from intake.records.store import Store

            Store.open(path, shop_terms=shop_terms).close()
        with _told(path):
            connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
            try:
                connection.execute("PRAGMA query_only = ON")
                connection.execute("BEGIN")
                yield cls(connection, path, with_shop_terms(shop_terms))
            finally:
                connection.close()

    @classmethod
    @contextmanager
    def of(cls, store: Store) -> Iterator[Look]:
        """Look into the database of an open store."""
        from intake.records.database import reading

        with reading(store._engine) as session:
            raw = session.connection().connection.driver_connection
            if not isinstance(raw, sqlite3.Connection):
                raise TypeError(f"not a connection of SQLite: {raw!r}")
            yield cls(raw, store.path, store.terms)

    def rows(self, sql: str, **values: Any) -> list[tuple[Any, ...]]:
        """The rows of a question. Days go in as ISO 8601, lists as JSON, for SQLite's `json_each`."""
        return self._connection.execute(sql, {name: _plain(value) for name, value in values.items()}).fetchall()

    def column(self, sql: str, **values: Any) -> list[Any]:
        """The first column of a question's rows."""
        return [row[0] for row in self.rows(sql, **values)]

    def of_keys(self, sql: str, keys: Iterable[int | str], **values: Any) -> list[tuple[Any, ...]]:
        """The rows of a question in which `:keys` stands for a list of any length."""
        return self.rows(sql.replace(":keys", "(SELECT value FROM json_each(:listed))"), listed=list(keys), **values)


def loaded(stored: str | int | float | None) -> Any:
    """What a column of JSON holds; SQLite keeps bare numbers there as numbers."""
    return json.loads(stored) if isinstance(stored, str) else stored


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return json.dumps(value) if isinstance(value, list) else value


def _is_current(path: Path | str) -> bool:
    """Whether a database is there with this version's tables; whatever else it is, `Store.open` says so."""
    if not Path(path).is_file():
        return False
    newest = max(step.name[1:5] for step in STEPS.glob("v*.py"))
    try:
        connection = sqlite3.connect(path, timeout=BUSY_S)
        try:
            return connection.execute("SELECT version_num FROM alembic_version").fetchall() == [(newest,)]
        finally:
            connection.close()
    except sqlite3.Error:
        return False


@contextmanager
def _told(path: Path | str) -> Iterator[None]:
    """Turns the database's own errors into RecordsError, in words for the user."""
    try:
        yield
    except sqlite3.Error as error:
        from intake.records.database import plain

        raise plain(error, str(path)) from error
