"""The plain reading and the one with hints laid side by side: what the second may change in the first.

The plain reading is the record of what was said. A term is taken only where the plain reading has
words that sound like it, and only if the sound itself, weighed by the recognizer, speaks for it
and for no rival name; nothing else of the second reading is used, so it can neither add nor repeat
nor leave out speech. Numbers are never changed.
"""

from __future__ import annotations

import re
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from intake.speech.hints import MODEL_AFTER, MODEL_BEFORE, TRADE, Hinter, Proposal, digits_of
from intake.speech.transcript import Doubt, Word
from intake.speech.verdict import FITS, Weighed, accepted, apart
from intake.vocabulary.sounds import sound_distance
from intake.vocabulary.terms import name_key

READINGS = "readings differ"
MOST_NUMBER_WORDS = 4
AFTER = 2                       # words after a span whose likelihood counts with it
WORTH_TELLING = 0.0             # a name not taken is told the reviewer from this strength on
MOST_OTHERS = 3
NAMED_SUPPORT = 0.6             # of a model whose maker the recording names, though not beside it
MOST_TEXTS = 4                  # texts weighed for one stretch, the plain one among them
MOST_RIVALS = 3                 # weighed for one term, those for the very same words first
LEAST_LIKE = 0.55               # a term that only the second reading suggests must sound so much like the first's words
TAIL = re.compile(r"[.,;:?!\"')\]]+$")


@dataclass(frozen=True)
class Agreement:
    """The final words of a stretch, and what is left to a person."""

    words: tuple[Word, ...]
    doubts: tuple[Doubt, ...]


@dataclass(frozen=True)
class Evidence:
    """What further readings of a stretch have brought."""

    second: str                         # the reading with hints
    weighed: tuple[Weighed, ...] = ()


def conclude(stretches: Sequence[Sequence[Word]], evidence: Sequence[Evidence | None], hinter: Hinter
             ) -> list[Agreement]:
    """The final words of all stretches of a recording.

    Twice over, as a maker that is certain in one place helps to decide in others, before it too.
    """
    written_right = {m for words in stretches for m in hinter.written_makers(words)}
    twins = {c.proposal.term: hinter.twins(c.proposal.term) for e in evidence if e for c in e.weighed
             if c.proposal.kind == "maker"}
    sure = [c for e in evidence if e for c in accepted(e.weighed, twins, written_right)]
    named = written_right | {c.proposal.term for c in sure if c.proposal.kind == "maker"}
    out = []
    for words, e in zip(stretches, evidence, strict=True):
        if e is None:
            out.append(Agreement(tuple(words), ()))
            continue
        weighed = beside_makers(e.weighed, accepted(e.weighed, twins, named), named)
        out.append(settle(words, e.second, weighed, accepted(weighed, twins, named)))
    return out


def beside_makers(weighed: Sequence[Weighed], taken: Sequence[Weighed], named: Container[str]) -> list[Weighed]:
    """The same evidence, the models supported by a maker that was taken beside them or named in the recording."""
    makers = [t.proposal for t in taken if t.proposal.kind == "maker"]
    out = []
    for w in weighed:
        p = w.proposal
        if p.kind == "model":
            beside = 1.0 if any(near(m, p) for m in makers) else NAMED_SUPPORT if p.maker in named else 0.0
            w = replace(w, proposal=replace(p, support=max(p.support, beside)))
        out.append(w)
    return out


def near(maker: Proposal, model: Proposal) -> bool:
    """Whether a model stands so near to a maker that it is likely its own."""
    return maker.term == model.maker and -MODEL_BEFORE <= model.start - maker.end <= MODEL_AFTER


def suggested(words: Sequence[Word], second: str, hinter: Hinter) -> Iterator[Proposal]:
    """Terms that the second reading writes where the first has words that sound alike, found by no search."""
    first, other = [w.text for w in words], second.split()
    for a, b, c, d in places(first, other):
        for start in range(c, d):
            for end in range(start + 1, min(start + 3, d) + 1):
                term = hinter.term_of(" ".join(other[start:end]))
                best = _most_alike(first, a, b, term[0]) if term and a < b else None
                if term and best and best[0] >= LEAST_LIKE:
                    heard = " ".join(first[best[1]:best[2]])
                    yield Proposal(best[1], best[2], term[0], term[1], round(best[0], 4),
                                   common=hinter.is_common(heard))


def _most_alike(texts: Sequence[str], start: int, end: int, term: str) -> tuple[float, int, int]:
    """The run of words within [start, end) that sounds most like a term, with its score."""
    runs = [(a, b) for a in range(start, end) for b in range(a + 1, min(a + 4, end) + 1)]
    scored = ((1.0 - sound_distance(" ".join(texts[a:b]), term), a, b) for a, b in runs)
    return max(scored, key=lambda x: (x[0], x[1] - x[2]))


def to_weigh(proposals: Sequence[Proposal], first: Sequence[str], second: Sequence[str]
             ) -> list[list[tuple[Proposal, bool]]]:
    """What is worth weighing, in rounds whose proposals share no word: a term that the second reading has too or that
    a neighbour fits, and its rivals. Each comes with whether the second reading has it."""
    seen = [(p, in_second(p, first, second)) for p in proposals]
    chief = [(p, s) for p, s in seen if s or p.kind == "location" or (p.kind == "maker" and p.support >= FITS)]
    also: list[tuple[Proposal, bool]] = []
    for c, _ in chief:
        rivals = [(p, s) for p, s in seen if p.kind == c.kind and p.meets(c) and name_key(p.term) != name_key(c.term)]
        rivals.sort(key=lambda x: ((x[0].start, x[0].end) != (c.start, c.end), -x[0].score))
        also += [x for x in rivals[:MOST_RIVALS] if x not in chief and x not in also]
    left = sorted([*chief, *also], key=lambda x: (not x[1], x[0].rank, -x[0].score))
    rounds: list[list[tuple[Proposal, bool]]] = []
    while left and len(rounds) < MOST_TEXTS - 1:
        chosen = apart([p for p, _ in left])
        rounds.append([(p, s) for p in chosen for q, s in left if q is p])
        left = [x for x in left if x[0] not in chosen]
    return rounds


def settle(words: Sequence[Word], second: str, candidates: Sequence[Weighed], taken: Sequence[Weighed]) -> Agreement:
    """The stretch's words with the taken terms in their place; what differs otherwise is noted for a person."""
    notes: dict[int, list[str]] = {}
    doubts: list[Doubt] = []
    for c in sorted(candidates, key=lambda c: -c.strength):
        p = c.proposal
        if p.kind in ("maker", "model", "tube") and c.strength >= WORTH_TELLING and not any(
                p.meets(t.proposal) and name_key(p.term) == name_key(t.proposal.term) for t in taken):
            at = next((t.proposal.start for t in taken if p.meets(t.proposal)), p.start)
            notes.setdefault(at, []).append(p.term)
            doubts.append(_doubt(words, p.start, p.end, p.term))
    for a, b, reading in numbers_that_differ(words, second):
        if not any(a < t.proposal.end and t.proposal.start < b for t in taken):
            notes.setdefault(a, []).append(reading)
            doubts.append(_doubt(words, a, b, reading))
    doubts += [_doubt(words, t.proposal.start, t.proposal.end, t.proposal.term)
               for t in taken if t.proposal.kind == "model"]
    return Agreement(_replaced(words, taken, notes), tuple(doubts))


def numbers_that_differ(words: Sequence[Word], second: str) -> Iterator[tuple[int, int, str]]:
    """Where the second reading has other digits than the first: [start, end) and the second's words."""
    first, other = [w.text for w in words], second.split()
    for a, b, c, d in places(first, other):
        mine, theirs = (digits_of(" ".join(texts[max(0, low - 1):high]))      # the word before: "mark II"
                        for texts, low, high in ((first, a, b), (other, c, d)))
        if mine != theirs and a < b and c < d and b - a <= MOST_NUMBER_WORDS and d - c <= MOST_NUMBER_WORDS:
            yield a, b, " ".join(other[c:d])


def _doubt(words: Sequence[Word], start: int, end: int, reading: str) -> Doubt:
    heard = " ".join(w.text for w in words[start:end])
    return Doubt(words[start].start, words[end - 1].end, READINGS, f"{heard} / {reading}")


def _replaced(words: Sequence[Word], taken: Sequence[Weighed], notes: Mapping[int, list[str]]) -> tuple[Word, ...]:
    out: list[Word] = []
    at = 0
    for t in [*taken, None]:
        stop = t.proposal.start if t else len(words)
        out += [replace(w, others=tuple(notes[i][:MOST_OTHERS])) if i in notes else w
                for i, w in enumerate(words[at:stop], start=at)]
        if t:
            out += _term_words(words[stop:t.proposal.end], t, tuple(notes.get(stop, [])[:MOST_OTHERS]))
            at = t.proposal.end
    return tuple(out)


def _term_words(heard: Sequence[Word], t: Weighed, others: tuple[str, ...]) -> list[Word]:
    """The words of a term in the time of the heard ones; the first keeps what was heard, further ones an empty text."""
    parts = written(t.proposal, heard).split()
    start, end = heard[0].start, heard[-1].end
    step = (end - start) / len(parts)
    probability = round(min(0.95, max(w.probability for w in heard)), 3)
    times = [(round(start + i * step, 2), round(start + (i + 1) * step, 2)) for i in range(len(parts))]
    first = Word(parts[0], *times[0], probability, heard=" ".join(w.text for w in heard), others=others)
    return [first, *(Word(part, a, b, probability, heard="")
                     for part, (a, b) in zip(parts[1:], times[1:], strict=True))]


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


def put(words: Sequence[Word], proposals: Sequence[Proposal]) -> list[str]:
    """The texts with the terms (apart, in order) in place of the heard words."""
    out: list[str] = []
    at = 0
    for p in proposals:
        out += [w.text for w in words[at:p.start]]
        out += written(p, words[p.start:p.end]).split()
        at = p.end
    return out + [w.text for w in words[at:]]


def upto(words: Sequence[Word], proposals: Sequence[Proposal]) -> list[str]:
    """As `put`, but no further than is needed to weigh the terms."""
    return put(words[:max(p.end for p in proposals) + AFTER], proposals)


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
