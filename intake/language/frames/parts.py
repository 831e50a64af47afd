"""Which part of the unit a symptom or a job is about, and on which side."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.reading import Reading
from intake.language.terms import Mention

_PRONOUNS = frozenset(["it", "it's", "that", "that's", "they", "they're", "them", "those", "these", "this", "which", "he", "she", "both"])
_PLACERS = frozenset(["on", "in", "of", "at", "to", "from", "around", "across", "inside", "under", "behind", "along", "near", "through", "for"])
_VERB_LIKE = frozenset(
    ["is", "are", "was", "were", "be", "been", "being", "has", "have", "had", "looks", "sounds", "feels", "got", "gets", "seems", "does", "do", "did", "isn't", "aren't", "wasn't", "weren't", "keeps", "went", "goes", "started"]
)


# "every time you switch on": what may stand around a part's word that is a verb or the tester's own tool
_TURNS = frozenset(["on", "off", "over", "it", "them", "to", "between", "from"])
_TURNERS = frozenset(["you", "i", "we", "to", "and", "when", "they", "he", "she", "i'd", "then"])
_TOOL_BEFORE = frozenset(["put", "puts", "on", "with", "by", "my", "per"])
_TOOL_BEHIND = frozenset(["on", "across", "says", "said", "reads", "read", "gives", "gave", "shows", "showed", "makes", "to", "put"])
# Words behind which "right" and "left" are no sides: "worn right down", "left it with us"
_NOT_RIGHT = frozenset(
    ["down", "away", "through", "off", "across", "in", "up", "out", "around", "round", "over", "there", "here", "now", "then", "where", "behind", "next", "above", "below", "at", "along", "back", "after", "before", "so", "well", "ready", "size", "enough", "lot", "one's", "beside", "under", "underneath", "into", "past", "by", "from", "to", "word", "thing"]
)
_NOT_LEFT = frozenset(["it", "them", "us", "me", "to", "over", "behind", "alone", "with", "for", "on", "in", "here", "there", "off", "is"])
_LEFT_OVER = frozenset(["that's", "what's", "nothing", "thing", "have", "has", "i", "he", "she", "they", "we", "been", "they've", "i've", "we've", "who", "only", "job", "much", "is", "are", "was"])


def is_side(reading: Reading, mention: Mention) -> bool:
    """Whether "left" or "right" tells a side here; a phrase ("on the left", "right channel") always does."""
    if mention.phrase not in ("left", "right"):
        return True
    tokens = reading.text.tokens
    before = tokens[mention.start - 1].norm if mention.start else ""
    after = tokens[mention.end].norm if mention.end < len(tokens) and not tokens[mention.end - 1].after else ""
    if before in {"the", "on", "its", "his", "her"} or tokens[mention.start].norm.endswith("'s"):
        return True
    if mention.phrase == "right":
        return after not in _NOT_RIGHT and before not in {"all", "alright", "that's", "about", "just", "it", "quite"}
    return after not in _NOT_LEFT and before not in _LEFT_OVER


def sides_in(reading: Reading, start: int, end: int) -> list[Mention]:
    """The side mentions in start..end."""
    return [m for m in reading.within(start, end, "side") if is_side(reading, m)]


def _used_otherwise(reading: Reading, mention: Mention) -> bool:
    """ "You switch on", "put the meter on it": a verb, or the tool of the one who measures."""
    tokens = reading.text.tokens
    before = [t.norm for t in tokens[max(0, mention.start - 2) : mention.start]]
    after = tokens[mention.end].norm if mention.end < len(tokens) else ""
    if mention.phrase in ("switch", "switches", "switched"):
        return after in _TURNS and bool(before) and before[-1] in _TURNERS
    if mention.phrase in ("drawer", "drawers"):
        return bool(before) and before[-1] in {"a", "the", "my", "this", "that"} and before[0] in {"in", "from", "into", "of", "out"}
    if mention.phrase == "meter":
        return bool(before) and before[-1] in {"a", "the", "my"} and before[0] in _TOOL_BEFORE and after in _TOOL_BEHIND
    return False


def parts_in(reading: Reading, start: int, end: int) -> list[Mention]:
    """Part mentions in start..end; one inside a longer phrase of another kind is none."""
    out = []
    for mention in reading.within(start, end, "part"):
        if _used_otherwise(reading, mention):
            continue
        if any(
            m.kind not in ("part", "accessory", "unit_type")
            and m.start <= mention.start
            and mention.end <= m.end
            and m.end - m.start > mention.end - mention.start
            for m in reading.within(max(0, mention.start - 4), mention.end)
        ):
            continue
        out.append(mention)
    return out


def part_of_symptom(reading: Reading, symptom: Mention, clause: Clause, back: Sequence[Clause]) -> Mention | None:
    """The part a symptom is about: right behind it ("dim display"), placed ("hum in the left channel"), before it, or a pronoun's."""
    tokens = reading.text.tokens
    parts = [
        p for p in parts_in(reading, clause.start, clause.end) if not (p.start < symptom.end and symptom.start < p.end)
    ]
    after = [p for p in parts if p.start >= symptom.end]
    if after:
        first = after[0]
        between = [t.norm for t in tokens[symptom.end : first.start]]
        if len(between) <= 1 and not (set(between) & (_VERB_LIKE | {"and"})) and not tokens[symptom.end - 1].after:
            return first
        if any(w in _PLACERS for w in between[:2]) and len(between) <= 6:
            return first
    before = [p for p in parts if p.end <= symptom.start]
    if before:
        return _head(reading, before, symptom.start)
    subject = next((t.norm for t in tokens[clause.start : symptom.start] if t.norm in _PRONOUNS), "")
    start_bare = symptom.start - clause.start <= 2 and not any(
        t.norm in {"there's", "i", "we"} for t in tokens[clause.start : symptom.start]
    )
    if not (subject or start_bare) or subject in {"this", "he", "she"}:
        return None
    for earlier in back[: 3 if subject else 1]:
        if reading.text.sentence_of[earlier.start] != reading.text.sentence_of[clause.start]:
            break
        found = [
            p
            for p in parts_in(reading, earlier.start, earlier.end)
            if subject or not reading.contexts.has(p.start, "negated")
        ]
        if found:
            return found[-1]
    return None


def _head(reading: Reading, parts: Sequence[Mention], at: int) -> Mention:
    """Of several parts before a symptom, the subject: "the glass on the meter is cracked" is about the glass."""
    tokens = reading.text.tokens
    head = parts[-1]
    for part in reversed(parts[:-1]):
        between = [t.norm for t in tokens[part.end : head.start]]
        if len(between) <= 3 and any(w in {"on", "of", "in", "for", "at"} for w in between):
            head = part
        else:
            break
    return head


def side_near(reading: Reading, start: int, end: int, clause: Clause, *, window: int = 4) -> str | None:
    """The side said of the words start..end: just before ("left tweeter"), or after ("on the left", "on both")."""
    best: tuple[int, str] | None = None
    for m in sides_in(reading, clause.start, clause.end):
        if m.end <= start:
            distance = start - m.end
        elif m.start >= end:
            distance = m.start - end
        else:
            distance = 0
        limit = window if m.end <= start else window + 3
        if distance <= limit and (best is None or distance < best[0]):
            best = (distance, m.canonical)
    return best[1] if best else None


def last_part(reading: Reading, back: Sequence[Clause], *, reach: int = 3) -> Mention | None:
    """The part spoken of last in the clauses before (nearest first)."""
    for clause in back[:reach]:
        found = parts_in(reading, clause.start, clause.end)
        if found:
            return found[-1]
    return None


def specific(reading: Reading, part: Mention, back: Sequence[Clause]) -> Mention:
    """ "that post" after "the left binding post": the fuller name said before, where it ends in the same word."""
    word = part.phrase.split()[-1].rstrip("s")
    if len(part.phrase.split()) > 1:
        return part
    for clause in back[:4]:
        for earlier in reversed(parts_in(reading, clause.start, clause.end)):
            words = earlier.phrase.split()
            if len(words) > 1 and words[-1].rstrip("s") == word and earlier.canonical != part.canonical:
                return earlier
    return part
