"""Work: what was done (service) and what is still to do (actions), with part, date, who, and what it waits for."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.dates import SpokenDate, find_dates
from intake.language.frames.doers import done_by
from intake.language.frames.facts import Fact
from intake.language.frames.job_modes import (
    done_after_all,
    done_despite,
    gets_done,
    graded,
    imperative,
    light_done,
    mine_to_do,
    owners_wish,
    said_better,
    subject_waits,
)
from intake.language.frames.job_parts import job_part
from intake.language.frames.nouns import no_job
from intake.language.frames.parts import parts_in
from intake.language.frames.verbs import SAME_FORM, infinitive, joined_less, passive, tense
from intake.language.reading import Reading
from intake.language.terms import Mention

# Jobs whose past form tells no work on the unit that a buyer would ask for
_NEVER_SERVICE = frozenset({"call", "order", "identify", "price", "list", "pack", "photograph", "send out"})


_LIGHT_SERVICE = frozenset({"test", "inspect", "adjust", "troubleshoot"})


_PREPOSITIONS = frozenset(["in", "on", "by", "at", "with", "for", "last", "from", "since", "until", "before", "after", "because", "so", "and", "to"])


_NEW = frozenset(["new", "fresh", "replacement", "another"])


_DONE_LIGHT = frozenset(["got", "gets", "had", "has", "have", "received", "given", "fitted", "put", "installed", "with"])


def find_work(reading: Reading, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]) -> list[Fact]:
    """Service and actions told in one clause."""
    out = []
    for mention in [*reading.within(clause.start, clause.end, "work"), *_sent_apart(reading, clause)]:
        if _swallowed(reading, mention) or no_job(reading, mention, clause):
            continue
        fact = _work(reading, mention, clause, back, sentence)
        if fact:
            out.append(fact)
    out.extend(_new_parts(reading, clause, out))
    return out


_SEND = frozenset(["send", "sent", "sends", "sending", "ship", "shipped", "post", "posted", "mail", "mailed"])


def _sent_apart(reading: Reading, clause: Clause) -> list[Mention]:
    """ "Send that transformer out to the rewinder": the verb and its particle apart."""
    words = reading.text.norms(clause.start, clause.end)
    found = []
    for k, word in enumerate(words):
        behind = words[k + 2 : k + 7]
        at = clause.start + k
        if word in _SEND and set(behind) & {"out", "away", "off"} and not reading.within(at, at + 1, "work"):
            found.append(Mention("work", "send out", at, at + 1, word))
    return found


def _swallowed(reading: Reading, mention: Mention) -> bool:
    return any(
        m.kind != "work"
        and m.start <= mention.start
        and mention.end <= m.end
        and m.end - m.start > mention.end - mention.start
        for m in reading.within(max(0, mention.start - 4), mention.end)
    )


def _work(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]
) -> Fact | None:
    contexts, at = reading.contexts, mention.end - 1  # the phrase may hold its own "has to be"
    if contexts.has(at, "notodo"):
        return Fact(
            "retract",
            {"work": mention.canonical, "part": None},
            mention.start,
            mention.end,
            f"not to do: {mention.phrase}",
        )
    if contexts.has(at, "other", "hypothetical"):
        return None
    todo = contexts.over(at, "todo")
    negated = contexts.over(at, "negated")
    form = tense(mention.phrase)
    held = {"till", "until", "before"} & set(reading.text.norms(mention.end, sentence[1]))
    if todo and not held and any(n.cue in _NO and n.cue_start >= todo[0].cue_end for n in negated):
        return Fact("retract", {"work": mention.canonical, "part": None}, mention.start, mention.end, f"not to do: {mention.phrase}")
    if form == "done" and mention.phrase.split()[0] in SAME_FORM and infinitive(reading, mention, clause):
        form = "base"
    if form == "done" and not todo and gets_done(reading, mention, clause):
        return _action(reading, mention, clause, back, sentence)
    if todo and mention.canonical in {"photograph", "list"} and any(s.cue.startswith("ready") for s in todo):
        return None
    if todo and mention.canonical == "repair" and owners_wish(reading, mention, clause, todo):
        return None
    if mention.phrase.split()[0] in {"needs", "need", "wants", "requires", "needing"}:
        return _action(reading, mention, clause, back, sentence)
    if mention.canonical == "call" and graded(reading, mention):
        return None
    if (todo and not done_despite(reading, mention, clause, form)) or mine_to_do(reading, mention, clause):
        if done_after_all(reading, mention, sentence):
            return _service(reading, mention, clause, back, sentence)
        if said_better(reading, mention, sentence):
            return None
        return _action(reading, mention, clause, back, sentence)
    if negated or (mention.canonical in _NEVER_SERVICE and form == "done"):
        return None
    if mention.canonical == "call" and graded(reading, mention):
        return None
    if (
        mention.canonical in _LIGHT_SERVICE
        and form == "done"
        and not passive(reading, mention, clause)
        and not _dates(reading, mention, clause, sentence, future=False)
    ):
        return None
    if form == "done" or light_done(reading, mention, clause):
        if mention.ambiguous and form != "done":
            return None
        return _service(reading, mention, clause, back, sentence)
    if imperative(reading, mention, clause):
        return _action(reading, mention, clause, back, sentence)
    if subject_waits(reading, mention, clause):
        return _action(reading, mention, clause, back, sentence)
    return None


_NO = frozenset(["no", "not", "never", "no more"])


def _really(reading: Reading, mention: Mention, clause: Clause) -> str:
    """ "The bias I set yesterday": setting the bias is biasing."""
    words = set(reading.text.norms(clause.start, clause.end))
    return "bias" if mention.canonical == "adjust" and words & {"bias", "idle", "quiescent"} else mention.canonical


def _service(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]
) -> Fact:
    part = job_part(reading, mention, clause, back)
    dates = _dates(reading, mention, clause, sentence, future=False)
    value = {
        "work": _really(reading, mention, clause),
        "part": part.canonical if part and mention.canonical not in {"recap", "retube"} else None,
        "date": dates[0].text if dates else None,
        "by": done_by(reading, mention, clause),
    }
    fact = Fact(
        "service",
        value,
        min(mention.start, part.start) if part and part.start >= clause.start else mention.start,
        max([mention.end, *(d.end for d in dates[:1])]),
        f"done: {mention.phrase}",
    )
    if dates and dates[0].vague and dates[0].text:
        fact.reasons.append("the date is only roughly told")
    return fact


def _dates(
    reading: Reading, mention: Mention, clause: Clause, sentence: tuple[int, int], *, future: bool
) -> list[SpokenDate]:
    """Dates of a job: in its own clause, after it first; else in a clause of the sentence without a job of its own."""
    tokens = reading.text.tokens
    own = find_dates(tokens, clause.start, clause.end, reading.day, future=future)
    works = [m.start for m in reading.within(clause.start, clause.end, "work") if m.start != mention.start]
    after = [
        d
        for d in own
        if d.start >= mention.end
        and not any(mention.end <= w < d.start and joined_less(reading, w, d.start) for w in works)
    ]
    before = [d for d in own if d.end <= mention.start]
    if after or before:
        return after or before[-1:]
    for other in reading.clauses[reading.clause_of[clause.start] + 1 : reading.clause_of[clause.start] + 3]:
        if other.start >= sentence[1] or reading.within(other.start, other.end, "work"):
            break
        found = find_dates(tokens, other.start, other.end, reading.day, future=future)
        if found:
            return found
    return []


def _action(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]
) -> Fact:
    part = job_part(reading, mention, clause, back)
    dates = [d for d in _dates(reading, mention, clause, sentence, future=True) if d.due]
    value = {
        "work": _really(reading, mention, clause),
        "part": part.canonical if part and mention.canonical not in {"recap", "retube"} else None,
        "due": dates[0].due if dates else None,
        "waiting_on": None,
    }
    fact = Fact(
        "actions", value, mention.start, max([mention.end, *(d.end for d in dates[:1])]), f"to do: {mention.phrase}"
    )
    if dates and dates[0].vague:
        fact.reasons.append("the day is only roughly told")
    return fact


# Last words of a to-do cue behind which a bare part is what is needed
_NEEDED = frozenset(["need", "needs", "needing", "wants", "want", "use", "a", "requires", "require", "for", "with", "of", "deserves", "get", "the", "it", "them"])


def _new_parts(reading: Reading, clause: Clause, found: Sequence[Fact]) -> list[Fact]:
    """ "needs a new lamp", "needs a belt": to replace; "got a new belt in 2020", "I put fresh caps in": replaced."""
    facts = (
        _new_part(reading, clause, part)
        for part in parts_in(reading, clause.start, clause.end)
        if not _worked_on(reading, clause, part, found)
    )
    return [fact for fact in facts if fact is not None]


def _worked_on(reading: Reading, clause: Clause, part: Mention, found: Sequence[Fact]) -> bool:
    """A job named in the clause has the part already, or stands so near that it is about it."""
    told = (f for f in found if f.field in ("actions", "service") and f.value.get("part") == part.canonical)
    works = reading.within(clause.start, clause.end, "work")
    return any(f.start <= part.start < f.end + 7 for f in told) or any(
        abs(m.start - part.start) <= 6 and m.start != part.start for m in works
    )


def _new_part(reading: Reading, clause: Clause, part: Mention) -> Fact | None:
    contexts, tokens = reading.contexts, reading.text.tokens
    if contexts.has(part.start, "notodo", "hypothetical", "other", "negated"):
        return None
    before = {t.norm for t in tokens[max(clause.start, part.start - 5) : part.start]}
    is_new = bool(before & _NEW)
    needs = [s for s in contexts.over(part.start, "todo") if s.cue.split()[-1] in _NEEDED or is_new]
    if needs and part.start - needs[0].cue_end <= 6 and not reading.within(needs[0].cue_end, part.start, "symptom"):
        due = next((d.due for d in find_dates(tokens, part.end, clause.end, reading.day, future=True) if d.due), None)
        value = {"work": "replace", "part": part.canonical, "due": due, "waiting_on": None}
        return Fact("actions", value, part.start, part.end, f"needs: {part.phrase}")
    if is_new and before & _DONE_LIGHT and not contexts.has(part.start, "todo"):
        dates = find_dates(tokens, clause.start, clause.end, reading.day, future=False)
        value = {"work": "replace", "part": part.canonical, "date": dates[0].text if dates else None, "by": None}
        return Fact("service", value, part.start, part.end, f"new: {part.phrase}")
    return None
