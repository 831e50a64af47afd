"""The dozen Exif tags that tell when, how turned and by which camera a photo was taken.

Own code in place of a general Exif library, on purpose: those follow every pointer in the block, and
crafted or damaged blocks then cost minutes or memory. This reads three directories once each and
at most 256 bytes a tag, so its work is bounded by the size of the block.
Layout by TIFF 6.0, tags by Exif (CIPA DC-008).
"""

from __future__ import annotations

import re
import struct

MAX_VALUE = 256
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4, 129: 1}
_TEXTS = (1, 2, 7, 129)
_WHOLE = (3, 4, 8, 9)
_MAIN = {0x010F: "Make", 0x0110: "Model", 0x0112: "Orientation", 0x0132: "DateTime"}
_EXIF = {0x9003: "DateTimeOriginal", 0x9004: "DateTimeDigitized", 0x9010: "OffsetTime",
         0x9011: "OffsetTimeOriginal", 0x9012: "OffsetTimeDigitized", 0x9290: "SubSecTime",
         0x9291: "SubSecTimeOriginal", 0x9292: "SubSecTimeDigitized", 0xA431: "BodySerialNumber"}
_GPS = {0x0007: "GPSTimeStamp", 0x001D: "GPSDateStamp"}
_EXIF_AT, _GPS_AT = 0x8769, 0x8825
_CONTROL = re.compile(r"[\x00-\x1f\x7f]")

Entry = tuple[int, int, bytes]     # field type, count, value bytes


def read_exif(block: bytes) -> dict[str, str]:
    """The known tags of an Exif block (a TIFF header and what follows) as text; empty where it is none.

    Numbers are written in decimal, GPSTimeStamp as "HH:MM:SS" or "HH:MM:SS.ss". What is damaged is left out.
    """
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(block[:4])
    if order is None or len(block) < 8:
        return {}
    main = _directory(block, order, _number(block[4:8], order))
    tags = _texts(main, _MAIN, order)
    for pointer, names in ((_EXIF_AT, _EXIF), (_GPS_AT, _GPS)):
        entry = main.get(pointer)
        if entry is not None and entry[0] in (4, 13) and entry[1] == 1:
            tags |= _texts(_directory(block, order, _number(entry[2], order)), names, order)
    return tags


def _directory(block: bytes, order: str, at: int) -> dict[int, Entry]:
    """The entries of one directory that lie inside the block."""
    entries: dict[int, Entry] = {}
    if at < 8 or at + 2 > len(block):
        return entries
    count = _number(block[at:at + 2], order)
    for place in range(at + 2, min(at + 2 + 12 * count, len(block) - 11), 12):
        tag, kind, length = struct.unpack_from(order + "HHI", block, place)
        size = _SIZES.get(kind, 0) * length
        if not size:
            continue
        start = place + 8 if size <= 4 else _number(block[place + 8:place + 12], order)
        if start + min(size, MAX_VALUE) <= len(block):
            entries.setdefault(tag, (kind, length, block[start:start + min(size, MAX_VALUE)]))
    return entries


def _texts(entries: dict[int, Entry], names: dict[int, str], order: str) -> dict[str, str]:
    found = {}
    for tag, name in names.items():
        if tag in entries:
            text = _text(entries[tag], order)
            if text:
                found[name] = text
    return found


def _text(entry: Entry, order: str) -> str:
    kind, count, data = entry
    if kind in _TEXTS:
        return _CONTROL.sub(" ", data.split(b"\0")[0].decode("utf-8", "replace")).strip()
    if kind in _WHOLE and count == 1:
        return str(_number(data, order))
    if kind == 5 and count == 3 and len(data) == 24:
        return _clock(struct.unpack(order + "6I", data))
    return ""


def _clock(parts: tuple[int, ...]) -> str:
    """Three ratios -> "HH:MM:SS.ss"; "" for a clock that no day has."""
    if 0 in (parts[1], parts[3], parts[5]):
        return ""
    hours, minutes, seconds = parts[0] / parts[1], parts[2] / parts[3], parts[4] / parts[5]
    total = round(hours * 3600 + minutes * 60 + seconds, 6)
    if not 0 <= total < 86400:
        return ""
    whole = int(total)
    fraction = f"{total - whole:.6f}"[1:].rstrip("0").rstrip(".")
    return f"{whole // 3600:02d}:{whole // 60 % 60:02d}:{whole % 60:02d}{fraction}"


def _number(data: bytes, order: str) -> int:
    return int.from_bytes(data, "little" if order == "<" else "big")
