"""Sound files -> samples, in pieces, so that an hour needs no more memory than some minutes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from intake.errors import CaptureError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE = 16_000           # samples a second, what the recognizer wants
PIECE_S = 240.0         # seconds read at a time


class SoundReader:
    """Reads one sound file as mono float samples at RATE, a piece at a time.

    `damage` tells after the last piece what could not be read ("" = all was). A file of which
    nothing can be read raises CaptureError.
    """

    def __init__(self, path: Path, *, piece_s: float = PIECE_S) -> None:
        self.path = path
        self.piece_s = piece_s
        self.damage = ""

    def pieces(self) -> Iterator[Samples]:
        """The sound from its start; each piece holds about `piece_s` seconds, the last one less."""
        import numpy as np

        kept: list[Any] = []
        length = 0
        for block in self._blocks():
            kept.append(block)
            length += len(block)
            if length >= self.piece_s * RATE:
                yield _floats(np.concatenate(kept))
                kept, length = [], 0
        if kept:
            yield _floats(np.concatenate(kept))

    def _blocks(self) -> Iterator[Any]:
        """Short arrays of 16-bit samples; a damaged end is noted, a damaged start is an error."""
        import av

        started = False
        try:
            with av.open(str(self.path), metadata_errors="ignore") as container:
                if not container.streams.audio:
                    raise CaptureError("it holds no sound.", path=self.path, hint="Leave it out of the capture.")
                stream = container.streams.audio[0]
                stream.codec_context.thread_type = "AUTO"
                resampler = av.AudioResampler(format="s16", layout="mono", rate=RATE)
                for frame in self._frames(container.decode(stream)):
                    for part in resampler.resample(frame):
                        started = True
                        yield part.to_ndarray().reshape(-1)
                if started:
                    for part in resampler.resample(None):
                        yield part.to_ndarray().reshape(-1)
        except (av.FFmpegError, OSError, ValueError) as error:  # ValueError: a file that is no container at all
            if not started:
                raise CaptureError(f"the sound cannot be read ({_plain(error)}).", path=self.path,
                                   hint="Copy it from the recorder again, or play it to see what is left.") from error
            self.damage = _plain(error)

    def _frames(self, frames: Iterable[Any]) -> Iterator[Any]:
        """The frames that can be decoded; a broken one in between is skipped and noted."""
        import av

        iterator = iter(frames)
        while True:
            try:
                yield next(iterator)
            except StopIteration:
                return
            except av.error.InvalidDataError as error:
                self.damage = _plain(error)


def read_all(path: Path) -> Samples:
    """All samples of a (short) sound file at once."""
    import numpy as np

    pieces = list(SoundReader(path, piece_s=math.inf).pieces())
    return pieces[0] if pieces else np.zeros(0, dtype=np.float32)


def _floats(samples: Any) -> Samples:
    import numpy as np

    floats: Samples = samples.astype(np.float32) / np.float32(32768.0)
    return floats


def _plain(error: BaseException) -> str:
    """The library's message without its error numbers and paths."""
    text = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return str(text).rstrip(".")
