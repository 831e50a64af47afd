"""Accessories: what came with the unit, and what is said not to be there."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.context import Scope
from intake.language.frames.facts import Fact
from intake.language.reading import Reading
from intake.language.terms import Mention

_HERE = frozenset(
    ["with", "comes", "came", "come", "has", "have", "here", "there", "there's", "includes", "included", "including", "got", "gets", "plus", "present", "supplied", "complete", "turned", "original", "along", "also", "still", "bag", "both", "taped", "attached", "bundled", "found", "kept", "keeps", "tick", "supplied", "thrown", "goes", "complete", "inside", "tucked", "intact", "lies", "handed", "gave", "brought", "again", "on", "retained"]
)
# What stands around an accessory's word where it is no accessory
_STANDS_VERB = frozenset(["open", "in", "on", "at", "a", "an", "the", "here", "there", "behind", "beside", "before", "next", "by", "under", "since", "to", "for", "up", "out", "idle", "empty", "alone", "another", "one", "between", "still", "while", "near", "so"])
_STANDS_NOUN = frozenset(["no", "the", "its", "their", "both", "with", "matching", "original", "speaker", "metal", "wooden", "floor", "filled", "factory", "heavy", "two", "and", "own", "nice", "pair", "of", "without", "a", "new", "steel", "some"])
_PLACED = ("next to the", "beside the", "behind the", "under the", "on top of the", "in front of the", "near the", "above the", "below the", "underneath the", "next to a", "out of the", "out of a", "fell out of the", "bottom of the", "back of the", "inside the", "off the", "off a", "lifted the", "lift the", "popped the", "pop the", "pulled the", "opened the", "open the", "opening the", "raise the", "raised the", "took the", "take the", "had the", "ones with the", "one with the", "ones with", "something with a", "anything with a", "one with a", "ones with a", "according to the", "per the", "going by the", "as per the", "went by the", "so says the", "in the", "from the", "not in the", "read the", "read in the", "like the")
_SPEAKS = frozenset(["says", "say", "said", "claims", "claimed", "reckons", "states", "stated", "quotes", "promises", "calls", "gives"])
# A box that is the thing's own case: "in two boxes", "the control box"
_CASES = frozenset(["two", "three", "second", "other", "either", "control", "supply", "little", "small", "grey", "gray", "black", "white", "silver", "shoe", "biscuit", "cigar", "tool", "one", "top", "middle", "bottom", "lower", "upper", "glove", "junction", "switch", "same", "big", "fuse", "tube", "metal", "wooden", "separate", "these", "those", "another"])
_HEADS = frozenset(["boxes", "box", "cartons", "carton", "boxed"])
_NOT_OURS = frozenset(["for", "from", "of", "off"])


def find_accessories(reading: Reading, clause: Clause) -> list[Fact]:
    """The accessories told in one clause."""
    out = []
    for mention in reading.within(clause.start, clause.end, "accessory"):
        present = _present(reading, mention, clause)
        if present is None:
            continue
        out.append(
            Fact(
                "accessories",
                {"item": mention.canonical, "present": present},
                mention.start,
                mention.end,
                f"accessory: {mention.phrase}",
                signals={"ambiguous": 1.0} if mention.ambiguous else {},
            )
        )
    return out


def _present(reading: Reading, mention: Mention, clause: Clause) -> bool | None:
    """True, False, or None where the word is no accessory here (a part at work, somebody else's, wished for)."""
    contexts = reading.contexts
    tokens = reading.text.tokens
    if _longer_around(reading, mention) or mention.ambiguous or _no_thing(reading, mention, clause):
        return None
    answer = _answer(reading, mention, clause)
    if answer is not None:
        return answer
    absent = any(_tells_absence(reading, s, clause) for s in contexts.over(mention.start, "negated", "absent_forward"))
    also_part = any(m.start == mention.start for m in reading.within(mention.start, mention.end, "part"))
    at_work = _at_work(reading, mention, clause)
    missing = any(m.canonical == "missing" for m in reading.within(clause.start, clause.end, "symptom"))
    if _found(reading, mention, clause):
        return True
    if missing and not contexts.has(mention.start, "stopped"):
        return None if _wished(reading, mention) else False
    if absent:
        return False
    if _stays(reading, mention, clause):
        return True
    if at_work and (also_part or contexts.has(mention.start, "todo")):
        return None
    if _wished(reading, mention) or contexts.has(mention.start, "hypothetical", "other", "notodo"):
        return None
    following = [t.norm for t in tokens[mention.end : min(clause.end, mention.end + 2)]]
    if (
        following[:1]
        and following[0] in _NOT_OURS
        and following[1:2] in (["the"], ["another"], ["that"])
        and not reading.within(clause.start, mention.start, "accessory")
    ):
        return None
    words = {t.norm for t in tokens[clause.start : clause.end]}
    short = clause.end - clause.start <= 6
    if words & _HERE or short:
        return True
    return None


def _tells_absence(reading: Reading, scope: Scope, clause: Clause) -> bool:
    """ "The box did not." tells it; "the manual's in with it, didn't see that" is about the seeing."""
    if scope.cue not in {"did not", "didn't", "was not", "wasn't"} or scope.cue_start < scope.start:
        return True
    if scope.cue_end >= clause.end or reading.text.tokens[scope.cue_end - 1].after:
        return True
    return reading.text.tokens[scope.cue_end].norm in {"come", "make", "turn", "survive", "arrive", "stay", "get", "travel"}


def _no_thing(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "It stands open", "lid off", "in two boxes", "the brochure says", "the ones with the brass feet": nothing that came along."""
    first = max(clause.start, mention.start - 5)
    before = reading.text.norms(first, mention.start)
    behind = reading.text.norms(mention.end, min(clause.end, mention.end + 2))
    comma = bool(reading.text.tokens[mention.end - 1].after)
    head = mention.phrase.split()[-1]
    if mention.phrase in ("stands", "stand"):
        verb = bool(behind) and behind[0] in _STANDS_VERB and not comma
        return verb and (not before or before[-1] not in _STANDS_NOUN)
    if head in _HEADS and len(mention.phrase.split()) == 1 and before and before[-1] in _CASES:
        return True
    if behind[:1] == ["off"] and not comma and mention.canonical in ("dust cover", "original box", "grilles"):
        return mention.canonical == "dust cover"
    if behind == ["are", "worth"] or behind == ["is", "worth"]:
        return True
    if behind and behind[0] in _SPEAKS and not comma:
        return True
    if any(" ".join(before[-n:]) in _PLACED for n in (2, 3, 4, 5) if len(before) >= n):
        boxed = mention.canonical == "original box" and before[-2:] == ["in", "the"]
        return not boxed and not (mention.canonical == "cartridge" and "with" in before)
    return _the_unit(reading, mention, before) or _was(reading, mention, before)


def _the_unit(reading: Reading, mention: Mention, before: list[str]) -> bool:
    """ "That's one pair of cables": what is counted is the unit itself."""
    same = [m for m in reading.within(mention.start, mention.start + 1, "unit_type") if m.end == mention.end]
    if not same or mention.canonical == "spare tubes" or set(before) & {"with", "its", "comes", "came", "no", "spare", "plus", "includes"}:
        return False
    joined = " ".join(before)
    return joined.endswith((" of", "pair of", "set of", "lot of", "lengths of")) or bool(
        before and before[-1] in {"two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "dozen"}
    )


def _was(reading: Reading, mention: Mention, before: list[str]) -> bool:
    """ "There was a cartridge on the end of the arm": told of what it had."""
    joined = " ".join(before)
    return any(w in joined for w in ("there was a", "there were", "there used to be", "used to have")) and not joined.endswith("no")


def _answer(reading: Reading, mention: Mention, clause: Clause) -> bool | None:
    """ "Manual, no.", "Power cord, yes.", "Remote? Nope.", "Manual's not.": the word behind answers."""
    tokens = reading.text.tokens
    own = [t.norm for t in tokens[mention.end : clause.end]]
    if not own and mention.end < len(tokens) and tokens[mention.end - 1].after in {",", "?", ":"}:
        sentence = reading.text.sentence_at(mention.end)
        if sentence.end - mention.end <= 3 and (sentence.start == mention.end or sentence.start <= mention.start):
            own = [t.norm for t in tokens[mention.end : sentence.end]]
    words = [w for w in own if w not in {"uh", "um"}]
    if not words or len(words) > 3:
        return None
    if words[-1] in {"isn't", "not", "aren't", "didn't", "wasn't"} and (
        words[0] in {"still", "is", "are", "did", "does", "was"} or len(words) == 1
    ):
        return False
    if words[0] in {"no", "nope", "nah", "none", "negative", "not", "isn't", "gone", "missing"} and (
        len(words) == 1 or words[-1] in {"here", "there", "present", "included", "it", "sir"}
    ):
        return False
    if words[0] in {"yes", "yep", "yeah", "check", "present", "here", "aye", "got"} or words == ["is", "here"]:
        return True
    return None


def _stays(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "The lid's on it, cracked the same as ever": it is there, whatever its state."""
    behind = " ".join(reading.text.norms(mention.end, min(clause.end, mention.end + 4)))
    own = reading.text.tokens[mention.end - 1].norm.endswith("'s")
    heads = ("here", "on it", "with it", "with them", "there", "present", "included", "in with it")
    return behind.startswith(tuple(f"{verb}{h}" for h in heads for verb in (("", "is ") if own else ("is ", "are ", "came ", "comes "))))


def _found(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """ "the power cord that was missing has turned up"."""
    words = " ".join(t.norm for t in reading.text.tokens[mention.end : clause.end])
    return any(
        p in words
        for p in (
            "turned up",
            "has come back",
            "showed up",
            "i found",
            "was found",
            "has been found",
            "we found",
            "resurfaced",
        )
    )


def _longer_around(reading: Reading, mention: Mention) -> bool:
    return any(
        m.start <= mention.start and mention.end <= m.end and m.end - m.start > mention.end - mention.start
        for m in reading.within(max(0, mention.start - 4), mention.end)
    )


def _at_work(reading: Reading, mention: Mention, clause: Clause) -> bool:
    """A symptom or a job in the same clause is about this very part."""
    near = reading.within(clause.start, clause.end, "symptom", "work")
    return any(
        m.canonical != "missing" and abs(m.start - mention.start) <= 7 and m.start != mention.start for m in near
    )


def _wished(reading: Reading, mention: Mention) -> bool:
    return reading.contexts.has(mention.start, "todo") or bool(
        reading.cues_in(max(0, mention.start - 5), mention.start, "waits")
    )
