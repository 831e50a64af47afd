"""Serial numbers: where one is spoken, the characters, and how sure they are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from intake.language.numbers import Piece, read_code, skip_fillers
from intake.language.tokens import Text

_LINK = frozenset(
    ["number", "numbers", "no", "is", "are", "was", "reads", "says", "it", "it's", "that's", "that", "is", "the", "a", "on", "at", "it", "says", "here", "of", "for", "them", "both", "one", "would", "be", "being", "ends", "starts", "s/n", "plate", "label", "back", "rear", "underneath", "sticker", "this", "there", "now", "also", "looks", "look", "like", "seems", "maybe", "i", "think", "could", "might", "say", "i'd", "to", "begins", "with", "can", "read", "only", "make", "out", "found", "got", "have"]
)
_LEAD_WORDS = ("serial", "serials", "s/n", "serialist", "cereal")
_NONE_WORDS = frozenset(["no", "without", "can't", "couldn't", "cannot", "don't", "doesn't", "didn't", "never", "isn't", "none", "missing"])
_UNREADABLE = frozenset(
    ["unreadable", "illegible", "gone", "missing", "scratched", "worn", "covered", "painted", "removed", "blank", "hidden", "nowhere"]
)


@dataclass(frozen=True)
class Serial:
    """A serial spoken at the words start..end; `value` None where none could be read or there is none."""

    start: int
    end: int
    value: str | None
    kind: str  # "spoken", "none" (there is none), "unread" (spoken of, not understood)
    reasons: tuple[str, ...] = ()
    words: tuple[int, ...] = field(default=())


def find_serials(text: Text, is_model: Callable[[str], bool]) -> list[Serial]:
    """Every place where a serial number is told, or told to be absent; `is_model` knows the vocabulary's models."""
    out: list[Serial] = []
    told: set[tuple[int, ...]] = set()
    for i, token in enumerate(text.tokens):
        lead = token.norm in _LEAD_WORDS or token.norm.removesuffix("'s") == "serial"
        if not lead and not _number_lead(text, i):
            continue
        found = _before_that(text, i) or _after_lead(text, i, is_model) or _before_lead(text, i) or (_absent(text, i) if lead else None)
        if found and not (found.value and found.words in told):
            told.add(found.words)
            out.append(found)
    return out


_PLATE_WORDS = frozenset(["sticker", "plate", "tag", "label", "back", "rear", "bottom", "underneath", "chassis", "stamped", "engraved"])


def _number_lead(text: Text, i: int) -> bool:
    """ "the number on its sticker reads ...": a number that is read off the unit."""
    if text.tokens[i].norm.removesuffix("'s") not in {"number", "numbers"}:
        return False
    sentence = text.sentence_at(i)
    before = text.tokens[i - 1].norm if i > sentence.start else ""
    if before in {"serial", "model", "no", "part", "type", "phone", "order", "return", "lot", "catalogue"}:
        return False
    near = {t.norm for t in text.tokens[max(sentence.start, i - 4) : min(sentence.end, i + 7)]}
    return (
        bool(near & _PLATE_WORDS) or (before in {"next", "its", "the"} and bool(near & {"is", "reads", "says", "next"} or text.tokens[i].norm == "number's"))
    )


def _before_that(text: Text, lead: int) -> Serial | None:
    """ "Seven seven three oh one, B as in boy. That's the serial, and ...": the code that the sentence before ended with."""
    sentence = text.sentence_at(lead)
    words = [t.norm for t in text.tokens[sentence.start : lead]]
    if sentence.start == 0 or not {"that's", "that"} & set(words) or any(w not in _THAT for w in words):
        return None
    if not text.tokens[lead].after and text.tokens[min(lead + 1, len(text.tokens) - 1)].norm in {"is", "number", "reads", "says"}:
        return None
    before = text.sentence_at(sentence.start - 1)
    for start in range(before.start, before.end):
        code = read_code(text.tokens, start, before.end, across_commas=True)
        if code and code.end == before.end and _looks_serial(code.pieces) and len(code.text) >= 4:
            return Serial(start, lead + 1, code.text, "spoken", words=tuple(range(start, code.end)))
    return None


_THAT = frozenset(["that's", "that", "is", "and", "so", "the", "was", "would", "be", "there's", "its"])


def _after_lead(text: Text, lead: int, is_model: Callable[[str], bool]) -> Serial | None:
    """ "serial number is one four double seven two": the first code after the lead that can be one, within some words.

    The words between mostly link ("number is, it says"); past other words the code must be longer. Where the recognizer put a
    full stop behind "serial", the next sentence counts too.
    """
    sentence = text.sentence_at(lead)
    found = _scan(text, lead, lead + 1, sentence.end, is_model)
    if (
        found is None
        and sentence.end < len(text.tokens)
        and text.tokens[sentence.end].recording == text.tokens[lead].recording
        and sentence.end - lead <= 4
    ):
        following = text.sentence_at(sentence.end)
        found = _scan(text, lead, sentence.end, min(following.end, sentence.end + 8), is_model, strict=True)
    return found


def _scan(
    text: Text, lead: int, i: int, limit: int, is_model: Callable[[str], bool], *, strict: bool = False
) -> Serial | None:
    plain = True  # only linking words so far
    start = i
    while i < limit and i - start <= 16:
        i = skip_fillers(text.tokens, i, limit)
        if i >= limit:
            return None
        word = text.tokens[i].norm
        if word == "one" and [t.norm for t in text.tokens[i : i + 3]] == ["one", "by", "one"]:
            i += 3
            continue
        code = _serial_code(text, i, limit)
        if code is not None and not plain and is_model("".join(p.chars for p in code[0])):
            i = code[1]
            continue
        if code is not None and _looks_serial(code[0], long=not plain) and not _counts(text, code[1]):
            return _made(lead, *code)
        if word in _NONE_WORDS or word in _UNREADABLE:
            return None
        if word not in _LINK:
            if strict:
                return None
            plain = False
        i += 1
    return None


# "H like hotel, and then comes six, zero": the code goes on
_GOES_ON = frozenset(["and", "then", "comes", "followed", "by", "after", "that", "next", "an", "a", "letter", "at", "the", "end", "with"])
_GOES_ON_LAST = frozenset(["then", "comes", "by", "an", "letter"])
_COUNTED_UNITS = frozenset(
    ["watts", "milliamps", "millivolts", "volts", "ohms", "percent", "per", "hours", "pounds", "kilos", "grams", "rpm", "hertz", "of", "days", "weeks", "years", "times", "feet", "inches", "dollars", "quid"]
)


def _counts(text: Text, end: int) -> bool:
    """A number with its unit ("forty-two milliamps") is no serial."""
    return end < len(text.tokens) and text.tokens[end - 1].after == "" and text.tokens[end].norm in _COUNTED_UNITS


def _serial_code(text: Text, i: int, limit: int) -> tuple[list[Piece], int] | None:
    """Pieces from i on, across commas, and where they end."""
    code = read_code(text.tokens, i, limit, across_commas=True)
    if code is None:
        return None
    pieces = list(code.pieces)
    end = code.end
    following = end
    while following < limit and text.tokens[following].norm in _GOES_ON:
        following += 1
    if end < following < limit and text.tokens[following - 1].norm in _GOES_ON_LAST:
        rest = read_code(text.tokens, following, limit, across_commas=True)
        if rest is not None:
            return [*pieces, *rest.pieces], rest.end
    last = _last_character(text, end, limit)
    if last is not None:
        return [*pieces, last], last.end
    return pieces, end


def _last_character(text: Text, i: int, limit: int) -> Piece | None:
    """ "Four oh two, and the last digit, I think it's an eight": the character told apart."""
    words = [t.norm for t in text.tokens[i : min(limit, i + 6)]]
    if words[:1] != ["and"] or "last" not in words or not set(words) & {"digit", "one", "number", "figure", "character", "letter"}:
        return None
    for k in range(i + words.index("last") + 2, min(limit, i + 18)):
        code = read_code(text.tokens, k, limit)
        if code is not None and len(code.text) == 1 and text.tokens[k].norm not in {"a", "i", "one"}:
            return code.pieces[0]
    return None


def _looks_serial(pieces: Sequence[Piece], *, long: bool = False) -> bool:
    text = "".join(p.chars for p in pieces)
    if long and (len(text) < 4 or text.startswith("MK")):
        return False
    return (sum(c.isdigit() for c in text) >= 2 and len(text) >= 3) or (len(text) >= 4 and len(pieces) >= 3)


def _made(lead: int, pieces: Sequence[Piece], end: int) -> Serial:
    value = "".join(p.chars for p in pieces).upper()
    indexes = tuple(i for p in pieces for i in range(p.start, p.end))
    return Serial(lead, end, value, "spoken", words=indexes)


def _before_lead(text: Text, lead: int) -> Serial | None:
    """ "three one oh seven nine is the serial", "31079 on the serial plate"."""
    sentence = text.sentence_at(lead)
    i = lead - 1
    while i >= sentence.start and text.tokens[i].norm in {
        "the",
        "is",
        "for",
        "its",
        "as",
        "that's",
        "a",
        "on",
        "being",
        "my",
        "our",
        "and",
        "that",
        "by",
        "way",
        "of",
        "so",
        "would",
        "be",
    }:
        i -= 1
    for start in range(sentence.start, i + 1):
        code = read_code(text.tokens, start, i + 1, across_commas=True)
        if code and code.end == i + 1 and _looks_serial(code.pieces) and len(code.text) >= 3:
            return Serial(start, lead + 1, code.text, "spoken", words=tuple(range(start, i + 1)))
    return None


def _absent(text: Text, lead: int) -> Serial | None:
    """ "no serial number", "can't find a serial", "the serial plate is missing"; else it was spoken of and not understood."""
    sentence = text.sentence_at(lead)
    before = {t.norm for t in text.tokens[max(sentence.start, lead - 7) : lead]}
    after = {t.norm for t in text.tokens[lead : min(sentence.end, lead + 9)]}
    if before & _NONE_WORDS or after & (_NONE_WORDS | _UNREADABLE):
        return Serial(lead, lead + 1, None, "none")
    follow = {t.norm for t in text.tokens[lead + 1 : min(len(text.tokens), sentence.end + 8)]}
    if follow & (_NONE_WORDS | _UNREADABLE | {"same"}):
        return Serial(lead, lead + 1, None, "none")
    return Serial(lead, lead + 1, None, "unread", ("a serial was spoken of, but not understood",))

