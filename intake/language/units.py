"""Where one unit ends and the next begins: every clause gets the unit it speaks of, or none.

Each naming is weighed (judging.py): does it bring a new unit in, go on about the one at hand, come back to an earlier one, or
only compare? What is told before the name, asides, breaks and facts for a whole place are settled here.
"""

from __future__ import annotations

from intake.language.announcing import Announcing
from intake.language.names import Naming
from intake.language.namings import PART_LIKE
from intake.language.reading import Reading
from intake.language.slots import refers_to_slot
from intake.language.topics import Sketch, Topics, replace_names

_POINTS_BACK = frozenset(
    ["it", "it's", "they", "they're", "them", "its", "their", "he's", "she's", "that's", "this", "these", "those", "lives", "stands", "sits", "goes", "went", "stays", "moved", "put", "was", "were", "found", "lying", "there"]
)
_PERSONS = frozenset(
    ["boss", "gaffer", "governor", "guvnor", "foreman", "teacher", "uncle", "aunt", "auntie", "aunty", "nan", "nana", "gran", "granny", "grandma", "grandad", "granddad", "grandpa", "grandfather", "grandmother", "dad", "father", "mum", "mom", "mother", "brother", "sister", "cousin", "wife", "husband", "mate", "friend", "buddy", "roommate", "flatmate", "neighbour", "neighbor", "landlord", "landlady", "son", "daughter", "kid", "nephew", "niece", "ex", "girlfriend", "boyfriend", "barber", "dentist", "colleague", "master", "missus", "pal", "instructor", "professor"]
)


def find_topics(reading: Reading) -> Topics:
    """Go through the clauses in order and decide, at each naming, whom the talk is about."""
    return _Walker(reading).run()


class _Walker(Announcing):
    """Goes through the sentences in order."""

    def run(self) -> Topics:
        reading = self.reading
        for sentence in self.text.sentences:
            first, last = reading.clause_of[sentence.start], reading.clause_of[sentence.end - 1]
            self._sentence(first, last)
        return self.topics

    def _sentence(self, first: int, last: int) -> None:
        reading = self.reading
        start, end = reading.clauses[first].start, reading.clauses[last].end
        if reading.cues_in(start, end, "resumes"):
            self.story = False
        aside = self._is_aside(start, end)
        if self.story and not aside and self._back_to_work(start, end):
            self.story = False
        announced = self._announcement(first, last)
        if announced:
            for c in range(first, last + 1):
                self.topics.of_clause[c] = None
                self.topics.announced_in[c] = [u.n for u in announced]
            self.current, self.story = None, False
            return
        if self._announces_slots(first, last):
            return
        if self._twin(start, end):
            return
        takes = bool(self.slots) and refers_to_slot(reading, start, end)
        if takes:
            self._take_slot()
        self._group(first, last, start, end)
        if self.maker_for and reading.places_in(start, end):
            self.maker_for = None                # the talk has gone elsewhere
        self._group_maker(start, end)
        if not takes and self._breaks(first, last, start, end):
            self._break()
        for c in range(first, last + 1):
            self._clause(c, first, aside)
        if aside and not any(self._decisive(n) for n in self._named_in(first, last)):
            self.story = True

    def _is_aside(self, start: int, end: int) -> bool:
        """Somebody's story; not where a source is told ("my cousin wants it sold") or a unit is brought in first."""
        hits = self.reading.cues_in(start, end, "aside")
        if self.reading.within(start, end, "source"):
            return False
        if self._about_somebody(start, end):
            return True
        if not hits:
            return False
        opened = self.reading.cues_in(start, start + 2, "introduces")
        return not (opened and hits[0].start >= opened[0].end)

    def _about_somebody(self, start: int, end: int) -> bool:
        """ "My old gaffer, he kept a horn in the window": a sentence that begins with somebody of the speaker's."""
        words = [t.norm for t in self.text.tokens[start : min(end, start + 9)]]
        skip = {"and", "so", "but", "when", "you", "know", "oh", "well", "uh", "like"}
        while words[:1] and words[0] in skip:
            words.pop(0)
        return bool(words) and words[0] == "my" and bool(_PERSONS & {w.removesuffix("'s") for w in words[1:4]})

    def _group(self, first: int, last: int, start: int, end: int) -> None:
        """Sentences with facts for everything at a place, and those that follow them before a unit is named."""
        reading = self.reading
        named = bool(self._named_in(first, last))
        symptom = bool(reading.within(start, end, "symptom") or reading.serials_in(start, end)) or self._bare_code(start, end)
        weak = (self.current is None or (not named and not reading.within(start, end, "part"))) and bool(
            reading.cues_in(start, end, "group_weak")
        )
        lot = any(n.count or n.determiner in ("a", "an") for n in self._named_in(first, last))
        if weak and lot:
            weak = False                # "a lot of valves, all of them 12AX7": that lot, not the place
        if (
            (weak or reading.cues_in(start, end, "group"))
            and not symptom
            and not (named and self.current is not None and not self._place_near(start, end))
        ):
            self.group_mode = True
        elif self.group_mode and (
            named or symptom or self._breaks(first, last, start, end) or (self.current is not None and not self.lead)
        ):
            self.group_mode = False
        if self.before_slots and self.slots and self.current is None:
            for c in range(first, last + 1):
                self.topics.announced_in[c] = [u.n for u in self.slots]
            return
        if self.group_mode:
            self.topics.grouped.update(range(first, last + 1))
            if not named:
                self._break()

    def _breaks(self, first: int, last: int, start: int, end: int) -> bool:
        """Whether the talk leaves the unit at hand before the next one is named: "Next.", "On the second one ...", a second serial."""
        reading = self.reading
        named = [n for n in self._named_in(first, last) if n.types or n.makers]
        known = any(not m.source.startswith("sound") for n in named for m in n.makers)
        if not known and self.current is not None and self.current.makers() and reading.cues_in(start, end, "stranger"):
            return True
        if all(not n.makers and all(m.canonical in PART_LIKE for m in n.types) and n.determiner in ("a", "an", "") for n in named):
            named = []
        serials = [s for s in reading.serials_in(start, end) if s.kind != "unread"]
        if (
            serials
            and serials[0].start - start <= 2
            and self.current is not None
            and self._has_serial(self.current, serials[0].start)
        ):
            return True
        if (
            self._bare_code(start, end)
            and self.current is not None
            and (self._has_serial(self.current, start) or self._numbered(self.current))
        ):
            return True
        if named:
            return False
        if self._moves(start, end):
            return True
        return any(
            h.start - start <= (0 if h.cue.phrase.startswith("number") else 1)
            and (h.end - start >= (end - start) - 2 or len(h.cue.phrase.split()) > 1)
            for h in reading.cues_in(start, end, "break")
        )

    def _moves(self, start: int, end: int) -> bool:
        """ "Over to the trolley, trolley two.": a sentence that tells nothing but where the walk goes on."""
        reading = self.reading
        if self.current is None or end - start > 9 or not reading.places_in(start, end):
            return False
        if reading.within(start, end, "symptom", "work", "accessory", "stage", "source", "cosmetic", "part"):
            return False
        words = {t.norm for t in self.text.tokens[start:end]}
        return not (words & _POINTS_BACK or reading.contexts.has(start, "negated"))

    def _back_to_work(self, start: int, end: int) -> bool:
        """A sentence that tells a serial, a stage, a source or a place of the thing at hand ends a story."""
        reading = self.reading
        told = [
            m
            for m in reading.within(start, end, "stage", "source", "cosmetic")
            if not m.ambiguous and not reading.contexts.has(m.start, "past", "other")
        ]
        return bool(told or reading.serials_in(start, end) or reading.places_in(start, end))

    def _decisive(self, naming: Naming) -> bool:
        return any(naming is n for u in self.units for n in u.namings)

    def _clause(self, c: int, first: int, aside: bool) -> None:
        for naming in self.by_clause.get(c, []):
            self._naming(naming, c, first, aside)
        clause = self.reading.clauses[c]
        elsewhere = bool(self.reading.cues_in(clause.start, clause.end, "elsewhere"))
        if self.story or elsewhere or (aside and not any(self._decisive(n) for n in self.by_clause.get(c, []))):
            self.topics.of_clause[c] = None
            return
        if c in self.topics.grouped:
            self.topics.of_clause[c] = None
            return
        self.topics.of_clause[c] = self.current.n if self.current else None
        if self.current:
            self.current.clauses.append(c)
        elif self.lead is not None:
            self.lead.append(c)

    def _naming(self, naming: Naming, c: int, first: int, aside: bool) -> None:
        if self._told_of_all(naming, c):
            return
        verdict, unit = self._judge(naming, c, first, aside)
        if verdict == "ignore":
            self.topics.ignored.append(naming)
            if (
                naming.types
                and not self._refers(naming, c)
                and not (aside or self.story)
                and not self.reading.contexts.has(naming.start, "todo", "other")
                and self._near_head(naming)
            ):
                self.pending = (naming, c)
            return
        if verdict == "new":
            unit = Sketch(len(self.units))
            self.units.append(unit)
            self._take_pending(unit, naming, c)
            if self.maker_for and not naming.makers:
                unit.group_maker = self.maker_for[0]
                self.maker_for = (self.maker_for[0], self.maker_for[1] - 1) if self.maker_for[1] > 1 else None
        if verdict == "new" and self.lead is None and unit is not None:
            self._take_told_before(unit, c)
        self._close_lead(unit if verdict in ("new", "return") else self.before_break)
        if unit is None:
            return
        if verdict in ("new", "return") and unit is not self.current:
            self.story = False
        if verdict == "same" and not self._agrees(naming, unit):
            replace_names(unit, naming)
        unit.namings.append(naming)
        unit.announced = False
        self.current = unit

    def _take_told_before(self, unit: Sketch, c: int) -> None:
        """ "Serial number ... That belongs to an equalizer": after a long pause the talk was about the new unit already."""
        if self.current is None:
            return
        own = self.text.sentence_of[self.reading.clauses[c].start]
        first = self._since_pause(own)
        if first is None:
            return
        begin = self.text.sentences[first].start
        for k in [k for k in self.current.clauses if self.reading.clauses[k].start >= begin and k < c]:
            self._give(k, unit)

    def _near_head(self, naming: Naming) -> bool:
        start = self.text.sentence_at(naming.start).start
        return naming.start - start <= 5 or (
            naming.start - start <= 12 and bool(self.reading.cues_in(start, start + 2, "break", "introduces"))
        )

    def _take_pending(self, unit: Sketch, naming: Naming, c: int) -> None:
        """ "The speakers are gone, they're in bay one now, the Marrowby pair": what was pointed at just before is this unit."""
        if self.pending is None:
            return
        earlier, at = self.pending
        self.pending = None
        if c - at > 6 or naming.types or (self.topics.of_clause[at] is None and at < c - 1):
            return
        unit.namings.insert(0, earlier)
        for k in range(at, c):
            self._give(k, unit)
