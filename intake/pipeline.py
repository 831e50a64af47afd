"""A capture -> a stored walk: the stages one after the other, each a plain call."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from intake.capture.walk import Problem, Recording, Walk
from intake.errors import CaptureError

if TYPE_CHECKING:
    from intake.language.draft import UnitDraft, Value
    from intake.language.extract import Extraction
    from intake.matching.plates import PlateReading
    from intake.matching.types import KnownUnit, PhotoMatch
    from intake.records.store import Store
    from intake.records.types import SaveReport
    from intake.settings import Settings
    from intake.speech.recognizer import Recognizer
    from intake.speech.transcript import Transcript
    from intake.vocabulary.terms import Vocabulary


@dataclass
class Watch:
    """What a run tells while it works: `step` a stage's name, `heard` seconds of sound done of all there are."""

    step: Callable[[str], None] = lambda _: None
    heard: Callable[[str, float, float], None] = lambda _name, _done, _all: None


@dataclass(frozen=True)
class Processed:
    """What became of a capture."""

    walk: Walk
    report: SaveReport
    problems: tuple[Problem, ...] = ()
    drafts: tuple[UnitDraft, ...] = ()
    matches: tuple[PhotoMatch, ...] = ()


def process_walk(
    paths: Sequence[Path],
    settings: Settings,
    *,
    walk_id: str | None = None,
    day: date | None = None,
    utc_offset_min: int | None = None,
    redo: bool = False,
    redo_speech: bool = False,
    recognizer: Recognizer | None = None,
    watch: Watch | None = None,
) -> Processed:
    """Read a capture, hear it, understand it, match its photos, and keep it: whole or not at all.

    A capture that is on file already adds nothing unless `redo` (read the stored transcripts anew) or
    `redo_speech` (decode anew). Raises CaptureError where nothing can be used, ModelError where the weights fail.
    """
    from intake.capture.folder import read_capture
    from intake.lock import only_one
    from intake.records.store import Store
    from intake.vocabulary.load import load_vocabulary

    watch = watch or Watch()
    watch.step("reading the capture")
    found = [path.expanduser().absolute() for path in paths]        # the records must find the files from any folder
    walk = read_capture(found, walk_id=walk_id, day=day, utc_offset_min=utc_offset_min, zone=settings.zone)
    with only_one(settings.shop):
        vocabulary = load_vocabulary(settings.shop)
        with Store.open(settings.database, shop_terms=_shop_terms(vocabulary)) as store:
            known = store.has_walk(walk.id) and _same_files(walk, store)
            if known and not (redo or redo_speech):
                report = store.save_walk(walk, problems=walk.problems)
                return Processed(walk, report, walk.problems)
            plates, unread = read_plate_fields(walk, settings, vocabulary, watch)    # before the recognizer takes its room
            transcripts, failed = hear(walk, settings, vocabulary, recognizer=recognizer, redo=redo_speech, watch=watch)
            if not transcripts and walk.recordings and not walk.photos:
                raise CaptureError(
                    f"none of its recordings could be used: {failed[0].name}: {failed[0].reason}", path=walk.id
                )
            return _understand(
                walk, transcripts, (*failed, *unread), settings, vocabulary, store,
                plates=plates, redo=redo or redo_speech, watch=watch,
            )


def _same_files(walk: Walk, store: Store) -> bool:
    here = {r.sha256 for r in walk.recordings} | {p.sha256 for p in walk.photos}
    return here <= set(store.walk_files(walk.id))


def hear(
    walk: Walk,
    settings: Settings,
    vocabulary: Vocabulary,
    *,
    recognizer: Recognizer | None = None,
    redo: bool = False,
    watch: Watch | None = None,
) -> tuple[dict[str, Transcript], list[Problem]]:
    """Every recording's transcript by name; one that cannot be read is a problem and never costs the walk."""
    from intake.speech.hear import transcribe

    watch = watch or Watch()
    watch.step("listening")
    total = sum(r.duration_s or 0.0 for r in walk.recordings if r.transcript is None)
    done, transcripts, failed = 0.0, {}, []
    for recording in walk.recordings:
        try:
            transcripts[recording.name] = transcribe(
                recording,
                settings,
                vocabulary,
                recognizer=recognizer,
                redo=redo,
                progress=_progress(watch, recording, done, total),
            )
        except CaptureError as error:
            failed.append(Problem(recording.name, f"{error.args[0]} {error.hint}".strip()))
        done += recording.duration_s or 0.0 if recording.transcript is None else 0.0
        watch.heard(recording.name, done, total)
    return transcripts, failed


def _progress(watch: Watch, recording: Recording, before: float, total: float) -> Callable[[float], None]:
    return lambda seconds: watch.heard(recording.name, before + seconds, total)


def extract(transcripts: Sequence[Transcript], vocabulary: Vocabulary, day: date) -> Extraction:
    """Units from transcripts, in the order of the walk."""
    from intake.language.extract import Extractor
    from intake.vocabulary.load import vocab_folder

    return Extractor(vocabulary, vocab_folder() / "cues").extract(transcripts, day)


def _understand(
    walk: Walk,
    transcripts: Mapping[str, Transcript],
    failed: Sequence[Problem],
    settings: Settings,
    vocabulary: Vocabulary,
    store: Store,
    *,
    plates: Mapping[str, PlateReading],
    redo: bool,
    watch: Watch,
) -> Processed:
    from intake.matching.arrange import arrange
    from intake.matching.plates import seen_in, with_plates
    from intake.matching.sightings import find_earlier, links

    watch.step("understanding")
    ordered = [transcripts[r.name] for r in walk.recordings if r.name in transcripts]
    drafts = list(flagged_drafts(extract(ordered, vocabulary, walk.date).units, settings.review_below))
    watch.step("placing photos")
    given = (
        {c.camera: c.offset_s for c in store.clocks(walk.id) if c.origin != "machine"}
        if store.has_walk(walk.id)
        else {}
    )
    arranged = arrange(walk, drafts, transcripts, given=given or None, look_below=settings.review_below,
                       pictured=seen_in(drafts, plates))
    drafts = with_plates(drafts, arranged.matches, plates, mains_v=settings.mains_v)
    sure, ask = links(find_earlier(drafts, known_units(store, walk)))
    watch.step("keeping")
    problems = (*walk.problems, *failed)
    report = store.save_walk(
        walk,
        drafts,
        arranged.matches,
        arranged.offsets,
        ordered,
        problems,
        same_as=sure,
        candidates=ask,
        starts=arranged.starts,
        redo=redo,
    )
    _thumbnails(walk, settings)
    return Processed(walk, report, problems, tuple(drafts), arranged.matches)


# What names the thing: an error there costs most, so these are held to the shop's own threshold.
IDENTITY = ("unit_type", "maker", "model", "serial")
REST_EASE = 0.03        # the other single values are looked at this much further below it,
HEARD_EASE = 0.18       # and where they were heard this much: asking about most of them would teach nobody to look
LIST_EASE = 0.15        # an item of a list is looked at further below the threshold: its error costs less than a wrong name


def flagged_drafts(drafts: Sequence[UnitDraft], below: float) -> list[UnitDraft]:
    """The drafts with every value under the shop's threshold given a reason to be looked at."""
    from intake.language.confidence import why_unsure
    from intake.language.draft import LISTS

    def look(value: Value, least: float = below) -> Value:
        if value.reasons or value.confidence >= least:
            return value
        return replace(value, reasons=(why_unsure(value.signals),))

    out = []
    for draft in drafts:
        lists: dict[str, Any] = {name: tuple(look(v, below - LIST_EASE) for v in getattr(draft, name)) for name in LISTS}
        scalars = {k: look(v, below - _ease(k, v)) for k, v in draft.scalars.items()}
        out.append(replace(draft, scalars=scalars, **lists))
    return out


def _ease(name: str, value: Value) -> float:
    if name in IDENTITY:
        return 0.0
    return HEARD_EASE if value.signals.get("heard") else REST_EASE


def known_units(store: Store, walk: Walk) -> list[KnownUnit]:
    """What the shop has on file, without what this very walk put there."""
    from intake.matching.types import KnownUnit

    return [
        KnownUnit(
            u.id,
            u.maker,
            u.model,
            u.serial,
            u.unit_type,
            u.location,
            datetime.combine(u.last_seen, time(12)),
            u.stage,
            u.quantity,
        )
        for u in store.units()
        if not u.first_sighting.startswith(f"{walk.id}/") and u.first_seen <= walk.date
    ]


def read_plate_fields(
    walk: Walk, settings: Settings, vocabulary: Vocabulary, watch: Watch | None = None
) -> tuple[dict[str, PlateReading], list[Problem]]:
    """The plates' readings by photo name, and what was not read; the optional reader's absence is one remark."""
    from intake.capture.plates import plates_folder, read_plates
    from intake.matching.plates import read_fields

    if not settings.read_plates or not walk.photos:
        return {}, []
    watch = watch or Watch()
    watch.step("reading plates")
    found = read_plates(walk.photos, plates_folder(settings.shop),
                        progress=lambda done, of: watch.step(f"reading plates: {done} of {of}"))
    problems = list(found.problems) + ([Problem("photos", found.missing, fatal=False)] if found.missing else [])
    return {p.name: read_fields(found.lines[p.sha256], vocabulary)
            for p in walk.photos if found.lines.get(p.sha256)}, problems


def _thumbnails(walk: Walk, settings: Settings) -> None:
    from intake.capture.thumbnails import make_thumbnails

    make_thumbnails(walk.photos, settings.thumbnails)


def _shop_terms(vocabulary: Vocabulary) -> Mapping[str, tuple[str, ...]]:
    return vocabulary.allowed
