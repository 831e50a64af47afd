"""What a unit waits for: ties "the belt is on order", "waiting on the owner's okay" to the action that waits, and to the stage."""

from __future__ import annotations

from intake.language.clauses import Clause
from intake.language.dates import find_dates
from intake.language.frames.facts import Fact, Tale
from intake.language.frames.parts import parts_in
from intake.language.reading import Reading
from intake.language.terms import CueHit

_STOP = frozenset(
    ["so", "because", "for", "from", "to", "before", "since", "until", "and", "but", "which", "who", "that", "it's", "they're", "then", "he", "she", "i", "we", "as", "if", "when", "now", "at"]
)
_DROP = frozenset(["the", "a", "an", "some", "his", "her", "their", "our", "my", "that", "this", "those", "these", "one", "new", "uh", "um", "just", "still"])
_AWAY = frozenset(["out", "in", "home", "back", "through", "to", "there", "down", "up", "off", "loose", "apart", "away", "along", "for", "from", "next", "over", "round", "undone", "unstuck", "here"])
_MOVING = frozenset(["on the way", "on its way", "is on its way", "are on their way", "on their way", "is coming", "are coming"])
_NO_NEED = frozenset(["nothing", "no", "isn't", "not", "aren't", "needn't", "don't", "doesn't", "never", "won't", "longer", "stopped", "done"])
_PRONOUNS = frozenset(["it's", "that's", "they're", "they", "those", "these", "both", "it", "that", "them"])


def settle_waiting(reading: Reading, tale: Tale) -> None:
    """Add to a tale what it waits for, take back what has come, tie due dates to their actions."""
    for c in tale.clauses:
        clause = reading.clauses[c]
        for hit in reading.cues_in(clause.start, clause.end, "waits", "ordered", "arrived"):
            if hit.cue.signals == "waits":
                _waits(reading, tale, clause, hit)
            elif hit.cue.signals == "ordered":
                _ordered(reading, tale, clause, hit)
            else:
                _arrived(reading, tale, clause, hit)
        _loose_due(reading, tale, clause)
    _retract(tale)


def _clause_actions(tale: Tale, at: int, reach: int = 60) -> list[Fact]:
    return [f for f in tale.of("actions") if f.start <= at and at - f.start <= reach]


def waited_for(reading: Reading, start: int, end: int) -> tuple[str, str | None] | None:
    """The words from start on as what is waited for, shortened; and the part or accessory they name, if any."""
    near = reading.within(start, min(end, start + 5), "part", "accessory")
    named = sorted(near, key=lambda m: (m.start, m.ambiguous, m.kind != "part"))
    words: list[str] = []
    for i in range(start, min(end, start + 6)):
        token = reading.text.tokens[i]
        if token.norm in _STOP and words:
            break
        if token.norm not in _DROP:
            words.append(token.norm)
        if token.after:
            break
    if named and named[0].start - start <= 2:
        return named[0].canonical, named[0].canonical
    return (" ".join(words), None) if words and not all(w in _PRONOUNS for w in words) else None


def _stage(tale: Tale, at: int, end: int, rule: str) -> None:
    tale.facts.append(Fact("stage", "waiting", at, end, rule))


def _waits(reading: Reading, tale: Tale, clause: Clause, hit: CueHit) -> None:
    if _not_waiting(reading, clause, hit):
        tale.facts.append(Fact("unstage", "waiting", hit.start, hit.end, f"no longer: {hit.cue.phrase}"))
        for action in tale.of("actions"):
            action.value["waiting_on"] = None
        return
    if _supposed(reading, clause, hit) or _only_to_do(reading, clause, hit):
        return
    what = waited_for(reading, hit.end, clause.end)
    if what is None:
        _stage(tale, hit.start, hit.end, f"waits: {hit.cue.phrase}")
        return
    _tie(tale, what, hit.start, hit.end)
    _stage(tale, hit.start, hit.end, f"waits: {hit.cue.phrase}")


def _not_waiting(reading: Reading, clause: Clause, hit: CueHit) -> bool:
    """ "isn't waiting on", "was waiting for", "nothing to wait for": the cue in its clause is denied or over."""
    before = {t.norm for t in reading.text.tokens[max(clause.start, hit.start - 3) : hit.start]}
    if before & _NO_NEED and hit.cue.phrase.startswith(("wait", "await", "held", "stuck", "pending", "hang", "need")):
        return True
    scopes = reading.contexts.over(hit.start, "negated", "past")
    return any(clause.start <= s.cue_start and s.cue_end <= hit.start for s in scopes)


def _supposed(reading: Reading, clause: Clause, hit: CueHit) -> bool:
    """ "if it has to wait for": only what an "if" in the same clause reaches."""
    return any(
        clause.start <= s.cue_start and s.cue_end <= hit.start
        for s in reading.contexts.over(hit.start, "hypothetical")
        if s.cue not in {"until", "once the"}
    )


def _only_to_do(reading: Reading, clause: Clause, hit: CueHit) -> bool:
    """ "the recap is pending" is work to do; "pending the owner's okay" waits."""
    closed = hit.end >= clause.end or bool(reading.text.tokens[hit.end - 1].after)
    return hit.cue.phrase == "pending" and closed and bool(reading.within(clause.start, hit.start, "work"))


def _tie(tale: Tale, what: tuple[str, str | None], start: int, end: int) -> None:
    """Give the fitting action its waiting_on: the one about that part, else the last one told; a part alone makes an action."""
    words, part = what
    actions = tale.of("actions")
    fitting = [a for a in actions if part is not None and a.value["part"] == part]
    before = [a for a in actions if a.start <= end + 12 and not (part and a.value["work"] == "call")]
    if fitting:
        for action in fitting:
            action.value["waiting_on"] = words
    elif before:
        before[-1].value["waiting_on"] = words
        if part is not None and before[-1].value["part"] is None and before[-1].value["work"] in {"replace", "order"}:
            before[-1].value["part"] = part
    elif part is not None and part != "remote":
        tale.facts.append(
            Fact(
                "actions",
                {"work": "replace", "part": part, "due": None, "waiting_on": words},
                start,
                end,
                f"waits for: {words}",
            )
        )


def _ordered(reading: Reading, tale: Tale, clause: Clause, hit: CueHit) -> None:
    """ "the lamp is on order", "they're on order": the part before the cue, after it, or the last action's."""
    if any(s.cue_end <= hit.start for s in reading.contexts.over(hit.start, "negated")) or _goes_off(reading, clause, hit):
        return
    before = parts_in(reading, clause.start, hit.start)
    after = parts_in(reading, hit.end, min(clause.end, hit.end + 5))
    found = before or after
    if found:
        part = found[-1].canonical if before else found[0].canonical
        actions = [
            a
            for a in tale.of("actions")
            if a.value["part"]
            and (a.value["part"] == part or a.value["part"].endswith(part) or part in a.value["part"])
        ]
        _tie(
            tale,
            (actions[-1].value["part"], actions[-1].value["part"]) if actions else (part, part),
            hit.start,
            hit.end,
        )
    else:
        actions = [a for a in _clause_actions(tale, hit.end) if a.value["part"]]
        accessories = [
            f
            for f in tale.of("accessories")
            if f.start <= hit.start and hit.start - f.start < 20 and not f.value["present"]
        ]
        if actions:
            actions[-1].value["waiting_on"] = actions[-1].value["part"]
        elif not accessories:
            return
    _stage(tale, hit.start, hit.end, f"waits: {hit.cue.phrase}")


def _goes_off(reading: Reading, clause: Clause, hit: CueHit) -> bool:
    """ "on the way out of the door", "the veneer is coming loose": nothing is on order."""
    if hit.cue.phrase not in _MOVING or hit.end >= clause.end or reading.text.tokens[hit.end - 1].after:
        return False
    after = reading.text.tokens[hit.end].norm
    behind = reading.text.tokens[hit.end + 1].norm if hit.end + 1 < clause.end else ""
    if after in {"from", "over", "in"}:
        return False
    return after in _AWAY and not (after == "to" and behind in {"us", "me"}) and not (after == "here" and not behind)


def _arrived(reading: Reading, tale: Tale, clause: Clause, hit: CueHit) -> None:
    """What was waited for has come: the action waits no more (the stage is told by the speaker's next words)."""
    if reading.contexts.has(hit.start, "negated", "hypothetical", "todo"):
        return
    parts = {m.canonical for m in parts_in(reading, clause.start, clause.end)}
    for action in tale.of("actions"):
        waiting = action.value["waiting_on"]
        if (
            waiting
            and action.start < hit.start
            and (
                waiting in parts
                or not parts
                or action.value["part"] in parts
                or any(p.split()[-1] in waiting for p in parts)
            )
        ):
            action.value["waiting_on"] = None


def _loose_due(reading: Reading, tale: Tale, clause: Clause) -> None:
    """ "and I promised him that by Friday": a deadline in a clause without a job is that of the job before."""
    sentence = reading.text.sentence_at(clause.start)
    tokens = reading.text.tokens
    if any(clause.start <= f.start < clause.end for f in tale.of("actions", "service")):
        return
    for date in find_dates(tokens, clause.start, clause.end, reading.day, future=True):
        lead = {t.norm for t in tokens[max(clause.start, date.start - 3) : date.start]}
        if not lead & {"by", "before", "due", "until", "deadline", "for", "on"} or date.due is None:
            continue
        low = sentence.start if clause.start > sentence.start else sentence.start - 40
        actions = [a for a in tale.of("actions") if low <= a.start < clause.start and a.value["due"] is None]
        plural = {t.norm for t in tokens[clause.start : clause.end]} & {
            "both",
            "all",
            "those",
            "everything",
            "them",
            "these",
        }
        for action in actions if plural else actions[-1:]:
            action.value["due"] = date.due
        return


def _retract(tale: Tale) -> None:
    """ "I don't have to call him": the same job told before is off."""
    for fact in tale.of("retract"):
        for action in tale.of("actions"):
            if action.start < fact.start and action.value["work"] == fact.value["work"]:
                tale.drop(action)
