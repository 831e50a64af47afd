"""The plain reading and the one with hints laid side by side: what the second may change in the first.

The plain reading is the record of what was said. A term is taken only where the plain reading has
words that sound like it, and only if the sound itself, weighed by the recognizer, speaks for it
and for no rival name; nothing else of the second reading is used, so it can neither add nor repeat
nor leave out speech. Numbers are never changed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from intake.speech.hints import TRADE, Proposal
from intake.speech.transcript import Doubt, Word
from intake.vocabulary.terms import name_key

READINGS = "readings differ"
AFTER = 2                       # words after a span whose likelihood counts with it
TAIL = re.compile(r"[.,;:?!\"')\]]+$")


@dataclass(frozen=True)
class Rule:
    """When a term of one kind is taken. `gain` in natural logarithms of likelihood.

    `least`: the gain asked for where the second reading has the term too; `alone`: where it has not (None: never).
    `support`: what a full fit with a neighbour (a maker's model, a model's maker) counts. `lead`: how much more
    than the best rival's.
    """

    least: float
    alone: float | None = None
    support: float = 0.0
    lead: float = 2.0


RULES = {
    "maker": Rule(least=1.0, alone=6.0, support=4.0, lead=2.0),
    "model": Rule(least=1.0, support=4.0, lead=2.0),
    "tube": Rule(least=2.0),
    "location": Rule(least=0.5),
    TRADE: Rule(least=3.0, alone=7.0, lead=1.0),
}


@dataclass(frozen=True)
class Weighed:
    """A proposal with all that speaks for or against it.

    `second`: the reading with hints has the term at that place. `gain`: how much more likely (natural
    logarithm) the recognizer finds the sound with the term than with the heard words, both hinted.
    `doubt`: the lowest probability of the heard words.
    """

    proposal: Proposal
    second: bool
    gain: float
    doubt: float


def places(first: Sequence[str], second: Sequence[str]) -> list[tuple[int, int, int, int]]:
    """Where two readings differ: first [a, b) against second [c, d), by their letters and digits."""
    from rapidfuzz.distance import Levenshtein

    ops = Levenshtein.opcodes([name_key(w) for w in first], [name_key(w) for w in second])
    out: list[tuple[int, int, int, int]] = []
    for op in ops:
        if op.tag == "equal":
            continue
        if out and out[-1][1] == op.src_start and out[-1][3] == op.dest_start:
            a, _, c, _ = out[-1]
            out[-1] = (a, op.src_end, c, op.dest_end)
        else:
            out.append((op.src_start, op.src_end, op.dest_start, op.dest_end))
    return out


def in_second(proposal: Proposal, first: Sequence[str], second: Sequence[str]) -> bool:
    """Whether the second reading writes the term where the first has the proposal's words."""
    key = name_key(proposal.term)
    for a, b, c, d in places(first, second):
        if a < proposal.end and proposal.start < b and key in name_key(" ".join(second[c:d])):
            return True
    return False


def apart(proposals: Iterable[Proposal]) -> list[Proposal]:
    """The first proposals of a list that share no word, in order of place."""
    kept: list[Proposal] = []
    for proposal in proposals:
        if not any(proposal.meets(other) for other in kept):
            kept.append(proposal)
    return sorted(kept, key=lambda p: p.start)


def put(words: Sequence[Word], proposals: Sequence[Proposal]) -> list[str]:
    """The texts with the terms (apart, in order) in place of the heard words."""
    out: list[str] = []
    at = 0
    for p in proposals:
        out += [w.text for w in words[at:p.start]]
        out += written(p, words[p.start:p.end]).split()
        at = p.end
    return out + [w.text for w in words[at:]]


def written(proposal: Proposal, heard: Sequence[Word]) -> str:
    """The term as it stands in the text: with the heard plural, capital and punctuation."""
    last = heard[-1].text
    tail = TAIL.search(last)
    term = proposal.term
    if proposal.kind == TRADE:
        term = term[:1].upper() + term[1:] if heard[0].text[:1].isupper() else term
    elif proposal.kind != "location" and TAIL.sub("", last).endswith("s") and not term.endswith(("s", "S")):
        term += "s"
    return term + (tail.group() if tail else "")


def gains(words: Sequence[Word], proposals: Sequence[Proposal], plain: Sequence[float], changed: Sequence[float]
          ) -> list[float]:
    """For each proposal (apart, in order): the log likelihood gained over its words and AFTER more."""
    out = []
    shift = 0
    for p, following in zip(proposals, [*proposals[1:], None], strict=True):
        size = len(p.term.split())
        after = AFTER if following is None else min(AFTER, following.start - p.end)
        before = sum(plain[p.start:p.end + after])
        since = sum(changed[p.start + shift:p.start + shift + size + after])
        out.append(since - before)
        shift += size - (p.end - p.start)
    return out
