"""Makers and models in the text of a photo, against the vocabulary: letters may be misread, digits may not."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from intake.capture.plate_reader import PlateLine
from intake.matching.plate_text import (
    ALIKE,
    HIDDEN,
    MODEL_LABEL,
    SAME_SHAPE,
    SERIAL_LABEL,
    Token,
    beside,
    may_go_on,
    read_twice,
    tokens,
    upper,
    weakest,
)
from intake.vocabulary.terms import ModelName, Vocabulary, name_key

MAX_WORDS = 4
# What a line says of others, not of the unit itself.
_OF_OTHERS = re.compile(
    r"FOR USE WITH|DISTRIBUT|IMPORT|COMPATIB|LICEN[SC]E|TRADE\s?MARK|PATENT|ADAPT[EO]R|RECOMMEND|CONNECT"
)
# What may follow a model's name and make it another one.
_VERSION = re.compile(r"(?:MK|MARK)\W?(?:[IVX]+|\d)|[IVX]{1,4}|[A-HS]|SE|LTD|SPECIAL|\d{1,2}")
_CODE = re.compile(r"(?=.*\d)[A-Z0-9][A-Z0-9./-]{1,15}")


@dataclass(frozen=True)
class Found:
    """A name read: its spelling in the vocabulary (or as read), where, how sure, and whether it may be accepted."""

    value: str
    lines: tuple[PlateLine, ...]
    confidence: float
    accepted: bool
    how: str


class Names:
    """The vocabulary's makers and models by what may be read of them; made once for many photos."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self.makers = {name_key(m): m for m in vocabulary.makers}
        self.models: dict[str, list[ModelName]] = defaultdict(list)
        self.models_alike: dict[str, set[str]] = defaultdict(set)
        for model in vocabulary.models:
            key = name_key(model.name)
            if key:
                self.models[key].append(model)
                self.models_alike[_alike(key)].add(key)

    def makers_of(self, model: str) -> set[str]:
        """The makers that have a model of this name."""
        return {m.maker for m in self.models.get(name_key(model), ())}


_last: tuple[Vocabulary, Names] | None = None


def names_of(vocabulary: Vocabulary) -> Names:
    """The index of a vocabulary; the last one made is kept, as one walk reads many photos with one."""
    global _last  # one slot: a vocabulary is made once a run
    if _last is None or _last[0] is not vocabulary:
        _last = (vocabulary, Names(vocabulary))
    return _last[1]


def _alike(key: str) -> str:
    return key.upper().translate(ALIKE)


def _same_shape(key: str) -> str:
    return key.upper().translate(SAME_SHAPE)


# ---------------------------------------------------------------- makers


def find_makers(lines: Sequence[PlateLine], names: Names) -> list[Found]:
    """Every maker on the photo; a reading with a letter or two wrong counts where no other maker is as near."""
    out: list[Found] = []
    for line in lines:
        text = upper(line.text)
        if _OF_OTHERS.search(text):
            continue
        out += _makers_in(line, tokens(text), names)
    return out


def _makers_in(line: PlateLine, words: Sequence[Token], names: Names) -> Iterator[Found]:
    used: set[int] = set()
    for length in range(min(3, len(words)), 0, -1):
        for i in range(len(words) - length + 1):
            if not used.isdisjoint(range(i, i + length)):
                continue
            key = name_key(line.text[words[i].start : words[i + length - 1].end])
            maker, wrong = _nearest_maker(key, names)
            if maker is None:
                continue
            used.update(range(i, i + length))
            sure = weakest(line, words[i].start, words[i + length - 1].end)
            alone = length == len(words) or len(key) >= 5
            rivals = _rivals(key, names)
            confidence = (0.97 if not wrong else 0.9) * (0.85 + 0.15 * sure)
            yield Found(
                maker,
                (line,),
                round(confidence, 3),
                alone and sure >= (0.35 if not rivals else 0.8),
                "maker on the plate",
            )


def _nearest_maker(key: str, names: Names) -> tuple[str | None, int]:
    """The maker of that key, or the one that differs in a letter (two from nine letters on); none where two do."""
    if key in names.makers:
        return names.makers[key], 0
    limit = 0 if len(key) < 6 else 1 if len(key) < 9 else 2
    if not limit:
        return None, 0
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import extract

    near = extract(key, list(names.makers), scorer=Levenshtein.distance, score_cutoff=limit, limit=2)
    if not near or (len(near) > 1 and near[1][1] - near[0][1] < 1):
        return None, 0
    return names.makers[near[0][0]], int(near[0][1])


def _rivals(key: str, names: Names) -> bool:
    """Whether another maker is only a letter away."""
    if len(key) < 4:
        return True
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import extract

    return len(extract(key, list(names.makers), scorer=Levenshtein.distance, score_cutoff=1, limit=2)) > 1


# ---------------------------------------------------------------- models


def find_models(lines: Sequence[PlateLine], names: Names) -> list[Found]:
    """Every model on the photo: after a label whatever stands there, elsewhere only what the vocabulary knows.

    A short name ("H-2", "513") counts only after a label; a knob or a dial says such things too.
    """
    labelled: list[Found] = []
    loose: list[Found] = []
    for line in lines:
        text = upper(line.text)
        label = MODEL_LABEL.search(text)
        if label is not None and not _OF_OTHERS.search(text):
            labelled += _after_label(line, label.end(), lines, names)
        elif not SERIAL_LABEL.search(text) and not _OF_OTHERS.search(text):
            loose += _known_in(line, tokens(text), names, labelled=False)
    said = {f.value for f in labelled}
    return labelled + [
        f if not said or f.value in said else _demoted(f, "a labelled model stands on the plate") for f in loose
    ]


def _after_label(line: PlateLine, start: int, lines: Sequence[PlateLine], names: Names) -> list[Found]:
    words = _own(line, tokens(upper(line.text), start))
    if words and re.match(r"N[O0](?=[A-Z])", words[0].text):  # "MODEL NOH-2" has lost a blank
        words[0] = Token(words[0].text[2:], words[0].start + 2, words[0].end)
    places = (
        [(line, words)] if words else [(other, _own(other, tokens(upper(other.text)))) for other in beside(line, lines)]
    )
    for place, part in places[:1]:
        if not part or MODEL_LABEL.match(part[0].text) or SERIAL_LABEL.match(part[0].text):
            return []
        sources = (line,) if place is line else (line, place)
        known = list(_known_in(place, part, names, labelled=True))
        if known:
            return [_with_lines(f, sources) for f in known[:1]]
        if _CODE.fullmatch(part[0].text):
            sure = weakest(place, part[0].start, part[0].end)
            return [
                Found(part[0].text, sources, round(0.6 * sure, 3), False, "labelled model the vocabulary does not know")
            ]
    return []


def _own(line: PlateLine, words: list[Token]) -> list[Token]:
    """The words up to the next label on the same line."""
    for i, word in enumerate(words):
        if i and (SERIAL_LABEL.match(upper(line.text), word.start) or MODEL_LABEL.match(upper(line.text), word.start)):
            return words[:i]
    return words


def _known_in(line: PlateLine, words: Sequence[Token], names: Names, *, labelled: bool) -> Iterator[Found]:
    used: set[int] = set()
    for length in range(min(MAX_WORDS, len(words)), 0, -1):
        for i in range(len(words) - length + 1) if not labelled else range(min(2, len(words) - length + 1)):
            if not used.isdisjoint(range(i, i + length)):
                continue
            start, end = words[i].start, words[i + length - 1].end
            key = name_key(line.text[start:end])
            found = _known(key, names)
            if found is None:
                continue
            used.update(range(i, i + length))
            yield _judged(line, words, i, length, key, found, names, labelled=labelled)


def _known(key: str, names: Names) -> tuple[str, ...] | None:
    """Keys of the vocabulary that may be meant: this very one, else those of the same look."""
    same = names.models_alike.get(_alike(key), set())
    if key in names.models:
        return (key, *sorted(k for k in same if k != key))
    return tuple(sorted(same)) if same and len(key) >= 3 else None


def _judged(
    line: PlateLine,
    words: Sequence[Token],
    i: int,
    length: int,
    key: str,
    keys: tuple[str, ...],
    names: Names,
    *,
    labelled: bool,
) -> Found:
    """Whether a known model may be taken: long or labelled, read alike twice, nothing behind it, no look-alike."""
    start, end = words[i].start, words[i + length - 1].end
    sure = weakest(line, start, end)
    after = words[i + length].text if i + length < len(words) else ""
    value = names.models[keys[0]][0].name
    exact = keys[0] == key
    doubts = [
        (len(keys) > 1, "two models look alike"),
        (may_go_on(line, start, end), HIDDEN),
        (not labelled and not _strong(key), "short, and no label beside it"),
        (bool(after) and _VERSION.fullmatch(after) is not None and len(after) < 8, "something follows it"),
        (not read_twice(line, line.text[start:end]), "two readings differ"),
        (sure < (0.5 if exact else 0.6), "unclear characters"),
        (not exact and _same_shape(keys[0]) != _same_shape(key) and not labelled, "characters that look alike"),
    ]
    why = [reason for doubtful, reason in doubts if doubtful]
    confidence = (0.97 if exact else 0.9) * (0.85 + 0.15 * sure) * (1 if labelled else 0.98)
    return Found(
        value,
        (line,),
        round(confidence if not why else min(confidence, 0.6), 3),
        not why,
        why[0] if why else ("labelled model" if labelled else "model on the photo"),
    )


def _strong(key: str) -> bool:
    """Long enough to be no chance: four characters with a letter and two digits, or a word with a digit."""
    letters, digits = sum(c.isalpha() for c in key), sum(c.isdigit() for c in key)
    return (len(key) >= 4 and letters >= 1 and digits >= 2) or (letters >= 4 and digits >= 1)


def _with_lines(found: Found, lines: tuple[PlateLine, ...]) -> Found:
    return Found(found.value, lines, found.confidence, found.accepted, found.how)


def _demoted(found: Found, why: str) -> Found:
    return Found(found.value, found.lines, min(found.confidence, 0.6), False, why)
