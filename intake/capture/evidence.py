"""What the capture as a whole tells about its clocks: the shop's offset from UTC, and whether file times survived."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date, datetime, time, timedelta
from itertools import pairwise

from intake.capture.audio import CREATION_KEY
from intake.capture.exif import DIGITIZED, FILE_NAME, FILE_TIME, LAST_CHANGE, ORIGINAL
from intake.capture.stamps import believable
from intake.capture.starts import (
    QUARTER,
    TOLERANCE,
    WIDEST,
    guesses_of,
    length_of,
    same_instant,
)
from intake.capture.texts import NOTE
from intake.capture.walk import Moment, Photo, Recording
from intake.capture.zones import ShopClock

LOOSE = timedelta(seconds=10)        # a file is closed some seconds after its last word or its shutter
_ONE_DAY = timedelta(hours=26)


def offset_told(recordings: Sequence[Recording], photos: Sequence[Photo]) -> int | None:
    """The shop's offset from UTC in minutes, as the files themselves tell it; None where they do not.

    First from zones that are written out (photos, notes, phones' film dates), most frequent first; else from a
    recording whose name has the local time and whose container has UTC.
    """
    written = Counter(_written_offsets(recordings, photos))
    if written:
        return written.most_common(1)[0][0]
    compared = Counter(offset for recording in recordings for offset in _name_against_utc(recording))
    return compared.most_common(1)[0][0] if compared else None


def file_times_hold(recordings: Sequence[Recording], photos: Sequence[Photo], clock: ShopClock,
                    day: date | None) -> tuple[bool, bool]:
    """Whether the file times of recordings, and those of photos, are from the walk and not from a later copy.

    Files that have another date vote for their group. A group without a vote goes by the other group's and by
    what it shows itself: two recordings that overlap, or another day than the walk's, are a copy's times.
    """
    of_recordings = [vote for vote in (_recording_vote(r, clock) for r in recordings) if vote is not None]
    of_photos = [vote for vote in (_photo_vote(p, clock) for p in photos) if vote is not None]
    day = day or _day_of(photos, clock)
    plain = _no_overlap(recordings) and _of_the_day(recordings, clock, day) and (not of_photos or _most(of_photos))
    sound = _most(of_recordings) if of_recordings else plain
    if of_photos:
        return sound, _most(of_photos)
    return sound, (sound or not recordings) and _of_the_day(photos, clock, day)


def _written_offsets(recordings: Sequence[Recording], photos: Sequence[Photo]) -> Iterator[int]:
    for photo in photos:
        for moment in photo.times:
            if moment.source == ORIGINAL and (offset := moment.at.utcoffset()) is not None:
                yield round(offset.total_seconds() / 60)
    for recording in recordings:
        for moment in recording.times:
            offset = moment.at.utcoffset()
            chosen = moment.source in (NOTE, CREATION_KEY)   # elsewhere zero may be a container's own UTC
            if offset is not None and moment.source != FILE_TIME and (offset or chosen):
                yield round(offset.total_seconds() / 60)


def _name_against_utc(recording: Recording) -> Iterator[int]:
    """Offsets, other than none, that put the local time of the name on the UTC time of the container."""
    names = [m.at for m in recording.times if m.source == FILE_NAME and m.at.tzinfo is None]
    fixed = [m.at for m in recording.times if m.source != FILE_TIME and m.at.utcoffset() == timedelta(0)]
    length = length_of(recording)
    found = set()
    for local in names:
        for utc in fixed:
            for shift in (-length, timedelta(0), length):
                apart = local - utc.replace(tzinfo=None) + shift
                whole = QUARTER * round(apart / QUARTER)
                if abs(apart - whole) <= TOLERANCE and abs(whole) <= WIDEST:
                    found.add(round(whole.total_seconds() / 60))
    if len(found) == 1 and found != {0}:
        yield found.pop()


def _recording_vote(recording: Recording, clock: ShopClock) -> bool | None:
    length, written = length_of(recording), file_time_of(recording.times)
    others = [guess for moment in recording.times if moment.source != FILE_TIME and believable(moment.at)
              for guess in guesses_of(moment, clock)]
    if written is None or not others:
        return None
    return any(same_instant(written - length, other.start(length), clock, LOOSE) for other in others)


def _photo_vote(photo: Photo, clock: ShopClock) -> bool | None:
    """A camera's file times follow its own clock, but may be shifted by whole hours on a card read elsewhere."""
    written = file_time_of(photo.times)
    own = [moment.at for moment in photo.times if moment.source in (ORIGINAL, DIGITIZED, LAST_CHANGE)
           and believable(moment.at)]
    if written is None or not own:
        return None
    return any(_same_up_to_hours(written, clock.utc(at) or at.replace(tzinfo=written.tzinfo)) for at in own)


def _same_up_to_hours(a: datetime, b: datetime) -> bool:
    apart = a - b
    return abs(apart) <= _ONE_DAY and abs(apart - QUARTER * round(apart / QUARTER)) <= LOOSE


def _no_overlap(recordings: Sequence[Recording]) -> bool:
    ends = sorted((m.at, length_of(r)) for r in recordings for m in r.times if m.source == FILE_TIME)
    return all(b - length >= a - LOOSE for (a, _), (b, length) in pairwise(ends))


def _of_the_day(files: Sequence[Recording | Photo], clock: ShopClock, day: date | None) -> bool:
    if day is None:
        return True
    noon = datetime.combine(day, time(12))
    if not files:
        return True
    times = [moment for file in files for moment in file.times if moment.source == FILE_TIME]
    return _most([abs(clock.local(moment.at) - noon) <= _ONE_DAY for moment in times])


def _day_of(photos: Sequence[Photo], clock: ShopClock) -> date | None:
    days = Counter(clock.local(photo.taken_at.at).date() for photo in photos if photo.taken_at)
    return days.most_common(1)[0][0] if days else None


def _most(votes: Sequence[bool]) -> bool:
    return sum(votes) * 2 > len(votes)


def file_time_of(times: Sequence[Moment]) -> datetime | None:
    """The file's own time among its readings."""
    return next((moment.at for moment in times if moment.source == FILE_TIME), None)
