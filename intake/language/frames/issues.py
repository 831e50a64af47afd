"""Issues: a symptom, the part it is about, the side, and whether it is there, suspected or put right."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact
from intake.language.frames.parts import part_of_symptom, side_near, specific
from intake.language.reading import Reading
from intake.language.terms import Mention

_SUBJECT_ONE = frozenset(["one", "ones"])


def find_issues(reading: Reading, clause: Clause, back: Sequence[Clause]) -> list[Fact]:
    """The issues told in one clause; `back` are the unit's clauses before it, nearest first."""
    out = []
    for symptom in reading.within(clause.start, clause.end, "symptom"):
        if _belongs_elsewhere(reading, symptom, clause):
            continue
        fact = _issue(reading, symptom, clause, back)
        if fact:
            out.append(fact)
    return out


def _belongs_elsewhere(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """A missing accessory is an accessory; a longer phrase of another kind swallows the word; somebody else's unit."""
    overlapping = [
        m
        for m in reading.within(max(0, symptom.start - 4), symptom.end)
        if m is not symptom and m.start <= symptom.start and symptom.end <= m.end and m.kind != "symptom"
    ]
    if any(m.end - m.start > symptom.end - symptom.start for m in overlapping):
        return True
    if symptom.canonical == "missing":
        near = list(reading.within(clause.start, clause.end, "accessory"))
        only_part = [
            m for m in reading.within(clause.start, clause.end, "part") if not any(a.start == m.start for a in near)
        ]
        if (near and not only_part) or (not near and not only_part):
            return True
    if any(m.kind == "work" for m in overlapping):
        return True
    if any(m.kind == "measure" for m in overlapping) and reading.within(
        symptom.end, min(clause.end + 6, symptom.end + 16), "unit_of_measure"
    ):
        return True
    return reading.contexts.has(symptom.start, "other", "hypothetical") and not reading.contexts.has(
        symptom.start, "suspected"
    )


def _issue(reading: Reading, symptom: Mention, clause: Clause, back: Sequence[Clause]) -> Fact | None:
    contexts = reading.contexts
    negated = contexts.has(symptom.start, "negated")
    stopped = contexts.has(symptom.start, "stopped") or _any_more(reading, symptom, clause)
    past = contexts.has(symptom.start, "past") or _past_verb(reading, symptom, clause)
    if negated and not stopped:
        return None
    state = "present"
    if (negated and stopped) or contexts.has(symptom.start, "fixed"):
        state = "fixed"
    elif contexts.has(symptom.start, "suspected"):
        state = "suspected"
    elif contexts.has(symptom.start, "todo", "notodo") and not _is_state(reading, symptom, clause):
        return None
    part = part_of_symptom(reading, symptom, clause, back)
    if symptom.ambiguous and not _stated(reading, symptom, part, clause):
        return None
    if part is not None:
        part = specific(reading, part, back)
    side = side_near(reading, part.start, part.end, clause) if part else None
    side = side or side_near(reading, symptom.start, symptom.end, clause, window=6)
    canonical = part.canonical if part else None
    start = min(symptom.start, part.start) if part and clause.start <= part.start < clause.end else symptom.start
    end = max(symptom.end, part.end) if part and clause.start <= part.start < clause.end else symptom.end
    value = {"part": canonical, "symptom": symptom.canonical, "side": side, "state": state}
    fact = Fact("issues", value, start, end, f"symptom: {symptom.phrase}", past=past and state == "present")
    if symptom.ambiguous:
        fact.signals["ambiguous"] = 1.0
    return fact


def _any_more(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    words = [t.norm for t in reading.text.tokens[symptom.end : min(clause.end, symptom.end + 5)]]
    return "anymore" in words or ("more" in words and "any" in words)


def _past_verb(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    words = {t.norm for t in reading.text.tokens[max(clause.start, symptom.start - 8) : symptom.start]}
    return bool(words & {"was", "were", "had", "used"}) and not words & {"is", "are", "it's", "they're", "still"}


def _is_state(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """ "the worn belt has to be replaced": an adjective before its noun stays true though the clause is about a job."""
    words = reading.text.tokens[max(clause.start, symptom.start - 2) : symptom.start]
    return any(t.norm in {"the", "a", "that", "this", "those", "its"} for t in words)


_COPULAS = frozenset(
    ["is", "are", "was", "were", "looks", "look", "sounds", "sound", "feels", "feel", "seems", "gone", "got", "gets", "going", "went", "it's", "they're", "that's", "isn't", "has", "have"]
)


def _stated(reading: Reading, symptom: Mention, part: Mention | None, clause: Clause) -> bool:
    """An everyday word ("out", "dry") is a symptom only right at a part, or said of one: "the left lamp is out"."""
    if part is None or not clause.start <= part.start < clause.end:
        return False
    if symptom.end <= part.start:
        return part.start - symptom.end <= 1
    between = [t.norm for t in reading.text.tokens[part.end : symptom.start]]
    return len(between) <= 5 and any(w in _COPULAS for w in between)
