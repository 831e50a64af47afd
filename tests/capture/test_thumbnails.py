"""Small upright copies of photos."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
from pathlib import Path

import pytest
from PIL import Image, ImageOps

from intake.capture import thumbnails
from intake.capture.exif import read_photo
from intake.capture.thumbnails import make_thumbnail, make_thumbnails, thumbnail_path
from intake.capture.walk import Photo
from intake.errors import CaptureError, ShopError

from .makers import REFERENCE, exif_of, jpeg, jpeg_around

SAMPLES = REFERENCE / "data" / "exif"


def quartered(size: tuple[int, int] = (400, 200)) -> Image.Image:
    """A picture whose quarters have four colours, so that every turn shows."""
    image = Image.new("RGB", size)
    w, h = size[0] // 2, size[1] // 2
    for n, colour in enumerate(("red", "lime", "blue", "white")):
        image.paste(colour, (n % 2 * w, n // 2 * h, n % 2 * w + w, n // 2 * h + h))
    return image


def corners(image: Image.Image) -> list[tuple[int, ...]]:
    """The rough colours at the middle of each quarter."""
    w, h = image.size
    places = ((w // 4, h // 4), (3 * w // 4, h // 4), (w // 4, 3 * h // 4), (3 * w // 4, 3 * h // 4))
    pixels = [image.convert("RGB").getpixel(place) for place in places]
    return [tuple(round(value / 255) for value in pixel) for pixel in pixels if isinstance(pixel, tuple)]


@pytest.mark.parametrize("format_", ["JPEG", "PNG", "HEIF", "AVIF"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_upright_as_pillow_turns_it(tmp_path: Path, format_: str, orientation: int) -> None:
    """For every orientation of every format the thumbnail stands as Pillow's exif_transpose has it."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    image = quartered()
    image.save(tmp_path / "a", format=format_, exif=exif_of(image, orientation=orientation))
    with Image.open(tmp_path / "a") as original:
        expected = ImageOps.exif_transpose(original)
    with Image.open(make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64, 100)) as small:
        assert max(small.size) == 100
        assert (small.width > small.height) == (expected.width > expected.height)
        assert corners(small) == corners(expected)


def test_nothing_but_the_picture_goes_over(tmp_path: Path) -> None:
    """Place, dates, camera, comments and profiles of the original are not in the thumbnail."""
    path = jpeg(tmp_path / "a.jpg", size=(300, 200), original="2026:05:14 09:12:03", camera=("Larkmont", "L-7"),
                gps=("2026:05:14", (13.0, 12.0, 3.0)), comment=b"our street")
    made = make_thumbnail(path, tmp_path / "out", "0" * 64)
    data = made.read_bytes()
    assert not any(text in data for text in (b"Exif", b"Larkmont", b"2026", b"our street", b"ICC_PROFILE", b"http"))
    if shutil.which("exiftool"):
        told = subprocess.run(["exiftool", "-s", "-G0", str(made)], capture_output=True, text=True, check=True).stdout
        groups = {line.split("]")[0].strip("[ ") for line in told.splitlines()}
        assert groups <= {"ExifTool", "File", "JFIF", "Composite"}


def test_the_original_is_untouched(tmp_path: Path) -> None:
    """Making a thumbnail changes neither the content nor the time of the photo."""
    path = jpeg(tmp_path / "a.jpg", size=(300, 200), orientation=6)
    before = (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns)
    make_thumbnail(path, tmp_path / "out", "0" * 64)
    assert (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_mtime_ns) == before


def test_made_once(tmp_path: Path) -> None:
    """A thumbnail that is there is not made again, even when the photo is gone."""
    path = jpeg(tmp_path / "a.jpg")
    made = make_thumbnail(path, tmp_path / "out", "0" * 64)
    path.unlink()
    assert make_thumbnail(path, tmp_path / "out", "0" * 64) == made == thumbnail_path(tmp_path / "out", "0" * 64)


def test_a_small_photo_is_not_blown_up(tmp_path: Path) -> None:
    """A picture smaller than a thumbnail keeps its size."""
    with Image.open(make_thumbnail(jpeg(tmp_path / "a.jpg", size=(48, 32)), tmp_path / "out", "0" * 64)) as small:
        assert small.size == (48, 32)


@pytest.mark.parametrize("mode", ["L", "P", "RGBA", "LA", "I;16", "1", "CMYK"])
def test_every_mode(tmp_path: Path, mode: str) -> None:
    """Grey, palette, transparent, 16-bit and print colours all give an RGB thumbnail."""
    image = Image.new(mode, (64, 64))
    image.save(tmp_path / "a", format="JPEG" if mode == "CMYK" else "PNG")
    with Image.open(make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)) as small:
        assert (small.mode, small.format) == ("RGB", "JPEG")


def test_what_is_see_through_lies_on_white(tmp_path: Path) -> None:
    """A transparent picture is shown on white, not on black."""
    Image.new("RGBA", (64, 64), (255, 0, 0, 0)).save(tmp_path / "a", format="PNG")
    with Image.open(make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)) as small:
        assert small.getpixel((32, 32)) == (255, 255, 255)


def test_sixteen_bits_keep_their_light(tmp_path: Path) -> None:
    """A 16-bit grey of half the light is half the light in the thumbnail."""
    Image.new("I;16", (64, 64), 0x8000).save(tmp_path / "a", format="PNG")
    with Image.open(make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)) as small:
        pixel = small.getpixel((32, 32))
    assert isinstance(pixel, tuple)
    assert pixel[0] == pytest.approx(128, abs=2)


def test_a_large_real_picture_opens_without_a_warning(tmp_path: Path) -> None:
    """A photo of a hundred megapixels, over Pillow's warning line, is made small; warnings are errors here."""
    Image.new("L", (12_000, 8_400), 90).save(tmp_path / "a", format="JPEG")
    with Image.open(make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)) as small:
        assert small.size == (640, 448)


@pytest.mark.parametrize("size", [(20_000, 20_000), (65_535, 65_535)])
def test_a_bomb_is_not_opened(tmp_path: Path, size: tuple[int, int]) -> None:
    """A picture that would fill the memory is an error and leaves no file."""
    (tmp_path / "a").write_bytes(jpeg_around(b"", size))
    with pytest.raises(CaptureError, match="megapixels"):
        make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)
    assert not (tmp_path / "out").exists()


def test_a_second_frame_header_does_not_smuggle_a_bomb(tmp_path: Path) -> None:
    """A JPEG whose last size is giant is refused, though its first is small."""
    frame = b"\xff\xc0\0\x0b\x08\xff\xff\xff\xff\x01\x01\x11\0"
    data = jpeg_around(b"")
    at = data.index(b"\xff\xda")
    (tmp_path / "a").write_bytes(data[:at] + frame + data[at:])
    with pytest.raises(CaptureError):
        make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)


def test_a_picture_that_breaks_off_shows_what_is_there(tmp_path: Path) -> None:
    """Of a truncated photo the upper part is still to be seen."""
    Image.new("RGB", (400, 400), "red").save(tmp_path / "whole", format="JPEG", quality=95)
    data = (tmp_path / "whole").read_bytes()
    (tmp_path / "a").write_bytes(data[:int(len(data) * 0.8)])
    with Image.open(make_thumbnail(tmp_path / "a", tmp_path / "out", "0" * 64)) as small:
        assert corners(small)[0] == (1, 0, 0)


def test_damage_in_exif_costs_no_thumbnail(tmp_path: Path) -> None:
    """Nonsense in the Exif block neither warns nor keeps the picture from being shown."""
    path = jpeg(tmp_path / "a.jpg", original="2026:05:14 09:12:03", camera=("Larkmont", "L-7"))
    data = bytearray(path.read_bytes())
    at = data.index(b"Exif\0\0") + 14
    data[at:at + 40] = b"\xff" * 40
    path.write_bytes(data)
    assert make_thumbnail(path, tmp_path / "out", "0" * 64).exists()


def test_many_at_once(tmp_path: Path) -> None:
    """Thumbnails are made in parallel; what cannot be made comes back as a problem and stops none."""
    photos = [read_photo(jpeg(tmp_path / f"{n}.jpg", colour=f"#0000{n:02x}"), sha256=f"{n:064d}") for n in range(20)]
    (tmp_path / "bad.jpg").write_bytes(b"\xff\xd8\xff\xe0 nothing")
    bad = Photo(tmp_path / "bad.jpg", "bad.jpg", "f" * 64, "jpeg")
    gone = Photo(tmp_path / "gone.jpg", "gone.jpg", "e" * 64, "jpeg")
    paths, problems = make_thumbnails([*photos, bad, gone], tmp_path / "out", workers=4)
    assert len(paths) == 20
    assert [problem.name for problem in problems] == ["bad.jpg", "gone.jpg"]
    assert not any(problem.fatal for problem in problems)
    assert sorted(os.listdir(tmp_path / "out")) == sorted(path.name for path in paths.values())


def test_a_full_disk_leaves_no_half_thumbnail(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk is full, the error says so and no part of a thumbnail stays."""
    def no_space(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    path = jpeg(tmp_path / "a.jpg")
    monkeypatch.setattr(Image.Image, "save", no_space)
    with pytest.raises(ShopError, match=r"No space left on device.*free space"):
        make_thumbnail(path, tmp_path / "out", "0" * 64)
    assert list((tmp_path / "out").iterdir()) == []


@pytest.mark.skipif(not SAMPLES.is_dir(), reason="no reference photos (../shared/data/exif)")
def test_reference_photos(tmp_path: Path) -> None:
    """Every reference photo, among them damaged ones, has a thumbnail of the shape that Pillow shows."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    for n, path in enumerate(sorted(SAMPLES.glob("[0-9]*"))):
        with Image.open(path) as original, Image.open(make_thumbnail(path, tmp_path, f"{n:064d}", 200)) as small:
            width, height = ImageOps.exif_transpose(original).size
            assert small.width / small.height == pytest.approx(width / height, abs=0.03), path.name


def test_large_pictures_are_opened_one_at_a_time(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures above the line of large ones are not decoded side by side."""
    running, most = 0, 0

    def watched(picture: Image.Image, size: int, turn: str | None) -> Image.Image:
        nonlocal running, most
        running += 1
        most = max(most, running)
        made = original(picture, size, turn)
        running -= 1
        return made

    original = thumbnails._reduced
    monkeypatch.setattr(thumbnails, "_reduced", watched)
    monkeypatch.setattr(thumbnails, "LARGE", 1000)
    photos = [read_photo(jpeg(tmp_path / f"{n}.jpg", size=(500, 400)), sha256=f"{n:064d}") for n in range(8)]
    paths, problems = make_thumbnails(photos, tmp_path / "out", workers=8)
    assert (len(paths), problems, most) == (8, [], 1)
