"""The tables of intake.db. Only `records` knows them; the world outside gets `records.types`.

(No future-annotations import here: SQLModel reads the annotations while it makes the tables.)

Two layers keep people and machine apart. What a machine read stands in one set of columns
(`value`, `confidence`, `reasons`, ...), which a new reading may replace; what a person decided
stands in another (`decision`, `decided_value`, ...), which only people write. What holds is
generated from both. No row is ever deleted but in the tables made from others (`unit_now`,
`stage_run`, `action_run`, `issue_run`, `unit_words`), and every column that is overwritten
leaves a row in `change`.
"""

from datetime import date
from typing import Any

from sqlalchemy import JSON, Boolean, CheckConstraint, Column, Computed, Index, Integer, Text, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from intake.language.draft import SCALARS
from intake.records.types import FIELDS


def _in(column: str, words: tuple[str, ...], *, null: bool = False) -> str:
    listed = ", ".join(f"'{word}'" for word in words)
    return f"{column} IN ({listed})" + (f" OR {column} IS NULL" if null else "")


def _json(*, null: bool = False, empty: str = "[]") -> Any:
    if null:
        return Field(default=None, sa_column=Column(JSON(none_as_null=True)))
    return Field(default=None, sa_column=Column(JSON(none_as_null=True), nullable=False, server_default=empty))


def _made(kind: Any, sql: str) -> Any:
    return Field(default=None, sa_column=Column(kind, Computed(sql, persisted=False)))


def _key() -> Any:
    return Field(default=None, primary_key=True)


class WalkRow(SQLModel, table=True):
    """One walk along the shelves."""

    __tablename__ = "walk"
    __table_args__ = (
        CheckConstraint("length(id) > 0", name="ck_walk_id"),
        CheckConstraint("utc_offset_min BETWEEN -1440 AND 1440", name="ck_walk_offset"),
    )

    id: str = Field(primary_key=True)
    date: date
    utc_offset_min: int | None = None
    settings: dict[str, Any] = _json(empty="{}")
    fingerprint: str
    processed_at: str


class FileRow(SQLModel, table=True):
    """A file by its content: the same picture under two names is one row."""

    __tablename__ = "file"
    __table_args__ = (CheckConstraint("length(sha256) > 0", name="ck_file_sha256"),)

    sha256: str = Field(primary_key=True)
    path: str
    kind: str


class RecordingRow(SQLModel, table=True):
    """A recording of a walk; times as read, with where they were read."""

    __tablename__ = "recording"
    __table_args__ = (
        UniqueConstraint("walk_id", "sha256", name="uq_recording_content"),
        UniqueConstraint("walk_id", "name", name="uq_recording_name"),
        CheckConstraint("duration_s >= 0", name="ck_recording_duration"),
        CheckConstraint(_in("started_marks", ("start", "end", "start or end")), name="ck_recording_marks"),
    )

    id: int = _key()
    walk_id: str = Field(foreign_key="walk.id", index=True)
    sha256: str = Field(foreign_key="file.sha256")
    name: str
    position: int
    duration_s: float | None = None
    starts: str | None = None                  # when it started: ISO 8601, with its offset where known
    started_at: str | None = None              # the time as read
    started_source: str = ""
    started_marks: str = "start"               # what that time is of
    times: list[Any] = _json()
    transcript: str | None = None


class PhotoRow(SQLModel, table=True):
    """A photo of a walk; `taken_at` is the camera's local clock, as it wrote it."""

    __tablename__ = "photo"
    __table_args__ = (
        UniqueConstraint("walk_id", "sha256", name="uq_photo_content"),
        UniqueConstraint("walk_id", "name", name="uq_photo_name"),
        CheckConstraint("orientation BETWEEN 1 AND 8", name="ck_photo_orientation"),
    )

    id: int = _key()
    walk_id: str = Field(foreign_key="walk.id", index=True)
    sha256: str = Field(foreign_key="file.sha256")
    name: str
    position: int
    taken_at: str | None = None                # ISO 8601 without offset
    taken_offset_min: int | None = None        # only where the camera wrote one
    taken_source: str = ""
    times: list[Any] = _json()
    camera: str | None = None
    orientation: int = 1
    width: int = 0
    height: int = 0


class PlacementRow(SQLModel, table=True):
    """Which unit a photo shows: the machine's placing, and a person's."""

    __tablename__ = "placement"
    __table_args__ = (
        CheckConstraint("confidence BETWEEN 0 AND 1", name="ck_placement_confidence"),
        CheckConstraint(_in("decision", ("accepted", "moved"), null=True), name="ck_placement_decision"),
        CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="ck_placement_decided"),
    )

    photo_id: int = Field(primary_key=True, foreign_key="photo.id")
    sighting_id: int | None = Field(default=None, foreign_key="sighting.id", index=True)
    confidence: float = 0.0
    at: str | None = None
    runner_up_id: int | None = Field(default=None, foreign_key="sighting.id")
    reasons: list[str] = _json()
    why: str = ""
    decision: str | None = None
    decided_sighting_id: int | None = Field(default=None, foreign_key="sighting.id", index=True)
    decided_by: str | None = None
    decided_at: str | None = None
    shown_id: int | None = _made(
        Integer, "CASE WHEN decision IS NULL THEN sighting_id ELSE decided_sighting_id END")
    question: bool = _made(Boolean, "decision IS NULL AND reasons <> '[]'")


class ClockRow(SQLModel, table=True):
    """How far a camera's clock is ahead of the recordings' time, in one walk."""

    __tablename__ = "camera_clock"
    __table_args__ = (
        CheckConstraint("low <= high", name="ck_clock_interval"),
        CheckConstraint("(decided_offset_s IS NULL) = (decided_by IS NULL)", name="ck_clock_decided"),
    )

    walk_id: str = Field(primary_key=True, foreign_key="walk.id")
    camera: str = Field(primary_key=True)
    offset_s: float
    low: float
    high: float
    drift_s_per_h: float = 0.0
    known: bool
    how: str = ""
    decided_offset_s: float | None = None
    decided_by: str | None = None
    decided_at: str | None = None


class ProblemRow(SQLModel, table=True):
    """A file of a walk that could not be used, or only in part; `current` says so of the newest run."""

    __tablename__ = "problem"

    id: int = _key()
    walk_id: str = Field(foreign_key="walk.id", index=True)
    name: str
    reason: str
    fatal: bool
    current: bool = True


class TranscriptRow(SQLModel, table=True):
    """Which decoding of a recording the values rest on."""

    __tablename__ = "transcript"
    __table_args__ = (UniqueConstraint("walk_id", "sha256", name="uq_transcript"),)

    id: int = _key()
    walk_id: str = Field(foreign_key="walk.id", index=True)
    sha256: str = Field(foreign_key="file.sha256")
    fingerprint: str
    words: int
    options: dict[str, Any] = _json(empty="{}")


class UnitRow(SQLModel, table=True):
    """A physical thing; its id is for life and is never given again."""

    __tablename__ = "unit"
    __table_args__ = (CheckConstraint("id GLOB 'U[0-9][0-9][0-9][0-9]*'", name="ck_unit_id"),)

    id: str = Field(primary_key=True)
    made_at: str
    made_for: str                              # the sighting it was made for, "<walk>/u3"
    became: str | None = Field(default=None, foreign_key="unit.id")


class SightingRow(SQLModel, table=True):
    """What one walk says of one unit. `present`: the newest reading has it."""

    __tablename__ = "sighting"
    __table_args__ = (
        UniqueConstraint("walk_id", "local_id", name="uq_sighting_local_id"),
        CheckConstraint("local_id GLOB 'u[1-9]*'", name="ck_sighting_local_id"),
        CheckConstraint(_in("decision", ("kept", "dropped", "merged"), null=True), name="ck_sighting_decision"),
        CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="ck_sighting_decided"),
        CheckConstraint("(decision IS 'merged') = (merged_into IS NOT NULL)", name="ck_sighting_merged"),
        CheckConstraint(_in("linked", ("own", "machine", "person")), name="ck_sighting_linked"),
        CheckConstraint("link_confidence BETWEEN 0 AND 1", name="ck_sighting_link_confidence"),
        # One walk says one thing of one unit.
        Index("uq_sighting_unit", "walk_id", "unit_id", unique=True, sqlite_where=text("state = 'seen'")),
    )

    id: int = _key()
    walk_id: str = Field(foreign_key="walk.id")
    local_id: str
    position: float                            # order within the walk
    unit_id: str = Field(foreign_key="unit.id", index=True)
    origin: str
    present: bool
    spans: list[Any] = _json()
    named_at: list[Any] = _json()
    same_as_hint: str | None = None
    linked: str = "own"
    link_confidence: float = 1.0
    decision: str | None = None
    merged_into: int | None = Field(default=None, foreign_key="sighting.id", index=True)
    split_from: int | None = Field(default=None, foreign_key="sighting.id", index=True)
    split_recording: str | None = None
    split_at_s: float | None = None
    decided_by: str | None = None
    decided_at: str | None = None
    state: str = _made(
        Text, "CASE WHEN decision IN ('dropped', 'merged') THEN decision "
              "WHEN decision = 'kept' OR present THEN 'seen' ELSE 'gone' END")


class EntryRow(SQLModel, table=True):
    """One value of one sighting: the machine's reading, and a person's decision."""

    __tablename__ = "entry"
    __table_args__ = (
        UniqueConstraint("sighting_id", "field", "number", name="uq_entry"),
        CheckConstraint(_in("field", FIELDS), name="ck_entry_field"),
        CheckConstraint(f"(number = 0) = ({_in('field', SCALARS)}) AND number >= 0", name="ck_entry_number"),
        CheckConstraint("confidence BETWEEN 0 AND 1", name="ck_entry_confidence"),
        CheckConstraint(_in("decision", ("accepted", "corrected"), null=True), name="ck_entry_decision"),
        CheckConstraint("(decision IS NULL) = (decided_by IS NULL) AND (decision IS NULL) = (decided_at IS NULL)",
                        name="ck_entry_decided"),
        CheckConstraint("decision IS NOT NULL OR decided_value IS NULL", name="ck_entry_decided_value"),
        CheckConstraint("value IS NULL OR json_valid(value)", name="ck_entry_value"),
        Index("ix_entry_question", "sighting_id", sqlite_where=text("question = 1")),
    )

    id: int = _key()
    sighting_id: int = Field(foreign_key="sighting.id")
    field: str
    number: int = 0
    value: Any = _json(null=True)
    confidence: float = 1.0
    reasons: list[str] = _json()
    alternatives: list[str] = _json()
    evidence: list[Any] = _json()
    rule: str = ""
    signals: dict[str, float] = _json(empty="{}")
    notes: list[str] = _json()                 # doubts that a person's act raised (two merged records differ)
    decision: str | None = None
    decided_value: Any = _json(null=True)
    seen_value: Any = _json(null=True)         # the machine's reading that the person decided on
    differs: bool = False                      # a newer reading agrees with neither
    decided_by: str | None = None
    decided_at: str | None = None
    held: Any = _made(JSON(none_as_null=True), "CASE WHEN decision IS NULL THEN value ELSE decided_value END")
    question: bool = _made(
        Boolean, "CASE WHEN decision IS NULL THEN reasons <> '[]' OR notes <> '[]' ELSE differs END")


class LinkRow(SQLModel, table=True):
    """A question: is this sighting that unit? The answer is kept, so that it is asked once."""

    __tablename__ = "link"
    __table_args__ = (
        UniqueConstraint("sighting_id", "unit_id", name="uq_link"),
        CheckConstraint("confidence BETWEEN 0 AND 1", name="ck_link_confidence"),
        CheckConstraint(_in("decision", ("same", "other"), null=True), name="ck_link_decision"),
        CheckConstraint("(decision IS NULL) = (decided_by IS NULL)", name="ck_link_decided"),
        Index("ix_link_question", "sighting_id", sqlite_where=text("decision IS NULL AND current = 1")),
    )

    id: int = _key()
    sighting_id: int = Field(foreign_key="sighting.id")
    unit_id: str = Field(foreign_key="unit.id", index=True)
    confidence: float
    reasons: list[str] = _json()
    current: bool = True                       # the newest matching still asks
    decision: str | None = None
    decided_by: str | None = None
    decided_at: str | None = None


class BatchRow(SQLModel, table=True):
    """One act: everything in it is done together and undone together."""

    __tablename__ = "batch"
    __table_args__ = (
        CheckConstraint(_in("kind", ("process", "edit", "undo", "redo")), name="ck_batch_kind"),
        CheckConstraint("length(who) > 0", name="ck_batch_who"),
        Index("ix_batch_live", "who", "id", sqlite_where=text("undone_by IS NULL")),
        {"sqlite_autoincrement": True},
    )

    id: int = _key()
    at: str
    who: str
    kind: str
    action: str
    why: str = ""
    undoes: int | None = Field(default=None, foreign_key="batch.id")
    undone_by: int | None = Field(default=None, foreign_key="batch.id")


class ChangeRow(SQLModel, table=True):
    """One overwritten row: the columns that changed, before and after. Rows here never change."""

    __tablename__ = "change"
    __table_args__ = ({"sqlite_autoincrement": True},)

    id: int = _key()
    batch_id: int = Field(foreign_key="batch.id", index=True)
    table_name: str
    row_id: str
    unit_id: str | None = Field(default=None, foreign_key="unit.id", index=True)
    about: str = ""                            # "<walk>/u3", "<walk>/photo.jpg", "<walk>"
    field: str = ""
    was: Any = _json(null=True)                # what held before and after, in a person's words
    now: Any = _json(null=True)
    old: dict[str, Any] = _json(empty="{}")    # the overwritten columns, from which undo restores them
    new: dict[str, Any] = _json(empty="{}")


# ---- made from the tables above, in the same transaction; may be thrown away and made again


class UnitNowRow(SQLModel, table=True):
    """The latest state of each unit that is seen."""

    __tablename__ = "unit_now"

    unit_id: str = Field(primary_key=True, foreign_key="unit.id")
    unit_type: str | None = None
    maker: str | None = None
    model: str | None = None
    serial: str | None = Field(default=None, index=True)
    quantity: int | None = None
    grouping: str | None = None
    location: str | None = Field(default=None, index=True)
    stage: str | None = Field(default=None, index=True)
    source: str | None = None
    cosmetic: str | None = None
    stage_since: date | None = None
    first_seen: date = Field(index=True)
    last_seen: date = Field(index=True)
    first_sighting: str
    last_sighting: str
    sightings: int
    photos: int
    questions: int


class StageRunRow(SQLModel, table=True):
    """The days a unit stood in one stage."""

    __tablename__ = "stage_run"
    __table_args__ = (Index("ix_stage_run_stage", "stage", "until"),)

    id: int = _key()
    unit_id: str = Field(foreign_key="unit.id", index=True)
    stage: str
    since: date = Field(index=True)
    until: date | None = None
    sighting: str


class ActionRunRow(SQLModel, table=True):
    """Work to do on a unit, from the day it was named to the day it was done."""

    __tablename__ = "action_run"

    id: int = _key()
    unit_id: str = Field(foreign_key="unit.id", index=True)
    work: str
    part: str | None = None
    due: str | None = Field(default=None, index=True)
    waiting_on: str | None = None
    since: date
    until: date | None = None
    sighting: str
    entry_id: int


class IssueRunRow(SQLModel, table=True):
    """What is wrong with a unit, from the day it was named to the day it was put right."""

    __tablename__ = "issue_run"

    id: int = _key()
    unit_id: str = Field(foreign_key="unit.id", index=True)
    part: str | None = None
    symptom: str | None = None
    side: str | None = None
    state: str
    since: date
    until: date | None = None
    sighting: str
    entry_id: int


class UnitWordsRow(SQLModel, table=True):
    """What `find` looks through: names, serial, issues and the words that were spoken, folded."""

    __tablename__ = "unit_words"
    __table_args__ = (Index("ix_unit_words_not_indexed", "unit_id", sqlite_where=text("indexed = 0")),)

    unit_id: str = Field(primary_key=True, foreign_key="unit.id")
    words: str
    indexed: bool = False                      # also in the full-text index, where SQLite has one


