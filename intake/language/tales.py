"""Goes through the clauses of each unit and lets every frame read them; then settles what the facts say together."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.frames.accessories import find_accessories
from intake.language.frames.facts import Fact, Tale
from intake.language.frames.issues import find_issues
from intake.language.frames.measures import find_measurements
from intake.language.frames.status import find_status, settle_status
from intake.language.frames.waiting import settle_waiting
from intake.language.frames.work import find_work
from intake.language.groups import lot_before, share, told_before_name
from intake.language.reading import Reading
from intake.language.topics import Topics


def tell(reading: Reading, topics: Topics) -> list[Tale]:
    """One tale a unit, with its facts in order; facts said for a whole place are added to the units there."""
    tales = [Tale(u.n, []) for u in topics.units]
    back: dict[int, list[Clause]] = {u.n: [] for u in topics.units}
    measured: set[tuple[int, int]] = set()
    early = told_before_name(reading, topics)
    for c, clause in enumerate(reading.clauses):
        sentence = reading.text.sentence_at(clause.start)
        lot = lot_before(reading, topics, c)
        for n in _units_of(topics, c) if lot is None else [lot]:
            tale = tales[n]
            tale.clauses.append(c)
            facts = clause_facts(reading, clause, back[n], (sentence.start, sentence.end))
            if (n, sentence.start) not in measured:
                measured.add((n, sentence.start))
                facts += _measured(reading, topics, n, sentence.start, sentence.end)
            tale.facts += facts
            back[n].insert(0, clause)
            del back[n][8:]
        if c in early:
            tales[early[c]].facts += find_status(reading, clause, (sentence.start, sentence.end))
    share(reading, topics, tales, _of_all)
    for tale in tales:
        settle_waiting(reading, tale)
        _settle_fixed(reading, tale)
        settle_ellipsis(reading, tale)
        settle_status(tale)
    return tales


def _of_all(reading: Reading, clause: Clause) -> list[Fact]:
    """What a clause about many units says of each."""
    sentence = reading.text.sentence_at(clause.start)
    return clause_facts(reading, clause, [], (sentence.start, sentence.end))


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
