"""A processed walk is kept whole or not at all, and nothing twice."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from intake.capture.walk import Moment, Photo, Problem, Recording
from intake.errors import RecordsError
from intake.language.draft import Doubted, Value
from intake.matching.types import ClockOffset, PhotoMatch
from intake.records import placing
from intake.records.store import Store
from intake.speech.transcript import Segment, Transcript, Word

from .builders import MEMO, action, draft, heard, issue, photo, recording, walk


def test_everything_of_a_walk_is_kept(store: Store) -> None:
    """Values with their words and doubts, photos, clocks, problems and times come back as they were given."""
    value = Value("Corvane", heard("core vane", 1.5, 2.25), 0.62, ("not in the vocabulary",), ("Corbane",),
                  "sound-alike", {"match": 0.8})
    report = store.save_walk(
        walk(photos=[photo("P1.JPG"), photo("P2.JPG", at=None)], problems=(Problem("memo-02.m4a", "it is silent"),)),
        [draft("u1", maker=value, issues=[issue("lamp", "dead")], doubts=[Doubted("serial",
            "spoken, not understood")])],
        [PhotoMatch("P1.JPG", "u1", 0.97, datetime(2026, 5, 14, 13, 12, 9, tzinfo=UTC), None, (), "by time"),
         PhotoMatch("P2.JPG", None, 0.3, reasons=("it has no time",))],
        [ClockOffset("Lumora K5", 64.0, 60.0, 68.0, how="rhythm of pictures")])
    one = store.sighting("2026-05-14-north-aisle/u1")
    maker = one.scalars["maker"]
    assert (maker.value, maker.evidence, maker.confidence, maker.reasons, maker.alternatives, maker.rule,
            maker.signals, maker.state, maker.origin) == (
        "Corvane", value.evidence, 0.62, value.reasons, value.alternatives, "sound-alike", {"match": 0.8}, "open",
        "machine")
    assert one.value("serial") is None
    assert one.scalars["serial"].reasons == ("spoken, not understood",)
    assert one.items("issues") == [issue("lamp", "dead")]
    assert [p.name for p in one.photos] == ["P1.JPG"]
    assert one.photos[0].recording_second == 6.0
    assert [(c.camera, c.offset_s, c.known) for c in store.clocks(one.walk)] == [("Lumora K5", 64.0, True)]
    assert [(p.name, p.fatal) for p in store.problems(one.walk)] == [("memo-02.m4a", True)]
    assert store.recordings(one.walk)[0].started_at == "2026-05-14T09:12:03-04:00"
    assert (report.units, report.placed, report.stray, report.questions) == (1, 1, 1, 2)


def test_the_same_again_adds_nothing(store: Store) -> None:
    """A second run with the same content leaves every table as it is, asked for again or not."""
    given: tuple[Any, ...] = (walk(photos=[photo("P1.JPG")]), [draft("u1", maker="Corvane")],
        [PhotoMatch("P1.JPG", "u1", 0.9)])
    store.save_walk(*given)
    before = dump(store)
    assert store.save_walk(*given).unchanged
    assert store.save_walk(*given, redo=True).unchanged
    assert dump(store) == before


def test_another_reading_of_the_same_files_waits_for_redo(store: Store) -> None:
    """Without redo the stored values stay, though the rules would read the walk otherwise now."""
    store.save_walk(walk(), [draft("u1", maker="Corvane")])
    assert store.save_walk(walk(), [draft("u1", maker="Corbane")]).unchanged
    assert store.unit("U0001").value("maker") == "Corvane"


def test_a_file_that_came_to_the_capture_is_read_in(store: Store) -> None:
    """A folder with one photo more is read again without being asked, and gains only that photo."""
    store.save_walk(walk(photos=[photo("P1.JPG")]), [draft("u1", maker="Corvane")], [PhotoMatch("P1.JPG", "u1", 0.9)])
    report = store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG")]), [draft("u1", maker="Corvane")],
                             [PhotoMatch("P1.JPG", "u1", 0.9), PhotoMatch("P2.JPG", "u1", 0.8)])
    assert not report.unchanged
    assert report.added == ()
    assert [p.name for p in store.sighting("2026-05-14-north-aisle/u1").photos] == ["P1.JPG", "P2.JPG"]


def test_nothing_is_kept_of_a_walk_that_fails(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """An error at the very last step leaves no trace of the walk."""
    def fail(*_: Any) -> None:
        raise RecordsError("stop")

    monkeypatch.setattr(placing, "put", fail)
    before = dump(store)
    with pytest.raises(RecordsError):
        store.save_walk(walk(), [draft("u1", maker="Corvane")])
    assert dump(store) == before


def test_two_captures_under_one_name_are_told_apart(store: Store) -> None:
    """A walk id that another capture has already is refused with what to do."""
    store.save_walk(walk())
    with pytest.raises(RecordsError, match="--walk-id"):
        store.save_walk(walk(recordings=[recording("other.m4a")]))


def test_a_file_in_two_walks_is_one_file(store: Store) -> None:
    """The same content under another name in another walk is told, and its path is kept once."""
    store.save_walk(walk(photos=[photo("P1.JPG", sha256="same")]))
    report = store.save_walk(walk("second", recordings=[recording("b.m4a")], photos=[photo("copy.JPG", sha256="same")]))
    assert report.duplicates == {"copy.JPG": "2026-05-14-north-aisle/P1.JPG"}
    assert len(rows(store, "SELECT * FROM file WHERE sha256 = 'same'")) == 1


def test_a_value_that_is_no_term_becomes_a_doubt(store: Store) -> None:
    """Nothing that was heard is lost: a value outside the contract is blank, asked about, and offered."""
    report = store.save_walk(walk(), [draft("u1", stage="half done", issues=[issue("flux capacitor", "dead")])])
    one = store.sighting("2026-05-14-north-aisle/u1")
    assert one.value("stage") is None
    assert one.scalars["stage"].alternatives == ("half done",)
    assert "half done" in one.scalars["stage"].reasons[0]
    assert one.lists["issues"][0].value is None
    assert len(report.refused) == 2


@pytest.mark.parametrize("name", ["it's \"the\" one.JPG", "line\nbreak.JPG", "Plattenspieler-Größe-音.JPG",
                                  "bad\udcffbyte.JPG", "[left].JPG"])
def test_any_file_name_is_kept(store: Store, name: str) -> None:
    """Quotes, line breaks, other letters and bytes that are no letters in names and paths do no harm."""
    path = Path("/captures") / name
    given = Photo(path, name, "h", "jpeg", None)
    store.save_walk(walk(photos=[given]), [draft("u1")], [PhotoMatch(name, "u1", 0.5)])
    place = store.photos("2026-05-14-north-aisle")[0]
    assert place.path == str(path)
    assert place.sighting == "2026-05-14-north-aisle/u1"
    place.name.encode("utf-8")


def test_two_files_of_one_name_stay_two(store: Store) -> None:
    """Cameras start their numbers anew in each folder: the second gets its folder's name before its own."""
    first = Photo(Path("/c/100/P1.JPG"), "P1.JPG", "a", "jpeg", None)
    second = Photo(Path("/c/101/P1.JPG"), "P1.JPG", "b", "jpeg", None)
    store.save_walk(walk(photos=[first, second]))
    assert [p.name for p in store.photos("2026-05-14-north-aisle")] == ["P1.JPG", "101/P1.JPG"]


def test_a_folder_that_moved_is_followed(store: Store, tmp_path: Path) -> None:
    """When the stored path is gone and the file turns up elsewhere, the new path is kept."""
    new = tmp_path / "P1.JPG"
    new.write_bytes(b"x")
    store.save_walk(walk(photos=[photo("P1.JPG")]))
    moved = Photo(new, "P1.JPG", "sha-P1.JPG", "jpeg", None)
    store.save_walk(walk(photos=[moved]))
    assert store.photos("2026-05-14-north-aisle")[0].path == str(new)


@pytest.mark.parametrize(("moment", "starts"), [
    (Moment(datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC), "container"), "2026-05-14T09:12:03-04:00"),
    (Moment(datetime(2026, 5, 14, 9, 12, 3), "file name"), "2026-05-14T09:12:03-04:00"),
    (Moment(datetime(2026, 5, 14, 9, 17, 3), "file time", "end"), "2026-05-14T09:12:03-04:00"),
    (Moment(datetime(2026, 5, 14, 9, 12, 3), "container", "start or end"), None),
    (None, None),
])
def test_when_a_recording_started(store: Store, moment: Moment | None, starts: str | None) -> None:
    """The start is on the walk's clock, reckoned back from an end; what the file leaves open stays open."""
    store.save_walk(walk(recordings=[Recording(Path("/c/a.m4a"), "a.m4a", "a", "m4a", 300.0, moment)]))
    assert store.recordings("2026-05-14-north-aisle")[0].started_at == starts


def test_photo_times_stay_as_the_camera_wrote_them(store: Store) -> None:
    """A local time stays without a zone; an offset is kept only where the camera wrote one."""
    from datetime import timedelta, timezone

    with_offset = datetime(2026, 5, 14, 9, 13, 10, 250000, tzinfo=timezone(timedelta(hours=-3, minutes=-30)))
    store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG", at=with_offset), photo("P3.JPG", at=None)]))
    assert [p.taken_at for p in store.photos("2026-05-14-north-aisle")] == [
        "2026-05-14T09:13:10", "2026-05-14T09:13:10.250-03:30", None]


def test_the_decoding_behind_the_values_is_known(store: Store) -> None:
    """The fingerprint of each transcript is kept, and changes with it."""
    word = Word("hello", 0.0, 0.5)
    for text in ("hello", "hallo"):
        spoken = Transcript(MEMO, f"sha-{MEMO}", 300.0, (Segment((Word(text, 0.0, 0.5),)),), options={"model": "base"})
        store.save_walk(walk(), [draft("u1", maker=text)], transcripts=[spoken], redo=True)
    assert rows(store, "SELECT words, json_extract(options, '$.model') FROM transcript") == [(1, "base")]
    old, new = rows(store, "SELECT json_extract(old, '$.fingerprint'), json_extract(new, '$.fingerprint') "
                           "FROM change WHERE table_name = 'transcript'")[0]
    assert old != new
    assert word.probability == 1.0


def test_actions_reach_the_lists_of_work(store: Store) -> None:
    """What is to do and waits stands in the store's lists at once."""
    store.save_walk(walk(), [draft("u1", stage="waiting", actions=[
        action("replace", "lamp", waiting_on="lamp"), action("call", due="2026-05-20")])])
    assert [(a.work, a.due) for a in store.actions(due_by="2026-05-21")] == [("call", "2026-05-20")]
    assert [a.waiting_on for a in store.actions(waiting=True)] == ["lamp"]
    assert [r.unit for r in store.stage_runs(stage="waiting")] == ["U0001"]


def rows(store: Store, query: str) -> list[tuple[Any, ...]]:
    """Straight from the database."""
    with store._engine.connect() as connection:
        return [tuple(row) for row in connection.exec_driver_sql(query)]


def dump(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table, the search index left out."""
    names = [name for (name,) in rows(store, "SELECT name FROM sqlite_master WHERE type = 'table'")
             if not name.startswith(("unit_text", "sqlite_"))]
    return {name: sorted(rows(store, f'SELECT * FROM "{name}"'), key=repr) for name in names}
