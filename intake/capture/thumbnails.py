"""Small upright copies of the photos, made once and kept in the shop folder; originals are only read.

A thumbnail is a new picture: no Exif, no place, no comment goes over from the original.
"""

from __future__ import annotations

import os
import tempfile
import threading
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, cast

from intake.capture.exif import MAX_PIXELS, orientation_of
from intake.capture.pictures import PictureHeader, read_header, without_exif
from intake.capture.sniff import sniff
from intake.capture.tiff import read_exif
from intake.capture.walk import Photo, Problem
from intake.errors import CaptureError, ShopError

if TYPE_CHECKING:
    from PIL.Image import Image
    from PIL.ImageFile import ImageFile

SIZE = 640
QUALITY = 82
MAX_FILE = 256 << 20
LARGE = 40_000_000                      # pixels; larger pictures are opened one at a time, for the memory's sake
_one_large = threading.Lock()
# Exif Orientation (CIPA DC-008, tag 0x0112) -> the turn that makes it upright, by its name in PIL.Image.Transpose.
_TURNS = {2: "FLIP_LEFT_RIGHT", 3: "ROTATE_180", 4: "FLIP_TOP_BOTTOM", 5: "TRANSPOSE", 6: "ROTATE_270", 7: "TRANSVERSE",
          8: "ROTATE_90"}


def thumbnail_path(out_folder: Path, sha256: str, size: int = SIZE) -> Path:
    """Where the thumbnail of a photo with that content lies, once it is made."""
    return out_folder / f"{sha256}-{size}.jpg"


def make_thumbnail(photo_path: Path, out_folder: Path, sha256: str, size: int = SIZE) -> Path:
    """Make the thumbnail, at most `size` pixels wide and high, unless it is there already; gives its path.

    Raises CaptureError for a photo that cannot be opened, ShopError where the thumbnail cannot be
    written. A half-written thumbnail is never left behind.
    """
    target = thumbnail_path(out_folder, sha256, size)
    if target.exists():
        return target
    picture = small_upright(photo_path, size)
    try:
        out_folder.mkdir(parents=True, exist_ok=True)
        _write(picture, target)
    except OSError as error:
        raise ShopError(f"the thumbnail cannot be written: {error.strerror or error}.", path=target,
                        hint="Check the free space and the permissions of the shop folder.") from error
    return target


def make_thumbnails(photos: Iterable[Photo], folder: Path, *, workers: int | None = None,
                    size: int = SIZE) -> tuple[dict[str, Path], list[Problem]]:
    """Make the thumbnails of many photos at once: paths by content hash, and what could not be made and why."""

    def one(photo: Photo) -> Path | Problem:
        try:
            return make_thumbnail(photo.path, folder, photo.sha256, size)
        except (CaptureError, ShopError) as error:
            return Problem(photo.name, f"No small copy of it could be made: {error.args[0]} {error.hint}".strip(),
                           fatal=False)

    todo = list(photos)
    with ThreadPoolExecutor(max_workers=workers or os.cpu_count() or 1) as pool:
        results = list(pool.map(one, todo))
    paths = {photo.sha256: made for photo, made in zip(todo, results, strict=True) if isinstance(made, Path)}
    return paths, [made for made in results if isinstance(made, Problem)]


def small_upright(path: Path, size: int) -> Image:
    """The picture at most `size` pixels wide and high: opened with care, turned upright, put on white.

    Raises CaptureError for what is no photo, cannot be decoded or is too large to open.
    """
    try:
        kind = sniff(path).kind
        if kind not in ("jpeg", "png", "heic", "avif"):
            raise CaptureError("is no photo.", path=path)
        if path.stat().st_size > MAX_FILE:
            raise CaptureError(f"is larger than {MAX_FILE >> 20} MB; no photo of a walk is.", path=path)
        header = read_header(path, kind)
        _refuse_large(header.width * header.height, path)
        with path.open("rb") as file, _opened(file, kind) as picture:
            pixels = picture.width * picture.height
            _refuse_large(pixels, path)                          # the decoder may see another size than the header
            turn = _turn(picture, kind, header)
            with _one_large if pixels > LARGE else nullcontext():
                return _reduced(picture, size, turn)
    except CaptureError:
        raise
    # Image decoders raise whatever comes up on damaged data (SyntaxError, struct.error, EOFError, RuntimeError from
    # libheif, zlib.error ...); each means the same here: this photo has no thumbnail.
    except Exception as error:
        raise CaptureError(f"its picture cannot be decoded ({type(error).__name__}).", path=path,
                           hint="Copy it again from the camera.") from error


def _refuse_large(pixels: int, path: Path) -> None:
    if pixels > MAX_PIXELS:
        raise CaptureError(f"claims {pixels / 1e6:,.0f} megapixels, too many to open.", path=path)


def _opened(file: BinaryIO, kind: str) -> ImageFile:
    """The format's own reader on the open file, so that none other is ever tried; it decodes nothing yet."""
    reader: Any
    if kind == "heic":
        from pillow_heif import HeifImageFile as reader
    elif kind == "avif":
        from PIL.AvifImagePlugin import AvifImageFile as reader
    elif kind == "png":
        from PIL.PngImagePlugin import PngImageFile as reader
    else:
        from PIL.JpegImagePlugin import JpegImageFile as reader

        # An end mark more does no harm, and with it the decoder takes a picture that breaks off.
        return cast("ImageFile", reader(BytesIO(without_exif(file.read()) + b"\xff\xd9")))
    return cast("ImageFile", reader(file))


def _turn(picture: ImageFile, kind: str, header: PictureHeader) -> str | None:
    """The turn still to be made: HEIC comes upright from its decoder, AVIF's decoder tells its turn as Exif."""
    if kind == "heic":
        return None
    block = picture.info.get("exif", b"").removeprefix(b"Exif\0\0") if kind == "avif" else header.exif
    return _TURNS.get(orientation_of(read_exif(block)))


def _reduced(picture: ImageFile, size: int, turn: str | None) -> Image:
    from PIL import Image

    picture.thumbnail((size, size), Image.Resampling.LANCZOS)    # for JPEG it decodes at a fraction ("draft") by itself
    small: Image.Image = picture
    if small.mode.startswith("I"):
        small = small.point(lambda value: value / 256).convert("L")        # 16 bits a pixel
    if small.has_transparency_data:
        layer = small.convert("RGBA")
        small = Image.new("RGBA", layer.size, "white")
        small.alpha_composite(layer)
    small = small.convert("RGB")
    if turn is not None:
        small = small.transpose(Image.Transpose[turn])
    clean = Image.new("RGB", small.size)
    clean.paste(small)                                           # leaves comments and profiles behind
    return clean


def _write(picture: Image, target: Path) -> None:
    """Write beside the target, then rename: whoever looks sees no half a picture."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=".making-", suffix=".jpg")
    try:
        with os.fdopen(handle, "wb") as file:
            picture.save(file, format="JPEG", quality=QUALITY)
        Path(name).chmod(0o644)
        Path(name).replace(target)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
