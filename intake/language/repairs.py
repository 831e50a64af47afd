"""Self-corrections: "the three hundred, no wait, the three fifty", "scratch that". The last word stands, the first is kept as evidence.

Works on the words before anything else is understood: what was taken back becomes a filler sound, so that every later
step reads the sentence as it was meant ("the A I [three hundred, sorry,] three fifty").
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from intake.language.dates import find_dates
from intake.language.numbers import Code, read_code
from intake.language.reading import Reading
from intake.language.terms import CueHit
from intake.language.tokens import FILLERS, Sentence, Text, Token
from intake.vocabulary.tubes import is_known_tube

_KINDS = ("side", "cosmetic", "maker", "unit_type", "source", "stage", "location", "measure")
_STRONG_KINDS = (*_KINDS, "part", "symptom", "accessory")
# Cues that may mean something else as well: they count only right beside the values they part.
_WEAK = frozenset(
    {
        "no",
        "wait",
        "again",
        "rather",
        "actually",
        "hold on",
        "hang on",
        "sorry",
        "not that",
        "make it",
        "no it's",
        "no that's",
        "i mean",
        "or is it",
        "or is that",
        "oh wait",
        "let me check",
        "nope",
        "pardon",
    }
)
_GLUE = frozenset(
    ["the", "a", "an", "it's", "that's", "this", "is", "these", "are", "those", "they're", "it", "they", "on", "in", "at", "shelf", "to", "of", "or", "well", "okay", "ok", "let", "me", "see", "with", "and", "i", "should", "say", "its", "as", "i'm"]
)


@dataclass(frozen=True)
class Repair:
    """Words old_start..old_end were taken back for what follows at `new`."""

    old_start: int
    old_end: int
    new: int
    words: str


def find_repairs(reading: Reading) -> list[Repair]:
    """All corrections, in order."""
    hits = _chained([h for h in reading.cues if h.cue.signals in ("repair", "takeback")], reading.text)
    out: list[Repair] = []
    for start, end, chain in hits:
        found = _values(reading, start, end, chain) or _take_back(reading, start, end, chain)
        if found:
            out.append(found)
    return out


def apply_repairs(text: Text, repairs: Iterable[Repair]) -> Text:
    """The text with what was taken back, and the correcting words, as fillers; written words stay for evidence."""
    tokens = list(text.tokens)
    for repair in repairs:
        for i in (*range(repair.old_start, repair.old_end), *range(repair.old_end, repair.new)):
            tokens[i] = replace(
                tokens[i], norm="uh", after="" if i + 1 < len(tokens) and i + 1 < repair.new + 1 else tokens[i].after
            )
        if (
            repair.old_start
            and text.sentence_of[repair.old_start - 1] == text.sentence_of[repair.old_start]
            and repair.new > repair.old_end
        ):
            before = tokens[repair.old_start - 1]
            if before.after == ",":
                tokens[repair.old_start - 1] = replace(before, after="")
    return _resentenced(text, tokens, repairs)


def _resentenced(text: Text, tokens: list[Token], repairs: Iterable[Repair]) -> Text:
    """A correction that ran over a full stop joins its two sentences: "the two 17s. No, sorry. These are the two 71s"."""
    joins = set()
    for repair in repairs:
        for i in range(repair.old_start, repair.new):
            if text.sentence_of[i] != text.sentence_of[min(i + 1, len(tokens) - 1)]:
                joins.add(i)
    sentences: list[Sentence] = []
    for sentence in text.sentences:
        if sentences and sentences[-1].end - 1 in joins and sentence.start == sentences[-1].end:
            sentences[-1] = Sentence(sentences[-1].start, sentence.end)
        else:
            sentences.append(sentence)
    fresh = Text(tokens, sentences)
    fresh.sentence_of = [n for n, s in enumerate(sentences) for _ in range(s.start, s.end)]
    return fresh


def _chained(hits: Sequence[CueHit], text: Text) -> list[tuple[int, int, list[CueHit]]]:
    """ "no", "hang on" and "sorry" in a row are one correction; a full stop in between does not part them."""
    out: list[tuple[int, int, list[CueHit]]] = []
    for hit in sorted(hits, key=lambda h: (h.start, -h.end)):
        if out and hit.start < out[-1][1]:
            if hit.end > out[-1][1]:
                out[-1] = (out[-1][0], hit.end, [*out[-1][2], hit])
            else:
                out[-1][2].append(hit)
        elif out and all(t.norm in FILLERS for t in text.tokens[out[-1][1] : hit.start]):
            out[-1] = (out[-1][0], hit.end, [*out[-1][2], hit])
        else:
            out.append((hit.start, hit.end, [hit]))
    return out


def _strong(chain: Sequence[CueHit]) -> bool:
    return (
        (len({h.cue.phrase for h in chain}) > 1
        and any(h.cue.phrase not in {"no"} for h in chain))
        or any(h.cue.phrase not in _WEAK for h in chain)
    )


def _values(reading: Reading, start: int, end: int, chain: Sequence[CueHit]) -> Repair | None:
    """The value after the correction and one of the same kind before it."""
    strong = _strong(chain)
    if [h.cue.phrase for h in chain] == ["again"] and not reading.text.tokens[start - 1].after:
        return None                     # "Quarrick again, the Q A nine"
    if (
        not strong
        and reading.text.tokens[end - 1].after not in {",", ".", "?", "!", ";"}
        and chain[-1].cue.phrase in {"no", "nope", "again", "rather", "wait"}
    ):
        return None
    ahead, behind = (7, 9) if strong else (4, 4)
    limit = _limit_after(reading, end, ahead)
    floor = _limit_before(reading, start, behind)
    for finder in (_code_pair, _code_pair_apart, _term_pair if not strong else _any_term_pair, _date_pair):
        found = finder(reading, floor, start, end, limit)
        if found and found.words:
            return found
    return None


def _limit_after(reading: Reading, end: int, ahead: int) -> int:
    length = len(reading.text.tokens)
    limit, n = end, 0
    while limit < length and n < ahead:
        if reading.text.tokens[limit].norm not in FILLERS:
            n += 1
        if reading.text.tokens[limit].after in {".", "?", "!"} and n > 0:
            return limit + 1
        limit += 1
    return limit


def _limit_before(reading: Reading, start: int, behind: int) -> int:
    """Words before the cue, over at most one sentence border (a recognizer often puts a full stop there)."""
    borders, i = 0, start
    while i > 0 and start - i < behind:
        if reading.text.tokens[i - 1].after in {".", "?", "!"}:
            borders += 1
            if borders > 1 or start - i > 2:
                break
        i -= 1
    return i


def _codes(reading: Reading, start: int, end: int) -> list[Code]:
    out, i = [], start
    while i < end:
        code = read_code(reading.text.tokens, i, end, across_commas=True)
        if code is None or not (code.has_digit or len(code.text) >= 2 or code.pieces[0].kind == "letter"):
            i += 1
            continue
        if not code.has_digit and len(code.text) == 1 and code.text in "AI":
            i = code.end
            continue
        out.append(code)
        i = code.end
    return out


def _code_pair(reading: Reading, floor: int, start: int, end: int, limit: int) -> Repair | None:
    tokens = reading.text.tokens
    after = next((c for c in _codes(reading, end, min(len(tokens), limit + 4)) if c.start < limit), None)
    if after is None or any(
        t.norm not in _GLUE and t.norm not in FILLERS and t.norm not in {"mark", "model", "number", "serial"}
        for t in tokens[end : after.start]
    ):
        return None
    if after.end < len(tokens) and tokens[after.end - 1].after == "" and tokens[after.end].norm in {"of", "more"}:
        return None
    before = list(_codes(reading, max(floor, 0), start))
    if not before:
        return None
    old = before[-1]
    whole = _whole_code(reading, old, floor, start)
    if is_known_tube(whole.text) and not is_known_tube(after.text) and after.text.isdigit():
        return None                     # a count is corrected, not the tube type before it
    gone = _replaced_pieces(whole, after)
    return Repair(gone[0], whole.end, after.start, reading.text.words(gone[0], whole.end)) if gone else None


def _code_pair_apart(reading: Reading, floor: int, start: int, end: int, limit: int) -> Repair | None:
    """ "M D twelve, no, I'm reading that upside down, M D twenty-one": words between, but the same letters again."""
    tokens = reading.text.tokens
    old = _codes(reading, max(floor, 0), start)
    if not old or not old[-1].has_letter or not old[-1].has_digit:
        return None
    whole = _whole_code(reading, old[-1], floor, start)
    letters = "".join(c for c in whole.text if c.isalpha())
    for after in _codes(reading, end, min(len(tokens), end + 14)):
        same = "".join(c for c in after.text if c.isalpha()) == letters and after.text != whole.text
        if same and after.has_digit and tokens[after.start - 1].after in {",", ".", "?"}:
            return Repair(whole.start, whole.end, after.start, reading.text.words(whole.start, whole.end))
    return None


def _whole_code(reading: Reading, code: Code, floor: int, end: int) -> Code:
    """The code with what of it lies before the search window."""
    sentence = reading.text.sentence_at(code.start)
    for i in range(max(sentence.start, code.start - 8), code.start):
        wider = read_code(reading.text.tokens, i, end, across_commas=True)
        if wider and wider.end == code.end:
            return wider
    return code


def _replaced_pieces(old: Code, new: Code) -> tuple[int, int] | None:
    """Which of the old code's words the new one stands for: all of it, or as many trailing characters as the new one has."""
    first = new.pieces[0]
    if first.kind == "mark":
        marks = [p for p in old.pieces if p.kind == "mark"]
        return (marks[-1].start, marks[-1].end) if marks else None
    if old.text == new.text:
        return None
    if first.kind in ("letter", "mixed") and old.has_letter and len(new.text) >= 2:
        return old.start, old.end
    wanted = len(new.text)
    total = 0
    for piece in reversed(old.pieces):
        total += len(piece.chars)
        if total == wanted:
            return piece.start, old.end
        if total > wanted:
            break
    if len(old.text) <= wanted:
        return old.start, old.end
    digits = [p for p in old.pieces if p.kind == "digit"]
    last = old.pieces[-1]
    if len(new.pieces) == 1 and last.kind == first.kind:
        return last.start, old.end
    if digits and old.pieces[-len(digits) :] == tuple(digits):
        return digits[0].start, old.end
    return last.start, old.end


def _any_term_pair(reading: Reading, floor: int, start: int, end: int, limit: int) -> Repair | None:
    return _term_pair(reading, floor, start, end, limit, kinds=_STRONG_KINDS)


def _term_pair(
    reading: Reading, floor: int, start: int, end: int, limit: int, kinds: tuple[str, ...] = _KINDS
) -> Repair | None:
    tokens = reading.text.tokens
    for new in [m for m in reading.within(end, limit) if m.kind in kinds]:
        gap = [t.norm for t in tokens[end : new.start]]
        if any(w not in _GLUE and w not in FILLERS and w not in {"left", "right", "new", "old"} for w in gap):
            continue
        old = [
            m
            for m in reading.within(floor, start)
            if m.end <= start and m.kind == new.kind and m.canonical != new.canonical
        ]
        if old and (start - old[-1].end <= 5):
            return Repair(old[-1].start, old[-1].end, new.start, reading.text.words(old[-1].start, old[-1].end))
    return None


def _date_pair(reading: Reading, floor: int, start: int, end: int, limit: int) -> Repair | None:
    tokens = reading.text.tokens
    new = find_dates(tokens, end, limit, reading.day, future=True)
    old = find_dates(tokens, floor, start, reading.day, future=True)
    if new and old and new[0].text != old[-1].text and new[0].start - end <= 3:
        return Repair(old[-1].start, old[-1].end, new[0].start, reading.text.words(old[-1].start, old[-1].end))
    return None


def _take_back(reading: Reading, start: int, end: int, chain: Sequence[CueHit]) -> Repair | None:
    """ "scratch that" with nothing of the same kind after it: the statement before it is void."""
    if not any(h.cue.signals == "takeback" for h in chain):
        return None
    if any(h.cue.phrase in ("forget what i said",) for h in chain):
        return None
    clause = reading.clause_at(start)
    if start - clause.start > 1:
        return Repair(clause.start, start, end, reading.text.words(clause.start, start))
    n = reading.clause_of[clause.start]
    if n == 0:
        return None
    before = reading.clauses[n - 1]
    return Repair(before.start, before.end, end, reading.text.words(before.start, before.end))
