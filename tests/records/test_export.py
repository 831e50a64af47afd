"""The export is the contract's record exactly, and a table that spreadsheets open without harm."""

from __future__ import annotations

import csv
import io
import json
from datetime import date, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from intake.errors import NotFoundError, RecordsError
from intake.language.draft import LISTS, SCALARS, Value
from intake.matching.types import PhotoMatch
from intake.records import export
from intake.records.store import Store
from intake.records.values import contract_terms, schema

from .builders import REFERENCE, draft, draft_of, fresh_store, heard, issue, photo, recording, walk

WALK = "2026-05-14-north-aisle"


def contract_example() -> dict[str, Any]:
    """The record that contract/record.md shows."""
    path = REFERENCE / "contract" / "record.md"
    if not path.exists():
        pytest.skip("the reference folder is not beside this checkout")
    loaded: dict[str, Any] = json.loads(path.read_text("utf-8").split("```json")[1].split("```")[0])
    return loaded


def save(store: Store, record: dict[str, Any]) -> None:
    """Put a record of the contract's form into the store."""
    shots = [photo(p["file"], at=datetime.fromisoformat(p["taken_at"])) for p in record["walk"]["photos"]]
    runs = [recording(r["file"], duration_s=r["duration_s"], at=datetime.fromisoformat(r["started_at"]))
            for r in record["walk"]["recordings"]]
    store.save_walk(
        walk(record["walk"]["id"], on=date.fromisoformat(record["walk"]["date"]), recordings=runs, photos=shots),
        [draft_of(u, u["span"]["start_s"], u["span"]["end_s"]) for u in record["units"]],
        [PhotoMatch(p["file"], p["unit"], p["confidence"]) for p in record["walk"]["photos"]])


def test_the_contracts_own_example_comes_out_as_it_is(store: Store) -> None:
    """What contract/record.md shows, put in, is written out the same; only `same_as` is added."""
    example = contract_example()
    save(store, example)
    assert export.record(store, WALK) == {
        **example, "units": [{**unit, "same_as": None} for unit in example["units"]]}


def test_the_schema_is_one_and_takes_every_answer_key() -> None:
    """The schema is a valid JSON Schema (2020-12) and accepts the units of all reference answer keys."""
    Draft202012Validator.check_schema(schema())
    keys = sorted((REFERENCE / "walks").glob("*/gold.json"))
    if not keys:
        pytest.skip("the reference folder is not beside this checkout")
    for key in keys:
        gold = json.loads(key.read_text("utf-8"))
        whole = {"format": "intake-record/1", "walk": {**gold["walk"], "recordings": [], "photos": []},
                 "units": [{**unit, "span": None} for unit in gold["units"]]}
        export.check(whole, contract_terms())


@pytest.mark.parametrize(("place", "wrong"), [
    (("units", 0, "stage"), "sold"), (("units", 0, "serial"), "k-1"), (("units", 0, "quantity"), 0),
    (("units", 0, "issues", 0, "part"), "flux"), (("units", 0, "colour"), "red"), (("walk", "date"), "14 May"),
    (("walk", "photos", 0, "confidence"), 1.5), (("format",), "intake-record/2"), (("units", 0, "id"), "1")])
def test_a_record_that_breaks_the_format_is_not_written(place: tuple[Any, ...], wrong: Any) -> None:
    """The check finds each kind of fault and names its place."""
    record = contract_example()
    inner: Any = record
    for step in place[:-1]:
        inner = inner[step]
    inner[place[-1]] = wrong
    with pytest.raises(RecordsError, match="does not keep to its format"):
        export.check(record, contract_terms())


def test_a_shops_own_term_is_exported(store: Store) -> None:
    """A term that the shop added is valid in its exports."""
    with Store.open(":memory:", shop_terms={"part": ["lamp shade"]}) as own:
        own.save_walk(walk(), [draft("u1", issues=[issue("lamp shade", "torn")])])
        assert export.record(own, WALK)["units"][0]["issues"] == [issue("lamp shade", "torn")]


def test_review_lists_each_open_field_once(store: Store) -> None:
    """All reasons of a field stand in one line; a settled field is not listed; a doubtful photo counts."""
    store.save_walk(walk(photos=[photo("P1.JPG")]), [draft(
        "u1", maker=Value("Corvane", heard("c", 1), 0.5, ("speaker was unsure", "not in the vocabulary")),
        model=Value("AI-350", heard("m", 2), 0.5, ("heard twice",)),
        issues=[Value(issue("lamp", "dead"), heard("l", 3), 0.4, ("unsure",)), issue("relay", "noisy")])],
        [PhotoMatch("P1.JPG", "u1", 0.5, reasons=("two units are as near",))])
    store.accept("U0001", ["model"])
    assert export.record(store, WALK)["units"][0]["review"] == [
        {"field": "maker", "reason": "speaker was unsure; not in the vocabulary"},
        {"field": "issues", "reason": "unsure"},
        {"field": "photos", "reason": "P1.JPG: two units are as near"}]


def test_a_unit_seen_earlier_says_where(store: Store) -> None:
    """`same_as` names the latest earlier sighting; a unit seen first here has none."""
    for number in (1, 2, 3):
        store.save_walk(walk(f"walk-{number}", on=date(2026, 1, number), recordings=[recording(f"{number}.m4a")]),
                        [draft("u1", recording=f"{number}.m4a", maker="Corvane")],
                        same_as={"u1": ("U0001", 0.99)} if number > 1 else None)
    assert [export.record(store, f"walk-{n}")["units"][0]["same_as"] for n in (1, 2, 3)] == [
        None, "walk-1/u1", "walk-2/u1"]


def test_dropped_and_joined_units_are_not_written(store: Store) -> None:
    """Only what counts is exported; photos of a dropped unit have none."""
    store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG")]),
                    [draft(f"u{n}", 20.0 * n, 20.0 * n + 20, maker=f"Maker {n}") for n in (1, 2, 3)],
                    [PhotoMatch("P1.JPG", "u2", 0.9), PhotoMatch("P2.JPG", "u3", 0.9)])
    store.drop(f"{WALK}/u2")
    store.merge(f"{WALK}/u1", f"{WALK}/u3")
    record = export.record(store, WALK)
    assert [(u["id"], u["photos"]) for u in record["units"]] == [("u1", ["P2.JPG"])]
    assert [(p["file"], p["unit"]) for p in record["walk"]["photos"]] == [("P1.JPG", None), ("P2.JPG", "u1")]


def test_an_unknown_walk_is_told(store: Store) -> None:
    """No such walk: the error names those there are."""
    store.save_walk(walk())
    with pytest.raises(NotFoundError, match=WALK):
        export.record(store, "nowhere")


# ---- any unit at all: unit -> tables -> unit -> JSON

TERMS = contract_terms()
PLAIN = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=12)
PARTIAL = st.dates(date(1950, 1, 1), date(2030, 1, 1)).flatmap(
    lambda day: st.sampled_from([day.isoformat(), day.isoformat()[:7], day.isoformat()[:4]]))


def term(kind: str) -> st.SearchStrategy[str]:
    return st.sampled_from(TERMS[kind])


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


ITEMS: dict[str, st.SearchStrategy[dict[str, Any]]] = {
    "issues": st.fixed_dictionaries({"part": maybe(term("part")), "symptom": term("symptom"),
                                     "side": maybe(term("side")), "state": term("issue_state")}),
    "service": st.fixed_dictionaries({"work": term("work"), "part": maybe(term("part")), "date": maybe(PARTIAL),
                                      "by": maybe(PLAIN)}),
    "actions": st.fixed_dictionaries({"work": term("work"), "part": maybe(term("part")), "due": maybe(PARTIAL),
                                      "waiting_on": maybe(PLAIN)}),
    "accessories": st.fixed_dictionaries({"item": term("accessory"), "present": st.booleans()}),
    "measurements": st.fixed_dictionaries({
        "what": term("measure"), "value": st.integers(-10**6, 10**6) | st.floats(-1e6,
            1e6).filter(lambda x: x != int(x)),
        "unit": maybe(term("unit_of_measure")), "side": maybe(term("side"))}),
}
UNITS = st.fixed_dictionaries({
    "unit_type": maybe(term("unit_type")), "maker": maybe(PLAIN), "model": maybe(PLAIN),
    "serial": maybe(st.text("0123456789ABCXYZ", min_size=1, max_size=12)), "quantity": maybe(st.integers(1, 99)),
    "grouping": maybe(term("grouping")), "location": maybe(PLAIN), "stage": maybe(term("stage")),
    "source": maybe(term("source")), "cosmetic": maybe(term("cosmetic")),
    **{name: st.lists(items, max_size=3) for name, items in ITEMS.items()},
    "review": st.lists(st.builds(lambda field, reason: {"field": field, "reason": reason},
                                 st.sampled_from(SCALARS + LISTS), PLAIN), max_size=3, unique_by=lambda r: r["field"]),
})


@settings(max_examples=25, deadline=None)
@given(st.lists(UNITS, min_size=1, max_size=3))
def test_any_unit_comes_back_as_it_went_in(units: list[dict[str, Any]]) -> None:
    """Unit -> tables -> unit -> JSON loses and adds nothing, is valid, and the table has a row for each."""
    given_units = [{"id": f"u{n + 1}", **unit} for n, unit in enumerate(units)]
    with fresh_store() as store:
        store.save_walk(walk(), [draft_of(u, 20.0 * n, 20.0 * n + 20) for n, u in enumerate(given_units)])
        record = export.record(store, WALK)
        table = list(csv.DictReader(io.StringIO(export.csv_text(store, WALK).removeprefix("\ufeff"), newline="")))
    for before, after in zip(given_units, record["units"], strict=True):
        assert {name: after[name] for name in SCALARS + LISTS} == {name: before[name] for name in SCALARS + LISTS}
        assert sorted((r["field"], r["reason"]) for r in after["review"]) == sorted(
            (r["field"], r["reason"]) for r in before["review"])
    assert [row["id"] for row in table] == [unit["id"] for unit in given_units]


# ---- CSV


def table_of(store: Store) -> list[dict[str, str]]:
    text = export.csv_text(store, WALK)
    assert text.startswith("\ufeff")
    return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"), newline=""), strict=True))


def test_one_row_a_unit_in_words(store: Store) -> None:
    """Lists are read as a person says them; rows end as RFC 4180 wants."""
    store.save_walk(walk(), [draft("u1", maker="Corvane", quantity=2, issues=[
        issue("channel", "dead", side="left"), issue("relay", "noisy", state="suspected")],
        actions=[{"work": "replace", "part": "belt", "due": "2026-05-20", "waiting_on": "belt"}],
        accessories=[{"item": "manual", "present": False}],
        measurements=[{"what": "output power", "value": 41.5, "unit": "W", "side": "left"}])])
    row = table_of(store)[0]
    assert (row["issues"], row["actions"], row["accessories"], row["measurements"], row["quantity"]) == (
        "left channel: dead; relay: noisy (suspected)", "replace belt (due 2026-05-20, waiting on belt)", "no manual",
        "left output power 41.5 W", "2")
    assert export.csv_text(store, WALK).count("\r\n") == 2


@pytest.mark.parametrize("hostile", ["=1+1", "+1", "-60", "@SUM(A1)", "\t=1", " =1", "=HYPERLINK(\"http://x\")"])
def test_no_cell_runs_as_a_formula(hostile: str) -> None:
    """Text that a spreadsheet would take for a formula gets an apostrophe (OWASP, CSV injection)."""
    assert str(export.safe_cell(hostile)).startswith("'")


@pytest.mark.parametrize("kept", ["0041", "074419", "116E203", "3-12", "12345678901234567890"])
def test_no_serial_is_rewritten_as_a_number_or_date(kept: str) -> None:
    """Leading zeros, an E between digits, long numbers and date-like models are kept as text."""
    assert export.safe_cell(kept) == f"'{kept}"


@pytest.mark.parametrize("plain", ["AI-350", "14772", "Corvane", "2026-05-14", "can't"])
def test_ordinary_cells_stay_as_they_are(plain: str) -> None:
    """Nothing is added where nothing is at stake."""
    assert export.safe_cell(plain) == plain


def test_commas_quotes_and_line_breaks_survive(store: Store) -> None:
    """A cell with commas and quotes is read back whole; a line break cannot break a row."""
    store.save_walk(walk(), [draft("u1", location='shelf "B", left\nside')])
    assert table_of(store)[0]["location"] == 'shelf "B", left side'
