"""Makes walks and drafts for tests, from plain words or from a record of the contract's form."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path
from typing import Any

from intake.capture.walk import Moment, Photo, Recording, Walk
from intake.language.draft import LISTS, SCALARS, Doubted, Evidence, Span, UnitDraft, Value
from intake.records.database import make_engine
from intake.records.store import Store
from intake.records.values import with_shop_terms

MEMO = "memo-01.m4a"
REFERENCE = Path(__file__).resolve().parents[2] / ".." / "shared"


def fresh_store() -> Store:
    """An empty database in memory; its tables are made once and copied, for making them takes half a second."""
    engine = make_engine(":memory:")
    with engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        raw.deserialize(_empty())
    return Store(engine, ":memory:", with_shop_terms(None))


@cache
def _empty() -> bytes:
    with Store.open(":memory:") as store, store._engine.connect() as connection:
        raw = connection.connection.driver_connection
        assert isinstance(raw, sqlite3.Connection)
        return raw.serialize()


def heard(words: str, start: float, end: float | None = None, *, recording: str = MEMO) -> tuple[Evidence, ...]:
    """The words behind a value."""
    return (Evidence(recording, start, start + 1.0 if end is None else end, words),)


def issue(part: str | None, symptom: str | None = None, *, side: str | None = None,
          state: str = "present") -> dict[str, Any]:
    return {"part": part, "symptom": symptom, "side": side, "state": state}


def action(work: str, part: str | None = None, *, due: str | None = None,
           waiting_on: str | None = None) -> dict[str, Any]:
    return {"work": work, "part": part, "due": due, "waiting_on": waiting_on}


def service(work: str, part: str | None = None, *, on: str | None = None, by: str | None = None) -> dict[str, Any]:
    return {"work": work, "part": part, "date": on, "by": by}


def draft(local: str, start: float = 0.0, end: float = 20.0, *, doubts: Iterable[Doubted] = (),
          recording: str = MEMO, **fields: Any) -> UnitDraft:
    """A draft talked about from `start` to `end`; a field is a plain value, a Value, or a list of either."""
    scalars = {name: _value(given, start, recording) for name, given in fields.items() if name in SCALARS}
    lists = {name: tuple(_value(item, start + 1 + n, recording) for n, item in enumerate(given))
             for name, given in fields.items() if name in LISTS}
    return UnitDraft(local, scalars=scalars, doubts=tuple(doubts), spans=(Span(recording, start, end),),
                     named_at=((recording, start),), **lists)


def _value(given: Any, at: float, recording: str) -> Value:
    return given if isinstance(given, Value) else Value(given, heard(str(given), at, recording=recording), 0.9)


def draft_of(unit: Mapping[str, Any], start: float = 0.0, end: float = 20.0) -> UnitDraft:
    """The draft of a unit in the contract's form; what its review names carries that reason."""
    reasons: dict[str, list[str]] = {}
    for entry in unit.get("review", []):
        reasons.setdefault(entry["field"], []).append(entry["reason"])
    fields: dict[str, Any] = {}
    for name in SCALARS:
        if unit.get(name) is not None:
            fields[name] = Value(unit[name], heard(f"{unit[name]}", start), 0.9, tuple(reasons.get(name, ())))
    for name in LISTS:
        fields[name] = [Value(item, heard(f"{name} {n}", start + 0.1 * n), 0.9, tuple(reasons.get(name, ())))
                        for n, item in enumerate(unit.get(name, []))]
    doubts = [Doubted(name, "; ".join(why)) for name, why in reasons.items()
              if not unit.get(name) and name in (*SCALARS, *LISTS)]
    return draft(unit["id"], start, end, doubts=doubts, **fields)


def recording(name: str = MEMO, *, sha256: str | None = None, duration_s: float = 300.0,
              at: datetime = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)) -> Recording:
    return Recording(Path("/captures") / name, name, sha256 or f"sha-{name}", "m4a", duration_s,
                     Moment(at, "container"))


def photo(name: str, *, sha256: str | None = None, at: datetime | None = datetime(2026, 5, 14, 9, 13, 10),
          camera: str | None = "Lumora K5") -> Photo:
    return Photo(Path("/captures") / name, name, sha256 or f"sha-{name}", "jpeg",
                 Moment(at, "exif DateTimeOriginal") if at else None, camera=camera, orientation=6, width=40, height=30)


def walk(name: str = "2026-05-14-north-aisle", *, on: date = date(2026, 5, 14),
         recordings: Sequence[Recording] | None = None, photos: Sequence[Photo] = (), **more: Any) -> Walk:
    """A walk with one recording, unless told otherwise."""
    given = (recording(),) if recordings is None else tuple(recordings)
    return Walk(name, on, -240, given, tuple(photos), **more)
