"""What the header of a photo file holds: size, Exif block, XMP packet; never a pixel.

JPEG by ITU-T T.81 and CIPA DC-008, PNG by its specification (third edition); HEIF is in heif.py.
All reading is bounded: so many segments, so many bytes, whatever the file claims.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

MAX_SEGMENTS = 4096
MAX_CHUNKS = 100_000
MAX_BLOCK = 4 << 20            # bytes of one metadata block that are read
_EXIF = b"Exif\0\0"
_XMP = b"http://ns.adobe.com/xap/1.0/\0"
_NOT_A_FRAME = (0xC4, 0xC8, 0xCC)


@dataclass(frozen=True)
class PictureHeader:
    """Width and height as stored (0: not told), the metadata blocks, and whether the file ends as it should."""

    width: int = 0
    height: int = 0
    exif: bytes = b""
    xmp: bytes = b""
    created: str = ""          # PNG "Creation Time"
    whole: bool = True


def read_header(path: Path, kind: str) -> PictureHeader:
    """Read the header of a photo of that kind ("jpeg", "png", "heic", "avif"); OSError passes through."""
    from intake.capture.heif import heif_header

    with path.open("rb") as file:
        end = file.seek(0, 2)
        file.seek(0)
        return {"jpeg": _jpeg, "png": _png, "heic": heif_header, "avif": heif_header}[kind](file, end)


def without_exif(data: bytes) -> bytes:
    """A JPEG file with its Exif and XMP segments made unreadable, for decoders that would follow what they say."""
    copy = bytearray(data)
    for marker, at, _ in _segments(BytesIO(data), len(data)):
        if marker == 0xE1:
            copy[at + 2:at + 6] = b"none"
    return bytes(copy)


def _jpeg(file: BinaryIO, end: int) -> PictureHeader:
    """Walk the segments up to the start of the scan, then look for the end mark."""
    width = height = 0
    exif = xmp = b""
    whole = False
    for marker, at, length in _segments(file, end):
        if marker == 0xDA:
            whole = _has_end_mark(file, at + length)
        elif marker == 0xE1:
            content = file.read(length - 2)
            if content.startswith(_EXIF):
                exif = exif or content[len(_EXIF):]
            elif content.startswith(_XMP):
                xmp = xmp or content[len(_XMP):]
        elif 0xC0 <= marker <= 0xCF and marker not in _NOT_A_FRAME and not width:
            frame = file.read(5)
            height, width = int.from_bytes(frame[1:3], "big"), int.from_bytes(frame[3:5], "big")
    return PictureHeader(width, height, exif, xmp, whole=whole)


def _segments(file: BinaryIO, end: int) -> Iterator[tuple[int, int, int]]:
    """The segments up to the start of the scan: marker, place behind it, length; the file stands at the content."""
    at = 2
    for _ in range(MAX_SEGMENTS):
        marker, at = _marker(file, at)
        if marker in (-1, 0xD9):
            return
        if marker == 0x01 or 0xD0 <= marker <= 0xD8:
            continue
        length = int.from_bytes(file.read(2), "big")
        if length < 2 or at + length > end:
            return
        yield marker, at, length
        if marker == 0xDA:
            return
        at += length


def _marker(file: BinaryIO, at: int) -> tuple[int, int]:
    """The marker at or after `at`, past fill bytes, and the place behind it; -1 where there is none nearby."""
    file.seek(at)
    near = file.read(64)
    start = near.find(b"\xff")
    while 0 <= start < len(near) - 1:
        if near[start + 1] not in (0x00, 0xFF):
            file.seek(at + start + 2)
            return near[start + 1], at + start + 2
        start = near.find(b"\xff", start + 1)
    return -1, at


def _has_end_mark(file: BinaryIO, at: int) -> bool:
    """Whether an end-of-image mark follows; in coded data FF D9 cannot occur (T.81, byte stuffing)."""
    file.seek(at)
    last = b""
    while block := file.read(1 << 20):
        if b"\xff\xd9" in last + block:
            return True
        last = block[-1:]
    return False


def _png(file: BinaryIO, end: int) -> PictureHeader:
    """Walk the chunks; eXIf and iTXt may stand before or after the picture data."""
    width = height = 0
    exif = xmp = b""
    created, at = "", 8
    for _ in range(MAX_CHUNKS):
        file.seek(at)
        head = file.read(8)
        size = int.from_bytes(head[:4], "big")
        if len(head) < 8 or at + 12 + size > end:
            return PictureHeader(width, height, exif, xmp, created, whole=False)
        name = head[4:]
        if name == b"IHDR" and not width:
            content = file.read(8)
            width, height = int.from_bytes(content[:4], "big"), int.from_bytes(content[4:8], "big")
        elif name == b"eXIf" and not exif:
            exif = file.read(min(size, MAX_BLOCK)).removeprefix(_EXIF)
        elif name == b"iTXt" and not xmp:
            xmp = _png_xmp(file.read(min(size, MAX_BLOCK)))
        elif name == b"tEXt" and not created:
            key, _, value = file.read(min(size, 1024)).partition(b"\0")
            created = value.decode("latin-1") if key == b"Creation Time" else ""
        elif name == b"IEND":
            return PictureHeader(width, height, exif, xmp, created)
        at += 12 + size
    return PictureHeader(width, height, exif, xmp, created, whole=False)


def _png_xmp(content: bytes) -> bytes:
    """The XMP packet of an uncompressed iTXt chunk; b"" where it holds something else."""
    key, _, rest = content.partition(b"\0")
    if key != b"XML:com.adobe.xmp" or rest[:1] != b"\0":
        return b""
    return rest[2:].split(b"\0", 2)[-1]
