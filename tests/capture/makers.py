"""Tiny recordings and photos for the capture tests, made on the spot."""

from __future__ import annotations

import math
import os
import struct
import wave
from array import array
from datetime import datetime
from fractions import Fraction
from pathlib import Path

import av
from PIL import Image

REFERENCE = Path(__file__).resolve().parents[2] / ".." / "shared"
RATE = 16000


def tone(seconds: float, *, loud: int = 8000, rate: int = RATE) -> array[int]:
    """Samples of a 440 Hz tone, 16 bits, mono."""
    return array("h", (round(loud * math.sin(2 * math.pi * 440 * n / rate)) for n in range(round(seconds * rate))))


def wav(path: Path, seconds: float = 2.0, *, loud: int = 8000, extra: bytes = b"") -> Path:
    """A WAV file; `extra` are whole chunks put between the format and the sound."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(tone(seconds, loud=loud).tobytes())
    if extra:
        data = path.read_bytes()
        at = data.index(b"data")
        data = data[:at] + extra + data[at:]
        path.write_bytes(data[:4] + struct.pack("<I", len(data) - 8) + data[8:])
    return path


def chunk(name: bytes, content: bytes) -> bytes:
    """One RIFF chunk, padded to an even length."""
    return name + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)


def bext(day: str, clock: str, samples: int = 0) -> bytes:
    """A bext chunk by EBU Tech 3285: 256 + 32 + 32 bytes, the date, the time, TimeReference, then version and more."""
    content = b"\0" * 320 + day.encode().ljust(10, b"\0") + clock.encode().ljust(8, b"\0") + struct.pack("<Q", samples)
    return chunk(b"bext", content.ljust(602, b"\0"))


ENCODED = {"m4a": ("ipod", "aac"), "mp4": ("mp4", "aac"), "mov": ("mov", "aac"), "3gp": ("3gp", "aac"),
           "aac": ("adts", "aac"), "mp3": ("mp3", "libmp3lame"), "ogg": ("ogg", "libopus"),
           "flac": ("flac", "flac"), "aiff": ("aiff", "pcm_s16be"), "caf": ("caf", "pcm_s16be"),
           "webm": ("webm", "libopus"), "wav": ("wav", "pcm_s16le")}


def encoded(path: Path, as_: str, seconds: float = 2.0, *, loud: int = 8000, tags: dict[str, str] | None = None,
            picture: bool = False) -> Path:
    """A recording in the container and codec of `ENCODED[as_]`, whatever its suffix says."""
    container_format, codec = ENCODED[as_]
    rate = 48000 if codec == "libopus" else RATE
    with av.open(str(path), "w", format=container_format,
                 options={"movflags": "use_metadata_tags"} if as_ == "mov" else {}) as container:
        container.metadata.update(tags or {})
        stream = container.add_stream(codec, rate=rate, layout="mono")
        film = _add_film(container) if picture else None
        samples = tone(seconds, loud=loud, rate=rate)
        resampler = av.AudioResampler(format=stream.format, layout="mono", rate=rate, frame_size=stream.frame_size)
        for start in range(0, len(samples), 4096):
            piece = samples[start:start + 4096]
            frame = av.AudioFrame(format="s16", layout="mono", samples=len(piece))
            frame.planes[0].update(piece.tobytes())
            frame.sample_rate, frame.pts, frame.time_base = rate, start, Fraction(1, rate)
            for ready in resampler.resample(frame):
                container.mux(stream.encode(ready))
        for ready in resampler.resample(None):
            container.mux(stream.encode(ready))
        container.mux(stream.encode(None))
        if film is not None:
            container.mux(film.encode(av.VideoFrame(64, 64, "yuv420p")))
            container.mux(film.encode(None))
    return path


def _add_film(container: av.container.OutputContainer) -> av.VideoStream:
    film = container.add_stream("mpeg4", rate=5)
    film.width, film.height, film.pix_fmt = 64, 64, "yuv420p"
    return film


def set_movie_times(path: Path, created: int, modified: int | None = None) -> Path:
    """Write creation and modification time (seconds since 1904) into the mvhd box, version 0, of a file."""
    data = bytearray(path.read_bytes())
    at = data.index(b"mvhd") + 8
    data[at:at + 8] = struct.pack(">II", created, created if modified is None else modified)
    path.write_bytes(data)
    return path


def since_1904(at: datetime) -> int:
    """Seconds since 1904-01-01T00:00:00Z of an aware time (ISO/IEC 14496-12 8.2.2)."""
    return round(at.timestamp()) + 2_082_844_800


def touch(path: Path, at: datetime) -> Path:
    """Set a file's modification time."""
    os.utime(path, (at.timestamp(), at.timestamp()))
    return path


def exif_of(image: Image.Image, *, original: str = "", offset: str = "", subsec: str = "", digitized: str = "",
            changed: str = "", gps: tuple[str, tuple[float, float, float]] | None = None, orientation: int = 0,
            camera: tuple[str, str] = ("", ""), body: str = "") -> bytes:
    """An Exif block with those tags, written by Pillow."""
    exif = image.getexif()
    main = {0x010F: camera[0], 0x0110: camera[1], 0x0132: changed, 0x0112: orientation}
    exif.update({tag: value for tag, value in main.items() if value})
    inner = {0x9003: original, 0x9004: digitized, 0x9011: offset, 0x9291: subsec, 0xA431: body}
    exif.get_ifd(0x8769).update({tag: value for tag, value in inner.items() if value})
    if gps:
        exif.get_ifd(0x8825).update({0x001D: gps[0], 0x0007: gps[1]})
    return exif.tobytes()


def jpeg(path: Path, *, size: tuple[int, int] = (48, 32), colour: str = "navy", comment: bytes = b"",
         **tags: object) -> Path:
    """A small JPEG with those Exif tags (see exif_of)."""
    image = Image.new("RGB", size, colour)
    image.save(path, format="JPEG", exif=exif_of(image, **tags), comment=comment)  # type: ignore[arg-type]
    return path


def tiff(entries: list[tuple[int, int, int, bytes]], order: str = "<", tail: bytes = b"") -> bytes:
    """A TIFF block with one directory of raw entries (tag, type, count, four bytes), for blocks no writer makes."""
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(order + "I", 8)
    rows = b"".join(struct.pack(order + "HHI", tag, kind, count) + value for tag, kind, count, value in entries)
    return head + struct.pack(order + "H", len(entries)) + rows + b"\0\0\0\0" + tail


def jpeg_around(exif: bytes, size: tuple[int, int] = (48, 32)) -> bytes:
    """The bytes of a JPEG header around an Exif block, with a scan of nothing and an end mark."""
    segment = b"\xff\xe1" + struct.pack(">H", len(exif) + 8) + b"Exif\0\0" + exif if exif else b""
    frame = b"\xff\xc0\0\x0b\x08" + struct.pack(">HH", size[1], size[0]) + b"\x01\x01\x11\0"
    return b"\xff\xd8" + segment + frame + b"\xff\xda\0\x08\x01\x01\0\0\x3f\0" + b"\x11" * 16 + b"\xff\xd9"


def box(kind: bytes, content: bytes) -> bytes:
    """One ISO base media box."""
    return struct.pack(">I", len(content) + 8) + kind + content
