"""A folder of recordings and photos becomes a walk, whatever else lies in it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from intake.capture.folder import read_capture
from intake.capture.walk import Problem, Walk
from intake.errors import CaptureError, UsageError

from .makers import REFERENCE, encoded, jpeg, jpeg_around, set_movie_times, since_1904, touch, wav

NEW_YORK = ZoneInfo("America/New_York")
START = datetime(2026, 5, 14, 13, 12, 3, tzinfo=UTC)
BUILT = REFERENCE / "walks" / "built"


@pytest.fixture
def capture(tmp_path: Path) -> Path:
    """A capture of one recording and two photos, with true file times."""
    folder = tmp_path / "2026-05-14-north-aisle"
    folder.mkdir()
    memo = set_movie_times(encoded(folder / "memo-01.m4a", "m4a", 5.0), since_1904(START))
    touch(memo, START + timedelta(seconds=5))
    for n in (1, 2):
        touch(jpeg(folder / f"P{n}.JPG", original=f"2026:05:14 09:12:0{n + 3}", camera=("Larkmont", "L-7"),
                   colour=f"#10{n}010"), START + timedelta(seconds=n))
    return folder


def problems_of(walk: Walk, name: str) -> list[Problem]:
    """The problems of one file."""
    return [problem for problem in walk.problems if problem.name == name]


def test_a_plain_capture(capture: Path) -> None:
    """A folder of good files gives a walk with times, places for all, and no problems."""
    walk = read_capture([capture], zone=NEW_YORK)
    assert (walk.id, walk.date, walk.utc_offset_min) == ("2026-05-14-north-aisle", date(2026, 5, 14), -240)
    (memo,) = walk.recordings
    assert memo.started_at is not None
    assert (memo.name, memo.kind, memo.started_at.at, memo.started_at.marks) == ("memo-01.m4a", "m4a", START, "start")
    assert [photo.name for photo in walk.photos] == ["P1.JPG", "P2.JPG"]
    assert walk.problems == ()


def test_the_same_folder_twice_is_the_same_walk(capture: Path) -> None:
    """Reading is repeatable to the last field."""
    assert read_capture([capture], zone=NEW_YORK) == read_capture([capture], zone=NEW_YORK)


def test_suffixes_are_not_asked(capture: Path) -> None:
    """A recording named as a photo and a photo named as a recording go where their content says."""
    (capture / "memo-01.m4a").rename(capture / "memo-01.jpg")
    (capture / "P1.JPG").rename(capture / "P1.wav")
    walk = read_capture([capture], zone=NEW_YORK)
    assert [r.name for r in walk.recordings] == ["memo-01.jpg"]
    assert [p.name for p in walk.photos] == ["P1.wav", "P2.JPG"]


@pytest.mark.parametrize("name", ["two words.JPG", "it's \"quoted\".JPG", "line\nbreak.JPG", "küche-東京-🎛.JPG",
                                  "-rf.JPG", "[left].JPG", "%s$HOME`.JPG"])
def test_any_name(capture: Path, name: str) -> None:
    """Any name that the disk takes is kept as it is."""
    (capture / "P1.JPG").rename(capture / name)
    (capture / "memo-01.m4a").rename(capture / f"{name}.m4a")
    walk = read_capture([capture], zone=NEW_YORK)
    assert name in [photo.name for photo in walk.photos]
    assert walk.recordings[0].name == f"{name}.m4a"


@pytest.mark.skipif(sys.platform != "linux", reason="only there a name may be any bytes")
def test_a_name_that_is_no_text_is_told(capture: Path) -> None:
    """A name that no record can hold is a problem with a way out."""
    os.rename(capture / "P1.JPG", os.fsencode(capture) + b"/\xff\xfe.JPG")
    (problem,) = read_capture([capture], zone=NEW_YORK).problems
    assert problem.fatal
    assert "Rename it" in problem.reason
    problem.name.encode("utf-8")


BAD = {
    "empty.m4a": (b"", "empty (0 bytes)"),
    "zeros.m4a": (b"\0" * 5000, "named like a recording, but its content is filled with zero bytes"),
    "page.mp3": (b"<!DOCTYPE html><html>not found</html>", "named like a recording, but its content is a web page"),
    "noise.jpg": (bytes(range(256)) * 9, "named like a photo, but its content is of no kind that is known here"),
    "bomb.jpg": (jpeg_around(b"", (60_000, 60_000)), "megapixels"),
    "notes.txt": (b"\x00\x01\xff" * 100, "no text, though its name says so"),
    "page.txt": (b"<html><body>sorry", "its content is a web page"),
    "blank.txt": (b" \n", "holds no words"),
    "damaged.ogg": (b"OggS" + b"\x55" * 3000, "Copy it again"),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_costs_nothing_else(capture: Path, name: str) -> None:
    """Each unusable file is one fatal problem that says why, and the rest of the walk is there."""
    data, why = BAD[name]
    (capture / name).write_bytes(data)
    walk = read_capture([capture], zone=NEW_YORK)
    (problem,) = problems_of(walk, name)
    assert problem.fatal
    assert why in problem.reason
    assert (len(walk.recordings), len(walk.photos)) == (1, 2)


@pytest.mark.parametrize(("name", "data"), [("plan.pdf", b"%PDF-1.7 \0"), ("list.docx", b"PK\x03\x04\x14\0"),
                                            ("truth.json", b"{}"), ("scan.tif", b"II*\0\x08\0\0\0")])
def test_other_files_are_a_remark(capture: Path, name: str, data: bytes) -> None:
    """A file that was never a recording or photo is told, and is no failure."""
    (capture / name).write_bytes(data)
    (problem,) = problems_of(read_capture([capture], zone=NEW_YORK), name)
    assert not problem.fatal
    assert "neither a recording nor a photo" in problem.reason


def test_litter_is_passed_over(capture: Path) -> None:
    """Hidden files and what operating systems leave behind are not worth a word."""
    for name in (".DS_Store", "Thumbs.db", "desktop.ini", "._memo-01.m4a"):
        (capture / name).write_bytes(b"\0\x05\x16\x07litter")
    (capture / "__MACOSX").mkdir()
    (capture / "__MACOSX" / "x.m4a").write_bytes(b"x")
    assert read_capture([capture], zone=NEW_YORK).problems == ()


def test_one_level_of_folders(capture: Path) -> None:
    """Subfolders are read, deeper ones are told."""
    (capture / "photos" / "old").mkdir(parents=True)
    (capture / "P1.JPG").rename(capture / "photos" / "P1.JPG")
    walk = read_capture([capture], zone=NEW_YORK)
    assert [photo.name for photo in walk.photos] == ["P1.JPG", "P2.JPG"]
    (problem,) = problems_of(walk, "old")
    assert not problem.fatal


def test_the_same_content_is_one_file(capture: Path) -> None:
    """A second copy under another name is not read twice, and is told."""
    shutil.copy2(capture / "P1.JPG", capture / "P9.JPG")
    (capture / "again").mkdir()
    shutil.copy2(capture / "memo-01.m4a", capture / "again" / "recording.m4a")
    walk = read_capture([capture], zone=NEW_YORK)
    assert (len(walk.recordings), len(walk.photos)) == (1, 2)
    assert "the same file as" in problems_of(walk, "P9.JPG")[0].reason
    assert all(not problem.fatal for problem in walk.problems)


def test_same_names_in_two_folders_stay_apart(capture: Path) -> None:
    """Two photos of one name are called by folder and name, so that each can be named in a record."""
    for n, folder in enumerate(("101", "102")):
        (capture / folder).mkdir()
        jpeg(capture / folder / "IMG_1.JPG", original="2026:05:14 09:13:00", colour=f"#0000{n + 1}0")
    walk = read_capture([capture], zone=NEW_YORK)
    names = [photo.name for photo in walk.photos]
    assert {"101/IMG_1.JPG", "102/IMG_1.JPG"} <= set(names)
    assert len(set(names)) == len(names)


def test_a_transcript_stands_in(capture: Path) -> None:
    """A text of the same stem goes with its recording; its note tells the start; the better kind of two is used."""
    (capture / "memo-01.vtt").write_text("WEBVTT\n\nNOTE started_at 2026-05-14T09:12:00-04:00\n\n"
                                         "00:01.000 --> 00:02.000\nShelf B2.\n", encoding="utf-8")
    (capture / "memo-01.txt").write_text("Shelf B2.", encoding="utf-8")
    walk = read_capture([capture], zone=NEW_YORK)
    (memo,) = walk.recordings
    assert (memo.name, memo.transcript) == ("memo-01.m4a", capture / "memo-01.vtt")
    assert memo.started_at is not None
    assert (memo.started_at.source, memo.started_at.at) == ("note", START - timedelta(seconds=3))
    assert "memo-01.vtt is used" in problems_of(walk, "memo-01.txt")[0].reason


def test_each_recording_has_its_own_transcript(capture: Path) -> None:
    """Several recordings with a text each, equal or not, all stand with their own."""
    for n, name in enumerate("abcd"):
        wav(capture / f"2026-05-14 09.2{n}.00{name}.wav", 0.5 + n / 10)
        (capture / f"2026-05-14 09.2{n}.00{name}.txt").write_text("Shelf B2.", encoding="utf-8")
    walk = read_capture([capture], zone=NEW_YORK)
    assert [r.transcript for r in walk.recordings[1:]] == [r.path.with_suffix(".txt") for r in walk.recordings[1:]]
    assert len(walk.recordings) == 5
    assert walk.problems == ()


def test_a_transcript_alone_is_a_recording(capture: Path) -> None:
    """A text without a recording is one itself."""
    (capture / "notes.txt").write_text("started_at 2026-05-14T10:00:00-04:00\nShelf C1. No remote.", encoding="utf-8")
    walk = read_capture([capture], zone=NEW_YORK)
    assert [(r.name, r.kind) for r in walk.recordings] == [("memo-01.m4a", "m4a"), ("notes.txt", "transcript")]
    assert walk.recordings[1].transcript == capture / "notes.txt"


def test_a_transcript_speaks_for_a_broken_recording(capture: Path) -> None:
    """Where the sound is lost but its transcript is there, the words are used and the loss is told."""
    (capture / "memo-02.m4a").write_bytes((capture / "memo-01.m4a").read_bytes()[:900])
    (capture / "memo-02.txt").write_text("Shelf C1.", encoding="utf-8")
    walk = read_capture([capture], zone=NEW_YORK)
    assert "memo-02.txt" in [r.name for r in walk.recordings]
    assert problems_of(walk, "memo-02.m4a")[0].fatal


def test_a_binary_transcript_leaves_its_recording(capture: Path) -> None:
    """A text that is none is refused, and the recording beside it is decoded as if it were not there."""
    (capture / "memo-01.txt").write_bytes(b"\0\1\2\xff" * 50)
    walk = read_capture([capture], zone=NEW_YORK)
    assert walk.recordings[0].transcript is None
    assert problems_of(walk, "memo-01.txt")[0].fatal


def test_a_moving_photo_is_no_recording(capture: Path) -> None:
    """The seconds of film beside a photo are left out."""
    encoded(capture / "P1.MOV", "mov", 2.0, picture=True, tags={"com.apple.quicktime.content.identifier": "1F2E"})
    walk = read_capture([capture], zone=NEW_YORK)
    assert [r.name for r in walk.recordings] == ["memo-01.m4a"]
    assert not problems_of(walk, "P1.MOV")[0].fatal


def test_silence_is_told(capture: Path) -> None:
    """A silent recording stays in the walk with a remark."""
    wav(capture / "2026-05-14 09.20.00.wav", 1.0, loud=0)
    walk = read_capture([capture], zone=NEW_YORK)
    assert len(walk.recordings) == 2
    (problem,) = problems_of(walk, "2026-05-14 09.20.00.wav")
    assert "silent" in problem.reason
    assert not problem.fatal


def test_nothing_to_read(tmp_path: Path) -> None:
    """An empty folder, a missing one, and one of useless files are errors that say what to do."""
    (tmp_path / "a").mkdir()
    with pytest.raises(CaptureError, match=r"the folder is empty.*Name the folder"):
        read_capture([tmp_path / "a"])
    with pytest.raises(CaptureError, match="no such file or folder"):
        read_capture([tmp_path / "b"])
    (tmp_path / "a" / "empty.m4a").touch()
    with pytest.raises(CaptureError, match=r"nothing in it can be used\. empty\.m4a: It is empty"):
        read_capture([tmp_path / "a"])


def test_a_folder_without_permission(capture: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The capture's own folder closed is an error; a subfolder or a file closed is a problem."""
    closed: set[str] = {"inner"}
    (capture / "inner").mkdir()
    listed, opened = Path.iterdir, Path.open

    def iterdir(self: Path):  # type: ignore[no-untyped-def]
        if self.name in closed:
            raise PermissionError(13, "Permission denied")
        return listed(self)

    def open_(self: Path, *args: object, **kwargs: object):  # type: ignore[no-untyped-def]
        if self.name in closed:
            raise PermissionError(13, "Permission denied")
        return opened(self, *args, **kwargs)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "iterdir", iterdir)
    monkeypatch.setattr(Path, "open", open_)
    closed.add("P1.JPG")
    walk = read_capture([capture], zone=NEW_YORK)
    for name in ("inner", "P1.JPG"):
        (problem,) = problems_of(walk, name)
        assert problem.fatal
        assert "no permission" in problem.reason
    closed.add(capture.name)
    with pytest.raises(CaptureError, match="no permission"):
        read_capture([capture], zone=NEW_YORK)


def test_links_and_pipes(capture: Path) -> None:
    """A link to nothing is told, a link to a file is that file, and a pipe is never opened."""
    (capture / "gone.jpg").symlink_to(capture / "nowhere.jpg")
    os.mkfifo(capture / "pipe.wav")
    walk = read_capture([capture], zone=NEW_YORK)
    assert "link to something that is gone" in problems_of(walk, "gone.jpg")[0].reason
    assert not problems_of(walk, "pipe.wav")[0].fatal


@pytest.mark.parametrize("generic", ["capture", "Photos", "Recordings 2", "New Folder (3)", "DCIM", "100ABCDE"])
def test_a_folder_named_for_nothing_takes_the_name_above(capture: Path, generic: str) -> None:
    """A folder called "capture" and the like is named by the one above it."""
    (capture / generic).mkdir()
    for path in capture.glob("*.*"):
        path.rename(capture / generic / path.name)
    assert read_capture([capture / generic], zone=NEW_YORK).id == "2026-05-14-north-aisle"


@pytest.mark.parametrize(("name", "walk_id"), [("North Aisle, 2nd", "North-Aisle-2nd"), ("näher/".strip("/"), "näher"),
                                               ("...", "2026-05-14-memo-01"), ("a\nb", "a-b")])
def test_ids_are_safe(capture: Path, name: str, walk_id: str) -> None:
    """A walk's id has letters, digits, points, underscores and hyphens only."""
    folder = capture.rename(capture.parent / name)
    assert read_capture([folder], zone=NEW_YORK).id == walk_id


def test_loose_files(capture: Path) -> None:
    """Files without a folder are named by the day and the first of them."""
    walk = read_capture([capture / "memo-01.m4a", capture / "P1.JPG"], zone=NEW_YORK)
    assert (walk.id, len(walk.photos)) == ("2026-05-14-memo-01", 1)


def test_what_is_given_wins(capture: Path) -> None:
    """Id, day and offset that the user gives override what is found."""
    walk = read_capture([capture], walk_id="w1", day=date(2026, 5, 13), utc_offset_min=60, zone=NEW_YORK)
    assert (walk.id, walk.date, walk.utc_offset_min) == ("w1", date(2026, 5, 13), 60)


@pytest.mark.parametrize("walk_id", ["", "../x", "a b", "x/y", ".hidden", "a\n"])
def test_an_id_that_cannot_be_one_is_refused(capture: Path, walk_id: str) -> None:
    """An id that would make trouble in file names is refused with a better one."""
    with pytest.raises(UsageError, match="cannot be a walk's id"):
        read_capture([capture], walk_id=walk_id)


def test_the_day_is_the_shops(tmp_path: Path) -> None:
    """A walk in the evening of one day is of that day, though UTC is in the next."""
    (tmp_path / "x").mkdir()
    late = datetime(2026, 5, 15, 2, 30, tzinfo=UTC)
    touch(set_movie_times(encoded(tmp_path / "x" / "a.m4a", "m4a", 5.0), since_1904(late)), late + timedelta(seconds=5))
    assert read_capture([tmp_path / "x"], zone=NEW_YORK).date == date(2026, 5, 14)


def test_the_day_comes_from_name_or_photos_where_recordings_have_none(tmp_path: Path) -> None:
    """Where no recording tells a time, the folder's name tells the day, else the photos do."""
    for name, expected in (("2026-05-14 shelf", date(2026, 5, 14)), ("shelf", date(2026, 5, 13))):
        folder = tmp_path / name
        folder.mkdir()
        touch(wav(folder / "memo.wav", 1.0), datetime(2026, 7, 1, tzinfo=UTC))
        touch(jpeg(folder / "P1.JPG", original="2026:05:13 09:12:03"), datetime(2026, 7, 1, tzinfo=UTC))
        walk = read_capture([folder], zone=NEW_YORK)
        assert walk.date == expected
        assert walk.recordings[0].started_at is None
        assert "does not tell when it was made" in problems_of(walk, "memo.wav")[0].reason


def test_a_recorder_with_a_wrong_year_is_outvoted(tmp_path: Path) -> None:
    """Where folder name and photos agree on a day, a recorder years off does not set the walk's day, and is told."""
    folder = tmp_path / "2026-05-14 shelf"
    folder.mkdir()
    off = datetime(2019, 3, 2, 4, 5, 6, tzinfo=UTC)
    touch(set_movie_times(encoded(folder / "memo.m4a", "m4a", 5.0), since_1904(off)), off + timedelta(seconds=5))
    jpeg(folder / "P1.JPG", original="2026:05:14 09:12:03")
    walk = read_capture([folder], zone=NEW_YORK)
    assert walk.date == date(2026, 5, 14)
    assert "not of the walk's day" in problems_of(walk, "memo.m4a")[0].reason


def test_undated_photos_take_the_file_time_only_where_it_is_true(capture: Path) -> None:
    """A photo without a date has its file's time where the others prove file times true, and none after a bare copy."""
    touch(jpeg(capture / "P3.JPG", colour="red"), START + timedelta(seconds=3))
    walk = read_capture([capture], zone=NEW_YORK)
    undated = next(photo for photo in walk.photos if photo.name == "P3.JPG")
    assert undated.taken_at is not None
    assert (undated.taken_at.at, undated.taken_at.source) == (START + timedelta(seconds=3), "file time")
    for path in capture.iterdir():
        touch(path, datetime(2026, 7, 1, 12, 0, tzinfo=UTC))
    walk = read_capture([capture], zone=NEW_YORK)
    undated = next(photo for photo in walk.photos if photo.name == "P3.JPG")
    assert undated.taken_at is None
    assert "no date" in problems_of(walk, "P3.JPG")[0].reason


def test_a_camera_with_a_wrong_year_is_told_once(capture: Path) -> None:
    """Photos years off keep their dates, or take the satellites' where there are some, and are told in one line."""
    for n in range(3):
        jpeg(capture / f"Q{n}.JPG", original=f"2007:01:01 00:12:0{n + 1}", camera=("Old", "Cam"), colour=f"#20{n}020")
    jpeg(capture / "R.JPG", original="2007:01:01 00:12:09", gps=("2026:05:14", (13.0, 12.0, 30.0)))
    walk = read_capture([capture], zone=NEW_YORK)
    by_name = {photo.name: photo.taken_at for photo in walk.photos}
    assert by_name["R.JPG"] is not None
    assert by_name["R.JPG"].source == "exif GPS"
    assert by_name["Q0.JPG"] is not None
    assert by_name["Q0.JPG"].at == datetime(2007, 1, 1, 0, 12, 1)
    (problem,) = walk.problems
    assert "and 2 more of Old Cam" in problem.reason


def test_photos_alone_make_a_walk(capture: Path) -> None:
    """A folder of photos only is a walk without recordings."""
    (capture / "memo-01.m4a").unlink()
    walk = read_capture([capture], zone=NEW_YORK)
    assert (walk.recordings, len(walk.photos), walk.date) == ((), 2, date(2026, 5, 14))


def test_recordings_stand_in_order_of_their_start(tmp_path: Path) -> None:
    """The order is that of time, not of names."""
    (tmp_path / "x").mkdir()
    for name, minutes in (("b", 0), ("a", 10), ("c", 5)):
        at = START + timedelta(minutes=minutes)
        path = set_movie_times(encoded(tmp_path / "x" / f"{name}.m4a", "m4a", 5.0 + minutes / 10), since_1904(at))
        touch(path, at + timedelta(seconds=5 + minutes / 10))
    assert [r.name for r in read_capture([tmp_path / "x"], zone=NEW_YORK).recordings] == ["b.m4a", "c.m4a", "a.m4a"]


needs_walks = pytest.mark.skipif(not BUILT.is_dir(), reason="the example walks (../shared/walks/built) are not here")


@needs_walks
@pytest.mark.parametrize("zone", [None, NEW_YORK], ids=["no zone", "with zone"])
@pytest.mark.parametrize("name", sorted(os.listdir(BUILT)) if BUILT.is_dir() else [])
def test_example_walks(tmp_path: Path, name: str, zone: ZoneInfo | None) -> None:
    """In the example walks, with their file times, every start is true to a second and every photo has a time."""
    folder = tmp_path / name
    shutil.copytree(BUILT / name, folder)
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    for item in (*truth["recordings"], *truth["photos"]):
        os.chmod(folder / "capture" / item["file"], 0o644)
        os.utime(folder / "capture" / item["file"], (item["mtime"], item["mtime"]))
    walk = read_capture([folder / "capture"], zone=zone)
    assert (walk.id, walk.date.isoformat(), walk.problems) == (name, truth["date"], ())
    for recording, true in zip(walk.recordings, truth["recordings"], strict=True):
        assert recording.started_at is not None
        assert abs(recording.started_at.at - datetime.fromisoformat(true["started_at"])) <= timedelta(seconds=1)
        assert recording.started_at.marks == "start"
        assert recording.duration_s == pytest.approx(true["duration_s"], abs=0.1)
    shots = {photo.name: photo.taken_at for photo in walk.photos}
    for true in truth["photos"]:
        taken = shots[true["file"]]
        assert taken is not None
        shown = datetime.fromisoformat(true["camera_time"])
        if true["exif"]:
            assert abs(taken.at.replace(tzinfo=None) - shown) < timedelta(seconds=1)
        else:
            assert taken.source == "file time"
            assert taken.at.timestamp() == pytest.approx(true["mtime"], abs=0.01)


@needs_walks
def test_an_example_walk_after_a_bare_copy(tmp_path: Path) -> None:
    """After a copy that lost the file times, the tags' time stays open, and nothing is dated by the copy."""
    name = "2026-01-20-returns-and-repairs"
    shutil.copytree(BUILT / name / "capture", tmp_path / name, copy_function=shutil.copyfile)
    walk = read_capture([tmp_path / name], zone=NEW_YORK)
    assert {recording.started_at.source for recording in walk.recordings if recording.started_at} == {"id3 date"}
    assert {recording.started_at.marks for recording in walk.recordings if recording.started_at} == {"start or end"}
    assert not any(photo.taken_at and photo.taken_at.source == "file time" for photo in walk.photos)


def test_reading_a_capture_loads_nothing_heavy() -> None:
    """The module is on the way to `intake --help`, so it loads no sound or picture library."""
    script = ("import sys, intake.capture.folder, intake.capture.thumbnails;"
              "print(*sorted({'av', 'PIL', 'numpy', 'pillow_heif', 'exifread'} & set(sys.modules)))")
    out = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True, text=True,
                         cwd=Path(__file__).parents[2])
    assert out.stdout.strip() == ""
