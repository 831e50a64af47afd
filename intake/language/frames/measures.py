"""Measurements: a number that was read on this unit, with its unit, what it measures, and the side."""

from __future__ import annotations

from dataclasses import dataclass

from intake.language.frames.facts import Fact
from intake.language.frames.parts import sides_in
from intake.language.numbers import read_number, skip_fillers
from intake.language.reading import Reading
from intake.language.tokens import Text

# What a number in this unit measures where nothing else is said (common practice on the bench)
DEFAULTS = {
    "W": "output power",
    "rpm": "speed",
    "g": "tracking force",
    "kg": "weight",
    "lb": "weight",
    "h": "hours",
    "mA": "bias current",
    "mV": "DC offset",
    "ohm": "impedance",
    "Hz": "frequency response",
    "%": None,
    "V": None,
}
ALLOWED = {
    "output power": {"W"},
    "DC offset": {"mV", "V"},
    "bias current": {"mA"},
    "bias voltage": {"mV", "V"},
    "distortion": {"%"},
    "frequency response": {"Hz"},
    "speed": {"rpm", "%"},
    "wow and flutter": {"%"},
    "tracking force": {"g"},
    "tube test": {"%"},
    "impedance": {"ohm"},
    "line voltage": {"V"},
    "weight": {"kg", "lb", "g"},
    "hours": {"h"},
}
_MEASURED = frozenset(
    ["meter", "ohmmeter", "multimeter", "measured", "measure", "measures", "read", "reads", "reading", "got", "get", "meter", "metered", "ohmed", "put", "puts", "putting", "made", "makes", "making", "does", "did", "do", "showed", "shows", "show", "came", "comes", "tested", "tests", "weighed", "weighs", "says", "runs", "ran", "at", "is", "was", "sits", "sitting", "counter", "scale", "gauge", "strobe", "bench"]
)
_MONEY_WORDS = frozenset(
    ["gave", "give", "paid", "pay", "pays", "cost", "costs", "cash", "worth", "price", "priced", "quid", "sold", "sell", "asking", "chap", "fetch"]
)
_HOUR_WORDS = frozenset(
    ["counter", "timer", "meter", "clock", "logged", "showing", "shows", "reads", "says", "on", "run", "use", "used", "head", "heads", "laser", "since", "tube"]
)
# To-do cues that tell a reading before a number: "on the left it goes to nine thousand hertz"
_READS = frozenset(["it goes to", "will", "it'll", "he'll", "she'll"])
# Words for the second of two: "one gives seventy-eight percent, its brother seventy-five"
_SECOND = frozenset(["brother", "sister", "mate", "twin", "partner", "other", "second"])
_WEIGHING = frozenset(["weighs", "weighed", "weigh", "weighing", "scale", "scales", "weight"])
_NO_SIDES = frozenset(["weight", "hours", "speed", "line voltage", "wow and flutter"])
_TRACKING = frozenset(["tracking", "tracks", "track", "stylus", "gauge", "arm", "needle"])
_COUNTERS = frozenset(["counter", "timer", "hour-meter"])
_NUMBER_OF = frozenset(["channel", "shelf", "bay", "serial", "number", "mark", "model", "for"])


@dataclass(frozen=True)
class _Reading:
    value: float
    unit: str | None
    start: int
    end: int


def find_measurements(reading: Reading, start: int, end: int, *, tubes: bool) -> list[Fact]:
    """The measurements among the words start..end (a sentence); `tubes`: the unit at hand is loose tubes."""
    numbers = _numbers(reading, start, end)
    out: list[Fact] = []
    last: Fact | None = None
    for n, number in enumerate(numbers):
        following = numbers[n + 1].start if n + 1 < len(numbers) else end
        before = numbers[n - 1].end if n else start
        fact = _measurement(reading, number, before, following, (start, end), last, tubes)
        if fact:
            out.append(fact)
            last = fact
    return out


def _numbers(reading: Reading, start: int, end: int) -> list[_Reading]:
    tokens, out, i = reading.text.tokens, [], start
    while i < end:
        if i in reading.spoken_for:
            i += 1
            continue
        found = _spelled(reading, i, end) or read_number(tokens, i, end)
        if not found:
            i += 1
            continue
        value, j = found
        at = skip_fillers(tokens, j, end)
        unit = next((m for m in reading.within(at, at + 1, "unit_of_measure")), None)
        if unit is None and tokens[i].norm in {"one", "a", "an", "two", "both"} and j == i + 1:
            i += 1
            continue
        out.append(_Reading(value, unit.canonical if unit else None, i, unit.end if unit else j))
        i = max(out[-1].end, i + 1)
    return out


_DIGITS = {w: str(n % 10) for n, w in enumerate(["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"])} | {"oh": "0", "nought": "0"}


def _spelled(reading: Reading, i: int, end: int) -> tuple[float, int] | None:
    """ "The counter shows two, three, one, six": a counter read digit by digit."""
    tokens = reading.text.tokens
    j = i
    while j < end and (tokens[j].norm in _DIGITS or (len(tokens[j].norm) == 1 and tokens[j].norm in "0123456789")):
        j += 1
    if j - i < 3 or not set(reading.text.norms(max(0, i - 6), i)) & _COUNTERS:
        return None
    return float("".join(_DIGITS.get(t.norm, t.norm) for t in tokens[i:j])), j


def _measurement(
    reading: Reading,
    number: _Reading,
    before: int,
    following: int,
    sentence: tuple[int, int],
    last: Fact | None,
    tubes: bool,
) -> Fact | None:
    contexts = reading.contexts
    start, end = sentence
    to_do = any(s.cue not in _READS for s in contexts.over(number.start, "todo"))
    if to_do or contexts.has(number.start, "rating", "hypothetical", "other") or _rated(reading, number):
        return None
    unit, what = number.unit, None
    if unit is None:
        shared = _shared_unit(reading, number, following, last) or _counted(reading, number, start)
        if shared is None:
            return None
        what, unit = shared
    what = what or _what(reading, number, unit, sentence, tubes)
    if what is None or unit not in ALLOWED.get(what, set()):
        return None
    if (
        unit == "lb"
        and {t.norm for t in reading.text.tokens[max(start, number.start - 8) : min(end, number.end + 5)]}
        & _MONEY_WORDS
    ):
        return None
    if unit == "h" and not {t.norm for t in reading.text.tokens[start:end]} & _HOUR_WORDS:
        return None
    if unit == "ohm" and not _measured(reading.text, start, end):
        return None
    side = _side(reading, number, before, following)
    if what in _NO_SIDES and side == "both":
        side = None
    value = int(number.value) if number.value == int(number.value) else round(number.value, 4)
    return Fact(
        "measurements",
        {"what": what, "value": value, "unit": unit, "side": side},
        number.start,
        number.end,
        f"measure: {what}",
    )


def _rated(reading: Reading, number: _Reading) -> bool:
    """ "it's a sixty-watt amp": a rating used as an adjective."""
    tokens = reading.text.tokens
    after = reading.within(number.end, number.end + 2, "unit_type")
    article = tokens[number.start - 1].norm if number.start else ""
    return bool(after) and article in {"a", "an", "the", "that", "this"}


def _shared_unit(reading: Reading, number: _Reading, following: int, last: Fact | None) -> tuple[str, str] | None:
    """ "... and forty-nine on the right": a bare number with a side takes the unit of the reading before it."""
    if last is None or number.start - last.end > 12:
        return None
    before = set(reading.text.norms(max(last.end, number.start - 4), number.start))
    if (
        not before & _SECOND
        and not sides_in(reading, number.end, min(following, number.end + 5))
        and not sides_in(reading, max(0, number.start - 4), number.start)
    ):
        return None
    return last.value["what"], last.value["unit"]


def _counted(reading: Reading, number: _Reading, start: int) -> tuple[str, str] | None:
    """ "The counter shows two thousand and twelve": an hour counter's number needs no unit."""
    words = reading.text.norms(max(start, number.start - 8), number.start)
    if number.value < 20 or not set(words) & _COUNTERS or not set(words[-3:]) & {"shows", "reads", "says", "at", "has", "showing", "is"}:
        return None
    return "hours", "h"


def _what(reading: Reading, number: _Reading, unit: str, sentence: tuple[int, int], tubes: bool) -> str | None:
    if unit == "g" and number.value > 20:
        return "weight"
    named = [m for m in reading.within(sentence[0], sentence[1], "measure") if unit in ALLOWED.get(m.canonical, set())]
    if named:
        before = [m for m in named if m.end <= number.start]
        after = [m for m in named if m.start >= number.end]
        if after and after[0].start - number.end <= 3:
            return after[0].canonical
        return (before or named)[-1].canonical
    words = {t.norm for t in reading.text.tokens[max(0, sentence[0] - 12) : sentence[1]]}
    if unit == "%":
        if tubes or words & {"tester", "tube", "tubes", "valve", "valves"}:
            return "tube test"
        return None
    if unit == "V":
        return (
            "bias voltage"
            if words & {"bias", "cathode", "grid"}
            else "line voltage"
            if words & {"mains", "line", "wall", "outlet", "variac"}
            else None
        )
    if unit in ("mA", "mV") and words & {"bias", "biased", "idle", "idling"}:
        return "bias current" if unit == "mA" else "bias voltage"
    if unit == "g" and words & _WEIGHING and (number.value >= 20 or not words & _TRACKING):
        return "weight"
    return DEFAULTS.get(unit)


def _measured(text: Text, start: int, at: int) -> bool:
    return any(t.norm in _MEASURED for t in text.tokens[start:at])


def _side(reading: Reading, number: _Reading, before: int, following: int) -> str | None:
    """The side said with this number: after it up to the next number, else before it after the last one."""
    tokens = reading.text.tokens
    after = sides_in(reading, number.end, min(following, number.end + 7))
    if after and not any(tokens[k].after in {".", ";"} for k in range(number.end, after[0].start)):
        comma = any(tokens[k].after == "," or tokens[k].norm == "and" for k in range(number.end - 1, after[0].start))
        ahead = sides_in(reading, before, number.start)
        if not (comma and ahead):
            return after[0].canonical
    ahead = sides_in(reading, max(before, number.start - 12), number.start)
    return ahead[-1].canonical if ahead else None
