"""The shop's records: the only way in and out of intake.db.

Everything given back is a plain value (`records.types`). Every change is one transaction: kept
whole or not at all, with who made it, when and why.
"""

from __future__ import annotations

import getpass
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Engine

from intake.capture.walk import Problem, Walk
from intake.errors import RecordsError
from intake.language.draft import Span, UnitDraft
from intake.matching.types import ClockOffset, PhotoMatch
from intake.records import (
    answered,
    edits,
    heads,
    history,
    latest,
    load,
    queries,
    questions,
    refs,
    reshape,
    save,
    search,
    undo,
)
from intake.records.database import BUSY_S, IN_MEMORY, make_engine, reading, writing
from intake.records.log import Log
from intake.records.migrate import bring_up_to_date
from intake.records.types import (
    ActionLine,
    Change,
    ClockInfo,
    IssueLine,
    PhotoPlace,
    ProblemInfo,
    Question,
    RecordingInfo,
    SaveReport,
    Sighting,
    StageChange,
    StageRun,
    Sureness,
    Unit,
    UnitLine,
    WalkInfo,
)
from intake.records.undo import Turned
from intake.records.values import Terms, with_shop_terms
from intake.speech.transcript import Transcript


def person() -> str:
    """Who is at the keyboard: INTAKE_PERSON where it is set, else the login name."""
    named = os.environ.get("INTAKE_PERSON", "").strip()
    if named:
        return named
    try:
        return getpass.getuser()
    except (KeyError, OSError):  # no such user in the system's list (containers)
        return "somebody"


class Store:
    """The records of one shop. Open it with `Store.open`; use it as a context manager or close it."""

    def __init__(self, engine: Engine, path: Path | str, terms: Terms) -> None:
        self._engine = engine
        self.path = path
        self.terms = terms

    @classmethod
    def open(cls, path: Path | str, *, shop_terms: Terms | None = None, busy_s: float = BUSY_S) -> Store:
        """Open the database, made or brought up to date first; ":memory:" is a fresh one that is not kept.

        `shop_terms`: the shop's own terms of each kind ("part", "work", ...). Raises RecordsError
        (no such folder, not a database, disk full, locked, read-only) and NewerDatabaseError.
        """
        if str(path) != IN_MEMORY and Path(path).is_dir():
            raise RecordsError("this is a folder, not a database.", path=path)
        engine = make_engine(path, busy_s=busy_s)
        store = cls(engine, path, with_shop_terms(shop_terms))
        try:
            bring_up_to_date(engine, path)
            store._index()
        except BaseException:
            store.close()
            raise
        return store

    def _index(self) -> None:
        with reading(self._engine) as session:
            missing = search.index_is_behind(session)
        if missing:
            with writing(self._engine) as session:
                search.make_index(session)

    def close(self) -> None:
        """Let the file go."""
        self._engine.dispose()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # ---- a walk comes in

    def save_walk(
        self, walk: Walk, drafts: Sequence[UnitDraft] = (), matches: Sequence[PhotoMatch] = (),
        offsets: Sequence[ClockOffset] = (), transcripts: Sequence[Transcript] = (), problems: Sequence[Problem] = (),
        *, same_as: Mapping[str, tuple[str, float]] | None = None,
        candidates: Mapping[str, Sequence[tuple[str, float, Sequence[str]]]] | None = None,
        starts: Mapping[str, datetime] | None = None, settings: Mapping[str, Any] | None = None, redo: bool = False,
    ) -> SaveReport:
        """Keep a processed walk, whole or not at all.

        The same content again adds nothing; nor do other readings of the same files, unless `redo`. Then, and
        when files came to the capture, the machine's values are replaced; what people decided is never undone,
        and where the new reading parts from it is told in the report. See `save.Processed` for the arguments.
        """
        processed = save.Processed(
            walk=walk, drafts=drafts, matches=matches, offsets=offsets, transcripts=transcripts, problems=problems,
            same_as=same_as, candidates=candidates or {}, starts=starts or {}, settings=settings or {})
        with writing(self._engine) as session:
            return save.save(session, processed, terms=self.terms, redo=redo)

    # ---- questions to the records

    def walks(self) -> list[WalkInfo]:
        """All walks, oldest first."""
        with reading(self._engine) as session:
            return queries.walks(session)

    def walk_ids(self) -> list[str]:
        """The ids of all walks, oldest first; for many walks much cheaper than `walks`."""
        with reading(self._engine) as session:
            return queries.walk_ids(session)

    def walk(self, walk: str) -> WalkInfo:
        """One walk; NotFoundError names those there are."""
        with reading(self._engine) as session:
            queries.known_walk(session, walk)
            return queries.walks(session, walk)[0]

    def has_walk(self, walk: str) -> bool:
        """Whether a walk of that id is on file."""
        with reading(self._engine) as session:
            return bool(queries.walks(session, walk))

    def walk_files(self, walk: str) -> dict[str, str]:
        """sha256 -> name of every recording and photo of a walk."""
        with reading(self._engine) as session:
            return {r.sha256: r.name for r in queries.recordings(session, walk)} | {
                p.sha256: p.name for p in queries.photos(session, walk)}

    def recordings(self, walk: str) -> list[RecordingInfo]:
        """A walk's recordings in order."""
        with reading(self._engine) as session:
            return queries.recordings(session, walk)

    def photos(self, walk: str) -> list[PhotoPlace]:
        """A walk's photos in order, those without a unit included."""
        with reading(self._engine) as session:
            return queries.photos(session, walk)

    def clocks(self, walk: str) -> list[ClockInfo]:
        """What is known of the cameras' clocks in a walk."""
        with reading(self._engine) as session:
            return queries.clocks(session, walk)

    def problems(self, walk: str) -> list[ProblemInfo]:
        """The files of a walk that could not be used."""
        with reading(self._engine) as session:
            return queries.problems(session, walk)

    def sightings(self, walk: str) -> list[Sighting]:
        """The units of one walk whole, in its order."""
        with reading(self._engine) as session:
            queries.known_walk(session, walk)
            return queries.sightings_of_walk(session, walk)

    def sighting(self, ref: str) -> Sighting:
        """One sighting whole, by "<walk>/u3"; one that was joined with another gives that."""
        with reading(self._engine) as session:
            return load.sightings(session, [refs.sighting(session, ref)])[0]

    def seen_earlier(self, ref: str) -> str | None:
        """The latest earlier walk's sighting of the same unit, "<walk>/u3"; None where this is the first."""
        with reading(self._engine) as session:
            return queries.seen_earlier(session, refs.sighting(session, ref))

    def unit_id(self, ref: str) -> str:
        """The unit meant by "U0001", "<walk>/u3" or a serial number that only one has; NotFoundError."""
        with reading(self._engine) as session:
            return refs.unit(session, ref)

    def unit(self, ref: str) -> Unit:
        """A unit whole: latest state, every sighting, its way through the stages."""
        with reading(self._engine) as session:
            return latest.whole(session, refs.unit(session, ref))

    def units(self, *, walk: str | None = None, stage: str | None = None, location: str | None = None,
              source: str | None = None, with_questions: bool = False, arrived: tuple[date, date] | None = None,
              limit: int | None = None) -> list[UnitLine]:
        """Units in their latest state, by place; `arrived`: first seen on these days, both included."""
        with reading(self._engine) as session:
            return queries.units(session, walk=walk, stage=stage, location=location, source=source,
                                 with_questions=with_questions, arrived=arrived, limit=limit)

    def find(self, text: str, *, limit: int = 50) -> list[UnitLine]:
        """Units of which all these words (or words that begin so) are known or were said, the best first."""
        with reading(self._engine) as session:
            return queries.find(session, text, limit)

    def open_questions(self, *, walk: str | None = None, unit: str | None = None,
                       limit: int | None = None) -> list[Question]:
        """What a person should look at: values, photos, "seen before?", camera clocks."""
        with reading(self._engine) as session:
            found = refs.unit(session, unit) if unit is not None else None
            return questions.open_questions(session, walk=walk, unit=found, limit=limit)

    def question_heads(self, *, walk: str | None = None, unit: str | None = None) -> list[heads.Head]:
        """The open questions in their lightest form, in no order: what a review needs to put them in one."""
        with reading(self._engine) as session:
            found = refs.unit(session, unit) if unit is not None else None
            return heads.heads(session, walk=walk, unit=found)

    def names(self, walk: str) -> list[heads.Named]:
        """What the records of a walk are called, in its order; much cheaper than `sightings`."""
        with reading(self._engine) as session:
            return heads.names(session, walk)

    def tallies(self, *, walk: str | None = None, settled: bool = False) -> list[answered.Tally]:
        """How the machine's readings fared with people, as counts; `settled`: of records gone through to the end."""
        with reading(self._engine) as session:
            return answered.tallies(session, walk=walk, settled=settled)

    def act(self, batch: int) -> list[Change]:
        """What was done in one act of a person or the machine."""
        with reading(self._engine) as session:
            return history.of_batch(session, batch)

    def count_questions(self, *, walk: str | None = None) -> dict[str, int]:
        """How many questions of each kind are open."""
        with reading(self._engine) as session:
            return questions.count(session, walk=walk)

    def not_seen_since(self, day: date, locations: Sequence[str] | None = None) -> list[UnitLine]:
        """Units that no walk from `day` on mentions; `locations`: only those last seen there."""
        with reading(self._engine) as session:
            return queries.not_seen_since(session, day, locations)

    def stage_runs(self, *, stage: str | None = None, on: date | None = None,
                   unit: str | None = None) -> list[StageRun]:
        """Runs of stages, oldest first; `on`: those that hold at the end of that day."""
        with reading(self._engine) as session:
            return queries.stage_runs(session, stage=stage, on=on, unit=unit)

    def stage_changes(self, first: date, last: date) -> list[StageChange]:
        """Units that came to another stage on these days, both included."""
        with reading(self._engine) as session:
            return queries.stage_changes(session, first, last)

    def actions(self, *, on: date | None = None, due_by: str | None = None, waiting: bool = False,
                done: bool = False) -> list[ActionLine]:
        """Work to do, soonest due first; `on`: as it stood at the end of that day; `done`: ended work too."""
        with reading(self._engine) as session:
            return queries.actions(session, on=on, due_by=due_by, waiting=waiting, done=done)

    def issues(self, *, unit: str | None = None, fixed: bool = False) -> list[IssueLine]:
        """What is wrong, oldest first; `fixed`: what was put right too."""
        with reading(self._engine) as session:
            return queries.issues(session, unit=refs.unit(session, unit) if unit else None, fixed=fixed)

    def sureness(self, first: date, last: date) -> Sureness:
        """How many values the walks of these days have, and how many are flagged, accepted, corrected."""
        with reading(self._engine) as session:
            return queries.sureness(session, first, last)

    def history(self, ref: str, *, field: str | None = None) -> list[Change]:
        """All that happened to a unit, oldest first."""
        with reading(self._engine) as session:
            return history.of_unit(session, refs.unit(session, ref), field=field)

    def walk_history(self, walk: str) -> list[Change]:
        """All that happened to a walk, oldest first."""
        with reading(self._engine) as session:
            return history.of_walk(session, walk)

    # ---- what people decide: each call is one act, in one transaction

    def set_field(self, ref: str, field: str, value: Any, *, who: str | None = None, why: str = "") -> str:
        """Correct a value; `field` is "model", "issues.2", "issues.2.part" or "issues.new". Returns what was set."""
        with self._act("set", who, why) as log:
            return edits.set_field(log, ref, field, value, self.terms)

    def accept(self, ref: str, fields: Sequence[str] = (), *, who: str | None = None, why: str = "") -> list[str]:
        """Say that values are right: those named, else all that are asked about. Returns which."""
        with self._act("accept", who, why) as log:
            return edits.accept(log, ref, fields)

    def blank_field(self, ref: str, field: str, *, who: str | None = None, why: str = "") -> str:
        """Leave a field blank, or take an item away."""
        with self._act("blank", who, why) as log:
            return edits.blank(log, ref, field)

    def accept_photo(self, photo: str, *, walk: str | None = None, who: str | None = None, why: str = "") -> str:
        """Say that a photo is placed right."""
        with self._act("accept photo", who, why) as log:
            return edits.accept_photo(log, photo, walk)

    def move_photo(self, photo: str, to: str | None, *, walk: str | None = None, who: str | None = None,
                   why: str = "") -> str:
        """Say which unit a photo shows (None: none)."""
        with self._act("move photo", who, why) as log:
            return edits.move_photo(log, photo, walk, to)

    def set_clock(self, walk: str, camera: str, offset_s: float, *, who: str | None = None, why: str = "") -> None:
        """Say how far a camera's clock was ahead in a walk."""
        with self._act("set clock", who, why) as log:
            edits.set_clock(log, walk, camera, offset_s)

    def split(self, ref: str, at_s: float, *, recording: str | None = None, who: str | None = None,
              why: str = "") -> str:
        """Cut a record in two at a second of its recording; returns the new record's name."""
        with self._act("split", who, why) as log:
            return reshape.split(log, ref, at_s, recording)

    def merge(self, keep: str, other: str, *, who: str | None = None, why: str = "") -> str:
        """Say that two units are one thing; returns the unit's id."""
        with self._act("merge", who, why) as log:
            return reshape.merge(log, keep, other)

    def drop(self, ref: str, *, who: str | None = None, why: str = "") -> list[str]:
        """Say that there is no such unit; returns the records dropped."""
        with self._act("drop", who, why) as log:
            return reshape.drop(log, ref)

    def add_unit(self, walk: str, values: Mapping[str, Any], *, spans: Sequence[Span] = (), who: str | None = None,
                 why: str = "") -> str:
        """A unit that the machine missed; returns its record's name."""
        with self._act("add", who, why) as log:
            return reshape.add_unit(log, walk, values, spans, self.terms)

    def link_sighting(self, ref: str, unit: str | None, *, who: str | None = None, why: str = "") -> str:
        """Say which unit on file a walk's record is of (None: a new one of its own); returns the unit's id."""
        with self._act("link", who, why) as log:
            return reshape.link(log, ref, unit)

    def answer_link(self, link: int, same: bool, *, who: str | None = None, why: str = "") -> str:
        """Answer a "seen before?" question; returns the unit's id."""
        with self._act("link", who, why) as log:
            return reshape.answer_link(log, link, same)

    def note_taught(self, ref: str, what: Mapping[str, Any], *, who: str | None = None, why: str = "") -> None:
        """Keep in the history what a correction taught the vocabulary; undoing that act gives it back by `act`."""
        with self._act("teach", who, why) as log:
            edits.note_taught(log, ref, what)

    def undo(self, *, batch: int | None = None, who: str | None = None, why: str = "") -> Turned | None:
        """Undo the person's latest act that stands, or that batch; None where there is nothing to undo."""
        with writing(self._engine) as session:
            turned, units = undo.undo(session, who or person(), batch=batch, why=why)
            latest.refresh(session, units)
            return turned

    def redo(self, *, who: str | None = None) -> Turned | None:
        """Do again what the person undid last; None where there is nothing."""
        with writing(self._engine) as session:
            turned, units = undo.redo(session, who or person())
            latest.refresh(session, units)
            return turned

    @contextmanager
    def _act(self, action: str, who: str | None, why: str) -> Iterator[Log]:
        with writing(self._engine) as session:
            log = Log(session, who=who or person(), action=action, why=why)
            yield log
            latest.refresh(session, log.units)
