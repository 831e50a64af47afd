"""What matching takes and hands on: the walk as a line of time, clock estimates, photos with their units, sightings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone


@dataclass(frozen=True)
class Stretch:
    """A recording on the walk's line of time, seconds from `Timeline.zero`.

    `certain` is False where the start rests on a file's own time or on nothing; `ambiguous` is
    True where the file's time may be its start or its end.
    """

    recording: str
    start: float
    end: float
    certain: bool = True
    ambiguous: bool = False
    source: str = ""                  # where the start was read, as the recording tells it
    estimated: bool = False           # times within it are a guess from the length of the text


@dataclass(frozen=True)
class Visit:
    """One stretch of talk about one unit; a unit that is come back to has several. Seconds from zero.

    `named` is when it is first called by type, maker or model; None where that is not known.
    """

    unit: str
    start: float
    end: float
    named: float | None = None


@dataclass(frozen=True)
class Cue:
    """Words about a picture: "oops, that was the floor" (`kind` "stray"), "let me get the plate" ("shot").

    `strength` is the chance that a picture was taken right there.
    """

    kind: str
    start: float
    end: float
    strength: float = 0.8
    words: str = ""


@dataclass(frozen=True)
class Timeline:
    """A walk as one line of time: seconds from `zero`.

    `zero` is aware where the recordings know their zone, else a naive local time.
    `utc_offset_min` is the shop's clock against UTC on that day, None where unknown.
    Visits stand in order of talk, also where a unit is come back to.
    """

    zero: datetime
    recordings: tuple[Stretch, ...]
    visits: tuple[Visit, ...]
    speech: tuple[tuple[float, float], ...] = ()
    cues: tuple[Cue, ...] = ()
    utc_offset_min: int | None = None

    @property
    def start(self) -> float:
        """Where the first recording starts."""
        return min((r.start for r in self.recordings), default=0.0)

    @property
    def end(self) -> float:
        """Where the last recording ends."""
        return max((r.end for r in self.recordings), default=0.0)

    @property
    def certain(self) -> bool:
        """True where at least one recording knows when it started."""
        return any(r.certain for r in self.recordings)

    def moment(self, seconds: float) -> datetime:
        """The point in time `seconds` from zero, in the shop's local clock where that is known."""
        at = self.zero + timedelta(seconds=seconds)
        if self.zero.tzinfo is not None and self.utc_offset_min is not None:
            return at.astimezone(timezone(timedelta(minutes=self.utc_offset_min)))
        return at


@dataclass(frozen=True)
class Anchor:
    """A camera's offset as something other than the rhythm tells it: a photo of a clock, a spoken time.

    `camera` None: it holds for every camera. `within_s` is one standard deviation.
    """

    offset_s: float
    within_s: float
    camera: str | None = None
    how: str = "spoken time"


@dataclass(frozen=True)
class ClockOffset:
    """How far a camera's clock is ahead of the recordings' time base, seconds.

    `low`..`high` is the interval that holds it with about 95 percent; `known` is False where
    the capture cannot tell ("cannot tell" is a question for the reviewer, not a guess).
    `drift_s_per_h` is what the clock gains an hour, counted from `drift_from` (seconds from the
    timeline's zero, true time). `others` are other offsets that fit, with their share of belief.
    """

    camera: str
    offset_s: float
    low: float
    high: float
    drift_s_per_h: float = 0.0
    known: bool = True
    how: str = ""                     # "rhythm of pictures", "same clock", "given", "spoken time", ...
    drift_from: float = 0.0
    others: tuple[tuple[float, float], ...] = ()
    photos: int = 0                   # how many dated photos it rests on


@dataclass(frozen=True)
class PhotoMatch:
    """One photo with its unit, or with none (`unit` None: a stray)."""

    photo: str                        # file name
    unit: str | None                  # unit id within the walk
    confidence: float
    at: datetime | None = None        # corrected time in the recordings' time base, if it has one
    runner_up: str | None = None
    reasons: tuple[str, ...] = ()     # why a person should look; empty: nobody needs to
    why: str = ""                     # one plain sentence on how it was placed


@dataclass(frozen=True)
class KnownUnit:
    """A unit that is on file, as far as telling it apart needs."""

    id: str
    maker: str | None = None
    model: str | None = None
    serial: str | None = None
    unit_type: str | None = None
    location: str | None = None
    last_seen: datetime | None = None
    stage: str | None = None
    quantity: int | None = None


@dataclass(frozen=True)
class Candidate:
    """A unit on file that a draft may be, with the chance that it is and what speaks for and against it."""

    known: str
    chance: float
    points: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sighting:
    """Whether a draft's unit was seen before.

    `verdict` is "sure" (it is `known`), "ask" (a person decides; `candidates`, likeliest first)
    or "new". `reasons` say why a person should look, and are empty unless the verdict is "ask".
    """

    draft: str
    verdict: str
    known: str | None = None
    confidence: float = 0.0
    candidates: tuple[Candidate, ...] = ()
    reasons: tuple[str, ...] = ()
