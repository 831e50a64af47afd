"""When a photo was taken, by which camera, and how it is turned; only headers are read.

Which reading wins, and why, stands in docs/times.md.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from pathlib import Path

from intake.capture.pictures import PictureHeader, read_header
from intake.capture.sniff import sniff
from intake.capture.stamps import believable, parse_stamp, parse_zone, subsecond, time_in_name
from intake.capture.tiff import read_exif
from intake.capture.walk import Moment, Photo
from intake.errors import CaptureError

MAX_PIXELS = 178_956_970         # where Pillow refuses a picture as a decompression bomb (twice MAX_IMAGE_PIXELS)
ORIGINAL = "exif DateTimeOriginal"
DIGITIZED = "exif DateTimeDigitized"
GPS = "exif GPS"
LAST_CHANGE = "exif DateTime (last change)"
FILE_NAME = "file name"
FILE_TIME = "file time"
_XMP_DATES = {"exif:DateTimeOriginal": "xmp DateTimeOriginal", "photoshop:DateCreated": "xmp DateCreated",
              "xmp:CreateDate": "xmp CreateDate", "xap:CreateDate": "xmp CreateDate"}    # xap: its name before 2004
PHOTO_RANK = (ORIGINAL, DIGITIZED, "xmp DateTimeOriginal", FILE_NAME, GPS, "xmp DateCreated", "xmp CreateDate",
              "png Creation Time", LAST_CHANGE, FILE_TIME)
_XMP = re.compile(rb"<?\b(exif:DateTimeOriginal|photoshop:DateCreated|x[am]p:CreateDate)"
                  rb"(?:\s{0,8}=\s{0,8}[\"']([^\"'<]{1,64})[\"']|>\s{0,64}([^<]{1,64})<)")


def read_photo(path: Path, *, kind: str | None = None, name: str | None = None, sha256: str = "") -> Photo:
    """Read what the header of one photo tells.

    `times` holds every reading, best first; `taken_at` is the best believable one that the file itself
    tells. The file's own time stays the last of `times`: whether it is worth anything only the whole
    capture can show. Raises CaptureError for a file that is no photo, is damaged or too large to open.
    """
    try:
        kind = kind or _kind(path)
        header = read_header(path, kind)
        changed = path.stat().st_mtime
    except OSError as error:
        raise CaptureError(f"cannot be read: {error.strerror or error}.", path=path,
                           hint="Check the file's permission, or copy it again.") from error
    _refuse_unusable(header, path)
    tags = read_exif(header.exif)
    times = sort_readings([*photo_readings(tags, header), *_outside_readings(path, changed)])
    own = [moment for moment in times if moment.source != FILE_TIME and believable(moment.at)]
    return Photo(path=path, name=name or path.name, sha256=sha256, kind=kind, taken_at=own[0] if own else None,
                 times=times, camera=camera_of(tags), orientation=orientation_of(tags), width=header.width,
                 height=header.height, remarks=_remarks(header))


def photo_readings(tags: dict[str, str], header: PictureHeader) -> list[Moment]:
    """Every date inside the file: Exif by its own offset and sub-second, GPS in UTC, XMP, PNG text."""
    found = [_exif_reading(tags, "DateTimeOriginal", "Original", ORIGINAL),
             _exif_reading(tags, "DateTimeDigitized", "Digitized", DIGITIZED),
             _exif_reading(tags, "DateTime", "", LAST_CHANGE),
             _reading(_gps_time(tags), GPS), _reading(_png_time(header.created), "png Creation Time")]
    for key, text in xmp_dates(header.xmp).items():
        stamp = parse_stamp(text)
        found.append(_reading(stamp.at if stamp else None, _XMP_DATES[key]))
    return [moment for moment in found if moment is not None]


def xmp_dates(packet: bytes) -> dict[str, str]:
    """The dates of an XMP packet as written, by property name; the first of each counts."""
    dates: dict[str, str] = {}
    for found in _XMP.finditer(packet):
        text = (found[2] or found[3]).decode("utf-8", "replace").strip()
        dates.setdefault(found[1].decode(), text)
    return dates


def sort_readings(times: list[Moment]) -> tuple[Moment, ...]:
    """Best first: by believability, then by rank of the source."""
    return tuple(sorted(times, key=lambda moment: (not believable(moment.at), PHOTO_RANK.index(moment.source))))


def camera_of(tags: dict[str, str]) -> str | None:
    """Make, model and body number in one line; a make that the model repeats is said once."""
    make, model = tags.get("Make", ""), tags.get("Model", "")
    if make and model.lower().startswith(make.split()[0].lower()):
        make = ""
    return " ".join(part for part in (make, model, tags.get("BodySerialNumber", "")) if part) or None


def orientation_of(tags: dict[str, str]) -> int:
    """Exif Orientation; 1 where it is missing or not 1 to 8."""
    text = tags.get("Orientation", "")
    return int(text) if text in tuple("12345678") else 1


def _kind(path: Path) -> str:
    found = sniff(path)
    if found.family != "picture":
        raise CaptureError(f"is no photo but {found.what}.", path=path)
    return found.kind


def _refuse_unusable(header: PictureHeader, path: Path) -> None:
    pixels = header.width * header.height
    if not pixels:
        raise CaptureError("is damaged: its header names no picture size.", path=path,
                           hint="Copy it again from the camera.")
    if pixels > MAX_PIXELS:
        raise CaptureError(f"claims {pixels / 1e6:,.0f} megapixels; more than {MAX_PIXELS / 1e6:.0f} is not opened, "
                           "because it would fill the memory.", path=path,
                           hint="If it is a real photo, save a smaller copy beside it.")


def _remarks(header: PictureHeader) -> tuple[str, ...]:
    return () if header.whole else ("The picture breaks off before its end; what is there is used. "
                                    "Copy it again from the camera.",)


def _exif_reading(tags: dict[str, str], date_tag: str, suffix: str, source: str) -> Moment | None:
    """One Exif date with the offset and sub-second that belong to it, never with another date's."""
    stamp = parse_stamp(tags.get(date_tag, ""))
    if stamp is None:
        return None
    at = stamp.at.replace(microsecond=subsecond(tags.get(f"SubSecTime{suffix}", "")) or stamp.at.microsecond)
    if at.tzinfo is None:
        at = at.replace(tzinfo=parse_zone(tags.get(f"OffsetTime{suffix}", "")))
    return Moment(at, source)


def _gps_time(tags: dict[str, str]) -> datetime | None:
    stamp = parse_stamp(f"{tags.get('GPSDateStamp', '')} {tags.get('GPSTimeStamp', '')}")
    return stamp.at.replace(tzinfo=UTC) if stamp else None


def _png_time(text: str) -> datetime | None:
    """PNG "Creation Time": RFC 1123 by recommendation, ISO 8601 in practice."""
    stamp = parse_stamp(text)
    if stamp is not None or not text.strip():
        return stamp.at if stamp else None
    try:
        return parsedate_to_datetime(text[:64])
    except (ValueError, OverflowError):
        return None


def _outside_readings(path: Path, changed: float) -> list[Moment]:
    named = time_in_name(path.stem)
    readings = [Moment(named, FILE_NAME)] if named else []
    written = file_time(changed)
    return [*readings, Moment(written, FILE_TIME)] if written else readings


def file_time(seconds: float) -> datetime | None:
    """UTC of a file's modification time; None for one that no calendar holds."""
    try:
        return datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError):
        return None


def _reading(at: datetime | None, source: str) -> Moment | None:
    return Moment(at, source) if at is not None else None
