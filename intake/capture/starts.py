"""Which of a recording's times is its start, decided with the whole capture in view.

Recorders differ: a container's time may be the start or the moment of saving, in UTC or in local
time. One file cannot tell; two times of one file, or the habit of several files of one recorder,
mostly can. What stays open says so in `Moment.marks`. The rules stand in docs/times.md.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from intake.capture.audio import BEXT, CONTAINER, CREATION_KEY, ID3, TAG, TO_THE_MINUTE
from intake.capture.exif import FILE_NAME, FILE_TIME
from intake.capture.stamps import believable
from intake.capture.texts import NOTE
from intake.capture.walk import Moment, Recording
from intake.capture.zones import ShopClock

TOLERANCE = timedelta(seconds=3)
DAY_REACH = timedelta(hours=36)       # a walk's own times lie this near to the noon of its day
QUARTER = timedelta(minutes=15)       # every zone of today differs from UTC by whole quarters of an hour
WIDEST = timedelta(hours=14)
LOCAL_CLOCK = " (local clock)"
RANK = (NOTE, CREATION_KEY, CONTAINER, CONTAINER + LOCAL_CLOCK, ID3, ID3 + LOCAL_CLOCK, BEXT, TAG, FILE_NAME,
        ID3 + TO_THE_MINUTE, TAG + TO_THE_MINUTE, FILE_TIME)
_UTC_BY_STANDARD = (CONTAINER, ID3)


@dataclass(frozen=True)
class Guess:
    """One reading taken one way; `support` counts the file's other readings that fit it."""

    moment: Moment
    as_end: bool
    support: int = 0
    settled: bool = True

    def start(self, length: timedelta) -> datetime:
        """When the recording began, if this guess holds."""
        return self.moment.at - length if self.as_end else self.moment.at


def settle_starts(recordings: Sequence[Recording], clock: ShopClock, *, day: date | None = None,
                  trust_file_times: bool = True) -> list[Recording]:
    """The recordings with `started_at` chosen and `times` in order, best first.

    `day` is the day that the walk is thought to be of, where something tells it. Without
    `trust_file_times` a file's own time starts nothing: then the capture was copied without its times.
    """
    choices = [_weighed(recording, clock) for recording in recordings]
    habits = _habits(recordings, choices)
    settled = []
    for recording, guesses in zip(recordings, choices, strict=True):
        guesses = [_by_habit(guess, habits.get((recording.kind, guess.moment.source))) for guess in guesses]
        settled.append(_chosen(recording, guesses, clock, day, trust_file_times))
    return settled


def same_instant(a: datetime, b: datetime, clock: ShopClock, tolerance: timedelta = TOLERANCE) -> bool:
    """Whether two times may be one; where only one has a zone and the shop's is unknown, up to whole quarter hours."""
    if (a.tzinfo is None) == (b.tzinfo is None):
        return abs(a - b) <= tolerance
    a_utc, b_utc = clock.utc(a), clock.utc(b)
    if a_utc is not None and b_utc is not None:
        return abs(a_utc - b_utc) <= tolerance
    apart = a.replace(tzinfo=None) - b.replace(tzinfo=None)
    return abs(apart) <= WIDEST + tolerance and abs(apart - QUARTER * round(apart / QUARTER)) <= tolerance


def near_day(at: datetime, day: date | None, clock: ShopClock) -> bool:
    """Whether a time can belong to a walk of that day; anything can where no day is known."""
    return day is None or abs(clock.local(at) - datetime.combine(day, time(12))) <= DAY_REACH


def length_of(recording: Recording) -> timedelta:
    """The recording's length; nothing for a plain text."""
    return timedelta(seconds=recording.duration_s or 0.0)


def guesses_of(moment: Moment, clock: ShopClock) -> list[Guess]:
    """One reading, each way in which it can be taken."""
    found = []
    for variant in (moment, *_as_local(moment, clock)):
        if "start" in moment.marks:
            found.append(Guess(variant, as_end=False))
        if "end" in moment.marks:
            found.append(Guess(variant, as_end=True))
    return found


def _as_local(moment: Moment, clock: ShopClock) -> list[Moment]:
    """A time that should be UTC, taken as the local clock that some recorders write there."""
    if moment.source not in _UTC_BY_STANDARD or moment.at.tzinfo is None or not clock.offset_at(moment.at):
        return []
    return [replace(moment, at=moment.at.replace(tzinfo=None), source=moment.source + LOCAL_CLOCK)]


def _weighed(recording: Recording, clock: ShopClock) -> list[Guess]:
    """For each reading the way that most of the file's other readings fit; open where two ways fit alike."""
    ways, length = [(moment, guesses_of(moment, clock)) for moment in recording.times], length_of(recording)
    chosen = []
    for moment, own in ways:
        others = [(other.source, guesses) for other, guesses in ways if other.source != moment.source]
        weighed = []
        for guess in own:
            fits = {source for source, guesses in others
                    if any(same_instant(guess.start(length), other.start(length), clock) for other in guesses)}
            weighed.append(replace(guess, support=len(fits)))
        chosen.append(_best_way(weighed, recording.times))
    return chosen


def _best_way(own: list[Guess], times: Sequence[Moment]) -> Guess:
    """The best supported way to take one reading; as it stands, and as a start, where nothing speaks for another."""
    order = sorted(own, key=lambda guess: (-guess.support, LOCAL_CLOCK in guess.moment.source, guess.as_end))
    best = order[0]
    rivals = [other for other in order[1:] if other.as_end != best.as_end and other.moment.at == best.moment.at]
    settled = all(other.support < best.support for other in rivals)
    return replace(best, settled=settled and not _set_by_a_copy(best, times))


def _set_by_a_copy(guess: Guess, times: Sequence[Moment]) -> bool:
    """A file time equal to the container's to the very second may come from a tool that copied it there: weak proof."""
    return guess.as_end and guess.support == 1 and guess.moment.source in (CONTAINER, CREATION_KEY) and any(
        other.source == FILE_TIME and other.at == guess.moment.at for other in times)


def _habits(recordings: Sequence[Recording], choices: list[list[Guess]]) -> dict[tuple[str, str], bool]:
    """How one recorder writes a time, by kind and source: True for the end. From clear cases, else from overlaps."""
    clear: dict[tuple[str, str], set[bool]] = defaultdict(set)
    open_cases: dict[tuple[str, str], list[tuple[datetime, timedelta]]] = defaultdict(list)
    for recording, guesses in zip(recordings, choices, strict=True):
        for guess in guesses:
            key = (recording.kind, guess.moment.source)
            if not guess.settled:
                open_cases[key].append((guess.moment.at, length_of(recording)))
            elif len(recording.times) > 1 and guess.support:
                clear[key].add(guess.as_end)
    habits = {key: ways.pop() for key, ways in clear.items() if len(ways) == 1}
    for key, cases in open_cases.items():
        way = _by_overlap(cases)
        if key not in clear and way is not None:
            habits[key] = way
    return habits


def _by_overlap(cases: list[tuple[datetime, timedelta]]) -> bool | None:
    """One recorder makes one recording at a time: the way that would have it make two at once is wrong."""
    if len({at.tzinfo is None for at, _ in cases}) != 1:
        return None
    cases = sorted(cases)
    starts_clash = any(a + a_length > b + TOLERANCE for (a, a_length), (b, _) in pairwise(cases))
    ends_clash = any(b - b_length < a - TOLERANCE for (a, _), (b, b_length) in pairwise(cases))
    return starts_clash if starts_clash != ends_clash else None


def _by_habit(guess: Guess, as_end: bool | None) -> Guess:
    if guess.settled or as_end is None:
        return guess
    return replace(guess, as_end=as_end, settled=True)


def _chosen(recording: Recording, guesses: list[Guess], clock: ShopClock, day: date | None,
            trust_file_times: bool) -> Recording:
    length = length_of(recording)
    order = sorted(guesses, key=lambda guess: _order(guess, length, clock, day))
    usable = [guess for guess in order if believable(guess.moment.at)
              and (trust_file_times or guess.moment.source != FILE_TIME)]
    best = _not_too_late(usable, length, clock)
    if best is not None:
        order.remove(best)
        order.insert(0, best)
    return replace(recording, started_at=_started(best, recording) if best else None,
                   times=tuple(_named(guess) for guess in order))


def _order(guess: Guess, length: timedelta, clock: ShopClock, day: date | None) -> tuple[bool, bool, int]:
    source = guess.moment.source
    far = source == FILE_TIME or (source != NOTE and not near_day(guess.start(length), day, clock))
    return not believable(guess.moment.at), far, RANK.index(source)


def _not_too_late(usable: list[Guess], length: timedelta, clock: ShopClock) -> Guess | None:
    """The best reading, unless nothing supports it and two others agree on an earlier end: it was written later."""
    for guess in usable[:1]:
        if guess.support or guess.moment.source == NOTE:
            return guess
        latest = clock.timeline(guess.start(length)) - length - TOLERANCE
        earlier = [other for other in usable[1:] if other.support and clock.timeline(other.start(length)) < latest]
        return earlier[0] if earlier and clock.known else guess
    return None


def _started(guess: Guess, recording: Recording) -> Moment:
    if guess.as_end and recording.duration_s is None:
        return guess.moment
    return replace(guess.moment, at=guess.start(length_of(recording)),
                   marks="start" if guess.settled else "start or end")


def _named(guess: Guess) -> Moment:
    """The reading with what it turned out to mark."""
    if not guess.settled:
        return guess.moment
    return replace(guess.moment, marks="end" if guess.as_end else "start")
