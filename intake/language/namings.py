"""Groups what names a thing - type, maker, model, count - into namings, clause by clause."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

from intake.language.names import Count, ModelHit, Naming, determiner_before, group_words
from intake.language.numbers import cardinal, is_mark, read_code, whole_number
from intake.language.reading import Reading
from intake.language.terms import Mention
from intake.language.tokens import FILLERS
from intake.vocabulary.tubes import is_known_tube, is_tube_type

_MAX_GAP = 5
# Types that are also parts or accessories of other units: they make a unit only where they are plainly introduced.
PART_LIKE = frozenset(
    {"tonearm", "cartridge", "cabinet", "power supply", "cable", "vacuum tube", "other", "step-up transformer"}
)
_POSSESS = frozenset(
    ["with", "has", "have", "had", "having", "needs", "need", "wants", "want", "its", "includes", "including", "without", "comes", "came", "missing", "lost", "replace", "replaced", "replacing", "new", "spare", "their", "his", "her", "swapped", "fitted", "installed", "lacks", "every", "of"]
)
HOLDERS = frozenset(
    ["pair", "pairs", "set", "sets", "lot", "lots", "bag", "box", "boxes", "bunch", "couple", "quad", "dozen", "stack", "pile", "tray", "tin", "crate", "roll", "coil", "row", "tub", "bin", "bucket", "basket", "carton", "case", "sack", "jar", "drawer", "suitcase", "load", "handful", "bundle", "batch", "brace", "nest", "shoebox", "assortment", "collection", "bagful", "boxful", "job", "tinful", "full"]
)
_COUNTED = frozenset(["a", "an", "another", "some", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "twelve", "pair", "pairs", "set", "lot"])


def namings(reading: Reading) -> list[Naming]:
    """Every naming in the order of the text."""
    out: list[Naming] = []
    for clause in reading.clauses:
        items = _items(reading, clause.start, clause.end)
        for group in _groups(reading, items):
            out.append(_naming(reading, group, clause.start))
    return out


Item = Mention | ModelHit


def _items(reading: Reading, start: int, end: int) -> list[Item]:
    items: list[Item] = [m for m in reading.within(start, end, "unit_type", "maker") if not _swallowed(reading, m)]
    items = [m for m in items if not isinstance(m, Mention) or m.kind != "unit_type" or _names_unit(reading, m, start)]
    items += [
        h
        for h in reading.models_in(start, end)
        if _names_model(reading, h, items)
    ]
    return sorted(items, key=lambda m: (m.start, m.end))


# Behind a type word these are what is named: "the turntable shelf", "a tube one"
_HEADED_BY = frozenset(
    ["row", "shelf", "aisle", "bay", "drawer", "room", "corner", "wall", "bench", "section", "rack", "cage", "cupboard", "stuff", "guy", "man", "people", "repair", "repairs", "one", "ones", "type", "kind", "affair"]
)
_MEASURED_WITH = frozenset(["gives", "reads", "says", "shows", "tells", "makes", "gave"])


def _is_no_unit(reading: Reading, mention: Mention, floor: int) -> bool:
    """Whether the words around a type word show at once that it names no unit here."""
    tokens = reading.text.tokens
    following = tokens[mention.end].norm if mention.end < len(tokens) and not tokens[mention.end - 1].after else ""
    if following in _HEADED_BY:
        return True
    if mention.ambiguous and any(p.start <= mention.start < p.end for p in reading.places_in(mention.start - 3, mention.end)):
        return True
    if "without" in [t.norm for t in tokens[max(floor, mention.start - 3) : mention.start]]:
        return True
    if mention.canonical == "other" and mention.start > floor and tokens[mention.start - 1].norm in {"the", "no", "its"}:
        return True
    if mention.canonical == "test instrument" and following in _MEASURED_WITH:
        return True                    # what is measured with
    if mention.phrase.startswith("spare") and mention.start - floor > 4:
        return True
    return mention.start > floor and tokens[mention.start - 1].norm == "no" and not tokens[mention.start - 1].after


def _names_unit(reading: Reading, mention: Mention, floor: int) -> bool:
    """Whether a type word can name a unit here: a part-like or unsure one only where it is introduced as a thing of its own."""
    if _is_no_unit(reading, mention, floor):
        return False
    if mention.canonical not in PART_LIKE and not mention.ambiguous:
        return True
    generic = mention.ambiguous and len(mention.could_be) > 1
    tokens = reading.text.tokens
    if generic and mention.canonical not in PART_LIKE:
        return (
            mention.start - floor <= 3
            or _introduced(reading, mention.start, floor)
            or bool(reading.within(max(floor, mention.start - 4), mention.end + 4, "maker"))
        )
    before = [t.norm for t in tokens[max(floor, mention.start - 5) : mention.start]]
    if any(w in _POSSESS and not _we_have(before, k) for k, w in enumerate(before)):
        return False
    if mention.canonical in PART_LIKE and _is_subject(reading, mention, floor):
        return False
    if mention.phrase in {"tube", "valve"} and before[-1:] not in (["a"], ["one"], ["single"], ["another"], ["loose"]):
        return False
    near = bool(reading.within(max(floor, mention.start - 4), mention.end + 3, "maker"))
    if mention.canonical == "vacuum tube":
        near = near or any(is_known_tube(h.code) for h in reading.models_near(mention.start - 4, mention.end + 4))
    introduced = _introduced(reading, mention.start, floor)
    if mention.phrase.endswith("s") and (introduced or mention.start == floor) and counted_after(reading, mention.end):
        return True
    comma = max(
        (k for k in range(max(floor, mention.start - 5), mention.start) if tokens[k].after in {",", ";"}), default=-1
    )
    counted = any(
        tokens[k].norm in _COUNTED or tokens[k].norm.isdigit()
        for k in range(max(floor, mention.start - 5, comma + 1), mention.start)
    )
    if any(w in {"both", "same", "either", "each"} for w in before):
        return False
    if "of" in before and before[before.index("of") - 1] in HOLDERS and before.index("of") and len(before) - before.index("of") <= 3:
        return True
    if before[-2:] == ["is", "a"] and mention.ambiguous:
        return True
    if mention.ambiguous:
        return near or (counted and introduced)
    return near or counted or introduced or mention.start - floor <= 2


def _we_have(before: Sequence[str], k: int) -> bool:
    """ "A tin of valves", "here we have valves": words that do not make the valves another unit's."""
    if before[k] == "of":
        return k > 0 and before[k - 1] in HOLDERS
    return before[k] in {"have", "had"} and k > 0 and before[k - 1] in {"we", "i"}


def counted_after(reading: Reading, start: int) -> bool:
    """ "We have cables, RCA cables, one lot, fourteen of them"."""
    sentence = reading.text.sentence_at(start - 1)
    tokens = reading.text.tokens[start : min(sentence.end, start + 10)]
    words = [t.norm for t in tokens]
    return "lot" in words or any(words[i : i + 2] == ["of", "them"] for i in range(len(words)))


_PREDICATES = frozenset(["is", "was", "are", "were", "has", "needs", "wants", "won't", "doesn't", "isn't", "looks", "sounds", "seems", "feels"])


def _is_subject(reading: Reading, mention: Mention, floor: int) -> bool:
    """ "Tonearm's misaligned", "the cartridge is worn": something is told of a part of the unit at hand."""
    tokens = reading.text.tokens
    before = tokens[mention.start - 1].norm if mention.start > floor else ""
    if before in {"a", "an", "another", "one"} or tokens[mention.end - 1].after:
        return False
    after = tokens[mention.end].norm if mention.end < len(tokens) else ""
    ends = tokens[mention.end - 1].norm.endswith("'s")
    if reading.within(mention.end, mention.end + 4, "maker") or reading.models_in(mention.end, mention.end + 4):
        return False
    return (ends or after in _PREDICATES) and not reading.cues_in(mention.end, mention.end + 2, "introduces_after")


def _introduced(reading: Reading, start: int, floor: int) -> bool:
    low = (
        max(0, floor - 6) if floor and reading.text.sentence_of[floor - 1] == reading.text.sentence_of[floor] else floor
    )
    return any(start - h.end <= 4 for h in reading.cues_in(low, start, "introduces", "opens", "deictic"))


def _names_model(reading: Reading, hit: ModelHit, others: Sequence[Item]) -> bool:
    """A code names a model where the vocabulary has it, or where it looks like one; a tube type only beside loose tubes or a maker."""
    near = any(isinstance(o, Mention) and hit.start - o.end <= 4 and o.start - hit.end <= 4 for o in others)
    if is_known_tube(hit.code) or (is_tube_type(hit.code) and not hit.names):
        return near or _counted_tubes(reading, hit)
    if hit.names or is_mark(hit.code):
        return True
    if re.fullmatch(r"\d{1,3}(XLR|RCA|DIN|LED|TV|CD|USB|VU)S?", hit.code):
        return False                    # "one XLR"
    if hit.code.isdigit() and any(
        isinstance(o, Mention) and o.kind == "unit_type" and 0 <= o.start - hit.end <= 1 and o.phrase.endswith("s") for o in others
    ):
        return False                    # "ten headshells" are counted
    letters = any(c.isalpha() for c in hit.code)
    before = [t.norm for t in reading.text.tokens[max(0, hit.start - 4) : hit.start]]
    return (letters and len(hit.code) >= 3) or near or "model" in before


def _counted_tubes(reading: Reading, hit: ModelHit) -> bool:
    """ "Then two rectifier valves, one pair, five U four": tubes that are counted where a unit is brought in."""
    start = reading.text.sentence_at(hit.start).start
    if hit.start - start > 10 or not reading.cues_in(start, start + 2, "introduces", "opens"):
        return False
    return any(group_words(reading.text.tokens, i, hit.start) for i in range(start, hit.start))


def _swallowed(reading: Reading, mention: Mention) -> bool:
    """A unit type inside a longer phrase of another kind ("tonearm cable", "customer repair") names no unit."""
    return any(
        m.start <= mention.start and mention.end <= m.end and (m.end - m.start) > (mention.end - mention.start)
        for m in reading.within(max(0, mention.start - 4), mention.end)
    )


def _groups(reading: Reading, items: Sequence[Item]) -> Iterable[list[Item]]:
    group: list[Item] = []
    for item in items:
        if group and not _joins(reading, group, item):
            yield group
            group = []
        group.append(item)
    if group:
        yield group


def _joins(reading: Reading, group: Sequence[Item], item: Item) -> bool:
    """Whether `item` belongs to the same naming: near, and not the next of a list."""
    tokens = reading.text.tokens
    last_end = max(g.end for g in group)
    if item.start - last_end > _MAX_GAP:
        return False
    between = [t.norm for t in tokens[last_end : item.start]]
    comma = tokens[last_end - 1].after == ","
    if isinstance(item, Mention):
        same_kind = [
            g
            for g in group
            if isinstance(g, Mention)
            and g.kind == item.kind
            and g.canonical != item.canonical
            and g.start != item.start
        ]
        if same_kind and not _repaired(reading, last_end, item.start):
            return False
        if (
            "and" in between
            and item.kind == "unit_type"
            and any(isinstance(g, Mention) and g.kind == "unit_type" for g in group)
        ):
            return False
    if "and" in between and ("a" in between or "an" in between or "the" in between) and isinstance(item, Mention):
        return False
    if isinstance(item, Mention) and item.kind == "maker" and comma and between[:1] == ["a"]:
        return True
    return not any(w in ("with", "from", "than", "like", "unlike", "but", "because", "not") for w in between)


def _repaired(reading: Reading, start: int, end: int) -> bool:
    return bool(reading.cues_in(start, max(end, start + 1), "repair", "takeback"))


def _naming(reading: Reading, group: Sequence[Item], floor: int) -> Naming:
    start, end = min(g.start for g in group), max(g.end for g in group)
    found = Naming(start, end)
    for item in group:
        if isinstance(item, ModelHit):
            found.models.append(item)
        elif item.kind == "unit_type":
            found.types.append(item)
        else:
            found.makers.append(item)
    found.determiner = determiner_before(reading.text.tokens, start, floor)
    found.count = count_near(reading, start, end)
    return found


def count_near(reading: Reading, start: int, end: int) -> Count | None:
    """A count that belongs to the words start..end: just before ("a pair of", "two"), or said right after (", a pair")."""
    text = reading.text
    sentence = text.sentence_at(start)
    tokens = text.tokens
    for i in range(max(sentence.start, start - 7), start):
        if tokens[i].norm in {"no", "not"}:
            continue
        found = group_words(tokens, i, sentence.end)
        if found and not any(t.norm in {"with", "for", "has", "have"} for t in tokens[found.end : start]):
            if reading.within(found.end, start, "unit_type"):
                continue                # "a pair of speakers, a tin of valves": the pair is the speakers
            return found
    number = _number_before(reading, start, sentence.start)
    if number:
        return number
    for i in range(end, min(sentence.end, end + 6)):
        if tokens[i].norm in {"with", "has", "needs", "for", "of"}:
            break
        found = group_words(tokens, i, sentence.end)
        if found:
            return found
    return None


def _number_before(reading: Reading, start: int, floor: int) -> Count | None:
    """ "two monoblocks", "eight loose valves": a small number up to three words before the noun."""
    tokens = reading.text.tokens
    for back in (1, 2, 3):
        i = start - back
        if i in reading.named:
            break
        if i < floor or (i + 1 < start and any(tokens[k].after in {",", ".", ";"} for k in range(i, start))):
            break
        word = tokens[i].norm
        if word in {"channel", "chassis", "box"}:
            break
        if i + 1 < len(tokens) and tokens[i + 1].norm in {"watt", "inch", "band", "bit", "track", "head", "way", "disc", "speed", "volt", "year", "ohm", "channel"}:
            break                       # "a thirty-watt amp"
        number = whole_number([word])
        if word == "both":
            number = (2, 1)
        if (
            number
            and 2 <= number[0] <= 500
            and (
                i == floor
                or tokens[i - 1].norm not in {"shelf", "bay", "cart", "rack", "row", "number", "point", "the"}
                or word == "both"
            )
        ):
            code = read_code(tokens, max(floor, i - 1), i + 1)
            if code and len(code.pieces) > 1 and code.start < i:
                return None
            return Count(number[0], "pair" if number[0] == 2 else "lot", i, i + 1)
    return None


def said_counts(reading: Reading, start: int, end: int) -> list[Count]:
    """Counts told apart from a naming: "it's a pair", "there's eight", "eight of them", "a set of three"."""
    tokens, out = reading.text.tokens, []
    for i in range(start, end):
        word = tokens[i].norm
        back = i - 1
        while back > start and tokens[back].norm in FILLERS:
            back -= 1
        before = tokens[back].norm if back >= start else ""
        if word in {"pair", "pairs", "set", "lot", "trio", "quartet", "quad", "dozen"}:
            found = group_words(tokens, i, end)
            if found and not (word == "pair" and reading.contexts.has(i, "negated", "other", "hypothetical")):
                out.append(found)
        elif before in {"there's", "are", "got", "makes", "total", "all"} or (
            i + 2 < end + 1
            and i + 1 < len(tokens)
            and tokens[i + 1].norm == "of"
            and i + 2 < len(tokens)
            and tokens[i + 2].norm in {"them", "these", "those"}
        ):
            if i > start and cardinal([tokens[i - 1].norm]):
                continue                # the "two" of "twenty-two of them"
            number = whole_number([t.norm for t in tokens[i : min(end, i + 3)]], figures=2)
            if number and 2 <= number[0] <= 500:
                stop = i + number[1]
                if (
                    (stop >= end and before not in {"got", "are"})
                    or (tokens[stop - 1].after and before not in {"got", "are"})
                    or tokens[stop].norm
                    in {"of", "in", "here", "all", "loose", "pieces", "tubes", "valves", "altogether", "total"}
                ):
                    out.append(Count(number[0], "lot" if number[0] > 2 else "pair", i, stop))
    return out
