"""Sentences cut into clauses: where the grammar of one statement ends and the next begins."""

from __future__ import annotations

from dataclasses import dataclass

from intake.language.tokens import Sentence, Text

_JOINS = frozenset(["and", "but", "so", "because", "which", "though", "although", "since", "while", "then", "or", "yet", "plus", "however"])
_SUBJECTS = frozenset(
    ["i", "i'm", "i've", "i'd", "i'll", "it", "it's", "it'd", "it'll", "he", "he's", "she", "she's", "they", "they're", "they've", "we", "we're", "we've", "we'll", "you", "you'd", "that", "that's", "this", "there", "there's", "these", "those", "someone", "somebody", "nobody", "everybody", "everything", "nothing", "who", "one"]
)
_VERBS = frozenset(
    ["is", "are", "was", "were", "has", "have", "had", "needs", "need", "wants", "does", "do", "did", "got", "goes", "comes", "came", "went", "looks", "sounds", "works", "runs", "reads", "says", "will", "should", "must", "can", "could", "would", "isn't", "aren't", "wasn't", "weren't", "hasn't", "haven't", "doesn't", "don't", "didn't", "won't", "can't", "needed", "hums", "buzzes", "drops", "cuts", "skips", "plays", "lights", "turns", "makes", "measures", "tests", "sits", "weighs"]
)
# Words behind a noun with 's that make it "is": "power cord's in the bag", "manual's here"
_AFTER_IS = frozenset(
    ["in", "on", "at", "here", "there", "not", "gone", "missing", "with", "still", "all", "a", "an", "the", "been", "got", "fine", "good", "great", "okay", "ok", "dead", "dirty", "weak", "broken", "cracked", "worn", "torn", "out", "off", "up", "down", "just", "also", "already", "now", "back", "bright", "loose", "bad", "too", "no", "from", "inside", "under", "included", "present", "intact", "clean", "dim", "stuck", "noisy", "scratchy", "bent", "lost", "perfect", "shot", "rotted", "split", "mint", "fair", "poor", "excellent", "very", "pretty", "really", "quite", "like", "right", "left", "both", "toast", "kaput", "somewhere", "nowhere", "around", "behind", "beat", "what", "where"]
)
_DETERMINERS = frozenset(["the", "a", "an", "his", "her", "its", "their", "my", "our", "that", "this", "both", "all", "each", "left", "right"])


@dataclass(frozen=True)
class Clause:
    """Tokens start..end (exclusive) of one statement."""

    start: int
    end: int


def clauses(text: Text) -> list[Clause]:
    """Every sentence's clauses in order; a sentence without an inner border is one clause."""
    out: list[Clause] = []
    for sentence in text.sentences:
        begin = sentence.start
        for i in range(sentence.start + 1, sentence.end):
            if _starts_clause(text, sentence, begin, i):
                out.append(Clause(begin, i))
                begin = i
        out.append(Clause(begin, sentence.end))
    return out


def _starts_clause(text: Text, sentence: Sentence, begin: int, i: int) -> bool:
    """A clause starts at a join word or comma that a subject follows, with a verb near."""
    tokens = text.tokens
    after_comma = tokens[i - 1].after in {",", ";", ":"}
    if tokens[i - 1].after in {";", ":"}:
        return True
    word = tokens[i].norm
    at = i
    if word in _JOINS:
        at = i + 1
        while at < sentence.end and tokens[at].norm in {"uh", "um", "then", "now", "so", "also", "just", "when"}:
            at += 1
    elif not after_comma:
        return False
    if at >= sentence.end or i - begin < 1:
        return False
    if word in {"but", "because", "so", "which", "though", "although"} and (
        after_comma or word in {"but", "because", "which", "although"}
    ):
        return True
    head = tokens[at].norm
    if head in _SUBJECTS and (after_comma or word in _JOINS):
        return not (head in {"that", "one", "this", "it", "those", "these"} and at + 1 >= sentence.end)
    return _noun_then_verb(text, at, sentence.end)


def _noun_then_verb(text: Text, at: int, end: int) -> bool:
    """ "the manual is here", "Dana replaced it": a noun phrase of up to five words, then a verb, before any comma."""
    for j in range(at, min(at + 6, end)):
        word = text.tokens[j].norm
        if word.endswith("'s") and j + 1 < end and not text.tokens[j].after and _is_verb(text.tokens[j + 1].norm):
            return True
        if word in _VERBS or (word.endswith("ed") and len(word) > 4 and j - at <= 2):
            return j > at
        if text.tokens[j].after:
            return False
    return False


def _is_verb(following: str) -> bool:
    """Whether 's before this word stands for "is" or "has"."""
    return following in _AFTER_IS or (following.endswith(("ed", "ing")) and len(following) > 4)
