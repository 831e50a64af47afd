"""The lines of the report, as plain values: what arrived, moved, waits, is due, is needed, is missing."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from intake.records.cautions import Caution
from intake.records.types import Question
from intake.records.weekly import WeekWalk
from intake.report.weeks import Period


@dataclass(frozen=True)
class Quote:
    """The words behind a claim, and where they were said."""

    walk: str
    sighting: str
    recording: str
    start_s: float
    end_s: float
    words: str


@dataclass(frozen=True)
class Thing:
    """A unit as a line of the report names it."""

    id: str
    name: str
    unit_type: str | None
    serial: str | None
    place: str | None
    stage: str | None
    source: str | None
    whose: str                                         # "customer's", "stock", "not known"
    questions: int
    cautions: tuple[Caution, ...] = ()                 # told of this very unit; whatever was answered


@dataclass(frozen=True)
class Arrival:
    """A unit that a walk saw for the first time."""

    unit: Thing
    on: date
    quote: Quote | None


@dataclass(frozen=True)
class Move:
    """A unit that came to another stage. `way`: "on", "back", "stuck" (to waiting), "free" (from waiting)."""

    unit: Thing
    before: str
    after: str
    on: date
    way: str
    quote: Quote | None


@dataclass(frozen=True)
class Done:
    """A piece of work that ended, or an issue put right."""

    unit: Thing
    what: str
    kind: str                                          # "work", "issue"
    on: date
    quote: Quote | None


@dataclass(frozen=True)
class Wait:
    """A unit at a standstill, under one thing that it waits for; `first`: no walk knew it before it waited."""

    unit: Thing
    kind: str
    what: str | None
    since: date
    days: int
    first: bool
    to_do: tuple[str, ...]
    quote: Quote | None


@dataclass(frozen=True)
class Due:
    """Work with a date. `days`: until the last day it may mean (negative: overdue). `exact`: the day is known."""

    unit: Thing
    work: str
    due: str
    first: date
    last: date
    days: int
    exact: bool
    waiting_on: str | None
    stuck: bool
    quote: Quote | None


@dataclass(frozen=True)
class Needed:
    """One unit's need of a part. `waits`: the work is said to wait for it, so it may be ordered already."""

    unit: Thing
    work: str
    waits: bool
    since: date
    quote: Quote | None


@dataclass(frozen=True)
class PartToOrder:
    """A part, and the units that need it; the longest needed first."""

    part: str
    needs: tuple[Needed, ...]

    @property
    def waiting(self) -> int:
        """Units whose work waits for it."""
        return len({need.unit.id for need in self.needs if need.waits})

    @property
    def units(self) -> int:
        """Units that need it."""
        return len({need.unit.id for need in self.needs})

    @property
    def models(self) -> tuple[tuple[str, int], ...]:
        """For which models, and how many of each."""
        names = {need.unit.id: need.unit.name for need in self.needs}
        return tuple(Counter(names.values()).items())


@dataclass(frozen=True)
class NotYet:
    """A unit whose job needs a part but waits for something else first, so that the part is not to order yet."""

    unit: Thing
    part: str
    work: str
    waiting_on: str
    since: date
    quote: Quote | None


@dataclass(frozen=True)
class Missing:
    """A unit that should have been seen; `sold`: it was listed, so it may have left the shop."""

    unit: Thing
    place: str
    last_seen: date
    days: int
    sold: bool


@dataclass(frozen=True)
class Owned:
    """Numbers of units of one kind of owner; `missing` and `sold` are those not seen, as in `Missing`."""

    whose: str
    on_file: int
    arrived: int
    moved: int
    finished: int
    stuck: int
    overdue: int
    missing: int
    sold: int


@dataclass(frozen=True)
class Keeping:
    """A customer's unit in the shop, and since when."""

    unit: Thing
    since: date
    stage_since: date | None
    days: int


@dataclass(frozen=True)
class Sure:
    """How sure the records of the period's walks are. Shares are of `values`; None where there are none."""

    values: int
    flagged: int
    accepted: int
    corrected: int
    decided: int

    @property
    def reviewed(self) -> int:
        """Values that a person accepted or corrected."""
        return self.accepted + self.corrected

    def share(self, number: int) -> float | None:
        """A number as a share of all values."""
        return number / self.values if self.values else None


@dataclass(frozen=True)
class WeekPoint:
    """One week in the charts: what came in, and how many units were stuck at its end."""

    week: str
    arrived: int
    stuck: int


@dataclass(frozen=True)
class Week:
    """The whole report."""

    period: Period
    walks: tuple[WeekWalk, ...]
    walk_before: tuple[str, date] | None
    arrived: tuple[Arrival, ...]
    by_source: tuple[tuple[str, int], ...]
    by_type: tuple[tuple[str, int], ...]
    moved: tuple[Move, ...]
    finished: tuple[Move, ...]
    done: tuple[Done, ...]
    stuck: tuple[tuple[str, tuple[Wait, ...]], ...]    # kind -> waits, oldest first
    work_waits: tuple[Wait, ...]                       # single pieces of work of units that are worked on
    overdue: tuple[Due, ...]
    due: tuple[Due, ...]
    dated: tuple[Due, ...]                             # all open work with a date, for calendars
    parts: tuple[PartToOrder, ...]
    not_yet: tuple[NotYet, ...]                        # left out of `parts`
    owned: tuple[Owned, ...]
    customers: tuple[Keeping, ...]
    customers_seen: int                                # those of `customers`, and finished repairs
    places: tuple[str, ...]
    unseen: tuple[Missing, ...]
    question_counts: tuple[tuple[str, int], ...]
    questions: tuple[tuple[Thing | None, Question], ...]
    sure: Sure
    chart: tuple[WeekPoint, ...]
    ages: tuple[tuple[str, int], ...]                  # of the stuck units

    @property
    def missing(self) -> tuple[Missing, ...]:
        """Units not seen that are expected."""
        return tuple(line for line in self.unseen if not line.sold)

    @property
    def perhaps_sold(self) -> tuple[Missing, ...]:
        """Units not seen that were listed before."""
        return tuple(line for line in self.unseen if line.sold)

    @property
    def stuck_units(self) -> tuple[Wait, ...]:
        """Each stuck unit once, the longest first."""
        seen: dict[str, Wait] = {}
        for _, group in self.stuck:
            for wait in group:
                seen.setdefault(wait.unit.id, wait)
        return tuple(sorted(seen.values(), key=lambda wait: (-wait.days, in_order(wait.unit.id))))


def units_of(lines: Iterable[Arrival | Move | Done | Due | Needed | NotYet]) -> tuple[str, ...]:
    """The ids of the units of some lines, each once, in the order of the lines."""
    return tuple(dict.fromkeys(line.unit.id for line in lines))


def in_order(unit: str) -> tuple[int, str]:
    """Sorts unit ids as numbers: U0002 before U0010 before U10000."""
    return len(unit), unit
