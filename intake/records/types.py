"""The plain values that the store gives back. No row of the database ever leaves `records`.

Words: a *unit* is the physical thing, with an id for life ("U0001"). A *sighting* is what one
walk says of it, "<walk id>/u3". A *value* is one field of one sighting. A unit's *latest*
state is what its sightings say together, the last word first.
"""

from __future__ import annotations

from dataclasses import dataclass
from dataclasses import field as made
from datetime import date
from typing import Any

from intake.language.draft import LISTS, SCALARS, Evidence, Span

MACHINE = "machine"
#: What a doubt may be about, besides the fields of the record: the unit as a whole, or its photos.
WHOLE = ("unit", "photos")
NO_CLOCK = "the capture cannot tell how far this camera's clock is off"
FIELDS = SCALARS + LISTS + WHOLE


@dataclass(frozen=True)
class Stored:
    """One value of one sighting: what holds, what the machine reads, and why to look.

    `value` holds now (None: blank). `state`: "open" (the machine's reading, nobody decided),
    "accepted" or "corrected" (a person did). `reasons` say why a person should look; empty
    where nobody needs to. `address` is how commands name it: "model", "issues.2".
    """

    id: int
    sighting: str
    field: str
    number: int                                # 0 for a scalar; 1, 2, ... for list items, never given twice
    value: Any
    state: str = "open"
    confidence: float = 1.0
    reasons: tuple[str, ...] = ()
    alternatives: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    rule: str = ""
    signals: dict[str, float] = made(default_factory=dict)
    origin: str = MACHINE                      # "machine", or the person who decided
    decided_at: str | None = None              # UTC
    machine_value: Any = None                  # the machine's newest reading, whatever was decided

    @property
    def address(self) -> str:
        return f"{self.field}.{self.number}" if self.field in LISTS else self.field


@dataclass(frozen=True)
class PhotoPlace:
    """One photo of a walk and the unit it shows (`sighting` None: none)."""

    walk: str
    name: str
    path: str
    sha256: str
    kind: str
    taken_at: str | None                       # as the camera wrote it; with an offset only where it wrote one
    taken_source: str
    camera: str | None
    orientation: int
    width: int
    height: int
    sighting: str | None
    unit: str | None
    confidence: float
    at: str | None = None                      # corrected time
    runner_up: str | None = None
    reasons: tuple[str, ...] = ()
    why: str = ""
    state: str = "open"
    origin: str = MACHINE
    recording_second: float | None = None      # seconds into the recording that ran then, where that is known
    recording: str | None = None


@dataclass(frozen=True)
class RecordingInfo:
    """One recording of a walk; `started_at` has its offset where that is known."""

    walk: str
    name: str
    path: str
    sha256: str
    kind: str
    duration_s: float | None
    started_at: str | None
    started_source: str
    transcript: str | None = None


@dataclass(frozen=True)
class ClockInfo:
    """What is known of one camera's clock in one walk, seconds ahead of the recordings' time."""

    walk: str
    camera: str
    offset_s: float
    low: float
    high: float
    drift_s_per_h: float
    known: bool
    how: str
    state: str = "open"
    origin: str = MACHINE


@dataclass(frozen=True)
class ProblemInfo:
    """A file of a walk that could not be used, or only in part."""

    walk: str
    name: str
    reason: str
    fatal: bool


@dataclass(frozen=True)
class WalkInfo:
    """One walk in a list."""

    id: str
    date: date
    utc_offset_min: int | None
    processed_at: str
    recordings: int
    photos: int
    units: int
    questions: int
    problems: int


@dataclass(frozen=True)
class Link:
    """A question: is this sighting the unit the shop already has?"""

    id: int
    sighting: str
    unit: str
    confidence: float
    reasons: tuple[str, ...]
    state: str = "open"                        # "open", "same" or "other"
    origin: str = MACHINE


@dataclass(frozen=True)
class Sighting:
    """What one walk says of one unit, whole."""

    id: str                                    # "<walk id>/u3"
    unit: str
    walk: str
    local_id: str
    date: date
    scalars: dict[str, Stored]                 # only what is filled or asked about
    lists: dict[str, tuple[Stored, ...]]       # every list field, items in order
    doubts: tuple[Stored, ...] = ()            # about the unit as a whole, or its photos
    photos: tuple[PhotoPlace, ...] = ()
    spans: tuple[Span, ...] = ()
    state: str = "seen"                        # "seen", "dropped", "merged", "gone" (the newest reading lacks it)
    origin: str = MACHINE
    merged: tuple[str, ...] = ()               # other sightings of this walk that a person joined with it
    links: tuple[Link, ...] = ()
    same_as_hint: str | None = None

    def value(self, name: str) -> Any:
        """What holds for a scalar field, None where blank."""
        found = self.scalars.get(name)
        return found.value if found else None

    def items(self, name: str) -> list[Any]:
        """The values of a list field, blanks left out."""
        return [item.value for item in self.lists.get(name, ()) if item.value is not None]

    def stored(self) -> list[Stored]:
        """Every value in the record's order."""
        out = [self.scalars[name] for name in SCALARS if name in self.scalars]
        for name in LISTS:
            out += self.lists.get(name, ())
        return out + list(self.doubts)


@dataclass(frozen=True)
class Held:
    """One value of a unit's latest state: since when it holds, and the sighting it comes from.

    `until` is set for what has ended: an issue put right, an action done.
    """

    stored: Stored
    since: date
    until: date | None = None

    @property
    def value(self) -> Any:
        return self.stored.value


@dataclass(frozen=True)
class StageRun:
    """A stretch of days a unit stood in one stage; `until` None: it still does."""

    unit: str
    stage: str
    since: date
    until: date | None
    sighting: str


@dataclass(frozen=True)
class Unit:
    """One unit: its latest state, all its sightings (oldest first) and its way through the stages."""

    id: str
    scalars: dict[str, Held]
    lists: dict[str, tuple[Held, ...]]
    sightings: tuple[Sighting, ...]
    stages: tuple[StageRun, ...]
    became: str | None = None                  # the unit it turned out to be

    def value(self, name: str) -> Any:
        """The latest value of a scalar field, None where blank."""
        found = self.scalars.get(name)
        return found.value if found else None


@dataclass(frozen=True)
class UnitLine:
    """One unit in a list: the latest state, flat."""

    id: str
    unit_type: str | None
    maker: str | None
    model: str | None
    serial: str | None
    quantity: int | None
    grouping: str | None
    location: str | None
    stage: str | None
    source: str | None
    cosmetic: str | None
    stage_since: date | None
    first_seen: date
    last_seen: date
    first_sighting: str
    last_sighting: str
    sightings: int
    photos: int
    questions: int

    @property
    def name(self) -> str:
        """Maker and model, or the type where neither is known."""
        named = " ".join(part for part in (self.maker, self.model) if part)
        return named or self.unit_type or "unknown unit"


@dataclass(frozen=True)
class ActionLine:
    """Work still to do on a unit (or done: `until`), with what it waits for."""

    unit: str
    work: str
    part: str | None
    due: str | None
    waiting_on: str | None
    since: date
    until: date | None
    sighting: str
    entry: int                                 # the stored value's id


@dataclass(frozen=True)
class IssueLine:
    """Something wrong with a unit; `until` is when it was said to be put right."""

    unit: str
    part: str | None
    symptom: str | None
    side: str | None
    state: str
    since: date
    until: date | None
    sighting: str
    entry: int


@dataclass(frozen=True)
class StageChange:
    """A unit moved on: from which stage (None: it arrived) to which, on what day."""

    unit: str
    before: str | None
    after: str
    on: date
    sighting: str


@dataclass(frozen=True)
class Sureness:
    """How sure the records of some days are: counts of filled or asked-about values."""

    values: int
    flagged: int
    accepted: int
    corrected: int


@dataclass(frozen=True)
class Question:
    """Something a person should look at.

    `kind`: "value" (a field), "photo", "link" (seen before?), "clock" (a camera's offset).
    `about` is the sighting, or the walk where it is about none. `name` is the field's address,
    the photo's file name, the unit that it may be, or the camera.
    """

    kind: str
    walk: str
    about: str
    unit: str | None
    name: str
    value: Any
    confidence: float
    reasons: tuple[str, ...]
    alternatives: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    id: int = 0                                # of the stored value or link


@dataclass(frozen=True)
class Change:
    """One line of history."""

    id: int
    batch: int
    at: str                                    # UTC, ISO 8601
    who: str
    action: str                                # "set", "accept", "merge", "read again", ...
    unit: str | None
    about: str                                 # sighting, photo or walk
    field: str
    old: Any
    new: Any
    why: str
    undone: bool = False


@dataclass(frozen=True)
class Difference:
    """Where a new reading and a person's decision (or an earlier reading a person relied on) part."""

    about: str
    field: str
    kept: Any
    new: Any
    reason: str


@dataclass(frozen=True)
class SaveReport:
    """What `save_walk` did. `unchanged`: the walk was on file already and nothing was added."""

    walk: str
    unchanged: bool = False
    units: int = 0                             # sightings of the walk now
    added: tuple[str, ...] = ()                # sightings made
    changed: tuple[str, ...] = ()              # sightings whose reading changed
    gone: tuple[str, ...] = ()                 # sightings that the new reading lacks
    kept: tuple[str, ...] = ()                 # lacking in the new reading, kept because a person worked on them
    linked: dict[str, str] = made(default_factory=dict)      # sighting -> unit seen before
    asked: tuple[str, ...] = ()                # sightings with a "seen before?" question
    differences: tuple[Difference, ...] = ()
    placed: int = 0                            # photos with a unit
    stray: int = 0                             # photos without
    questions: int = 0
    duplicates: dict[str, str] = made(default_factory=dict)  # file -> "walk/file" that already has its content
    refused: tuple[str, ...] = ()              # values that are no term of the record, kept as doubts
