"""Where a unit stands, how it came, and how it looks: stage, source, cosmetic grade."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact
from intake.language.reading import Reading
from intake.language.terms import Mention

_LOOKS = frozenset(
    ["cosmetically", "cosmetic", "cosmetics", "condition", "shape", "nick", "looks", "looking", "appearance", "finish", "outside", "exterior", "externally", "visually", "grade", "graded", "order", "overall", "aesthetically", "body", "wise"]
)
_WHOLE = frozenset(
    ["it's", "it", "is", "they're", "they", "are", "this", "that's", "these", "which", "and", "honestly", "really", "still", "actually", "i'd", "call", "say", "only", "just", "quite", "pretty", "otherwise", "but", "so", "cosmetically", "she's", "he's", "them", "both"]
)
_STRONG = frozenset({"excellent", "mint", "very good"})


def find_status(reading: Reading, clause: Clause, sentence: tuple[int, int]) -> list[Fact]:
    """Stage, source and cosmetic grade told in one clause."""
    out = []
    for mention in reading.within(clause.start, clause.end, "stage", "source", "cosmetic"):
        if _swallowed(reading, mention):
            continue
        if mention.kind == "stage":
            fact = _stage(reading, mention)
        elif mention.kind == "source":
            fact = _source(reading, mention, clause)
        else:
            fact = _cosmetic(reading, mention, clause, sentence)
        if fact:
            out.append(fact)
    return out


def _swallowed(reading: Reading, mention: Mention) -> bool:
    return any(
        m.start <= mention.start and mention.end <= m.end and m.end - m.start > mention.end - mention.start
        for m in reading.within(max(0, mention.start - 5), mention.end)
    )


def _fact(mention: Mention, rule: str) -> Fact:
    return Fact(
        mention.kind,
        mention.canonical,
        mention.start,
        mention.end,
        f"{rule}: {mention.phrase}",
        signals={"ambiguous": 1.0} if mention.ambiguous else {},
    )


def _stage(reading: Reading, mention: Mention) -> Fact | None:
    contexts = reading.contexts
    if mention.ambiguous:
        return None
    if contexts.has(mention.start, "negated"):
        return Fact("unstage", mention.canonical, mention.start, mention.end, f"no longer: {mention.phrase}")
    if contexts.has(mention.start, "past", "other", "hypothetical", "todo"):
        return None
    return _fact(mention, "stage")


def _source(reading: Reading, mention: Mention, clause: Clause) -> Fact | None:
    if reading.contexts.has(mention.start, "negated", "other", "hypothetical", "todo") or mention.ambiguous:
        return None
    before = reading.text.tokens[mention.start - 1].norm if mention.start > clause.start else ""
    if mention.phrase.split()[0] in {"bought", "paid", "purchased"} and before in {
        "who",
        "he",
        "she",
        "they",
        "who'd",
        "he'd",
        "she'd",
    }:
        return None
    return _fact(mention, "source")


def _cosmetic(reading: Reading, mention: Mention, clause: Clause, sentence: tuple[int, int]) -> Fact | None:
    """A grade counts beside a word about looks, or where a short clause says nothing else of the whole unit."""
    contexts = reading.contexts
    if contexts.has(mention.start, "negated", "other", "hypothetical", "todo"):
        return None
    tokens = reading.text.tokens
    words = {t.norm for t in tokens[clause.start : clause.end]}
    low = max(sentence[0], mention.start - 9) if sentence[1] - sentence[0] > 3 else max(0, sentence[0] - 4)
    near = {t.norm for t in tokens[low : min(sentence[1], mention.end + 6)]}
    if near & _LOOKS or any(w in mention.phrase.split() for w in _LOOKS):
        return _fact(mention, "cosmetic")
    if mention.ambiguous:
        return None
    before = [t.norm for t in tokens[clause.start : mention.start]]
    if tokens[mention.end - 1].after and (
        mention.start == sentence[0] or tokens[mention.start - 1].after in {",", ";", "."}
    ):
        return _fact(mention, "grade in a list")
    after = (
        mention.end == clause.end
        or tokens[mention.end - 1].after
        or tokens[mention.end].norm
        in {"and", "but", "honestly", "really", "for", "throughout", "all", "overall", "though"}
    )
    if (
        mention.canonical in _STRONG
        and after
        and (not before or set(before) & _WHOLE)
        and not reading.within(clause.start, mention.start, "part", "symptom")
    ):
        return _fact(mention, "grade")
    if (
        after
        and len(before) <= 3
        and before
        and before[-1] in {"it's", "they're", "is", "are"}
        and before[0] in {"it's", "they're", "it", "they"}
        and len(words) <= 6
    ):
        return _fact(mention, "grade")
    return None
