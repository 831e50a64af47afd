#!/usr/bin/env python3
"""Fit the coefficients of intake/language/confidence.yaml, and say how well they hold on walks left out.

    python bench/fit_confidence.py FOLDER [FOLDER ...] [--aside FOLDER] [--write]

Each FOLDER holds built walks (gold.json, truth.json, vocabulary.json). Every scalar value and list item that the language
step makes is an example: its signals, and whether it is right by the answer key. A logistic model with one intercept a
field and shared weights is fitted by penalised likelihood (scipy); cross-validation leaves out one walk at a time.
Values of walks whose errors have been read and mended are oftener right than those of a new walk will be. So with --aside,
a folder of walks that nobody has looked into, the intercepts are moved such that the mean chance there is the share that is right
there; nothing else is taken from those walks.
Prints a reliability table (predicted against actual) and the threshold at which at most 2 of 100 unflagged values are wrong.
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import yaml
from scipy.optimize import minimize

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from alignment import item_matches, items, scalar  # bench/alignment.py
from counting import LISTS as KEYS  # bench/counting.py
from counting import score
from fit_data import drafts_of  # bench/fit_data.py
from intake.language.confidence import features
from intake.language.draft import LISTS, SCALARS

PENALTY = 0.02
LEAST_SEEN = 4          # a rule seen less often gets no weight of its own


def examples(folder: Path, mode: str) -> list[dict[str, Any]]:
    """The values of one walk with their signals and whether each is right."""
    gold = json.loads((folder / "gold.json").read_text())
    drafts, export = drafts_of(folder, mode)
    back = {p: g for g, p in score(gold, export).pairs.items()}
    out = []
    for p, draft in enumerate(drafts):
        unit = gold["units"][back[p]] if p in back else None
        for name in SCALARS:
            value = draft.scalars.get(name)
            if value is not None:
                right = unit is not None and scalar(unit, name) == scalar({name: value.value}, name)
                out.append(_row(folder, name, value, right))
        for name in LISTS:
            values = getattr(draft, name)
            found = item_matches(items(unit, name), [v.value for v in values], KEYS[name]["strict"]) if unit else []
            good = {b for _, b in found}
            out += [_row(folder, name, v, k in good) for k, v in enumerate(values)]
    return out


def _row(folder: Path, name: str, value: Any, right: bool) -> dict[str, Any]:
    x = features(name, value.signals, value.reasons, value.rule)
    return {"walk": folder.name, "field": name, "x": x, "right": bool(right), "flagged": bool(value.reasons),
            "heard": bool(value.signals.get("heard"))}


def names_of(rows: list[dict[str, Any]]) -> list[str]:
    """The features that occur often enough to be weighed."""
    seen: dict[str, int] = {}
    for r in rows:
        for n, v in r["x"].items():
            seen[n] = seen.get(n, 0) + bool(v)
    return sorted(n for n, k in seen.items() if k >= LEAST_SEEN)


def fit(rows: list[dict[str, Any]], fields: list[str]) -> tuple[dict[str, float], dict[str, float]]:
    """Intercepts by field and shared weights, by penalised maximum likelihood."""
    names = names_of(rows)
    X = np.array([[r["x"].get(n, 0.0) for n in names] for r in rows], float)
    y = np.array([r["right"] for r in rows], float)
    f = np.array([fields.index(r["field"]) for r in rows])

    def loss(p: np.ndarray) -> tuple[float, np.ndarray]:
        b, w = p[: len(fields)], p[len(fields):]
        z = b[f] + X @ w
        q = 1 / (1 + np.exp(-z))
        nll = -np.sum(y * np.log(q + 1e-12) + (1 - y) * np.log(1 - q + 1e-12))
        grad = q - y
        gb = np.bincount(f, weights=grad, minlength=len(fields)) + 2 * PENALTY * 10 * (b - b.mean())
        gw = X.T @ grad + 2 * PENALTY * 25 * w
        reg = PENALTY * 10 * np.sum((b - b.mean()) ** 2) + PENALTY * 25 * np.sum(w**2)
        return float(nll + reg), np.concatenate([gb, gw])

    start = np.concatenate([np.full(len(fields), 2.0), np.full(len(names), -0.3)])
    bounds = [(None, None)] * len(fields) + [(None, None if (" by " in n or "heard" in n) else 0.0) for n in names]     # a doubt never makes a value surer
    found = minimize(loss, start, jac=True, method="L-BFGS-B", bounds=bounds)
    p = found.x
    return dict(zip(fields, map(float, p[: len(fields)]), strict=True)), dict(zip(names, map(float, p[len(fields):]), strict=True))


def predict(rows: list[dict[str, Any]], b: dict[str, float], w: dict[str, float]) -> np.ndarray:
    z = np.array([b[r["field"]] + sum(x * w.get(n, 0.0) for n, x in r["x"].items()) for r in rows])
    return 1 / (1 + np.exp(-z))


def reliability(q: np.ndarray, y: np.ndarray) -> list[str]:
    """Predicted against actual in bins."""
    lines = ["| predicted | values | mean predicted | right |", "| --- | --- | --- | --- |"]
    for lo, hi in ((0, 0.5), (0.5, 0.7), (0.7, 0.8), (0.8, 0.9), (0.9, 0.95), (0.95, 1.01)):
        m = (q >= lo) & (q < hi)
        if m.any():
            lines.append(f"| {lo:.2f}-{min(hi, 1):.2f} | {m.sum()} | {q[m].mean():.3f} | {y[m].mean():.3f} |")
    return lines


def aside(folder: Path, b: dict[str, float], w: dict[str, float], modes: tuple[str, ...]) -> tuple[dict[str, float], dict[str, float]]:
    """Intercepts, and weights of what is heard, moved such that the mean chance on the walks kept aside is the share right there.

    One number moves all fields; each field then moves a little from it (a normal prior of width SPREAD), for some are as
    often right in a new walk as in one whose errors were mended. First by the true words; then, by the sound, the weights
    of what is heard.
    """
    walks = [walk for walk in sorted(folder.glob("*")) if (walk / "gold.json").exists()]
    for mode in modes:
        rows = [r for walk in walks for r in examples(walk, mode) if r["field"] in b]
        before = predict(rows, b, w)
        for field, step in _moves(rows, before, sorted(b)).items():
            if mode == "text":
                b = {**b, field: b[field] + step}
            else:
                w = {**w, f"{field} heard": w.get(f"{field} heard", 0.0) + step}
        y = np.array([r["right"] for r in rows], float)
        print(f"kept aside, {mode}: {len(rows)} values, {y.mean():.3f} right, mean chance {before.mean():.3f} before it was moved:")
        moved = predict(rows, b, w)
        print("\n".join(reliability(moved, y)))
        print("\n".join(thresholds(rows, moved)))
    return b, w


SPREAD = 0.5


def _moves(rows: list[dict[str, Any]], q: np.ndarray, fields: list[str]) -> dict[str, float]:
    y = np.array([r["right"] for r in rows], float)
    f = np.array([fields.index(r["field"]) for r in rows])
    z = np.log(q / (1 - q))

    def loss(p: np.ndarray) -> tuple[float, np.ndarray]:
        t = 1 / (1 + np.exp(-(z + p[0] + p[1:][f])))
        grad = t - y
        value = -np.sum(y * np.log(t + 1e-12) + (1 - y) * np.log(1 - t + 1e-12)) + np.sum(p[1:] ** 2) / (2 * SPREAD**2)
        own = np.bincount(f, weights=grad, minlength=len(fields)) + p[1:] / SPREAD**2
        return float(value), np.concatenate([[grad.sum()], own])

    found = minimize(loss, np.zeros(len(fields) + 1), jac=True, method="L-BFGS-B").x
    return {field: float(found[0] + found[1 + k]) for k, field in enumerate(fields)}


def thresholds(rows: list[dict[str, Any]], q: np.ndarray) -> list[str]:
    """How many scalars are right and how many flagged at some thresholds, for all and apart for what is heard."""
    y = np.array([r["right"] for r in rows], float)
    scalar = np.array([r["field"] in SCALARS for r in rows])
    heard = np.array([r["heard"] for r in rows])
    lines = []
    for name, group in (("typed", scalar & ~heard), ("heard", scalar & heard)):
        for t in (0.5, 0.6, 0.7, 0.8, 0.85, 0.88, 0.9, 0.93, 0.95, 0.97):
            keep = group & (q >= t)
            if group.any():
                lines.append(f"  {name} scalars at {t:.2f}: unflagged right {y[keep].mean() if keep.any() else 1:.3f}, flagged {1 - keep.sum() / group.sum():.3f}")
    return lines


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--sound", action="store_true", help="also from the stored transcripts of the sound")
    parser.add_argument("--aside", type=Path, help="walks never looked into, for one number: how much rarer right values are there")
    parser.add_argument("--write", action="store_true", help="write intake/language/confidence.yaml")
    args = parser.parse_args()
    modes = ("text", "sound") if args.sound else ("text",)
    walks = [w for folder in args.folders for w in sorted(folder.glob("*")) if (w / "gold.json").exists()]
    rows = [r for mode in modes for w in walks for r in examples(w, mode)]
    fields = sorted({r["field"] for r in rows})
    y = np.array([r["right"] for r in rows], float)
    held = np.zeros(len(rows))
    for walk in sorted({r["walk"] for r in rows}):
        train = [r for r in rows if r["walk"] != walk]
        test = [k for k, r in enumerate(rows) if r["walk"] == walk]
        held[test] = predict([rows[k] for k in test], *fit(train, fields))
    print(f"{len(rows)} values of {len(walks)} walks, {y.mean():.3f} right; cross-validated over walks:")
    print("\n".join(reliability(held, y)))
    print(f"Brier {np.mean((held - y) ** 2):.4f}, of a constant {np.mean((y.mean() - y) ** 2):.4f}")
    print("\n".join(thresholds(rows, held)))
    b, w = fit(rows, fields)
    if args.aside:
        b, w = aside(args.aside, b, w, modes)
    if args.write:
        path = Path(__file__).resolve().parents[1] / "intake" / "language" / "confidence.yaml"
        data = {"intercepts": {k: round(v, 3) for k, v in {**b, "other": float(np.mean(list(b.values())))}.items()},
                "weights": {k: round(v, 3) for k, v in w.items()}}
        path.write_text(f"# Fitted by bench/fit_confidence.py on {len(walks)} walks ({len(rows)} values); log odds.\n" + yaml.safe_dump(data, sort_keys=False))
        print("written:", path.name)


if __name__ == "__main__":
    main()
