"""The views are documented, and say what the store says."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest

from intake.language.draft import Value
from intake.matching.types import ClockOffset, PhotoMatch
from intake.records.store import Store

from .builders import action, draft, heard, issue, photo, service, walk
from .test_save import rows

DOCS = Path(__file__).resolve().parents[2] / "docs" / "database.md"
WALK = "2026-05-14-north-aisle"


@pytest.fixture
def shop(store: Store) -> Store:
    """A walk with something for every view."""
    store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG")]), [
        draft("u1", 0, 20, maker=Value("Corvane", heard("core vane", 1), 0.6, ("unsure",)), stage="waiting",
              issues=[issue("lamp", "dead")], actions=[action("replace", "lamp", due="2026-05-20", waiting_on="lamp")],
              service=[service("recap", on="2019", by="previous owner")],
              measurements=[{"what": "weight", "value": 31, "unit": "kg", "side": None}]),
        draft("u2", 20, 40, maker="Haldwick")],
        [PhotoMatch("P1.JPG", "u1", 0.9, datetime(2026, 5, 14, 13, 12, 9, tzinfo=UTC)),
         PhotoMatch("P2.JPG", None, 0.2, reasons=("no time",))],
        [ClockOffset("Lumora K5", 0.0, -60.0, 60.0, known=False, how="too few pictures")],
        candidates={"u2": [("U0001", 0.4, ["same shelf"])]}, same_as={})
    return store


def views(store: Store) -> dict[str, list[str]]:
    """Every view with its columns."""
    names = [name for (name,) in rows(store, "SELECT name FROM sqlite_master WHERE type = 'view'")]
    return {name: [row[1] for row in rows(store, f"PRAGMA table_info({name})")] for name in names}


def test_every_view_and_column_is_documented(store: Store) -> None:
    """docs/database.md has a row for each view, with each of its columns; nothing that is not there."""
    told = {found[1]: found[2] for found in re.finditer(r"^\| `(v_\w+)` \|[^|]*\|([^\n]*)\|$",
        DOCS.read_text("utf-8"), re.M)}
    there = views(store)
    assert set(told) == set(there)
    record = {"unit_type", "maker", "model", "serial", "quantity", "grouping", "location", "stage", "source",
        "cosmetic"}
    for name, columns in there.items():
        wanted = {column for column in columns if not column.endswith("_key")}
        wanted -= record if name == "v_units" else set()
        outside = re.sub(r"\([^)]*\)", "", told[name])  # what stands in brackets explains a column
        assert wanted == set(re.findall(r"`(\w+)`", outside)), name


def test_every_query_in_the_docs_runs(shop: Store) -> None:
    """The examples are valid."""
    block = DOCS.read_text("utf-8").partition("Questions they answer:")[2].partition("##")[0]
    queries = [query for query in re.sub(r"--.*", "", block).split(";") if query.strip()]
    assert len(queries) == 4
    for query in queries:
        rows(shop, query)


def test_units_and_what_blocks_them(shop: Store) -> None:
    """The lists of units, of what waits, of issues, work, service and measurements."""
    assert rows(shop, "SELECT unit_id, maker, stage, open_questions, photos FROM v_units ORDER BY unit_id") == [
        ("U0001", "Corvane", "waiting", 1, 1), ("U0002", "Haldwick", None, 1, 0)]
    assert rows(shop, "SELECT unit_id, waiting_since, waiting_on FROM v_blocked") == [("U0001", "2026-05-14", "lamp")]
    assert rows(shop, "SELECT part, symptom, until FROM v_issues") == [("lamp", "dead", None)]
    assert rows(shop, "SELECT work, due, done FROM v_actions") == [("replace", "2026-05-20", None)]
    assert rows(shop, "SELECT work, done_on, done_by FROM v_service") == [("recap", "2019", "previous owner")]
    assert rows(shop, "SELECT what, value, unit FROM v_measurements") == [("weight", 31, "kg")]
    assert rows(shop, "SELECT unit_id, stage, since, until FROM v_stages") == [
        ("U0001", "waiting", "2026-05-14", None)]
    assert rows(shop, "SELECT unit_id, name FROM v_photos ORDER BY name") == [("U0001", "P1.JPG"), (None, "P2.JPG")]


def test_the_questions_are_the_stores(shop: Store) -> None:
    """As many open questions of each kind as the store counts, with the same reasons."""
    counted = dict(rows(shop, "SELECT kind, count(*) FROM v_open_questions GROUP BY kind"))
    assert counted == shop.count_questions() == {"value": 1, "photo": 1, "link": 1, "clock": 1}
    told = {(kind, name): tuple(json.loads(reasons))
            for kind, name, reasons in rows(shop, "SELECT kind, name, reasons FROM v_open_questions")}
    assert told == {(q.kind, q.name): q.reasons for q in shop.open_questions()}


def test_values_with_their_words_and_who_decided(shop: Store) -> None:
    """A value as text, the words behind it, and after a correction both what holds and what was read."""
    shop.set_field("U0001", "maker", "Corbane", who="ann")
    assert rows(shop, "SELECT value, machine_value, state, origin, words FROM v_values WHERE field = 'maker' "
                      "AND unit_id = 'U0001'") == [("Corbane", "Corvane", "corrected", "ann", "core vane")]
    assert rows(shop, "SELECT who, was, now, undone FROM v_changes WHERE field = 'maker'") == [
        ("ann", '"Corvane"', '"Corbane"', 0)]


def test_sightings_that_count_no_more_are_marked(shop: Store) -> None:
    """A dropped record stays in v_sightings with its state, and leaves the other views."""
    shop.drop("U0002")
    assert dict(rows(shop, "SELECT sighting, state FROM v_sightings")) == {
        f"{WALK}/u1": "seen", f"{WALK}/u2": "dropped"}
    assert rows(shop, "SELECT count(*) FROM v_values WHERE unit_id = 'U0002'") == [(0,)]
