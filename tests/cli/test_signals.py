"""What made a value sure is told in words, and only where there is something to tell."""

from __future__ import annotations

import pytest

from intake.cli.signals import in_words


@pytest.mark.parametrize(("signals", "said"), [
    ({"hedge": 0.0, "nameless unit": 0.0, "probability": 1.0, "heard": 1.0, "other readings": 0.0}, ""),
    ({"hedge": 1.0, "repair": 0.0}, "the speaker was unsure"),
    ({"probability": 0.471, "plate": 0.97}, "a plate says the same, 97% sure; the least clear of its words is 47% sure"),
    ({"plate": -0.9}, "a plate says otherwise, 90% sure"),
    ({"other models": 1.0}, "another model was named"),
    ({"other models": 2.0}, "2 other models were named"),
    ({"match": 0.8}, "match 0.8"),
])
def test_only_what_is_not_at_rest(signals: dict[str, float], said: str) -> None:
    """A signal of zero is no reason for anything; one without words of its own keeps its name and number."""
    assert in_words(signals) == said
