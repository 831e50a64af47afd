"""How unlike two runs of sounds are: an edit distance weighted by what ears and recognizers confuse.

Costs begin from the features of the sounds: vowels cost least (a recognizer spells an unknown
name with any vowel), then pairs that differ in voice only (p/b), in place only (m/n) or in
manner only; sounds with nothing in common cost one; leaving out h, w, r or an unstressed vowel is
cheap. Counts of what a recognizer really wrote for spoken invented names (vocab/confusions.tsv,
made by bench/confusions.py) then shift them. A run of digits is one sound here, `#`; digits
themselves are compared exactly elsewhere.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from intake.vocabulary import grammar
from intake.vocabulary.folder import vocab_folder

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float32]
    Codes = NDArray[np.uint8]

VOWELS = "iIeaAOuU@REYoWQ"
CONSONANTS = "pbtdkgfvszTDSZCJmnNlrwyh"
SOUNDS = VOWELS + CONSONANTS + "#"   # code 0 is no sound; SOUNDS[i] has code i + 1
CODE = {sound: number + 1 for number, sound in enumerate(SOUNDS)}

# Vowels: height (0 low .. 2 high), backness (0 front .. 2 back), of their start and of their end.
_VOWEL_AT = {
    "i": (2, 0, 2, 0), "I": (1.7, .3, 1.7, .3), "e": (1, 0, 1, 0), "a": (.3, .3, .3, .3), "A": (0, 1.5, 0, 1.5),
    "O": (.6, 2, .6, 2), "u": (2, 2, 2, 2), "U": (1.7, 1.6, 1.7, 1.6), "@": (1, 1, 1, 1), "R": (1, 1, .9, 1.2),
    "E": (1, 0, 1.8, 0), "Y": (.1, 1, 1.8, .2), "o": (1, 1.8, 1.7, 1.9), "W": (.2, .8, 1.7, 1.8), "Q": (.7, 2, 1.8,
                                                                                                        .2),
}
# Consonants: place from lips (0) to throat (6), manner, voice.
_PLACE = {"p": 0, "b": 0, "m": 0, "w": .5, "f": .6, "v": .6, "T": 1.5, "D": 1.5, "t": 2, "d": 2, "n": 2, "l": 2,
          "s": 2.2,
          "z": 2.2, "r": 2.4, "S": 3, "Z": 3, "C": 3, "J": 3, "y": 3.6, "k": 5, "g": 5, "N": 5, "h": 6}
_MANNER = {**dict.fromkeys("pbtdkg", "stop"), **dict.fromkeys("fvTDszSZh", "fricative"),
           **dict.fromkeys("CJ", "affricate"), **dict.fromkeys("mnN", "nasal"), **dict.fromkeys("lrwy", "glide")}
_VOICED = frozenset("bdgvDzZJmnNlrwy")
_MANNER_COST = {("affricate", "stop"): .35, ("affricate", "fricative"): .3, ("fricative", "stop"): .4,
                ("glide", "nasal"): .55, ("glide", "stop"): .7, ("fricative", "glide"): .6, ("nasal", "stop"): .5,
                ("fricative", "nasal"): .75, ("affricate", "nasal"): .9, ("affricate", "glide"): .85}
# Pairs that the features judge wrongly.
_PAIRS = {"fT": .15, "vD": .2, "sT": .35, "zD": .35, "td": .3, "bv": .3, "lr": .45, "lw": .45, "rw": .4, "mn": .35,
          "nN": .2, "yJ": .45, "TD": .3, "Dd": .3, "Tt": .35, "hf": .6, "hk": .6, "pk": .55, "tk": .5, "pt": .5,
          "dg": .5, "bd": .5, "bg": .55, "kg": .25, "pb": .25, "fv": .25, "sz": .1, "SZ": .2, "CJ": .25, "sS": .35,
          "zZ": .4, "TS": .6, "ln": .5, "wv": .4, "tC": .3, "SC": .25}
_MIXED = {"wu": .4, "wU": .4, "wo": .4, "wW": .4, "yi": .3, "yI": .35, "yE": .5, "rR": .2, "lo": .6, "lu": .6,
          "lU": .5,
          "lO": .55, "l@": .6, "w@": .6, "rO": .55, "rA": .55, "r@": .5, "hY": .9}
_INDEL = {"@": .3, "I": .35, "h": .35, "w": .5, "y": .45, "r": .45, "R": .45, "l": .6, "n": .6, "N": .6, "t": .6,
          "d": .55, "D": .6, "m": .75, "z": .6, "s": .7, "#": 2.0}
VOWEL_INDEL, CONSONANT_INDEL, VOWEL_MOST = .5, .8, .5


def _vowel_cost(a: str, b: str) -> float:
    apart = [abs(x - y) for x, y in zip(_VOWEL_AT[a], _VOWEL_AT[b], strict=True)]
    start, end = (apart[0] + apart[1]) / 4, (apart[2] + apart[3]) / 4
    return min(VOWEL_MOST, .08 + .5 * start + .35 * end)


def _consonant_cost(a: str, b: str) -> float:
    manners = tuple(sorted((_MANNER[a], _MANNER[b])))
    manner = 0.0 if manners[0] == manners[1] else _MANNER_COST[(manners[0], manners[1])]
    place = min(.5, .15 * abs(_PLACE[a] - _PLACE[b]) + (.1 if _PLACE[a] != _PLACE[b] else 0))
    voice = .25 if (a in _VOICED) != (b in _VOICED) else 0.0
    return min(1.0, manner + place + voice)


def swap_cost(a: str, b: str) -> float:
    """What it costs to take sound `a` for sound `b`, 0 to 1."""
    if a == b:
        return 0.0
    for pair in (a + b, b + a):
        if pair in _PAIRS:
            return _PAIRS[pair]
        if pair in _MIXED:
            return _MIXED[pair]
    if "#" in (a, b):
        return 2.0
    if a in _VOWEL_AT and b in _VOWEL_AT:
        return _vowel_cost(a, b)
    if a in _MANNER and b in _MANNER:
        return _consonant_cost(a, b)
    return 1.0


def indel_cost(sound: str) -> float:
    """What it costs to leave a sound out or to put one in."""
    return _INDEL.get(sound, VOWEL_INDEL if sound in VOWELS else CONSONANT_INDEL)


# How the counts are weighed: a cost is -ln(chance) / SCALE, and the features count as much as PRIOR observations.
SCALE, PRIOR = 5.0, 200.0
SPREAD = .7  # brings the distance of names with nothing in common to about 1


def feature_costs() -> tuple[Floats, Floats]:
    """Swap costs and indel costs by code, from the features of the sounds alone."""
    import numpy as np

    size = len(SOUNDS) + 1
    swap = np.full((size, size), 9.0, dtype=np.float32)  # code 0 fills up rows: nothing may swap with it
    for a in SOUNDS:
        for b in SOUNDS:
            swap[CODE[a], CODE[b]] = swap_cost(a, b)
    return swap, np.array([0.0, *(indel_cost(sound) for sound in SOUNDS)], dtype=np.float32)


def learned_costs(counts: Floats) -> tuple[Floats, Floats]:
    """The feature costs shifted by counts: counts[a, b] times sound a stood for b, either way round (0: no sound)."""
    import numpy as np

    swap, indel = feature_costs()
    size = len(indel)
    new_swap, new_indel = swap.copy(), indel.copy()
    for b in range(1, size):
        expected = np.exp(-SCALE * np.concatenate([[indel[b]], swap[1:, b]]))
        chance = (counts[:, b] + PRIOR * expected / expected.sum()) / (counts[:, b].sum() + PRIOR)
        cost = -np.log(chance) / SCALE
        new_indel[b] = cost[0]
        new_swap[1:, b] = cost[1:]
    new_swap = ((new_swap + new_swap.T) / 2).astype(np.float32)
    np.fill_diagonal(new_swap, 0.0)
    new_swap[0, :] = new_swap[:, 0] = 9.0
    return new_swap, new_indel


def read_counts(path: Path) -> Floats:
    """The counts of a confusion file: lines of two sounds and a number, - for no sound; `#` starts a comment."""
    import numpy as np

    counts = np.zeros((len(SOUNDS) + 1, len(SOUNDS) + 1), dtype=np.float32)
    for number, line in enumerate(grammar.read_text(path).splitlines(), 1):
        if not line or line.startswith("# "):
            continue
        fields = line.split("\t")
        codes = [0 if sound == "-" else CODE.get(sound) for sound in fields[:2]]
        if len(fields) != 3 or None in codes or not fields[2].isdigit():
            raise grammar.fault(path, number, f"{line!r} is not two sounds and a number.")
        a, b = codes[0] or 0, codes[1] or 0
        counts[a, b] = counts[b, a] = int(fields[2])
    return counts


@lru_cache(maxsize=1)
def costs() -> tuple[Floats, Floats]:
    """Swap costs and indel costs by code, as arrays."""
    return learned_costs(read_counts(vocab_folder() / "confusions.tsv"))


def encode(sounds: str) -> list[int]:
    """The codes of a run of sounds; each run of digits is one `#`."""
    codes: list[int] = []
    for sound in sounds:
        code = CODE["#"] if sound.isdigit() else CODE.get(sound, 0)
        if code and not (sound.isdigit() and codes and codes[-1] == code):
            codes.append(code)
    return codes


def distances(heard: list[int], names: Codes) -> Floats:
    """Weighted edit distance from one run of codes to each row of `names` (padded with 0), divided by the mean
    weight of the two: 0 for the same sounds, 1 and more for nothing in common."""
    import numpy as np

    swap, indel = costs()
    left_out = np.cumsum(np.concatenate([np.zeros((len(names), 1), np.float32), indel[names]], axis=1), axis=1)
    row = left_out.copy()
    for code in heard:
        best = row + indel[code]
        best[:, 1:] = np.minimum(best[:, 1:], row[:, :-1] + swap[code][names])
        row = left_out + np.minimum.accumulate(best - left_out, axis=1)
    weight = (left_out[:, -1] + float(indel[heard].sum())) / 2
    result: Floats = (SPREAD * row[:, -1] / np.maximum(weight, 1e-6)).astype(np.float32)
    return result


def matrix(runs: list[list[int]]) -> Codes:
    """Runs of codes as one padded array."""
    import numpy as np

    rows = np.zeros((len(runs), max((len(r) for r in runs), default=0)), dtype=np.uint8)
    for number, run in enumerate(runs):
        rows[number, :len(run)] = run
    return rows
