"""The words around a value, the heard part marked; and the talk of a whole record, for cutting it in two."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from intake.errors import IntakeError
from intake.language.draft import Evidence, Span
from intake.records.store import Store
from intake.review.words import plain
from intake.settings import Settings
from intake.speech.transcript import Transcript, Word

AROUND = 40                                    # words before and after, of which the screen shows what fits


@dataclass(frozen=True)
class Piece:
    """A stretch of words; `heard`: the value was taken from it."""

    text: str
    heard: bool


@dataclass(frozen=True)
class Heard:
    """The words of one place in a recording; or those that a plate bears in a photo, which has no seconds."""

    recording: str
    start_s: float
    end_s: float
    pieces: tuple[Piece, ...]
    photo: str | None = None


class Talk:
    """What was said in the walks, read from the stored transcripts once each."""

    def __init__(self, store: Store, settings: Settings) -> None:
        self._store, self._settings = store, settings
        self._walks: dict[str, dict[str, list[Word]]] = {}

    def words(self, walk: str, recording: str) -> list[Word]:
        """A recording's words in order; none where its transcript is not there any more."""
        if walk not in self._walks:
            self._walks[walk] = {t.recording: list(t.words()) for t in self._transcripts(walk)}
        return self._walks[walk].get(recording, [])

    def _transcripts(self, walk: str) -> Iterable[Transcript]:
        from intake.records.again import recordings_of
        from intake.speech.hear import is_stored, transcribe

        for recording in recordings_of(self._store, walk):
            try:
                if is_stored(recording, self._settings):
                    yield transcribe(recording, self._settings, None)
            except (IntakeError, OSError):     # a moved text costs the screen only the words around
                continue

    def around(self, walk: str, evidence: Sequence[Evidence], *, each: int = AROUND) -> list[Heard]:
        """For each place that a value was heard: the words there, marked, and some before and after; then what was
        read from photos."""
        spoken = [self._around(walk, group, each) for group in _close([e for e in evidence if e.photo is None])]
        return spoken + [Heard("", 0.0, 0.0, (Piece(plain(e.words), True),), e.photo) for e in evidence if e.photo]

    def _around(self, walk: str, group: Sequence[Evidence], each: int) -> Heard:
        start, end = min(e.start_s for e in group), max(e.end_s for e in group)
        words = self.words(walk, group[0].recording)
        if not words:
            return Heard(group[0].recording, start, end, tuple(Piece(plain(e.words), True) for e in group))
        first = bisect_right([w.end for w in words], start + 0.005)
        last = bisect_left([w.start for w in words], end - 0.005)
        shown = words[max(0, first - each): last + each]
        return Heard(group[0].recording, start, end, _pieces(shown, group))

    def of_spans(self, walk: str, spans: Iterable[Span]) -> list[tuple[str, Word]]:
        """Every word of a record's stretches, with its recording."""
        return [(span.recording, word) for span in spans for word in self.words(walk, span.recording)
                if word.start >= span.start_s - 0.005 and word.end <= span.end_s + 0.005]


def _close(evidence: Sequence[Evidence], gap_s: float = 6.0) -> list[list[Evidence]]:
    """Pieces of evidence that one line can show together."""
    groups: list[list[Evidence]] = []
    for piece in sorted(evidence, key=lambda e: (e.recording, e.start_s)):
        last = groups[-1][-1] if groups else None
        if last is not None and last.recording == piece.recording and piece.start_s - last.end_s < gap_s:
            groups[-1].append(piece)
        else:
            groups.append([piece])
    return groups


def _pieces(words: Sequence[Word], group: Sequence[Evidence]) -> tuple[Piece, ...]:
    out: list[Piece] = []
    for word in words:
        middle = (word.start + word.end) / 2
        heard = any(e.start_s <= middle <= e.end_s for e in group)
        if out and out[-1].heard is heard:
            out[-1] = Piece(f"{out[-1].text} {plain(word.text)}", heard)
        else:
            out.append(Piece(plain(word.text), heard))
    return tuple(out)
