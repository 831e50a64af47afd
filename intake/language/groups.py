"""What is said once for many: facts for a whole place, a stack, or the lot just named, given to the units they hold for."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact, Tale
from intake.language.reading import Reading
from intake.language.topics import Topics

GROUP_FIELDS = ("stage", "source", "cosmetic", "accessories", "service", "actions", "location")
STATUS_FIELDS = ("stage", "source", "cosmetic")
FOR_ALL = "said for all"
_NUMBERS = {"two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8}
_STACK = re.compile(
    r"\b(?:stack|pile|tower|column|heap|trio|row|shelf|group|bunch) of (two|three|four|five|six|seven|eight)\b"
    r"|\b(two|three|four|five|six|seven|eight) (?:separate )?(?:pieces|boxes|units|components|separates|items|machines)\b"
)
_OF_STACK = re.compile(
    r"\b(?:on|for|of) (?:all|both|each|every one)\b|\ball (?:two|three|four|five|six|seven|eight|of (?:it|them|these|those))\b|\b(?:the|this|that) whole (?:stack|pile|tower|lot|row|bunch|group|shelf)\b"
    r"|\b(?:they're|they are|these are|those are) all\b|\ball off the\b|\bevery one of (?:them|these)\b|\beach (?:one )?of (?:them|these)\b|\bthe lot of them\b|\bthe lot's\b"
)
_OF_THE_LOT = re.compile(r"^(?:and |so |but |now )?(?:all|both|none|any|each|every one|each one|half) of (?:them|these|those)\b|^(?:they're|they are|these are|those are|they) all\b")
_THE_LOT = re.compile(r"^(?:and |so |but |now )?(?:the|this) (?:whole )?(?:lot|box|bag|batch) (?:must|has|needs|is|was|came|has to|wants|gets|goes)\b")
_LIKEWISE = re.compile(r"\b(?:everything i said|what i said|all i said|same|all that|all of that|the rest|that) (?:\w+ ){0,5}?(?:goes|holds|applies|counts|stands) for\b")
_SINGLE = re.compile(r"\b(?:this one|this one's|it's|it is|it isn't|that's|that one|these|these are|they're|this is|isn't|here's)\b")
_BEFORE_NAME = 7  # clauses

Tell = Callable[[Reading, Clause], list[Fact]]


def lot_before(reading: Reading, topics: Topics, c: int) -> int | None:
    """The lot, set or pair that "all of them" in clause c is about, though it sounds like a whole place: the unit named just before."""
    if c not in topics.grouped:
        return None
    sentence = reading.text.sentence_of[reading.clauses[c].start]
    first = reading.clause_of[reading.text.sentences[sentence].start]
    words = _words(reading, reading.clauses[first].start, reading.clauses[first].end)
    for k in range(first - 1, max(-1, first - 12), -1):
        unit = topics.of_clause[k]
        if unit is None:
            if k in topics.grouped:
                continue
            return None
        several = any(n.count is not None and n.count.quantity > 1 for n in topics.units[unit].namings)
        of_it = _OF_THE_LOT.search(words) or (_is_lot(topics, unit) and _THE_LOT.search(words))
        close = k == first - 1 and bool(of_it)
        goes_on = k < first - 1 and not re.search(r"\b(?:whole|everything|entire)\b", words) and _lot_sentence(reading, topics, k + 1, unit)
        return unit if several and (close or goes_on) else None
    return None


def _is_lot(topics: Topics, unit: int) -> bool:
    return any(n.count is not None and n.count.grouping == "lot" for n in topics.units[unit].namings)


def _lot_sentence(reading: Reading, topics: Topics, c: int, unit: int) -> bool:
    clause = reading.clauses[c]
    words = _words(reading, clause.start, clause.end)
    return c in topics.grouped and bool(_OF_THE_LOT.search(words) or (_THE_LOT.search(words) and _is_lot(topics, unit)))


def _words(reading: Reading, start: int, end: int) -> str:
    return " ".join(t.norm for t in reading.text.tokens[start:end])


def share(reading: Reading, topics: Topics, tales: Sequence[Tale], tell: Tell) -> None:
    """Add to each tale, as its weakest facts, what was said for the place, the stack or the lot it belongs to."""
    statements: list[tuple[int, list[Fact]]] = []
    for c, clause in enumerate(reading.clauses):
        whole = c in topics.grouped and lot_before(reading, topics, c) is None
        if whole or _in_passing(reading, topics, c):
            facts = [f for f in tell(reading, clause) if f.field in (GROUP_FIELDS if whole else STATUS_FIELDS)]
            if facts:
                statements.append((c, facts))
                _give(tales, facts, [n for n in range(len(tales)) if _in_group(reading, topics, n, c)])
        elif topics.of_clause[c] is not None and _LIKEWISE.search(_words(reading, clause.start, clause.end)):
            last = [facts for k, facts in statements if k < c]
            _give(tales, [f for facts in last for f in facts], [topics.of_clause[c] or 0])
        _share_stack(reading, topics, tales, c)


def _in_passing(reading: Reading, topics: Topics, c: int) -> bool:
    """ "so everything on here is just received", said while a unit is at hand."""
    clause = reading.clauses[c]
    return (
        c not in topics.grouped
        and bool(reading.cues_in(clause.start, clause.end, "group"))
        and not reading.within(clause.start, clause.end, "part", "unit_type", "symptom")
    )


def _give(tales: Sequence[Tale], facts: Sequence[Fact], units: Sequence[int]) -> None:
    for n in units:
        for fact in facts:
            _add_default(tales[n], fact)


def _named_from(reading: Reading, topics: Topics, n: int) -> int:
    """The clause from which on a unit is told of: its first naming that is no mere announcement."""
    clauses = [reading.clause_of[naming.start] for naming in topics.units[n].namings]
    told = [c for c in clauses if c not in topics.announced_in]
    return min(told or clauses or topics.units[n].clauses or [0])


def _in_group(reading: Reading, topics: Topics, n: int, c: int) -> bool:
    """Units named after the statement count, as far as no other place begins a new group."""
    first = _named_from(reading, topics, n)
    start = reading.clauses[c].start
    if first <= c:
        return False
    sentence = reading.text.sentence_at(start)
    own = reading.places_in(start - 25, sentence.end)
    if not own:
        return True
    heads = reading.places_in(sentence.end, reading.clauses[first].end)
    return not heads or heads[-1].name == own[-1].name


def _add_default(tale: Tale, fact: Fact) -> None:
    """A fact for all is the weakest: whatever is said of the unit itself wins; of two for all, the later."""
    copy = Fact(
        fact.field,
        fact.value if not isinstance(fact.value, dict) else dict(fact.value),
        fact.start,
        fact.end,
        f"{FOR_ALL}: {fact.rule}",
        list(fact.reasons),
        dict(fact.signals),
    )
    defaults = [f for f in tale.facts if f.rule.startswith(FOR_ALL)]
    if not any(f.field == copy.field and f.start == copy.start and f.value == copy.value for f in defaults):
        tale.facts.insert(len(defaults), copy)


def _share_stack(reading: Reading, topics: Topics, tales: Sequence[Tale], c: int) -> None:
    """ "A stack of three, consignment on all three": the units that come next share what was said, as many as the stack holds."""
    clause = reading.clauses[c]
    unit = topics.of_clause[c]
    if c in topics.grouped or not _OF_STACK.search(_words(reading, clause.start, clause.end)):
        return
    stacks = list(_STACK.finditer(_words(reading, max(0, clause.start - 45), clause.end)))
    if not stacks:
        return
    size = _NUMBERS[stacks[-1].group(1) or stacks[-1].group(2)]
    own = [] if unit is None else [f for f in tales[unit].facts if clause.start <= f.start < clause.end and f.field in STATUS_FIELDS]
    if unit is None or not own:
        return
    later = sorted((_named_from(reading, topics, n), n) for n in range(len(tales)) if n != unit and _named_from(reading, topics, n) > c)
    _give(tales, own, [n for _, n in later[: size - 1]])


def told_before_name(reading: Reading, topics: Topics) -> dict[int, int]:
    """Clause -> unit for what is told just before the unit's name: "now this one's different, it's the neighbour's, we're selling it for him. Turntable." """
    out: dict[int, int] = {}
    for n in range(len(topics.units)):
        first = min(topics.units[n].clauses, default=0)
        run: list[int] = []
        for c in range(first - 1, max(-1, first - 1 - _BEFORE_NAME), -1):
            clause = reading.clauses[c]
            if topics.of_clause[c] is not None or c in topics.grouped or c in topics.announced_in:
                break
            if reading.cues_in(clause.start, clause.end, "aside", "elsewhere") or reading.text.tokens[clause.start].recording != reading.text.tokens[reading.clauses[first].start].recording:
                run = []
                break
            run.append(c)
        told = " ".join(_words(reading, reading.clauses[c].start, reading.clauses[c].end) for c in reversed(run))
        if run and _SINGLE.search(told) and not _in_story(reading, topics, min(run)):
            out.update((c, n) for c in run)
    return out


def _in_story(reading: Reading, topics: Topics, c: int) -> bool:
    """Whether the talk that belongs to no unit before clause c began with an aside."""
    for k in range(c - 1, max(-1, c - 25), -1):
        clause = reading.clauses[k]
        if topics.of_clause[k] is not None or k in topics.grouped:
            return False
        if reading.cues_in(clause.start, clause.end, "resumes") or reading.places_in(clause.start, clause.end):
            return False
        if reading.cues_in(clause.start, clause.end, "aside"):
            return True
    return False
