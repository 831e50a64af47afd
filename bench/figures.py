"""Rates from counts, and the tables that show them. A rate over nothing is None (printed "-"), never 1 and never 0.

    headline      micro F1 over all scalar values and list items (strict keys)
    silent        wrong or spurious values of maker, model, serial, unit_type, location whose
                  field the unit's `review` does not name: share of such errors that are silent
    burden        share of the exported scalars that are flagged for review
    unflagged     share of the unflagged exported scalars that are right
    hands-free    share of gold scalars that came out right AND unflagged: what needed nobody.
                  Flagging everything brings silent errors to nought, and this to nought too.
    hedge         gold review entries that the export flags as well
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

from counting import Counts

Summary = dict[str, Any]


def rate(part: float, whole: float) -> float | None:
    """Part of a whole; None where there is no whole."""
    return part / whole if whole else None


def prf(tp: int, fp: int, fn: int) -> dict[str, float | None]:
    """Precision, recall and F1."""
    return {"precision": rate(tp, tp + fp), "recall": rate(tp, tp + fn), "f1": rate(2 * tp, 2 * tp + fp + fn)}


def summary(counts: Counts) -> Summary:
    """All rates of some counts."""
    units, review, silent = counts["units"], counts["review"], counts["silent"]
    scalars, strict = counts["scalars"].values(), [t["strict"] for t in counts["lists"].values()]
    right = sum(t["right"] for t in scalars)
    extra = sum(t["wrong"] + t["spurious"] for t in scalars)
    lost = sum(t["wrong"] + t["missing"] for t in scalars)
    tp, fp, fn = (sum(t[k] for t in strict) for k in ("tp", "fp", "fn"))
    fields = prf(right + tp, extra + fp, lost + fn)
    return {
        "headline_f1": fields["f1"],
        "fields": fields,
        "units": prf(units["matched"], units["predicted"] - units["matched"], units["gold"] - units["matched"]),
        "scalars": {f: {"accuracy": rate(t["right"], t["gold"]), **t} for f, t in counts["scalars"].items()},
        "all_scalars": prf(right, extra, lost),
        "lists": {f: {k: {**prf(**t), **t} for k, t in keys.items()} for f, keys in counts["lists"].items()},
        "all_lists": prf(tp, fp, fn),
        "photo_accuracy": rate(counts["photos"]["right"], counts["photos"]["gold"]),
        "silent_error_rate": rate(silent["silent"], silent["errors"]),
        "silent_errors_per_value": rate(silent["silent"], silent["predicted"]),
        "review_burden": rate(review["flagged"], review["predicted"]),
        "review_burden_lists": rate(review["lists_flagged"], review["lists"]),
        "flags_per_unit": rate(review["flags"], units["predicted"]),
        "unflagged_precision": rate(review["unflagged_right"], review["unflagged_right"] + review["unflagged_wrong"]),
        "hands_free": rate(review["unflagged_right"], review["gold"]),
        "hedge_recall": rate(counts["hedges"]["flagged"], counts["hedges"]["gold"]),
        "unknown_makers_flagged": rate(counts["unknown_makers"]["flagged"], counts["unknown_makers"]["gold"]),
        "resightings": {"precision": rate(counts["resightings"]["right"], counts["resightings"]["predicted"]),
                        "recall": rate(counts["resightings"]["right"], counts["resightings"]["gold"])},
    }


def _accuracy(field: str) -> Callable[[Summary], float | None]:
    return lambda s: s["scalars"][field]["accuracy"]


def _f1(field: str, key: str = "strict") -> Callable[[Summary], float | None]:
    return lambda s: s["lists"][field][key]["f1"]


COLUMNS: Sequence[tuple[str, Callable[[Summary], float | None]]] = (
    ("F1", lambda s: s["headline_f1"]), ("unitP", lambda s: s["units"]["precision"]),
    ("unitR", lambda s: s["units"]["recall"]), ("type", _accuracy("unit_type")), ("maker", _accuracy("maker")),
    ("model", _accuracy("model")), ("serial", _accuracy("serial")), ("loc", _accuracy("location")),
    ("stage", _accuracy("stage")), ("issue", _f1("issues")), ("issueL", _f1("issues", "lenient")),
    ("serv", _f1("service")), ("act", _f1("actions")), ("acc", _f1("accessories")), ("meas", _f1("measurements")),
    ("photo", lambda s: s["photo_accuracy"]), ("silent", lambda s: s["silent_error_rate"]),
    ("burden", lambda s: s["review_burden"]), ("unflP", lambda s: s["unflagged_precision"]),
    ("hands", lambda s: s["hands_free"]), ("hedge", lambda s: s["hedge_recall"]),
)


def show(value: float | None) -> str:
    """A rate in percent."""
    return "-" if value is None else f"{100 * value:.1f}"


def table(rows: Sequence[tuple[str, Summary]]) -> str:
    """One line a walk, the figures of COLUMNS side by side."""
    wide = max(len(name) for name, _ in rows) + 1
    head = " " * wide + "".join(f"{heading:>7}" for heading, _ in COLUMNS)
    lines = (f"{name:<{wide}}" + "".join(f"{show(get(s)):>7}" for _, get in COLUMNS) for name, s in rows)
    return "\n".join([head, *lines])


def markdown(rows: Iterable[tuple[str, Summary]]) -> str:
    """The same as a Markdown table."""
    head = ["walk", *(heading for heading, _ in COLUMNS)]
    body = [[name, *(show(get(s)) for _, get in COLUMNS)] for name, s in rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in [head, ["---", *("--:" for _ in COLUMNS)], *body])


def details(s: Summary) -> str:
    """Every field's own figures."""
    lines = [f"{'scalar':<14}{'accuracy':>9}{'gold':>7}{'right':>7}{'wrong':>7}{'missing':>9}{'spurious':>9}"]
    lines += [f"{f:<14}{show(t['accuracy']):>9}{t['gold']:>7}{t['right']:>7}{t['wrong']:>7}"
              f"{t['missing']:>9}{t['spurious']:>9}" for f, t in s["scalars"].items()]
    lines += ["", f"{'list':<14}{'key':<9}{'P':>7}{'R':>7}{'F1':>7}{'tp':>6}{'fp':>6}{'fn':>6}"]
    lines += [f"{f:<14}{k:<9}{show(t['precision']):>7}{show(t['recall']):>7}{show(t['f1']):>7}"
              f"{t['tp']:>6}{t['fp']:>6}{t['fn']:>6}" for f, keys in s["lists"].items() for k, t in keys.items()]
    return "\n".join(lines)


def closing(counts: Counts) -> str:
    """The counts behind the rates, in words, and the headline."""
    s, units, silent, review = summary(counts), counts["units"], counts["silent"], counts["review"]
    seen = counts["resightings"]
    return "\n".join([
        f"units {units['matched']} of {units['gold']} found, {units['predicted'] - units['matched']} spurious; "
        f"photos {counts['photos']['right']} of {counts['photos']['gold']}",
        f"silent errors {silent['silent']} of {silent['errors']} errors in {silent['predicted']} identity values; "
        f"flagged {review['flagged']} of {review['predicted']} scalars, {review['lists_flagged']} of {review['lists']} "
        f"filled lists, {s['flags_per_unit'] or 0:.2f} flags a unit",
        f"hedges {counts['hedges']['flagged']} of {counts['hedges']['gold']}; "
        f"unknown makers flagged {counts['unknown_makers']['flagged']} of {counts['unknown_makers']['gold']}; "
        f"resightings {seen['right']} of {seen['gold']} ({seen['predicted']} claimed)",
        f"HEADLINE micro F1 over all field values: {show(s['headline_f1'])}",
    ])
