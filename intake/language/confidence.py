"""The chance that a value is right, from named signals; the coefficients are data, fitted by bench/fit_confidence.py."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import Any

import yaml

from intake.language.draft import DISAGREE


@lru_cache(maxsize=1)
def coefficients() -> dict[str, Any]:
    """The fitted numbers of confidence.yaml: for each group of fields an intercept and a weight a signal."""
    text = resources.files("intake.language").joinpath("confidence.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.safe_load(text)
    return data


def rule_head(rule: str) -> str:
    """What kind of rule set a value: "place carried over", "said for all", "symptom", ..."""
    return rule.split(":", 1)[0].strip()


def features(field: str, signals: Mapping[str, float], reasons: Sequence[str], rule: str = "") -> dict[str, float]:
    """The signals as the model takes them: 0/1 flags, the recognizer's doubt as log odds of the weakest word, how
    rough the words around are to it (mean doubt, 0 to 1), the rule's kind. What is heard has weights of its own by field and rule."""
    p = min(max(signals.get("probability", 1.0), 0.02), 0.999)
    return {
        "doubt": max(0.0, 3.0 - math.log(p / (1 - p))) if p < 0.95 else 0.0,
        "rough": signals.get("rough", 0.0),
        f"{field} in rough talk": signals.get("rough", 0.0),
        "not backed": signals.get("not backed", 0.0),
        f"{field} not backed, heard": signals.get("not backed", 0.0) * signals.get("heard", 0.0),
        f"{field} heard": signals.get("heard", 0.0),
        f"heard, by {rule_head(rule)}": signals.get("heard", 0.0),
        "replaced": signals.get("replaced", 0.0),
        "other readings": min(1.0, signals.get("other readings", 0.0)),
        "repair": signals.get("repair", 0.0),
        "hedge": signals.get("hedge", 0.0),
        "unknown": signals.get("unknown", 0.0),
        "like": signals.get("like", 0.0),
        "ambiguous": signals.get("ambiguous", 0.0),
        "reason": float(bool(reasons)),
        f"{field} by {rule_head(rule)}": 1.0,
        "nameless unit": signals.get("nameless unit", 0.0),
        "type unknown": signals.get("type unknown", 0.0),
        "short tale": signals.get("short tale", 0.0),
        "told late": signals.get("told late", 0.0),
        "contradiction": min(
            1.0, signals.get("other makers", 0.0) + signals.get("other models", 0.0) + signals.get("other types", 0.0)
        ),
    }


def confidence(field: str, signals: Mapping[str, float], reasons: Sequence[str], rule: str = "") -> float:
    """Logistic model over `features`; each field has its own intercept."""
    model = coefficients()
    total = model["intercepts"].get(field, model["intercepts"]["other"])
    for name, value in features(field, signals, reasons, rule).items():
        total += model["weights"].get(name, 0.0) * value
    return 1 / (1 + math.exp(-total))


def reasons_for(signals: Mapping[str, float]) -> list[str]:
    """Why a person should look that the signals tell by themselves, whatever the chance."""
    return [DISAGREE] if signals.get("other readings") else []


ROUGH = 0.2                     # mean doubt of the recognizer about the words around
UNSURE_WORD = "the recognizer was unsure"
HEARD_OTHERWISE = "heard differently at first"
ILL_NAMED = "the unit itself is not well named"
ROUGH_TALK = "the words around it were hard to hear"
NOT_SURE = "likely right, but not sure enough to pass unseen: compare it with the words"
#: The reasons that a low chance alone gives; other evidence for the same value settles them.
UNSURE = frozenset({UNSURE_WORD, HEARD_OTHERWISE, ILL_NAMED, ROUGH_TALK, NOT_SURE})


def why_unsure(signals: Mapping[str, float]) -> str:
    """The plainest of the signals that made a value's chance low; one of `UNSURE`."""
    if signals.get("probability", 1.0) < 0.5:
        return UNSURE_WORD
    if signals.get("replaced"):
        return HEARD_OTHERWISE
    if signals.get("nameless unit") or signals.get("type unknown"):
        return ILL_NAMED
    return ROUGH_TALK if signals.get("rough", 0.0) > ROUGH else NOT_SURE
