"""Going about in a review: which question is in hand, which card is shown, and the line under the cursor."""

from __future__ import annotations

import gc
import json
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace

from intake.records.heads import LINK, Head
from intake.records.store import Store
from intake.records.types import PhotoPlace, Sighting, Unit
from intake.review import rows
from intake.review.context import Talk
from intake.review.effort import Effort
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


@contextmanager
def _collector_paused() -> Iterator[None]:
    """While tens of thousands of lasting tuples are made, which would set the collector off again and again."""
    on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if on:
            gc.enable()


class Going:
    """One review: the queue, the question in hand, the lines of its card, and the line under the cursor."""

    def __init__(self, store: Store, settings: Settings, who: str, scope: Scope | None = None) -> None:
        self.store, self.settings, self.who, self.scope = store, settings, who, scope or Scope()
        scope = self.scope
        self.effort = Effort(settings.shop / "review", who)
        self.talk = Talk(store, settings)
        self._lexicon: Lexicon | None = None
        self._reading_words = threading.Lock()
        self._walk_ids = frozenset(store.walk_ids())
        with _collector_paused():
            self.queue = Queue(store.question_heads(walk=scope.walk, unit=scope.unit), costs())
        self.head: Head | None = None
        self.about = ""                        # the sighting or the walk whose card is shown
        self.sighting: Sighting | None = None
        self.rows: list[Row] = []
        self.cursor = 0
        self._shown: list[Head] = []           # the questions that were put to this person, in order
        self._at = -1                          # which of them is on the screen
        self._looking_back = False             # at one that is answered
        self.said = ""                         # what the last act did, or why it could not be done
        self._walks: dict[str, dict[str, str]] = {}
        self._other: Unit | None = None
        self._open()

    @property
    def lexicon(self) -> Lexicon:
        """The words that fields can hold; read when first needed, or ahead of that by the screen in the background."""
        with self._reading_words:
            if self._lexicon is None:
                self._lexicon = Lexicon(load_vocabulary(self.settings.shop), self.store.terms)
            return self._lexicon

    def words_are_read(self) -> bool:
        """Whether the lexicon can be used without waiting for it."""
        return self._lexicon is not None

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
        return self._of_walk(self.walk)

    def photos(self) -> list[PhotoPlace]:
        """The photos of the shown record; first the one that is asked about, or that the value was read from."""
        mine = list(self.sighting.photos) if self.sighting is not None else []
        row = self.row
        if row is None:
            return mine
        read = [e.photo for e in row.evidence if e.photo]
        first = [row.photo] if row.photo is not None else [p for name in read for p in self._named(name, mine)]
        if row.kind == LINK:
            theirs = [p for s in reversed(self.on_file(row.name).sightings) for p in s.photos]
            mine = mine[:1] + theirs + mine[1:]
        return list({(p.walk, p.name): p for p in (*first, *mine)}.values())

    def on_file(self, unit: str) -> Unit:
        """The unit that the shown record may be; kept while its question is on the screen, which is drawn often."""
        if self._other is None or self._other.id != unit:
            self._other = self.store.unit(unit)
        return self._other

    def _named(self, name: str, mine: Sequence[PhotoPlace]) -> list[PhotoPlace]:
        """The walk's photo of that name, which may have moved to another record since it was read."""
        return [p for p in mine if p.name == name] or [p for p in self.store.photos(self.walk) if p.name == name]

    def maker(self) -> str | None:
        """The maker of the shown record, for completing its model."""
        return self.sighting.value("maker") if self.sighting is not None else None

    def _of_walk(self, walk: str) -> dict[str, str]:
        if walk and walk not in self._walks:
            self._walks = {walk: {record.about: rows.called(record) for record in self.store.names(walk)}}
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
        self.about, self._other = about, None
        if about and about not in self._walk_ids:
            self.sighting = self.store.sighting(about)
            self.about = self.sighting.id
            shown = rows.card(self.sighting, self._photo_names(), self.store.terms)
        else:
            self.sighting = None
            shown = self._walk_rows(about)
        asked = {(head.kind, head.name): n for n, head in enumerate(self.queue.about(self.about))}
        self.rows = sorted(shown, key=lambda row: asked.get((row.kind, row.name), len(asked)))
        self.cursor = next((n for n, row in enumerate(self.rows) if head is not None and row.is_of(head)), 0)
        self._looking_back = False
        if head is not None:
            self._note_shown(head)

    def _note_shown(self, head: Head) -> None:
        """The way back: where it is gone forward again it stays, elsewhere it goes on from here."""
        on = [_which(h) for h in self._shown[max(0, self._at):]]
        if _which(head) in on:
            self._at = max(0, self._at) + on.index(_which(head))
        else:
            self._shown = [*self._shown[:self._at + 1], head]
            self._at += 1

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
        """Leave this question for later, to the next; from a card that asks nothing, back to the question in hand."""
        aside = self.head is not None and (self.head.about != self.about or self._looking_back)
        if self.head is not None and aside and self.queue.has(self.head):
            self._show(self.head.about, self.head)
            return
        self._go(self.queue.after(self.head), "that was the last; from the first again")

    def earlier(self) -> None:
        """Back to the question that was shown before, answered meanwhile or not."""
        at = self._at
        if self.head is not None and self.head.about != self.about and self._at >= 0 and not self._looking_back:
            at += 1                            # from a card that was only looked at: to the question left for it
        while at > 0:
            at -= 1
            head = self._shown[at]
            if self._is_there(head.about):
                self._go_back(at, head)
                return
        self.said = "this is the first that you were shown"

    def _go_back(self, at: int, head: Head) -> None:
        self._at = at
        if self.queue.has(head):
            self.head = head
            self._show(head.about, head)
            return
        self._show(head.about)
        self.cursor = next((n for n, row in enumerate(self.rows) if row.is_of(head)), 0)
        self._looking_back = True
        self.said = "that is settled; Enter changes it, → goes on where you were"

    def _go(self, head: Head | None, around: str) -> None:
        if head is None and around:
            head, self.said = self.queue.first(), around
        if head is None:
            self.said = "nothing is left to settle"
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
            elif at < 0 and self._walk_rows(self.walk):
                self.go_to(self.walk)
            else:
                self.said = "that is the walk's last unit" if by > 0 else "that is the walk's first unit"
        elif order and by > 0:
            self.go_to(order[0])
        else:
            self.said = "these are the walk's own lines" if self.rows else "nothing is asked of the walk itself"

    def go_to(self, about: str) -> None:
        """Any record; the cursor on its dearest question, if it has one."""
        asked = self.queue.about(about)
        if asked:
            self.head = asked[0]
        self._show(about, asked[0] if asked else None)

    # ---- after a change

    def _reload(self, walks: Iterable[str]) -> None:
        """Read again what a change may have touched."""
        for walk in walks:
            if self.scope.unit is None:
                fresh = self.store.question_heads(walk=walk)
            else:
                fresh = [h for h in self.store.question_heads(unit=self.scope.unit) if h.walk == walk]
            if self.scope.walk in (None, walk):
                self.queue.replace(walk, fresh)
        self._walks = {}

    def _is_there(self, about: str) -> bool:
        return about in self._walk_ids or about in self._of_walk(about.rpartition("/")[0])


def _which(head: Head) -> tuple[str, str, str]:
    """What tells a question from others, whatever was answered meanwhile."""
    return head.kind, head.about, head.name
