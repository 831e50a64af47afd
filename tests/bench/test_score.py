"""The project's own scorer: what counts, and the same figures as the reference scorer beside the checkout."""

from __future__ import annotations

import copy
import importlib.util
import json
import random
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
BENCH = ROOT / "bench"
WALKS = ROOT.parent / "shared" / "walks"
SAMPLE = ROOT / "samples" / "2026-04-17-lantern-street"


@pytest.fixture(autouse=True)
def bench_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """The programs in bench/ import their neighbours by plain name."""
    monkeypatch.syspath_prepend(str(BENCH))


def gold() -> dict[str, Any]:
    """The sample walk's answer key."""
    loaded: dict[str, Any] = json.loads((SAMPLE / "gold.json").read_text(encoding="utf-8"))
    return loaded


def perfect(key: dict[str, Any]) -> dict[str, Any]:
    """An export that agrees with the key, with its own ids, file names and spelling of case."""
    export = copy.deepcopy(key)
    for n, unit in enumerate(export["units"]):
        unit["id"] = f"x{n}"
        unit["photos"] = [f"capture/{p}.JPG" for p in unit["photos"]]
        unit["model"] = unit["model"] and unit["model"].lower().replace("-", " ")
    owners = {p: u["id"] for u in export["units"] for p in u["photos"]}
    export["walk"]["photos"] = [{"file": p, "unit": u} for p, u in owners.items()] + [{"file": "P06.JPG", "unit": None}]
    return export


def scored(export: dict[str, Any], key: dict[str, Any] | None = None) -> tuple[dict[str, Any], Any]:
    """Summary and scored walk of an export against the sample's key, of which P06 is a stray photo."""
    from counting import score
    from figures import summary

    walk = score(key or gold(), export, ["P06"])
    return summary(walk.counts), walk


def test_a_perfect_export_has_no_error() -> None:
    """An export that agrees with the key scores 1 everywhere."""
    rates, walk = scored(perfect(gold()))
    assert walk.errors == []
    assert rates["headline_f1"] == rates["photo_accuracy"] == rates["unflagged_precision"] == 1.0
    assert rates["silent_error_rate"] is None


@pytest.mark.parametrize("export", [{}, {"units": []}, {"units": [{}, {}]}, {"walk": {}, "units": None}])
def test_an_empty_export_earns_nothing(export: dict[str, Any]) -> None:
    """Leaving everything out is never free, not even for the stray photo."""
    rates, _ = scored(export)
    assert rates["headline_f1"] == rates["photo_accuracy"] == rates["hands_free"] == 0.0


def test_a_wrong_identity_value_is_silent_unless_flagged() -> None:
    """One digit off in a serial is a silent error, and none once the field is in review."""
    export = perfect(gold())
    export["units"][0]["serial"] = "60411"
    rates, walk = scored(export)
    assert rates["silent_error_rate"] == 1.0
    assert any("SILENT" in line for line in walk.errors)
    export["units"][0]["review"] = [{"field": "serial", "reason": "two readings"}]
    assert scored(export)[0]["silent_error_rate"] == 0.0


def test_flagging_everything_takes_the_hands_free_share_away() -> None:
    """A flag mends no value and costs the figure of what needed nobody."""
    from counting import LISTS, SCALARS

    export = perfect(gold())
    for unit in export["units"]:
        unit["review"] = [{"field": f, "reason": "?"} for f in (*SCALARS, *LISTS)]
    rates, _ = scored(export)
    assert (rates["review_burden"], rates["hands_free"], rates["unflagged_precision"]) == (1.0, 0.0, None)


def test_a_unit_twice_is_one_too_many() -> None:
    """A doubled unit counts as spurious with all its values."""
    export = perfect(gold())
    export["units"].append(copy.deepcopy(export["units"][0]))
    rates, walk = scored(export)
    assert walk.counts["units"] == {"gold": 6, "predicted": 7, "matched": 6}
    assert rates["headline_f1"] < 1.0


def test_order_of_units_is_no_matter() -> None:
    """Units are paired by likeness, not by their place in the list."""
    export = perfect(gold())
    export["units"].reverse()
    assert scored(export)[0]["headline_f1"] == 1.0


def test_an_unknown_maker_must_be_flagged() -> None:
    """A maker outside the vocabulary counts as caught only where the export puts it in review."""
    export = perfect(gold())
    assert scored(export)[1].counts["unknown_makers"] == {"gold": 1, "flagged": 0}
    export["units"][4]["review"] = [{"field": "maker", "reason": "not in the vocabulary"}]
    assert scored(export)[1].counts["unknown_makers"] == {"gold": 1, "flagged": 1}


def test_a_resighting_counts_through_the_alignment() -> None:
    """`same_as` names the unit by the earlier export's own id; the key's unit is found through the pairing."""
    from counting import score
    from resightings import count_resightings

    first, second = gold(), gold()
    first["walk"]["id"], second["walk"]["id"] = "A", "B"
    second["units"][0]["same_as"] = "A/u1"
    later = perfect(second)
    later["units"][0]["same_as"] = "A/x0"
    later["units"][1]["same_as"] = "A/x1"
    walks = {"A": score(first, perfect(first)), "B": score(second, later)}
    count_resightings(walks, {})
    assert walks["B"].counts["resightings"] == {"gold": 1, "predicted": 2, "right": 1}


# ---- against the reference scorer

def reference() -> ModuleType:
    """The scorer that came with the example walks, loaded under a name of its own."""
    spec = importlib.util.spec_from_file_location("reference_score", WALKS / "score.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["reference_score"] = module
    spec.loader.exec_module(module)
    return module


def damaged(key: dict[str, Any], dice: random.Random) -> dict[str, Any]:
    """An export with errors of every kind: values changed, dropped, added, flagged; units lost, doubled, merged."""
    export = perfect(key)
    makers = [u.get("maker") for u in key["units"]]
    for unit in export["units"]:
        for field in list(unit):
            change = dice.random()
            if field in ("id", "review", "photos") or change > 0.45:
                continue
            _damage(unit, field, change, dice, makers)
        unit["review"] = [{"field": f, "reason": "?"} for f in unit if f != "review" and dice.random() < 0.2]
        if dice.random() < 0.3 and unit["photos"]:
            dice.choice(export["units"])["photos"].append(unit["photos"].pop())
    for _ in range(dice.randrange(3)):
        export["units"].append(copy.deepcopy(dice.choice(export["units"])))
    dice.shuffle(export["units"])
    export["units"] = export["units"][dice.randrange(3):]
    export["walk"]["photos"] = [p for p in export["walk"]["photos"] if dice.random() < 0.8]
    return export


def _damage(unit: dict[str, Any], field: str, change: float, dice: random.Random, makers: list[Any]) -> None:
    value = unit[field]
    if isinstance(value, list):
        if value and change < 0.2:
            entry = value[dice.randrange(len(value))]
            key = dice.choice(list(entry))
            entry[key] = dice.choice([None, "left", 7.01, True, entry[key]])
        elif change < 0.3:
            unit[field] = value + copy.deepcopy(value[:1])
        else:
            unit[field] = []
    elif change < 0.15:
        unit[field] = None
    elif field == "quantity":
        unit[field] = dice.choice([1, 2, "2", 8.0])
    elif field == "maker":
        unit[field] = dice.choice(makers)
    else:
        unit[field] = f"{value}x" if value else "something"


@pytest.mark.skipif(not (WALKS / "score.py").exists(), reason="the example walks do not lie beside the checkout")
@pytest.mark.parametrize("seed", range(12))
def test_same_figures_as_the_reference_scorer(seed: int) -> None:
    """On damaged exports of all example walks every count, rate, difference and pair is the reference scorer's."""
    from counting import add, score, zero
    from figures import summary
    from resightings import count_resightings
    from score import stray_photos

    theirs_module, dice = reference(), random.Random(seed)
    ours, theirs = {}, {}
    for path in sorted(WALKS.glob("2*/gold.json")):
        key = json.loads(path.read_text(encoding="utf-8"))
        export = damaged(key, dice)
        for unit in export["units"]:
            if unit.get("same_as") and dice.random() < 0.5:
                unit["same_as"] = f"2026-01-12-first-shelf/x{dice.randrange(6)}"
        strays = stray_photos(path, key)
        assert strays == theirs_module.stray_photos(path, key)
        ours[key["walk"]["id"]] = score(key, export, strays)
        counts, errors, pairs = theirs_module.score(key, export, strays)
        theirs[key["walk"]["id"]] = {"gold": key, "export": export, "counts": counts, "errors": errors, "pairs": pairs}
    count_resightings(ours, {})
    theirs_module.count_resightings(theirs, {})
    total, their_total = zero(), theirs_module.zero()
    for name, walk in ours.items():
        assert walk.pairs == theirs[name]["pairs"]
        assert walk.counts == theirs[name]["counts"]
        assert walk.errors == theirs[name]["errors"]
        total, their_total = add(total, walk.counts), theirs_module.add(their_total, theirs[name]["counts"])
    assert summary(total) == theirs_module.summary(their_total)
    assert total["units"]["gold"] > total["units"]["matched"] > 0
