"""Who a unit is: its type, maker and model, from every place where it is named."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from intake.language.frames.facts import Fact
from intake.language.names import ModelHit, ModelIndex
from intake.language.namings import PART_LIKE
from intake.language.numbers import is_mark, model_key, read_code
from intake.language.reading import Reading
from intake.language.terms import Mention
from intake.language.topics import Sketch
from intake.vocabulary.tubes import is_known_tube

UNKNOWN_MAKER = "the maker is not in the vocabulary"
UNKNOWN_MODEL = "the model is not in the vocabulary"
OTHER_MAKERS_MODEL = "the vocabulary has this model under another maker"
LIKE_MODEL = "the model was taken for one that sounds alike"
LIKE_MAKER = "the maker was taken for one that sounds alike"
TYPE_OF_PARTS = "the type was taken from the parts alone"
SEVERAL = "more than one reading was heard"

_NAMERS = frozenset(
    ["name", "badge", "label", "plate", "brand", "maker", "logo", "says", "said", "reads", "made", "called", "nameplate", "marked", "marque", "sticker", "by"]
)
_LINKS = frozenset(
    ["is", "on", "it", "the", "of", "side", "front", "back", "them", "this", "that", "says", "reads", "it's", "name", "here", "a", "an", "made", "by", "called", "in", "to", "there", "being", "was"]
)
_NOT_NAMES = frozenset(
    ["serial", "serials", "model", "number", "numbers", "cosmetically", "cosmetic", "condition", "manual", "remote", "i", "i'm", "i've", "i'll", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday", "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november", "december", "mister", "mr", "mrs", "missus", "miss", "ms", "doctor", "dr", "professor", "okay", "english", "american", "british", "japanese", "german", "european", "cd", "dac", "rca", "xlr", "dc", "ac", "tv", "usb", "fm", "am", "vu", "rpm", "lp", "usa", "uk"]
)


@dataclass
class Identity:
    """What a unit is called; each a Fact with its words, reasons and other readings, or None."""

    unit_type: Fact | None = None
    maker: Fact | None = None
    model: Fact | None = None


def identify(reading: Reading, sketch: Sketch, clauses: Sequence[tuple[int, int]], index: ModelIndex) -> Identity:
    """Settle type, maker and model of one unit."""
    found = Identity()
    found.maker = _maker(reading, sketch, clauses)
    found.model = _model(reading, sketch, found.maker, index)
    found.unit_type = _type(reading, sketch, found.model, found.maker, index, clauses)
    if found.model is None and found.unit_type is not None and found.unit_type.value == "vacuum tube":
        found.model = _tube(reading, sketch, clauses)
    return found


# ---------------------------------------------------------------- type


def _type(
    reading: Reading,
    sketch: Sketch,
    model: Fact | None,
    maker: Fact | None,
    index: ModelIndex,
    clauses: Sequence[tuple[int, int]],
) -> Fact | None:
    mentions = [m for n in sketch.namings for m in n.types]
    if not mentions:
        return _type_from_catalogue(model, maker, index) or _type_of_tube(model) or _type_of_parts(reading, clauses)
    main = sketch.namings[0].types or mentions
    sure = [m for m in mentions if not _generic(m) and not (m.canonical in PART_LIKE and m not in main)]
    pool = sure or mentions
    pool = [m for m in pool if m.canonical != "other"] or pool
    chosen = pool[0]
    votes = Counter(m.canonical for m in pool)
    if votes.most_common(1)[0][1] > votes[chosen.canonical]:
        chosen = next(m for m in pool if m.canonical == votes.most_common(1)[0][0])
    for later in pool:
        if chosen.canonical == "power amplifier" and later.canonical == "monoblock amplifier":
            chosen = later
    fact = Fact("unit_type", chosen.canonical, chosen.start, chosen.end, f"type: {chosen.phrase}")
    if _generic(chosen):
        catalogue = _type_from_catalogue(model, maker, index)
        if catalogue:
            return catalogue
        parts = _kind_by_parts(reading, clauses, chosen.could_be)
        if parts is not None:
            fact.value = parts
        fact.reasons.append(f"“{chosen.phrase}” may be one of several types")
        fact.alternatives += [t for t in chosen.could_be if t != chosen.canonical]
    fact.signals["other types"] = float(len(votes) - 1)
    return fact


def _type_of_tube(model: Fact | None) -> Fact | None:
    """Tubes are often named by their designation alone ("a box of Norvane EL34s")."""
    if model is None or not is_known_tube(model_key(str(model.value))):
        return None
    return Fact("unit_type", "vacuum tube", model.start, model.end, "type of a tube designation")


# Parts that only one kind of unit has (common knowledge of the trade)
_TELLING_PARTS = {"tweeter": "loudspeaker", "woofer": "loudspeaker", "surround": "loudspeaker", "platter": "turntable", "tonearm": "turntable"}


# ... and parts that tell which kind of deck, player or amplifier is meant
_KIND_PARTS = {
    "platter": "turntable", "tonearm": "turntable", "stylus": "turntable", "main bearing": "turntable", "headshell": "turntable",
    "idler wheel": "turntable", "cartridge": "turntable", "tape head": "cassette deck", "pinch roller": "cassette deck",
    "laser pickup": "CD player", "disc tray": "CD player", "phono input": "integrated amplifier",
    "volume control": "integrated amplifier", "balance control": "integrated amplifier", "selector": "integrated amplifier",
}  # fmt: skip


def _kind_by_parts(reading: Reading, clauses: Sequence[tuple[int, int]], could_be: Sequence[str]) -> str | None:
    """Which of several types a loose word means, by the parts and accessories told of the unit; None where they do not tell."""
    votes = Counter(
        _KIND_PARTS[m.canonical]
        for a, b in clauses
        for m in reading.within(a, b, "part", "accessory")
        if _KIND_PARTS.get(m.canonical) in could_be
    )
    return votes.most_common(1)[0][0] if len(votes) == 1 else None


def _type_of_parts(reading: Reading, clauses: Sequence[tuple[int, int]]) -> Fact | None:
    """A unit told of by its parts alone ("the left tweeter is dead"); always to be checked."""
    found = [m for a, b in clauses for m in reading.within(a, b, "part") if m.canonical in _TELLING_PARTS]
    kinds = {_TELLING_PARTS[m.canonical] for m in found}
    if len(kinds) != 1:
        return None
    part = found[0]
    return Fact("unit_type", kinds.pop(), part.start, part.end, "type taken from its parts", [TYPE_OF_PARTS])


def _generic(mention: Mention) -> bool:
    return mention.ambiguous and len(mention.could_be) > 1


def _type_from_catalogue(model: Fact | None, maker: Fact | None, index: ModelIndex) -> Fact | None:
    if model is None or maker is None:
        return None
    known = {m.unit_type for m in index.exact(model_key(str(model.value))) if m.maker == maker.value and m.unit_type}
    if len(known) == 1:
        return Fact("unit_type", known.pop(), model.start, model.end, "type of this model in the vocabulary")
    return None


# ---------------------------------------------------------------- maker


def _maker(reading: Reading, sketch: Sketch, clauses: Sequence[tuple[int, int]]) -> Fact | None:
    spelled = _spelled(reading, sketch, clauses)
    mentions = [m for n in sketch.namings for m in n.makers]
    if spelled:
        return spelled
    if mentions:
        votes = Counter(m.canonical for m in mentions)
        best = votes.most_common(1)[0][0] if votes.most_common(1)[0][1] > 1 else mentions[0].canonical
        exact = [m for m in mentions if m.canonical == best]
        chosen = next((m for m in exact if not m.source.startswith("sound")), exact[0])
        fact = Fact("maker", chosen.canonical, chosen.start, chosen.end, f"maker: {chosen.phrase}")
        if chosen.source.startswith("sound"):
            fact.signals["like"] = 1.0
            if chosen.source == "sound":
                fact.reasons.append(LIKE_MAKER)
            fact.rule = f"maker that sounds like: {reading.text.words(chosen.start, chosen.end)}"
        if len(votes) > 1:
            fact.alternatives += [m for m in votes if m != chosen.canonical]
            fact.signals["other makers"] = float(len(votes) - 1)
        return fact
    if sketch.group_maker is not None:
        told = sketch.group_maker
        return Fact("maker", told.canonical, told.start, told.end, "maker told for several units")
    return _named_unknown(reading, sketch, clauses)


def _spelled(reading: Reading, sketch: Sketch, clauses: Sequence[tuple[int, int]]) -> Fact | None:
    """ "that's spelled D R A V I K": the letters, in the vocabulary's spelling where it has them."""
    tokens = reading.text.tokens
    for start, end in clauses:
        after_name = _spelled_after_name(reading, start, end)
        if after_name is not None:
            return after_name
        for i in range(start, end):
            if tokens[i].norm not in {"spelled", "spelt", "spelling", "spell"}:
                continue
            j = i + 1
            while j < end and tokens[j].norm in {"it", "that", "is", "as", "out", "the", "like"}:
                j += 1
            code = read_code(tokens, j, min(len(tokens), end + 12), across_commas=True)
            if code and len(code.text) >= 3 and code.text.isalpha():
                return _spelled_fact(reading, code.text, i, code.end)
    return None


def _spelled_after_name(reading: Reading, start: int, end: int) -> Fact | None:
    """ "Zenoria, Z E N O R I A": the letters right behind a name that they spell; the name as written stands."""
    tokens = reading.text.tokens
    for i in range(start, end):
        if len(tokens[i].norm) != 1 or not tokens[i].norm.isalpha() or (i > start and len(tokens[i - 1].norm) == 1):
            continue
        stop = i
        while stop < len(tokens) and (len(tokens[stop].norm) == 1 and tokens[stop].norm.isalpha()):
            stop += 1
        letters = "".join(t.norm for t in tokens[i:stop])
        if len(letters) < 4:
            continue
        for first in range(max(0, i - 4), i):
            for last in range(first + 1, i + 1):
                name = "".join(c for t in tokens[first:last] for c in t.norm.removesuffix("'s") if c.isalpha())
                if name == letters and tokens[first].capital:
                    return _spelled_fact(reading, letters.upper(), first, stop)
        if any(m.start < i <= m.end + 2 for m in reading.within(max(0, i - 4), i, "maker")):
            continue
        if stop - i >= 5 and (i == start or tokens[i - 1].after or tokens[i - 1].norm in _LINKS):
            return _spelled_fact(reading, letters.upper(), i, stop)
    return None


def _spelled_fact(reading: Reading, letters: str, start: int, end: int) -> Fact:
    known = next(
        (m for m in reading.vocabulary.makers if "".join(c for c in m.upper() if c.isalnum()) == letters), None
    )
    fact = Fact("maker", known or letters.capitalize(), start, end, "maker spelled out")
    if known is None:
        fact.reasons.append(UNKNOWN_MAKER)
    return fact


def _named_unknown(reading: Reading, sketch: Sketch, clauses: Sequence[tuple[int, int]]) -> Fact | None:
    """A maker that no vocabulary knows: after "the name on it is", "made by", or a capital word right before type or model."""
    tokens = reading.text.tokens
    for start, end in clauses:
        for i in range(start, end):
            if tokens[i].norm.removesuffix("'s") in _NAMERS and (name := _capitals_after(reading, i + 1, end)):
                return _unknown(reading, *name)
    for start, end in clauses[:4]:
        if (
            end - start <= 2
            and all(_is_name(reading, i, -1) for i in range(start, end))
            and tokens[end - 1].after in {".", ","}
        ):
            return _unknown(reading, start, end)
    for naming in sketch.namings:
        sentence = reading.text.sentence_at(naming.start)
        for i in range(naming.start - 1, max(sentence.start, naming.start - 3), -1):
            if tokens[i].after in {".", ";"}:
                break
            if _is_name(reading, i, sentence.start):
                first = i
                while (
                    first - 1 > sentence.start
                    and _is_name(reading, first - 1, sentence.start)
                    and not tokens[first - 1].after
                ):
                    first -= 1
                return _unknown(reading, first, i + 1)
        if (
            naming.types
            and naming.end < sentence.end
            and _is_name(reading, naming.end, sentence.start - 1)
            and not naming.models
        ):
            last = naming.end + 1
            while last < sentence.end and not tokens[last - 1].after and _is_name(reading, last, sentence.start):
                last += 1
            return _unknown(reading, naming.end, last)
    return None


def _capitals_after(reading: Reading, i: int, end: int) -> tuple[int, int] | None:
    tokens = reading.text.tokens
    hops = 0
    while i < end and hops < 7 and (tokens[i].norm in _LINKS or tokens[i].norm == "uh"):
        i, hops = i + 1, hops + 1
    if i >= end or not _is_name(reading, i, -1):
        return None
    last = i + 1
    while last < end and not tokens[last - 1].after and _is_name(reading, last, -1):
        last += 1
    return i, last


def _is_name(reading: Reading, i: int, sentence_start: int) -> bool:
    """A capital word that no vocabulary knows and that does not merely open its sentence."""
    token = reading.text.tokens[i]
    if (
        not token.capital
        or i == sentence_start
        or token.norm in _NOT_NAMES
        or len(token.norm) < 4
        or not token.norm.replace("'", "").isalpha()
    ):
        return False
    if token.text.isupper() and len(token.text) <= 4:
        return False
    return not any(m.start <= i < m.end for m in reading.within(max(0, i - 3), i + 1))


def _unknown(reading: Reading, start: int, end: int) -> Fact:
    name = " ".join(t.text.removesuffix("'s") for t in reading.text.tokens[start:end])
    return Fact("maker", name, start, end, "maker as heard", reasons=[UNKNOWN_MAKER], signals={"unknown": 1.0})


# ---------------------------------------------------------------- model


def _model(reading: Reading, sketch: Sketch, maker: Fact | None, index: ModelIndex) -> Fact | None:
    hits = [h for n in sketch.namings for h in n.models]
    if not hits:
        return None
    named = [h for h in hits if not is_mark(h.code)]
    marks = [h for h in hits if is_mark(h.code)]
    with_marks = [_with_mark(h, marks, index) for h in named]
    of_maker = [(h, m) for h in with_marks for m in h.names if maker is None or m.maker == maker.value]
    if of_maker:
        return _known_model(reading, of_maker, maker)
    if maker is not None:
        close = _close_model(reading, with_marks, str(maker.value))
        if close:
            return close
    if not with_marks:
        return None
    hit = with_marks[-1]
    unknown = maker is not None and UNKNOWN_MAKER in maker.reasons
    if not _good_shape(reading, hit, maker):
        return None
    fact = Fact(
        "model",
        hit.heard,
        hit.start,
        hit.end,
        "model as heard",
        reasons=[OTHER_MAKERS_MODEL if hit.names and not unknown else UNKNOWN_MODEL],
        signals={"unknown": 1.0},
    )
    fact.alternatives = [f"{m.name} ({m.maker})" for m in hit.names][:4]
    return fact


def _with_mark(hit: ModelHit, marks: Sequence[ModelHit], index: ModelIndex) -> ModelHit:
    """The model with the mark said after it ("the T H sixty, ... mark four"); the last mark stands."""
    later = [m for m in marks if 0 <= m.start - hit.end <= 20]
    if not later or hit.code.endswith(later[-1].code) or "MK" in hit.code:
        return hit
    mark = later[-1]
    names = index.exact(hit.code + mark.code)
    if names or not hit.names:
        return ModelHit(hit.start, mark.end, f"{hit.heard} {mark.code}", names, hit.code + mark.code, bool(names))
    return ModelHit(hit.start, mark.end, f"{hit.heard} {mark.code}", (), hit.code + mark.code, False)


def _known_model(reading: Reading, found: Sequence[tuple[ModelHit, object]], maker: Fact | None) -> Fact:
    votes = Counter(m.name for _, m in found)  # type: ignore[attr-defined]
    first, last = min(h.start for h, _ in found), max(h.start for h, _ in found)
    if len(votes) > 1 and reading.cues_in(first, last + 1, "repair", "takeback"):
        found = [p for p in found if p[0].start == last]
    hit, model = max(found, key=lambda p: (votes[p[1].name], len(p[0].code), p[0].start))  # type: ignore[attr-defined]
    name = model.name  # type: ignore[attr-defined]
    fact = Fact("model", name, hit.start, hit.end, "model of the vocabulary")
    others = [n for n in votes if n != name]
    fact.alternatives += others
    fact.signals["other models"] = float(len(others))
    if len(others) and votes[name] <= max(votes[o] for o in others):
        fact.reasons.append(SEVERAL)
    if maker is None:
        makers = {m.maker for _, m in found if m.name == name}  # type: ignore[attr-defined]
        fact.signals["makers of model"] = float(len(makers))
    return fact


def _close_model(reading: Reading, hits: Sequence[ModelHit], maker: str) -> Fact | None:
    """A model of this maker with exactly these digits whose letters sound like what was heard ("HP-46" for HV-46)."""
    for hit in reversed(hits):
        digits = "".join(c for c in hit.code if c.isdigit())
        if not digits:
            continue
        close = [
            m
            for m in reading.vocabulary.models_of(maker)
            if "".join(c for c in model_key(m.name).split("MK")[0] if c.isdigit()) == digits.split("MK")[0]
        ]
        close = [m for m in close if _letters_alike(hit.code, model_key(m.name))]
        names = sorted({m.name for m in close}, key=lambda n: -_letters_alike(hit.code, model_key(n)))
        if names:
            fact = Fact(
                "model",
                names[0],
                hit.start,
                hit.end,
                f"model that sounds like: {hit.heard}",
                reasons=[LIKE_MODEL],
                signals={"like": 1.0},
            )
            fact.alternatives = [hit.heard, *names[1:3]]
            return fact
    return None


# Letter names that sound alike (the "E set" and its like; common knowledge of telephone spelling)
_ALIKE = ("BCDEGPTVZ", "AHJK", "FSX", "MN", "IY", "QU", "LO")


def _letters_alike(heard: str, known: str) -> float:
    a, b = [c for c in heard if c.isalpha()], [c for c in known.split("MK")[0] if c.isalpha()]
    if not a:
        return 0.4 if len(b) <= 2 else 0.0
    if not b or abs(len(a) - len(b)) > 1:
        return 0.0
    same = sum(
        1.0 if x == y else 0.6 if any(x in s and y in s for s in _ALIKE) else 0.0 for x, y in zip(a, b, strict=False)
    )
    return same / max(len(a), len(b)) if same / max(len(a), len(b)) >= 0.5 else 0.0


def _good_shape(reading: Reading, hit: ModelHit, maker: Fact | None) -> bool:
    """Whether an unknown code may stand as a model: letters with digits, or digits right behind the maker or "model"."""
    if any(c.isalpha() for c in hit.code.split("MK")[0]) and any(c.isdigit() for c in hit.code):
        return True
    before = [t.norm for t in reading.text.tokens[max(0, hit.start - 4) : hit.start]]
    return "model" in before or (maker is not None and 0 <= hit.start - maker.end <= 3)


def _tube(reading: Reading, sketch: Sketch, clauses: Sequence[tuple[int, int]]) -> Fact | None:
    for start, end in clauses:
        for m in reading.within(start, end, "tube"):
            return Fact("model", m.canonical, m.start, m.end, f"tube type: {m.phrase}")
    return None
