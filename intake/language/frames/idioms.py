"""Words of a fault that tell none: "dead quiet", "bend your knees", "stuck under the foil", "the serial is worn off"."""

from __future__ import annotations

import re

from intake.language.clauses import Clause
from intake.language.reading import Reading
from intake.language.terms import Mention

# What carries a unit's number or name: its scratches and faint print are no fault of the unit
_LABELS = frozenset(
    ["serial", "number", "numbers", "plate", "label", "sticker", "badge", "badges", "lettering", "letters", "print", "ink", "tag", "ticket", "engraving", "engravings", "logo", "stamp", "stamping", "digit", "digits", "decal", "nameplate", "marker", "pencil", "handwriting", "writing", "silkscreen", "barcode"]
)
_LABEL_FAULTS = frozenset(
    ["scratched", "worn", "faded", "dim", "torn", "dirty", "missing", "deteriorated", "broken", "discoloured", "loose"]
)
# Last word of a symptom's phrase -> words behind it with which it says something else
_BEHIND = {
    "dead": ["quiet", "silent", "straight", "flat", "easy", "right", "simple", "centre", "center", "level", "good", "nuts", "clean", "keen", "certain", "sure", "set", "slow", "heavy", "weight", "fish", "ringer", "giveaway", "chuffed", "original", "accurate", "cheap", "nice", "reliable", "stock", "serious", "common", "rare", "posh", "handy", "on", "ahead"],
    "stuck": ["under", "behind", "inside", "between", "to", "underneath", "with", "away", "here", "there", "beneath", "up", "at", "for", "about", "onto"],
    "bend": ["your", "my", "the", "down"],
    "bent": ["on", "double", "over"],
    "broke": ["his", "her", "my", "their", "even", "the", "for", "up", "down"],
    "broken": ["english", "his", "her", "my", "in", "biscuit", "biscuits"],
    "breaks": ["his", "her", "my", "your", "for"],
    "loose": ["change", "valve", "valves", "tube", "tubes", "cable", "cables", "ends", "in", "bits", "bag", "end", "lot", "leads", "cartridges", "ones", "stuff", "items", "pieces"],
    "weak": ["tea", "spot", "coffee", "knees"],
    "dirty": ["great", "big", "work", "trick", "job"],
    "faded": ["away", "out"],
    "hum": ["was", "is", "came", "comes"],
    "worn": ["by"],
    "cracked": ["open", "on", "it", "up", "jokes"],
    "crack": ["on", "at", "of", "open"],
    "scrapes": ["a", "by", "through", "in", "into", "past"],
    "scraped": ["a", "by", "through", "in", "past", "together"],
    "scratch": ["that", "my", "your", "his", "the", "built", "this"],
    "shot": ["the", "some", "of", "a"],
    "blown": ["away", "in"],
    "split": ["the", "them", "it", "up", "into", "between"],
    "noise": ["outside", "from", "in"],
    "pop": ["the", "it", "in", "over", "round", "back", "down", "music", "up"],
    "popped": ["the", "in", "it", "over", "round", "out", "up"],
    "popping": ["in", "the", "over", "round", "out", "it"],
    "whistle": ["past", "while"],
    "rattle": ["through", "off"],
    "rattling": ["through", "off", "on", "good"],
    "howling": ["gale", "wind", "outside"],
    "drops": ["by", "in", "off", "of", "on"],
    "disappeared": ["to", "with", "into"],
    "wander": ["off", "around", "round", "in", "over", "through", "down", "up"],
    "wandering": ["off", "around", "round", "in", "over", "through", "down", "up", "the"],
    "wandered": ["off", "around", "round", "in", "over", "through", "down", "up"],
    "runs": ["to"],
}  # fmt: skip
# Last word of a symptom's phrase -> words before it with which it says something else
_BEFORE = {
    "way out": ["the"],
    "tilt": ["me", "to", "i", "you", "and"],
    "tilted": ["i"],
    "shifted": ["what's", "i", "we", "has", "have", "been"],
    "twist": ["a", "to", "you", "i"],
    "stuck": ["us", "me", "i'm", "we're", "i", "get", "got", "sticker", "label", "tag", "note", "card"],
    "moving": ["i'm", "we're", "not"],
    "rubs": ["few", "some", "light", "small", "the", "of", "a", "minor", "little"],
    "rub": ["a", "light", "little", "the", "small"],
    "noise": ["the", "much", "any", "that", "surface", "make", "making"],
    "distortion": ["for", "the", "measured", "harmonic", "of", "read", "that"],
    "broke": ["i", "he", "she", "we", "dead", "i'm", "flat"],
    "dead": ["the", "his", "my", "over", "half", "drop"],
    "dirty": ["quick", "down"],
    "lost": ["i'm", "i", "get", "got"],
    "worn": ["i'm", "phone", "me", "well"],
    "worn out": ["i'm", "phone", "me"],
    "torn": ["i'm", "pulled", "been"],
    "bust": ["the", "a"],
    "clicks": ["few", "the", "two", "three"],
    "wandering": ["i'm", "was just", "mind"],
    "scratch": ["from", "to"],
    "crack": ["a", "the"],
}  # fmt: skip
_ELSEWHERE = re.compile(r"^(was |is |were |are )?(only |just |all )?(coming|came|comes) from (my|the|our|next|outside|your)\b")
_BINNED = frozenset(["bin", "dustbin", "trash", "skip", "garbage", "rubbish", "dumpster", "tip"])
# A word taken back: "weak, no, weak is not the right word"
_WRONG_WORD = re.compile(r"^(is|isn't|was|wasn't)( not| quite)? (the )?(right|wrong|proper|correct|best|exact)? ?(word|term|way)\b")


def said_otherwise(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """Whether the words of a symptom tell no fault of the unit here."""
    return (
        _idiom(reading, symptom, clause)
        or _of_label(reading, symptom, clause)
        or _wrong_word(reading, symptom)
        or _workshop_state(reading, symptom)
        or _thrown_away(reading, symptom, clause)
    )


def _idiom(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    tokens = reading.text.tokens
    word = symptom.phrase if symptom.phrase in _BEFORE else symptom.phrase.split()[-1]
    behind = "" if tokens[symptom.end - 1].after else " ".join(reading.text.norms(symptom.end, min(clause.end, symptom.end + 6)))
    if behind.split(" ")[0] in _BEHIND.get(word, ()) and not (word == "hum" and not _ELSEWHERE.match(behind)):
        return True
    if _ELSEWHERE.match(behind):
        return True
    before = tokens[symptom.start - 1].norm if symptom.start > clause.start else ""
    if symptom.end - symptom.start > 2 or before not in _BEFORE.get(word, ()):
        return False
    # "the dead lamp", "a crack in the glass" do tell one: the part stands beside the word
    return not reading.within(symptom.end, min(clause.end, symptom.end + 4), "part")


def _of_label(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """ "The serial has been scraped off", "the stamp is very faint": the label's state, not the unit's."""
    if symptom.canonical not in _LABEL_FAULTS:
        return False
    first = max(clause.start, symptom.start - 7)
    words = [w.removesuffix("'s") for w in reading.text.norms(first, symptom.start)]
    named = [first + i for i, w in enumerate(words) if w in _LABELS]
    if named:
        return not reading.within(named[-1] + 1, symptom.start, "part")
    behind = reading.text.norms(symptom.end, min(clause.end, symptom.end + 2))
    return bool(behind) and behind[-1] in _LABELS and behind[0] not in {"on", "and", "under", "by", "at"}


def _wrong_word(reading: Reading, symptom: Mention) -> bool:
    """ "The display is weak, no, weak is not the right word, it is dim": both mentions of the word taken back go."""
    sentence = reading.text.sentence_at(symptom.start)
    for m in reading.within(symptom.start, sentence.end, "symptom"):
        behind = " ".join(reading.text.norms(m.end, min(sentence.end, m.end + 6)))
        if m.canonical == symptom.canonical and _WRONG_WORD.match(behind):
            return True
    return False


def _workshop_state(reading: Reading, symptom: Mention) -> bool:
    """ "I have it in bits at present": on the bench, not broken."""
    return any(m.start == symptom.start and m.end == symptom.end for m in reading.within(symptom.start, symptom.end, "stage"))


def _thrown_away(reading: Reading, symptom: Mention, clause: Clause) -> bool:
    """ "One's smashed and that's in the trash": what is not kept has no faults."""
    sentence = reading.text.sentence_at(symptom.start)
    words = reading.text.norms(symptom.end, min(sentence.end, symptom.end + 8))
    return any(w in _BINNED and words[i - 1 : i] in (["the"], ["a"]) for i, w in enumerate(words))
