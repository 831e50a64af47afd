"""Where a unit stands in the shop's flow, how it came, and how it looks: stage, source, cosmetic grade."""

from __future__ import annotations

import re

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact, Tale
from intake.language.frames.grades import find_grade, is_plain
from intake.language.frames.lines import line
from intake.language.frames.people import denied, supposed
from intake.language.frames.sources import find_sources, rank
from intake.language.reading import Reading
from intake.language.terms import Mention

_FILLERS = frozenset(
    ["so", "now", "then", "still", "it's", "they're", "she's", "he's", "that's", "it", "they", "is", "are", "put", "as", "stage", "status", "again", "only", "just", "currently", "officially", "okay", "well", "and", "for", "the", "moment", "at", "present", "this", "one", "keep", "under", "mark", "down", "say", "call", "time", "being", "today", "these", "both", "yes", "in", "meantime"]
)
_NOT_YET = frozenset(["before", "until", "till", "when", "once", "after", "nearly", "almost", "unless", "if", "wants", "never", "toward", "towards", "not"])
_LEFT = frozenset(["off", "past", "beyond", "finished", "done", "through", "longer", "stopped", "was"])
_PEOPLE = frozenset(["customer", "customers", "guy", "guys", "bloke", "blokes", "owner", "lady", "driver", "courier", "someone", "somebody", "truck", "van", "taxi", "people", "folks", "folk", "kettle", "i've", "dinner", "lunch", "wife", "boss", "phone", "client", "chap", "everyone", "everybody", "he", "you", "door"])
_BARE = re.compile(
    r"(?<!\S)(?:(?:it|this one|that one|she|they|both|these|the \S+(?: \S+)?|this \S+|that \S+)(?:'s| is| are)?(?: just| still| now| only| simply)? (?:waits|waiting)"
    r"|(?:must|has to|have to|will have to|'ll have to|shall|it'll have to|they'll have to)(?: \S+){0,3}? wait)(?= [.,]|$)"
)
_APART = frozenset(["in bits", "in pieces", "still in bits", "still in pieces", "all apart", "taken apart", "half apart", "half done", "in a hundred pieces"])
_IDLE = frozenset(["kettle", "tea", "coffee", "lunch", "dinner", "bus", "taxi"])
_JUST_IN = frozenset(["today", "this", "yesterday", "from", "and", "off", "last", "now", "on", "so", "as", "with"])
_WITH_THINGS = frozenset({"received", "just received", "just in", "just came in", "just arrived", "just landed", "just turned up", "just showed up", "came in today", "came in this morning", "arrived today", "arrived this morning", "turned up today", "turned up this morning", "just come in", "just got in", "new arrival", "just delivered"})


def find_status(reading: Reading, clause: Clause, sentence: tuple[int, int]) -> list[Fact]:
    """Stage, source and cosmetic grade told in one clause."""
    found = [
        m
        for m in reading.within(clause.start, clause.end, "stage", "source", "cosmetic")
        if not _swallowed(reading, m)
    ]
    facts = [f for m in found if m.kind == "stage" and (f := _stage(reading, m, clause)) is not None]
    facts += [f for m in found if m.kind == "cosmetic" and (f := find_grade(reading, m, clause, sentence)) is not None]
    facts += find_sources(reading, clause, sentence, [m for m in found if m.kind == "source"])
    if not any(f.field in ("stage", "unstage") for f in facts):
        facts += _waits_alone(reading, clause)
    return facts


def _swallowed(reading: Reading, mention: Mention) -> bool:
    return any(
        m.start <= mention.start and mention.end <= m.end and m.end - m.start > mention.end - mention.start
        for m in reading.within(max(0, mention.start - 5), mention.end)
    )


def _stage(reading: Reading, mention: Mention, clause: Clause) -> Fact | None:
    if mention.ambiguous and not _lone(reading, mention, clause):
        return None
    if _look_alike(reading, mention, clause):
        return None
    contexts = reading.contexts
    tokens = reading.text.tokens
    before = [t.norm for t in tokens[max(clause.start, mention.start - 3) : mention.start]]
    if denied(reading, mention.start, mention.end) or contexts.has(mention.start, "stopped") or _is_left(before, mention):
        return Fact("unstage", mention.canonical, mention.start, mention.end, f"no longer: {mention.phrase}")
    if contexts.has(mention.start, "past", "other", "todo"):
        return None
    if supposed(reading, mention.start) and mention.canonical != "waiting":
        return None
    early = {t.norm for t in tokens[max(clause.start, mention.start - 5) : mention.start]}
    if early & _NOT_YET and mention.canonical != "waiting":
        return None
    return _fact(mention)


def _fact(mention: Mention) -> Fact:
    signals = {"ambiguous": 1.0} if mention.ambiguous else {}
    return Fact("stage", mention.canonical, mention.start, mention.end, f"stage: {mention.phrase}", signals=signals)


def _is_left(before: list[str], mention: Mention) -> bool:
    """ "take it off waiting", "past the received stage", "finished testing": the unit is there no longer."""
    if mention.phrase.startswith(("being", "already", "up", "on", "live", "went", "ready", "just")):
        return False
    return bool(before) and (before[-1] in _LEFT - {"was"} or before[-2:] in (["past", "the"], ["out", "of"], ["beyond", "the"], ["off", "the"]))


def _lone(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "So, testing.": the clause is the label and nothing else."""
    words = [t.norm for i, t in enumerate(reading.text.tokens[clause.start : clause.end], clause.start) if not mention.start <= i < mention.end]
    return mention.phrase in {"testing", "waiting", "received", "listed"} and all(w in _FILLERS for w in words)


def _look_alike(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """Words of a stage about something else: a part that came, a customer who waits, a figure that is listed."""
    tokens = reading.text.tokens
    before = [t.norm for t in tokens[max(clause.start, mention.start - 4) : mention.start]]
    after = [t.norm for t in tokens[mention.end : min(clause.end, mention.end + 4)]]
    closed = bool(tokens[mention.end - 1].after) or not after
    if mention.phrase in _APART and reading.within(clause.start, mention.start, "part"):
        return True
    if mention.canonical == "waiting" and _IDLE & set(after):
        return True
    if {"like", "if"} & set(before[-3:]) and mention.phrase.startswith(("on ", "in ")):
        return True
    if mention.phrase in _WITH_THINGS:
        if reading.within(clause.start, mention.start, "part", "accessory") or (
            not closed and reading.within(mention.end, min(clause.end, mention.end + 4), "part", "accessory")
        ):
            return True
        return mention.phrase == "just in" and not closed and after[0] not in _JUST_IN
    if mention.phrase in {"waiting", "waits", "stuck waiting", "wait until", "has to wait", "have to wait"}:
        if {w.removesuffix("'s") for w in before} & _PEOPLE or before[-1:] in (["i'm"], ["he's"]):
            return closed or after[0] not in {"on", "for"}
        return mention.phrase == "wait until" and after[:1] in (["you"], ["they"])
    if mention.phrase == "pending" and closed and reading.within(clause.start, mention.start, "work"):
        return True
    if mention.canonical == "listed" and not closed:
        named = reading.within(mention.end, min(clause.end, mention.end + 6), "unit_of_measure")
        return bool(named) or (mention.phrase == "listed" and after[0] in {"as", "in", "under", "among", "price"})
    return False


def _waits_alone(reading: Reading, clause: Clause) -> list[Fact]:
    """ "and until that turns up the set waits", "so long must the pair also wait"."""
    words = line(reading.text.tokens, clause.start, clause.end)
    for start, end, match in words.find(_BARE):
        said = set(match.group(0).replace("'s", "").split())
        if said & _PEOPLE or reading.contexts.has(start, "negated", "past", "other") or "i" in said:
            continue
        return [Fact("stage", "waiting", start, end, f"stage: {match.group(0)}")]
    return []


def settle_status(tale: Tale) -> None:
    """Of a unit's own sources only the plainest telling stands, of its grades a plain one; a denied source is taken back."""
    for refused in tale.of("unsource"):
        for fact in tale.of("source"):
            if fact.value == refused.value and (fact.start < refused.start or fact.rule.startswith("said for all")):
                tale.drop(fact)
    own = [f for f in tale.of("source") if not f.rule.startswith("said for all")]
    best = max((rank(f) for f in own), default=0)
    for fact in own:
        if rank(fact) < best:
            tale.drop(fact)
    grades = [f for f in tale.of("cosmetic") if not f.rule.startswith("said for all")]
    if any(is_plain(f) for f in grades):
        for fact in grades:
            if not is_plain(fact):
                tale.drop(fact)
