"""The published NegEx triggers as cues, and the published sentences: data of a test, no cues of the trade.

Triggers: negex.python/negex_triggers.txt of github.com/chapmanbe/negex (Apache-2.0), the definite ones [PREN] and
[POST] with [PSEU] (look-alikes) and [CONJ] (which end a scope). Phrases that differ in one word only are folded, which
adds a few that the file leaves out ("adequate to rule him out against").
The possible ones ([PREP], [POSP]) negate nothing; in the original they end the scopes of the others, so they stop here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import product
from pathlib import Path

from intake.language.cues import Cue
from intake.language.tokens import normalise

SENTENCES = Path(__file__).parents[3] / "shared" / "data" / "negation" / "rsAnnotations-1-120-random.txt"

_PSEU = """no increase|no suspicious change|no significant change|no change|no interval change|no definite change
no significant interval change|not extend|not cause|not drain|not certain if|not certain whether|gram negative
without difficulty|not necessarily|not only"""
_PREN = """absence of|cannot|cannot see|checked for|declined|declines|denied|denies|denying|evaluate for|fails to reveal
free of|negative for|never developed|never had|no|no abnormal|no cause of|no complaints of|no evidence|no new evidence
no other evidence|no evidence to suggest|no findings of|no findings to indicate|no mammographic evidence of|no new
no radiographic evidence of|no sign of|no significant|no signs of|no suggestion of|no suspicious|not|not appear
not appreciate|not associated with|not complain of|not demonstrate|not exhibit|not feel|not had|not have|not know of
not known to have|not reveal|not see|not to be|patient was not|rather than|resolved|test for|to exclude
unremarkable for|with no|without|without any evidence of|without evidence|without indication of|without sign of"""
_POST = "unlikely|free|was ruled out|is ruled out|are ruled out|have been ruled out|has been ruled out"
_POSP = "did not rule out|not ruled out|not been ruled out|being ruled out"
_CONJ = """but|however|nevertheless|yet|though|although|still|aside from|except|apart from|secondary to|cause of
cause for|causes of|causes for|source of|source for|sources of|sources for|reason of|reason for|reasons of|reasons for
etiology of|etiology for|trigger event for|origin of|origin for|origins of|origins for|other possibilities of"""
_WHOM = ("", " him", " her", " the patient")
_SHOULD = ("", "should ", "ought to ", "may ", "might ", "could ", "will ", "can ", "must ", "is to ")


def _listed(phrases: str) -> list[str]:
    return re.split(r"[|\n]", phrases)


def _folded() -> tuple[list[str], list[str], list[str]]:
    """The families that the file writes out: definite and possible "rule out", and "as a cause of"."""
    definite = [f"{verb}{whom} out{tail}" for verb, whom, tail in product(("rules", "ruled"), _WHOM, ("", " for"))]
    definite += [f"ruled{whom} out against" for whom in _WHOM]
    starts = ("did ", "can ", "adequate to ", "sufficient to ")
    definite += [f"{a}rule{b} out{c}" for a, b, c in product(starts, _WHOM, ("", " for", " against"))]
    possible = [f"rule{whom} out{tail}" for whom, tail in product(_WHOM, ("", " for"))]
    possible += ["r/o", "ro", "what must be ruled out is"]
    possible += [f"{should}be ruled out{tail}" for should, tail in product(_SHOULD, ("", " for"))]
    nouns = ("cause", "source", "reason", "etiology", "origin")
    stops = [
        f"as {a}{b}{noun} {c}"
        for a, b, noun, c in product(("the ", "a ", "an "), ("", "secondary "), nouns, ("of", "for"))
    ]
    return definite, possible, stops


def cues() -> list[Cue]:
    """The triggers as cues; none has a limit of words, as in the published program."""
    definite, possible, stops = _folded()
    kinds = [
        ("look-alike", "none", _listed(_PSEU)),
        ("negated", "forward", _listed(_PREN) + definite),
        ("negated", "backward", _listed(_POST)),
        ("stop", "none", [*_listed(_CONJ), *stops, *_listed(_POSP), *possible]),
    ]
    return [Cue(normalise(p), signals, reach) for signals, reach, phrases in kinds for p in phrases]


@dataclass(frozen=True)
class Finding:
    """A published sentence with the finding in it, and whether people judged it negated."""

    sentence: str
    finding: str
    negated: bool


def findings() -> list[Finding]:
    """All published sentences."""
    out = []
    for line in SENTENCES.read_text(encoding="latin-1").splitlines():
        fields = line.split("\t")
        if len(fields) >= 7:
            out.append(Finding(fields[3], fields[2], fields[4] == "Negated"))
    return out
