"""Which part a job is about: its object, the subject of a passive, a part's last word alone, or what a pronoun points at."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.clauses import Clause
from intake.language.frames.parts import last_part, parts_in, specific
from intake.language.frames.verbs import joined_less, passive, tense
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
_PRONOUNS = frozenset(["it", "them", "that", "those", "these", "this", "both"])


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
        and not any(p.end <= o < mention.start and joined_less(reading, o, mention.start) for o in other)
    ]
    is_passive = passive(reading, mention, clause)
    if _whole_thing(reading, clause, mention):
        return None
    if is_passive and before:
        return specific(reading, before[-1] if len(before) < 2 else _subject(reading, before), back)
    if after:
        return specific(reading, after[0], back)
    if before and not is_passive and tense(mention.phrase) == "base" and mention.start - before[-1].end <= 4:
        return specific(reading, before[-1], back)
    if before and is_passive:
        return specific(reading, before[-1], back)
    if before and tense(mention.phrase) == "done" and before[-1].end == mention.start and before[-1].start <= clause.start + 1:
        return specific(reading, before[-1], back)      # "Tape heads cleaned, same time"
    if parts and not before and not after:
        return None
    named = _by_last_word(reading, mention, clause, back)
    if named is not None:
        return named
    return _by_pronoun(reading, mention, clause, back, is_passive)


def _whole_thing(reading: Reading, clause: Clause, mention: Mention) -> bool:
    """ "The whole thing's got to be cleaned": no part, whatever was spoken of before."""
    words = " ".join(reading.text.norms(clause.start, min(clause.end, mention.end + 6)))
    return any(w in words for w in ("whole thing", "whole unit", "whole machine", "whole deck", "whole amp", "whole instrument", "whole lot", "all of it", "entire thing", "inside and out"))
_THINGS = frozenset(["the", "that", "this", "those", "these", "a", "new", "its", "old", "said"])


def _by_last_word(reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause]) -> Mention | None:
    """ "So that string will want replacing" after "the dial string's snapped": a part named by its last word alone."""
    tokens = reading.text.tokens
    near = [
        tokens[i].norm.removesuffix("'s").rstrip("s")
        for i in range(max(clause.start + 1, mention.start - 9), min(clause.end, mention.end + 5))
        if tokens[i - 1].norm in _THINGS and not mention.start <= i < mention.end
    ]
    for earlier in back[:5] if near else ():
        for part in reversed(parts_in(reading, earlier.start, earlier.end)):
            words = part.phrase.split()
            if len(words) > 1 and words[-1].rstrip("s") in near:
                return part
    return None


def _subject(reading: Reading, parts: Sequence[Mention]) -> Mention:
    tokens = reading.text.tokens
    head = parts[-1]
    for part in reversed(parts[:-1]):
        between = [t.norm for t in tokens[part.end : head.start]]
        if len(between) <= 3 and any(w in {"on", "of", "in", "for"} for w in between):
            head = part
    return head


def _by_pronoun(
    reading: Reading, mention: Mention, clause: Clause, back: Sequence[Clause], is_passive: bool
) -> Mention | None:
    tokens = reading.text.tokens
    if mention.canonical in WHOLE_UNIT:
        return None
    if is_passive:
        first = max(clause.start, mention.start - 6)
        subject = any(
            w in _PRONOUNS | {"they", "it's", "they're", "that's"} and (i == 0 or words[i - 1] not in {"after", "for", "with"})
            for words in [reading.text.norms(first, mention.start)]
            for i, w in enumerate(words)
        )
        unclear = mention.canonical == "repair" and not set(reading.text.norms(first, mention.start)) & {"that", "those"}
        if not subject or unclear or not back:
            return None
        if reading.text.sentence_of[back[0].start] < reading.text.sentence_of[clause.start] - 1:
            return None
        for earlier in back[:3]:
            same = reading.text.sentence_of[earlier.start] == reading.text.sentence_of[clause.start]
            if earlier is not back[0] and not same:
                break
            found = parts_in(reading, earlier.start, earlier.end)
            if found:
                return found[-1]
        return None
    if _object_first(reading, mention, clause):
        return last_part(reading, back, reach=3)
    follow = tokens[mention.end].norm if mention.end < clause.end else ""
    inner = tokens[mention.end - 1].norm
    if follow in _PRONOUNS or inner in _PRONOUNS:
        return last_part(reading, back, reach=3)
    return None


def _object_first(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "This I repaired yesterday", "have I it lubricated", "I've that to clean": the object pronoun before the verb."""
    words = reading.text.norms(max(clause.start, mention.start - 5), mention.start)
    at = [i for i, w in enumerate(words) if w in _PRONOUNS]
    doers = {"i", "we", "he", "she", "i've", "we've", "have", "has"}
    return any(set(words[:i]) & doers or set(words[i + 1 : i + 2]) & doers for i in at)
