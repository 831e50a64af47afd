"""The weighted edit distance: against a plain one written out, and its order of what is alike."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from intake.errors import VocabularyError
from intake.vocabulary.likeness import (
    SOUNDS,
    SPREAD,
    costs,
    distances,
    encode,
    feature_costs,
    indel_cost,
    learned_costs,
    matrix,
    read_counts,
    swap_cost,
)

RUNS = st.lists(st.sampled_from(range(1, len(SOUNDS) + 1)), min_size=1, max_size=8)


def plain_distance(heard: list[int], name: list[int]) -> float:
    """The textbook recurrence, cell by cell."""
    swap, indel = costs()
    cost = np.zeros((len(heard) + 1, len(name) + 1))
    cost[1:, 0] = np.cumsum(indel[heard])
    cost[0, 1:] = np.cumsum(indel[name])
    for i in range(1, len(heard) + 1):
        for j in range(1, len(name) + 1):
            cost[i, j] = min(cost[i - 1, j - 1] + swap[heard[i - 1], name[j - 1]], cost[i - 1,
                                                                                        j] + indel[heard[i - 1]],
                             cost[i, j - 1] + indel[name[j - 1]])
    return float(SPREAD * cost[-1, -1] / ((indel[heard].sum() + indel[name].sum()) / 2))


@given(RUNS, st.lists(RUNS, min_size=1, max_size=4))
def test_many_at_once_as_one_by_one(heard: list[int], names: list[list[int]]) -> None:
    """The distance to many names of different length is the textbook one for each."""
    found = distances(heard, matrix(names))
    assert found == pytest.approx([plain_distance(heard, name) for name in names], abs=1e-4)


@given(RUNS, RUNS)
def test_both_ways_round(a: list[int], b: list[int]) -> None:
    """Distance is the same from either side, and nothing only for the same sounds."""
    there, back = float(distances(a, matrix([b]))[0]), float(distances(b, matrix([a]))[0])
    assert there == pytest.approx(back, abs=1e-4)
    assert (there < 1e-6) == (a == b)


@pytest.mark.parametrize(("nearer", "farther"), [
    (("b", "p"), ("b", "s")), (("m", "n"), ("m", "k")), (("e", "I"), ("e", "o")), (("T", "f"), ("T", "k")),
    (("s", "z"), ("s", "m")), (("d", "t"), ("d", "l")),
])
def test_order_of_the_features(nearer: tuple[str, str], farther: tuple[str, str]) -> None:
    """Voicing pairs, neighbours in the mouth and near vowels cost less than sounds with little in common."""
    assert swap_cost(*nearer) < swap_cost(*farther)


def test_vowels_are_cheaper_than_consonants() -> None:
    """Taking any vowel for another costs at most half of what unlike consonants cost."""
    assert max(swap_cost(a, b) for a in "iIeaAOuU@" for b in "iIeaAOuU@") <= swap_cost("k", "m") / 1.9
    assert indel_cost("@") < indel_cost("m")


def test_counts_make_a_confusion_cheaper() -> None:
    """A pair that was often taken for each other costs less than its features alone say, others no less than before."""
    swap, _ = feature_costs()
    k, g = encode("k")[0], encode("g")[0]
    counts = np.zeros_like(swap)
    counts[k, k] = counts[g, g] = 100
    plain, _ = learned_costs(counts)
    counts[k, g] = counts[g, k] = 60
    often, _ = learned_costs(counts)
    assert often[k, g] < plain[k, g]


@pytest.mark.parametrize("line", ["k\tg", "k\tg\tmany", "kk\tg\t3", "k g 3", "?\tg\t3"])
def test_a_broken_count_names_its_line(tmp_path: Path, line: str) -> None:
    """A line of the counts that is not two sounds and a number is told with its place."""
    path = tmp_path / "confusions.tsv"
    path.write_text(f"# counts\nk\tk\t9\n{line}\n", encoding="utf-8")
    with pytest.raises(VocabularyError, match=r"confusions\.tsv, line 3"):
        read_counts(path)
