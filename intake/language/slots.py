"""Several separate things announced by their number, then told of in turn: "there's three of them ... The first one ..."."""

from __future__ import annotations

from intake.language.namings import PART_LIKE
from intake.language.numbers import whole_number
from intake.language.reading import Reading

MOST = 6                        # announced together
LOOK_AHEAD = 22                 # sentences within which the things are told of
_SKIP = frozenset(["and", "so", "now", "okay", "ok", "then", "right", "but", "in", "on", "at", "well", "uh"])
_ORDINALS = frozenset(
    ["first", "second", "third", "fourth", "fifth", "sixth", "last", "next", "top", "bottom", "middle", "upper", "lower", "other", "small", "smaller", "smallest", "little", "big", "bigger", "biggest", "tall", "black", "silver", "old", "older", "new", "newer", "front", "rear"]
)
_NOUNS = frozenset(["one", "one's", "ones", "machine", "box", "unit", "piece", "item", "thing", "set", "of"])
_VERBS = frozenset(["is", "was", "has", "there's", "there", "needs", "won't", "isn't", "doesn't", "it's", "that's", "a", "the"])
# Things that come in twos and threes and are kept together unless the talk takes them apart
_TOGETHER = PART_LIKE | {"loudspeaker", "monoblock amplifier", "headphones"}


def refers_to_slot(reading: Reading, start: int, end: int) -> bool:
    """Whether a sentence begins with one of several: "The second machine ...", "Top one, ...", "And the third, ..."."""
    tokens = reading.text.tokens
    i = start
    while i < end and i - start < 4 and tokens[i].norm in _SKIP:
        i += 1
    article = i < end and tokens[i].norm == "the"
    i += article
    if i >= end:
        return False
    word = tokens[i].norm.removesuffix("'s")
    if article and word == "one" and i + 1 < end and tokens[i + 1].norm in {"with", "on", "in", "under", "at", "underneath"}:
        return True
    if word not in _ORDINALS:
        return False
    if tokens[i].norm.endswith("'s") and word in {"top", "middle", "bottom", "last"}:
        return True
    after = tokens[i + 1].norm if i + 1 < end else ""
    if tokens[i].after or after in _NOUNS:
        return article or after in _NOUNS or word in {"top", "middle", "bottom", "first", "second", "third"}
    return (article and word in {"first", "second", "third", "fourth", "last", "other"} and after in _VERBS) or (
        word in {"top", "middle", "bottom"} and after in {"is", "it's", "there's", "there", "we", "the"}
    )


def announced(reading: Reading, number: int) -> int:
    """How many separate things sentence `number` announces, 0 for none: it says how many, and at least two are told of in turn."""
    text = reading.text
    sentence = text.sentences[number]
    count = _said(reading, sentence.start, sentence.end)
    if not count:
        return 0
    ahead = text.sentences[number + 1 : number + 1 + LOOK_AHEAD]
    references = [s for s in ahead if refers_to_slot(reading, s.start, s.end)]
    soon = any(refers_to_slot(reading, s.start, s.end) for s in ahead[:4])
    return count if soon and len(references) >= 2 else 0


def _said(reading: Reading, start: int, end: int) -> int:
    """ "three integrated amps to start", "there's three of them", "a stack of two machines", "this pile is three things"."""
    tokens = reading.text.tokens
    for i in range(start, end):
        number = whole_number([tokens[i].norm], figures=1)
        if number is None or not 2 <= number[0] <= MOST or i in reading.spoken_for or reading.models_in(i, i + 1):
            continue
        before = tokens[i - 1].norm if i > start else ""
        if before in {"all", "the", "other", "shelf", "bay", "rack", "number", "mark", "bench", "level", "table", "aisle", "cart", "of"} and not (
            before == "of" and i >= 2 and tokens[i - 2].norm in {"stack", "pile", "row", "lot", "bunch", "group", "list"}
        ):
            continue
        types = reading.within(i + 1, min(end, i + 5), "unit_type")
        if any(m.canonical in _TOGETHER for m in types):
            continue
        following = [t.norm for t in tokens[i + 1 : min(end, i + 3)]]
        things = {"things", "pieces", "units", "machines", "items", "boxes"} & set(following) or following[:2] == ["of", "them"]
        if types or things or before == "of" or (i + 1 >= end or tokens[i].after):
            return number[0]
    return 0
