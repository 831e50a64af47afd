"""How a unit looks: a cosmetic grade, where the words grade the whole unit's looks and not a part, the sound or the day."""

from __future__ import annotations

import re

from intake.language.clauses import Clause
from intake.language.frames.facts import Fact
from intake.language.frames.people import supposed
from intake.language.reading import Reading
from intake.language.terms import Mention

SAID, GRADED, LISTED, DESCRIBED = "cosmetic", "grade", "grade in a list", "looks described"
_LOOKS = frozenset(
    ["cosmetically", "cosmetic", "cosmetics", "condition", "shape", "nick", "looks", "looking", "appearance", "finish", "outside", "exterior", "externally", "visually", "visual", "grade", "graded", "aesthetically", "aesthetics", "optically", "optical", "bodywork", "eye", "eyes", "appearances", "outwardly"]
)
_LOOKS_PHRASE = re.compile(r"\b(?:to look at|looks wise|look wise|to the eye|body wise|condition wise|on the outside|from (?:the )?outside|overall)\b")
_FUNCTION = frozenset(
    ["sounds", "sound", "sounding", "plays", "play", "playing", "works", "work", "working", "runs", "run", "running", "tests", "tested", "test", "measures", "measured", "tracks", "tracking", "reads", "reading", "performs", "reception", "bass", "treble", "picture", "signal", "balance", "response", "functionally", "mechanically", "electrically", "sonically", "internally", "inside", "technically", "price", "deal", "news", "idea", "luck", "job", "day", "morning", "value", "pulls", "locks", "switches", "turns", "spins", "powers", "feels", "smells"]
)
_VERDICT = re.compile(
    r"(?:call(?:ed|s)?|put|say|said|make|made|go|going|give|gave|grade|graded|mark|marked|rate|rated|score|scores|scored|scrapes?|write|book|settle for|guess|reckon|think|tick|enter|log|note|down as|down for|rank|ranks|stretch to|pushing|pass(?:es)? (?:for|as)|comes? (?:out )?(?:at|as)|counts? as|qualif\w+ (?:for|as)|stick with|stay at|leave it at|drop it to|knock it down to|bump it (?:up )?to|up to|down to|land(?:s)? on|lean(?:ing)? (?:towards?|to))"
    r"(?: (?:it|them|this|that|these|those|one|both|all|her|him|the \S+|him down|it down|them down|down|in))*"
    r"(?: (?:a|an|as|for|at|is|to be|just|only|about|maybe|barely|solid|strong|good solid|hard|honest|the|no more than|not more than|on|be|with|it's|they're|more of a|still|easily|generous|,))*$"
)
_FLOOR = re.compile(r"(?:no|not|never|nothing) (?:more|better|higher|above|over)(?: than)?(?: an?)?$")
_COPULA = re.compile(
    r"(?:^|[,.] |\b(?:and|but|so|then|that|which|still|though|otherwise|says|now|honestly|frankly|yeah|really|truly|again|anyway|mind|oh|actually|basically|overall|well|no|yes|today|inside) )"
    r"(?:it's|its|they're|she's|he's|it is|they are|this is|this one's|this one is|that is|that's|that one's|that one is|these are|those are|both are|all are|they're both|they are both|they're all|both|all|is|are|looks|look|it was|the rest is|the rest of it is|rest is|"
    r"(?:the |this |that |these |those )?(?:whole )?(?:(?:stack|lot|pair|set|unit|thing|pile|shelf|row|bunch|amp|amplifier|deck|tuner|receiver|turntable|player|speakers?|machine|preamp|box of tricks|rest|one|two|three|four|cabinets)(?: is| are|'s)))"
    r"(?: (?:a|an|just|only|really|quite|pretty|still|actually|in|honestly|about|at best|maybe|perhaps|i'd say|i think|i suppose|absolutely|truly|dead|all|both|otherwise|for me|solid|strong|is|frankly|easily|,|well))*$"
)
_ALONE = frozenset(
    ["so", "then", "and", "but", "still", "just", "only", "well", "yeah", "yes", "maybe", "perhaps", "i'd", "say", "i", "think", "guess", "suppose", "otherwise", "overall", "cosmetics", "cosmetic", "cosmetically", "condition", "looks", "wise", "for", "to", "look", "at", "a", "solid", "strong", "the", "all", "round", "both", "honestly", "really", "pretty", "meh", "mostly", "generally", "or", "call", "it", "them", "though", "that", "grade", "as", "is", "dead", "absolutely", "in", "my", "book", "okay", "hmm"]
)
_NOT_AFTER = frozenset(
    ["enough", "play", "bit", "amount", "few", "number", "chunk", "deal", "copy", "price", "game", "dinkum", "question", "point", "to", "for", "on", "thing", "old", "man", "sod", "devil", "fella", "lad", "contact", "contacts", "solder", "joint", "joints", "reception", "sound", "sounding", "quality", "performer", "sounder", "runner", "stuff", "job", "news", "luck", "god", "grief", "gracious", "morning", "afternoon", "evening", "day", "lord", "heavens", "lady", "luck", "value", "money", "buy", "with", "as", "now", "again", "until", "till", "readings", "numbers", "match", "seller", "work", "bass", "signal", "thinking", "catch", "idea", "riddance", "and", "of", "at", "bye", "weather", "ground", "working", "spares", "health"]
)
_FINE_AFTER = frozenset(
    ["honestly", "really", "throughout", "all", "overall", "though", "otherwise", "but", "and", "except", "apart", "bar", "at", "for", "cosmetically", "condition", "nick", "shape", "because", "if", "only", "given", "considering", "looks", "with", "to", "in", "as", "on", "or", "then", "i", "i'd", "no", "nothing", "maybe", "i'm", "plus", "minus", "too", "or", "around", "not", "bar", "save", "wise", "by", "so"]
)
_EVERYDAY = frozenset({"good", "fine", "decent", "clean", "nice", "solid", "great", "perfect", "lovely", "okay", "ok", "alright", "all right", "reasonable", "acceptable", "smart", "tired", "beautiful", "gorgeous", "amazing", "wonderful", "fantastic", "spectacular", "bad", "horrible", "grim", "a mess", "been used", "has been used", "a beauty"})
_EXCLAIMED = frozenset({"excellent", "very good", "superb", "outstanding", "perfect", "good", "lovely", "great", "fine", "really good", "not bad", "not too bad", "pretty good", "first class", "okay", "alright", "all right", "brilliant"})
_ON_TO = frozenset(["moving", "next", "right", "now", "let's", "on", "carry", "onwards", "then", "where", "back", "so", "still", "thank", "thanks", "that's", "got", "done", "we're", "see", "what", "here's", "here", "there's", "good", "okay", "well", "this", "and", "you"])
_ANEW = _LOOKS | frozenset(["overall", "it's", "they're", "call", "put", "i'd", "otherwise", "them", "rest"])
_PLAIN = re.compile(r"mint|excellent|very good|really good|good|fair|poor|v ?g")
_CANT = frozenset(["can't", "cannot", "couldn't", "wouldn't", "won't", "hardly", "isn't", "aren't", "far", "short", "less", "never", "nowhere", "ain't", "used", "was", "were", "wasn't", "weren't", "if", "once", "until", "till", "like", "needs", "should", "will"])


def find_grade(reading: Reading, mention: Mention, clause: Clause, sentence: tuple[int, int]) -> Fact | None:
    """The grade that a mention of one gives, or None where it grades something else."""
    if _denied(reading, mention, clause) or _takes_noun(reading, mention):
        return None
    start = _segment(reading, clause, mention.start)
    before = _words(reading, start, mention.start)
    if _of_a_thing(reading, mention, start) or _functional(reading, mention, clause, start):
        return None
    if _VERDICT.search(before) and _ends(reading, mention, loosely=True):
        return _fact(mention, SAID)
    if _about_looks(reading, mention, clause, sentence):
        return _fact(mention, SAID)
    if mention.phrase in _EVERYDAY:
        return None
    if mention.phrase == "fair" and before.endswith(("that's", "that is")):
        return None
    if _COPULA.search(before) and _ends(reading, mention, loosely=mention.phrase not in {"fair", "poor"}):
        return _fact(mention, GRADED)
    if _alone(reading, mention, start, sentence):
        return _fact(mention, LISTED if not before else GRADED)
    if not mention.ambiguous and not _PLAIN.fullmatch(mention.phrase) and not before.endswith(("the", "a", "his")):
        return _described(reading, mention, clause, before)
    return None


def _described(reading: Reading, mention: Mention, clause: Clause, before: str) -> Fact | None:
    """ "Beat to death, this one", "light wear": looks told without a grade, where little else is said."""
    strong = len(mention.phrase.split()) > 1 or mention.start == clause.start
    if strong and len(before.split()) <= 4 and _ends(reading, mention, loosely=True):
        return _fact(mention, LISTED if not before else GRADED)
    return None


def is_plain(fact: Fact) -> bool:
    """Whether a grade was told by its own word ("fair") and not by a description ("a few marks")."""
    return bool(_PLAIN.search(fact.rule.split(":", 1)[-1]))


def _fact(mention: Mention, rule: str) -> Fact:
    signals = {"ambiguous": 1.0} if mention.ambiguous else {}
    return Fact("cosmetic", mention.canonical, mention.start, mention.end, f"{rule}: {mention.phrase}", signals=signals)


def _words(reading: Reading, start: int, end: int) -> str:
    tokens = reading.text.tokens
    return " ".join(t.norm + (" ," if t.after else "") for t in tokens[start:end] if t.norm not in {"uh", "um", "er"})


def _segment(reading: Reading, clause: Clause, at: int) -> int:
    """Where the talk about this grade begins: the clause, but not before a comma that a part or number precedes."""
    tokens = reading.text.tokens
    start = max(clause.start, at - 14)
    for i in range(at - 1, start - 1, -1):
        told = reading.within(max(clause.start, i - 5), i + 1, "part", "accessory", "symptom", "work", "source", "stage")
        if tokens[i].after and told:
            return i + 1
    return start


def _denied(reading: Reading, mention: Mention, clause: Clause) -> bool:
    contexts = reading.contexts
    before = _words(reading, max(clause.start, mention.start - 5), mention.start)
    if _FLOOR.search(before):
        return False
    near = {t.norm for t in reading.text.tokens[max(clause.start, mention.start - 4) : mention.start]}
    if near & _CANT or contexts.has(mention.start, "other"):
        return True
    if any(s.cue_start < mention.start for s in contexts.over(mention.start, "negated", "todo")):
        return not _VERDICT.search(before) or bool(near & {"not", "no", "don't", "isn't"})
    return supposed(reading, mention.start)


def _takes_noun(reading: Reading, mention: Mention) -> bool:
    """ "fair enough", "a good deal", "poor reception": the word belongs to the one behind it."""
    tokens = reading.text.tokens
    if mention.end >= len(tokens) or tokens[mention.end - 1].after:
        return False
    after = tokens[mention.end].norm
    if after in {"and", "for", "as", "at", "to", "of", "with", "on", "now", "again"}:
        following = tokens[mention.end + 1].norm if mention.end + 1 < len(tokens) else ""
        return mention.phrase in _EVERYDAY and (
            after in {"to", "on", "with", "of", "now", "again"} or (after == "for" and following not in {"its", "the", "their", "a"})
        )
    return after in _NOT_AFTER and len(mention.phrase.split()) <= 2


def _of_a_thing(reading: Reading, mention: Mention, start: int) -> bool:
    """A part, an accessory or a symptom before it in the same breath is what is graded ("the roller is still good")."""
    verdict = _VERDICT.search(_words(reading, start, mention.start))
    things = [
        m
        for m in reading.within(start, mention.start, "part", "accessory", "symptom", "unit_of_measure")
        if not m.ambiguous and m.end <= mention.start and not (verdict and m.phrase in verdict.group(0))
    ]
    if not things:
        return False
    since = _words(reading, things[-1].end, mention.start).split()
    return not set(since) & _ANEW or since[-1:] in (["and"], ["but"])


def _functional(reading: Reading, mention: Mention, clause: Clause, start: int) -> bool:
    tokens = reading.text.tokens
    low = max(start, mention.start - 6)
    words = {t.norm for t in tokens[low : mention.start]}
    after = {t.norm for t in tokens[mention.end : min(clause.end, mention.end + 2)]}
    return bool((words | (after if not tokens[mention.end - 1].after else set())) & _FUNCTION)


def _about_looks(reading: Reading, mention: Mention, clause: Clause, sentence: tuple[int, int]) -> bool:
    """A word about looks in the clause; or just before it, where the clause has little else to say."""
    tokens = reading.text.tokens
    own = {t.norm.removesuffix("'s") for t in tokens[max(clause.start, mention.start - 9) : min(clause.end, mention.end + 6)]}
    if own & _LOOKS or set(mention.phrase.split()) & _LOOKS:
        return True
    if _LOOKS_PHRASE.search(_words(reading, max(clause.start, mention.start - 9), min(clause.end, mention.end + 6))):
        return True
    if mention.start - clause.start > 4 or not _ends(reading, mention, loosely=False):
        return False
    short = sentence[1] - sentence[0] <= 3
    low = max(0, sentence[0] - 4) if short else max(sentence[0], mention.start - 14)
    near = _words(reading, low, mention.start)
    earlier = [m for m in reading.within(max(sentence[0], mention.start - 14), mention.start, "cosmetic") if m.end <= mention.start]
    return bool(set(near.split()) & _LOOKS or _LOOKS_PHRASE.search(near) or earlier)


def _ends(reading: Reading, mention: Mention, *, loosely: bool) -> bool:
    """Whether the statement stops behind the grade, or goes on in a way that leaves it standing."""
    tokens = reading.text.tokens
    if mention.end >= len(tokens) or tokens[mention.end - 1].after:
        return True
    if reading.clause_of[mention.end - 1] != reading.clause_of[mention.end]:
        return True
    after = tokens[mention.end].norm
    return after in _FINE_AFTER or (loosely and after not in _NOT_AFTER and after.endswith("ly"))


def _alone(reading: Reading, mention: Mention, start: int, sentence: tuple[int, int]) -> bool:
    """ "Fair.", "so poor", "Excellent otherwise": nothing but the grade is said, and it is no exclamation."""
    tokens = reading.text.tokens
    if not all(t.norm in _ALONE for t in tokens[start : mention.start]) or not _ends(reading, mention, loosely=True):
        return False
    behind = [t.norm for t in tokens[mention.end : mention.end + 2]]
    if mention.phrase in _EXCLAIMED and mention.start == sentence[0]:
        follows = behind[0] if behind else ""
        if follows in {"otherwise", "overall", "throughout", "all", "apart", "bar", "except", "cosmetically"}:
            return True
        asked = {t.norm for t in tokens[max(0, sentence[0] - 16) : sentence[0]]}
        return bool(asked & _LOOKS) and follows not in _ON_TO - {"and", "so"}
    return True
