"""Work: what was done (service) and what is still to do (actions), with part, date, who, and what it waits for."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.dates import SpokenDate, find_dates
from intake.language.frames.facts import Fact
from intake.language.frames.parts import last_part, parts_in, specific
from intake.language.reading import Reading
from intake.language.terms import Mention

# Jobs that are about the whole unit unless a part is named in the same breath
WHOLE_UNIT = frozenset(
    {
        "test",
        "list",
        "photograph",
        "price",
        "pack",
        "identify",
        "call",
        "send out",
        "inspect",
        "order",
        "retube",
        "recap",
        "troubleshoot",
        "bias",
        "calibrate",
        "modify",
    }
)
# Jobs whose past form tells no work on the unit that a buyer would ask for
_NEVER_SERVICE = frozenset({"call", "order", "identify", "price", "list", "pack", "photograph", "send out"})
_LIGHT_SERVICE = frozenset({"test", "inspect", "adjust", "troubleshoot"})
_DO = frozenset(["i", "we", "i've", "we've", "i'd", "we'd", "he", "she", "they", "somebody", "someone", "somebody's", "someone's", "nobody", "you", "who"])
_AUX = frozenset(["was", "were", "is", "are", "been", "be", "being", "has", "have", "had", "got", "get", "gets", "gotten", "having", "it's", "they're", "that's"])
_PREPOSITIONS = frozenset(["in", "on", "by", "at", "with", "for", "last", "from", "since", "until", "before", "after", "because", "so", "and", "to"])
_PRONOUNS = frozenset(["it", "them", "that", "those", "these", "this", "both"])
_NEW = frozenset(["new", "fresh", "replacement", "another"])
_DONE_LIGHT = frozenset(["got", "gets", "had", "has", "have", "received", "given", "fitted", "put", "installed", "with"])


def find_work(reading: Reading, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]) -> list[Fact]:
    """Service and actions told in one clause."""
    out = []
    for mention in reading.within(clause.start, clause.end, "work"):
        if _swallowed(reading, mention):
            continue
        fact = _work(reading, mention, clause, back, sentence)
        if fact:
            out.append(fact)
    out.extend(_new_parts(reading, clause, out))
    return out


def _swallowed(reading: Reading, mention: Mention) -> bool:
    return any(
        m.kind != "work"
        and m.start <= mention.start
        and mention.end <= m.end
        and m.end - m.start > mention.end - mention.start
        for m in reading.within(max(0, mention.start - 4), mention.end)
    )


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
    return "done" if any(w.endswith("ed") or w in irregular for w in words[:2]) else "base"


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
    if mention.phrase.split()[0] in {"needs", "need", "wants", "requires", "needing"}:
        return _action(reading, mention, clause, back, sentence)
    if mention.canonical == "call" and _graded(reading, mention):
        return None
    if todo and not _done_despite(reading, mention, clause, form):
        return _action(reading, mention, clause, back, sentence)
    if negated or (mention.canonical in _NEVER_SERVICE and form == "done"):
        return None
    if mention.canonical == "call" and _graded(reading, mention):
        return None
    if (
        mention.canonical in _LIGHT_SERVICE
        and form == "done"
        and not _passive(reading, mention, clause)
        and not _dates(reading, mention, clause, sentence, future=False)
    ):
        return None
    if form == "done" or _light_done(reading, mention, clause):
        if mention.ambiguous and form != "done":
            return None
        return _service(reading, mention, clause, back, sentence)
    if _imperative(reading, mention, clause):
        return _action(reading, mention, clause, back, sentence)
    if _subject_waits(reading, mention, clause):
        return _action(reading, mention, clause, back, sentence)
    return None


def _graded(reading: Reading, mention: Mention) -> bool:
    """ "call it fair": no phone call."""
    return (
        bool(reading.within(mention.end, mention.end + 3, "cosmetic"))
        or (reading.text.tokens[mention.end - 1].norm in {"it", "them", "that"}
        and bool(reading.within(mention.end, mention.end + 2, "cosmetic")))
    )


def _done_despite(reading: Reading, mention: Mention, clause: Clause, form: str) -> bool:
    """ "I replaced the lamp it needed": a plain past before the to-do cue's own verb is done all the same."""
    if form != "done":
        return False
    words = [t.norm for t in reading.text.tokens[max(clause.start, mention.start - 3) : mention.start]]
    return (bool(words) and words[-1] in {"i", "we", "already", "he", "she"}) or words[-2:-1] == ["i"]


def _light_done(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "got a full retube", "had a recap in 2019": a noun of work with a light verb in the past."""
    words = [t.norm for t in reading.text.tokens[max(clause.start, mention.start - 6) : mention.start]]
    return any(
        w in {"got", "had", "received", "given", "did", "after", "since", "through", "last", "underwent", "undergone"}
        for w in words
    ) and not any(w in {"need", "needs", "want", "wants"} for w in words)


def _imperative(reading: Reading, mention: Mention, clause: Clause) -> bool:
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


def _subject_waits(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "the repair is waiting on a customer decision": the job named as the thing that waits."""
    hits = reading.cues_in(mention.end, clause.end, "waits")
    return bool(hits) and hits[0].start - mention.end <= 4


# ---------------------------------------------------------------- parts of a job


def job_part(reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause]) -> Mention | None:
    """The part a job is about: its object after it, the subject of a passive before it, or what a pronoun points at."""
    tokens = reading.text.tokens
    parts = parts_in(reading, clause.start, clause.end)
    parts = [p for p in parts if not (mention.start <= p.start < mention.end)]
    other = [m.start for m in reading.within(clause.start, clause.end, "work") if m.start != mention.start]
    after = [
        p
        for p in parts
        if p.start >= mention.end
        and p.start - mention.end <= 6
        and not any(mention.end <= o < p.start for o in other)
        and not any(tokens[k].norm in {"by", "because", "since", "until", "from"} for k in range(mention.end, p.start))
    ]
    before = [
        p
        for p in parts
        if p.end <= mention.start
        and not any(p.end <= o < mention.start and _joined_less(reading, o, mention.start) for o in other)
    ]
    passive = _passive(reading, mention, clause)
    if passive and before:
        return specific(reading, before[-1] if len(before) < 2 else _subject(reading, before), back)
    if after:
        return specific(reading, after[0], back)
    if before and not passive and tense(mention.phrase) == "base" and mention.start - before[-1].end <= 4:
        return specific(reading, before[-1], back)
    if before and passive:
        return specific(reading, before[-1], back)
    if parts and not before and not after:
        return None
    return _by_pronoun(reading, mention, clause, back, passive)


def _joined_less(reading: Reading, a: int, b: int) -> bool:
    return not any(reading.text.tokens[k].norm in {"and", "or"} for k in range(a, b))


def _subject(reading: Reading, parts: Sequence[Mention]) -> Mention:
    tokens = reading.text.tokens
    head = parts[-1]
    for part in reversed(parts[:-1]):
        between = [t.norm for t in tokens[part.end : head.start]]
        if len(between) <= 3 and any(w in {"on", "of", "in", "for"} for w in between):
            head = part
    return head


def _passive(reading: Reading, mention: Mention, clause: Clause) -> bool:
    if tense(mention.phrase) != "done":
        return False
    before = [t.norm for t in reading.text.tokens[max(clause.start, mention.start - 4) : mention.start]]
    return any(w in {"be", "been", "was", "were", "is", "are", "being", "get", "got", "getting"} for w in before)


def _by_pronoun(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], passive: bool
) -> Mention | None:
    tokens = reading.text.tokens
    if mention.canonical in WHOLE_UNIT:
        return None
    if passive:
        subject = [
            t.norm
            for t in tokens[clause.start : mention.start]
            if t.norm in _PRONOUNS or t.norm in {"they", "it's", "they're", "that's"}
        ]
        if not subject:
            return None
        near = back[:1]
        if near and reading.text.sentence_of[near[0].start] < reading.text.sentence_of[clause.start] - 1:
            return None
        return last_part(reading, near, reach=1) if near and mention.canonical != "repair" else None
    follow = tokens[mention.end].norm if mention.end < clause.end else ""
    inner = tokens[mention.end - 1].norm
    if follow in _PRONOUNS or inner in _PRONOUNS:
        return last_part(reading, back, reach=3)
    return None


# ---------------------------------------------------------------- done


def _service(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]
) -> Fact:
    part = job_part(reading, mention, clause, back)
    dates = _dates(reading, mention, clause, sentence, future=False)
    value = {
        "work": mention.canonical,
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
        and not any(mention.end <= w < d.start and _joined_less(reading, w, d.start) for w in works)
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


def done_by(reading: Reading, mention: Mention, clause: Clause) -> str | None:
    """Who did it: after "by", or the subject of an active verb; None for the speaker, the shop, or nobody named."""
    tokens = reading.text.tokens
    for i in range(mention.end, min(clause.end, mention.end + 8)):
        if tokens[i].norm == "by" and i + 1 < clause.end:
            return _who(reading, i + 1, clause.end)
    if _passive(reading, mention, clause) or tense(mention.phrase) != "done":
        return None
    start = clause.start
    for mark in range(mention.start - 1, start - 1, -1):
        if tokens[mark].after in {",", ".", ";"}:
            start = mark + 1
            break
    while start < mention.start and tokens[start].norm in {
        "and",
        "but",
        "so",
        "because",
        "then",
        "which",
        "that",
        "uh",
        "um",
        "though",
        "back",
        "when",
        "since",
        "anyway",
        "okay",
        "well",
        "also",
    }:
        start += 1
    words = [t.norm for t in tokens[start : mention.start]]
    if not words or any(
        w in _DO or w in _AUX or (w in {"it", "the", "this", "that"} and k == 0 and len(words) == 1)
        for k, w in enumerate(words)
    ):
        return None
    return _who(reading, start, mention.start)


# Words that name nobody (who did it stays blank), and words behind which a name has ended
_NOBODY = _DO | frozenset(["me", "us", "myself", "ourselves", "hand", "him", "her", "them", "it", "friday", "monday", "tuesday", "wednesday", "thursday", "saturday", "sunday", "tomorrow"])
_AFTER_NAME = frozenset(["last", "in", "at", "on", "back", "before", "during", "two", "three", "a", "about", "around", "this", "yesterday", "years", "for", "who", "and", "when", "just", "already"])


def _who(reading: Reading, start: int, end: int) -> str | None:
    """A short noun phrase as it was spoken, without article: "previous owner", "guy in Dayton", "Harrow Street Sound"."""
    tokens = reading.text.tokens
    words: list[str] = []
    for i in range(start, min(end, start + 6)):
        token = tokens[i]
        if token.norm in _NOBODY:
            break
        if words and token.norm in _AFTER_NAME and not _place_of(reading, i, end):
            break
        if not words and token.norm in {"the", "a", "an", "our", "some", "that", "just"}:
            continue
        words.append(token.text)
        if token.after and not (len(words) > 1 and _place_of(reading, i, end)):
            break
    if not words or any(m.kind in ("part", "unit_type") for m in reading.within(start, start + len(words))):
        return None
    return " ".join(words)


def _place_of(reading: Reading, i: int, end: int) -> bool:
    """ "in Dayton" belongs to a name; "in June" does not."""
    tokens = reading.text.tokens
    if tokens[i].norm not in {"in", "at"} or i + 1 >= end:
        return False
    return tokens[i + 1].capital and tokens[i + 1].norm not in _MONTHS


_MONTHS = frozenset(["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"])


# ---------------------------------------------------------------- to do


def _action(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], sentence: tuple[int, int]
) -> Fact:
    part = job_part(reading, mention, clause, back)
    dates = [d for d in _dates(reading, mention, clause, sentence, future=True) if d.due]
    value = {
        "work": mention.canonical,
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
