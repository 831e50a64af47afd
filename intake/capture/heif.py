"""HEIC, HEIF and AVIF files (ISO/IEC 23008-12, 14496-12): size of the primary picture, its Exif and XMP items."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from io import BytesIO
from typing import BinaryIO

from intake.capture.boxes import Box, boxes
from intake.capture.pictures import MAX_BLOCK, PictureHeader

MAX_META = 8 << 20
MAX_ITEMS = 20_000
MAX_EXTENTS = 64
_MIME_XMP = b"application/rdf+xml"


@dataclass
class Meta:
    """The parts of a `meta` box that matter here; item places are (from, length) in the file or in `idat`."""

    primary: int = 0
    types: dict[int, bytes] = field(default_factory=dict)
    mimes: dict[int, bytes] = field(default_factory=dict)
    places: dict[int, tuple[int, list[tuple[int, int]]]] = field(default_factory=dict)   # method, extents
    about: set[tuple[int, int]] = field(default_factory=set)                             # (metadata, picture)
    sizes: list[tuple[int, int]] = field(default_factory=list)                           # by property index
    owned: dict[int, list[int]] = field(default_factory=dict)                            # item -> property indices
    inner: bytes = b""                                                                   # idat


class Reader:
    """Numbers one after the other from a box's content; ends quietly: past the end all is 0."""

    def __init__(self, data: bytes, at: int = 0) -> None:
        self.data, self.at = data, at

    def number(self, width: int) -> int:
        """The next big-endian number of `width` bytes."""
        self.at += width
        return int.from_bytes(self.data[self.at - width:self.at], "big")

    @property
    def done(self) -> bool:
        """Whether nothing is left."""
        return self.at >= len(self.data)


def heif_header(file: BinaryIO, end: int) -> PictureHeader:
    """Size, Exif and XMP of a HEIF file; `whole` is False where the primary picture's data reaches past the end."""
    meta, whole = Meta(), True
    for box in boxes(file, 0, end):
        whole = whole and box.whole
        if box.type == b"meta":
            file.seek(box.start + 4)
            _read_meta(file.read(max(0, min(box.end - box.start - 4, MAX_META))), meta)
            break
    width, height = _size(meta)
    primary = meta.places.get(meta.primary, (0, []))
    whole = whole and (primary[0] != 0 or all(start + length <= end for start, length in primary[1]))
    exif = _item(file, end, meta, [i for i, kind in meta.types.items() if kind == b"Exif"])
    xmp = _item(file, end, meta, [i for i, kind in meta.types.items()
                                  if kind == b"mime" and meta.mimes.get(i) == _MIME_XMP])
    return PictureHeader(width, height, _tiff_of(exif), xmp, whole=whole)


def _read_meta(data: bytes, meta: Meta) -> None:
    parts = {b"pitm": _pitm, b"iinf": _iinf, b"iloc": _iloc, b"iref": _iref, b"iprp": _iprp}
    for box, content in _inside(data):
        if box.type in parts:
            parts[box.type](content, meta)
        elif box.type == b"idat":
            meta.inner = content


def _inside(data: bytes) -> Iterator[tuple[Box, bytes]]:
    for box in boxes(BytesIO(data), 0, len(data)):
        yield box, data[box.start:box.end]


def _pitm(data: bytes, meta: Meta) -> None:
    meta.primary = Reader(data, 4).number(4 if data[:1] != b"\0" else 2)


def _iinf(data: bytes, meta: Meta) -> None:
    """Item infos of version 2 and 3: id, protection, type, name, and for `mime` the content type."""
    for box, content in _inside(data[6 if data[:1] == b"\0" else 8:]):
        if box.type != b"infe" or content[:1] not in (b"\x02", b"\x03"):
            continue
        reader = Reader(content, 4)
        item = reader.number(4 if content[:1] == b"\x03" else 2)
        reader.number(2)
        meta.types[item] = content[reader.at:reader.at + 4]
        if meta.types[item] == b"mime":
            meta.mimes[item] = content[reader.at + 4:].split(b"\0", 2)[1:2][0] if b"\0" in content else b""


def _iloc(data: bytes, meta: Meta) -> None:
    """Where the items lie (14496-12 8.11.3, versions 0 to 2)."""
    version = data[0] if data else 0
    reader = Reader(data, 4)
    sizes = reader.number(2)
    offset_w, length_w, base_w = sizes >> 12, sizes >> 8 & 15, sizes >> 4 & 15
    index_w = sizes & 15 if version in (1, 2) else 0
    for _ in range(min(reader.number(4 if version == 2 else 2), MAX_ITEMS)):
        item = reader.number(4 if version == 2 else 2)
        method = reader.number(2) & 15 if version in (1, 2) else 0
        reader.number(2)
        base, extents = reader.number(base_w), []
        count = reader.number(2)
        if reader.done:
            return
        for _ in range(min(count, MAX_EXTENTS)):
            reader.number(index_w)
            extents.append((base + reader.number(offset_w), reader.number(length_w)))
        reader.at += max(0, count - MAX_EXTENTS) * (index_w + offset_w + length_w)
        meta.places[item] = (method, extents)


def _iref(data: bytes, meta: Meta) -> None:
    """Which metadata item describes (`cdsc`) which picture."""
    width = 2 if data[:1] == b"\0" else 4
    for box, content in _inside(data[4:]):
        if box.type == b"cdsc":
            reader = Reader(content)
            source = reader.number(width)
            for _ in range(min(reader.number(2), len(content) // width)):
                meta.about.add((source, reader.number(width)))


def _iprp(data: bytes, meta: Meta) -> None:
    """Picture sizes (`ispe`), the part of them that is shown (`clap`), and which item has which property."""
    for box, content in _inside(data):
        if box.type == b"ipco":
            for prop, inner in _inside(content):
                meta.sizes.append(_size_told(prop.type, inner))
        elif box.type == b"ipma":
            _ipma(content, meta)


def _ipma(data: bytes, meta: Meta) -> None:
    wide = bool(data[3:4]) and bool(data[3] & 1)
    reader = Reader(data, 4)
    for _ in range(min(reader.number(4), MAX_ITEMS)):
        if reader.done:
            return
        item = reader.number(2 if data[:1] == b"\0" else 4)
        indices = [reader.number(2) & 0x7FFF if wide else reader.number(1) & 0x7F for _ in range(reader.number(1))]
        meta.owned.setdefault(item, []).extend(indices)


def _size_told(kind: bytes, data: bytes) -> tuple[int, int]:
    """Width and height that a property tells: ispe in whole pixels, clap as two ratios; (0, 0) for any other."""
    reader = Reader(data)
    if kind == b"ispe":
        reader.number(4)
        return reader.number(4), reader.number(4)
    if kind != b"clap":
        return 0, 0
    parts = [reader.number(4) for _ in range(4)]
    return parts[0] // max(1, parts[1]), parts[2] // max(1, parts[3])


def _size(meta: Meta) -> tuple[int, int]:
    """The smallest size among the primary picture's properties: coded size, or the part of it that is shown."""
    told = [meta.sizes[index - 1] for index in meta.owned.get(meta.primary, []) if 0 < index <= len(meta.sizes)]
    return min((size for size in told if size != (0, 0)), key=lambda size: size[0] * size[1], default=(0, 0))


def _item(file: BinaryIO, end: int, meta: Meta, items: list[int]) -> bytes:
    """The content of the first of `items` that describes the primary picture, else of the first at all."""
    items.sort(key=lambda item: (item, meta.primary) not in meta.about)
    for item in items[:1]:
        method, extents = meta.places.get(item, (0, []))
        content = b""
        for start, length in extents:
            length = min(length, MAX_BLOCK - len(content))
            if method == 1:
                content += meta.inner[start:start + length]
            elif method == 0 and start < end:
                file.seek(start)
                content += file.read(length)
        return content
    return b""


def _tiff_of(content: bytes) -> bytes:
    """The TIFF block of an Exif item: behind a 4-byte offset (23008-12 A.2.1), which some writers get wrong."""
    told = 4 + int.from_bytes(content[:4], "big")
    for at in (told, 0, 4, 10):
        if content[at:at + 4] in (b"II*\0", b"MM\0*"):
            return content[at:]
    return b""
