"""What needs a look, in which order, and why; no terminal, no database.

Fields come in rounds (what the thing is; where it stands; the rest). The units come by the first round that they are
asked about in, then by their dearest question there. Once a unit is in hand all its questions are put, round after
round: its words and photos are looked at once, and to come back for a cheap question would cost more than the answer.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

from intake.records.heads import LINK, Head


@dataclass(frozen=True)
class Costs:
    """What a silent error costs, by field, and in which round the field is asked (costs.yaml).

    `together`: of fields that one look settles, the name that they share.
    """

    cost: Mapping[str, float]
    round: Mapping[str, int]
    together: Mapping[str, str]
    least: float
    blank: float
    rounds: int

    def loss(self, head: Head) -> float:
        """The loss to expect if nobody looks: the chance of an error times its cost.

        While nobody answers, a record counts as another thing than the unit it may be: the likelier that is, the worse.
        """
        share = self.blank if head.blank else 1.0
        wrong = head.confidence if head.kind == LINK else 1.0 - head.confidence
        return max(self.least, wrong) * self.cost.get(head.field, 1.0) * share


@cache
def costs() -> Costs:
    """The costs as shipped."""
    import yaml

    data = yaml.safe_load(resources.files("intake.review").joinpath("costs.yaml").read_text("utf-8"))
    rounds = [dict(fields) for fields in data["rounds"]]
    return Costs(cost={name: float(cost) for fields in rounds for name, cost in fields.items()},
                 round={name: number for number, fields in enumerate(rounds) for name in fields},
                together={name: " ".join(fields) for fields in data["together"] for name in fields},
                 least=float(data["least"]), blank=float(data["blank"]), rounds=len(rounds))


# A question's place in the order: its unit's first round, and dearest loss in it, negative; the record; its own round;
# the dearest loss of those that are asked together with it, negative, and what they are called; its own loss, negative;
# what tells it from others; and the question itself.
Place = tuple[int, float, str, int, float, str, float, str, str, int, Head]


class Queue:
    """Open questions in order. Answers take some out and put some in without sorting all the others again."""

    def __init__(self, heads: Iterable[Head], costs: Costs) -> None:
        self.costs = costs
        self._dearest: dict[str, tuple[int, float]] = {}
        self._neighbours: dict[tuple[str, str], float] = {}
        self._of_walk: dict[str, set[str]] = {}
        weighed = [(head, costs.loss(head)) for head in heads]
        self._note_dearest(weighed)
        self._order: list[Place] = [self._place(head, loss) for head, loss in weighed]
        self._order.sort()

    def __len__(self) -> int:
        return len(self._order)

    def __iter__(self) -> Iterator[Head]:
        return (place[-1] for place in self._order)

    def first(self) -> Head | None:
        """The question to begin with."""
        return self._at(0)

    def after(self, head: Head | None) -> Head | None:
        """The question that follows one (which may be answered and gone); None at the end."""
        return self.first() if head is None else self._at(bisect_right(self._order, self.place(head)))

    def before(self, head: Head | None) -> Head | None:
        """The question ahead of one; None at the beginning."""
        at = len(self._order) if head is None else bisect_left(self._order, self.place(head))
        return self._at(at - 1) if at else None

    def position(self, head: Head) -> int:
        """How many stand before it."""
        return bisect_left(self._order, self.place(head))

    def has(self, head: Head) -> bool:
        """Whether this very question is still open."""
        at = self._at(self.position(head))
        return at is not None and (at.kind, at.about, at.name, at.id) == (head.kind, head.about, head.name, head.id)

    def about(self, about: str) -> list[Head]:
        """A record's questions (or a walk's own), round after round, the dearest first."""
        start, end = self._range(about)
        return [place[-1] for place in self._order[start:end]]

    def replace(self, walk: str, heads: Iterable[Head]) -> None:
        """After a change: these are all the questions that a walk has now."""
        for about in self._of_walk.get(walk, ()):
            start, end = self._range(about)
            del self._order[start:end]
        weighed = [(head, self.costs.loss(head)) for head in heads]
        self._note_dearest(weighed)
        for head, loss in weighed:
            insort(self._order, self._place(head, loss))

    def place(self, head: Head) -> Place:
        """Where a question stands, or stood."""
        return self._place(head, self.costs.loss(head))

    def _place(self, head: Head, loss: float) -> Place:
        number = self.costs.round.get(head.field, self.costs.rounds)
        first, dearest = self._dearest.get(head.about, (number, -loss))
        shared = self.costs.together.get(head.field)
        among = loss if shared is None else self._neighbours.get((head.about, shared), loss)
        return (first, dearest, head.about, number, -among, shared or head.name, -loss, head.kind, head.name, head.id,
                head)

    def _range(self, about: str) -> tuple[int, int]:
        """Where a record's questions stand."""
        if about not in self._dearest:
            return 0, 0
        key = (*self._dearest[about], about)
        start = end = bisect_left(self._order, key)    # a shorter tuple comes before all that begin with it
        while end < len(self._order) and self._order[end][:3] == key:
            end += 1
        return start, end

    def _note_dearest(self, weighed: Iterable[tuple[Head, float]]) -> None:
        """A unit's dearest question fixes its place; it keeps that while its questions are answered one by one."""
        rounds, last, of_walk, dearest = self.costs.round, self.costs.rounds, self._of_walk, self._dearest
        for head, loss in weighed:
            mine = (rounds.get(head.field, last), -loss)
            held = dearest.get(head.about)
            if held is None or mine < held:
                dearest[head.about] = mine
            shared = self.costs.together.get(head.field)
            if shared is not None:
                self._neighbours[head.about, shared] = max(loss, self._neighbours.get((head.about, shared), loss))
            about = of_walk.get(head.walk)
            if about is None:
                about = of_walk[head.walk] = set()
            about.add(head.about)

    def _at(self, at: int) -> Head | None:
        return self._order[at][-1] if 0 <= at < len(self._order) else None
