"""Golden cases: what was said, and the units expected, from cases/*.yaml.

A case has `name` (the fact it protects), `said`, `units` and perhaps `xfail` (what we cannot do yet; strict). A unit
tells all its fields; one that it doesn't tell is blank (quantity 1 and single by default), keys of an entry likewise.
`review`: fields that must be flagged; `sure`: fields that must not be.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from intake.language.draft import LISTS, UnitDraft
from tests.language.said import transcript
from tests.language.shop import CASES, extractor, read_yaml
from tests.language.values import comparable

DAY = date(2026, 1, 14)  # a Wednesday
FILES = sorted(p for p in CASES.glob("*.yaml") if p.name != "shop.yaml")
ALL = [(f"{path.stem}: {case['name']}", case) for path in FILES for case in read_yaml(path)["cases"]]


def drafts(said: str) -> tuple[UnitDraft, ...]:
    """The units understood from one recording."""
    return extractor().extract([transcript(said)], DAY).units


def expected(unit: dict[str, Any]) -> dict[str, Any]:
    """The fields that a case asks for, with the defaults of the form."""
    fields = {k: v for k, v in unit.items() if k not in ("review", "sure")}
    return comparable({"quantity": 1, "grouping": "single", **fields})


def got(unit: UnitDraft) -> dict[str, Any]:
    """The fields that were filled."""
    scalars = {name: value.value for name, value in unit.scalars.items()}
    return comparable({**scalars, **{name: [v.value for v in getattr(unit, name)] for name in LISTS}})


def flagged(unit: UnitDraft) -> set[str]:
    """The fields that a person is asked to look at."""
    fields = {name for name, value in unit.scalars.items() if value.reasons}
    fields |= {name for name in LISTS if any(v.reasons for v in getattr(unit, name))}
    return fields | {d.field for d in unit.doubts}


def marked(name: str, case: dict[str, Any]) -> Any:
    """The case as a parameter, with its expected failure."""
    reason = case.get("xfail")
    marks = [pytest.mark.xfail(strict=True, reason=reason)] if reason else []
    return pytest.param(case, id=name, marks=marks)


@pytest.mark.parametrize("case", [marked(*named) for named in ALL])
def test_what_was_said_gives_the_record(case: dict[str, Any]) -> None:
    """What was said gives these units with these fields and no others; what was hedged is flagged."""
    units = drafts(case["said"])
    assert [got(u) for u in units] == [expected(u) for u in case["units"]]
    for unit, wanted in zip(units, case["units"], strict=True):
        assert set(wanted.get("review", [])) <= flagged(unit)
        assert flagged(unit).isdisjoint(wanted.get("sure", []))


@pytest.mark.parametrize("case", [pytest.param(c, id=n) for n, c in ALL])
def test_every_value_lies_in_what_was_said(case: dict[str, Any]) -> None:
    """Every value's words were said, in its recording and within its length."""
    said = transcript(case["said"])
    for unit in drafts(case["said"]):
        values = [*unit.scalars.values(), *(v for name in LISTS for v in getattr(unit, name))]
        for evidence in (e for v in values for e in v.evidence):
            assert evidence.recording == said.recording
            assert 0 <= evidence.start_s <= evidence.end_s <= round(said.duration_s, 2)
            assert evidence.words in case["said"].replace("-", " ")
