"""Twelve weeks of an invented shop's life, from a seed: the same page for everybody who looks at the demo.

A small simulation: units come in, are tested, repaired, wait for parts, people, decisions and tests, get ready and
are listed; two walks a week tell of those that stand where they go. It is written through the store like any
walk, so the page shows what the records hold and nothing else.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from intake.capture.walk import Moment, Photo, Recording, Walk
from intake.language.draft import Evidence, Span, UnitDraft, Value
from intake.matching.types import PhotoMatch
from intake.records.store import Store
from intake.report import demo_stock as stock

LAST_DAY = date(2026, 5, 17)                           # Sunday of 2026-W20
WEEKS = 12
SEED = 27
SHOP = "Larkspur & Pell Audio (an invented shop)"
UTC_OFFSET_MIN = -240
ARRIVALS = (3, 6)                                      # new units a week, from and to


@dataclass
class Piece:
    """One unit in the simulated shop."""

    unit_type: str
    maker: str
    model: str
    serial: str | None
    source: str
    place: str
    stage: str = "received"
    issue: stock.Trouble | None = None
    waits: stock.Hold | None = None
    due: date | None = None
    seen: str | None = None                            # its first sighting
    news: list[str] = field(default_factory=list)      # what the next walk tells: "stage", "done", "fixed"
    picture: bool = True


@dataclass
class Talk:
    """One recording while it is spoken: every sentence gets its seconds."""

    name: str
    at: float = 2.0

    def say(self, words: str) -> Evidence:
        """Speak a sentence and give it as evidence."""
        start = self.at
        self.at += 0.36 * len(words.split()) + 0.7
        return Evidence(self.name, round(start, 1), round(self.at - 0.3, 1), words)


def build(store: Store, *, pictures: Path | None = None, seed: int = SEED, weeks: int = WEEKS,
          last: date = LAST_DAY, arrivals: tuple[int, int] = ARRIVALS) -> None:
    """Fill an empty store with the shop's life up to `last`; photos are drawn into `pictures`, if given."""
    Life(store, random.Random(seed), pictures, arrivals).run(last - timedelta(weeks=weeks) + timedelta(days=1), weeks)


class Life:
    """The simulation."""

    def __init__(self, store: Store, dice: random.Random, pictures: Path | None, arrivals: tuple[int, int]) -> None:
        self.store, self.dice, self.pictures, self.arrivals = store, dice, pictures, arrivals
        self.pieces: list[Piece] = []

    def run(self, monday: date, weeks: int) -> None:
        """Live through the weeks: on Tuesday the shelves are walked, on Friday the benches."""
        for week in range(weeks):
            start = monday + timedelta(weeks=week)
            self.pieces += [self._arrival() for _ in range(self.dice.randint(*self.arrivals))]
            for day, name, places in ((1, "shelves", stock.SHELVES), (4, "benches", stock.BENCHES)):
                for piece in list(self.pieces):
                    if self.dice.random() < 0.4:
                        self._live(piece, start + timedelta(days=day))
                self._walk(start + timedelta(days=day), name, places)
        self._review()

    def _arrival(self) -> Piece:
        kind = self.dice.choice(stock.KINDS)
        source = self.dice.choices(stock.SOURCES, (5, 4, 3, 3))[0]
        return Piece(
            kind.unit_type, self.dice.choice(kind.makers), self.dice.choice(kind.models),
            str(self.dice.randint(10400, 98999)) if self.dice.random() < 0.7 else None, source,
            self.dice.choice(stock.SHELVES),
            issue=self.dice.choice(kind.troubles) if self.dice.random() < 0.8 else None,
            news=["arrived"], picture=self.dice.random() < 0.8)

    def _live(self, piece: Piece, day: date) -> None:
        """One step in the shop between two walks."""
        if piece.stage == "received":
            self._to(piece, "testing", self.dice.choice(stock.BENCHES))
        elif piece.stage == "testing":
            self._to(piece, "in repair" if piece.issue else "ready to photograph", piece.place)
            if piece.issue and self.dice.random() < 0.6:
                piece.due = day + timedelta(days=self.dice.randint(2, 16))
        elif piece.stage == "in repair":
            if piece.waits is None and self.dice.random() < 0.5:
                piece.waits = self.dice.choice(stock.holds(piece.issue, piece.source))
                self._to(piece, "waiting", self.dice.choice(stock.BENCHES))
            else:
                piece.news.append("fixed")
                self._to(piece, "ready to photograph", self.dice.choice(stock.SHELVES))
        elif piece.stage == "waiting":
            if self.dice.random() < 0.2:
                self._to(piece, "in repair", piece.place)
        elif piece.stage == "ready to photograph" and piece.source == "customer repair":
            if not piece.news:                         # mended, a walk has told so, and handed back
                self.pieces.remove(piece)
        elif piece.stage == "ready to photograph":
            self._to(piece, "ready to list", piece.place)
        elif piece.stage == "ready to list":
            self._to(piece, "listed", piece.place)
        elif piece.place in stock.SHELVES and not piece.news and self.dice.random() < 0.6:
            self.pieces.remove(piece) if self.dice.random() < 0.8 else self._to(piece, "listed", "window")

    def _to(self, piece: Piece, stage: str, place: str) -> None:
        piece.stage, piece.place = stage, place
        piece.news.append("stage")

    # ---- walks

    def _walk(self, day: date, name: str, places: Sequence[str]) -> None:
        walk_id = f"{day}-{name}"
        talk = Talk("memo-01.m4a")
        told = [piece for place in places for piece in self.pieces
                if piece.place == place and (piece.news or self.dice.random() < 0.93)]
        told = [piece for piece in told if self.dice.random() < 0.97]
        drafts: list[UnitDraft] = []
        photos: list[tuple[str, Photo]] = []
        same: dict[str, tuple[str, float]] = {}
        start = datetime.combine(day, time(13, 10), UTC)
        for number, piece in enumerate(told, 1):
            draft = self._draft(f"u{number}", piece, talk)
            drafts.append(draft)
            if piece.seen is not None:
                same[draft.id] = (piece.seen, 0.99)
            elif piece.picture and self.pictures is not None:
                photos.append((draft.id, self._photo(piece, walk_id, len(photos) + 1, start, talk.at)))
            piece.seen = piece.seen or f"{walk_id}/{draft.id}"
            piece.news.clear()
        recording = Recording(Path("memo-01.m4a"), talk.name, _digest(walk_id), "m4a", round(talk.at + 1, 1),
                              Moment(start, "container"))
        matches = [PhotoMatch(photo.name, unit, 0.97, why="taken while it was talked about",
                              at=photo.taken_at.at if photo.taken_at else None) for unit, photo in photos]
        self.store.save_walk(Walk(walk_id, day, UTC_OFFSET_MIN, (recording,), tuple(p for _, p in photos)), drafts,
                             matches, same_as=same)

    def _photo(self, piece: Piece, walk_id: str, number: int, start: datetime, second: float) -> Photo:
        from intake.report.demo_pictures import draw

        folder = self.pictures or Path()
        path = folder / f"{walk_id}-{number:02d}.jpg"
        draw(piece.unit_type, path, seed=f"{walk_id}{number}")
        at = (start + timedelta(seconds=second, minutes=UTC_OFFSET_MIN)).replace(tzinfo=None, microsecond=0)
        return Photo(path, f"P{number:04d}.JPG", hashlib.sha256(path.read_bytes()).hexdigest(), "jpeg",
                     Moment(at, "exif DateTimeOriginal"), camera="Lumora K5", width=320, height=240)

    def _draft(self, local: str, piece: Piece, talk: Talk) -> UnitDraft:
        start = talk.at
        unsure = self.dice.random() < 0.12
        opening = "I think this is" if unsure else "This is"
        name = talk.say(f"{opening} the {piece.maker} {piece.model} {piece.unit_type}.")
        reasons = ("the speaker was unsure",) if unsure else ()
        scalars = {
            "unit_type": Value(piece.unit_type, (name,), 0.98), "maker": Value(piece.maker, (name,), 0.94),
            "model": Value(piece.model, (name,), 0.6 if unsure else 0.93, reasons),
            "quantity": Value(2 if piece.unit_type == "loudspeaker" else 1, (name,), 0.9),
            "grouping": Value("pair" if piece.unit_type == "loudspeaker" else "single", (name,), 0.9),
            "location": Value(piece.place, (talk.say(f"It stands at {piece.place}."),), 0.95)}
        if piece.serial and "arrived" in piece.news:
            scalars["serial"] = Value(piece.serial, (talk.say(f"Serial {' '.join(piece.serial)}."),), 0.9)
        if "arrived" in piece.news and self.dice.random() < 0.9:
            scalars["source"] = Value(piece.source, (talk.say(stock.SOURCE_WORDS[piece.source]),), 0.95)
        lists = self._lists(piece, talk, scalars)
        return UnitDraft(
            local, scalars=scalars, issues=lists.get("issues", ()), service=lists.get("service", ()),
            actions=lists.get("actions", ()), spans=(Span(talk.name, start, round(talk.at, 1)),),
            named_at=((talk.name, start),))

    def _lists(self, piece: Piece, talk: Talk, scalars: dict[str, Value]) -> dict[str, tuple[Value, ...]]:
        lists: dict[str, tuple[Value, ...]] = {}
        trouble = piece.issue
        if piece.waits is not None and piece.stage == "waiting":
            said = talk.say(f"{piece.waits.sentence}{f' It was due{_by(piece.due)}.' if piece.due else ''}")
            scalars["stage"] = Value("waiting", (said,), 0.93)
            lists["actions"] = tuple(self._actions(piece, said, piece.waits.on))
        else:
            said = talk.say(stock.STAGE_WORDS[piece.stage])
            scalars["stage"] = Value(piece.stage, (said,), 0.95)
        if trouble is not None and piece.stage in ("received", "testing"):
            lists["issues"] = (_item(trouble.issue, talk.say(trouble.sentence)),)
        elif trouble is not None and piece.stage == "in repair":
            words = f"{trouble.todo}{_by(piece.due) if piece.due else ''}."
            lists["actions"] = tuple(self._actions(piece, talk.say(words), None))
        elif trouble is not None and "fixed" in piece.news:
            done = talk.say(trouble.done)
            lists["issues"] = (_item({**trouble.issue, "state": "fixed"}, done),)
            lists["service"] = (_item({"work": trouble.work, "part": trouble.part, "date": None, "by": None}, done),)
        return lists

    def _actions(self, piece: Piece, said: Evidence, waiting_on: str | None) -> Iterator[Value]:
        work, part = (piece.issue.work, piece.issue.part) if piece.issue else ("test", None)
        due = piece.due.isoformat() if piece.due else None
        yield _item({"work": work, "part": part, "due": due, "waiting_on": waiting_on}, said)

    def _review(self) -> None:
        """A reviewer has been at it: most questions are answered, a few are left."""
        for question in self.store.open_questions():
            if question.kind == "value" and self.dice.random() < 0.7:
                self.store.accept(question.about, [question.name], who="Dana")


def _item(value: dict[str, Any], said: Evidence) -> Value:
    return Value(value, (said,), 0.92)


def _by(due: date) -> str:
    """ " by Friday the 17th"."""
    return f" by {due:%A} the {due.day}{stock.nth(due.day)}"


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
