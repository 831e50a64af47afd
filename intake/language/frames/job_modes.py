"""Whether a job is set, wished, refused, settled or done: what the words around its verb say."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.context import Scope
from intake.language.frames.job_parts import WHOLE_UNIT
from intake.language.frames.parts import parts_in
from intake.language.frames.verbs import had_done, tense
from intake.language.reading import Reading
from intake.language.terms import Mention


def gets_done(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "Both woofers get refoamed": what is going to be done, unless it is told of every time."""
    words = reading.text.norms(max(clause.start, mention.start - 1), mention.end)
    habit = {"always", "usually", "every", "often", "normally"} & set(reading.text.norms(clause.start, clause.end))
    heads = {words[0], mention.phrase.split()[0]}
    return bool(heads & {"get", "gets"}) and not habit


def owners_wish(reading: Reading, mention: Mention, clause: Clause, todo: Sequence[Scope]) -> bool:
    """ "He wants it fixed": why it came in, no job that somebody has set."""
    wish = any("want" in s.cue or "like" in s.cue for s in todo)
    if not wish or parts_in(reading, clause.start, clause.end):
        return False
    words = reading.text.norms(clause.start, mention.start)
    return bool(any(w in {"it", "them", "'em", "em", "that"} or w.endswith("'em") for w in words)) and not mention.phrase.startswith(("wants", "needs"))


def mine_to_do(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "I've that to clean yet", "I have still the heads to align": have, its object, then to."""
    if tense(mention.phrase) != "base" or mention.phrase.split()[-1].endswith(("ing", "tion", "ment")):
        return False
    words = reading.text.norms(max(clause.start, mention.start - 8), mention.start)
    if not words or words[-1] != "to" or set(words) & {"not", "haven't", "hasn't", "no", "nothing", "never"}:
        return False
    haves = [i for i, w in enumerate(words) if w in {"i've", "we've", "have", "i'd", "got", "has", "he's", "she's"}]
    return bool(haves) and 1 <= len(words) - 2 - haves[-1] <= 6 and words[haves[-1] + 1] not in {"been", "come", "gone"}
_ALREADY = ("done that", "did that", "done it", "did it", "that's done", "been done", "is done", "already done", "that one's done", "it's done")


def done_after_all(reading: Reading, mention: Mention, sentence: tuple[int, int]) -> bool:
    """ "It still has to be biased, no, wait, he's done that too": the last word stands."""
    rest = reading.text.norms(mention.end, sentence[1])
    words = " ".join(rest[:10])
    return any(w in words for w in _ALREADY) and not set(rest[:10]) & {"until", "once", "when", "if", "after", "get", "hasn't", "not"}


def said_better(reading: Reading, mention: Mention, sentence: tuple[int, int]) -> bool:
    """ "This must only be fitted, so, replace the knob": the same job again in the sentence, with its part."""
    if mention.canonical in WHOLE_UNIT or parts_in(
        reading, mention.end, min(reading.clause_at(mention.start).end, mention.end + 4)
    ):
        return False
    clause = reading.clause_at(mention.start)
    if parts_in(reading, clause.start, mention.start):
        return False
    again = [m for m in reading.within(clause.end, sentence[1], "work") if m.canonical == mention.canonical]
    return any(
        parts_in(reading, m.end, min(sentence[1], m.end + 4)) and not reading.contexts.has(m.start, "notodo", "negated")
        for m in again
    )


def graded(reading: Reading, mention: Mention) -> bool:
    """ "call it fair": no phone call."""
    return (
        bool(reading.within(mention.end, mention.end + 3, "cosmetic"))
        or (reading.text.tokens[mention.end - 1].norm in {"it", "them", "that"}
        and bool(reading.within(mention.end, mention.end + 2, "cosmetic")))
    )


def done_despite(reading: Reading, mention: Mention, clause: Clause, form: str) -> bool:
    """ "I replaced the lamp it needed": a plain past before the to-do cue's own verb is done all the same."""
    if form != "done":
        return False
    words = [t.norm for t in reading.text.tokens[max(clause.start, mention.start - 3) : mention.start]]
    return (bool(words) and words[-1] in {"i", "we", "already", "he", "she"}) or words[-2:-1] == ["i"]


def light_done(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "got a full retube", "had a recap in 2019": a noun of work with a light verb in the past."""
    words = [t.norm for t in reading.text.tokens[max(clause.start, mention.start - 6) : mention.start]]
    if had_done(reading, mention, clause):
        return True
    return any(
        w in {"got", "had", "received", "given", "did", "after", "since", "through", "last", "underwent", "undergone"}
        for w in words
    ) and not any(w in {"need", "needs", "want", "wants"} for w in words)


def imperative(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "Clean the jacks.", "Next step, clean the heads": a base form that opens its clause."""
    if (
        tense(mention.phrase) != "base"
        or mention.ambiguous
        or mention.phrase.split()[-1].endswith(("ing", "tion", "ment", "s"))
    ):
        return False
    before = [t.norm for t in reading.text.tokens[clause.start : mention.start]]
    return all(
        w in {"so", "then", "and", "okay", "please", "just", "also", "now", "next", "first", "to", "action", "do"}
        for w in before
    )


def subject_waits(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "the repair is waiting on a customer decision": the job named as the thing that waits."""
    hits = reading.cues_in(mention.end, clause.end, "waits")
    return bool(hits) and hits[0].start - mention.end <= 4
