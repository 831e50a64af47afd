"""Makers that the recognizer wrote as other words: looked for only where a unit is named, and with the model beside it as a witness.

"a foreign cross, the TH60" is the Thorncross: it sounds like it, and Thorncross makes a TH-60. Sound alone is a suggestion.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from intake.language.names import ModelIndex
from intake.language.reading import Reading
from intake.language.terms import Mention
from intake.vocabulary.recognize import everyday_words
from intake.vocabulary.sounds import Candidate, SoundIndex, sound_distance

LEAST = 0.66  # a likeness below this is none
LEAST_HEARD = 0.6  # below this no maker sounds like the words at all
LEAST_ALONE = 0.74  # where no model of that maker is heard beside it
WITNESS = 0.14  # what a model of the maker in the same breath adds
KNOWN_MODEL = 0.3  # what a model that only this maker makes adds, heard exactly
LEAST_BY_MODEL = 0.42  # likeness to the one maker of a model that was heard exactly; everyday words may carry it
BESIDE = 11  # words between a maker and its model
LEAST_MARGIN = 0.02  # how much better than the next maker, where no model decides
AROUND = 6  # words before and after what else names the unit
_NAMERS = frozenset(["name", "badge", "label", "plate", "brand", "maker", "logo", "says", "made", "called", "nameplate", "by"])


@dataclass(frozen=True)
class Alike:
    """A maker heard in the words start..end; `sure`: sound and model leave no other."""

    mention: Mention
    score: float
    sure: bool
    others: tuple[str, ...]


def find_alikes(reading: Reading, index: SoundIndex, models: ModelIndex) -> list[Alike]:
    """Sound-alike makers in every sentence that names a unit without one; at most one a place."""
    out: list[Alike] = []
    for sentence in reading.text.sentences:
        anchors = list(_anchors(reading, sentence.start, sentence.end))
        if not anchors or reading.cues_in(sentence.start, sentence.end, "stranger"):
            continue                    # "a name I've never heard of" is none of the vocabulary's
        out += _best(list(_candidates(reading, sentence.start, sentence.end, anchors, index, models)))
    by_model = _by_model(reading) if reading.heard else []
    kept = [a for a in out if not any(_disputed(a, b) for b in by_model)]
    return kept + [b for b in by_model if not any(abs(a.mention.start - b.mention.start) <= BESIDE for a in kept)]


def _by_model(reading: Reading) -> list[Alike]:
    """ "It's agarote, the G D eleven hundred": nobody but Garrowen makes that model, and some words beside it sound like Garrowen.

    Everyday words may be the name here, for that is how a recognizer writes it ("pops it" for Hobsett).
    """
    out = []
    tokens = reading.text.tokens
    length = len(tokens)
    for hit in reading.models:
        makers = {m.maker for m in hit.names}
        told = hit.exact and len(makers) == 1 and any(c.isdigit() for c in hit.code) and any(c.isalpha() for c in hit.code)
        if not told or any(abs(m.start - hit.start) <= 14 for m in reading.within(max(0, hit.start - 14), hit.end + 14, "maker")):
            continue
        maker = makers.pop()
        low, high = max(0, hit.start - BESIDE), min(length, hit.end + 4)
        taken = {i for m in reading.within(low, high) if not m.ambiguous and m.kind != "maker" for i in range(m.start, m.end)}
        taken |= {i for i in range(low, high) if i in reading.spoken_for}
        spans = [
            (a, b)
            for a in range(low, high)
            for b in range(a + 1, min(high, a + 3) + 1)
            if taken.isdisjoint(range(a, b)) and (b <= hit.start or a >= hit.end)
            and sum(len(tokens[k].norm) for k in range(a, b)) >= 4
            and not any(tokens[k].after for k in range(a, b - 1))
        ]
        alike = [(1.0 - sound_distance(" ".join(t.text for t in tokens[a:b]), maker), a, b) for a, b in spans]
        best = max(alike, default=(0.0, 0, 0), key=lambda x: (x[0], x[1] - x[2]))
        if best[0] >= LEAST_BY_MODEL:
            words = reading.text.words(best[1], best[2]).lower()
            out.append(Alike(Mention("maker", maker, best[1], best[2], words, "sound"), best[0] + KNOWN_MODEL, False, ()))
    return out


def _disputed(alike: Alike, by_model: Alike) -> bool:
    """Whether sound alone named another maker near a model that is not its own."""
    near = abs(alike.mention.start - by_model.mention.start) <= BESIDE
    return near and alike.mention.canonical != by_model.mention.canonical and alike.score < by_model.score + KNOWN_MODEL


def _anchors(reading: Reading, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Words that name a unit or promise its name."""
    for m in reading.within(start, end, "unit_type"):
        yield m.start, m.end
    for h in reading.models_in(start, end):
        if h.names or any(c.isalpha() for c in h.code):
            yield h.start, h.end
    for cue in reading.cues_in(start, end, "introduces", "deictic", "returns"):
        yield cue.start, cue.end
    for i in range(start, end):
        if reading.text.tokens[i].norm in _NAMERS:
            yield i, i + 1
    if end - start <= 3:
        yield start, end


def _candidates(
    reading: Reading, start: int, end: int, anchors: Sequence[tuple[int, int]], index: SoundIndex, models: ModelIndex
) -> Iterator[Alike]:
    tokens = reading.text.tokens
    words = [t.text for t in tokens[start:end]]
    taken = {i for m in reading.within(start, end) if not m.ambiguous for i in range(m.start, m.end)}
    taken |= reading.spoken_for.intersection(range(start, end))
    exact = reading.within(start, end, "maker")
    common = everyday_words()
    for a in range(start, end):
        for b in range(a + 1, min(end, a + 3) + 1):
            if any(tokens[k].after for k in range(a, b - 1)) or not taken.isdisjoint(range(a, b)):
                break
            if tokens[a].norm in common or tokens[b - 1].norm in common or not _near(a, b, anchors):
                continue
            if any(abs(m.start - a) <= 8 for m in exact) or sum(len(tokens[k].norm) for k in range(a, b)) < 4:
                continue
            if not all(t.norm.replace("'", "").isalpha() or t.norm[:1].isalpha() for t in tokens[a:b]):
                continue
            alike = _judge(reading, a, b, index.search(" ".join(words[a - start : b - start]), kinds=frozenset({"maker"}), limit=8), models)
            if alike is not None:
                yield alike


def _near(a: int, b: int, anchors: Sequence[tuple[int, int]]) -> bool:
    return any(a - e <= AROUND and s - b <= AROUND for s, e in anchors)


def _judge(reading: Reading, a: int, b: int, ranked: Sequence[Candidate], models: ModelIndex) -> Alike | None:
    if not ranked or ranked[0].score < LEAST_HEARD:
        return None
    scored = []
    for candidate in ranked:
        witness = _witness(reading, a, b, candidate.canonical, models)
        scored.append((candidate.score + witness, candidate.score, witness, candidate.canonical))
    scored.sort(reverse=True)
    total, score, witness, name = scored[0]
    second = scored[1][0] if len(scored) > 1 else 0.0
    if score < LEAST or (not witness and (score < LEAST_ALONE or total - second < LEAST_MARGIN)):
        return None
    if not witness and not any(t.capital for t in reading.text.tokens[a:b]) and score < 0.9:
        return None
    sure = witness >= WITNESS and score >= 0.78 and total - second >= 0.1
    mention = Mention("maker", name, a, b, reading.text.words(a, b).lower(), "sound" if not sure else "sound and model")
    return Alike(mention, total, sure, tuple(s[3] for s in scored[1:]))


def _witness(reading: Reading, a: int, b: int, maker: str, models: ModelIndex) -> float:
    """How strongly the codes near the words speak for the maker: a model of its own heard exactly, or with the same digits."""
    best = 0.0
    for hit in reading.models_near(a - 8, b + 12):
        if any(m.maker == maker for m in hit.names):
            alone = len({m.maker for m in hit.names}) == 1 and len(hit.code) >= 2 and any(c.isdigit() for c in hit.code)
            best = max(best, KNOWN_MODEL if alone else WITNESS)
        elif len([c for c in hit.code if c.isdigit()]) >= 2 and any(
            m.maker == maker for m in models.same_digits(hit.code)
        ):
            best = max(best, WITNESS / 2)
    return best


def _best(found: Sequence[Alike]) -> list[Alike]:
    """Of overlapping readings the likeliest; longer spans first among equals."""
    out: list[Alike] = []
    for alike in sorted(found, key=lambda x: (-x.score, -(x.mention.end - x.mention.start))):
        if all(alike.mention.end <= o.mention.start or alike.mention.start >= o.mention.end for o in out) and not any(
            abs(alike.mention.start - o.mention.start) <= 5 and alike.mention.canonical != o.mention.canonical
            for o in out
        ):
            out.append(alike)
    return out
