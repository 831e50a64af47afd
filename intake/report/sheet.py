"""One walk as a page for a second pair of eyes: what was said, the extracted words marked, units, photos, doubts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING

from intake.language.draft import LISTS, SCALARS, Evidence
from intake.records.cautions import Caution, of_doubt
from intake.records.export import in_words
from intake.records.types import PhotoPlace, ProblemInfo, RecordingInfo, Sighting, Stored, WalkInfo
from intake.report.pictures import Album
from intake.report.said import sound_address, transcript_of
from intake.report.words import clock
from intake.speech import doubts
from intake.speech.transcript import Doubt, Transcript, Word

if TYPE_CHECKING:
    from intake.records.store import Store
    from intake.settings import Settings

#: Why speech was hard to hear, in a reader's words.
HARD = {doubts.LOW: "hard to hear", doubts.READINGS: "heard in two ways", doubts.SHAPE: "oddly long or short",
        doubts.SILENCE: "perhaps silence", doubts.NOISE: "perhaps noise", doubts.LOOP: "says itself again",
        doubts.GAP: "speech without words"}
#: One item of each list.
ONE = {"issues": "issue", "service": "service", "actions": "action", "accessories": "accessory",
       "measurements": "measurement"}
PAUSE_S = 1.6                                          # silence that starts a new paragraph
PHOTO_SIDE, PHOTO_BUDGET = 288, 2_500_000


@dataclass(frozen=True)
class Piece:
    """Some words in a row that tell the same things. `labels`: "model", "u4 place"; `anchor`: the first one's place."""

    text: str
    labels: tuple[str, ...] = ()
    anchor: str | None = None
    asked: bool = False                                # a person should look at one of these values
    doubt: str | None = None                           # why the recognizer was unsure here


@dataclass(frozen=True)
class Passage:
    """A stretch of talk about one unit (None: about none), in paragraphs."""

    unit: str | None
    title: str
    start_s: float
    end_s: float
    sound: str | None
    pieces: tuple[Piece, ...]


@dataclass(frozen=True)
class Talk:
    """One recording: its words in passages, or why there are none."""

    name: str
    duration_s: float | None
    started_at: str | None                             # on the walk's clock
    passages: tuple[Passage, ...]
    missing: str = ""


@dataclass(frozen=True)
class Line:
    """One value of a unit, with the words behind it and why to look."""

    anchor: str
    name: str
    value: str
    stored: Stored
    quotes: tuple[tuple[str, str | None], ...]         # (words with place, address of the sound)


@dataclass(frozen=True)
class Card:
    """One unit of the walk."""

    sighting: Sighting
    name: str
    lines: tuple[Line, ...]
    doubts: tuple[str, ...]                            # of the unit as a whole
    photos: tuple[tuple[PhotoPlace, str | None], ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True)
class Sheet:
    """All that the page of a walk shows."""

    walk: WalkInfo
    talks: tuple[Talk, ...]
    cards: tuple[Card, ...]
    strays: tuple[tuple[PhotoPlace, str | None], ...]
    problems: tuple[ProblemInfo, ...]
    questions: int
    left_out: int = 0
    made: datetime | None = field(default=None)


def make_sheet(store: Store, walk: str, settings: Settings, *, now: datetime) -> Sheet:
    """The page of a walk; NotFoundError where there is none."""
    from intake.records import shown
    from intake.records.look import Look

    info = store.walk(walk)
    sightings = store.sightings(walk)
    with Look.of(store) as look:
        cautions = shown.warned(look, [sighting.unit for sighting in sightings], mains_v=settings.mains_v)
    album = Album(settings.thumbnails, side=PHOTO_SIDE, budget=PHOTO_BUDGET)
    recordings = store.recordings(walk)
    talks = [_talk(recording, sightings, settings) for recording in recordings]
    by_name = {recording.name: recording for recording in recordings}
    cards = [Card(sighting, name_of(sighting), tuple(_lines(sighting, by_name)), tuple(_doubts(sighting)),
                  tuple((photo, album.of(photo)) for photo in sighting.photos),
                  cautions.get(sighting.unit, ()))
             for sighting in sightings]
    strays = [(photo, album.of(photo)) for photo in store.photos(walk) if photo.sighting is None]
    return Sheet(info, tuple(talks), tuple(cards), tuple(strays), tuple(store.problems(walk)), info.questions,
                 album.left_out, now)


def html(sheet: Sheet, shop: str) -> str:
    """The page as one self-contained HTML file."""
    from intake.report import words
    from intake.report.render_html import environment

    return environment().get_template("sheet.html.j2").render(sheet=sheet, shop=shop, w=words)


def name_of(sighting: Sighting) -> str:
    """Maker and model as this walk has them, else the type."""
    named = " ".join(str(value) for value in (sighting.value("maker"), sighting.value("model")) if value)
    return named or str(sighting.value("unit_type") or "unknown unit")


def _lines(sighting: Sighting, recordings: dict[str, RecordingInfo]) -> Iterable[Line]:
    for stored in sighting.stored():
        if stored.field in (*SCALARS, *LISTS):
            quotes = tuple((f"“{said.words}”", _sound(recordings, said)) for said in stored.evidence)
            value = "(blank)" if stored.value is None else in_words(stored.field, stored.value)
            yield Line(_anchor(sighting, stored), label(stored), value, stored, quotes)


def _anchor(sighting: Sighting, stored: Stored) -> str:
    return f"{sighting.local_id}-{stored.field}-{stored.number}"


def _sound(recordings: dict[str, RecordingInfo], said: Evidence) -> str | None:
    info = recordings.get(said.recording)
    return sound_address(info, said.start_s, said.end_s) if info else None


def label(stored: Stored) -> str:
    """A field as the page names it: "unit type", "issue 2"."""
    if stored.field in LISTS:
        return f"{ONE[stored.field]} {stored.number}"
    return stored.field.replace("_", " ")


def _doubts(sighting: Sighting) -> Iterable[str]:
    """What is doubted of the unit as a whole; what is doubted of a value or photo stands beside that."""
    for stored in sighting.doubts:
        about = "" if stored.field == "unit" else f"{label(stored)}: "
        told = of_doubt(stored)                        # they stand with the unit's cautions, answered or not
        yield from (f"{about}{reason}" for reason in stored.reasons if reason not in told)
    for link in sighting.links:
        if link.state == "open":
            yield f"may be {link.unit}, seen before: {'; '.join(link.reasons)}"


# ---- the talk, with its marks


def _talk(recording: RecordingInfo, sightings: Sequence[Sighting], settings: Settings) -> Talk:
    transcript = transcript_of(recording, settings)
    began = recording.started_at[11:19] if recording.started_at else None
    if transcript is None:
        return Talk(recording.name, recording.duration_s, began, (),
                    "Its transcript is not at hand: only the words kept with the values below can be shown.")
    return Talk(recording.name, recording.duration_s, began, tuple(passages(recording, transcript, sightings)))


@dataclass(frozen=True)
class _Mark:
    start_s: float
    end_s: float
    unit: str
    label: str
    anchor: str
    asked: bool


def passages(recording: RecordingInfo, transcript: Transcript, sightings: Sequence[Sighting]) -> Iterable[Passage]:
    """The words of a recording cut where the talk goes over to another unit, and where the speaker pauses."""
    marks = [_Mark(said.start_s, said.end_s, sighting.local_id, label(stored), _anchor(sighting, stored),
                   bool(stored.reasons))
             for sighting in sightings for stored in sighting.stored() for said in stored.evidence
             if said.recording == recording.name]
    group: list[tuple[float, float, Piece]] = []
    about: Sighting | None = None
    for heard in _in_order(transcript):
        unit = _about(sightings, recording.name, (heard.start + heard.end) / 2)
        if group and (unit is not about or heard.start - group[-1][1] > PAUSE_S):
            yield _passage(recording, about, group)
            group = []
        about = unit
        piece = _piece(heard, unit, marks, transcript.doubts) if isinstance(heard, Word) else Piece(
            "…", doubt=f"{HARD[doubts.GAP]}, {clock(heard.start)} to {clock(heard.end)}")
        group.append((heard.start, heard.end, piece))
    if group:
        yield _passage(recording, about, group)


def _in_order(transcript: Transcript) -> list[Word | Doubt]:
    """The words, and the stretches of speech for which there are none."""
    gaps = [doubt for doubt in transcript.doubts if doubt.reason == doubts.GAP]
    return sorted([*transcript.words(), *gaps], key=lambda heard: heard.start)


def _piece(word: Word, unit: Sighting | None, marks: Sequence[_Mark], doubted: Sequence[Doubt]) -> Piece:
    middle = (word.start + word.end) / 2
    mine = [mark for mark in marks if mark.start_s - 0.05 <= middle <= mark.end_s + 0.05]
    mine.sort(key=lambda mark: unit is None or mark.unit != unit.local_id)     # the unit that is talked about first
    labels = [mark.label if unit is not None and mark.unit == unit.local_id else f"{mark.unit} {mark.label}"
              for mark in mine]
    doubt = next((d.reason for d in doubted if d.reason != doubts.GAP and d.start <= middle <= d.end), None)
    return Piece(word.text.strip(), tuple(dict.fromkeys(labels)), mine[0].anchor if mine else None,
                 any(mark.asked for mark in mine), HARD.get(doubt, doubt) if doubt else None)


def _about(sightings: Sequence[Sighting], recording: str, second: float) -> Sighting | None:
    return next((sighting for sighting in sightings for span in sighting.spans
                 if span.recording == recording and span.start_s <= second <= span.end_s), None)


def _passage(recording: RecordingInfo, about: Sighting | None, group: Sequence[tuple[float, float, Piece]]) -> Passage:
    start, end = group[0][0], group[-1][1]
    title = f"{about.local_id} {name_of(about)}" if about else "about no unit"
    return Passage(about.local_id if about else None, title, start, end, sound_address(recording, start, end),
                   tuple(_joined([piece for _, _, piece in group])))


def _joined(pieces: Sequence[Piece]) -> Iterable[Piece]:
    """Neighbours that tell the same things as one piece."""
    held: Piece | None = None
    for piece in pieces:
        if held is not None and (held.labels, held.doubt, held.asked) == (piece.labels, piece.doubt, piece.asked):
            held = Piece(f"{held.text} {piece.text}", held.labels, held.anchor, held.asked, held.doubt)
            continue
        if held is not None:
            yield held
        held = piece
    if held is not None:
        yield held
