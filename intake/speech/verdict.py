"""Which weighed terms are taken: rules with their thresholds, tuned on the example walks to take no wrong name.

Sound alone is no proof where a shop has makers with much the same name; then something heard
beside it, or the same maker named elsewhere in the recording, has to speak for one of them.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass

from intake.speech.hints import TRADE, Proposal
from intake.vocabulary.terms import name_key


@dataclass(frozen=True)
class Rule:
    """When a term of one kind is taken; gains in natural logarithms of likelihood, tuned on the example walks.

    `least` is asked for where the second reading has the term too; `alone` where it has not, and then with a
    neighbour that fits. `lead` is how much more than its best rival's.
    """

    least: float
    alone: float | None = None
    lead: float = 2.0


RULES = {
    "maker": Rule(least=1.0, alone=4.0),
    "model": Rule(least=1.0),
    "tube": Rule(least=2.0),
    "location": Rule(least=0.5, alone=0.5),
    TRADE: Rule(least=1.5, lead=1.0),
}
FITS = 0.8                      # support from which a neighbour (a maker's model, a model's maker) fits
MODEL_FITS = 0.55               # the same for a model, whose digits agree anyway
MODEL_GAIN, MODEL_LEAD = 5.0, 4.0       # asked of a model that no maker beside it fits (its digits agree)
TRADE_SURE = 0.82               # a trade word so much like a garbled one needs only its rule's gain, ...
TRADE_SAME, TRADE_LEAST = 0.9, 0.5      # ... one that is nearly the same even less ("bleaking" is no bleaching)
TRADE_COMMON = 5.0              # asked where several everyday words were heard ("cause medically"), ...
TRADE_FAINT = 6.0               # ... and where what was heard is less like it ("wither" is no wafer)
SAME_SOUND = 0.97               # spelled otherwise, but said the same
EAR_SCORE = 0.65                # likeness asked of a maker that the recording names elsewhere
NEW_SCORE, NEW_GAIN = 0.85, 4.0         # likeness and gain asked where only the sound speaks for a maker
CLEAR_LEAD = 4.0                # in gain over all rivals; it makes up for likeness in a maker named elsewhere
TWIN_LEAD, TWIN_MARGIN = 4.0, 0.1       # by how much gain and likeness it must then lead each twin
FAINT_SCORE = 0.6               # a maker less like what was heard must be read, likelier and well supported:
FAINT_GAIN, FAINT_SUPPORT = 1.0, 0.9
SUPPORT_LEAD, RIVAL_GAIN = 0.03, -3.0   # a rival so much better supported, and no unlikelier, keeps a maker out
NAMED_LEAD = 0.5                # over rivals that the recording has not named, for one it has
SUPPORT_FROM, SUPPORT_BASE, SUPPORT_SLOPE = 0.75, 2.0, 24.0      # what support counts: 2 at 0.75, 8 at 1


@dataclass(frozen=True)
class Weighed:
    """A proposal with what speaks for it.

    `second`: the reading with hints has the term at that place. `gain`: how much more likely the recognizer
    finds the sound with the term than with the heard words, both with hints.
    """

    proposal: Proposal
    second: bool
    gain: float

    @property
    def strength(self) -> float:
        """The gain, and what a neighbour that fits counts."""
        p = self.proposal
        if p.kind not in ("maker", "model") or p.support < SUPPORT_FROM:
            return self.gain
        return self.gain + SUPPORT_BASE + SUPPORT_SLOPE * (p.support - SUPPORT_FROM)

    def rivals(self, other: Weighed) -> bool:
        """Whether two are different terms of one kind for the same sound."""
        mine, theirs = name_key(self.proposal.term), name_key(other.proposal.term)
        return (self.proposal.kind == other.proposal.kind and self.proposal.meets(other.proposal)
                and mine not in theirs and theirs not in mine)


def accepted(candidates: Sequence[Weighed], twins: Mapping[str, Sequence[str]], named: Container[str]) -> list[Weighed]:
    """The terms to take, apart from each other, in order of place.

    `twins` are other makers that sound much like a candidate; `named` the makers that this recording has named
    already. A maker that has a twin is taken only where a neighbour fits it or the recording has named it.
    """
    good = [c for c in candidates if _is_good(c, [o for o in candidates if c.rivals(o)], twins, named)]
    chosen = apart([c.proposal for c in sorted(good, key=lambda c: -c.strength)])
    return [c for p in chosen for c in good if c.proposal is p]


def _is_good(c: Weighed, rivals: Sequence[Weighed], twins: Mapping[str, Sequence[str]], named: Container[str]) -> bool:
    p, rule = c.proposal, RULES[c.proposal.kind]
    for r in rivals:
        lead = NAMED_LEAD if p.term in named and r.proposal.term not in named else rule.lead
        if c.strength - r.strength < lead:
            return False
    if p.kind == "maker":
        return _is_good_maker(c, rivals, twins.get(p.term, ()), named)
    if p.kind == "model":
        alone = c.gain >= MODEL_GAIN and all(c.strength - r.strength >= MODEL_LEAD for r in rivals)
        fits = p.support >= MODEL_FITS or p.score >= SAME_SOUND or alone
        return c.second and fits and c.gain >= rule.least
    if p.kind == "tube":
        return c.second and c.gain >= rule.least and not p.term.isdigit()
    if p.kind == TRADE:
        single = p.common and p.end - p.start == 1       # one everyday word ("cotton") may well have been said
        return c.second and not single and c.gain >= _asked_of_trade(p)
    least = rule.least if c.second else rule.alone
    return least is not None and c.gain >= least


def _asked_of_trade(p: Proposal) -> float:
    """The gain asked of a trade word: less where the sounds are more alike, more where everyday words were heard."""
    if p.score < TRADE_SURE:
        return TRADE_FAINT
    if p.common:
        return TRADE_COMMON
    return TRADE_LEAST if p.score >= TRADE_SAME else RULES[TRADE].least


def _is_good_maker(c: Weighed, rivals: Sequence[Weighed], twins: Sequence[str], named: Container[str]) -> bool:
    p, rule = c.proposal, RULES["maker"]
    if any(r.proposal.support > p.support + SUPPORT_LEAD and r.gain > RIVAL_GAIN for r in rivals):
        return False
    if p.score < FAINT_SCORE and not (c.second and c.gain >= FAINT_GAIN and p.support >= FAINT_SUPPORT):
        return False
    if p.support >= FITS:
        return c.strength >= (rule.least if c.second else rule.alone or 0.0)
    most_alike = all(r.proposal.score <= p.score for r in rivals)
    if p.term in named:
        leads = c.strength >= NEW_GAIN and all(c.strength - r.strength >= CLEAR_LEAD for r in rivals)
        clear = (p.score >= EAR_SCORE and c.strength >= rule.least) or (leads and most_alike)
    else:           # a name that is not on file may sound so: less likeness was tried, and a maker came out wrong
        clear = p.score >= NEW_SCORE and c.strength >= NEW_GAIN and most_alike
    return c.second and clear and _told_apart(c, rivals, twins, named)


def _told_apart(c: Weighed, rivals: Sequence[Weighed], twins: Sequence[str], named: Container[str]) -> bool:
    """Whether a maker that no neighbour fits can be told from its twins: by being named, or clearly by ear."""
    if not twins:
        return True
    if c.proposal.term in named:
        return not any(t in named for t in twins)
    if any(t in named for t in twins):
        return False
    heard = [r for r in rivals if r.proposal.term in twins]
    return len({r.proposal.term for r in heard}) == len(twins) and all(
        c.strength - r.strength >= TWIN_LEAD and c.proposal.score - r.proposal.score >= TWIN_MARGIN for r in heard)


def apart(proposals: Iterable[Proposal]) -> list[Proposal]:
    """The first proposals of a list that share no word, in order of place."""
    kept: list[Proposal] = []
    for proposal in proposals:
        if not any(proposal.meets(other) for other in kept):
            kept.append(proposal)
    return sorted(kept, key=lambda p: p.start)
