"""How well the flags point, what the review costs, and which threshold the shop's own figures favour."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

from intake.records.answered import Tally
from intake.review.answers import ACCEPTED
from intake.review.effort import Spent

SILENT_COST = 10                               # a wrong value nobody notices costs more than ten looks (design)
FEWEST = 30                                    # values that a person went through before a threshold is proposed
GRID = tuple(n / 100 for n in range(40, 100))


@dataclass(frozen=True)
class Flags:
    """Of one field: flags that a person answered, how many of them were right to be raised, and what no flag told."""

    field: str
    raised: int
    right: int                                 # the value was wrong indeed
    unflagged_wrong: int


@dataclass(frozen=True)
class Keys:
    """What answers cost: how many, keys and letters for each, seconds for each."""

    answers: int
    keys: float
    letters: float
    seconds: float                             # the middle one


@dataclass(frozen=True)
class Threshold:
    """The proposed `review_below`, and what it would have meant on the records gone through."""

    value: float
    looks: int                                 # right values put before the reviewer for being unsure
    silent: int                                # wrong values not flagged
    of: int


def flags(tallies: Iterable[Tally]) -> list[Flags]:
    """The fields with any answer, those with the most unflagged errors first."""
    counts: dict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for tally in tallies:
        count = counts[tally.field]
        if tally.flagged and tally.verdict != "left":
            count[0] += tally.values
            count[1] += tally.values * (tally.verdict == "wrong")
        elif not tally.flagged:
            count[2] += tally.values * (tally.verdict == "wrong")
    rows = [Flags(field, *count) for field, count in counts.items() if any(count)]
    return sorted(rows, key=lambda row: (-row.unflagged_wrong, -row.raised, row.field))


def threshold(settled: Iterable[Tally], now: float) -> Threshold | None:
    """The threshold that would have cost least on the records gone through; None where they are too few.

    What a person left as it was in such a record counts as right. Values flagged for another reason than being
    unsure are flagged whatever the threshold, so they have no say.
    """
    counted = [t for t in settled if not t.flagged or t.only_unsure]
    total = sum(t.values for t in counted)
    if total < FEWEST:
        return None
    best = min((*GRID, round(now, 2)), key=lambda at: (_cost(counted, at), abs(at - now)))
    looks, silent = _outcome(counted, best)
    return Threshold(best, looks, silent, total)


def _cost(counted: Sequence[Tally], at: float) -> int:
    looks, silent = _outcome(counted, at)
    return looks + SILENT_COST * silent


def _outcome(counted: Sequence[Tally], at: float) -> tuple[int, int]:
    """Right values below the threshold, and wrong ones from it up."""
    looks = sum(t.values for t in counted if t.confidence < at and t.verdict != "wrong")
    silent = sum(t.values for t in counted if t.confidence >= at and t.verdict == "wrong")
    return looks, silent


def keys(spent: Iterable[Spent], *, accepted: bool) -> Keys | None:
    """What an accepted field cost, or a corrected one; None where there was none."""
    mine = [s for s in spent if (s.how == ACCEPTED) is accepted]
    if not mine:
        return None
    return Keys(len(mine), sum(s.keys for s in mine) / len(mine), sum(s.letters for s in mine) / len(mine),
                median(s.seconds for s in mine))


def seconds_a_unit(spent: Iterable[Spent]) -> tuple[int, float] | None:
    """How many records were worked on, and the seconds that the middle one took."""
    by_unit: dict[str, float] = defaultdict(float)
    for s in spent:
        by_unit[s.about] += s.seconds
    return (len(by_unit), median(by_unit.values())) if by_unit else None


def report(tallies: Sequence[Tally], settled: Sequence[Tally], spent: Sequence[Spent], now: float) -> list[str]:
    """The figures as lines of text."""
    rows = flags(tallies)
    raised, right = sum(r.raised for r in rows), sum(r.right for r in rows)
    if not raised and not any(r.unflagged_wrong for r in rows):
        return ["Nothing was reviewed yet. Begin with: intake review"]
    share = f" ({right / raised:.0%})" if raised else ""
    lines = [f"Flags answered: {raised}, of them right to be raised: {right}{share}",
             f"Unflagged fields that a person corrected: {sum(r.unflagged_wrong for r in rows)}", "",
             f"{'field':<14}{'flags':>6}{'right':>7}{'unflagged wrong':>17}"]
    lines += [f"{r.field:<14}{r.raised:>6}{r.right:>7}{r.unflagged_wrong:>17}" for r in rows]
    lines += ["", *_effort_lines(spent), *_threshold_lines(threshold(settled, now), now)]
    return lines


def _effort_lines(spent: Sequence[Spent]) -> list[str]:
    lines = []
    for accepted, name in ((True, "accepted"), (False, "corrected")):
        found = keys(spent, accepted=accepted)
        if found is not None:
            letters = f" and {found.letters:.1f} letters" if not accepted else ""
            lines.append(f"A field {name} ({found.answers}): {found.keys:.1f} keys{letters}, {found.seconds:.0f} s")
    by_unit = seconds_a_unit(spent)
    return lines + ([f"A unit ({by_unit[0]}): {by_unit[1]:.0f} s"] if by_unit else [])


def _threshold_lines(found: Threshold | None, now: float) -> list[str]:
    if found is None:
        return ["", f"Too little was reviewed to propose a threshold ({FEWEST} values are needed); it is {now:g}."]
    what = (f"{found.looks} right values would be shown for being unsure, "
            f"{found.silent} wrong ones would not be flagged, of {found.of} in the records gone through to the end")
    if abs(found.value - now) < 0.005:
        return ["", f"Threshold: {now:g} is right as it is: {what}."]
    return ["", f"Threshold: it is {now:g}; these figures favour {found.value:.2f}: {what}.",
            f"  To set it: review_below = {found.value:.2f} in config.toml"]
