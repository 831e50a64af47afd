"""How a job's verb stands in its clause: done or base form, passive, infinitive, or a noun behind "had it done"."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.reading import Reading
from intake.language.terms import Mention

_NEED = frozenset(["need", "needed", "speed", "bed", "feed"])


def tense(phrase: str) -> str:
    """ "done" for a past form ("replaced", "rebuilt"), "base" for the rest ("replace", "recap")."""
    words = phrase.split()
    irregular = {
        "rebuilt",
        "sent",
        "redone",
        "put",
        "swapped",
        "shot",
        "done",
        "written",
        "gone",
        "taken",
        "cut",
        "set",
        "reset",
        "rung",
        "rang",
        "found",
        "thrown",
    }
    return "done" if any((w.endswith("ed") and w not in _NEED) or w in irregular for w in words[:2]) else "base"
# Verbs whose past is their base form
SAME_FORM = frozenset(["put", "set", "cut", "reset", "shut", "let"])
_MODALS = frozenset(["to", "must", "should", "will", "i'll", "we'll", "can", "could", "gotta", "please", "let's", "and"])


def infinitive(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "I've to put in a new cord": no past though the word looks like one."""
    before = reading.text.norms(max(clause.start, mention.start - 1), mention.start)
    return bool(before) and before[0] in _MODALS - {"and"}


def passive(reading: Reading, mention: Mention, clause: Clause) -> bool:
    own = mention.phrase.split()
    if "be" in own[:-1] or (own[0] in {"get", "gets", "got"} and own[-1].endswith("ed")) or (own[0] in {"needs", "need", "wants", "want", "needing"} and own[-1].endswith("ing")):
        return True
    if reading.text.norms(max(clause.start, mention.start - 1), mention.start) in (["wants"], ["needs"], ["want"], ["need"]) and own[-1].endswith(("ing", "ed")):
        return True
    if tense(mention.phrase) != "done":
        return False
    before = [t.norm for t in reading.text.tokens[max(clause.start, mention.start - 4) : mention.start]]
    return any(w in {"be", "been", "was", "were", "is", "are", "being", "get", "got", "getting"} for w in before)


def had_done(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "He had it done up by a guy in town, a full recap": what was done, told behind it."""
    words = " ".join(reading.text.norms(clause.start, mention.start))
    return any(w in words for w in ("had it done", "had them done", "got it done", "had it gone over", "had it gone through", "had it seen to", "had it serviced", "was done by", "had work done", "had it looked after", "did it himself", "was all done"))


def joined_less(reading: Reading, a: int, b: int) -> bool:
    return not any(reading.text.tokens[k].norm in {"and", "or"} for k in range(a, b))
