"""Finding units by what is known or was said of them: full-text search where SQLite has it, else plain comparison."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from sqlalchemy import text
from sqlmodel import Session, col, select

from intake.records.tables import UnitWordsRow
from intake.records.types import Sighting

_WORD = re.compile(r"\w+")
_NAME = re.compile(r"[\w./-]*\w")


def fold(words: str) -> str:
    """Letters without accents and case, as both the question and the records are compared."""
    apart = unicodedata.normalize("NFKD", words.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def words_of(seen: Sequence[Sighting]) -> str:
    """All that can be found of a unit: its values, their parts, and the words that were spoken; each once."""
    found: dict[str, None] = {}
    for sighting in seen:
        for stored in sighting.stored():
            values = stored.value.values() if isinstance(stored.value, dict) else [stored.value]
            for said in (*(str(v) for v in values if isinstance(v, str | int)), *(e.words for e in stored.evidence)):
                for name in _NAME.findall(fold(said)):
                    found[name] = None
                    compact = re.sub(r"\W", "", name)
                    if compact != name:  # "AI-350" is found as "ai350" too
                        found[compact] = None
    return " ".join(found)


def has_index(session: Session) -> bool:
    """True where this SQLite can search full text and the index is there."""
    made = session.execute(text("SELECT 1 FROM sqlite_master WHERE name = 'unit_text'")).scalar()
    return bool(made and _can_index(session))


def _can_index(session: Session) -> bool:
    return bool(session.execute(text("SELECT sqlite_compileoption_used('ENABLE_FTS5')")).scalar())


def index_is_behind(session: Session) -> bool:
    """True where the index is not there or lacks units, and this SQLite can have one."""
    if not _can_index(session):
        return False
    return not has_index(session) or session.exec(
        select(UnitWordsRow.unit_id).where(text("indexed = 0")).limit(1)).first() is not None


def make_index(session: Session) -> None:
    """Make the full-text index where SQLite can, and fill in what was written without it."""
    if not _can_index(session):
        return
    session.execute(text("CREATE VIRTUAL TABLE IF NOT EXISTS unit_text USING fts5(words, tokenize='unicode61')"))
    number = "CAST(substr(unit_id, 2) AS INTEGER)"
    session.execute(text(f"DELETE FROM unit_text WHERE rowid IN (SELECT {number} FROM unit_words WHERE indexed = 0)"))
    session.execute(text(
        f"INSERT INTO unit_text(rowid, words) SELECT {number}, words FROM unit_words WHERE indexed = 0"))
    session.execute(text("UPDATE unit_words SET indexed = 1 WHERE indexed = 0"))


def put(session: Session, unit: str, seen: Sequence[Sighting]) -> None:
    """Keep what can be found of a unit."""
    row = session.get(UnitWordsRow, unit) or UnitWordsRow(unit_id=unit, words="")
    words = words_of(seen)
    if row.words == words and row.indexed:
        return
    row.words, row.indexed = words, False
    session.add(row)
    if has_index(session):
        _index(session, row)


def _index(session: Session, row: UnitWordsRow) -> None:
    number = int(row.unit_id.removeprefix("U"))
    session.execute(text("DELETE FROM unit_text WHERE rowid = :number"), {"number": number})
    session.execute(text("INSERT INTO unit_text(rowid, words) VALUES (:number, :words)"),
                    {"number": number, "words": row.words})
    row.indexed = True
    session.add(row)


def drop(session: Session, unit: str) -> None:
    """Forget a unit that no sighting is left of."""
    row = session.get(UnitWordsRow, unit)
    if row is not None:
        row.words, row.indexed = "", False
        session.add(row)
        if has_index(session):
            _index(session, row)


def find(session: Session, asked: str, limit: int) -> list[str]:
    """Ids of units that hold every word of `asked`, or words that begin with it; else any part of a word."""
    words = _WORD.findall(fold(asked))
    if not words:
        return []
    if has_index(session):
        match = " ".join(f'"{word}"*' for word in words)
        numbers = session.execute(
            text("SELECT rowid FROM unit_text WHERE unit_text MATCH :match ORDER BY rank, rowid LIMIT :limit"),
            {"match": match, "limit": limit}).scalars()
        found = [f"U{number:04d}" for number in numbers]
        if found:
            return found
    query = select(UnitWordsRow.unit_id).order_by(col(UnitWordsRow.unit_id)).limit(limit)
    for word in words:
        query = query.where(col(UnitWordsRow.words).contains(word, autoescape=True))
    return list(session.exec(query))
