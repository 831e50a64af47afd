"""Goes through the clauses of each unit and lets every frame read them; then settles what the facts say together."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.frames.accessories import find_accessories
from intake.language.frames.facts import Fact, Tale
from intake.language.frames.issues import find_issues
from intake.language.frames.measures import find_measurements
from intake.language.frames.status import find_status
from intake.language.frames.waiting import settle_waiting
from intake.language.frames.work import find_work
from intake.language.reading import Reading
from intake.language.units import Topics

GROUP_FIELDS = ("stage", "source", "cosmetic", "accessories", "service", "actions", "location")


def tell(reading: Reading, topics: Topics) -> list[Tale]:
    """One tale a unit, with its facts in order; facts said for a whole place are added to the units there."""
    tales = [Tale(u.n, []) for u in topics.units]
    back: dict[int, list[Clause]] = {u.n: [] for u in topics.units}
    measured: set[tuple[int, int]] = set()
    for c, clause in enumerate(reading.clauses):
        sentence = reading.text.sentences[reading.text.sentence_of[clause.start]]
        for n in _units_of(topics, c):
            tale = tales[n]
            tale.clauses.append(c)
            facts = clause_facts(reading, clause, back[n], (sentence.start, sentence.end))
            if (n, sentence.start) not in measured:
                measured.add((n, sentence.start))
                facts += _measured(reading, topics, n, sentence.start, sentence.end)
            tale.facts += facts
            back[n].insert(0, clause)
            del back[n][8:]
    _group_facts(reading, topics, tales)
    for tale in tales:
        settle_waiting(reading, tale)
        _settle_fixed(reading, tale)
        settle_ellipsis(reading, tale)
    return tales


def _units_of(topics: Topics, c: int) -> list[int]:
    unit = topics.of_clause[c]
    return topics.announced_in.get(c, []) if unit is None else [unit]


def clause_facts(reading: Reading, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]) -> list[Fact]:
    """What one clause says, by every frame."""
    facts: list[Fact] = []
    facts += find_issues(reading, clause, back)
    facts += find_work(reading, clause, back, sentence)
    facts += find_accessories(reading, clause)
    facts += find_status(reading, clause, sentence)
    return sorted(facts, key=lambda f: f.start)


def _measured(reading: Reading, topics: Topics, n: int, start: int, end: int) -> list[Fact]:
    """The measurements of the sentence's clauses that are about this unit."""
    tubes = "vacuum tube" in topics.units[n].types()
    own = [
        f
        for f in find_measurements(reading, start, end, tubes=tubes)
        if n in _units_of(topics, reading.clause_of[f.start])
    ]
    return own


def _group_facts(reading: Reading, topics: Topics, tales: Sequence[Tale]) -> None:
    """Facts of clauses that speak of everything at a place hold for the units told of after them, until the place changes."""
    for c in sorted(topics.grouped):
        clause = reading.clauses[c]
        sentence = reading.text.sentences[reading.text.sentence_of[clause.start]]
        facts = [
            f for f in clause_facts(reading, clause, [], (sentence.start, sentence.end)) if f.field in GROUP_FIELDS
        ]
        if not facts:
            continue
        for tale in tales:
            if _in_group(reading, topics, tale, c):
                for fact in facts:
                    _add_default(tale, fact)


def _in_group(reading: Reading, topics: Topics, tale: Tale, c: int) -> bool:
    """Units first told of after the statement count, as far as no other place begins a new group."""
    if not tale.clauses:
        return False
    first = tale.clauses[0]
    start = reading.clauses[c].start
    if first < c:
        return False
    sentence = reading.text.sentences[reading.text.sentence_of[start]]
    own = reading.places_in(start - 25, sentence.end)
    if not own:
        return True
    heads = reading.places_in(sentence.end, reading.clauses[first].end)
    return not heads or heads[-1].name == own[-1].name


def _add_default(tale: Tale, fact: Fact) -> None:
    """A fact for all is the weakest: whatever is said of the unit itself comes after it and wins."""
    copy = Fact(
        fact.field,
        fact.value if not isinstance(fact.value, dict) else dict(fact.value),
        fact.start,
        fact.end,
        f"said for all: {fact.rule}",
        list(fact.reasons),
        dict(fact.signals),
    )
    tale.facts.insert(0, copy)


def _settle_fixed(reading: Reading, tale: Tale) -> None:
    """An issue is fixed when it is told in the past or its part was worked on afterwards."""
    for issue in tale.of("issues"):
        if issue.value["state"] != "present":
            continue
        part = issue.value["part"]
        later = [
            f for f in tale.of("service") if f.start > issue.start and f.start - issue.start <= 60 and _mends(f, issue)
        ]
        if (
            later
            and part is not None
            and any(f.value["part"] == part for f in later)
            and _still_to_do(tale, issue) is None
        ) or (issue.past and later and part is None):
            issue.value["state"] = "fixed"
        elif part is None or not later:
            cured = [
                f
                for f in tale.of("issues")
                if f is not issue
                and f.value["state"] == "fixed"
                and f.value["symptom"] == issue.value["symptom"]
                and f.start > issue.start
            ]
            if cured:
                issue.value["state"] = "fixed"


def settle_ellipsis(reading: Reading, tale: Tale) -> None:
    """ "The screen used to be dim, and it isn't any more": a cure told without its symptom is that of the issue before it."""
    for c in tale.clauses:
        clause = reading.clauses[c]
        told = any(clause.start <= f.start < clause.end for f in tale.of("issues"))
        words = " ".join(t.norm for t in reading.text.tokens[clause.start : clause.end])
        cured = any(
            p in words
            for p in (
                "isn't any more",
                "isn't anymore",
                "doesn't any more",
                "doesn't anymore",
                "aren't any more",
                "don't any more",
                "not any more",
                "not anymore",
            )
        )
        cured = cured or bool(reading.cues_in(clause.start, clause.end, "fixed"))
        if told or not cured or "waiting" in words:
            continue
        before = [
            f
            for f in tale.of("issues")
            if f.start < clause.start and clause.start - f.start <= 30 and f.value["state"] == "present"
        ]
        if before:
            before[-1].value["state"] = "fixed"


def _mends(service: Fact, issue: Fact) -> bool:
    return service.value["work"] in {
        "replace",
        "repair",
        "clean",
        "rebuild",
        "refoam",
        "recone",
        "adjust",
        "align",
        "lubricate",
        "calibrate",
        "bias",
        "recap",
        "retube",
        "refinish",
    }


def _still_to_do(tale: Tale, issue: Fact) -> Fact | None:
    return next(
        (
            f
            for f in tale.of("actions")
            if f.value["part"] == issue.value["part"]
            and f.value["work"] in {"repair", "replace"}
            and f.start > issue.start
        ),
        None,
    )
