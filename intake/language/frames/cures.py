"""Cures told without the fault's name: "that's in order again", "now it's like silk" put the fault told before right."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact
from intake.language.frames.parts import parts_in
from intake.language.reading import Reading
from intake.language.terms import CueHit

_UNDONE = ("negated", "hypothetical", "todo", "notodo", "other", "suspected")
_PLURAL = frozenset(["both", "all", "everything", "they", "those", "these", "they're"])
# Faults that one can hear, and so hear no more when it has "gone quiet"
_HEARD = frozenset(["noisy", "hum", "buzz", "scratchy", "microphonic", "distorted"])
_QUIET = frozenset(["quiet", "silent", "silence", "quietly", "whisper", "mouse", "hush"])
# Words that tell of a change: only with them is "quiet" a cure of what was told a sentence ago
_CHANGED = frozenset(["now", "since", "again", "gone"])
# Cues that tell of going: of a fault, or of a person
_LEFT = frozenset(["gone", "away", "stopped", "disappeared", "back"])
_JOINS = frozenset(["and", "but", "so", "then", "now", "uh", "um", "since", "the"])
_FAULT_WORDS = frozenset(["it", "it's", "that", "that's", "this", "all", "they", "they're", "fault", "problem", "trouble", "issue", "noise", "sound", "both"])

Teller = Callable[[Reading, Clause, Sequence[Clause]], list[Fact]]


def find_cures(
    reading: Reading, clause: Clause, back: Sequence[Clause], own: Sequence[Fact], tell: Teller
) -> list[Fact]:
    """Earlier issues that this clause says are gone, told once more as fixed; `tell` reads a clause's issues."""
    hits = [
        h
        for h in reading.cues_in(clause.start, clause.end, "fixed", "cured")
        if not reading.contexts.has(h.start, *_UNDONE) and not _somebody_left(reading, clause, h)
    ]
    words = {t.norm for t in reading.text.tokens[clause.start : clause.end]}
    if not hits or "otherwise" in words or any(f.value["state"] != "fixed" for f in own):
        return []
    strong = any(h.cue.signals == "fixed" for h in hits)
    parts = {m.canonical for m in parts_in(reading, clause.start, clause.end)}
    later = strong or bool(words & _CHANGED)
    for n, earlier in enumerate(back[:6]):
        if not later and reading.text.sentence_of[earlier.start] != reading.text.sentence_of[clause.start]:
            break
        if clause.start - earlier.end > 40:
            break
        told = tell(reading, earlier, back[n + 1 :])
        fitting = [f for f in told if f.value["state"] != "suspected" and _fits(f, parts, words, strong=strong)]
        if fitting:
            return [_fixed(f, clause) for f in (fitting if words & _PLURAL else fitting[-1:])]
        if told and not parts:
            break
    return []


def _somebody_left(reading: Reading, clause: Clause, hit: CueHit) -> bool:
    """ "The boy went away with our receiver": gone is somebody, not the fault."""
    if not set(hit.cue.phrase.split()) & _LEFT:
        return False
    subject = set(reading.text.norms(clause.start, hit.start)) - _JOINS
    return bool(subject) and not subject & _FAULT_WORDS and not parts_in(reading, clause.start, hit.start)


def _fits(fact: Fact, parts: set[str], words: set[str], *, strong: bool) -> bool:
    """A cure that names a part is that part's; one told by quiet is of a fault that was heard."""
    if parts and fact.value["part"] not in parts and fact.value["part"] is not None:
        return False
    if words & _QUIET and not strong:
        return fact.value["symptom"] in _HEARD
    return True


def _fixed(fact: Fact, clause: Clause) -> Fact:
    return Fact("issues", {**fact.value, "state": "fixed"}, clause.start, clause.end, f"put right: {fact.rule}")
