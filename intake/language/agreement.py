"""How well a naming fits the unit at hand, or one told of before."""

from __future__ import annotations

from collections.abc import Sequence

from intake.language.names import Naming, codes
from intake.language.numbers import is_mark
from intake.language.references import References
from intake.language.topics import Sketch, alike
from intake.vocabulary.tubes import is_known_tube

_GAP_WORDS_PLAIN = frozenset(["a", "an", "the", "and", "oh", "wait", "that", "those", "these", "this", "so", "uh", "um", "back", "on", "in", "at", "of"])


class Agreement(References):
    """Compares a naming with the units so far, and finds the one that the talk comes back to."""

    def _agrees(self, naming: Naming, unit: Sketch) -> bool:
        """Nothing in the naming contradicts what the unit is called."""
        if naming.makers and unit.makers() and not ({m.canonical for m in naming.makers} & unit.makers()):
            return False
        if naming.types and unit.types() and not self._types_agree(naming.types, unit.types()):
            return False
        tube = not naming.types and any(is_known_tube(h.code) for h in naming.models)
        if tube and unit.types() and "vacuum tube" not in unit.types():
            return False
        keys = {h.code for h in naming.models if h.names and not is_mark(h.code)}
        return not (keys and unit.model_keys() and not any(alike(k, u) for k in keys for u in unit.model_keys()))

    def _fit(self, naming: Naming, unit: Sketch) -> float:
        if not self._agrees(naming, unit):
            return -1.0
        score = 0.0
        if naming.makers and unit.makers():
            score += 1.5
        keys = {h.code for h in naming.models if not is_mark(h.code)}
        if keys and unit.model_keys():
            score += 2.0 if any(alike(k, u) for k in keys for u in unit.model_keys()) else -2.0
        if naming.types and unit.types():
            score += 1.0
        if unit.announced and naming.types:
            score += 0.5
        return score

    def _told_of_kind(self, naming: Naming) -> bool:
        """Whether any unit so far is of the naming's type: then "the tuner" may be that one."""
        return any(u.types() and self._types_agree(naming.types, u.types()) for u in self.units)

    def _called_back(self, naming: Naming, c: int) -> Sketch | None:
        """ "back up on top, the Ravensholts": an earlier unit's maker or model, pointed at, that the unit at hand does not bear."""
        current = self.current
        if naming.determiner in ("a", "an", "another", "other") or not (
            naming.makers or any(h.names for h in naming.models)
        ):
            return None
        if current is not None and self._fit(naming, current) >= 1.5:
            return None
        named_twice = any(
            self.text.tokens[i].norm in {"the", "that"} for i in range(naming.start + 1, naming.end - 1)
        )
        pointed = named_twice or naming.determiner in ("the", "that", "those", "these", "this", "our") or bool(
            self.reading.cues_in(max(0, naming.start - 12), naming.start + 1, "returns")
        )
        fits = sorted(((self._fit(naming, u), u.n) for u in self.units if u is not current), reverse=True)
        if not pointed or not fits or fits[0][0] < 1.5:
            return None
        best = [n for fit, n in fits if fit == fits[0][0]]
        if len(best) == 1:
            return self.units[best[0]]
        return self._by_number(naming, best) or self._by_words(naming, best)

    def _by_number(self, naming: Naming, among: Sequence[int]) -> Sketch | None:
        """ "The new Halvane up on level four, the nine one four": the one whose serial ends like that."""
        sentence = self.text.sentence_at(naming.start)
        said = [c.text for c in codes(self.text, naming.end, min(sentence.end, naming.end + 14)) if len(c.text) >= 3]
        numbered = []
        for n in among:
            for c in self.units[n].clauses:
                clause = self.reading.clauses[c]
                told = [s.value or "" for s in self.reading.serials_in(clause.start, clause.end)]
                told += [k.text for k in codes(self.text, clause.start, clause.end, across_commas=True)]
                if any(t.endswith(s) for s in said for t in told):
                    numbered.append(n)
                    break
        return self.units[numbered[0]] if len(numbered) == 1 else None

    def _by_words(self, naming: Naming, among: Sequence[int]) -> Sketch | None:
        """ "the big Marrowbys" among two pairs of them: the one that was called big before."""
        said = {t.norm for t in self.text.tokens[max(0, naming.start - 3) : naming.start]} - _GAP_WORDS_PLAIN
        shared = []
        for n in (n for n in among if self.units[n].namings):
            first = self.units[n].namings[0]
            around = {t.norm for t in self.text.tokens[max(0, first.start - 6) : first.end + 12]}
            shared.append((len(said & around), n))
        shared.sort(reverse=True)
        if not shared or shared[0][0] == 0 or (len(shared) > 1 and shared[0][0] == shared[1][0]):
            return None
        return self.units[shared[0][1]]

    def _earlier(self, naming: Naming, c: int) -> Sketch | None:
        """The one earlier unit (or announced one) that the naming fits best, if it points back at all."""
        definite = naming.determiner in ("the", "that", "those", "these", "this", "our", "his", "her", "") or bool(
            self.reading.cues_in(max(0, naming.start - 10), naming.start + 1, "returns")
        )
        best, best_score = None, 0.0
        for unit in self.units:
            if unit is self.current:
                continue
            score = self._fit(naming, unit)
            if naming.determiner in ("another", "other"):
                score -= 3
            if not definite and not unit.announced:
                score -= 1.5
            if score > best_score:
                best, best_score = unit, score
        strong_intro = self._intro(naming, c, strong=True)
        start = self.text.sentence_at(naming.start).start
        returns = bool(self.reading.cues_in(start, naming.start, "returns")) and naming.determiner in ("that", "the", "those")
        need = 1.0 if best is not None and best.announced else 2.4 if strong_intro and not returns else 1.0
        return best if best is not None and best_score >= need else None
