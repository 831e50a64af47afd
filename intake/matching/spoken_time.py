"""The time of day where somebody says it: "it's nine fifteen now" tells when a recording began, to a minute or five."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from intake.matching.cues import sentences
from intake.speech.transcript import Transcript, Word

_UNITS = ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
          "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen"]
_TENS = {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50}
_SIGN = r"(?:now|o'?clock|a\.?m\.?|p\.?m\.?|in the morning|in the afternoon|by my watch|on the clock)"
_LEAD = (r"\b(?:it's|it is|it's now|time is|time's|the clock says|just gone|coming up (?:to|on)|getting on for)"
         r"(?: about| around| just| nearly| almost| exactly| already| gone| past)*")


@dataclass(frozen=True)
class SpokenTime:
    """A time of day that was said: seconds since midnight, at `second` of the recording."""

    clock: float
    second: float
    words: str

    @property
    def start_for(self) -> float:
        """The recording's start as a time of day, seconds since midnight."""
        return self.clock - self.second


def spoken_times(transcript: Transcript) -> list[SpokenTime]:
    """Every time of day that is said to be the present one; none where it may be a price or a model."""
    return [t for words in sentences(transcript) for t in _in_sentence(words)]


def _in_sentence(words: Sequence[Word]) -> list[SpokenTime]:
    text = " ".join(w.text.lower() for w in words).replace("\u2019", "'")
    text = re.sub(r"[,;!?]|\.(?=\s|$)", "", text)
    lead = re.search(_LEAD + r"\s+", text)
    if not lead:
        return []
    rest = text[lead.end():]
    clock = clock_of(rest)
    if clock is None:
        return []
    place = len(text[:lead.end()].split())
    second = words[min(place, len(words) - 1)].end
    return [SpokenTime(clock, second, " ".join(w.text for w in words))]


def clock_of(text: str) -> float | None:
    """Seconds since midnight of a time at the start of `text`; None where it is no plain time of day.

    "a quarter to ten" -> 35100; "nine fifteen now" -> 33300; "9:15" -> 33300. A bare "nine fifteen" needs a word
    such as "now" or "a.m." behind it.
    """
    number = r"(\d{1,2}|[a-z]+)"
    relative = re.match(r"(?:a )?(quarter|half|five|ten|twenty|twenty-five|twenty five)(?: minutes)? "
                        rf"(to|past|of|after) {number}\b", text)
    if relative:
        hour = _number(relative[3])
        minutes = {"quarter": 15, "half": 30, "twenty-five": 25}.get(relative[1]) or _number(relative[1])
        if hour is None or minutes is None or not 1 <= hour <= 12:
            return None
        return _day_time(hour, minutes if relative[2] in ("past", "after") else -minutes, text)
    digits = re.match(r"(\d{1,2})[:.](\d\d)\b", text)
    if digits and int(digits[1]) < 24 and int(digits[2]) < 60:
        return _day_time(int(digits[1]), int(digits[2]), text)
    spoken = re.match(rf"([a-z]+)((?: (?:oh |o )?[a-z]+(?:[ -][a-z]+)?)?) ({_SIGN})(?=\s|$)", text)
    if not spoken or (not spoken[2] and spoken[3] == "now"):
        return None
    hour, minutes = _number(spoken[1]), _minutes(spoken[2])
    return _day_time(hour, minutes, text) if hour is not None and 0 < hour < 24 and minutes is not None else None


def _day_time(hour: int, minutes: int, text: str) -> float:
    """Shops are open by day: an hour from one to six without a word about it is in the afternoon."""
    afternoon = re.search(r"\bp\.?m\b|afternoon|evening", text) is not None
    morning = re.search(r"\ba\.?m\b|morning", text) is not None
    if hour < 12 and (afternoon or (hour < 7 and not morning)):
        hour += 12
    return float(hour * 3600 + minutes * 60)


def _minutes(text: str) -> int | None:
    words = text.strip().removeprefix("oh ").removeprefix("o ")
    if not words:
        return 0
    value = _number(words)
    return value if value is not None and value < 60 else None


def _number(word: str) -> int | None:
    if word.isdigit():
        return int(word)
    parts = re.split(r"[ -]", word.strip())
    if len(parts) == 1:
        return _UNITS.index(word) if word in _UNITS else _TENS.get(word)
    if len(parts) == 2 and parts[0] in _TENS and parts[1] in _UNITS[1:10]:
        return _TENS[parts[0]] + _UNITS.index(parts[1])
    return None
