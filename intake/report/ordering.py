"""Which parts are to order, added up over units; and which are not yet, as something else must come first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from intake.records.types import ActionLine
from intake.records.weekly import NEEDS_PART
from intake.report import waits
from intake.report.lines import Needed, NotYet, PartToOrder, Quote, Thing, in_order


class Orders:
    """Adds up what open work needs. `terms`: the words for parts; `thing`, `work`, `said`: how a line tells its job."""

    def __init__(self, terms: Collection[str], kind: Callable[[str | None], str], *, thing: Callable[[str], Thing],
                 work: Callable[[ActionLine], str], said: Callable[[ActionLine], Quote | None]) -> None:
        self._terms, self._kind = terms, kind
        self._thing, self._work, self._said = thing, work, said
        self._needs: dict[str, dict[str, Needed]] = {}
        self._later: dict[tuple[str, str], NotYet] = {}

    def add(self, actions: Iterable[ActionLine]) -> Orders:
        """Take open work in; a unit counts once for a part, as waiting for it where any of its jobs does."""
        for action in actions:
            if action.waiting_on and self._kind(action.waiting_on) == "part":
                self._need(waits.part_named(action.waiting_on, self._terms), action, waiting=True)
            elif action.work in NEEDS_PART:
                part = action.part or waits.PART_OF_WORK.get(action.work) or "part not named"
                if action.waiting_on:
                    self._wait(part, action, action.waiting_on)
                else:
                    self._need(part, action, waiting=False)
        return self

    def _need(self, part: str, action: ActionLine, *, waiting: bool) -> None:
        need = Needed(self._thing(action.unit), self._work(action), waiting, action.since, self._said(action))
        before = self._needs.setdefault(part, {}).get(action.unit)
        if before is None or need.waits > before.waits:
            self._needs[part][action.unit] = need

    def _wait(self, part: str, action: ActionLine, waiting_on: str) -> None:
        self._later.setdefault((part, action.unit), NotYet(
            self._thing(action.unit), part, self._work(action), waiting_on, action.since, self._said(action)))

    def to_order(self) -> list[PartToOrder]:
        """The parts, those that most units need first; under each the unit that has needed it longest first."""
        found = [PartToOrder(part, tuple(sorted(by_unit.values(), key=lambda n: (n.since, in_order(n.unit.id)))))
                 for part, by_unit in self._needs.items()]
        return sorted(found, key=lambda one: (-one.units, one.part))

    def not_yet(self) -> list[NotYet]:
        """Parts of units whose job waits for something else; none that is to order for the same unit anyway."""
        found = [line for (part, unit), line in self._later.items() if unit not in self._needs.get(part, {})]
        return sorted(found, key=lambda one: (one.since, in_order(one.unit.id), one.part))
