"""The review without a terminal: which question is in hand, the card it is on, and what each decision does to both."""

from __future__ import annotations

import json
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from intake.errors import IntakeError, NotFoundError, UsageError
from intake.records.heads import CLOCK, LINK, PHOTO, Head
from intake.records.store import Store
from intake.records.types import PhotoPlace, Sighting
from intake.review import learning, rows
from intake.review.answers import Answer, Answers
from intake.review.context import Talk
from intake.review.effort import Effort
from intake.review.learning import Lesson
from intake.review.lexicon import Lexicon
from intake.review.queue import Queue, costs
from intake.review.rows import Row
from intake.settings import Settings
from intake.vocabulary.load import load_vocabulary


@dataclass(frozen=True)
class Scope:
    """What is reviewed: all of the shop, one walk, or one unit."""

    walk: str | None = None
    unit: str | None = None


class Desk:
    """One review: the queue, the question in hand, the lines of its card, and the line under the cursor."""

    def __init__(self, store: Store, settings: Settings, who: str, scope: Scope | None = None) -> None:
        self.store, self.settings, self.who, self.scope = store, settings, who, scope or Scope()
        scope = self.scope
        self.effort = Effort(settings.shop / "review", who)
        self.talk = Talk(store, settings)
        self._lexicon: Lexicon | None = None
        self._reading_words = threading.Lock()
        self.answers = Answers(store, lambda: self.lexicon, who)
        self._walk_ids = frozenset(store.walk_ids())
        self.queue = Queue(store.question_heads(walk=scope.walk, unit=scope.unit), costs())
        self.head: Head | None = None
        self.about = ""                        # the sighting or the walk whose card is shown
        self.sighting: Sighting | None = None
        self.rows: list[Row] = []
        self.cursor = 0
        self.said = ""                         # what the last act did, or why it could not be done
        self.lesson: Lesson | None = None
        self._walks: dict[str, dict[str, Sighting]] = {}
        self._open()

    @property
    def lexicon(self) -> Lexicon:
        """The words that fields can hold; read when first needed, or ahead of that by the screen in the background."""
        with self._reading_words:
            if self._lexicon is None:
                self._lexicon = Lexicon(load_vocabulary(self.settings.shop), self.store.terms)
            return self._lexicon

    def _learn_words(self) -> None:
        self._lexicon = None

    # ---- where we are

    @property
    def row(self) -> Row | None:
        """The line under the cursor."""
        return self.rows[self.cursor] if self.rows else None

    @property
    def walk(self) -> str:
        """The walk of the card that is shown."""
        return self.sighting.walk if self.sighting is not None else self.about

    def names(self) -> dict[str, str]:
        """The records of the shown walk, by what they are called, in the walk's order."""
        return {about: rows.name_of(sighting) for about, sighting in self._of_walk(self.walk).items()}

    def photos(self) -> list[PhotoPlace]:
        """The photos of the shown record; for a question about a photo, that one first."""
        mine = list(self.sighting.photos) if self.sighting is not None else []
        asked = self.row.photo if self.row is not None else None
        return ([asked] if asked is not None else []) + [p for p in mine if asked is None or p.name != asked.name]

    def maker(self) -> str | None:
        """The maker of the shown record, for completing its model."""
        return self.sighting.value("maker") if self.sighting is not None else None

    def _of_walk(self, walk: str) -> dict[str, Sighting]:
        if walk and walk not in self._walks:
            self._walks = {walk: {s.id: s for s in self.store.sightings(walk)}}
        return self._walks.get(walk, {})

    # ---- going about

    def _open(self) -> None:
        kept = self._kept_place()
        left_at = (head for head in self.queue if (head.kind, head.about, head.name) == kept)
        self.head = (next(left_at, None) if kept else None) or self.queue.first()
        if self.head is not None:
            self._show(self.head.about, self.head)
            return
        walks = [] if self.scope.walk or self.scope.unit else self.store.walk_ids()
        walk = walks[-1] if walks else self.scope.walk
        if self.scope.unit is not None:
            seen = self.store.unit(self.scope.unit).sightings
            self._show(seen[-1].id if seen else "")
        elif walk is not None:
            self._show(next(iter(self._of_walk(walk)), walk))
        self.said = "nothing is left to settle"

    def _kept_place(self) -> tuple[str, str, str] | None:
        """The question that was in hand when this person left."""
        try:
            data = json.loads((self.settings.shop / "review" / "place.json").read_text(encoding="utf-8"))
            kind, about, name = data[self.who]
        except (OSError, ValueError, KeyError, TypeError):
            return None                        # never left, or the file is damaged: then from the first
        return str(kind), str(about), str(name)

    def leave(self) -> None:
        """Keep the place, to go on from there; the answers are kept already."""
        file = self.settings.shop / "review" / "place.json"
        try:
            data = json.loads(file.read_text(encoding="utf-8")) if file.exists() else {}
        except (OSError, ValueError):
            data = {}
        data[self.who] = [self.head.kind, self.head.about, self.head.name] if self.head else None
        try:
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_text(json.dumps(data), encoding="utf-8")
        except OSError as error:
            self.said = f"the place could not be kept: {error.strerror}"

    def _show(self, about: str, head: Head | None = None) -> None:
        """Put a record (or what a walk itself is asked) on the screen, the cursor on a question's line."""
        self.about = about
        if about and about not in self._walk_ids:
            self.sighting = self.store.sighting(about)
            self.about = self.sighting.id
            shown = rows.card(self.sighting, self._photo_names())
        else:
            self.sighting = None
            shown = self._walk_rows(about)
        asked = {(head.kind, head.name): n for n, head in enumerate(self.queue.about(self.about))}
        self.rows = sorted(shown, key=lambda row: asked.get((row.kind, row.name), len(asked)))
        self.cursor = next((n for n, row in enumerate(self.rows) if head is not None and row.is_of(head)), 0)

    def _photo_names(self) -> dict[str, str]:
        sighting = self.sighting
        return self.names() if sighting is not None and sighting.photos else {}

    def _walk_rows(self, walk: str) -> list[Row]:
        if not walk:
            return []
        names = self.names()
        strays = [rows.photo_row(p, names) for p in self.store.photos(walk) if p.sighting is None]
        clocks = [rows.clock_row(c) for c in self.store.clocks(walk) if not c.known]
        return [replace(row, letter=letter) for row, letter in zip(clocks + strays, rows.LETTERS, strict=False)]

    def move(self, by: int) -> None:
        """Another line of the card."""
        if self.rows:
            self.cursor = max(0, min(len(self.rows) - 1, self.cursor + by))

    def to_letter(self, letter: str) -> bool:
        """The line with that capital; False where there is none."""
        at = next((n for n, row in enumerate(self.rows) if row.letter == letter), None)
        if at is not None:
            self.cursor = at
        return at is not None

    def later(self) -> None:
        """Leave this question for later, to the next."""
        self._go(self.queue.after(self.head), "that was the last; from the first again")

    def earlier(self) -> None:
        """Back to the question before."""
        self._go(self.queue.before(self.head), "")

    def _go(self, head: Head | None, around: str) -> None:
        if head is None and around:
            head, self.said = self.queue.first(), around
        if head is None:
            self.said = "nothing is left to settle" if not len(self.queue) else "this is the first"
            return
        self.head = head
        self._show(head.about, head)

    def next_record(self, by: int) -> None:
        """Another record of the same walk, asked about or not."""
        order = list(self._of_walk(self.walk))
        if self.about in order:
            at = order.index(self.about) + by
            if 0 <= at < len(order):
                self.go_to(order[at])
            else:
                self.said = "that is the walk's last unit" if by > 0 else "that is the walk's first unit"
        elif order:
            self.go_to(order[0])

    def go_to(self, about: str) -> None:
        """Any record; the cursor on its dearest question, if it has one."""
        asked = self.queue.about(about)
        if asked:
            self.head = asked[0]
        self._show(about, asked[0] if asked else None)

    # ---- deciding

    def accept(self) -> Answer | None:
        """The line is right as it stands."""
        return self._answer(lambda row: self.answers.accept(row))

    def take(self, number: int) -> Answer | None:
        """The line's other reading of that number."""
        return self._answer(lambda row: self.answers.take(row, number))

    def typed(self, line: str) -> Answer | None:
        """The line is to say what was typed."""
        return self._answer(lambda row: self.answers.typed(row, line, maker=self.maker()))

    def blank(self) -> Answer | None:
        """The line is to be blank."""
        return self._answer(lambda row: self.answers.blank(row))

    def move_photo(self, row: Row, to: str | None) -> Answer | None:
        """That photo shows another record of the walk, or none."""
        called = self.names().get(to, to) if to else "no unit"
        return self._answer(lambda _: self.answers.move_photo(row, to, called))

    def _answer(self, decide: Callable[[Row], Answer]) -> Answer | None:
        row = self.row
        if row is None:
            self.said = "there is nothing here to answer"
            return None
        try:
            answer = decide(row)
        except NotFoundError as error:         # somebody else changed the record meanwhile
            self._reload({row.walk})
            self.said = str(error)
            return None
        except IntakeError as error:
            self.said = str(error)
            return None
        self.effort.answered(answer)
        self.said = answer.said
        self.lesson = learning.lesson_of(answer, self.lexicon.vocabulary, maker=self.maker(),
                                         unit_type=self.sighting.value("unit_type") if self.sighting else None)
        walks = {row.walk}
        if row.kind == LINK:
            walks |= {s.walk for s in self.store.unit(row.about).sightings}
        was = self.head
        self._reload(walks, places=row.kind in (PHOTO, CLOCK, LINK))
        self._move_on(row, was)
        return answer

    def _reload(self, walks: Iterable[str], *, places: bool = True) -> None:
        """Read again what a change may have touched; `places`: records of the walk other than the shown one too."""
        for walk in walks:
            if self.scope.unit is None:
                fresh = self.store.question_heads(walk=walk)
            else:
                fresh = [h for h in self.store.question_heads(unit=self.scope.unit) if h.walk == walk]
            if self.scope.walk in (None, walk):
                self.queue.replace(walk, fresh)
        if places:
            self._walks = {}
        elif self.sighting is not None and self.sighting.walk in self._walks:
            self._walks[self.sighting.walk][self.sighting.id] = self.store.sighting(self.sighting.id)

    def _move_on(self, row: Row, was: Head | None) -> None:
        """After an answer: to the next question, or, where another line was answered, back to the one in hand."""
        if was is not None and (row.is_of(was) or not self.queue.has(was)):
            following = self.queue.after(was) or self.queue.first()
            self.head = following
            if following is None:
                self._show(self.about if self._is_there(self.about) else next(iter(self._of_walk(row.walk)), row.walk))
                self.said += " — everything is settled"
            else:
                self._show(following.about, following)
            return
        self._show(self.about, was if was is not None and was.about == self.about else None)
        if was is None or was.about != self.about:
            self.cursor = next((n for n, r in enumerate(self.rows) if (r.kind, r.name) == (row.kind, row.name)), 0)

    def _is_there(self, about: str) -> bool:
        return about in self._walk_ids or about in self._of_walk(about.rpartition("/")[0])

    # ---- whole records

    def split(self, recording: str, at_s: float) -> None:
        """From that moment on it is another unit."""
        self._reshape(lambda: "the rest is " + self.store.split(self.about, at_s, recording=recording, who=self.who))

    def merge(self, other: str) -> None:
        """The shown record and another are one thing."""
        def act() -> str:
            called = self.names().get(other, other)
            self.store.merge(self.about, other, who=self.who)
            return f"{called} is part of this one now"
        self._reshape(act)

    def drop(self) -> None:
        """There is no such unit."""
        self._reshape(lambda: f"{', '.join(self.store.drop(self.about, who=self.who))} counts no more")

    def add(self, line: str) -> None:
        """A unit that was missed: named by its type or its maker; its card is shown, to fill it in."""
        try:
            try:
                values = {"unit_type": self.lexicon.term("unit_type", line)}
            except UsageError:
                values = {"maker": self.lexicon.value("maker", line)}
            made = self.store.add_unit(self.walk, values, who=self.who)
        except IntakeError as error:
            self.said = str(error)
            return
        walk = self.walk
        self._reload({walk})
        self._show(made)
        self.said = f"added {made}; a capital and its words fill in a line"

    def _reshape(self, act: Callable[[], str]) -> None:
        if self.sighting is None:
            self.said = "this is no unit's card"
            return
        walk, about, was = self.sighting.walk, self.about, self.head
        touched = {walk} | {s.walk for s in self.store.unit(self.sighting.unit).sightings}
        try:
            said = act()
        except IntakeError as error:
            self.said = str(error)
            return
        self.lesson = None
        self._reload(touched)
        self.said = said
        if about in self._of_walk(walk):
            self._show(about, was if was is not None and was.about == about and self.queue.has(was) else None)
        elif was is not None and was.about == about:
            self.head = None
            self._go(self.queue.after(was), said)
        else:
            self._show(next(iter(self._of_walk(walk)), walk))

    # ---- back and forth

    def undo(self) -> None:
        """Take back this person's latest act, in this review or any before."""
        self._turn(back=True)

    def redo(self) -> None:
        """Do again what was taken back last."""
        self._turn(back=False)

    def _turn(self, *, back: bool) -> None:
        try:
            turned = self.store.undo(who=self.who) if back else self.store.redo(who=self.who)
        except IntakeError as error:
            self.said = str(error)
            return
        self.lesson = None
        if turned is None:
            self.said = "there is nothing to take back" if back else "there is nothing to do again"
            return
        changes = self.store.act(turned.batch)
        self.said = f"{'took back' if back else 'did again'}: {turned.action} {', '.join(turned.changes[:3])}"
        for change in changes:
            if change.field == "vocabulary":
                self.said = learning.turn(self.settings.vocab, change.new, back=back)
                self._learn_words()
        places = [(self._walk_of(c.about), c) for c in changes]
        self._reload({walk for walk, _ in places if walk is not None})
        self._show_changed([(walk, c.about, c.field) for walk, c in places if walk is not None])
        if self.head is None or not self.queue.has(self.head):
            self.head = next(iter(self.queue.about(self.about)), None) or self.queue.first()

    def _walk_of(self, about: str) -> str | None:
        """The walk that a line of history belongs to; None for one about a unit alone."""
        while about and about not in self._walk_ids:
            about = about.rpartition("/")[0]
        return about or None

    def _show_changed(self, places: list[tuple[str, str, str]]) -> None:
        for walk, about, field in places:
            if about in self._of_walk(walk):
                heads = self.queue.about(about)
                head = next((h for h in heads if h.name == field or (h.kind == LINK and field == "seen before")), None)
                self.head = head or self.head
                self._show(about, head)
                if head is None:
                    self.cursor = next((n for n, row in enumerate(self.rows) if row.name == field), self.cursor)
                return
        for walk, about, _ in places:
            head = next((h for h in self.queue if h.walk == walk and about == f"{walk}/{h.name}"), None)
            if head is not None:
                self.head = head
                self._show(head.about, head)
                return
        if self._is_there(self.about):
            self._show(self.about, self.head if self.head is not None and self.head.about == self.about else None)
        elif places:
            self._show(next(iter(self._of_walk(places[0][0])), places[0][0]))

    # ---- teaching

    def clashes(self) -> list[learning.Clash]:
        """Settled records that the lesson on offer would make the machine read otherwise."""
        return learning.clashes(self.store, self.lesson) if self.lesson is not None else []

    def teach(self) -> None:
        """Yes: the lesson on offer goes into the shop's vocabulary."""
        if self.lesson is None:
            self.said = "there is nothing to teach just now"
            return
        lesson, self.lesson = self.lesson, None
        try:
            learning.teach(self.store, self.settings.vocab, lesson, who=self.who)
        except IntakeError as error:
            self.said = str(error)
            return
        self._learn_words()
        self.said = f"taught: {lesson.said}"
