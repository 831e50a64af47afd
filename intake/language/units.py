"""Where one unit ends and the next begins: every clause gets the unit it speaks of, or none.

Each naming is weighed: does it bring a new unit in, go on about the one at hand, come back to an earlier one, or only
compare? The weights are plain numbers in WEIGHTS, chosen on walks written for this project.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from intake.language.names import Naming, codes
from intake.language.namings import HOLDERS, PART_LIKE, counted_after, namings, said_counts
from intake.language.numbers import cardinal, is_mark, model_key, read_code
from intake.language.reading import Reading
from intake.language.slots import announced, refers_to_slot
from intake.language.terms import CueHit, Mention
from intake.vocabulary.tubes import is_known_tube

WEIGHTS = {
    "maker": 1.2,
    "sound-alike maker": 0.8,
    "model": 1.4,
    "code": 0.6,
    "model alone": -0.3,
    "type": 1.1,
    "part-like type": 0.3,
    "count": 0.5,
    "held": 1.0,
    "indefinite": 0.7,
    "strong intro": 1.3,
    "weak intro": 0.5,
    "early": 0.4,
    "pause": 0.4,
    "new place": 0.5,
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
IS_FROM = 0.4                   # for what the thing pointed at is said to be
LONG_PAUSE_S = 1.1
_GAP_WORDS = frozenset(
    ["a", "an", "the", "pair", "pairs", "of", "two", "couple", "big", "old", "little", "set", "those", "these", "that", "other", "same", "some", "his", "her", "our", "my", "new", "great"]
)


_POINTS_BACK = frozenset(
    ["it", "it's", "they", "they're", "them", "its", "their", "he's", "she's", "that's", "this", "these", "those", "lives", "stands", "sits", "goes", "went", "stays", "moved", "put", "was", "were", "found", "lying", "there"]
)
_PERSONS = frozenset(
    ["boss", "gaffer", "governor", "guvnor", "foreman", "teacher", "uncle", "aunt", "auntie", "aunty", "nan", "nana", "gran", "granny", "grandma", "grandad", "granddad", "grandpa", "grandfather", "grandmother", "dad", "father", "mum", "mom", "mother", "brother", "sister", "cousin", "wife", "husband", "mate", "friend", "buddy", "roommate", "flatmate", "neighbour", "neighbor", "landlord", "landlady", "son", "daughter", "kid", "nephew", "niece", "ex", "girlfriend", "boyfriend", "barber", "dentist", "colleague", "master", "missus", "pal", "instructor", "professor"]
)
_MEASURES_BY = frozenset(
    ["needle", "size", "price", "cost", "weight", "sort", "kind", "look", "sound", "likes", "motor", "insides", "guts", "heart", "shape", "height", "width", "colour", "color"]
)
_AMPLIFIERS = {"power amplifier", "integrated amplifier"}       # what "an amplifier" may be
_GAP_WORDS_PLAIN = frozenset(["a", "an", "the", "and", "oh", "wait", "that", "those", "these", "this", "so", "uh", "um", "back", "on", "in", "at", "of"])


@dataclass
class Sketch:
    """A unit as it takes shape: its namings, the clauses about it, and whether it was only announced so far."""

    n: int
    namings: list[Naming] = field(default_factory=list)
    clauses: list[int] = field(default_factory=list)
    announced: bool = False
    group_maker: Mention | None = None  # "three pieces, all Halstrom"
    slot: bool = False  # one of several that were announced by their number, not come to yet

    def types(self) -> set[str]:
        sure = {m.canonical for n in self.namings for m in n.types if not m.ambiguous}
        unsure = {t for n in self.namings for m in n.types for t in (m.could_be or (m.canonical,))}
        return sure or unsure or ({"vacuum tube"} if any(is_known_tube(k) for k in self.model_keys()) else set())

    def makers(self) -> set[str]:
        own = {m.canonical for n in self.namings for m in n.makers}
        return own or ({self.group_maker.canonical} if self.group_maker else set())

    def model_keys(self) -> set[str]:
        hits = [h for n in self.namings for h in n.models if not is_mark(h.code)]
        return {h.code for h in hits if h.names or len(h.code) >= 3}


@dataclass
class Topics:
    """The units of a walk and, for every clause, the unit it is about (None: no unit)."""

    units: list[Sketch]
    of_clause: list[int | None]
    announced_in: dict[int, list[int]] = field(default_factory=dict)  # clause -> units it announces together
    grouped: set[int] = field(default_factory=set)  # clauses with facts for a whole place
    ignored: list[Naming] = field(default_factory=list)  # namings that are about no unit of the walk


def find_topics(reading: Reading) -> Topics:
    """Go through the clauses in order and decide, at each naming, whom the talk is about."""
    return _Walker(reading).run()


class _Walker:
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
        if aside and not any(self._decisive(n) for c in range(first, last + 1) for n in self.by_clause.get(c, [])):
            self.story = True

    def _announces_slots(self, first: int, last: int) -> bool:
        """ "Three integrated amps to start, three different ones": as many units, told of in turn."""
        sentence = self.text.sentence_of[self.reading.clauses[first].start]
        namings_here = [
            n for c in range(first, last + 1) for n in self.by_clause.get(c, []) if not self._refers(n, c)
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

    def _twin(self, start: int, end: int) -> bool:
        """ "One underneath is its twin, same maker, same model": another of the unit at hand."""
        first, last = self.reading.clause_of[start], self.reading.clause_of[end - 1]
        if self.story or self.current is None or not self.reading.cues_in(start, end, "twin"):
            return False
        if any(n.makers or n.models for c in range(first, last + 1) for n in self.by_clause.get(c, [])):
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
            self.topics.of_clause[c] = unit.n
            unit.clauses.append(c)
        return True

    def _take_slot(self) -> None:
        unit = self.slots.pop(0)
        unit.slot = unit.announced = False
        self._close_lead(self.before_break)
        self.current, self.before_slots = unit, False

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
        named = any(self.by_clause.get(c) for c in range(first, last + 1))
        symptom = bool(reading.within(start, end, "symptom") or reading.serials_in(start, end)) or self._bare_code(start, end)
        weak = (self.current is None or (not named and not reading.within(start, end, "part"))) and bool(
            reading.cues_in(start, end, "group_weak")
        )
        lot = any(n.count or n.determiner in ("a", "an") for c in range(first, last + 1) for n in self.by_clause.get(c, []))
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

    def _breaks(self, first: int, last: int, start: int, end: int) -> bool:
        """Whether the talk leaves the unit at hand before the next one is named: "Next.", "On the second one ...", a second serial."""
        reading = self.reading
        named = [n for c in range(first, last + 1) for n in self.by_clause.get(c, []) if n.types or n.makers]
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

    def _has_serial(self, unit: Sketch, before: int) -> bool:
        """A serial (or the lack of one) was told of the unit already."""
        clauses = (self.reading.clauses[c] for c in unit.clauses)
        return any(self.reading.serials_in(clause.start, min(clause.end, before)) for clause in clauses)

    def _numbered(self, unit: Sketch) -> bool:
        return any(self._bare_code(self.reading.clauses[c].start, self.reading.clauses[c].end) for c in unit.clauses)

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
                    self.topics.of_clause[c] = unit.n
                    unit.clauses.append(c)
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
                and self._near_head(naming, c)
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
            _replace_names(unit, naming)
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
        old = self.current
        begin = self.text.sentences[first].start
        for k in [k for k in old.clauses if self.reading.clauses[k].start >= begin and k < c]:
            old.clauses.remove(k)
            unit.clauses.append(k)
            self.topics.of_clause[k] = unit.n

    def _since_pause(self, own: int) -> int | None:
        """The sentence behind the last long pause before sentence `own`, if nothing was named since."""
        if self._opens_sentence(own) or self.text.pause_before(self.text.sentences[own].start) >= LONG_PAUSE_S:
            return None
        for number in range(own - 1, max(-1, own - 5), -1):
            sentence = self.text.sentences[number]
            clauses = range(self.reading.clause_of[sentence.start], self.reading.clause_of[sentence.end - 1] + 1)
            if any(self.by_clause.get(k) for k in clauses):
                return None
            if self.text.pause_before(sentence.start) >= LONG_PAUSE_S:
                return number
        return None

    def _opens_sentence(self, number: int) -> bool:
        """ "Next is a tuner": such a sentence begins the talk of its unit itself."""
        start = self.text.sentences[number].start
        return bool(self.reading.cues_in(start, start + 2, "introduces", "break"))

    def _near_head(self, naming: Naming, c: int) -> bool:
        start = self.text.sentences[self.text.sentence_of[naming.start]].start
        return naming.start - start <= 5 or (
            naming.start - start <= 12 and bool(self.reading.cues_in(start, start + 2, "break", "introduces"))
        )

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
            old = self.topics.of_clause[k]
            if old is not None and k in self.units[old].clauses:
                self.units[old].clauses.remove(k)
            self.topics.of_clause[k] = unit.n
            unit.clauses.append(k)

    # ------------------------------------------------------------ judging

    def _judge(self, naming: Naming, c: int, first: int, aside: bool) -> tuple[str, Sketch | None]:
        if self.maker_for and any(m is self.maker_for[0] for m in naming.makers) and not (naming.types or naming.models):
            return "ignore", None                # "a stack of three, all Kellstrom": no unit yet
        score = self._strength(naming, c, first, aside)
        repaired = self._repair_before(naming)
        current = self.current
        refers = self._refers(naming, c)
        if refers or self._gone(naming, c):
            return "ignore", None
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
        sentence_start = self.text.sentences[self.text.sentence_of[naming.start]].start
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
        if self._refers(naming, c):
            total += w["compared"]
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
        if first == self.text.sentences[self.text.sentence_of[first]].start and all(m.canonical in PART_LIKE for m in naming.types):
            if counted_after(self.reading, naming.end):
                return True             # "Tubes, one box, one lot."
        return any(
            i > 0 and tokens[i].norm == "of" and tokens[i - 1].norm in HOLDERS for i in range(max(0, first - 3), first)
        )

    def _told_of_kind(self, naming: Naming) -> bool:
        """Whether any unit so far is of the naming's type: then "the tuner" may be that one."""
        return any(u.types() and self._types_agree(naming.types, u.types()) for u in self.units)

    def _heads(self, naming: Naming, c: int) -> bool:
        """The naming opens its sentence, or stands alone after its first words ("Bottom of the pallet, the tape machine")."""
        sentence = self.text.sentences[self.text.sentence_of[naming.start]]
        if naming.start - sentence.start <= 2:
            return True
        first = next((i for i in range(sentence.start, sentence.end) if self.text.tokens[i].after), sentence.end)
        return first - sentence.start <= 5 and 1 <= naming.start - first <= 2

    def _stands_alone(self, naming: Naming) -> bool:
        """ "Just a tonearm on its own": what could be a part of another unit is said to be a piece for itself."""
        if not naming.types or any(m.canonical not in PART_LIKE for m in naming.types) or naming.determiner == "the":
            return False
        sentence = self.text.sentences[self.text.sentence_of[naming.start]]
        return bool(self.reading.cues_in(max(sentence.start, naming.start - 4), sentence.end, "standalone"))

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

    def _refers(self, naming: Naming, c: int) -> bool:
        """A comparison or a landmark just before: "not the thirty-eights", "next to the receiver", "same day as the X"."""
        low = self.reading.clauses[c].start
        if self._apposed(naming, low) or self._names_others(naming, low) or self._of_another(naming, low):
            return True
        for hit in self.reading.cues_in(max(low, naming.start - 6), naming.start + 1, "compares"):
            if any(self.text.tokens[k].after for k in range(hit.start, hit.end - 1)):
                continue                # "First off, a tuner" is no "off a"
            if hit.start < naming.start and all(t.norm in _GAP_WORDS for t in self.text.tokens[hit.end : naming.start]):
                return True
        return False

    def _apposed(self, naming: Naming, low: int) -> bool:
        """ "Next to the Vosskamp that stood here, the R five hundred": a model put beside what is only compared."""
        if naming.types or naming.makers or naming.determiner != "the" or not self.topics.ignored:
            return False
        before = self.topics.ignored[-1]
        clause = self.reading.clause_of[before.start]
        return before.start >= low - 12 and self.text.sentence_of[before.start] == self.text.sentence_of[
            naming.start
        ] and not before.models and bool(before.makers) and self._refers(before, clause)

    def _gone(self, naming: Naming, c: int) -> bool:
        """ "The H D five fifty that stood here was sold on Saturday": not here any more."""
        clause = self.reading.clauses[c]
        return any(
            "sold" in h.cue.phrase and 0 <= h.start - naming.end <= 8
            for h in self.reading.cues_in(naming.end, clause.end, "elsewhere")
        )

    def _names_others(self, naming: Naming, low: int) -> bool:
        """ "I had to look up which, there's a Wick five and a Wick fifty as well": two models in one breath, no type, no maker."""
        if naming.types or naming.makers or naming.determiner not in ("a", "an") or self.current is None:
            return False
        if len({h.code for h in naming.models if h.names}) > 1 and not self._repair_before(naming):
            return True
        sentence = self.text.sentences[self.text.sentence_of[naming.start]]
        others = [
            n
            for c in range(self.reading.clause_of[sentence.start], self.reading.clause_of[sentence.end - 1] + 1)
            for n in self.by_clause.get(c, [])
            if n is not naming and n.models and not n.types and not n.makers
        ]
        return bool(others)

    def _of_another(self, naming: Naming, low: int) -> bool:
        """ "The needle of a record player", "the size of a receiver": what only says which part or how big."""
        i = naming.start - 1
        tokens = self.text.tokens
        if i - 1 <= low or tokens[i].norm not in {"a", "an", "the", "your", "any"} or tokens[i - 1].norm != "of":
            return False
        part = bool(self.reading.within(max(low, i - 3), i - 1, "part"))
        return part or tokens[i - 2].norm in _MEASURES_BY

    def _repair_before(self, naming: Naming) -> bool:
        """A correction just before, or somewhere since the unit's last naming where this one says "it's", "this is"."""
        low = max(0, naming.start - 7)
        hits = [h for h in self.reading.cues_in(low, naming.start, "repair", "takeback") if self._corrects(h)]
        if any(h.end > naming.start - 5 for h in hits):
            return True
        if self.current is None or not self.current.namings or not naming.models:
            return False
        if not (naming.types or naming.makers) and any("wrong" in h.cue.phrase for h in self.reading.cues_in(max(0, naming.start - 14), naming.start, "repair")):
            return True
        since = self.current.namings[-1].end
        if (
            naming.types
            and not naming.makers
            and self.text.sentence_of[since - 1] == self.text.sentence_of[naming.start]
            and self.reading.cues_in(since, naming.start, "repair", "takeback")
            and self.current.types()
            and self._types_agree(naming.types, self.current.types())
        ):
            return True                 # "the Fiddler sixty, oh no, that's the power, the amp's the Fiddler forty"
        deictic = any(
            naming.start - h.end <= 2
            for h in self.reading.cues_in(max(since, naming.start - 6), naming.start, "deictic")
        )
        return (
            deictic
            and naming.start - since <= 25
            and bool(self.reading.cues_in(since, naming.start, "repair", "takeback"))
        )

    def _exclaims(self, naming: Naming) -> bool:
        """ "Wait, that Ambrelle, I've found the serial": a call to go back, no correction."""
        start = self.text.sentences[self.text.sentence_of[naming.start]].start
        called = any(h.start <= start + 2 for h in self.reading.cues_in(start, naming.start, "repair"))
        returns = bool(self.reading.cues_in(start, naming.start, "returns"))
        return called and (naming.start - start <= 6 or (returns and naming.start - start <= 12))

    def _corrects(self, hit: CueHit) -> bool:
        """A lone "no" corrects only where a comma or stop sets it off ("no headshell" corrects nothing)."""
        if hit.cue.phrase not in {"no", "again", "wait", "actually", "rather", "nope"}:
            return True
        return self.text.tokens[hit.end - 1].after in {",", ".", ";", "?", "!"}

    # ------------------------------------------------------------ agreeing

    def _agrees(self, naming: Naming, unit: Sketch) -> bool:
        """Nothing in the naming contradicts what the unit is called."""
        if naming.makers and unit.makers() and not ({m.canonical for m in naming.makers} & unit.makers()):
            return False
        if naming.types and unit.types() and not self._types_agree(naming.types, unit.types()):
            return False
        tube = not naming.types and any(is_known_tube(h.code) for h in naming.models)
        if tube and unit.types() and "vacuum tube" not in unit.types():
            return False
        keys = {h.code for h in naming.models if h.names and not is_mark(h.code)}
        return not (keys and unit.model_keys() and not any(_alike(k, u) for k in keys for u in unit.model_keys()))

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
            and naming.start - self.text.sentences[self.text.sentence_of[naming.start]].start <= 5
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
        last = unit.namings[-1].end
        return naming.start - last >= 16 and self.text.sentence_of[naming.start] - self.text.sentence_of[last - 1] >= 2

    def _described(self, unit: Sketch) -> bool:
        return len(unit.clauses) >= 2

    def _called_back(self, naming: Naming, c: int) -> Sketch | None:
        """ "back up on top, the Ravensholts": an earlier unit's maker or model, pointed at, that the unit at hand does not bear."""
        current = self.current
        if naming.determiner in ("a", "an", "another", "other") or not (
            naming.makers or any(h.names for h in naming.models)
        ):
            return None
        if current is not None and self._fit(naming, current) >= 1.5:
            return None
        named_twice = any(
            self.text.tokens[i].norm in {"the", "that"} for i in range(naming.start + 1, naming.end - 1)
        )
        pointed = named_twice or naming.determiner in ("the", "that", "those", "these", "this", "our") or bool(
            self.reading.cues_in(max(0, naming.start - 12), naming.start + 1, "returns")
        )
        fits = sorted(((self._fit(naming, u), u.n) for u in self.units if u is not current), reverse=True)
        if not pointed or not fits or fits[0][0] < 1.5:
            return None
        best = [n for fit, n in fits if fit == fits[0][0]]
        if len(best) == 1:
            return self.units[best[0]]
        return self._by_number(naming, best) or self._by_words(naming, best)

    def _by_number(self, naming: Naming, among: Sequence[int]) -> Sketch | None:
        """ "The new Halvane up on level four, the nine one four": the one whose serial ends like that."""
        sentence = self.text.sentences[self.text.sentence_of[naming.start]]
        said = [c.text for c in codes(self.text, naming.end, min(sentence.end, naming.end + 14)) if len(c.text) >= 3]
        numbered = []
        for n in among:
            for c in self.units[n].clauses:
                clause = self.reading.clauses[c]
                told = [s.value or "" for s in self.reading.serials_in(clause.start, clause.end)]
                told += [k.text for k in codes(self.text, clause.start, clause.end, across_commas=True)]
                if any(t.endswith(s) for s in said for t in told):
                    numbered.append(n)
                    break
        return self.units[numbered[0]] if len(numbered) == 1 else None

    def _by_words(self, naming: Naming, among: Sequence[int]) -> Sketch | None:
        """ "the big Marrowbys" among two pairs of them: the one that was called big before."""
        said = {t.norm for t in self.text.tokens[max(0, naming.start - 3) : naming.start]} - _GAP_WORDS_PLAIN
        shared = []
        for n in (n for n in among if self.units[n].namings):
            first = self.units[n].namings[0]
            around = {t.norm for t in self.text.tokens[max(0, first.start - 6) : first.end + 12]}
            shared.append((len(said & around), n))
        shared.sort(reverse=True)
        if not shared or shared[0][0] == 0 or (len(shared) > 1 and shared[0][0] == shared[1][0]):
            return None
        return self.units[shared[0][1]]

    def _earlier(self, naming: Naming, c: int) -> Sketch | None:
        """The one earlier unit (or announced one) that the naming fits best, if it points back at all."""
        definite = naming.determiner in ("the", "that", "those", "these", "this", "our", "his", "her", "") or bool(
            self.reading.cues_in(max(0, naming.start - 10), naming.start + 1, "returns")
        )
        best, best_score = None, 0.0
        for unit in self.units:
            if unit is self.current:
                continue
            score = self._fit(naming, unit)
            if naming.determiner in ("another", "other"):
                score -= 3
            if not definite and not unit.announced:
                score -= 1.5
            if score > best_score:
                best, best_score = unit, score
        strong_intro = self._intro(naming, c, strong=True)
        start = self.text.sentences[self.text.sentence_of[naming.start]].start
        returns = bool(self.reading.cues_in(start, naming.start, "returns")) and naming.determiner in ("that", "the", "those")
        need = 1.0 if best is not None and best.announced else 2.4 if strong_intro and not returns else 1.0
        return best if best is not None and best_score >= need else None

    def _fit(self, naming: Naming, unit: Sketch) -> float:
        if not self._agrees(naming, unit):
            return -1.0
        score = 0.0
        if naming.makers and unit.makers():
            score += 1.5
        keys = {h.code for h in naming.models if not is_mark(h.code)}
        if keys and unit.model_keys():
            score += 2.0 if any(_alike(k, u) for k in keys for u in unit.model_keys()) else -2.0
        if naming.types and unit.types():
            score += 1.0
        if unit.announced and naming.types:
            score += 0.5
        return score

    # ------------------------------------------------------------ announcements

    def _announcement(self, first: int, last: int) -> list[Sketch]:
        """ "on here I've got a transport, headphones, a streamer and a turntable": several units named in one breath."""
        found = [n for c in range(first, last + 1) for n in self.by_clause.get(c, [])]
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


def _replace_names(unit: Sketch, naming: Naming) -> None:
    """A corrected name takes the place of what it corrects."""
    for earlier in unit.namings:
        if naming.models:
            earlier.models = []
        if naming.makers:
            earlier.makers = []
        if naming.types:
            earlier.types = []


def _alike(a: str, b: str) -> bool:
    """The same model, or one the other's beginning ("TH60" and "TH60MK4")."""
    a, b = model_key(a), model_key(b)
    return (
        a == b
        or a.startswith(b)
        or b.startswith(a)
        or (len(a) >= 2 and b.endswith(a))
        or (len(b) >= 2 and a.endswith(b))
    )
