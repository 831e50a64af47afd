"""Which of a recording's times is its start, and what a whole capture tells about its clocks."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from intake.capture.audio import BEXT, CONTAINER, ID3
from intake.capture.evidence import file_times_hold, offset_told
from intake.capture.exif import FILE_NAME, FILE_TIME, ORIGINAL
from intake.capture.starts import LOCAL_CLOCK, same_instant, settle_starts
from intake.capture.texts import NOTE
from intake.capture.walk import Moment, Photo, Recording
from intake.capture.zones import ShopClock

LENGTH = 300.0
START = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
LOCAL = datetime(2026, 5, 14, 9, 12, 3)
LATER = timedelta(seconds=LENGTH)
NEW_YORK = ShopClock(ZoneInfo("America/New_York"))
UNKNOWN = ShopClock()


def container(at: datetime, marks: str = "start or end") -> Moment:
    """A container's creation time."""
    return Moment(at, CONTAINER, marks)


def named(at: datetime) -> Moment:
    """A time in the file's name."""
    return Moment(at, FILE_NAME, "start or end")


def saved(at: datetime) -> Moment:
    """The file's own time."""
    return Moment(at, FILE_TIME, "end")


def recording(*times: Moment, name: str = "memo", seconds: float | None = LENGTH, kind: str = "m4a") -> Recording:
    """A recording with those readings."""
    return Recording(Path(name), name, "", kind, duration_s=seconds, times=times)


def settled(*times: Moment, clock: ShopClock = UNKNOWN, day: date | None = None, trust: bool = True) -> Moment:
    """The start of a recording with those readings."""
    (found,) = settle_starts([recording(*times)], clock, day=day, trust_file_times=trust)
    assert found.started_at is not None
    return found.started_at


JITTER = timedelta(seconds=1.4)


@pytest.mark.parametrize(("times", "clock"), [
    ((container(START), saved(START + LATER)), UNKNOWN),
    ((container(START), saved(START + LATER + JITTER)), UNKNOWN),
    ((container(START + LATER), saved(START + LATER + JITTER)), UNKNOWN),
    ((container(START + LATER), named(LOCAL)), UNKNOWN),
    ((container(START + LATER), named(LOCAL)), NEW_YORK),
    ((container(START), named(LOCAL + LATER)), NEW_YORK),
    ((container(START), named(LOCAL), saved(START + LATER)), NEW_YORK),
    ((container(START + LATER), named(LOCAL + LATER), saved(START + LATER + JITTER)), NEW_YORK),
    ((Moment(START + LATER, ID3, "start or end"), saved(START + LATER + JITTER)), UNKNOWN),
    ((container(START, "start"), saved(START + timedelta(days=3))), UNKNOWN),
])
def test_two_times_tell_start_from_end(times: tuple[Moment, ...], clock: ShopClock) -> None:
    """A second time of the file, one length apart or equal, tells what a container's time is of."""
    found = settled(*times, clock=clock)
    assert abs(found.at - START) <= timedelta(seconds=3)
    assert found.marks == "start"


@pytest.mark.parametrize("times", [
    (container(START),), (container(START), named(LOCAL)), (container(START), saved(START + timedelta(days=20))),
    (container(START), saved(START + timedelta(seconds=97))),
])
def test_what_cannot_be_told_stays_open(times: tuple[Moment, ...]) -> None:
    """Where no second time decides, the reading is taken as the start and says that it may be the end."""
    assert settled(*times, clock=NEW_YORK) == Moment(START, CONTAINER, "start or end")


def test_a_file_time_equal_to_the_second_is_weak_proof() -> None:
    """A file time that is the container's to the very second may be a copy of it: taken as the end, but open."""
    found = settled(container(START + LATER), saved(START + LATER))
    assert (found.at, found.marks) == (START, "start or end")


@pytest.mark.parametrize(("times", "clock"), [
    ((container(LOCAL.replace(tzinfo=UTC)), saved(START + LATER)), NEW_YORK),
    ((container((LOCAL + LATER).replace(tzinfo=UTC)), saved(START + LATER)), NEW_YORK),
    ((container(LOCAL.replace(tzinfo=UTC)), named(LOCAL)), NEW_YORK),
    ((Moment(LOCAL.replace(tzinfo=UTC), ID3, "start or end"), saved(START + LATER)), ShopClock(offset_min=-240)),
])
def test_local_time_written_as_utc(times: tuple[Moment, ...], clock: ShopClock) -> None:
    """A recorder that writes its local clock where UTC belongs is found out by the file's other times."""
    found = settled(*times, clock=clock)
    assert found.at == LOCAL
    assert found.source.endswith(LOCAL_CLOCK)


def test_utc_is_kept_where_it_fits() -> None:
    """A container in true UTC is not made local, summer or winter."""
    assert settled(container(START), saved(START + LATER), clock=NEW_YORK).at == START
    winter = datetime(2026, 1, 14, 14, 12, 3, tzinfo=UTC)
    assert settled(container(winter), named(datetime(2026, 1, 14, 9, 12, 3)), clock=NEW_YORK).at == winter


def test_one_recorder_has_one_habit() -> None:
    """What one recording shows of its recorder holds for the others of the same kind."""
    shown = recording(container(START + LATER), saved(START + LATER + JITTER), name="one")
    later = START + timedelta(hours=1)
    hidden = recording(container(later), saved(later + timedelta(days=2)), name="two")
    other_kind = recording(container(later), name="three", kind="mp4")
    one, two, three = settle_starts([shown, hidden, other_kind], UNKNOWN, trust_file_times=False)
    assert one.started_at == Moment(START, CONTAINER, "start")
    assert two.started_at == Moment(later - LATER, CONTAINER, "start")
    assert three.started_at == Moment(later, CONTAINER, "start or end")


@pytest.mark.parametrize(("gap", "as_end", "marks"), [(100.0, True, "start"), (900.0, False, "start or end")])
def test_two_recordings_do_not_overlap(gap: float, as_end: bool, marks: str) -> None:
    """If the times as starts would have one recorder record twice at once, they are ends."""
    short = recording(container(START + timedelta(seconds=gap)), name="b", seconds=60.0)
    first, _ = settle_starts([recording(container(START), name="a"), short], UNKNOWN)
    assert first.started_at == Moment(START - LATER if as_end else START, CONTAINER, marks)


def test_bext_is_local_and_the_start() -> None:
    """A local bext time stays local."""
    assert settled(Moment(LOCAL, BEXT), saved(START + LATER)) == Moment(LOCAL, BEXT)


def test_a_note_outranks_all() -> None:
    """A start that a person wrote into a transcript wins."""
    written = Moment(datetime(2026, 5, 14, 9, 0, tzinfo=timezone(timedelta(hours=-4))), NOTE)
    assert settled(container(START), written, saved(START + LATER)).source == NOTE


def test_the_file_time_alone_is_the_end() -> None:
    """A recording with no other time began its length before its file was closed."""
    assert settled(saved(START + LATER)) == Moment(START, FILE_TIME, "start")


def test_a_plain_text_has_an_end_only() -> None:
    """A text without length and without a start has the file's time, which is its end."""
    (found,) = settle_starts([recording(saved(START), seconds=None, kind="transcript")], UNKNOWN)
    assert found.started_at == Moment(START, FILE_TIME, "end")


def test_a_copys_file_time_starts_nothing() -> None:
    """Where a copy lost the files' times, a recording without another time has no start, and keeps the reading."""
    (found,) = settle_starts([recording(saved(START))], UNKNOWN, trust_file_times=False)
    assert found.started_at is None
    assert found.times == (saved(START),)


@pytest.mark.parametrize("at", [datetime(1970, 1, 1, 0, 5, tzinfo=UTC), datetime(2000, 1, 1, tzinfo=UTC)])
def test_an_unset_clock_gives_way(at: datetime) -> None:
    """A container time of an unset clock loses to any other, and is kept among the readings."""
    (found,) = settle_starts([recording(container(at), saved(START + LATER))], UNKNOWN)
    assert found.started_at == Moment(START, FILE_TIME, "start")
    assert len(found.times) == 2


def test_a_time_of_the_walks_day_beats_one_of_another_year() -> None:
    """A container that is years off loses to a name of the walk's day."""
    found = settled(container(datetime(2019, 3, 2, 4, 5, 6, tzinfo=UTC)), named(LOCAL), day=date(2026, 5, 14))
    assert (found.at, found.source) == (LOCAL, FILE_NAME)


def test_readings_are_kept_best_first_with_what_they_mark() -> None:
    """Every reading stays, the chosen one first, and says what it turned out to be."""
    times = (saved(START + LATER + JITTER), named(LOCAL), container(START + LATER))
    (found,) = settle_starts([recording(*times)], NEW_YORK)
    assert [(m.source, m.marks) for m in found.times] == [(CONTAINER, "end"), (FILE_NAME, "start"), (FILE_TIME, "end")]


@pytest.mark.parametrize(("a", "b", "clock", "same"), [
    (START, START + timedelta(seconds=3), UNKNOWN, True), (START, START + timedelta(seconds=4), UNKNOWN, False),
    (START, LOCAL, NEW_YORK, True), (START, LOCAL + timedelta(hours=1), NEW_YORK, False),
    (START, LOCAL + timedelta(hours=1), UNKNOWN, True), (START, LOCAL + timedelta(minutes=15), UNKNOWN, True),
    (START, LOCAL + timedelta(minutes=7), UNKNOWN, False), (START, LOCAL + timedelta(days=1), UNKNOWN, False),
])
def test_comparing_times_with_and_without_zone(a: datetime, b: datetime, clock: ShopClock, same: bool) -> None:
    """In an unknown zone two times may be one when they differ by whole quarters of an hour, up to 14 hours."""
    assert same_instant(a, b, clock) is same
    assert same_instant(b, a, clock) is same


def photo(at: datetime | None, written: datetime | None = None, name: str = "P") -> Photo:
    """A photo with a shutter date and a file time."""
    times = ((Moment(at, ORIGINAL),) if at else ()) + ((Moment(written, FILE_TIME),) if written else ())
    return Photo(Path(name), name, "", "jpeg", taken_at=times[0] if at else None, times=times)


def test_the_offset_is_read_from_photos_with_zone() -> None:
    """Zones that are written out tell the shop's offset, the most frequent first."""
    east = [photo(LOCAL.replace(tzinfo=timezone(timedelta(hours=-4)))) for _ in range(3)]
    assert offset_told([], [*east, photo(LOCAL.replace(tzinfo=UTC)), photo(LOCAL)]) == -240


def test_the_offset_is_read_from_name_against_container() -> None:
    """A local name beside a UTC container tells the offset, whichever of the two is start or end."""
    for utc in (START, START + LATER, START - LATER):
        found = offset_told([recording(container(utc), named(LOCAL), seconds=301.0 if utc != START else LENGTH)], [])
        assert found == -240
    assert offset_told([recording(container(START), saved(START + LATER))], []) is None
    assert offset_told([recording(container(LOCAL.replace(tzinfo=UTC)), named(LOCAL))], []) is None


def test_a_note_in_utc_tells_the_offset() -> None:
    """A person who writes +00:00 means it; a container's UTC tells nothing of the shop."""
    assert offset_told([recording(Moment(START, NOTE))], []) == 0
    assert offset_told([recording(container(START))], []) is None


COPIED = datetime(2026, 6, 20, 8, 0, tzinfo=UTC)


@pytest.mark.parametrize(("recordings", "photos", "expected"), [
    ([recording(container(START), saved(START + LATER))], [photo(None, START)], (True, True)),
    ([recording(container(START), saved(COPIED))], [photo(None, COPIED)], (False, False)),
    ([recording(saved(START + LATER))], [photo(LOCAL, START), photo(LOCAL, START)], (True, True)),
    ([recording(saved(COPIED))], [photo(LOCAL, COPIED), photo(LOCAL, COPIED)], (False, False)),
    ([recording(saved(COPIED))], [photo(LOCAL, START), photo(LOCAL, START)], (False, True)),
    ([recording(saved(COPIED)), recording(saved(COPIED + timedelta(seconds=1)))], [], (False, False)),
    ([recording(saved(START)), recording(saved(START + timedelta(seconds=400)))], [], (True, True)),
    ([recording(saved(START))], [], (True, True)),
], ids=["container agrees", "container disagrees", "photos agree", "all copied", "sound copied, photos kept",
        "would overlap", "no overlap", "alone"])
def test_whether_file_times_survived(recordings: list[Recording], photos: list[Photo],
                                     expected: tuple[bool, bool]) -> None:
    """Files with a date of their own show whether file times are from the walk or from a copy."""
    assert file_times_hold(recordings, photos, NEW_YORK, None) == expected


def test_file_times_of_another_day_are_a_copys() -> None:
    """Where the folder names the day, file times of another day are not the walk's."""
    assert file_times_hold([recording(saved(START))], [], NEW_YORK, date(2026, 5, 14)) == (True, True)
    assert file_times_hold([recording(saved(START))], [], NEW_YORK, date(2026, 5, 1))[0] is False


def test_a_camera_hours_off_still_shows_kept_file_times() -> None:
    """A camera's file time follows its own clock; whole hours between the two are a card read in another zone."""
    photos = [photo(LOCAL + timedelta(minutes=n), START + timedelta(minutes=n, hours=2)) for n in range(4)]
    assert file_times_hold([], photos, NEW_YORK, None)[1] is True
