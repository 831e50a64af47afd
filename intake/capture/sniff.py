"""What a file is, told by its first bytes; its suffix may lie and is not asked.

Signatures are those of the formats' own standards: RIFF, ISO/IEC 14496-12 (`ftyp`), RFC 3533 (Ogg),
FLAC, RFC 4867 (AMR), ISO/IEC 11172-3 and 13818-7 (MPEG audio, ADTS), CIPA DC-008 (JPEG), PNG, WebVTT.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

HEAD = 8192
Family = Literal["sound", "picture", "text", "other"]

_PICTURE_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1",
                   b"mif2", b"miaf"}
_FILM_BRANDS = {b"isom", b"iso2", b"mp41", b"mp42", b"qt  "}
_AVIF_BRANDS = {b"avif", b"avis"}
_MOVIE_BOXES = {b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"}
_OTHER = (
    (b"%PDF", "a PDF document"), (b"PK\x03\x04", "a zip archive or an office document"),
    (b"\xd0\xcf\x11\xe0", "an office document"), (b"{\\rtf", "a rich-text document"),
    (b"GIF8", "a GIF picture"), (b"II*\0", "a TIFF or raw picture"), (b"MM\0*", "a TIFF or raw picture"),
    (b"BM", "a BMP picture"), (b"8BPS", "a layered picture"), (b"7z\xbc\xaf", "a 7z archive"),
    (b"\x1f\x8b", "a gzip archive"), (b"Rar!", "a rar archive"), (b"MZ", "a program"), (b"\x7fELF", "a program"),
    (b"SQLite format 3", "a database"), (b"MThd", "a MIDI file"), (b"\xff\x0a", "a JPEG XL picture"),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture"),
)


@dataclass(frozen=True)
class Sniffed:
    """What the content says: `kind` as Recording.kind or Photo.kind has it, `what` in words for a message."""

    family: Family
    kind: str
    what: str


def sniff(path: Path) -> Sniffed:
    """Tell the kind of the file at `path`; OSError passes through."""
    with path.open("rb") as file:
        head = file.read(HEAD)
        past_tag = id3_end(head)
        if past_tag:
            file.seek(past_tag)
            return _tagged(file.read(HEAD))
    return sniff_bytes(head)


def sniff_bytes(head: bytes) -> Sniffed:
    """Tell the kind from the first bytes of a file."""
    past_tag = id3_end(head)
    if past_tag:
        return _tagged(head[past_tag:])
    picture = _picture(head)
    if picture:
        return Sniffed("picture", picture, f"a {picture.upper()} picture")
    sound = _sound(head)
    if sound:
        return Sniffed("sound", sound, f"a {sound} recording")
    if looks_like_text(head):
        return _text(head)
    for magic, what in _OTHER:
        if head.startswith(magic):
            return Sniffed("other", "", what)
    if not head.strip(b"\0"):
        return Sniffed("other", "", "filled with zero bytes, as a copy that failed leaves it")
    return Sniffed("other", "", "of no kind that is known here")


def id3_end(head: bytes) -> int:
    """Where the sound begins behind an ID3v2 tag (size in four times seven bits); 0 without a tag."""
    if not head.startswith(b"ID3") or len(head) < 10:
        return 0
    return 10 + sum((byte & 0x7F) << shift for byte, shift in zip(head[6:10], (21, 14, 7, 0), strict=True))


def _tagged(rest: bytes) -> Sniffed:
    """What follows an ID3 tag: MP3 nearly always, but AAC and FLAC carry such tags too."""
    kind = "flac" if rest.startswith(b"fLaC") else "aac" if _adts_length(rest) else "mp3"
    return Sniffed("sound", kind, f"a {kind} recording")


def looks_like_text(head: bytes) -> bool:
    """Whether bytes read as text: UTF-16 by its mark, else no NUL and hardly any control characters."""
    if head.startswith((b"\xff\xfe", b"\xfe\xff")):
        return len(head) >= 4
    control = sum(byte < 32 and byte not in (9, 10, 12, 13) for byte in head)
    return bool(head) and b"\0" not in head and control * 200 <= len(head)


def _text(head: bytes) -> Sniffed:
    start = head.removeprefix(b"\xef\xbb\xbf").lstrip()[:64].lower()
    if head.removeprefix(b"\xef\xbb\xbf").startswith(b"WEBVTT"):
        return Sniffed("text", "vtt", "a WebVTT transcript")
    for mark, what in ((b"<!doctype html", "a web page"), (b"<html", "a web page"), (b"<?xml", "an XML file"),
                       (b"{\\rtf", "a rich-text document"), (b"%pdf", "a PDF document")):
        if start.startswith(mark):
            return Sniffed("other", "", what)
    return Sniffed("text", "txt", "a text")


def _picture(head: bytes) -> str:
    if head.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "png"
    if head[4:8] != b"ftyp":
        return ""
    major, brands = head[8:12], _brands(head)
    if major not in _PICTURE_BRANDS | _AVIF_BRANDS and brands & _FILM_BRANDS:
        return ""                  # a film may name picture brands too
    return "avif" if brands & _AVIF_BRANDS else "heic" if brands & _PICTURE_BRANDS else ""


def _sound(head: bytes) -> str:
    if head[:4] in (b"RIFF", b"RF64", b"BW64") and head[8:12] == b"WAVE":
        return "wav"
    for magic, kind in ((b"OggS", "ogg"), (b"fLaC", "flac"), (b"#!AMR", "amr"), (b"caff", "caf"),
                        (b"\x1a\x45\xdf\xa3", "webm")):
        if head.startswith(magic):
            return kind
    if head[:4] == b"FORM" and head[8:12] in (b"AIFF", b"AIFC"):
        return "aiff"
    return _movie(head) or _frames(head)


def _movie(head: bytes) -> str:
    """The kind of an ISO base media file by its major brand; old QuickTime files have none."""
    if head[4:8] != b"ftyp":
        sized = len(head) >= 8 and int.from_bytes(head[:4], "big") >= 8
        return "mov" if sized and head[4:8] in _MOVIE_BOXES else ""
    major = head[8:12]
    if major in (b"M4A ", b"M4B ", b"M4P "):
        return "m4a"
    if major == b"qt  ":
        return "mov"
    return "3gp" if major.startswith((b"3gp", b"3g2", b"3ge", b"3gg")) else "mp4"


def _frames(head: bytes) -> str:
    """MPEG audio without a tag, by two of its frames in a row; some recorders put zeros in front."""
    head = head.lstrip(b"\0")
    length = _adts_length(head)
    if length and (len(head) < length + 7 or _adts_length(head[length:])):
        return "aac"
    length = _mpeg_length(head)
    return "mp3" if length and (len(head) < length + 4 or _mpeg_length(head[length:])) else ""


def _adts_length(data: bytes) -> int:
    """Length in bytes of the ADTS frame that `data` starts with; 0 where there is none."""
    if len(data) < 7 or data[0] != 0xFF or data[1] & 0xF6 != 0xF0 or (data[2] >> 2) & 0x0F > 12:
        return 0
    length = (data[3] & 0x03) << 11 | data[4] << 3 | data[5] >> 5
    return length if length >= 7 else 0


_RATES = (44100, 48000, 32000)
_BITS_1 = {3: (0, 32, 64, 96, 128, 160, 192, 224, 256, 288, 320, 352, 384, 416, 448),
           2: (0, 32, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320, 384),
           1: (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)}
_BITS_2 = (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)


def _mpeg_length(data: bytes) -> int:
    """Length in bytes of the MPEG audio frame (layer II or III) that `data` starts with; 0 where there is none."""
    if len(data) < 4 or data[0] != 0xFF or data[1] & 0xE0 != 0xE0:
        return 0
    version, layer, bits, rate = data[1] >> 3 & 3, data[1] >> 1 & 3, data[2] >> 4, data[2] >> 2 & 3
    if version == 1 or layer not in (1, 2) or bits in (0, 15) or rate == 3:
        return 0
    kbps = (_BITS_1[layer] if version == 3 else _BITS_2)[bits]
    hertz = _RATES[rate] >> (0 if version == 3 else 1 if version == 2 else 2)
    samples = 576 if layer == 1 and version != 3 else 1152
    return samples // 8 * kbps * 1000 // hertz + (data[2] >> 1 & 1)


def _brands(head: bytes) -> set[bytes]:
    """Major and compatible brands of an `ftyp` box."""
    end = min(len(head), int.from_bytes(head[:4], "big"), 256)
    return {head[8:12]} | {head[at:at + 4] for at in range(16, end - 3, 4)}
