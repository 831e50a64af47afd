"""Makers, models, unit types and counts as they are named: every naming in the text, with what it could mean."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from intake.language.numbers import Code, model_key, read_code, whole_number
from intake.language.terms import Mention, match_key
from intake.language.tokens import FILLERS, Text, Token, normalise
from intake.vocabulary.terms import ModelName, Vocabulary

_NEVER_MODEL_BEFORE = frozenset(["serial", "shelf", "bay", "bench", "cart", "rack", "row", "aisle", "bin", "channel", "side", "number"])
_UNIT_WORDS = frozenset(
    ["watts", "watt", "w", "milliamps", "milliamp", "ma", "millivolts", "millivolt", "mv", "volts", "volt", "v", "ohms", "ohm", "hertz", "hz", "rpm", "grams", "gram", "g", "kilos", "kilo", "kg", "pounds", "pound", "lb", "lbs", "hours", "hour", "h", "percent", "%", "degrees", "minutes", "minute", "seconds", "second", "days", "day", "weeks", "week", "months", "month", "years", "year", "dollars", "bucks", "quid", "inches", "inch", "feet", "foot", "pieces", "db", "decibels", "hundredths", "thousandths", "times", "more", "of"]
)


@dataclass(frozen=True)
class ModelHit:
    """Words start..end that read as a model: known ones in `names`, else `heard` as written by rule."""

    start: int
    end: int
    heard: str
    names: tuple[ModelName, ...] = ()
    code: str = ""
    exact: bool = True


class ModelIndex:
    """The shop's models by their characters, for exact reading of codes and named models."""

    def __init__(self, vocabulary: Vocabulary) -> None:
        self._by_key: dict[str, list[ModelName]] = defaultdict(list)
        self._by_shape: dict[str, list[ModelName]] = defaultdict(list)  # with O written as 0
        self._by_word: dict[str, list[tuple[tuple[str, ...], str, ModelName]]] = defaultdict(list)
        self._by_digits: dict[str, list[ModelName]] = defaultdict(list)
        for model in vocabulary.models:
            key = model_key(model.name)
            self._by_key[key].append(model)
            self._by_digits[re.sub(r"\D", "", key)].append(model)
            if "O" in key:
                self._by_shape[key.replace("O", "0")].append(model)
            words = list(normalise(model.name).split())
            lead = [w for w in words if re.fullmatch(r"[a-z']{3,}", w)]
            if lead and words[: len(lead)] == lead and not (len(lead) == 1 and lead[0] in {"mark"}):
                rest = model_key(" ".join(words[len(lead) :]))
                self._by_word[lead[0]].append((tuple(lead), rest, model))

    def exact(self, key: str) -> tuple[ModelName, ...]:
        """Models with exactly these characters; "oh" may stand for the letter O ("X O fourteen")."""
        found = self._by_key.get(key, ())
        if not found and "0" in key and any(c.isalpha() for c in key):
            found = self._by_shape.get(key.replace("O", "0"), ())
        return tuple(found)

    def same_digits(self, key: str) -> tuple[ModelName, ...]:
        """Models whose digits are exactly those of `key` (none where it has no digit)."""
        digits = re.sub(r"\D", "", key)
        return tuple(self._by_digits.get(digits, ())) if digits else ()

    def named(self, word: str) -> Sequence[tuple[tuple[str, ...], str, ModelName]]:
        """Models that begin with this word: (leading words, code key after them, model)."""
        return self._by_word.get(word, ())


def codes(text: Text, start: int, end: int, *, across_commas: bool = False) -> list[Code]:
    """All codes among the tokens start..end, longest first come, not overlapping."""
    found, i = [], start
    while i < end:
        code = read_code(text.tokens, i, end, across_commas=across_commas)
        if code is None:
            i += 1
            continue
        found.append(code)
        i = max(code.end, i + 1)
    return found


def model_hits(text: Text, index: ModelIndex, blocked: set[int]) -> list[ModelHit]:
    """Every reading of a known model in the text, and every code that has the shape of one (`names` empty)."""
    hits: list[ModelHit] = []
    for sentence in text.sentences:
        for code in codes(text, sentence.start, sentence.end):
            if _spells_a_word(code):
                continue
            hits.extend(_code_hits(text, code, index, blocked))
        hits.extend(_word_hits(text, sentence.start, sentence.end, index, blocked))
    return sorted(_drop_inside(hits), key=lambda h: h.start)


def _spells_a_word(code: Code) -> bool:
    """ "Z E N O R I A": four letters and more, one by one, are a name spelled out and no model."""
    letters = [p for p in code.pieces if p.kind == "letter" and len(p.chars) == 1]
    return len(letters) >= 4 and len(code.pieces) - len(letters) <= code.text.count("0") and not any(
        c.isdigit() and c != "0" for c in code.text
    )


def _code_hits(text: Text, code: Code, index: ModelIndex, blocked: set[int]) -> Iterable[ModelHit]:
    pieces = code.pieces
    used: set[int] = set()
    for length in range(len(pieces), 0, -1):
        for a in range(len(pieces) - length + 1):
            part = pieces[a : a + length]
            span = range(part[0].start, part[-1].end)
            if not used.isdisjoint(span) or not blocked.isdisjoint(span):
                continue
            key = "".join(p.chars for p in part)
            names = index.exact(key)
            if names and _plausible(text, part[0].start, part[-1].end, key):
                used.update(span)
                yield ModelHit(part[0].start, part[-1].end, written_model(Code(tuple(part))), names, key)
    rest = [p for p in pieces if used.isdisjoint(range(p.start, p.end)) and blocked.isdisjoint(range(p.start, p.end))]
    if rest and not used:
        part_code = Code(tuple(rest))
        key = part_code.text
        letters, digits = sum(c.isalpha() for c in key), sum(c.isdigit() for c in key)
        if (
            digits
            and (letters or digits >= 2)
            and len(key) <= 12
            and _plausible(text, part_code.start, part_code.end, key)
        ):
            yield ModelHit(part_code.start, part_code.end, written_model(part_code), (), key, exact=False)


def _plausible(text: Text, start: int, end: int, key: str) -> bool:
    """Whether a code can be a model here: digits alone before "watts", or after "shelf", are none."""
    before = text.tokens[start - 1].norm if start else ""
    after = text.tokens[end].norm if end < len(text.tokens) and text.tokens[end - 1].after == "" else ""
    if before in _NEVER_MODEL_BEFORE:
        return False
    if key.isdigit():
        if (
            after in _UNIT_WORDS
            or len(key) == 1
            or before
            in {
                "of",
                "about",
                "at",
                "to",
                "in",
                "back",
                "by",
                "since",
                "point",
                "january",
                "february",
                "march",
                "april",
                "may",
                "june",
                "july",
                "august",
                "september",
                "october",
                "november",
                "december",
            }
        ):
            return False
        if text.tokens[start].text[:1] in "$£€":
            return False
    if is_reading(key):
        return False
    return not (key.isalpha() and len(key) < 2)


def is_reading(key: str) -> bool:
    """A number with its unit or ending run together ("334RPM", "12V", "21ST")."""
    return bool(re.fullmatch(r"\d+(RPM|V|W|HZ|KHZ|MA|MV|KG|G|LB|LBS|H|OHMS?|DB|ST|ND|RD|TH|S|AM|PM)", key))


def _word_hits(text: Text, start: int, end: int, index: ModelIndex, blocked: set[int]) -> Iterable[ModelHit]:
    for i in range(start, end):
        for lead, rest, model in index.named(match_key(text.tokens[i].norm)):
            j = i + len(lead)
            if j > end or [match_key(t.norm) for t in text.tokens[i:j]] != list(lead):
                continue
            if not rest:
                yield ModelHit(i, j, model.name, (model,), model_key(model.name))
                continue
            code = read_code(text.tokens, j, end)
            if code is None:
                continue
            for n in range(len(code.pieces), 0, -1):
                if "".join(p.chars for p in code.pieces[:n]) == rest:
                    yield ModelHit(i, code.pieces[n - 1].end, model.name, (model,), model_key(model.name))
                    break


def _drop_inside(hits: Sequence[ModelHit]) -> list[ModelHit]:
    """Named models win over the codes inside them; several models of one span stay one hit."""
    by_span: dict[tuple[int, int], ModelHit] = {}
    for hit in hits:
        old = by_span.get((hit.start, hit.end))
        names = tuple(dict.fromkeys((*(old.names if old else ()), *hit.names)))
        by_span[(hit.start, hit.end)] = ModelHit(hit.start, hit.end, hit.heard, names, hit.code, hit.exact)
    out: list[ModelHit] = []
    for hit in sorted(by_span.values(), key=lambda h: (-(h.end - h.start), h.start)):
        if all(hit.end <= o.start or hit.start >= o.end for o in out):
            out.append(hit)
    return out


def written_model(code: Code) -> str:
    """A model that no vocabulary knows, by the contract's convention: TR-2205, "Mk" as MK2, digits alone as they are."""
    body = "".join(p.chars for p in code.pieces if p.kind != "mark")
    marks = [p.chars for p in code.pieces if p.kind == "mark"]
    body = re.sub(r"(?<=[A-Z])(?=\d)", "-", body, count=1)
    return " ".join([body, *marks]).strip()


@dataclass(frozen=True)
class Count:
    """How many: "a pair of", "two", "a lot of eight"."""

    quantity: int
    grouping: str
    start: int
    end: int


@dataclass
class Naming:
    """Words start..end that name a thing by type, maker or model."""

    start: int
    end: int
    types: list[Mention] = field(default_factory=list)
    makers: list[Mention] = field(default_factory=list)
    models: list[ModelHit] = field(default_factory=list)
    count: Count | None = None
    determiner: str = ""  # "a", "the", "that", "another", "other", "" ...

    @property
    def unit_type(self) -> str | None:
        return self.types[-1].canonical if self.types else None

    @property
    def maker(self) -> str | None:
        return self.makers[-1].canonical if self.makers else None


_INDEFINITE = frozenset(["a", "an", "another", "some"])
_DEFINITE = frozenset(["the", "that", "this", "those", "these", "its", "his", "her", "their", "our"])


def determiner_before(tokens: Sequence[Token], start: int, floor: int) -> str:
    """The article or pointing word that opens the noun phrase at `start`, looking back over up to four words."""
    for i in range(start - 1, max(floor, start - 6) - 1, -1):
        word = tokens[i].norm
        if tokens[i].after in {",", ".", "?", "!", ";"}:
            return ""
        if word in _INDEFINITE or word in _DEFINITE or word in {"other", "same", "no", "two", "one", "both", "not"}:
            if word in {"those", "these", "the"} and i - floor >= 2 and [t.norm for t in tokens[i - 2 : i]] == ["one", "of"]:
                return "a"              # "one of those reel-to-reel machines"
            return word
        if word in FILLERS:
            continue
    return ""


def group_words(tokens: Sequence[Token], start: int, end: int) -> Count | None:
    """A count at `start`: "a pair of", "two", "matched pair", "set of three", "lot of eight", "eight of them"."""
    words = [t.norm for t in tokens[start:end]]
    if not words:
        return None
    if words[0] in ("pair", "pairs", "brace"):
        return Count(2, "pair", start, start + 1)
    if words[0] in ("set", "trio", "quartet", "quad", "lot", "bunch", "bundle", "batch", "box", "dozen"):
        fixed = {"trio": 3, "quartet": 4, "quad": 4, "dozen": 12}.get(words[0])
        if words[0] == "dozen" and start >= 2 and [t.norm for t in tokens[start - 2 : start]] == ["half", "a"]:
            fixed = 6
        if fixed:
            return Count(fixed, "set" if words[0] != "dozen" else "lot", start, start + 1)
        if len(words) > 2 and words[1] == "of" and (number := whole_number(words[2:])):
            grouping = "set" if words[0] == "set" else "lot"
            return Count(number[0], grouping, start, start + 2 + number[1])
    return None



