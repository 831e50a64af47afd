"""What the bench sends the reviewer away for: to hear, to look, to choose a unit, to read; and what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from textual.widget import Widget

from intake.errors import IntakeError
from intake.records.heads import PHOTO
from intake.review import drawing, page
from intake.review.desk import Desk
from intake.review.lexicon import Offer
from intake.review.line import Line
from intake.review.rows import Row
from intake.review.sheets import Choosing, Cutting, Finding, Looking, Reading
from intake.review.sound import Listening
from intake.review.words import clock, plain, value_text


class Errands(Widget):
    """The acts of the bench that open another screen, or the sound."""

    def __init__(self, desk: Desk, *, colours: bool) -> None:
        super().__init__()
        self.desk, self.colours = desk, colours
        self.line: Line | None = None
        self.adding = self.menu = False
        self.listening = Listening()

    def _offers(self, typed: str) -> list[Offer]:
        row = self.desk.row
        field = "unit_type" if self.adding else row.field if row is not None else ""
        if self.adding:
            return self.desk.lexicon.offers(field, typed) or self.desk.lexicon.offers("maker", typed)
        return self.desk.lexicon.offers(field, typed, maker=self.desk.maker())

    # ---- hearing and looking

    def _hear(self, more: float = 0.0) -> None:
        row = self.desk.row
        if row is None or not row.evidence:
            self.desk.said = "no words stand behind this line"
            return
        spoken = [e for e in row.evidence if e.photo is None]
        if not spoken:
            self.desk.said = f"nobody said it: it was read on photo {plain(row.evidence[0].photo)}; ! shows it large"
            return
        first = spoken[0]
        end = max(e.end_s for e in spoken if e.recording == first.recording and e.start_s - first.start_s < 20)
        recordings = {r.name: r.path for r in self.desk.store.recordings(row.walk)}
        path = recordings.get(first.recording, first.recording)
        try:
            self.desk.said = self.listening.play(Path(path), max(0.0, first.start_s - more), end + more,
                                                 clock=clock(first.start_s))
        except IntakeError as error:
            self.desk.said = str(error)
        said = self.desk.said
        self.set_timer(0.3, lambda: self._heard(said))

    def _heard(self, said: str) -> None:
        """A player that gives up does so at once or after a second: looked at until it ends."""
        failed = self.listening.failed()
        if failed and self.desk.said == said:
            self.desk.said = failed
            self.refresh()
        elif self.listening.playing() and self.desk.said == said:
            self.set_timer(0.3, lambda: self._heard(said))

    def on_unmount(self) -> None:
        """Nothing goes on playing."""
        self.listening.stop()

    def _photos(self) -> None:
        photos = self.desk.photos()
        if not photos:
            self.desk.said = "no photo is placed here"
            return
        sheet = Looking(photos, self.desk.settings.thumbnails, colours=self.colours, counted=self._count)
        self.app.push_screen(sheet, self._move_this)

    def _move_this(self, photo: Any) -> None:
        if photo is None:
            return
        row = next((r for r in self.desk.rows if r.photo is not None and (r.walk, r.name) == (photo.walk, photo.name)),
                   None)
        if row is None:
            self.desk.said = f"{plain(photo.name)} is on another card; go there to move it"
            self.refresh()
        else:
            self._choose_unit(f"WHICH UNIT DOES {plain(photo.name)} SHOW?", "", lambda to: self._placed(row, to),
                              none=True)

    # ---- whole units

    def _menu(self) -> None:
        self.menu = True

    def _whole(self, letter: str) -> None:
        desk = self.desk
        acts: dict[str, Callable[[], Any]] = {
            "c": self._cut, "n": desk.drop, "m": lambda: self._move_photo(""), "p": self._photos, "w": self._story,
            "a": self._add, "g": lambda: self._choose_unit("GO TO WHICH UNIT?", "", self._went, walk=True),
            "j": lambda: self._choose_unit("JOIN IT WITH WHICH UNIT OF THIS WALK?", "", self._joined),
            "s": self._seen_before,
        }
        act = acts.get(letter.lower())
        if act is not None:
            desk.said = ""
            act()

    def _add(self) -> None:
        self.adding = True
        self.line = Line("its type, or its maker", "", self._offers)

    def _cut(self) -> None:
        sighting = self.desk.sighting
        words = self.desk.talk.of_spans(sighting.walk, sighting.spans) if sighting is not None else []
        if len(words) < 2:
            self.desk.said = "the words of this unit are not on file, so there is nowhere to cut"
            return
        self.app.push_screen(Cutting(words, counted=self._count), self._was_cut)

    def _was_cut(self, place: Any) -> None:
        if place is not None:
            self.desk.split(*place)
        self.refresh()

    def _choose_unit(self, title: str, typed: str, chosen: Callable[[str], None], *, none: bool = False,
                     walk: bool = False) -> None:
        options = list(self.desk.names().items())
        options += [("", "no unit at all")] if none else []
        options += [(self.desk.walk, "the walk itself: photos of no unit, cameras' clocks")] if walk else []

        def done(key: str | None) -> None:
            if key is not None:
                chosen(key)
            self.refresh()

        self.app.push_screen(Choosing(title, options, typed=typed, at=self.desk.about, counted=self._count), done)

    def _seen_before(self) -> None:
        if self.desk.sighting is None:
            self.desk.said = "this is no unit's card"
            return

        def done(unit: str | None) -> None:
            if unit is not None:
                self.desk.tie(unit or None)
            self.refresh()

        self.app.push_screen(Finding("WHICH UNIT ON FILE IS IT?", self.desk.like, "none: the shop did not have it",
                                     counted=self._count), done)

    def _joined(self, other: str) -> None:
        self.desk.merge(other)

    def _went(self, about: str) -> None:
        self.desk.go_to(about)

    def _move_photo(self, typed: str) -> None:
        row = self.desk.row
        photos = [r for r in self.desk.rows if r.kind == PHOTO]
        if row in photos or len(photos) == 1:
            moved = row if row in photos else photos[0]
            self._choose_unit(f"WHICH UNIT DOES {plain(moved.name)} SHOW?", typed,
                              lambda to: self._placed(moved, to), none=True)
        elif photos:
            self._choose_photo(photos)
        else:
            self.desk.said = "no photo is placed here"

    def _choose_photo(self, photos: Sequence[Row]) -> None:
        def done(name: str | None) -> None:
            if name is not None:
                self.desk.cursor = next(n for n, r in enumerate(self.desk.rows) if r.kind == PHOTO and r.name == name)
                self._move_photo("")
            self.refresh()

        self.app.push_screen(Choosing("MOVE WHICH PHOTO?", [(row.name, row.said) for row in photos],
                                      counted=self._count), done)

    def _placed(self, row: Any, to: str) -> None:
        if row is not None:
            self.desk.cursor = self.desk.rows.index(row)
            self.desk.move_photo(row, to or None)

    # ---- to read

    def _help(self) -> None:
        self.app.push_screen(Reading("HELP", drawing.help_lines(), counted=self._count), self._back)

    def _story(self) -> None:
        if self.desk.sighting is None:
            self.desk.said = "this is no unit's card"
            return
        unit = self.desk.store.unit(self.desk.sighting.unit)
        lines = page.story(unit, mains_v=self.desk.settings.mains_v)
        self.app.push_screen(Reading(f"{unit.id}: ALL THAT IS KNOWN", lines, counted=self._count), self._back)

    def _teach(self) -> None:
        clashes = self.desk.clashes()
        if not clashes:
            self.desk.teach()
            return
        lesson = self.desk.lesson
        lines = [f"To teach that {lesson.said if lesson else ''} would make the machine read these otherwise, "
                 "which a person has settled:", ""]
        lines += [f"  {c.about}  {c.field}: {value_text(c.field, c.value)}  (heard: {plain(c.words)})" for c in clashes]
        self.app.push_screen(Reading("TEACH IT ALL THE SAME?", lines, yes="+", counted=self._count), self._taught)

    def _taught(self, yes: Any) -> None:
        if yes:
            self.desk.teach()
        self.refresh()

    def _back(self, _: Any) -> None:
        self.refresh()

    def _count(self) -> None:
        self.desk.effort.key()
