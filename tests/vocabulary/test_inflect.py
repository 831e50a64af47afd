"""Plurals, verb forms and written variants."""

from __future__ import annotations

import pytest

from intake.vocabulary.inflect import plural, verb_forms, written_variants


@pytest.mark.parametrize(("one", "many"), [
    ("tube", "tubes"), ("battery", "batteries"), ("relay", "relays"), ("fuse", "fuses"), ("switch", "switches"),
    ("RCA jack".lower(), "rca jacks"), ("box", "boxes"), ("binding post", "binding posts"), ("glass", "glasses"),
])
def test_plurals(one: str, many: str) -> None:
    """The last word of a noun takes its plural."""
    assert plural(one) == many


def test_irregular_plurals() -> None:
    """A plural named in the file goes before the rule."""
    assert plural("rubber foot", {"foot": "feet"}) == "rubber feet"


@pytest.mark.parametrize(("verb", "forms"), [
    ("clean", ("clean", "cleans", "cleaned", "cleaning")),
    ("replace", ("replace", "replaces", "replaced", "replacing")),
    ("swap", ("swap", "swaps", "swapped", "swapping")),
    ("identify", ("identify", "identifies", "identified", "identifying")),
    ("deoxidize", ("deoxidize", "deoxidizes", "deoxidized", "deoxidizing")),
    ("buzz", ("buzz", "buzzes", "buzzed", "buzzing")),
    ("refoam", ("refoam", "refoams", "refoamed", "refoaming")),
    ("fix", ("fix", "fixes", "fixed", "fixing")),
    ("spray", ("spray", "sprays", "sprayed", "spraying")),
    ("screw", ("screw", "screws", "screwed", "screwing")),
])
def test_regular_verbs(verb: str, forms: tuple[str, ...]) -> None:
    """A verb comes in its four spoken forms by the rules of spelling."""
    assert verb_forms(verb) == forms


def test_irregular_verbs_and_particles() -> None:
    """Forms named in the file go before the rule, and a pronoun may stand before a closing particle."""
    forms = verb_forms("send out", {"send": ("sends", "sent", "sending")})
    assert {"send out", "sent out", "sending out", "sent it out", "send them out"} <= set(forms)
    assert "sended out" not in forms


@pytest.mark.parametrize(("words", "also"), [
    ("step-up transformer", "step up transformer"), ("won't read discs", "will not read discs"),
    ("doesn't spin", "does not spin"), ("can't play", "cannot play"),
])
def test_written_variants(words: str, also: str) -> None:
    """Hyphens may be blanks, and contractions may be written in full."""
    assert also in list(written_variants(words))
