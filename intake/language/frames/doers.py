"""Who did a job, as it was spoken; None for the speaker, the shop or nobody named."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.frames.people import PERSONS
from intake.language.frames.verbs import had_done, passive, tense
from intake.language.reading import Reading
from intake.language.terms import Mention

_DO = frozenset(["i", "we", "i've", "we've", "i'd", "we'd", "he", "she", "they", "somebody", "someone", "somebody's", "someone's", "nobody", "you", "who"])
_AUX = frozenset(["was", "were", "is", "are", "been", "be", "being", "has", "have", "had", "got", "get", "gets", "gotten", "having", "it's", "they're", "that's"])


def done_by(reading: Reading, mention: Mention, clause: Clause) -> str | None:
    """Who did it: after "by", or the subject of an active verb; None for the speaker, the shop, or nobody named."""
    tokens = reading.text.tokens
    for i in range(mention.end, min(clause.end, mention.end + 8)):
        if tokens[i].norm == "by" and i + 1 < clause.end:
            return _who(reading, i + 1, clause.end)
    if had_done(reading, mention, clause):
        for i in range(mention.start - 1, clause.start, -1):
            if tokens[i].norm == "by":
                return _who(reading, i + 1, clause.end)
    if passive(reading, mention, clause) or tense(mention.phrase) != "done":
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


_WORKSHOPS = frozenset(["factory", "dealer", "tech", "technician", "engineer", "maker", "manufacturer", "distributor", "workshop", "shop", "importer", "agent", "apprentice", "repairman", "repairer", "seller", "electrician"])


def _somebody(word: str) -> bool:
    """Whether one word may be who did it: a written name, or a word for a person."""
    return word[:1].isupper() or word.casefold() in PERSONS or word.casefold() in _WORKSHOPS


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
    if len(words) == 1 and not _somebody(words[0]):
        return None                     # "that smudge wiped off", "the plate's rubbed smooth"
    return " ".join(words)


def _place_of(reading: Reading, i: int, end: int) -> bool:
    """ "in Dayton" belongs to a name; "in June" does not."""
    tokens = reading.text.tokens
    if tokens[i].norm not in {"in", "at"} or i + 1 >= end:
        return False
    return tokens[i + 1].capital and tokens[i + 1].norm not in _MONTHS
_MONTHS = frozenset(["january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december"])
