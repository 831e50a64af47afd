"""Accessories: what came with the unit, and what is said not to be there."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact
from intake.language.reading import Reading
from intake.language.terms import Mention

_HERE = frozenset(
    ["with", "comes", "came", "come", "has", "have", "here", "there", "there's", "includes", "included", "including", "got", "gets", "plus", "present", "supplied", "complete", "turned", "original", "along", "also", "still", "has"]
)
_NOT_OURS = frozenset(["for", "from", "of", "off"])


def find_accessories(reading: Reading, clause: Clause) -> list[Fact]:
    """The accessories told in one clause."""
    out = []
    for mention in reading.within(clause.start, clause.end, "accessory"):
        present = _present(reading, mention, clause)
        if present is None:
            continue
        out.append(
            Fact(
                "accessories",
                {"item": mention.canonical, "present": present},
                mention.start,
                mention.end,
                f"accessory: {mention.phrase}",
                signals={"ambiguous": 1.0} if mention.ambiguous else {},
            )
        )
    return out


def _present(reading: Reading, mention: Mention, clause: Clause) -> bool | None:
    """True, False, or None where the word is no accessory here (a part at work, somebody else's, wished for)."""
    contexts = reading.contexts
    tokens = reading.text.tokens
    if _longer_around(reading, mention) or mention.ambiguous:
        return None
    answer = _answer(reading, mention, clause)
    if answer is not None:
        return answer
    absent = contexts.has(mention.start, "negated", "absent_forward")
    also_part = any(m.start == mention.start for m in reading.within(mention.start, mention.end, "part"))
    at_work = _at_work(reading, mention, clause)
    missing = any(m.canonical == "missing" for m in reading.within(clause.start, clause.end, "symptom"))
    if _found(reading, mention, clause):
        return True
    if missing and not contexts.has(mention.start, "stopped"):
        return None if _wished(reading, mention) else False
    if absent:
        return False
    if at_work and (also_part or contexts.has(mention.start, "todo")):
        return None
    if _wished(reading, mention) or contexts.has(mention.start, "hypothetical", "other", "notodo"):
        return None
    following = [t.norm for t in tokens[mention.end : min(clause.end, mention.end + 2)]]
    if (
        following[:1]
        and following[0] in _NOT_OURS
        and following[1:2] in (["the"], ["another"], ["that"])
        and not reading.within(clause.start, mention.start, "accessory")
    ):
        return None
    words = {t.norm for t in tokens[clause.start : clause.end]}
    short = clause.end - clause.start <= 6
    if words & _HERE or short:
        return True
    return None


def _answer(reading: Reading, mention: Mention, clause: Clause) -> bool | None:
    """ "Manual, no.", "Power cord, yes.", "Remote? Nope.", "Manual's not.": the word behind answers."""
    tokens = reading.text.tokens
    own = [t.norm for t in tokens[mention.end : clause.end]]
    if not own and mention.end < len(tokens) and tokens[mention.end - 1].after in {",", "?", ":"}:
        sentence = reading.text.sentences[reading.text.sentence_of[mention.end]]
        if sentence.end - mention.end <= 3 and (sentence.start == mention.end or sentence.start <= mention.start):
            own = [t.norm for t in tokens[mention.end : sentence.end]]
    words = [w for w in own if w not in {"uh", "um"}]
    if not words or len(words) > 3:
        return None
    if words[-1] in {"isn't", "not", "aren't", "didn't", "wasn't"} and (
        words[0] in {"still", "is", "are", "did", "does", "was"} or len(words) == 1
    ):
        return False
    if words[0] in {"no", "nope", "nah", "none", "negative", "not", "isn't", "gone", "missing"} and (
        len(words) == 1 or words[-1] in {"here", "there", "present", "included", "it", "sir"}
    ):
        return False
    if words[0] in {"yes", "yep", "yeah", "check", "present", "here", "aye", "got"} or words == ["is", "here"]:
        return True
    return None


def _found(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "the power cord that was missing has turned up"."""
    words = " ".join(t.norm for t in reading.text.tokens[mention.end : clause.end])
    return any(
        p in words
        for p in (
            "turned up",
            "has come back",
            "showed up",
            "i found",
            "was found",
            "has been found",
            "we found",
            "resurfaced",
        )
    )


def _longer_around(reading: Reading, mention: Mention) -> bool:
    return any(
        m.start <= mention.start and mention.end <= m.end and m.end - m.start > mention.end - mention.start
        for m in reading.within(max(0, mention.start - 4), mention.end)
    )


def _at_work(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """A symptom or a job in the same clause is about this very part."""
    near = reading.within(clause.start, clause.end, "symptom", "work")
    return any(
        m.canonical != "missing" and abs(m.start - mention.start) <= 7 and m.start != mention.start for m in near
    )


def _wished(reading: Reading, mention: Mention) -> bool:
    return reading.contexts.has(mention.start, "todo") or bool(
        reading.cues_in(max(0, mention.start - 5), mention.start, "waits")
    )
