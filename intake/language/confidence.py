"""The chance that a value is right, from named signals; the coefficients are data, fitted by bench/fit_confidence.py."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import lru_cache
from importlib import resources
from typing import Any

import yaml


@lru_cache(maxsize=1)
def coefficients() -> dict[str, Any]:
    """The fitted numbers of confidence.yaml: for each group of fields an intercept and a weight a signal."""
    text = resources.files("intake.language").joinpath("confidence.yaml").read_text(encoding="utf-8")
    data: dict[str, Any] = yaml.safe_load(text)
    return data


def features(field: str, signals: Mapping[str, float], reasons: Sequence[str]) -> dict[str, float]:
    """The signals as the model takes them: 0/1 flags, and the recognizer's doubt as log odds of the weakest word."""
    p = min(max(signals.get("probability", 1.0), 0.02), 0.999)
    return {
        "doubt": max(0.0, 3.0 - math.log(p / (1 - p))) if p < 0.95 else 0.0,
        "replaced": signals.get("replaced", 0.0),
        "other readings": min(1.0, signals.get("other readings", 0.0)),
        "repair": signals.get("repair", 0.0),
        "hedge": signals.get("hedge", 0.0),
        "unknown": signals.get("unknown", 0.0),
        "like": signals.get("like", 0.0),
        "ambiguous": signals.get("ambiguous", 0.0),
        "reason": float(bool(reasons)),
        "contradiction": min(
            1.0, signals.get("other makers", 0.0) + signals.get("other models", 0.0) + signals.get("other types", 0.0)
        ),
    }


def confidence(field: str, signals: Mapping[str, float], reasons: Sequence[str]) -> float:
    """Logistic model over `features`; each field has its own intercept."""
    model = coefficients()
    total = model["intercepts"].get(field, model["intercepts"]["other"])
    for name, value in features(field, signals, reasons).items():
        total += model["weights"].get(name, 0.0) * value
    return 1 / (1 + math.exp(-total))


def reasons_for(field: str, signals: Mapping[str, float], certainty: float, reasons: Sequence[str]) -> list[str]:
    """Why a person should look, where the numbers alone say so and nothing else has."""
    out = []
    if signals.get("other readings"):
        out.append("two decodings disagree")
    if not reasons and not out and certainty < float(coefficients()["flag_below"]):
        if signals.get("probability", 1.0) < 0.5:
            out.append("the recognizer was unsure")
        elif signals.get("replaced"):
            out.append("heard differently at first")
        else:
            out.append("not sure enough")
    return out
