"""Kinds of files are told by content."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from intake.capture.sniff import sniff, sniff_bytes

from .makers import box, encoded, jpeg, wav


@pytest.mark.parametrize(("as_", "kind"), [
    ("m4a", "m4a"), ("mp4", "mp4"), ("mov", "mov"), ("3gp", "3gp"), ("aac", "aac"), ("mp3", "mp3"), ("ogg", "ogg"),
    ("flac", "flac"), ("aiff", "aiff"), ("caf", "caf"), ("webm", "webm"),
])
def test_sound_is_known_by_content(tmp_path: Path, as_: str, kind: str) -> None:
    """Every kind of recording is recognized though its suffix lies."""
    found = sniff(encoded(tmp_path / "lies.jpg", as_, 0.5))
    assert (found.family, found.kind) == ("sound", kind)


@pytest.mark.parametrize(("head", "kind"), [(b"#!AMR\n" + b"\x3c" * 64, "amr"), (b"#!AMR-WB\n" + b"\x04" * 64, "amr")])
def test_amr_by_its_magic(head: bytes, kind: str) -> None:
    """AMR and AMR-WB files begin with the magic of RFC 4867 section 5."""
    assert sniff_bytes(head).kind == kind


@pytest.mark.parametrize(("brands", "family", "kind"), [
    (b"heic\0\0\0\0mif1heic", "picture", "heic"), (b"mif1\0\0\0\0mif1avif", "picture", "avif"),
    (b"heic\0\0\0\0mif1heicmp42", "picture", "heic"), (b"isom\0\0\0\0isommif1", "sound", "mp4"),
    (b"mp42\0\0\0\0mp42isom", "sound", "mp4"), (b"M4A \0\0\0\0M4A isom", "sound", "m4a"),
    (b"3gp4\0\0\0\0isom3gp4", "sound", "3gp"), (b"qt  \0\0\0\0qt  ", "sound", "mov"),
])
def test_brands(brands: bytes, family: str, kind: str) -> None:
    """Films and pictures share one file format; the major brand counts most (ISO/IEC 14496-12 4.3)."""
    found = sniff_bytes(box(b"ftyp", brands) + b"\0" * 64)
    assert (found.family, found.kind) == (family, kind)


def test_mp3_without_a_tag(tmp_path: Path) -> None:
    """An MP3 that begins with its frames, or with zeros before them, is still one."""
    data = encoded(tmp_path / "a.mp3", "mp3", 0.5).read_bytes()
    bare = data[10 + int.from_bytes(data[8:10], "big"):]
    assert bare[:1] == b"\xff"
    assert sniff_bytes(bare[:8192]).kind == "mp3"
    assert sniff_bytes(b"\0" * 100 + bare[:8192]).kind == "mp3"


@pytest.mark.parametrize(("format_", "kind"), [("JPEG", "jpeg"), ("PNG", "png"), ("AVIF", "avif"), ("HEIF", "heic")])
def test_pictures_are_known_by_content(tmp_path: Path, format_: str, kind: str) -> None:
    """Every kind of photo is recognized though its suffix lies."""
    import pillow_heif

    pillow_heif.register_heif_opener()
    Image.new("RGB", (64, 64), "red").save(tmp_path / "lies.wav", format=format_)
    found = sniff(tmp_path / "lies.wav")
    assert (found.family, found.kind) == ("picture", kind)


@pytest.mark.parametrize(("head", "family", "kind"), [
    (b"WEBVTT\n\n00:01.000 --> 00:02.000\nhello\n", "text", "vtt"),
    (b"\xef\xbb\xbfWEBVTT\n", "text", "vtt"),
    ("Notes: half past nine, the café shelf".encode(), "text", "txt"),
    ("unit one".encode("utf-16"), "text", "txt"),
    (b"%PDF-1.7\n\x00\x01", "other", ""), (b"PK\x03\x04\x14\x00", "other", ""), (b"II*\0\x08\0\0\0", "other", ""),
    (b"<!DOCTYPE html><html>", "other", ""), (b"\0" * 500, "other", ""), (bytes(range(256)) * 4, "other", ""),
    (b"", "other", ""), (b"\xff\xfe", "other", ""),
])
def test_texts_and_the_rest(head: bytes, family: str, kind: str) -> None:
    """Texts and transcripts are told from documents and from noise."""
    found = sniff_bytes(head)
    assert (found.family, found.kind) == (family, kind)


def test_a_jpeg_is_no_recording_and_a_wav_no_photo(tmp_path: Path) -> None:
    """The families never mix."""
    assert sniff(jpeg(tmp_path / "a.wav")).family == "picture"
    assert sniff(wav(tmp_path / "a.jpg", 0.1)).family == "sound"
