"""The day of a walk and the photos' times, decided with the whole capture in view; what is odd about them, in words."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from intake.capture.exif import FILE_TIME, GPS, PHOTO_RANK
from intake.capture.stamps import believable, day_in_name
from intake.capture.starts import near_day
from intake.capture.walk import Moment, Photo, Problem, Recording
from intake.capture.zones import ShopClock

_ONE_DAY = timedelta(days=1)
UNDATED = "It has no date that can be believed, so its time is not known."
UNTIMED = ("It does not tell when it was made, so photos can hardly be placed by time. Name it by its start, such as "
           "\"2026-05-14 09.12.03\", or copy it from the recorder so that its date stays.")


def day_of_walk(recordings: Sequence[Recording], photos: Sequence[Photo], clock: ShopClock,
                named: date | None) -> date:
    """The walk's day: from the recordings' starts, else the folder's name, else the photos, else the oldest file time.

    Where the recordings stand alone against a folder's name and photos that agree, their clock is wrong.
    """
    starts = [clock.local(r.started_at.at).date() for r in recordings if r.started_at]
    shots = Counter(clock.local(p.taken_at.at).date() for p in photos if p.taken_at)
    photo_day = shots.most_common(1)[0][0] if shots else None
    told = (starts[0] if starts else None, named, photo_day, _day_in_file_names([*recordings, *photos]))
    candidates = [day for day in told if day is not None]
    for day in candidates:
        if sum(abs(day - other) <= _ONE_DAY for other in candidates) >= 2:
            return day
    if candidates:
        return candidates[0]
    files: list[Recording | Photo] = [*recordings, *photos]
    return min(clock.local(m.at) for f in files for m in f.times if m.source == FILE_TIME).date()


def settle_photos(photos: Sequence[Photo], clock: ShopClock, day: date, *, trust_file_times: bool) -> list[Photo]:
    """The photos with `taken_at` chosen and `times` in order, sorted by time; undated ones last."""

    def order(moment: Moment) -> tuple[bool, bool, int]:
        usable = believable(moment.at) and (trust_file_times or moment.source != FILE_TIME)
        satellite = moment.source == GPS and near_day(moment.at, day, clock)
        return not usable, not satellite, PHOTO_RANK.index(moment.source)

    settled = []
    for photo in photos:
        main = photo.taken_at
        if main is not None and near_day(main.at, day, clock):
            settled.append(photo)
            continue
        times = tuple(sorted(photo.times, key=order))
        best = times[0] if times and not order(times[0])[0] else None
        settled.append(replace(photo, times=times, taken_at=best))
    return sorted(settled, key=lambda p: (p.taken_at is None, clock.timeline(p.taken_at.at).timestamp()
                                          if p.taken_at else 0.0, p.name))


def remarks_on_times(recordings: Sequence[Recording], photos: Sequence[Photo], clock: ShopClock,
                     day: date) -> Iterator[Problem]:
    """Non-fatal problems: files without a time, and clocks that are days away from the walk."""
    for recording in recordings:
        if recording.started_at is None:
            yield Problem(recording.name, UNTIMED, fatal=False)
        elif not near_day(recording.started_at.at, day, clock):
            yield Problem(recording.name, f"Its time is {clock.local(recording.started_at.at):%Y-%m-%d %H:%M}, not of "
                          f"the walk's day {day}: a wrong clock, or a recording of another day. Give --date if the day "
                          "is wrong.", fatal=False)
    for photo in photos:
        if photo.taken_at is None:
            yield Problem(photo.name, UNDATED, fatal=False)
    yield from _far_photos(photos, clock, day)


def _far_photos(photos: Sequence[Photo], clock: ShopClock, day: date) -> Iterator[Problem]:
    far: dict[str | None, list[tuple[Photo, Moment]]] = defaultdict(list)
    for photo in photos:
        if photo.taken_at is not None and not near_day(photo.taken_at.at, day, clock):
            far[photo.camera].append((photo, photo.taken_at))
    for camera, group in far.items():
        photo, moment = group[0]
        more = f" (and {len(group) - 1} more of {camera or 'an unnamed camera'})" if len(group) > 1 else ""
        yield Problem(photo.name, f"Its date is {moment.at:%Y-%m-%d %H:%M}{more}, not of the walk's day {day}: a "
                      "camera with a wrong date, or a photo of another day.", fatal=False)


def _day_in_file_names(files: Sequence[Recording | Photo]) -> date | None:
    days = Counter(day for file in files if (day := day_in_name(file.path.stem)) is not None)
    return days.most_common(1)[0][0] if days else None
