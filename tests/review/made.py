"""Made-up records to review, and answer keys damaged by chance as a recognizer would."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from intake.language.draft import LISTS, SCALARS, UnitDraft, Value
from intake.records.store import Store
from intake.records.values import TERM_OF, Terms
from intake.settings import Settings, load_settings
from intake.vocabulary.shopfile import add_model, add_place
from tests.records import builders

from .shops import empty_shop

DAY = date(2026, 5, 14)
WALK = "2026-05-14-north-aisle"


def flagged(value: Any, start: float, *, sure: float = 0.6, reason: str = "the speaker was unsure",
            words: str | None = None, others: Sequence[str] = ()) -> Value:
    """A value that a person should look at."""
    return Value(value, builders.heard(str(value) if words is None else words, start), sure, (reason,), tuple(others))


def shop_with(folder: Path, drafts: Sequence[UnitDraft], **more: Any) -> Settings:
    """A shop with one walk of these units, and two makers it knows."""
    settings = empty_shop(folder)
    add_model(settings.vocab, "Corvane", "AI-350", "integrated amplifier")
    add_model(settings.vocab, "Corvane", "AI-300", "integrated amplifier")
    add_model(settings.vocab, "Haldwick", "HV-46", "turntable")
    add_place(settings.vocab, "shelf B2")
    with Store.open(settings.database) as store:
        store.save_walk(builders.walk(WALK, on=DAY), drafts, **more)
    return load_settings(folder)


def damaged(units: Sequence[Mapping[str, Any]], terms: Terms, rng: random.Random) -> list[UnitDraft]:
    """Drafts of an answer key's units in which some values are wrong, missing or made up; half of those are flagged."""
    return [_damaged(unit, n, terms, rng) for n, unit in enumerate(units)]


def _damaged(unit: Mapping[str, Any], n: int, terms: Terms, rng: random.Random) -> UnitDraft:
    draft = builders.draft_of({**unit, "review": []}, n * 30.0, n * 30.0 + 29)
    scalars = dict(draft.scalars)
    for name in SCALARS:
        if name in scalars and rng.random() < 0.1:
            del scalars[name]
        elif name in scalars and rng.random() < 0.3:
            scalars[name] = _maybe_flagged(scalars[name], _other(name, scalars[name].value, terms, rng), rng)
        elif name in scalars and rng.random() < 0.2:
            scalars[name] = replace(scalars[name], reasons=("not sure enough",))
    lists: dict[str, tuple[Value, ...]] = {}
    for name in LISTS:
        kept = [_item(name, value, terms, rng) for value in getattr(draft, name) if rng.random() > 0.15]
        lists[name] = tuple(kept)
    if rng.random() < 0.3:
        spurious = builders.issue("knob", "missing")
        if spurious not in [v.value for v in lists["issues"]]:
            heard = Value(spurious, builders.heard("a knob", n * 30.0 + 9), 0.8)
            lists["issues"] += (_maybe_flagged(heard, spurious, rng),)
    return replace(draft, scalars=scalars, **lists)


def _maybe_flagged(old: Value, value: Any, rng: random.Random) -> Value:
    reasons = ("not sure enough",) if rng.random() < 0.5 else ()
    others = (str(old.value),) if reasons and isinstance(old.value, str) and rng.random() < 0.3 else ()
    return replace(old, value=value, reasons=reasons, confidence=0.6, alternatives=others)


def _other(name: str, value: Any, terms: Terms, rng: random.Random) -> Any:
    if name in TERM_OF:
        return rng.choice([t for t in terms[TERM_OF[name]] if t != value])
    if name == "quantity":
        return value + 1
    return "X" + str(value)[::-1] if name == "serial" else str(value) + " wrong"


def _item(name: str, value: Value, terms: Terms, rng: random.Random) -> Value:
    if rng.random() > 0.2:
        return value
    kinds = {"issues": ("symptom", "symptom"), "service": ("work", "work"), "actions": ("work", "work"),
             "accessories": ("item", "accessory"), "measurements": ("what", "measure")}
    key, kind = kinds[name]
    return _maybe_flagged(value, {**value.value, key: rng.choice(list(terms[kind]))}, rng)
