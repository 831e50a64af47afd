"""The SQL views are there as docs/report.md tells them, and its example questions run."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from .conftest import Shop

DOCUMENT = (Path(__file__).resolve().parents[2] / "docs" / "report.md").read_text("utf-8")
QUESTIONS = re.findall(r"```sql\n(.*?)```", DOCUMENT, re.DOTALL)


@pytest.mark.parametrize("question", QUESTIONS, ids=range(len(QUESTIONS)))
def test_example_questions_run(shop: Shop, question: str) -> None:
    """Each example in the document gives an answer on the demo's shop."""
    assert shop.sql.execute(question).fetchall() is not None


def test_every_view_is_documented(shop: Shop) -> None:
    """The document names each view with each of its columns, and none that is not there."""
    told = {
        name: {column.strip("` ") for column in columns.split(",")}
        for name, columns in re.findall(r"^\| `(v_\w+)` \|[^|]*\| ([^|]*) \|$", DOCUMENT, re.MULTILINE)
    }
    views = [name for (name,) in shop.sql.execute("SELECT name FROM sqlite_master WHERE type = 'view'")]
    assert told == {view: {row[1] for row in shop.sql.execute(f"PRAGMA table_info({view})")} for view in views}


def test_the_blocked_view_agrees_with_the_report(shop: Shop) -> None:
    """Who asks the database for what is stuck today gets the units of the report."""
    units = {unit for (unit,) in shop.sql.execute("SELECT unit_id FROM v_blocked")}
    assert units == {wait.unit.id for wait in shop.week().stuck_units}
