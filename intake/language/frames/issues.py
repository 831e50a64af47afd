"""Issues: a symptom, the part it is about, the side, and whether it is there, suspected or put right."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.frames.cures import find_cures
from intake.language.frames.facts import Fact
from intake.language.frames.idioms import said_otherwise
from intake.language.frames.parts import part_of_symptom, side_near, sides_in, specific
from intake.language.reading import Reading
from intake.language.terms import Mention

# Faults that nothing but this part can have, where no part is named
_ONLY_PART = {"microphonic": "tube"}
# Faults of the whole unit, whatever part is spoken of around them
_WHOLE = frozenset(["blows fuse", "won't power on", "won't read discs"])
# Faults of what turns; a belt or an arm spoken of beside them has them not
_SPEED = frozenset(["speed unstable", "runs slow", "runs fast", "skips"])
_TURNS = frozenset(["motor", "platter", "idler wheel", "transport mechanism", "pinch roller"])
# Faults that are a channel's where only a side is told: "no output on the left"
_CHANNEL_FAULTS = frozenset(["no output", "low output", "drops out", "intermittent", "distorted"])
_CHANNEL_SIDES = frozenset(
    ["on the left", "on the right", "left side", "right side", "on both", "on both sides", "left-hand side", "right-hand side", "the left", "the right", "in the left", "in the right", "on one side"]
)

def find_issues(reading: Reading, clause: Clause, back: Sequence[Clause]) -> list[Fact]:
    """The issues told in one clause; `back` are the unit's clauses before it, nearest first."""
    out = told(reading, clause, back)
    return out + find_cures(reading, clause, back, out, told)


def told(reading: Reading, clause: Clause, back: Sequence[Clause]) -> list[Fact]:
    """The issues that a clause names itself, without the cures of earlier ones."""
    found = (
        _issue(reading, symptom, clause, back)
        for symptom in reading.within(clause.start, clause.end, "symptom")
        if not _belongs_elsewhere(reading, symptom, clause)
    )
    return [fact for fact in found if fact is not None]


def _belongs_elsewhere(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """A missing accessory is an accessory; a longer phrase of another kind swallows the word; somebody else's unit."""
    overlapping = [
        m
        for m in reading.within(max(0, symptom.start - 4), symptom.end)
        if m is not symptom and m.start <= symptom.start and symptom.end <= m.end and m.kind != "symptom"
    ]
    if any(m.end - m.start > symptom.end - symptom.start for m in overlapping):
        return True
    if said_otherwise(reading, symptom, clause) or _taken_back(reading, symptom) or _overtaken(reading, symptom, clause):
        return True
    if symptom.canonical == "missing":
        near = [m for m in reading.within(clause.start, clause.end, "accessory") if not m.ambiguous]
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


def _taken_back(reading: Reading, symptom: Mention) -> bool:
    """ "The left tweeter is dead, hold on, it's the right tweeter that is dead": said again after a correction."""
    sentence = reading.text.sentence_at(symptom.start)
    again = [m for m in reading.within(symptom.end, sentence.end, "symptom") if m.canonical == symptom.canonical]
    return bool(again) and bool(reading.cues_in(symptom.end, again[0].start, "repair"))


def _overtaken(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """ "It was only dim before, but it's stone dead now": what it was before it got worse."""
    words = set(reading.text.norms(clause.start, clause.end))
    if not words & {"was", "were"} or not words & {"before", "only", "merely", "earlier"}:
        return False
    sentence = reading.text.sentence_at(clause.start)
    later = [m for m in reading.within(clause.end, sentence.end, "symptom") if m.canonical != symptom.canonical]
    return bool(later) and "now" in reading.text.norms(clause.end, sentence.end)


def _issue(reading: Reading, symptom: Mention, clause: Clause, back: Sequence[Clause]) -> Fact | None:
    contexts = reading.contexts
    negated = contexts.has(symptom.start, "negated")
    stopped = contexts.has(symptom.start, "stopped") or _any_more(reading, symptom, clause)
    stopped = stopped or (negated and _now_not(reading, symptom, clause, back))
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
    part = None if symptom.canonical in _WHOLE else part_of_symptom(reading, symptom, clause, back)
    if part is not None and symptom.canonical in _SPEED and part.canonical not in _TURNS:
        part = None
    if symptom.ambiguous and not _stated(reading, symptom, part, clause):
        return None
    if part is not None:
        part = specific(reading, part, back)
    side = _side(reading, symptom, part, clause) or _that_side(reading, symptom, clause, back)
    if state == "fixed" and (part is None or part.start < clause.start):
        part, side = _cured(reading, symptom, back) or (part, side)
    canonical = part.canonical if part else _ONLY_PART.get(symptom.canonical)
    if canonical is None and side and symptom.canonical in _CHANNEL_FAULTS and _channel_side(reading, symptom, clause):
        canonical = "channel"
    start = min(symptom.start, part.start) if part and clause.start <= part.start < clause.end else symptom.start
    end = max(symptom.end, part.end) if part and clause.start <= part.start < clause.end else symptom.end
    value = {"part": canonical, "symptom": symptom.canonical, "side": side, "state": state}
    fact = Fact("issues", value, start, end, f"symptom: {symptom.phrase}", past=past and state == "present")
    if symptom.ambiguous:
        fact.signals["ambiguous"] = 1.0
    return fact


def _side(reading: Reading, symptom: Mention, part: Mention | None, clause: Clause) -> str | None:
    """The side of a part where it was named, else the one said near the symptom; a fault of the whole unit has none."""
    if symptom.canonical in _WHOLE:
        return None
    if part is not None:
        home = clause if clause.start <= part.start < clause.end else reading.clause_at(part.start)
        side = side_near(reading, part.start, part.end, home)
        if side or home is not clause:
            return side
    return side_near(reading, symptom.start, symptom.end, clause, window=6)


def _that_side(reading: Reading, symptom: Mention, clause: Clause, back: Sequence[Clause]) -> str | None:
    """ "... on that side": the side told last."""
    words = " ".join(reading.text.norms(symptom.start, min(clause.end, symptom.end + 8)))
    if not any(w in words for w in ("that side", "same side", "that channel", "same channel", "this side")):
        return None
    told = [found for e in back[:4] if (found := sides_in(reading, e.start, e.end))]
    faulty = [f for f in told if reading.within(reading.clause_at(f[0].start).start, f[-1].end, "symptom")]
    return (faulty or told)[0][0].canonical if told else None


def _cured(reading: Reading, symptom: Mention, back: Sequence[Clause]) -> tuple[Mention | None, str | None] | None:
    """Part and side of the same fault where it was told before: "I changed the caps and now it doesn't hum" is about the hum."""
    for n, earlier in enumerate(back):
        for m in reading.within(earlier.start, earlier.end, "symptom"):
            if m.canonical == symptom.canonical and m.start != symptom.start:
                part = part_of_symptom(reading, m, earlier, back[n + 1 :])
                return part, _side(reading, m, part, earlier)
    return None


def _channel_side(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """ "No output on the left", not "the left one": of two units that are sold as a pair one is meant."""
    sides = reading.within(clause.start, clause.end, "side")
    tokens = reading.text.tokens
    return any(
        m.phrase in _CHANNEL_SIDES and not (m.end < len(tokens) and tokens[m.end].norm in {"one", "unit", "amp", "speaker"})
        for m in sides
    )


def _now_not(reading: Reading, symptom: Mention, clause: Clause, back: Sequence[Clause]) -> bool:
    """ "Now it doesn't hum at all", "hasn't dropped out since": no more what it did before."""
    words = {t.norm for t in reading.text.tokens[clause.start : clause.end]}
    if words & {"hasn't", "haven't", "hadn't", "never"} and reading.text.tokens[clause.end - 1].norm in {"since", "again"}:
        return True
    at = reading.text.norms(clause.start, clause.end)
    if "now" in at[2:]:
        return True
    if not words & {"now", "since", "longer", "again"}:
        return False
    return any(
        m.canonical == symptom.canonical
        for earlier in back
        for m in reading.within(earlier.start, earlier.end, "symptom")
    )


def _any_more(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    words = [t.norm for t in reading.text.tokens[symptom.end : min(clause.end, symptom.end + 5)]]
    return "anymore" in words or ("more" in words and "any" in words)


def _past_verb(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    words = {t.norm for t in reading.text.tokens[max(clause.start, symptom.start - 8) : symptom.start]}
    return bool(words & {"was", "were", "had", "used", "wouldn't", "couldn't"}) and not words & {"is", "are", "it's", "they're", "still"}


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
