"""What is believed of a clock beforehand, and offsets in words."""

from __future__ import annotations

import numpy as np
import pytest

from intake.matching.coefficients import load
from intake.matching.prior import log_prior, say_offset, split_offset
from intake.matching.types import Anchor


def density(at: float, **how: bool) -> float:
    options = {"zoned": False, "local_known": True, "certain": True, **how}
    return float(log_prior(np.array([at]), load(), **options)[0])


def test_the_density_is_one_in_all() -> None:
    """The prior is a density: over all offsets it adds up to about one."""
    d = np.arange(-2 * 86400, 2 * 86400, 0.25)
    total = np.exp(log_prior(d, load(), zoned=False, local_known=True, certain=True)).sum() * 0.25
    assert total == pytest.approx(1.0, abs=0.03)


@pytest.mark.parametrize(("likelier", "less"), [(0, 45), (45, 1500), (3600, 3000), (3592, 3100), (-3600, -2700),
                                                (5.5 * 3600, 5.4 * 3600), (7200, 7000), (3600, 7200)])
def test_plausible_offsets_are_believed_more(likelier: float, less: float) -> None:
    """The same clock, seconds to minutes, whole and half hours and a little more: in that order before anything."""
    assert density(likelier) > density(less)


def test_a_photo_that_names_its_zone_is_hardly_hours_off() -> None:
    """A clock with a zone is set by a network: whole hours off are believed less than for one without."""
    assert density(3600, zoned=True) < density(3600) - 1
    assert density(0, zoned=True) > density(0)


def test_without_the_shops_zone_any_zone_is_as_good() -> None:
    """Where the shop's own zone is not known, seven hours off is as likely as one."""
    assert density(7 * 3600, local_known=False) == pytest.approx(density(3600, local_known=False), abs=0.1)


def test_an_anchor_pulls_the_belief_to_it() -> None:
    """A spoken or photographed time outweighs the habit of clocks to be right."""
    d = np.array([0.0, 500.0])
    plain = log_prior(d, load(), zoned=False, local_known=True, certain=True)
    held = log_prior(d, load(), zoned=False, local_known=True, certain=True, anchors=[Anchor(500.0, 30.0)])
    assert plain[0] > plain[1]
    assert held[1] > held[0]


def test_an_offset_splits_into_days_hours_and_seconds() -> None:
    """-79108 s is +2 h, -1 day and +92 s (reference values, section 7)."""
    assert split_offset(-79107.91) == (-1, 2.0, pytest.approx(92.09))


@pytest.mark.parametrize(("seconds", "words"), [
    (0.2, "right to the second"), (45, "45 s ahead"), (-125, "2 min 5 s behind"), (3592, "1 h ahead less 8 s"),
    (-3604, "1 h behind plus 4 s"), (3600, "1 h ahead"), (19800, "5.5 h ahead"),
    (-79108, "1 day behind, 2 h ahead plus 92 s"),
])
def test_an_offset_in_words(seconds: float, words: str) -> None:
    """An offset is told as a person would say it."""
    assert say_offset(seconds) == words
