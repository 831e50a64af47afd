"""Several units brought in at once: listed in one breath, announced by their number, or one as the twin of another."""

from __future__ import annotations

import itertools
from dataclasses import replace

from intake.language.judging import Judging
from intake.language.names import Naming
from intake.language.namings import PART_LIKE, said_counts
from intake.language.numbers import cardinal
from intake.language.slots import announced
from intake.language.topics import Sketch


class Announcing(Judging):
    """Makes the units that a sentence announces; their own talk comes later."""

    def _announcement(self, first: int, last: int) -> list[Sketch]:
        """ "on here I've got a transport, headphones, a streamer and a turntable": several units named in one breath."""
        found = self._named_in(first, last)
        listed = [
            n
            for n in found
            if n.types
            and not self._refers(n, self.reading.clause_of[n.start])
            and (any(m.canonical not in PART_LIKE for m in n.types) or n.determiner in ("a", "an") or n.count)
        ]
        others = [n for n in found if all(n is not k for k in listed)]
        if len(listed) < 2 or any(n.types or n.models for n in others):
            return []
        if any(b.start - a.end > 8 for a, b in itertools.pairwise(listed)) or any(
            self._types_agree(b.types, {m.canonical for m in a.types} | {t for m in a.types for t in m.could_be})
            for a, b in itertools.pairwise(listed)
        ):
            return []
        if any(n.determiner in ("the", "that", "this") for n in listed) or len({n.unit_type for n in listed}) < len(
            listed
        ):
            return []
        clause = self.reading.clauses[first]
        end = self.reading.clauses[last].end
        if self.reading.cues_in(clause.start, end, "aside") or self.story:
            return []
        if not self.reading.cues_in(clause.start, end, "introduces", "opens"):
            return []
        units = []
        makers = [m for n in others for m in n.makers]
        for naming in listed:
            unit = Sketch(
                len(self.units), [naming], announced=True, group_maker=makers[0] if len(makers) == 1 else None
            )
            self.units.append(unit)
            units.append(unit)
        return units

    def _announces_slots(self, first: int, last: int) -> bool:
        """ "Three integrated amps to start, three different ones": as many units, told of in turn."""
        sentence = self.text.sentence_of[self.reading.clauses[first].start]
        namings_here = [
            n for n in self._named_in(first, last) if not self._refers(n, self.reading.clause_of[n.start])
        ]
        makers = {m.canonical for n in namings_here for m in n.makers}
        if any(n.models for n in namings_here if not n.count) or len(makers) > 1:
            return False
        count = announced(self.reading, sentence) if not self.story else 0
        if not count or self.slots:
            return False
        kinds = [n for n in namings_here if n.types]
        for _ in range(count):
            unit = Sketch(len(self.units), announced=True, slot=True)
            if kinds:
                first_kind = kinds[0]
                unit.namings.append(
                    Naming(first_kind.start, first_kind.end, list(first_kind.types), [], list(first_kind.models))
                )
            unit.group_maker = next((m for n in namings_here for m in n.makers), None)
            self.units.append(unit)
            self.slots.append(unit)
        for c in range(first, last + 1):
            self.topics.announced_in[c] = [u.n for u in self.slots]
        self.current, self.story, self.lead = None, False, None
        self.before_slots = True
        return True

    def _take_slot(self) -> None:
        unit = self.slots.pop(0)
        unit.slot = unit.announced = False
        self._close_lead(self.before_break)
        self.current, self.before_slots = unit, False

    def _twin(self, start: int, end: int) -> bool:
        """ "One underneath is its twin, same maker, same model": another of the unit at hand."""
        first, last = self.reading.clause_of[start], self.reading.clause_of[end - 1]
        if self.story or self.current is None or not self.reading.cues_in(start, end, "twin"):
            return False
        if any(n.makers or n.models for n in self._named_in(first, last)):
            return False
        old = self.current
        if not (old.model_keys() and old.makers()):
            return False
        unit = Sketch(len(self.units), group_maker=old.group_maker)
        unit.namings = [replace(n, count=None) for n in old.namings if not n.count or n.models or n.makers]
        self.units.append(unit)
        self._close_lead(self.before_break)
        self.current = unit
        for c in range(first, last + 1):
            self._give(c, unit)
        return True

    def _told_of_all(self, naming: Naming, c: int) -> bool:
        """ "A tuner, an integrated and a phono stage. All three are Ostwick": the maker of all that were just announced."""
        if naming.types or naming.models or not naming.makers or self.current is not None:
            return False
        announced = {n for k in range(max(0, c - 4), c + 1) for n in self.topics.announced_in.get(k, [])}
        bare = [u for u in self.units if u.n in announced and u.announced and not u.makers()]
        if len(bare) < 2:
            return False
        for unit in bare:
            unit.group_maker = naming.makers[0]
        return True

    def _group_maker(self, start: int, end: int) -> None:
        """ "Stack, three pieces, all Halstrom": the maker holds for the next three."""
        makers = self.reading.within(start, end, "maker")
        words = [t.norm for t in self.text.tokens[start:end]]
        before = self.text.tokens[makers[0].start - 1].norm if makers and makers[0].start else ""
        if len(makers) != 1 or before != "all" or (self.current is not None and not self.current.makers()):
            return
        counts = said_counts(self.reading, start, end)
        number = next((cardinal([w]) for w in words if cardinal([w]) and cardinal([w])[0] > 1), None)  # type: ignore[index]
        self.maker_for = (makers[0], counts[0].quantity if counts else number[0] if number else 2)
        self._break()
