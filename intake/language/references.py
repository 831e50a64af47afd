"""Namings that bring in nothing: comparisons, landmarks, parts of other things, corrections, what is gone."""

from __future__ import annotations

from intake.language.names import Naming
from intake.language.scene import Scene
from intake.language.terms import CueHit

_GAP_WORDS = frozenset(
    ["a", "an", "the", "pair", "pairs", "of", "two", "couple", "big", "old", "little", "set", "those", "these", "that", "other", "same", "some", "his", "her", "our", "my", "new", "great"]
)
_MEASURES_BY = frozenset(
    ["needle", "size", "price", "cost", "weight", "sort", "kind", "look", "sound", "likes", "motor", "insides", "guts", "heart", "shape", "height", "width", "colour", "color"]
)

_LIDS = frozenset(["lid", "lids", "cover", "covers", "top", "bottom", "back"])
_HERE_IS = frozenset(["is", "here's", "there's", "it's", "that's", "got", "have", "sits"])


class References(Scene):
    """Tells whether a naming only refers to something, or corrects what was said."""

    def _refers(self, naming: Naming, c: int) -> bool:
        """A comparison or a landmark just before: "not the thirty-eights", "next to the receiver", "same day as the X"."""
        low = self.reading.clauses[c].start
        if self._apposed(naming, low) or self._names_others(naming) or self._of_another(naming, low):
            return True
        for hit in self.reading.cues_in(max(low, naming.start - 6), naming.start + 1, "compares"):
            if any(self.text.tokens[k].after for k in range(hit.start, hit.end - 1)):
                continue                # "First off, a tuner" is no "off a"
            before = self.text.tokens[hit.start - 1].norm if hit.start > low else ""
            if before in _LIDS and hit.cue.phrase.startswith("off"):
                continue                # "I've had the lid off the Whinfell" is about the Whinfell
            if before in _HERE_IS and hit.cue.phrase.startswith("one of"):
                continue                # "beside it is one of those reel-to-reel machines"
            if hit.start < naming.start and all(t.norm in _GAP_WORDS for t in self.text.tokens[hit.end : naming.start]):
                return True
        return False

    def _apposed(self, naming: Naming, low: int) -> bool:
        """ "Next to the Vosskamp that stood here, the R five hundred": a model put beside what is only compared."""
        if naming.types or naming.makers or naming.determiner != "the" or not self.topics.ignored:
            return False
        before = self.topics.ignored[-1]
        clause = self.reading.clause_of[before.start]
        return before.start >= low - 12 and self.text.sentence_of[before.start] == self.text.sentence_of[
            naming.start
        ] and not before.models and bool(before.makers) and self._refers(before, clause)

    def _gone(self, naming: Naming, c: int) -> bool:
        """ "The H D five fifty that stood here was sold on Saturday": not here any more."""
        clause = self.reading.clauses[c]
        return any(
            "sold" in h.cue.phrase and 0 <= h.start - naming.end <= 8
            for h in self.reading.cues_in(naming.end, clause.end, "elsewhere")
        )

    def _names_others(self, naming: Naming) -> bool:
        """ "I had to look up which, there's a Wick five and a Wick fifty as well": two models in one breath, no type, no maker."""
        if naming.types or naming.makers or naming.determiner not in ("a", "an") or self.current is None:
            return False
        if len({h.code for h in naming.models if h.names}) > 1 and not self._repair_before(naming):
            return True
        sentence = self.text.sentence_at(naming.start)
        inside = self._named_in(self.reading.clause_of[sentence.start], self.reading.clause_of[sentence.end - 1])
        return any(n is not naming and n.models and not n.types and not n.makers for n in inside)

    def _of_another(self, naming: Naming, low: int) -> bool:
        """ "The needle of a record player", "the size of a receiver": what only says which part or how big."""
        i = naming.start - 1
        tokens = self.text.tokens
        if i - 1 <= low or tokens[i].norm not in {"a", "an", "the", "your", "any"} or tokens[i - 1].norm != "of":
            return False
        part = bool(self.reading.within(max(low, i - 3), i - 1, "part"))
        return part or tokens[i - 2].norm in _MEASURES_BY

    def _repair_before(self, naming: Naming) -> bool:
        """A correction just before, or somewhere since the unit's last naming where this one says "it's", "this is"."""
        low = max(0, naming.start - 7)
        hits = [h for h in self.reading.cues_in(low, naming.start, "repair", "takeback") if self._corrects(h)]
        if any(h.end > naming.start - 5 for h in hits):
            return True
        if self.current is None or not self.current.namings or not naming.models:
            return False
        if not (naming.types or naming.makers) and any("wrong" in h.cue.phrase for h in self.reading.cues_in(max(0, naming.start - 14), naming.start, "repair")):
            return True
        since = self.current.namings[-1].end
        if (
            naming.types
            and not naming.makers
            and self.text.sentence_of[since - 1] == self.text.sentence_of[naming.start]
            and self.reading.cues_in(since, naming.start, "repair", "takeback")
            and self.current.types()
            and self._types_agree(naming.types, self.current.types())
        ):
            return True                 # "the Fiddler sixty, oh no, that's the power, the amp's the Fiddler forty"
        deictic = any(
            naming.start - h.end <= 2
            for h in self.reading.cues_in(max(since, naming.start - 6), naming.start, "deictic")
        )
        return (
            deictic
            and naming.start - since <= 25
            and bool(self.reading.cues_in(since, naming.start, "repair", "takeback"))
        )

    def _exclaims(self, naming: Naming) -> bool:
        """ "Wait, that Ambrelle, I've found the serial": a call to go back, no correction."""
        start = self.text.sentence_at(naming.start).start
        called = any(h.start <= start + 2 for h in self.reading.cues_in(start, naming.start, "repair"))
        returns = bool(self.reading.cues_in(start, naming.start, "returns"))
        return called and (naming.start - start <= 6 or (returns and naming.start - start <= 12))

    def _corrects(self, hit: CueHit) -> bool:
        """A lone "no" corrects only where a comma or stop sets it off ("no headshell" corrects nothing)."""
        if hit.cue.phrase not in {"no", "again", "wait", "actually", "rather", "nope"}:
            return True
        return self.text.tokens[hit.end - 1].after in {",", ".", ";", "?", "!"}
