"""A folder of recordings and photos -> a Walk: what was recorded and shot when, and what could not be used.

One bad file never costs the walk: it becomes a Problem that says why and what to do, and the rest goes on.
"""

from __future__ import annotations

import hashlib
import os
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

from intake.capture.audio import is_moving_photo, read_recording
from intake.capture.evidence import file_times_hold, offset_told
from intake.capture.exif import read_photo
from intake.capture.listing import NO_PERMISSION, Listing, list_capture, shown
from intake.capture.naming import checked_id, folder_day, walk_name
from intake.capture.settle import day_of_walk, remarks_on_times, settle_photos
from intake.capture.sniff import Sniffed, sniff
from intake.capture.starts import settle_starts
from intake.capture.texts import read_text, read_transcript, written_starts
from intake.capture.walk import Photo, Problem, Recording, Walk
from intake.capture.zones import ShopClock
from intake.errors import CaptureError

_TEXT_SUFFIXES = (".vtt", ".txt")          # in this order where a recording has both
_SOUNDLIKE = {".wav", ".m4a", ".aac", ".mp3", ".ogg", ".opus", ".oga", ".flac", ".amr", ".3gp", ".mp4", ".mov", ".caf",
              ".m4b", ".aif", ".aiff", ".webm"}
_PICTURELIKE = {".jpg", ".jpeg", ".heic", ".heif", ".avif", ".png"}


@dataclass(frozen=True)
class Found:
    """A file of known content; one that is of no use is not hashed."""

    path: Path
    sha256: str
    sniffed: Sniffed


@dataclass
class Gathered:
    """What reading the files has given so far."""

    recordings: list[Recording] = field(default_factory=list)
    photos: list[Photo] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_capture(paths: Sequence[Path], *, walk_id: str | None = None, day: date | None = None,
                 utc_offset_min: int | None = None, zone: ZoneInfo | None = None) -> Walk:
    """Read a capture: a folder (and its subfolders, one level deep) or single files.

    `walk_id`, `day` and `utc_offset_min` override what is found; `zone` is the shop's own. Raises
    CaptureError where nothing can be used, UsageError for an id that cannot be one.
    """
    if walk_id is not None:
        checked_id(walk_id)
    listing = list_capture(paths)
    gathered = _read_files(listing)
    if not gathered.recordings and not gathered.photos:
        raise _nothing_usable(paths, listing, gathered)
    _tell_apart(gathered)
    clock = ShopClock(zone, utc_offset_min)
    if not clock.known:
        clock = ShopClock(offset_min=offset_told(gathered.recordings, gathered.photos))
    return _walk(gathered, clock, listing, walk_id, day)


def _walk(gathered: Gathered, clock: ShopClock, listing: Listing, walk_id: str | None, day: date | None) -> Walk:
    """Settle the times with everything in view, and put the walk together."""
    hint = day or folder_day(listing.folders)
    trust_sound, trust_photos = file_times_hold(gathered.recordings, gathered.photos, clock, hint)
    recordings = settle_starts(gathered.recordings, clock, day=hint, trust_file_times=trust_sound)
    recordings.sort(key=lambda r: (r.started_at is None, clock.timeline(r.started_at.at).timestamp()
                                   if r.started_at else 0.0, r.name))
    found = day or day_of_walk(recordings, gathered.photos, clock, folder_day(listing.folders))
    photos = settle_photos(gathered.photos, clock, found, trust_file_times=trust_photos)
    first = next((r.started_at.at for r in recordings if r.started_at), None)
    offset = clock.offset_at(first or datetime.combine(found, time(12)))
    problems = [*gathered.problems, *remarks_on_times(recordings, photos, clock, found)]
    name = walk_id or walk_name(listing.folders, (recordings or photos)[0].path.stem, found)
    return Walk(id=name, date=found, utc_offset_min=offset, recordings=tuple(recordings), photos=tuple(photos),
                problems=tuple(problems))


def _read_files(listing: Listing) -> Gathered:
    gathered = Gathered(problems=list(listing.problems))
    with ThreadPoolExecutor(max_workers=min(8, (os.cpu_count() or 1) + 1)) as pool:
        found = [_sort_out(item, gathered) for item in pool.map(_look, listing.files)]
        files = _without_doubles([item for item in found if item is not None], gathered)
        scripts = _transcripts_by_recording(files, gathered)
        for item, result in zip(files, pool.map(_read_one, files), strict=True):
            _take(item, result, scripts.get(item.path), gathered)
    return gathered


def _look(path: Path) -> Found | Problem:
    """Sniff and hash one file; a Problem where it is empty or cannot be read."""
    try:
        if path.stat().st_size == 0:
            return Problem(shown(path), "It is empty (0 bytes): recorder or copy did not finish. Copy it again.")
        sniffed = sniff(path)
        return Found(path, "" if sniffed.family == "other" else file_hash(path), sniffed)
    except PermissionError:
        return Problem(shown(path), f"It {NO_PERMISSION}")
    except OSError as error:
        return Problem(shown(path), f"It cannot be read: {error.strerror or error}. Copy it again.")


def file_hash(path: Path) -> str:
    """SHA-256 of a file's content, in hexadecimal; OSError passes through."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _sort_out(item: Found | Problem, gathered: Gathered) -> Found | None:
    """Keep what may be of use; tell of the rest."""
    if isinstance(item, Problem):
        gathered.problems.append(item)
        return None
    suffix, sniffed = item.path.suffix.lower(), item.sniffed
    if sniffed.family in ("sound", "picture") or sniffed.kind == "vtt" or (sniffed.kind and suffix in _TEXT_SUFFIXES):
        return item
    gathered.problems.append(_not_usable(item, suffix))
    return None


def _not_usable(item: Found, suffix: str) -> Problem:
    """A file of another kind: named like sound or a photo it is a loss, else a remark."""
    what = item.sniffed.what
    if suffix in _TEXT_SUFFIXES:
        return Problem(shown(item.path), f"It is no text, though its name says so: its content is {what}. Save the "
                       "notes as plain text (UTF-8).")
    if suffix in _SOUNDLIKE | _PICTURELIKE:
        named = "a recording" if suffix in _SOUNDLIKE else "a photo"
        return Problem(shown(item.path), f"It is named like {named}, but its content is {what}. Copy it again.")
    return Problem(shown(item.path), f"It is {what}, neither a recording nor a photo; it was left out.", fatal=False)


def _without_doubles(files: list[Found], gathered: Gathered) -> list[Found]:
    """One file for each content; of two the one with a transcript beside it, else the first, stays.

    Transcripts beside a recording belong to it and are no doubles of one another.
    """
    stems = {_base(f.path) for f in files if f.path.suffix.lower() in _TEXT_SUFFIXES}
    media = {_base(f.path) for f in files if f.sniffed.family == "sound"}
    kept: dict[str, Found] = {}
    for item in sorted(files, key=lambda f: _base(f.path) not in stems):
        beside = item.sniffed.family == "text" and _base(item.path) in media
        first = kept.setdefault(f"{item.path}" if beside else item.sha256, item)
        if first is not item:
            gathered.problems.append(Problem(shown(item.path), f"It is the same file as {shown(first.path)}, "
                                             "which is used.", fatal=False))
    paths = {item.path for item in kept.values()}
    return [item for item in files if item.path in paths]


def _base(path: Path) -> tuple[Path, str]:
    return path.parent, path.stem


def _transcripts_by_recording(files: list[Found], gathered: Gathered) -> dict[Path, Path]:
    """Which text stands in for which recording: same folder, and the same stem or the whole name before the suffix."""
    texts = sorted((f for f in files if f.path.suffix.lower() in _TEXT_SUFFIXES
                    and f.sniffed.family not in ("sound", "picture")),
                   key=lambda f: _TEXT_SUFFIXES.index(f.path.suffix.lower()))
    pairs: dict[Path, Path] = {}
    for sound in [f for f in files if f.sniffed.family == "sound"]:
        beside = [t for t in texts if t.path.parent == sound.path.parent
                  and t.path.stem in (sound.path.stem, sound.path.name)]
        for text in beside:
            try:
                read_text(text.path)
            except CaptureError as error:
                gathered.problems.append(_problem(text.path, error))
            else:
                if sound.path in pairs:
                    gathered.problems.append(Problem(shown(text.path), f"{shown(pairs[sound.path])} is used in its "
                                                     "place.", fatal=False))
                pairs.setdefault(sound.path, text.path)
            files.remove(text)
            texts.remove(text)
    return pairs


def _read_one(item: Found) -> Recording | Photo | CaptureError:
    try:
        if item.sniffed.family == "picture":
            return read_photo(item.path, kind=item.sniffed.kind, sha256=item.sha256)
        if item.sniffed.family == "sound":
            return read_recording(item.path, kind=item.sniffed.kind, sha256=item.sha256)
        return read_transcript(item.path, sha256=item.sha256)
    except CaptureError as error:
        return error


def _take(item: Found, result: Recording | Photo | CaptureError, script: Path | None, gathered: Gathered) -> None:
    """Add one file's result; a transcript speaks even for a recording that is broken."""
    if isinstance(result, CaptureError):
        gathered.problems.append(_problem(item.path, result))
        if script is not None:
            gathered.recordings.append(read_transcript(script, sha256=file_hash(script)))
        return
    gathered.problems += [Problem(shown(item.path), remark, fatal=False) for remark in result.remarks]
    if isinstance(result, Photo):
        gathered.photos.append(result)
    elif is_moving_photo(item.path, item.sniffed.kind, result):
        gathered.problems.append(Problem(shown(item.path), "It is the moving part of a photo, no recording; it was "
                                         "left out.", fatal=False))
    elif script is not None:
        starts = written_starts(read_text(script))
        gathered.recordings.append(replace(result, transcript=script, times=(*starts, *result.times)))
    else:
        gathered.recordings.append(result)


def _problem(path: Path, error: CaptureError) -> Problem:
    text = f"It {error.args[0]} {error.hint}".strip()
    return Problem(shown(path), text)


def _tell_apart(gathered: Gathered) -> None:
    """Files of one name in two folders are called by folder and name."""
    files: list[Recording | Photo] = [*gathered.recordings, *gathered.photos]
    seen = Counter(file.name for file in files)

    def name(file: Recording | Photo) -> str:
        return file.name if seen[file.name] == 1 else f"{file.path.absolute().parent.name}/{file.name}"

    gathered.recordings = [replace(recording, name=name(recording)) for recording in gathered.recordings]
    gathered.photos = [replace(photo, name=name(photo)) for photo in gathered.photos]


def _nothing_usable(paths: Sequence[Path], listing: Listing, gathered: Gathered) -> CaptureError:
    if not listing.files and not gathered.problems:
        what = "the folder is empty." if listing.folders else "no file was named."
    else:
        reasons = "; ".join(f"{problem.name}: {problem.reason}" for problem in gathered.problems[:5])
        what = f"nothing in it can be used. {reasons}"
    return CaptureError(what, path=paths[0] if len(paths) == 1 else None,
                        hint="Name the folder that holds the recordings and photos of one walk.")
