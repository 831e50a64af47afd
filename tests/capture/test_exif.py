"""What photos tell about their time, camera and turn: against exiftool, the standard, and hostile blocks."""

from __future__ import annotations

import csv
import json
import shutil
import struct
import subprocess
import time
import tracemalloc
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from intake.capture.exif import GPS, LAST_CHANGE, ORIGINAL, read_photo, xmp_dates
from intake.capture.pictures import read_header
from intake.capture.sniff import sniff
from intake.capture.tiff import read_exif
from intake.capture.walk import Photo
from intake.errors import CaptureError

from .makers import REFERENCE, box, exif_of, jpeg, jpeg_around, tiff, touch

SAMPLES = REFERENCE / "data" / "exif"
needs_samples = pytest.mark.skipif(not SAMPLES.is_dir(), reason="no reference photos (../shared/data/exif)")
COLUMNS = {"DateTimeOriginal": "DateTimeOriginal", "OffsetTimeOriginal": "OffsetTimeOriginal",
           "SubSecTimeOriginal": "SubSecTimeOriginal", "GPSDateStamp": "GPSDateStamp", "GPSTimeStamp": "GPSTimeStamp",
           "Orientation": "Orientation", "exif_DateTimeDigitized": "DateTimeDigitized", "exif_DateTime": "DateTime"}
XMP_COLUMNS = {"xmp_DateTimeOriginal": ("exif:DateTimeOriginal",),
               "xmp_CreateDate": ("xmp:CreateDate", "xap:CreateDate")}
KINDS = {"JPEG": "jpeg", "HEIC": "heic", "HEIF": "heic", "AVIF": "avif"}


def expected_rows() -> list[dict[str, str]]:
    """The rows of expected.tsv, written with exiftool 12.57."""
    if not SAMPLES.is_dir():
        return []
    with (SAMPLES / "expected.tsv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter="\t"))


def as_read(path: Path) -> dict[str, str]:
    """What we read from a photo, in exiftool's spelling, by the columns of expected.tsv."""
    kind = sniff(path).kind
    header = read_header(path, kind)
    tags, dates = read_exif(header.exif), xmp_dates(header.xmp)
    row = {column: tags.get(tag, "-") for column, tag in COLUMNS.items()}
    for column, keys in XMP_COLUMNS.items():
        text = next((dates[key] for key in keys if key in dates), "-")
        row[column] = text[:10].replace("-", ":") + text[10:].replace("T", " ") if text != "-" else "-"
    return row


@needs_samples
@pytest.mark.parametrize("row", expected_rows(), ids=lambda row: row["file"])
def test_every_field_equals_exiftool(row: dict[str, str]) -> None:
    """Each field of each reference photo is what exiftool 12.57 wrote down, and so is its kind."""
    path = SAMPLES / row["file"]
    assert as_read(path) == {column: row[column] for column in (*COLUMNS, *XMP_COLUMNS)}
    assert sniff(path).kind == KINDS[row["file_type"]]


@needs_samples
@pytest.mark.skipif(not shutil.which("exiftool"), reason="exiftool (libimage-exiftool-perl) is not installed")
def test_every_field_equals_the_installed_exiftool() -> None:
    """The same fields, the body number and the size are what the exiftool on this computer reads now."""
    tags = {"DateTimeOriginal": "ExifIFD:DateTimeOriginal", "OffsetTimeOriginal": "ExifIFD:OffsetTimeOriginal",
            "SubSecTimeOriginal": "ExifIFD:SubSecTimeOriginal", "GPSDateStamp": "GPS:GPSDateStamp",
            "GPSTimeStamp": "GPS:GPSTimeStamp", "Orientation": "IFD0:Orientation", "DateTime": "IFD0:ModifyDate",
            "DateTimeDigitized": "ExifIFD:CreateDate", "OffsetTime": "ExifIFD:OffsetTime", "Make": "IFD0:Make",
            "OffsetTimeDigitized": "ExifIFD:OffsetTimeDigitized", "SubSecTime": "ExifIFD:SubSecTime",
            "SubSecTimeDigitized": "ExifIFD:SubSecTimeDigitized", "Model": "IFD0:Model",
            "BodySerialNumber": "ExifIFD:SerialNumber"}
    command = ["exiftool", "-json", "-n", "-G1", *(f"-{tag}" for tag in tags.values()), "-ImageWidth", "-ImageHeight"]
    files = [SAMPLES / row["file"] for row in expected_rows()]
    told = json.loads(subprocess.run([*command, *map(str, files)], capture_output=True, check=True).stdout)
    for path, theirs in zip(files, told, strict=True):
        header = read_header(path, sniff(path).kind)
        ours = read_exif(header.exif)
        for name, tag in tags.items():
            assert ours.get(name, "") == str(theirs.get(tag, "")).strip(), (path.name, name)
        assert header.width in [theirs[key] for key in theirs if key.endswith(":ImageWidth")], path.name


@needs_samples
@pytest.mark.parametrize("row", [row for row in expected_rows() if row["file_type"] == "JPEG"],
                         ids=lambda row: row["file"])
def test_every_tag_equals_exifreads(row: dict[str, str]) -> None:
    """Each tag that both read from a JPEG is the one that ExifRead, an independent library, reads."""
    import exifread
    path = SAMPLES / row["file"]
    ours = read_exif(read_header(path, "jpeg").exif)
    with path.open("rb") as file:
        theirs = exifread.process_file(file, details=False)
    names = {"Make": "Image Make", "Model": "Image Model", "DateTime": "Image DateTime",
             "GPSDateStamp": "GPS GPSDate", **{n: f"EXIF {n}" for n in (
                 "DateTimeOriginal", "DateTimeDigitized", "OffsetTime", "OffsetTimeOriginal", "SubSecTime",
                 "SubSecTimeOriginal", "SubSecTimeDigitized", "BodySerialNumber")}}
    both = {name: str(theirs[tag]).strip("\0 ") for name, tag in names.items() if tag in theirs and name in ours}
    assert {name: ours[name] for name in both} == both
    if "GPS GPSTimeStamp" in theirs and "GPSTimeStamp" in ours:
        hours, minutes, seconds = (float(v) for v in theirs["GPS GPSTimeStamp"].values)
        own = [float(part) for part in ours["GPSTimeStamp"].split(":")]
        assert own == pytest.approx([hours, minutes, seconds], abs=0.01)


@needs_samples
@pytest.mark.parametrize(("name", "at", "source"), [
    ("01-offset-subsec.heic", datetime(2021, 4, 11, 15, 47, 53, 54_000, timezone(timedelta(hours=-5))), ORIGINAL),
    ("05-original-subsec.heic", datetime(2020, 12, 3, 15, 4, 31, 40_000), ORIGINAL),
    ("03-gps-no-original.heif", datetime(2022, 1, 12, 7, 30, 14, tzinfo=UTC), GPS),
    ("11-subsec-one-digit.jpg", datetime(2008, 5, 25, 19, 31, 26), ORIGINAL),
    ("10-bad-ifd-pointer-xmp-date.jpg", datetime(2013, 7, 5, 3, 18, 27, tzinfo=UTC), "xmp DateTimeOriginal"),
    ("14-modify-date-only.jpg", datetime(2016, 9, 12, 10, 5, 31), LAST_CHANGE),
    ("24-xmp-zone-beside-exif.jpg", datetime(2008, 3, 15, 9, 52, 1), ORIGINAL),
])
def test_which_reading_wins(name: str, at: datetime, source: str) -> None:
    """The shutter's own date wins, with the zone of that very date or none; weaker ones only where it is missing."""
    taken = read_photo(SAMPLES / name).taken_at
    assert taken is not None
    assert (taken.at, taken.source, taken.at.tzinfo is None) == (at, source, at.tzinfo is None)


@needs_samples
@pytest.mark.parametrize("name", ["04-no-dates.heif", "06-heic-named-jpg.jpg", "21-makernote-date-only.jpg",
                                  "26-painted-no-dates.jpg", "31-orientation-6-no-dates.jpg"])
def test_photos_without_a_date_have_none(name: str) -> None:
    """Where the file tells no date, none is made up; only the file's own time stands among the readings."""
    photo = read_photo(SAMPLES / name)
    assert photo.taken_at is None
    assert [moment.source for moment in photo.times] == ["file time"]


@needs_samples
def test_a_clock_at_its_reset_value_is_kept_but_not_believed() -> None:
    """The stroke of a new year is kept among the readings, but is not when the photo was taken."""
    photo = read_photo(SAMPLES / "28-clock-reset-new-year.jpg")
    assert photo.taken_at is not None
    assert photo.taken_at.source == LAST_CHANGE
    assert any(moment.at == datetime(2007, 1, 1) and moment.source == ORIGINAL for moment in photo.times)


def test_original_takes_only_its_own_offset_and_fraction(tmp_path: Path) -> None:
    """OffsetTime and SubSecTime belong to the last change, and never go to DateTimeOriginal."""
    image = Image.new("RGB", (8, 8))
    exif = image.getexif()
    exif[0x0132] = "2026:05:15 10:00:00"
    exif.get_ifd(0x8769).update({0x9003: "2026:05:14 09:12:03", 0x9010: "+02:00", 0x9290: "77"})
    image.save(tmp_path / "a.jpg", exif=exif.tobytes())
    photo = read_photo(tmp_path / "a.jpg")
    assert photo.taken_at is not None
    assert photo.taken_at.at == datetime(2026, 5, 14, 9, 12, 3)
    assert photo.taken_at.at.tzinfo is None
    changed = next(moment for moment in photo.times if moment.source == LAST_CHANGE)
    assert changed.at.isoformat() == "2026-05-15T10:00:00.770000+02:00"


@pytest.mark.parametrize("original", ["0000:00:00 00:00:00", "    :  :     :  :  ", "2026:02:30 09:12:03", "yesterday",
                                      "1980:01:01 00:00:12"])
def test_impossible_dates_give_way(tmp_path: Path, original: str) -> None:
    """An impossible or blank shutter date is passed over for the next reading."""
    photo = read_photo(jpeg(tmp_path / "a.jpg", original=original, changed="2026:05:14 09:30:00"))
    assert photo.taken_at is not None
    assert photo.taken_at.source == LAST_CHANGE


def test_gps_time_is_utc(tmp_path: Path) -> None:
    """GPSDateStamp and GPSTimeStamp are UTC (CIPA DC-008) and rank behind the shutter's date."""
    path = jpeg(tmp_path / "a.jpg", original="2026:05:14 09:12:03", gps=("2026:05:14", (13.0, 12.0, 1.5)))
    photo = read_photo(path)
    assert [moment.source for moment in photo.times][:2] == [ORIGINAL, GPS]
    assert photo.times[1].at == datetime(2026, 5, 14, 13, 12, 1, 500_000, UTC)


def test_name_and_file_time_are_the_last_resorts(tmp_path: Path) -> None:
    """A date in the name serves where the file has none inside; the file's time is only kept."""
    path = touch(jpeg(tmp_path / "IMG_20260514_091203.jpg"), datetime(2026, 6, 1, tzinfo=UTC))
    photo = read_photo(path)
    assert photo.taken_at is not None
    assert (photo.taken_at.at, photo.taken_at.source) == (datetime(2026, 5, 14, 9, 12, 3), "file name")
    assert photo.times[-1].at == datetime(2026, 6, 1, tzinfo=UTC)


def test_cameras_are_told_apart(tmp_path: Path) -> None:
    """Make, model and body number name a camera; a make that the model repeats is said once."""
    assert read_photo(jpeg(tmp_path / "a.jpg", camera=("Larkmont", "L-7"), body="0042")).camera == "Larkmont L-7 0042"
    assert read_photo(jpeg(tmp_path / "b.jpg", camera=("LARKMONT INC.", "Larkmont L-7"))).camera == "Larkmont L-7"
    assert read_photo(jpeg(tmp_path / "c.jpg")).camera is None


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation(tmp_path: Path, orientation: int) -> None:
    """Orientation 1 to 8 is read as it stands."""
    assert read_photo(jpeg(tmp_path / "a.jpg", orientation=orientation)).orientation == orientation


@pytest.mark.parametrize("orientation", [9, 255])
def test_orientation_out_of_range_is_upright(tmp_path: Path, orientation: int) -> None:
    """An orientation that the standard does not know turns nothing."""
    assert read_photo(jpeg(tmp_path / "a.jpg", orientation=orientation)).orientation == 1


@pytest.mark.parametrize("order", ["<", ">"])
def test_both_byte_orders(order: str) -> None:
    """Blocks of Intel and of Motorola byte order read alike (TIFF 6.0)."""
    entry = (0x0112, 3, 1, struct.pack(order + "HH", 6, 0))
    assert read_exif(tiff([entry], order)) == {"Orientation": "6"}


@pytest.mark.parametrize(("format_", "kind"), [("HEIF", "heic"), ("AVIF", "avif"), ("PNG", "png")])
def test_other_formats_carry_the_same_block(tmp_path: Path, format_: str, kind: str) -> None:
    """HEIC, AVIF and PNG files tell size and date as JPEG does."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    image = Image.new("RGB", (80, 48), "green")
    exif = exif_of(image, original="2026:05:14 09:12:03", offset="-04:00", subsec="25")
    image.save(tmp_path / "a.jpg", format=format_, exif=exif)
    photo = read_photo(tmp_path / "a.jpg")
    assert photo.taken_at is not None
    assert photo.taken_at.at.isoformat() == "2026-05-14T09:12:03.250000-04:00"
    assert (photo.kind, photo.width, photo.height) == (kind, 80, 48)


@pytest.mark.parametrize("text", ["2026-05-14T09:12:03", "Thu, 14 May 2026 09:12:03 -0000"])
def test_png_creation_time(tmp_path: Path, text: str) -> None:
    """The text "Creation Time" of a PNG is a reading, in RFC 1123's form (PNG specification) or ISO 8601's."""
    info = PngImagePlugin.PngInfo()
    info.add_text("Creation Time", text)
    Image.new("L", (8, 8)).save(tmp_path / "a.png", pnginfo=info)
    taken = read_photo(tmp_path / "a.png").taken_at
    assert taken is not None
    assert taken.at.replace(tzinfo=None) == datetime(2026, 5, 14, 9, 12, 3)


@pytest.mark.parametrize("size", [(20_000, 20_000), (65_535, 65_535)])
def test_a_bomb_is_refused_by_its_header(tmp_path: Path, size: tuple[int, int]) -> None:
    """A picture that claims more pixels than can be opened is an error that says so, and nothing is decoded."""
    (tmp_path / "bomb.jpg").write_bytes(jpeg_around(b"", size))
    with pytest.raises(CaptureError, match=r"bomb\.jpg: claims .* megapixels"):
        read_photo(tmp_path / "bomb.jpg")


@pytest.mark.parametrize("keep", [0.2, 0.6, 0.98])
def test_a_picture_that_breaks_off_is_used_with_a_remark(tmp_path: Path, keep: float) -> None:
    """A truncated photo keeps its date, and says that it is truncated."""
    image = Image.effect_noise((400, 300), 80)
    image.save(tmp_path / "a.jpg", exif=exif_of(image, original="2026:05:14 09:12:03"))
    data = (tmp_path / "a.jpg").read_bytes()
    (tmp_path / "a.jpg").write_bytes(data[:int(len(data) * keep)])
    photo = read_photo(tmp_path / "a.jpg")
    assert photo.taken_at is not None
    assert "breaks off" in photo.remarks[0]


def test_a_whole_picture_has_no_remark(tmp_path: Path) -> None:
    """Trailing bytes after the picture, as phones add them, are nothing to remark on."""
    path = jpeg(tmp_path / "a.jpg")
    path.write_bytes(path.read_bytes() + b"trailer" * 1000)
    assert read_photo(path).remarks == ()


def test_what_is_no_photo_says_what_it_is(tmp_path: Path) -> None:
    """A file of another kind is named for what it is."""
    (tmp_path / "a.jpg").write_bytes(b"%PDF-1.7 \0\1")
    with pytest.raises(CaptureError, match="is no photo but a PDF document"):
        read_photo(tmp_path / "a.jpg")


HOSTILE = {
    "points at itself": tiff([(0x8769, 4, 1, struct.pack("<I", 8)), (0x8825, 4, 1, struct.pack("<I", 8))]),
    "points far away": tiff([(0x8769, 4, 1, b"\xff\xff\xff\x7f")]),
    "counts four thousand million": tiff([(0x0132, 2, 0xFFFFFFFF, struct.pack("<I", 8))] * 5000),
    "says 65535 entries": b"II*\0\x08\0\0\0\xff\xff" + b"\x12\x01\x03\0\x01\0\0\0\x06\0\0\0" * 5000,
    "divides by zero": tiff([(0x8825, 4, 1, struct.pack("<I", 26))], tail=struct.pack(
        "<HHHIII", 1, 7, 5, 3, 44, 0) + b"\0" * 24),
    "unknown types": tiff([(tag, kind, 1, b"\xff" * 4) for tag in (0x0112, 0x0132, 0x8769) for kind in range(20)]),
    "no directory": b"II*\0\xff\xff\xff\xff",
    "nothing": b"",
}


@pytest.mark.parametrize("block", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_blocks_cost_neither_time_nor_memory(block: bytes) -> None:
    """Loops, giant counts and far pointers end at once in under a megabyte."""
    tracemalloc.start()
    begun = time.perf_counter()
    tags = read_exif(block)
    took, (_, peak) = time.perf_counter() - begun, tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert took < 1
    assert peak < 4_000_000
    assert all(len(text) <= 256 for text in tags.values())


def test_item_tables_without_end_are_cut_short(tmp_path: Path) -> None:
    """A HEIF item table that promises thousands of millions of parts of no size is given up at once."""
    item = struct.pack(">HHHH", 1, 0, 0xFFFF, 0)
    iloc = box(b"iloc", b"\0\0\0\0" + b"\0\0" + struct.pack(">H", 0xFFFF) + item * 60_000)
    data = box(b"ftyp", b"heic\0\0\0\0mif1heic") + box(b"meta", b"\0\0\0\0" + iloc)
    (tmp_path / "a.heic").write_bytes(data)
    begun = time.perf_counter()
    with pytest.raises(CaptureError, match="damaged"):
        read_photo(tmp_path / "a.heic")
    assert time.perf_counter() - begun < 5


FUZZ = settings(max_examples=150, deadline=2000, derandomize=True, database=None,
                suppress_health_check=[HealthCheck.function_scoped_fixture])
HEADS = st.sampled_from([b"", b"\xff\xd8\xff\xe1", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", box(b"ftyp", b"heic\0\0\0\0mif1"),
                         box(b"ftyp", b"avif\0\0\0\0avif"), jpeg_around(HOSTILE["unknown types"])])


def photo_or_error(path: Path) -> Photo | CaptureError:
    """The photo, or the one error that may come instead."""
    try:
        return read_photo(path)
    except CaptureError as error:
        return error


@FUZZ
@given(block=st.binary(max_size=600), head=st.sampled_from([b"", b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08"]))
def test_any_bytes_as_exif(block: bytes, head: bytes) -> None:
    """Exif of any bytes gives short texts or nothing."""
    assert all(len(text) <= 256 for text in read_exif(head + block).values())


@FUZZ
@given(head=HEADS, rest=st.binary(max_size=2000))
def test_any_bytes_as_a_photo(tmp_path: Path, head: bytes, rest: bytes) -> None:
    """A file of any bytes is a photo or a CaptureError that names it."""
    path = tmp_path / "any.jpg"
    path.write_bytes(head + rest)
    result = photo_or_error(path)
    assert result.width * result.height > 0 if isinstance(result, Photo) else result.path == path


@FUZZ
@given(data=st.data(), format_=st.sampled_from(["JPEG", "PNG", "HEIF", "AVIF"]))
def test_any_damage_to_a_real_photo(tmp_path: Path, data: st.DataObject, format_: str) -> None:
    """A real photo with bytes changed or cut off is a photo or a CaptureError that names it."""
    whole = tmp_path / f"whole.{format_}"
    if not whole.exists():
        import pillow_heif

        pillow_heif.register_heif_opener()
        image = Image.new("RGB", (64, 64), "teal")
        image.save(whole, format=format_, exif=exif_of(image, original="2026:05:14 09:12:03", offset="-04:00",
                                                       gps=("2026:05:14", (13.0, 12.0, 3.0)), orientation=6))
    content = bytearray(whole.read_bytes())
    for _ in range(data.draw(st.integers(1, 12))):
        content[data.draw(st.integers(0, len(content) - 1))] = data.draw(st.integers(0, 255))
    path = tmp_path / "damaged"
    path.write_bytes(content[:data.draw(st.integers(1, len(content)))])
    result = photo_or_error(path)
    assert 1 <= result.orientation <= 8 if isinstance(result, Photo) else result.path == path
