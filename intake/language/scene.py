"""Where a walk's talk stands: the unit at hand, what was told before the next is named, and what a sentence opens with."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.names import Naming
from intake.language.namings import namings
from intake.language.numbers import read_code
from intake.language.reading import Reading
from intake.language.terms import CueHit, Mention
from intake.language.topics import Sketch, Topics

LONG_PAUSE_S = 1.1
_AMPLIFIERS = {"power amplifier", "integrated amplifier"}       # what "an amplifier" may be


class Scene:
    """The state that the steps share while they go through the clauses in order."""

    def __init__(self, reading: Reading) -> None:
        self.reading = reading
        self.text = reading.text
        self.units: list[Sketch] = []
        self.current: Sketch | None = None
        self.story = False
        self.topics = Topics(self.units, [None] * len(reading.clauses))
        self.lead: list[int] | None = []  # clauses told since a break, before their unit is named
        self.before_break: Sketch | None = None
        self.group_mode = False
        self.maker_for: tuple[Mention, int] | None = None  # a maker told for the next so many units
        self.pending: tuple[Naming, int] | None = (
            None  # a thing pointed at that may turn out to be a new unit, and its clause
        )
        self.before_slots = False  # the announced ones are still spoken of together
        self.slots: list[Sketch] = []  # announced by their number, still to come
        self.by_clause: dict[int, list[Naming]] = {}
        for naming in namings(reading):
            self.by_clause.setdefault(reading.clause_of[naming.start], []).append(naming)

    def _named_in(self, first: int, last: int) -> list[Naming]:
        """The namings of clauses first..last, in order."""
        return [n for c in range(first, last + 1) for n in self.by_clause.get(c, [])]

    def _give(self, c: int, unit: Sketch) -> None:
        """Clause c is about this unit, whichever it was given to before."""
        old = self.topics.of_clause[c]
        if old is not None and c in self.units[old].clauses:
            self.units[old].clauses.remove(c)
        self.topics.of_clause[c] = unit.n
        unit.clauses.append(c)

    def _has_serial(self, unit: Sketch, before: int) -> bool:
        """A serial (or the lack of one) was told of the unit already."""
        clauses = (self.reading.clauses[c] for c in unit.clauses)
        return any(self.reading.serials_in(clause.start, min(clause.end, before)) for clause in clauses)

    def _numbered(self, unit: Sketch) -> bool:
        return any(self._bare_code(self.reading.clauses[c].start, self.reading.clauses[c].end) for c in unit.clauses)

    def _bare_code(self, start: int, end: int) -> bool:
        """A long code near the head of a sentence: somebody who goes by the numbers, or reads them off a plate."""
        plate = any(t.norm in {"plate", "sticker", "label", "stamped", "badge"} for t in self.text.tokens[start : start + 4])
        for i in range(start, min(start + (8 if plate else 3), end)):
            code = read_code(self.text.tokens, i, end, across_commas=True)
            if (
                code
                and len(code.text) >= 6
                and "MK" not in code.text
                and sum(c.isdigit() for c in code.text) >= 4
                and not any(h.names for h in self.reading.models_in(code.start, code.end))
            ):
                return True
        return False

    def _break(self) -> None:
        if self.lead is None:
            self.before_break = self.current
            self.lead = []
        self.current = None

    def _close_lead(self, unit: Sketch | None) -> None:
        """Give the clauses told before the name to the unit they turned out to be about."""
        if self.lead and unit is not None:
            for c in self._telling(self.lead):
                if self.topics.of_clause[c] is None and c not in self.topics.grouped:
                    self._give(c, unit)
            unit.clauses.sort()
        self.lead = None

    def _telling(self, clauses: list[int]) -> list[int]:
        """The clauses from the first on that tells a fact of a unit; greetings and small talk before it are nobody's."""
        for k, c in enumerate(clauses):
            clause = self.reading.clauses[c]
            if (
                self.reading.within(
                    clause.start, clause.end, "symptom", "work", "part", "unit_of_measure", "cosmetic", "source", "stage"
                )
                or self.reading.serials_in(clause.start, clause.end)
                or self._bare_code(clause.start, clause.end)
            ):
                return clauses[k:]
        return []

    def _intro(self, naming: Naming, c: int, *, strong: bool) -> bool:
        """An introducing phrase in the naming's clause before it, or alone in the clause just before."""
        start = self.reading.clauses[c].start
        low = (
            max(0, start - 6)
            if c and self.text.sentence_of[max(0, start - 1)] == self.text.sentence_of[start]
            else start
        )
        hits = self.reading.cues_in(low, naming.start + 1, "introduces" if strong else "opens")
        if strong and any(
            h.start - naming.end <= 2 for h in self.reading.cues_in(naming.end, naming.end + 3, "introduces_after")
        ):
            return True
        return any(
            naming.start - h.end <= (7 if strong else 5) and h.end <= naming.end and self._opens(h) for h in hits
        )

    def _opens(self, hit: CueHit) -> bool:
        """An introduction stands at the head of its sentence or clause, not deep inside."""
        clause = self.reading.clause_at(hit.start)
        return hit.start - clause.start <= 5

    def _place_near(self, sentence_start: int, clause_start: int) -> bool:
        return bool(self.reading.places_in(max(0, sentence_start - 12), clause_start + 6))

    def _since_pause(self, own: int) -> int | None:
        """The sentence behind the last long pause before sentence `own`, if nothing was named since."""
        if self._opens_sentence(own) or self.text.pause_before(self.text.sentences[own].start) >= LONG_PAUSE_S:
            return None
        for number in range(own - 1, max(-1, own - 5), -1):
            sentence = self.text.sentences[number]
            if self._named_in(self.reading.clause_of[sentence.start], self.reading.clause_of[sentence.end - 1]):
                return None
            if self.text.pause_before(sentence.start) >= LONG_PAUSE_S:
                return number
        return None

    def _opens_sentence(self, number: int) -> bool:
        """ "Next is a tuner": such a sentence begins the talk of its unit itself."""
        start = self.text.sentences[number].start
        return bool(self.reading.cues_in(start, start + 2, "introduces", "break"))

    def _described(self, unit: Sketch) -> bool:
        return len(unit.clauses) >= 2

    def _types_agree(self, types: Sequence[Mention], known: set[str]) -> bool:
        for mention in types:
            if mention.canonical in known or set(mention.could_be) & known:
                return True
            could = {mention.canonical, *mention.could_be}
            if ("monoblock amplifier" in known and "power amplifier" in could) or (
                mention.canonical == "monoblock amplifier" and known in ({"power amplifier"}, _AMPLIFIERS) and len(self.units) < 2
            ):
                return True
        return False
