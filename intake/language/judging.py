"""The verdict on each naming: a new unit, the one at hand, back to an earlier one, or nothing.

The weights are plain numbers, chosen on walks written for this project.
"""

from __future__ import annotations

import itertools

from intake.language.agreement import Agreement
from intake.language.names import Naming
from intake.language.namings import HOLDERS, PART_LIKE, counted_after
from intake.language.topics import Sketch

WEIGHTS = {
    "maker": 1.2,
    "sound-alike maker": 0.8,
    "model": 1.4,
    "code": 0.6,
    "model alone": -0.3,
    "type": 1.1,
    "part-like type": 0.3,
    "count": 0.5,
    "held": 0.7,
    "indefinite": 0.5,
    "strong intro": 1.3,
    "weak intro": 0.5,
    "early": 0.4,
    "pause": 0.4,
    "new place": 0.3,
    "compared": -1.7,
    "other's": -1.6,
    "negated": -2.5,
    "to do": -1.5,
    "definite type alone": -0.9,
    "first of its kind": 0.3,
    "aside": -3.2,
    "story": -1.8,
    "standalone": 1.6,
    "past": -0.6,
    "after a break": 1.0,
}
NEW_FROM = 1.7
IS_FROM = 0.4  # for what the thing pointed at is said to be


class Judging(Agreement):
    """Weighs what speaks for and against a new unit."""

    def _judge(self, naming: Naming, c: int, first: int, aside: bool) -> tuple[str, Sketch | None]:
        if self.maker_for and any(m is self.maker_for[0] for m in naming.makers) and not (naming.types or naming.models):
            return "ignore", None                # "a stack of three, all Kellstrom": no unit yet
        if self._refers(naming, c) or self._gone(naming, c):
            return "ignore", None
        score = self._strength(naming, c, first, aside)
        repaired = self._repair_before(naming)
        current = self.current
        back = self._called_back(naming, c)
        if back is not None and (not repaired or self._exclaims(naming)):
            return "return", back
        if repaired and current is not None and not self._agrees(naming, current):
            other = max((u for u in self.units if u is not current), key=lambda u: self._fit(naming, u), default=None)
            if other is not None and self._fit(naming, other) >= 2.5:
                return "return", other           # "Hey, wait. The Halstrom power amp ..."
        if (
            current is not None
            and (repaired or self._agrees(naming, current))
            and not self._anew(naming, current, c, score)
        ):
            if repaired and not self._agrees(naming, current):
                return ("same", current) if not self._intro(naming, c, strong=True) else ("new", None)
            return ("same", current) if not (self.story or aside) else ("ignore", None)
        earlier = self._earlier(naming, c)
        if earlier is not None and (score > 0.2 or earlier.announced):
            return "return", earlier
        if score >= NEW_FROM or (score >= IS_FROM and self._is_another(naming, c)):
            return "new", None
        return "ignore", None

    def _is_another(self, naming: Naming, c: int) -> bool:
        """ "It's the porter's own CD player", where the unit at hand is a phono stage: then the talk has gone on to another."""
        if self.current is None or not naming.types or self.story or self._agrees(naming, self.current):
            return False
        if any(m.canonical in PART_LIKE or m.ambiguous for m in naming.types):
            return False
        clause = self.reading.clauses[c]
        pointed = [h for h in self.reading.cues_in(clause.start, naming.start, "deictic") if h.start - clause.start <= 2]
        contexts = self.reading.contexts
        return bool(pointed) and naming.start - pointed[0].end <= 4 and not (
            contexts.has(naming.start, "negated") or contexts.has(naming.start, "other", "hypothetical")
        )

    def _strength(self, naming: Naming, c: int, first: int, aside: bool) -> float:
        w, total = WEIGHTS, 0.0
        if naming.makers:
            total += w["maker"] if any(m.source != "sound" for m in naming.makers) else w["sound-alike maker"]
        if naming.models:
            total += w["model"] if any(h.names for h in naming.models) else w["code"]
            if not naming.makers and not naming.types:
                total += w["model alone"]
        if naming.types:
            total += (
                w["part-like type"] if all(m.canonical in PART_LIKE or m.ambiguous for m in naming.types) else w["type"]
            )
        if naming.count:
            total += w["count"]
        if naming.types and naming.determiner not in ("that", "the", "those", "these") and self._held(naming):
            total += w["held"]
        if naming.determiner in ("a", "an", "another", "some", "one"):
            total += w["indefinite"]
        if self._intro(naming, c, strong=True):
            total += w["strong intro"]
        elif self._intro(naming, c, strong=False):
            total += w["weak intro"]
        clause = self.reading.clauses[c]
        sentence_start = self.text.sentence_at(naming.start).start
        if naming.start - sentence_start <= 4:
            total += w["early"]
        if self.text.pause_before(sentence_start) >= 1.2 and c == first:
            total += w["pause"]
        if self._place_near(sentence_start, clause.start):
            total += w["new place"]
        if self.lead is not None:
            total += w["after a break"]
        return total + self._against(naming, c, aside)

    def _against(self, naming: Naming, c: int, aside: bool) -> float:
        w, total = WEIGHTS, 0.0
        contexts = self.reading.contexts
        if contexts.has(naming.start, "other"):
            total += w["other's"]
        if any(s.cue_start < naming.start for s in contexts.over(naming.start, "negated")):
            total += w["negated"]
        if contexts.has(naming.start, "todo", "notodo"):
            total += w["to do"]
        if (
            naming.determiner in ("the", "that", "this", "his", "her", "its", "their")
            and not naming.makers
            and not naming.models
            and not self._intro(naming, c, strong=True)
        ):
            total += w["definite type alone"] if self._told_of_kind(naming) or not self._heads(naming, c) else w["first of its kind"]
        if aside or self.story:
            total += w["aside" if aside else "story"]
        elif self._stands_alone(naming):
            total += w["standalone"]
        after = [t.norm for t in self.text.tokens[naming.end : naming.end + 6]]
        if any(a == "with" and b in ("it", "them", "this", "that") for a, b in itertools.pairwise(after)):
            total += w["compared"]
        if contexts.has(naming.start, "past"):
            total += w["past"]
        return total

    def _held(self, naming: Naming) -> bool:
        """ "Tub of cables", "a biscuit tin full of cartridges"."""
        tokens = self.text.tokens
        first = naming.types[0].start
        heads = first == self.text.sentence_at(first).start
        if heads and all(m.canonical in PART_LIKE for m in naming.types) and counted_after(self.reading, naming.end):
            return True                 # "Tubes, one box, one lot."
        return any(
            i > 0 and tokens[i].norm == "of" and tokens[i - 1].norm in HOLDERS for i in range(max(0, first - 3), first)
        )

    def _heads(self, naming: Naming, c: int) -> bool:
        """The naming opens its sentence, or stands alone after its first words ("Bottom of the pallet, the tape machine")."""
        sentence = self.text.sentence_at(naming.start)
        if naming.start - sentence.start <= 2:
            return True
        first = next((i for i in range(sentence.start, sentence.end) if self.text.tokens[i].after), sentence.end)
        return first - sentence.start <= 5 and 1 <= naming.start - first <= 2

    def _stands_alone(self, naming: Naming) -> bool:
        """ "Just a tonearm on its own": what could be a part of another unit is said to be a piece for itself."""
        if not naming.types or any(m.canonical not in PART_LIKE for m in naming.types) or naming.determiner == "the":
            return False
        sentence = self.text.sentence_at(naming.start)
        return bool(self.reading.cues_in(max(sentence.start, naming.start - 4), sentence.end, "standalone"))

    def _anew(self, naming: Naming, unit: Sketch, c: int, score: float) -> bool:
        """The naming agrees with the unit at hand, but is plainly introduced as another one."""
        if self._stands_alone(naming) and self._described(unit) and unit.makers():
            return True
        if naming.determiner in ("another", "other") and score >= NEW_FROM:
            return True
        if (
            any(m.canonical in PART_LIKE for m in naming.types)
            and unit.types()
            and not ({m.canonical for m in naming.types} & unit.types())
        ):
            return score >= NEW_FROM + 0.4 and naming.determiner != "the"
        several = naming.count is not None and naming.count.quantity > 1 and not any(n.count for n in unit.namings)
        opens = self._intro(naming, c, strong=False) or self._intro(naming, c, strong=True)
        if (
            several
            and naming.types
            and unit.types()
            and opens
            and self._described(unit)
            and naming.determiner not in ("the", "these", "those", "they")
        ):
            return True
        if (
            self._intro(naming, c, strong=True)
            and naming.types
            and naming.determiner in ("a", "an", "another")
            and not (naming.makers or naming.models)
            and unit.makers()
            and unit.model_keys()
            and naming.start - self.text.sentence_at(naming.start).start <= 5
            and self._described(unit)
        ):
            return True
        if self._late_type(naming, unit, score):
            return True
        fills = (
            (naming.makers and not unit.makers())
            or (naming.models and not unit.model_keys())
            or (naming.types and not unit.types())
        )
        if not self._intro(naming, c, strong=True):
            return False
        return (
            score >= NEW_FROM + 0.5
            and (not fills or bool(naming.types and unit.types()))
            and naming.determiner not in ("that", "this")
            and self._described(unit)
        )

    def _late_type(self, naming: Naming, unit: Sketch, score: float) -> bool:
        """ "... and the grilles are here. So, a phono stage.": a unit without a type does not get it that late, that way."""
        if not naming.types or unit.types() or not unit.namings or not (unit.makers() or unit.model_keys()):
            return False
        if naming.determiner not in ("a", "an", "another", "two", "") or score < NEW_FROM:
            return False
        if self.reading.cues_in(max(0, naming.start - 4), naming.start, "deictic"):
            return False
        head = self.text.sentence_at(naming.start).start
        if naming.start - head > 6 or any(m.ambiguous or m.canonical in PART_LIKE for m in naming.types):
            return False
        last = unit.namings[-1].end
        return naming.start - last >= 16 and self.text.sentence_of[naming.start] - self.text.sentence_of[last - 1] >= 2
