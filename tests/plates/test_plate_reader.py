"""Reading text from photo files: what is kept, what fails alone, and the reader itself where it is installed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from PIL import Image, ImageDraw, ImageFont
from plate_lines import WORDS, line

from intake.capture import plate_reader, plates
from intake.capture.plate_reader import PlateLine, read_plate, reader_missing
from intake.capture.plates import PlatesRead, from_dict, read_plates, to_dict
from intake.capture.walk import Photo
from intake.errors import CaptureError
from intake.matching.plates import read_fields

LINES = (line("MODEL NO. AI-350"), line("SERIAL NO. 14772", more=(False, True)))
needs_reader = pytest.mark.skipif(reader_missing() is not None, reason="the plates extra is not installed")


def photo(folder: Path, name: str = "P1.JPG", content: bytes = b"\xff\xd8\xff one") -> Photo:
    path = folder / name
    path.write_bytes(content)
    return Photo(path, name, hashlib.sha256(content).hexdigest(), "jpeg")


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """A reader that finds LINES in every photo but "BAD.JPG", and notes what it was asked."""
    asked: list[str] = []

    def fake(path: Path, *, threads: int = 0) -> tuple[PlateLine, ...]:
        asked.append(path.name)
        if path.name == "BAD.JPG":
            raise CaptureError("its picture cannot be decoded.", path=path, hint="Copy it again.")
        return LINES

    monkeypatch.setattr(plates, "read_plate", fake)
    monkeypatch.setattr(plates, "reader_missing", lambda: None)
    return asked


def test_lines_survive_the_round_trip() -> None:
    """What is written down is what is read back."""
    assert from_dict(json.loads(json.dumps(to_dict(LINES)))) == LINES


def test_a_photo_is_read_once(tmp_path: Path, calls: list[str]) -> None:
    """The second time the lines come from the folder, and the same picture under another name too."""
    first, twin = photo(tmp_path), photo(tmp_path, "P2.JPG")
    assert read_plates([first, twin], tmp_path / "plates").lines == {first.sha256: LINES}
    again = read_plates([first], tmp_path / "plates")
    assert (again.lines, dict(again.seconds)) == ({first.sha256: LINES}, {})
    assert len(calls) == 1


@pytest.mark.parametrize(
    "kept",
    [
        "",
        "{",
        "[]",
        '{"format": 0}',
        '{"format": 1, "reader": "x", "lines": []}',
        '{"format": 1, "lines": [{"text": 1}]}',
        "[" * 100_000,
    ],
)
def test_damaged_or_old_readings_are_read_anew(tmp_path: Path, calls: list[str], kept: str) -> None:
    """A kept reading that is no whole one of this version is replaced."""
    one, folder = photo(tmp_path), tmp_path / "plates"
    folder.mkdir()
    (folder / f"{one.sha256}.json").write_text(kept)
    assert read_plates([one], folder).lines == {one.sha256: LINES}
    assert calls == ["P1.JPG"]
    assert from_dict(json.loads((folder / f"{one.sha256}.json").read_text())) == LINES


def test_one_bad_photo_costs_no_other(tmp_path: Path, calls: list[str]) -> None:
    """A photo that cannot be read is named with its reason; the others are read; progress is told for each."""
    told: list[tuple[int, int]] = []
    good, bad = photo(tmp_path), photo(tmp_path, "BAD.JPG", b"\xff\xd8\xff two")
    read = read_plates([bad, good], None, progress=lambda n, of: told.append((n, of)))
    assert read.lines == {good.sha256: LINES}
    assert [(p.name, p.fatal) for p in read.problems] == [("BAD.JPG", False)]
    assert "cannot be decoded" in read.problems[0].reason
    assert told == [(1, 2), (2, 2)]


def test_without_the_package_nothing_is_read_and_the_result_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the extra is not installed a walk gets a clear note, no error; a single photo is refused by name."""
    monkeypatch.setattr(plate_reader, "PACKAGE", "no_such_reader_of_plates")
    read = read_plates([photo(tmp_path)], tmp_path / "plates")
    assert (dict(read.lines), read.problems) == ({}, ())
    assert read.missing is not None
    assert "walkaround-intake[plates]" in read.missing
    with pytest.raises(CaptureError, match="not installed"):
        read_plate(tmp_path / "P1.JPG")


def test_no_photos_no_work(calls: list[str]) -> None:
    """A walk without photos is read in no time."""
    assert read_plates([], None) == PlatesRead()


@needs_reader
@pytest.mark.parametrize(
    "content", [b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n" + b"\0" * 64, b"no picture at all", bytes(range(256)) * 40]
)
def test_what_is_no_picture_is_a_capture_error(tmp_path: Path, content: bytes) -> None:
    """Damaged and foreign files are refused before the reader sees them."""
    with pytest.raises(CaptureError):
        read_plate(photo(tmp_path, content=content).path)


@needs_reader
def test_bombs_are_refused(tmp_path: Path) -> None:
    """A picture that claims more pixels than the memory bears is not opened."""
    header = (
        b"\x89PNG\r\n\x1a\n"
        + (13).to_bytes(4, "big")
        + b"IHDR"
        + (60_000).to_bytes(4, "big") * 2
        + b"\x08\x02\0\0\0"
        + b"\0" * 4
    )
    with pytest.raises(CaptureError, match="megapixels"):
        read_plate(photo(tmp_path, content=header + (0).to_bytes(4, "big") + b"IEND" + b"\0" * 4).path)


def drawn(turn: int = 0) -> Image.Image:
    """A plain plate, turned by so many degrees."""
    picture = Image.new("RGB", (900, 500), (210, 208, 200))
    pen, font = ImageDraw.Draw(picture), ImageFont.load_default(34)
    for n, text in enumerate(("CORVANE", "MODEL NO. AI-350", "120V~ 60Hz", "SERIAL NO. 14772")):
        pen.text((120, 80 + 80 * n), text, font=font, fill=(20, 20, 20))
    return picture.rotate(turn, expand=True)


@pytest.mark.slow
@needs_reader
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_drawn_plate_is_read_whichever_way_up(tmp_path: Path, turn: int) -> None:
    """The real reader finds all four fields, however the camera was held."""
    path = tmp_path / "P1.PNG"
    drawn(turn).save(path)
    found = {r.field: r.value for r in read_fields(read_plate(path), WORDS).accepted}
    assert found == {"maker": "Corvane", "model": "AI-350", "serial": "14772", "line_voltage": "120 V"}


@pytest.mark.slow
@needs_reader
def test_a_cable_across_the_serial_is_noticed(tmp_path: Path) -> None:
    """A serial whose end is hidden reads whole but is not taken."""
    path, picture = tmp_path / "P1.PNG", drawn()
    at = 120 + ImageFont.load_default(34).getlength("SERIAL NO. 147")
    ImageDraw.Draw(picture).line([(at + 14, 0), (at + 14, 500)], fill=(10, 10, 10), width=30)
    picture.save(path)
    assert read_fields(read_plate(path), WORDS).serial is None


@pytest.mark.slow
@needs_reader
def test_heic_and_pictures_without_text(tmp_path: Path) -> None:
    """HEIC is read like any other photo; a picture without text gives no line."""
    from pillow_heif import from_pillow

    from_pillow(drawn()).save(tmp_path / "P1.HEIC", quality=90)
    assert any("14772" in found.text for found in read_plate(tmp_path / "P1.HEIC"))
    Image.linear_gradient("L").resize((800, 600)).convert("RGB").save(tmp_path / "P2.JPG")
    assert read_plate(tmp_path / "P2.JPG") == ()
