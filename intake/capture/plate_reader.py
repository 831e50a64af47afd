"""Reads the text on one photo, offline; the only module that knows the OCR package.

The package is optional (`pip install walkaround-intake[plates]`) and brings its models with it; no model is
ever fetched.
"""

from __future__ import annotations

import ctypes
import os
import threading
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import metadata, util
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from intake.capture.thumbnails import small_upright
from intake.errors import CaptureError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]

PACKAGE = "rapidocr"
MISSING = "The reader of plates is not installed; photos were not searched for text."
HOW_TO_INSTALL = 'To have it: pip install "walkaround-intake[plates]"'
SEARCH = 1600  # pixels of the longer side in which text is looked for
DETAIL = 3200  # and from which it is read: small print on a whole rear panel needs it
MAX_LINES = 160  # a page full of text is no plate, and would take a minute
MIN_HEIGHT = 6  # pixels in the searched picture; lower lines are not readable
BUSY = 0.12  # share of the strip beside a line's end that may differ from the ground
START_ROOM, END_ROOM = (-0.2, 0.1), (-0.1, 0.5)  # where that strip lies, in heights of the line from its end
CLOSE_VOTE = 0.15  # with more of the votes than that against it, the way up of text is told by reading it
Corner = tuple[float, float]
Box = tuple[Corner, Corner, Corner, Corner]


@dataclass(frozen=True)
class PlateLine:
    """One line of text on a photo.

    `box` has the corners where the text begins (top left as one reads it), then clockwise, in thousandths of
    the upright picture's longer side. `confidence` is the reader's own, 0..1: the mean over the characters;
    `sure` has it for each character of `text`. `second` is another reading of the same line, made from
    a wider, inverted cut-out; it is made only for lines with digits, else None. `more_before` and
    `more_after`: something stands before its start or behind its end (a cable, glare, the picture's edge)
    that may hide characters.
    """

    text: str
    confidence: float
    box: Box
    sure: tuple[float, ...] = ()
    second: str | None = None
    more_before: bool = False
    more_after: bool = False


def reader_missing() -> str | None:
    """Why photos cannot be read here, in a sentence with what to do; None where they can."""
    if util.find_spec(PACKAGE) is None or util.find_spec("onnxruntime") is None:
        return f"{MISSING} {HOW_TO_INSTALL}"
    if len(_models()) < 3:
        return f"{MISSING} Its models are not where they should be. {HOW_TO_INSTALL} --force-reinstall"
    return None


def read_plate(photo: Path, *, threads: int = 0) -> tuple[PlateLine, ...]:
    """The lines of text on a photo, from top to bottom; none where it shows no text.

    The picture is turned upright by its own Orientation first. `threads` of 0: as many as there are processors.
    Raises CaptureError where the photo cannot be opened or the reader fails on it or is not installed.
    """
    missing = reader_missing()
    if missing is not None:
        raise CaptureError(MISSING, path=photo, hint=HOW_TO_INSTALL)
    pixels = _pixels(photo)
    try:
        return _read_pixels(_engine(threads), pixels)
    # Three foreign libraries work here (OpenCV, ONNX Runtime, Shapely), each with errors of its own that share
    # no parent but Exception; each means the same: this one photo has no text for us.
    except Exception as error:
        raise CaptureError(f"the reader of plates failed on it ({type(error).__name__}).", path=photo) from error


@cache
def reader_name() -> str:
    """The package with its version."""
    try:
        return f"{PACKAGE} {metadata.version(PACKAGE)}"
    except metadata.PackageNotFoundError:
        return PACKAGE


def give_memory_back() -> None:
    """Hand what was freed back to the system, where its C library would keep it (glibc does)."""
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None) if os.name == "posix" else None
    if trim is not None:
        trim(0)


# ---------------------------------------------------------------- the package


class _Engines(threading.local):
    """One engine a thread: its parts keep state between their steps."""

    made: Any = None


_engines = _Engines()
_searching = threading.Lock()   # looking for lines takes some 450 MB for a moment: one photo at a time


@cache
def _models() -> dict[str, Path]:
    """The models inside the package, by their task; named outright so that none is ever fetched."""
    spec = util.find_spec(PACKAGE)
    folder = Path(spec.origin).parent / "models" if spec is not None and spec.origin else Path()
    found = {task: sorted(folder.glob(f"*_{task}_*.onnx")) for task in ("det", "cls", "rec")}
    return {task: paths[0] for task, paths in found.items() if paths}


def _engine(threads: int) -> Any:
    if _engines.made is None:
        from rapidocr import RapidOCR

        params: dict[str, Any] = {"Global.log_level": "critical", "Global.use_vertical_padding": False}
        params |= {f"{task.capitalize()}.model_path": str(path) for task, path in _models().items()}
        if threads:
            params["EngineConfig.onnxruntime.intra_op_num_threads"] = threads
        _engines.made = RapidOCR(params=params)
    return _engines.made


def _pixels(photo: Path) -> Pixels:
    """The upright picture as the engine wants it: rows of blue, green, red."""
    import numpy as np

    return np.ascontiguousarray(np.asarray(small_upright(photo, DETAIL))[:, :, ::-1])


def _read_pixels(engine: Any, pixels: Pixels) -> tuple[PlateLine, ...]:
    """Look for lines in the smaller picture, read them from the larger one."""
    import cv2

    high, wide = pixels.shape[:2]
    scale = min(1.0, SEARCH / max(high, wide))
    small = pixels if scale == 1 else cv2.resize(pixels, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    with _searching:
        found = engine._load_det_model()(small)
        give_memory_back()
    boxes = [] if found.boxes is None else _readable(found.boxes)
    cuts, corners = _upright_cuts(engine, pixels, [box / scale for box in boxes])
    if not cuts:
        return ()
    unit = 1000 / max(high, wide)
    lines = [
        _line(text, sure, corner * unit) for (text, sure), corner in zip(_recognize(engine, cuts), corners, strict=True)
    ]
    seconds = _second_readings(engine, pixels, lines, corners)
    read = (replace(line, second=seconds.get(i)) for i, line in enumerate(lines))
    return tuple(_with_more(line, pixels, corner) for line, corner in zip(read, corners, strict=True) if line.text)


def _with_more(line: PlateLine, pixels: Pixels, corner: Any) -> PlateLine:
    """The line with whether characters may be hidden beside it; only lines with digits are looked at."""
    if not any(c.isdigit() for c in line.text):
        return line
    edge = _at_edge(corner, pixels.shape[1], pixels.shape[0])
    before, after = (True, True) if edge else _covered(pixels, corner)
    return replace(line, more_before=before, more_after=after)


def _at_edge(corner: Any, wide: int, high: int) -> bool:
    """Whether a line comes nearer to the picture's edge than half its own height."""
    import numpy as np

    near = 0.5 * float(np.linalg.norm(corner[0] - corner[3]))
    x, y = corner[:, 0], corner[:, 1]
    return bool(min(x.min(), y.min(), wide - x.max(), high - y.max()) < near)


def _covered(pixels: Pixels, corner: Any) -> tuple[bool, bool]:
    """Whether something other than bare ground stands before a line's start, and behind its end.

    A cable, a thumb or a spot of glare there may hide further characters, and what is left reads as if it were
    whole. The ground is what lies just above and below the line's ends; the ink tells how much of a
    difference counts. Before the start less room is looked at: the border of a plate often stands there.
    """
    import numpy as np

    cut = _cut(pixels, corner, margin=1.0).astype(np.float32).mean(axis=2)
    return _busy(cut[:, ::-1], START_ROOM) > BUSY, _busy(cut, END_ROOM) > BUSY


def _busy(cut: Any, room: tuple[float, float]) -> float:
    """The share of the strip at a line's right end that differs from the ground; `cut` has its height around it."""
    import numpy as np

    high = max(2, round(cut.shape[0] / 3))
    end = cut.shape[1] - high
    sides = slice(max(high, end - 2 * high), end)
    above, below = slice(round(0.6 * high), round(0.9 * high)), slice(round(2.1 * high), round(2.4 * high))
    beside = np.concatenate([cut[above, sides], cut[below, sides]])
    ground = float(np.median(beside))
    grain = 1.48 * float(np.median(np.abs(beside - ground)))
    ink = float(np.percentile(np.abs(cut[high : 2 * high, max(high, end - 3 * high) : end] - ground), 92))
    strip = cut[high : 2 * high, end + round(room[0] * high) : end + round(room[1] * high)]
    return float((np.abs(strip - ground) > max(3 * grain, 0.45 * ink, 10.0)).mean())


def _readable(boxes: Any) -> list[Any]:
    """The boxes that are high enough, at most MAX_LINES of them."""
    import numpy as np

    def height(box: Any) -> float:
        return float(min(np.linalg.norm(box[0] - box[3]), np.linalg.norm(box[0] - box[1])))

    return list(islice((box for box in boxes if height(box) >= MIN_HEIGHT), MAX_LINES))


def _upright_cuts(engine: Any, pixels: Pixels, boxes: Sequence[Any]) -> tuple[list[Any], list[Any]]:
    """Cut-outs that read from left to right, and their corners from where the text begins.

    Tall boxes are turned a quarter. Whether text stands on its head is asked of each line, but decided for
    all lines that lie the same way together: of a short one alone it is often told wrong.
    """
    import numpy as np

    wide = [box for box in boxes if not _tall(box)]
    tall = [np.roll(box, -1, axis=0) for box in boxes if _tall(box)]
    cuts: list[Any] = []
    corners: list[Any] = []
    for group in (wide, tall):
        if group:
            group_cuts = [_cut(pixels, box) for box in group]
            if _on_its_head(engine, group_cuts):
                group = [np.roll(box, 2, axis=0) for box in group]
                group_cuts = [np.ascontiguousarray(cut[::-1, ::-1]) for cut in group_cuts]
            cuts += group_cuts
            corners += group
    return cuts, corners


def _tall(box: Any) -> bool:
    import numpy as np

    return float(np.linalg.norm(box[0] - box[3])) >= 1.5 * float(np.linalg.norm(box[0] - box[1]))


def _on_its_head(engine: Any, cuts: Sequence[Any]) -> bool:
    """Whether the text of these cut-outs stands on its head: a vote by length, and where it is close, by reading."""
    told = engine._load_cls_model()(list(cuts)).cls_res
    votes = [
        (min(8.0, cut.shape[1] / cut.shape[0]) * (score - 0.5), label)
        for cut, (label, score) in zip(cuts, told, strict=True)
    ]
    turned = sum(vote for vote, label in votes if label == "180") / (sum(vote for vote, _ in votes) or 1.0)
    if turned < CLOSE_VOTE or turned > 1 - CLOSE_VOTE:
        return bool(turned > 0.5)
    longest = sorted(cuts, key=lambda cut: -cut.shape[1] / cut.shape[0])[:6]
    upright, head = (
        sum(len(text) * min(1.0, sum(sure) / len(sure)) ** 4 for text, sure in _recognize(engine, part) if text)
        for part in (longest, [cut[::-1, ::-1] for cut in longest])
    )
    return bool(head > upright)


def _cut(pixels: Pixels, box: Any, *, margin: float = 0.0) -> Any:
    """The quadrilateral as a rectangle, wider by `margin` times its height on every side."""
    import cv2
    import numpy as np

    corners = np.asarray(box, np.float32)
    along, down = corners[1] - corners[0], corners[3] - corners[0]
    wide, high = max(4.0, float(np.linalg.norm(along))), max(4.0, float(np.linalg.norm(down)))
    step = margin * high
    a, d = along / wide * step, down / high * step
    corners = corners + np.array([-a - d, a - d, a + d, -a + d], np.float32)
    size = round(wide + 2 * step), round(high + 2 * step)
    target = np.array([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]], np.float32)
    turn = cv2.getPerspectiveTransform(corners, target)
    return cv2.warpPerspective(pixels, turn, size, borderMode=cv2.BORDER_REPLICATE, flags=cv2.INTER_CUBIC)


def _recognize(engine: Any, cuts: Sequence[Any]) -> list[tuple[str, tuple[float, ...]]]:
    """Text of each cut-out with the reader's confidence for each character."""
    from rapidocr.ch_ppocr_rec import TextRecInput

    result = engine._load_rec_model()(TextRecInput(img=list(cuts), return_word_box=True))
    return [
        (text, tuple(word.confs)) if text else ("", ())
        for text, word in zip(result.txts, result.word_results, strict=True)
    ]


def _second_readings(engine: Any, pixels: Pixels, lines: Sequence[PlateLine], corners: Sequence[Any]) -> dict[int, str]:
    """Each line with digits, read again from a wider cut-out with dark and light exchanged."""
    again = [i for i, line in enumerate(lines) if any(c.isdigit() for c in line.text)]
    if not again:
        return {}
    told = _recognize(engine, [255 - _cut(pixels, corners[i], margin=0.14) for i in again])
    return {i: _plain(text) for i, (text, _) in zip(again, told, strict=True)}


def _line(text: str, sure: Sequence[float], box: Any) -> PlateLine:
    pairs = list(_plain_pairs(text, sure))
    while pairs and pairs[0][0] == " ":
        pairs.pop(0)
    while pairs and pairs[-1][0] == " ":
        pairs.pop()
    a, b, c, d = ((round(float(x), 1), round(float(y), 1)) for x, y in box)
    marks = tuple(round(float(s), 3) for _, s in pairs)
    return PlateLine(
        "".join(p for p, _ in pairs), round(sum(marks) / len(marks), 3) if marks else 0.0, (a, b, c, d), marks
    )


def _plain_pairs(text: str, sure: Sequence[float]) -> Iterator[tuple[str, float]]:
    """Characters in their plain form (full-width ones come up) with their confidence."""
    for letter, chance in zip(text, sure, strict=True):
        for plain in unicodedata.normalize("NFKC", letter):
            yield (" " if plain.isspace() else plain), chance


def _plain(text: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", text).split())
