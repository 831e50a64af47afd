"""What a sound index is made of: for every way to say every name its sounds, and which pieces of sound it shares.

The arrays are built once for a set of names and kept on disk; nothing here decides what is alike.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from intake.vocabulary.folder import write_cache
from intake.vocabulary.likeness import CODE, encode, matrix
from intake.vocabulary.pronounce import plain, variants, with_digits_said

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Name = tuple[str, str, str]              # kind, canonical, maker (or "")
CACHE_FORMAT = 7                         # raise it when sounds, features or the stored arrays change
NAMED_MODEL = "named model"              # maker and model said together

# Sounds that are taken for each other often enough to be one letter of the consonant frame.
_CLASSES = ("pb", "fvTD", "td", "kg", "szSZCJ", "mnN", "l", "rR", "w", "y", "h", "#")
_VOWEL_CLASS, _EDGE = len(_CLASSES) + 1, len(_CLASSES) + 2
_SIDE = _EDGE + 1                        # number of classes with 0
_CLASS_OF = {CODE[s]: n for n, group in enumerate(_CLASSES, 1) for s in group}


@lru_cache(maxsize=65536)
def standard_key(text: str) -> str:
    """The Metaphone key of a text's letters run together: "core vein" and "Corvane" are both KRFN.

    A second way to a name beside our own sounds, where a spelling is too odd for our rules.
    """
    import jellyfish

    key: str = jellyfish.metaphone("".join(c for c in plain(text) if c.isalpha()))
    return key


def digits_of(sounds: str) -> str:
    return "".join(s for s in sounds if s.isdigit())


def features(codes: Sequence[int]) -> list[int]:
    """The pieces of the consonant frame: neighbours, and neighbours but one, with the edges."""
    frame = [_EDGE]
    for at, code in enumerate(codes):
        if code in _CLASS_OF:
            frame.append(_CLASS_OF[code])
        elif at == 0:
            frame.append(_VOWEL_CLASS)
    frame.append(_EDGE)
    near = {a * _SIDE + b for a, b in pairwise(frame)}
    far = {_SIDE * _SIDE + a * _SIDE + b for a, b in zip(frame, frame[2:], strict=False)}
    return sorted(near | far)


def build(names: Sequence[Name]) -> dict[str, NDArray[np.generic]]:
    """The arrays of an index: the codes of every way to say every name, and which share which features."""
    import numpy as np

    owner: list[int] = []
    runs: list[list[int]] = []
    digits: list[str] = []
    keys: list[str] = []
    said_at: list[int] = []          # the entries of tube types with their digits said in words
    for number, (kind, canonical, maker) in enumerate(names):
        said = f"{maker} {canonical}" if kind == NAMED_MODEL else canonical
        ways = list(variants(said)[:3])
        if kind == "tube":
            ways.append(with_digits_said(said))
            said_at.append(len(owner) + len(ways) - 1)
        for sounds in ways:
            owner.append(number)
            runs.append(encode(sounds))
            digits.append(digits_of(sounds))
            keys.append(standard_key(said))
    pairs = [(f, entry) for entry, run in enumerate(runs) if not digits[entry] for f in features(run)]
    table = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    table = table[np.argsort(table[:, 0], kind="stable")]
    posting_at = np.searchsorted(table[:, 0], np.arange(2 * _SIDE * _SIDE + 1))
    share = np.diff(posting_at) / max(1, len(runs))
    weights = np.log(1.2 / (share + .01))
    weights = np.maximum(weights, .1).astype(np.float32)
    norms = np.zeros(len(runs), dtype=np.float32)
    np.add.at(norms, table[:, 1], weights[table[:, 0]])
    return {"codes": matrix(runs), "owner": np.array(owner, dtype=np.int32), "digits": np.array(digits,
                                                                                                dtype=np.str_),
            "keys": np.array(keys, dtype=np.str_), "said": np.isin(np.arange(len(runs)), said_at),
            "posting_at": posting_at, "postings": table[:, 1].astype(np.int32), "weights": weights,
            "norms": 1 / np.sqrt(np.maximum(norms, 1e-3))}


def load(path: Path) -> dict[str, NDArray[np.generic]] | None:
    """The stored arrays, or None where there are none or they are damaged."""
    import zipfile

    import numpy as np

    try:
        with np.load(path, allow_pickle=False) as data:
            return {key: data[key] for key in data.files}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def save(path: Path, arrays: dict[str, NDArray[np.generic]]) -> None:
    import numpy as np

    buffer = io.BytesIO()
    np.savez(buffer, **arrays)  # type: ignore[arg-type]  # the stubs take any keyword for allow_pickle
    write_cache(path, buffer.getvalue())


