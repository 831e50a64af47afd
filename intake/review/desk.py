"""The review without a terminal: what each decision does to the records and to the question in hand."""

from __future__ import annotations

from collections.abc import Callable

from intake.errors import IntakeError, NotFoundError, UsageError
from intake.records.heads import LINK, Head
from intake.records.store import Store
from intake.records.types import UnitLine
from intake.review import learning, rows
from intake.review.answers import Answer, Answers
from intake.review.going import Going, Scope
from intake.review.learning import Lesson
from intake.review.rows import Row
from intake.review.telling import told
from intake.review.words import plain
from intake.settings import Settings

__all__ = ["Desk", "Scope"]

LIKE = 20                                      # units offered as perhaps seen before


class Desk(Going):
    """One person's review: answers, changes to whole records, undo and redo, and what they teach."""

    def __init__(self, store: Store, settings: Settings, who: str, scope: Scope | None = None) -> None:
        super().__init__(store, settings, who, scope)
        self.answers = Answers(store, lambda: self.lexicon, who)
        self._lesson: Lesson | None = None
        self._to_weigh: tuple[Answer, learning.Beside | None] | None = None

    @property
    def lesson(self) -> Lesson | None:
        """What the last answer could teach; waits for the vocabulary where that is not read yet."""
        if self._to_weigh is not None:
            answer, card = self._to_weigh
            self._to_weigh, self._lesson = None, learning.lesson_of(answer, self.lexicon.vocabulary, card)
        return self._lesson

    def lesson_if_read(self) -> Lesson | None:
        """The same for the screen, which does not wait: None until the vocabulary is there."""
        return self.lesson if self._to_weigh is None or self.words_are_read() else None

    def _no_lesson(self) -> None:
        self._lesson = self._to_weigh = None

    # ---- deciding

    def accept(self) -> Answer | None:
        """The line is right as it stands, and so is the one that the same look settles."""
        return self._answer(lambda row: self.answers.accept(row, rows.mate(row, self.rows)))

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
        self._to_weigh = answer, learning.beside(self.sighting) if self.sighting is not None else None
        walks = {row.walk}
        if row.kind == LINK:
            walks |= {s.walk for s in self.store.unit(row.about).sightings}
        was = self.head
        self._reload(walks)
        self._move_on(row, was)
        return answer

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

    def tie(self, unit: str | None) -> None:
        """The shown record is that unit on file, or (None) one that the shop did not have."""
        def act() -> str:
            made = self.store.link_sighting(self.about, unit, who=self.who)
            return f"this is {made}, seen before" if unit is not None else f"this is {made}, not seen before"
        self._reshape(act)

    def like(self, typed: str) -> list[tuple[str, str]]:
        """Units of other walks that the shown record may be: by the words typed, else by what it is."""
        sighting = self.sighting
        if sighting is None:
            return []
        named = [sighting.value("serial"), " ".join(str(v) for v in map(sighting.value, ("maker", "model")) if v)]
        asked = [unit for word in ([typed] if typed.strip() else [*(link.unit for link in sighting.links), *named])
                 if word for unit in self.store.find(str(word), limit=LIKE)]
        return list({unit.id: _told(unit) for unit in asked if unit.id != sighting.unit}.items())

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
        self.said = f"added {made}; a capital, = and its words fill in a line"

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
        self._no_lesson()
        self._reload(touched)
        self.said = said
        if about in self._of_walk(walk):
            if was is not None and not self.queue.has(was):  # answered along with it
                self.head = next(iter(self.queue.about(about)), None) or self.queue.after(was) or self.queue.first()
                self.said += "" if self.head is not None else " — everything is settled"
            self._show(about, self.head if self.head is not None and self.head.about == about else None)
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
        self._no_lesson()
        if turned is None:
            self.said = "there is nothing to take back" if back else "there is nothing to do again"
            return
        changes = self.store.act(turned.batch)
        self.said = f"{'took back' if back else 'did again'}: {told(turned.action, changes)}"
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
        lesson = self.lesson
        self._no_lesson()
        try:
            learning.teach(self.store, self.settings.vocab, lesson, who=self.who)
        except IntakeError as error:
            self.said = str(error)
            return
        self._learn_words()
        self.said = f"taught: {lesson.said}"


def _told(unit: UnitLine) -> str:
    """A unit on file in a line."""
    facts = (unit.name, f"serial {unit.serial}" if unit.serial else "", unit.location or "", unit.stage or "",
             f"seen {unit.last_seen}")
    return plain(f"{unit.id}  {', '.join(fact for fact in facts if fact)}")
