"""Serial numbers and line voltages in the text of a photo."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from intake.capture.plate_reader import PlateLine
from intake.matching.plate_names import Found
from intake.matching.plate_text import (
    BARE_NUMBER,
    HIDDEN,
    MODEL_LABEL,
    SERIAL_LABEL,
    Token,
    beside,
    digits_meant,
    may_go_on,
    read_twice,
    tokens,
    upper,
    weakest,
)

# Nominal voltages of public mains, today's and former ones (IEC 60038 has 100, 120, 127, 200, 208, 220, 230, 240; older
# sets are marked 110, 115, 117, 125 and 225); any other number before a V is something else, or misread.
NOMINAL = frozenset({100, 110, 115, 117, 120, 125, 127, 200, 208, 220, 225, 230, 240})
SURE_DIGITS = 0.75  # the least sure character of an accepted serial; below it three in four readings were wrong
_SERIAL = re.compile(r"(?=(?:.*\d){3})[A-Z0-9][A-Z0-9/.-]{3,15}")
_UNIT_OF_MEASURE = re.compile(
    r"\d+(?:\.\d+)?(?:V|VA|W|HZ|A|MA|KG|MM|DB|OHMS?|MHZ|KHZ|VOLTS|WATTS)\b~?|\d{2}/\d{2}HZ|\d{4}-\d{2}-\d{2}"
)
_STANDALONE = re.compile(r"[A-Z]{0,3}\d{5,10}[A-Z]?")
_AMBIGUOUS = frozenset("OIQ")
_VOLTS = re.compile(
    r"(?<![A-Z0-9.,/-])(?<!\d~)(?<!\d~ )([0-9OILSBZ]{3}(?:\s?V?\s?[-/~,]\s?[0-9OILSBZ]{3})*)"
    r"\s?(V(?:OLTS?|AC)?)(?![A-Z])"
)
_BEFORE = re.compile(r"(?:\bAC|A\.C\.?|MAINS|LINE|SUPPLY|SOURCE|VOLTAGE|POWER)\s*[~:.,-]?\s*$")
_AFTER = re.compile(r"^\s*(?:[~≈∼]|A\.?C\b(?!\W*OUT)|[,.;~-]?\s*\d{2}\s?(?:[/-]\s?\d{2}\s?)?(?:HZ|C/S|CYCLES|∼|~))")
_NOT_LINE = re.compile(r"(?:FUSE|\b[TF]\s?\d*\.?\d+\s?M?A[LH]?|RATED|DC)\W*$")


# ---------------------------------------------------------------- serial numbers


def find_serials(lines: Sequence[PlateLine]) -> list[Found]:
    """Serial numbers after their label, accepted where two readings agree; and what else may be one, never accepted."""
    out: list[Found] = []
    used: set[int] = set()
    for line in lines:
        text = upper(line.text)
        for label in SERIAL_LABEL.finditer(text):
            for found in _labelled(line, label.end(), lines):
                out.append(found)
                used.update(id(part) for part in found.lines)
    for line in lines:
        if id(line) not in used:
            out += _unlabelled(line)
    return out


def _labelled(line: PlateLine, start: int, lines: Sequence[PlateLine]) -> Iterator[Found]:
    here = tokens(upper(line.text), start)
    if here:
        found = _serial_from(line, here, (line,))
        if found is not None:
            yield found
        return
    for other in beside(line, lines):
        text = upper(other.text)
        if SERIAL_LABEL.search(text) or MODEL_LABEL.match(text):
            return
        found = _serial_from(other, tokens(text), (line, other), whole=True)
        if found is not None:
            yield found
            return


def _serial_from(
    line: PlateLine, words: Sequence[Token], sources: tuple[PlateLine, ...], *, whole: bool = False
) -> Found | None:
    """The serial that the words begin with; more than one word makes it a guess. `whole`: it must be the whole line."""
    part = list(words[:1])
    for word in words[1:4]:
        if not re.fullmatch(r"[A-Z0-9-]*\d[A-Z0-9-]*", word.text) or _UNIT_OF_MEASURE.fullmatch(word.text):
            break
        part.append(word)
    text = "".join(w.text for w in part).strip("-./*")
    if not part or not _SERIAL.fullmatch(text) or _UNIT_OF_MEASURE.match(text) or (whole and len(part) < len(words)):
        return None
    value = re.sub(r"[^0-9A-Z]", "", text)
    run = re.match(r"N[O0](?=[A-Z])", value) if not whole else None  # "SERIAL NOJY705" has lost a blank
    value = value[run.end() :] if run else value
    sure = weakest(line, part[0].start, part[-1].end)
    doubts = [
        (len(part) > 1, "in parts"),
        (not read_twice(line, text), "two readings differ"),
        (sure < SURE_DIGITS, "unclear characters"),
        (may_go_on(line, part[0].start, part[-1].end), HIDDEN),
        (run is not None, "run together with its label"),
        (not _AMBIGUOUS.isdisjoint(value), "a letter that looks like a digit"),
        ("/" in text or "." in text, "a mark in it"),
    ]
    why = [reason for doubtful, reason in doubts if doubtful]
    confidence = 0.97 * (0.8 + 0.2 * sure) if not why else 0.5 * sure
    return Found(value, sources, round(confidence, 3), not why, why[0] if why else "after its label")


def _unlabelled(line: PlateLine) -> Iterator[Found]:
    """A number that stands alone, or after a bare "No.": it may be a serial, and may be anything else."""
    text = upper(line.text).strip()
    bare = BARE_NUMBER.match(text)
    body = text[bare.end() :] if bare else text
    if _STANDALONE.fullmatch(body.replace(" ", "")) and body.count(" ") <= 1:
        how = "after No." if bare else "a number that stands alone"
        yield Found(body.replace(" ", ""), (line,), round((0.4 if bare else 0.3) * line.confidence, 3), False, how)


# ---------------------------------------------------------------- line voltage


def find_voltages(lines: Sequence[PlateLine]) -> list[Found]:
    """Line voltages as "120 V", "220-240 V" or "110/220 V": only with AC, ~ or Hz beside the number."""
    out = []
    for line in lines:
        text = upper(line.text)
        for found in _VOLTS.finditer(text):
            before, after = text[: found.start()], text[found.end() :]
            value = _written(found[1])
            if value is None or _NOT_LINE.search(before) or re.match(r"\s*(?:MAX|FUSE|DC)\b", after):
                continue
            if not (found[2] == "VAC" or _BEFORE.search(before) or _AFTER.match(after)):
                continue
            sure = weakest(line, found.start(1), found.end(1))
            doubts = [
                (not _same_volts(line, value), "two readings differ"),
                (sure < 0.6, "unclear characters"),
                (may_go_on(line, found.start(), len(line.text)), HIDDEN),
            ]
            why = [reason for doubtful, reason in doubts if doubtful]
            out.append(
                Found(
                    value,
                    (line,),
                    round(0.97 * (0.85 + 0.15 * sure) if not why else 0.5 * sure, 3),
                    not why,
                    why[0] if why else "line voltage",
                )
            )
    return out


def _written(text: str) -> str | None:
    """The numbers as the record writes them; None where one of them is no mains voltage."""
    joined = digits_meant(re.sub(r"[\sV]", "", text)).replace("~", "-").replace(",", "/")
    numbers = [int(n) for n in re.findall(r"\d+", joined)]
    if any(n not in NOMINAL for n in numbers) or (
        numbers != sorted(set(numbers)) and numbers != sorted(set(numbers), reverse=True)
    ):
        return None
    return f"{joined} V"


def _same_volts(line: PlateLine, value: str) -> bool:
    if line.second is None:
        return True
    return value in {_written(found[1]) for found in _VOLTS.finditer(upper(line.second))}


def volts(value: str) -> tuple[tuple[int, int], ...]:
    """The ranges of a line voltage: "100/220-240 V" is (100, 100), (220, 240)."""
    ranges = []
    for part in value.removesuffix(" V").split("/"):
        low, _, high = part.partition("-")
        ranges.append((int(low), int(high or low)))
    return tuple(ranges)


def suits(value: str, mains_v: int) -> bool:
    """Whether a unit of that line voltage may be at the shop's mains.

    Within ten percent of each other, as public mains may vary by (IEC 60038: 230 V plus or minus 10 percent).
    """
    return any(low / 1.1 < mains_v < high * 1.1 for low, high in volts(value))
