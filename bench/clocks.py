"""Measures and fits the matching of photos: 1,000 random walks, or the example walks with known truth.

    python bench/clocks.py                        # the tables of docs/photo-matching.md, written into it
    python bench/clocks.py --walks 200 --print    # fewer walks, printed only
    python bench/clocks.py --built DIR            # built example walks (truth.json): photos right, offsets
    python bench/clocks.py --fit DIR              # fit [shots] and [strays] to built walks and random ones
    python bench/clocks.py --speed                # 5,000 photos against ten hours of talk
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # runs from a checkout, installed or not

from built import load_built
from intake.matching.clocks import estimate_offsets
from intake.matching.coefficients import Coefficients, load
from intake.matching.photos import chances_of, match_photos, place_shots
from intake.matching.types import ClockOffset
from simulate import Case, make_case

DOC = Path(__file__).resolve().parent.parent / "docs" / "photo-matching.md"
BEGIN, END = "<!-- measured: begin -->", "<!-- measured: end -->"
BINS = ((1, 3), (4, 7), (8, 15), (16, 31), (32, 63), (64, 10_000))


@dataclass(frozen=True)
class Result:
    """What came out for one walk."""

    dated: int
    photos: int
    right: int
    right_given: int                   # right when the true offset is given
    flagged: int
    silent: int                        # wrong and not flagged
    error_s: float
    width_s: float
    inside: bool
    known: bool
    kind: str
    confidences: tuple[tuple[float, bool, bool], ...]     # confidence, right, flagged
    kinds: tuple[str, ...] = ()                           # what sort of picture each is
    known_person_error_s: float = 0.0                     # of the estimate when the photographer's delay is given
    on_time: tuple[bool, ...] = ()                        # right when offset and delay are given


def judge(case: Case, c: Coefficients) -> Result:
    """Estimate and match one walk, and hold it against the truth."""
    offsets = estimate_offsets(case.photos, case.timeline, coefficients=c)
    matches = match_photos(case.photos, case.timeline, offsets, coefficients=c)
    o = offsets[0]
    given = ClockOffset(o.camera, case.offset_s, case.offset_s - 0.3, case.offset_s + 0.3,
                        drift_s_per_h=case.drift_s_per_h, drift_from=case.middle_s)
    person = _of_person(case, c)
    best = match_photos(case.photos, case.timeline, [given], coefficients=person)
    ceiling = estimate_offsets(case.photos, case.timeline, coefficients=person)[0] if case.lag else o
    marks = tuple((m.confidence, m.unit == case.units[m.photo], bool(m.reasons)) for m in matches)
    truth = _truth(case, o)
    return Result(
        dated=o.photos, photos=len(matches), right=sum(ok for _, ok, _ in marks),
        right_given=sum(m.unit == case.units[m.photo] for m in best), flagged=sum(f for *_, f in marks),
        silent=sum(not ok and not f for _, ok, f in marks), error_s=abs(o.offset_s - truth), width_s=o.high - o.low,
        inside=o.low <= truth <= o.high, known=o.known, kind=case.kind, confidences=marks,
        kinds=tuple(case.kinds.get(m.photo, "") for m in matches),
        known_person_error_s=abs(ceiling.offset_s - _truth(case, ceiling)),
        on_time=tuple(m.unit == case.units[m.photo] for m in best))


def _truth(case: Case, o: ClockOffset) -> float:
    return case.offset_s + case.drift_s_per_h * (o.drift_from - case.middle_s) / 3600


def _of_person(case: Case, c: Coefficients) -> Coefficients:
    """The coefficients of somebody who knows this photographer's delay and how regular it is: a ceiling."""
    if case.lag is None:
        return c
    usual, spread = case.lag
    return c.with_changes(shots__lags=[usual], shots__lag_weights=[1.0], shots__after_sd=max(0.5, usual * spread),
                          shots__after_sd_per_lag=0.0)


def run(walks: int, c: Coefficients, *, first: int = 0) -> list[Result]:
    """Judge `walks` random walks."""
    cases = (make_case(first + seed) for seed in range(walks))
    return [judge(case, c) for case in cases if any(p.taken_at for p in case.photos)]


def share(values: Iterable[bool]) -> str:
    """A share as a percentage, or "-" of nothing."""
    values = list(values)
    return f"{100 * sum(values) / len(values):.1f}" if values else "-"


def tables(results: Sequence[Result]) -> str:
    """The measured tables as Markdown."""
    lines = ["| dated photos | walks | photos right % | offset and habit given % | flagged % | silently wrong % | "
             "cannot tell % | offset error, median s | 90 % s | within 2 s % | habit given: within 2 s % | "
             "of known: within 2 s % | of known: > 10 s % | interval holds truth % |",
             "| --- " * 14 + "|"]
    for lo, hi in BINS:
        rows = [r for r in results if lo <= r.dated <= hi]
        if rows:
            lines.append(_row(f"{lo}-{hi}" if hi < 10_000 else f"{lo}+", rows))
    lines += [_row("8 and more", [r for r in results if r.dated >= 8]), _row("all", results), ""]
    lines += ["| true offset | walks | photos right % | cannot tell % | within 2 s % |", "| --- " * 5 + "|"]
    for kind in ("right", "seconds", "hours", "anything"):
        rows = [r for r in results if r.kind == kind and r.dated >= 8]
        lines.append(f"| {kind} | {len(rows)} | {_photos_right(rows)} | {share(not r.known for r in rows)} | "
                     f"{share(r.error_s <= 2 for r in rows)} |")
    return "\n".join([*lines, "", *_sorts(results), "", *_calibration(results)])


def _sorts(results: Sequence[Result]) -> list[str]:
    """Errors by the sort of picture."""
    found: dict[str, list[tuple[bool, bool, bool]]] = {}
    for r in results:
        for kind, (_, ok, flagged), best in zip(r.kinds, r.confidences, r.on_time, strict=True):
            found.setdefault(kind, []).append((ok, flagged, best))
    total = sum(r.photos for r in results)
    lines = ["| sort of picture | of all % | right % | offset and habit given % | silently wrong, of all photos % |",
             "| --- " * 5 + "|"]
    for kind, own in sorted(found.items(), key=lambda item: -len(item[1])):
        lines.append(f"| {kind} | {100 * len(own) / total:.1f} | {share(ok for ok, *_ in own)} | "
                     f"{share(best for *_, best in own)} | "
                     f"{100 * sum(not ok and not flagged for ok, flagged, _ in own) / total:.2f} |")
    return lines


def _photos_right(rows: Sequence[Result]) -> str:
    photos = sum(r.photos for r in rows)
    return f"{100 * sum(r.right for r in rows) / photos:.1f}" if photos else "-"


def _row(name: str, rows: Sequence[Result]) -> str:
    photos = sum(r.photos for r in rows)
    known = [r for r in rows if r.known]
    errors = np.array([r.error_s for r in rows])
    return (f"| {name} | {len(rows)} | {_photos_right(rows)} | "
            f"{100 * sum(r.right_given for r in rows) / photos:.1f} | "
            f"{100 * sum(r.flagged for r in rows) / photos:.1f} | {100 * sum(r.silent for r in rows) / photos:.2f} | "
            f"{share(not r.known for r in rows)} | "
            f"{np.median(errors):.1f} | {np.quantile(errors, 0.9):.1f} | {share(r.error_s <= 2 for r in rows)} | "
            f"{share(r.known_person_error_s <= 2 for r in rows)} | {share(r.error_s <= 2 for r in known)} | "
            f"{share(r.error_s > 10 for r in known)} | "
            f"{share(r.inside for r in rows)} |")


def _calibration(results: Sequence[Result]) -> list[str]:
    marks = np.array([(p, ok) for r in results for p, ok, _ in r.confidences])
    edges = [0, 0.3, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 0.98, 1.0001]
    lines = ["| confidence | photos | mean said % | right % |", "| --- " * 4 + "|"]
    off = 0.0
    for a, b in pairwise(edges):
        own = marks[(marks[:, 0] >= a) & (marks[:, 0] < b)]
        if len(own):
            said, right = own.mean(axis=0)
            off += abs(said - right) * len(own)
            lines.append(f"| {a:g}-{min(b, 1):g} | {len(own)} | {100 * said:.1f} | {100 * right:.1f} |")
    return [*lines, "", f"Mean distance between said and right over these bins: {100 * off / len(marks):.1f} points."]


# ---------------------------------------------------------------- fitting

FITTED: dict[str, tuple[float, float]] = {       # allowed range; moved in steps by factor
    "shots__after_sd": (0.3, 3), "shots__after_sd_per_lag": (0.15, 0.8),
    "shots__after_weight": (0.4, 0.9), "shots__early_weight": (0.02, 0.3),
    "shots__early_scale": (1.5, 9), "shots__broad_scale": (4, 20), "shots__name_top": (0.6, 0.96),
    "shots__name_rate": (0.7, 5), "shots__name_again": (0.3, 1.0), "shots__close_top": (0.2, 0.9),
    "shots__close_rate": (0.2, 2), "shots__close_scale": (0.6, 5), "shots__close_speech_scale": (0.4, 6),
    "shots__close_tail_weight": (0.03, 0.5), "shots__close_tail_scale": (3, 20), "shots__detail_floor": (0.03, 0.4),
    "strays__share": (0.01, 0.15), "strays__aside_factor": (1, 12), "strays__talk_factor": (0.05, 1),
    "strays__cue_before": (1, 5), "posterior__match_temper": (0.5, 1.3),
}


def log_score(cases: Sequence[Case], c: Coefficients) -> float:
    """Mean log chance given to each photo's true unit, the offset being known to half a second: greater is better."""
    from intake.matching.cameras import cameras
    total, photos = 0.0, 0
    for case in cases:
        for camera in cameras(case.photos, case.timeline):
            o = ClockOffset(camera.name, case.offset_s, case.offset_s - 1, case.offset_s + 1,
                            drift_s_per_h=case.drift_s_per_h, drift_from=case.middle_s)
            places = [p for p in place_shots(camera, case.timeline, o) if not p.lost]
            for place, chance in zip(places, chances_of(places, case.timeline, o, c), strict=True):
                total += np.log(max(chance.get(case.units[place.shot.photo.name], 0.0), 0.002))
                photos += 1
    return total / max(photos, 1)


def fit(built: Path, rounds: int = 3) -> Coefficients:
    """Coordinate search; random walks, of which there are many, weigh twice as much as built ones."""
    walks, random = load_built(built), [make_case(500_000 + i) for i in range(80)]
    c = load()

    def both(x: Coefficients) -> float:
        return log_score(walks, x) / 3 + log_score(random, x) * 2 / 3

    best = both(c)
    print(f"start {best:.4f}  built {log_score(walks, c):.4f}  random {log_score(random, c):.4f}")
    for step in [1.35, 1.15, 1.07][:rounds]:
        for name, (low, high) in FITTED.items():
            table, key = name.split("__")
            value = getattr(c, table)[key]
            for trial in (value * step, value / step):
                new = c.with_changes(**{name: float(np.clip(trial, low, high))})
                score = both(new)
                if score > best + 1e-5:
                    best, c = score, new
                    print(f"{best:.4f}  {name} = {getattr(c, table)[key]:.3g}", flush=True)
    print(f"end {best:.4f}  built {log_score(walks, c):.4f}  random {log_score(random, c):.4f}")
    return c


def speed() -> None:
    """Time and memory for a very long capture."""
    import resource
    case = make_case(77, units=1100)
    begun, worked = time.perf_counter(), time.process_time()
    offsets = estimate_offsets(case.photos, case.timeline)
    middle = time.perf_counter()
    match_photos(case.photos, case.timeline, offsets)
    done = time.perf_counter()
    print(f"{len(case.photos)} photos, {case.timeline.end / 3600:.1f} h: offset {middle - begun:.1f} s, "
          f"matching {done - middle:.1f} s (processor {time.process_time() - worked:.1f} s), "
          f"most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024} MB")
    print(offsets[0], "truth", case.offset_s, case.drift_s_per_h)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--walks", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0, help="first random seed")
    parser.add_argument("--print", action="store_true", dest="only_print")
    parser.add_argument("--built", type=Path)
    parser.add_argument("--fit", type=Path)
    parser.add_argument("--speed", action="store_true")
    args = parser.parse_args()
    if args.speed:
        return speed()
    if args.fit:
        c = fit(args.fit)
        for table in ("shots", "strays", "posterior"):
            print(f"[{table}]", *(f"{k} = {v:.3g}" if isinstance(v, float) else f"{k} = {v}"
                                  for k, v in getattr(c, table).items()), sep="\n")
        return None
    if args.built:
        results = [judge(case, load()) for case in load_built(args.built)]
        print(tables(results))
        return None
    begun = time.perf_counter()
    results = run(args.walks, load(), first=args.first)
    text = tables(results) + f"\n\n{len(results)} walks, {sum(r.photos for r in results)} photos."
    print(text, f"\n{time.perf_counter() - begun:.0f} s")
    if not args.only_print:
        head, rest = DOC.read_text(encoding="utf-8").split(BEGIN)
        DOC.write_text(f"{head}{BEGIN}\n{text}\n{END}{rest.split(END)[1]}", encoding="utf-8")
    return None


if __name__ == "__main__":
    main()
