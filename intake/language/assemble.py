"""Tales and identities -> unit drafts: one value a field, each with its words, confidence and reasons."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from intake.language.clauses import Clause
from intake.language.confidence import confidence, reasons_for
from intake.language.draft import LISTS, Doubted, Evidence, Span, UnitDraft, Value
from intake.language.frames.facts import Fact, Tale
from intake.language.hedges import hedge
from intake.language.identity import Identity, identify
from intake.language.names import Count, ModelIndex, codes, is_reading
from intake.language.numbers import Code, whole_number
from intake.language.places import Place
from intake.language.reading import Reading
from intake.language.repairs import Repair
from intake.language.serials import Serial
from intake.language.topics import Sketch, Topics
from intake.vocabulary.tubes import is_known_tube

KEYS = {
    "issues": ("part", "symptom", "side"),
    "service": ("work", "part"),
    "actions": ("work", "part"),
    "accessories": ("item",),
    "measurements": ("what", "unit", "side", "value"),
}
SAME = (
    "same one",
    "same unit",
    "same pair",
    "the same as last time",
    "same as last time",
    "still here",
    "still there",
    "same set",
    "from last time",
    "last time",
    "last visit",
    "been here before",
    "seen before",
)


def assemble(
    reading: Reading, topics: Topics, tales: Sequence[Tale], repairs: Sequence[Repair], index: ModelIndex
) -> list[UnitDraft]:
    """The drafts of all units, numbered in order of first mention."""
    places = _places(reading, topics)
    drafts = []
    for sketch, tale in zip(topics.units, tales, strict=True):
        if sketch.slot:
            continue                    # announced by number, and never come to
        spans = _clause_spans(reading, tale)
        identity = identify(reading, sketch, spans, index)
        drafts.append(_draft(reading, topics, sketch, tale, identity, places.get(sketch.n), repairs))
    told = [u for u in topics.units if not u.slot]
    ordered = sorted(zip(told, drafts, strict=True), key=lambda p: p[0].namings[0].start if p[0].namings else 0)
    return [replace(draft, id=f"u{n}") for n, (_, draft) in enumerate(ordered, start=1)]


def _clause_spans(reading: Reading, tale: Tale) -> list[tuple[int, int]]:
    return [(reading.clauses[c].start, reading.clauses[c].end) for c in tale.clauses]


def _draft(
    reading: Reading,
    topics: Topics,
    sketch: Sketch,
    tale: Tale,
    identity: Identity,
    place: Fact | None,
    repairs: Sequence[Repair],
) -> UnitDraft:
    facts: dict[str, Fact] = {f.field: f for f in (identity.unit_type, identity.maker, identity.model) if f is not None}
    doubts: list[Doubted] = []
    serial = _serial(reading, tale, doubts)
    if serial:
        facts["serial"] = serial
    facts.update(_count(reading, topics, sketch, tale, identity))
    if serial and serial.rule == "bare number" and _has_no_serial(facts):
        del facts["serial"]
    if place:
        facts["location"] = place
    for field_name in ("stage", "source", "cosmetic"):
        fact = _last(tale, field_name)
        if fact:
            facts[field_name] = fact
    hedged = hedge(reading, tale, facts)
    _unit_signals(tale, facts)
    scalars = {name: _value(reading, fact, hedged, repairs) for name, fact in facts.items()}
    lists: dict[str, tuple[Value, ...]] = {name: _merged(reading, tale, name, hedged, repairs) for name in LISTS}
    return UnitDraft(
        id="",
        scalars=scalars,
        doubts=tuple(doubts),
        spans=_spans(reading, tale, sketch),
        named_at=_named_at(reading, sketch),
        same_as_hint=_same_hint(reading, tale),
        **lists,
    )


AROUND = 12                     # words on either side that tell how clear the talk was


def _unit_signals(tale: Tale, facts: dict[str, Fact]) -> None:
    """What the unit as a whole says of each of its values: a thing without a name, or told of in two clauses, is oftener wrong."""
    nameless = float("maker" not in facts and "model" not in facts)
    untyped = float("unit_type" not in facts)
    short = float(len(tale.clauses) <= 3)
    backed = all(f in facts and facts[f].rule == rule for f, rule in (("maker", "maker"), ("model", "model of the vocabulary")))
    first = min((f.start for f in tale.facts), default=0)
    for fact in (*facts.values(), *tale.facts):
        fact.signals["nameless unit"] = nameless
        fact.signals["type unknown"] = untyped
        fact.signals["short tale"] = short
        fact.signals["not backed"] = float(not backed)
        fact.signals["told late"] = float(fact.start - first > 150)


def _value(reading: Reading, fact: Fact, hedged: dict[int, str], repairs: Sequence[Repair]) -> Value:
    signals = dict(fact.signals)
    tokens = reading.text.tokens[fact.start : max(fact.end, fact.start + 1)]
    signals["probability"] = min((t.probability for t in tokens), default=1.0)
    signals["heard"] = float(reading.heard)
    around = reading.text.tokens[max(0, fact.start - AROUND) : fact.end + AROUND]
    signals["rough"] = sum(1 - t.probability for t in around) / max(1, len(around))
    signals["replaced"] = float(any(t.heard is not None for t in tokens))
    others = tuple(dict.fromkeys(o for t in tokens for o in t.others))
    if fact.rule.startswith("nothing said of more"):
        others = ()                     # how the name was heard says nothing of how many there are
    signals["other readings"] = float(len(others))
    near = [r for r in repairs if r.old_start - 3 <= fact.start <= r.new + 4 or fact.start <= r.old_start < fact.end]
    signals["repair"] = float(bool(near))
    signals["hedge"] = float(id(fact) in hedged)
    reasons = list(fact.reasons)
    if id(fact) in hedged:
        reasons.insert(0, "the speaker was unsure")
    certainty = confidence(fact.field, signals, reasons, fact.rule)
    reasons += reasons_for(signals)
    return Value(
        fact.value,
        (_evidence(reading, fact),),
        round(certainty, 4),
        tuple(dict.fromkeys(reasons)),
        tuple(dict.fromkeys([*fact.alternatives, *others])),
        fact.rule,
        {k: round(v, 4) for k, v in signals.items()},
    )


def _evidence(reading: Reading, fact: Fact) -> Evidence:
    return reading.text.evidence(fact.start, max(fact.end, fact.start + 1))


def _last(tale: Tale, name: str) -> Fact | None:
    """The last word stands; "isn't waiting any more" empties the stage unless something follows."""
    chosen: Fact | None = None
    for fact in sorted(tale.facts, key=lambda f: f.start if not f.rule.startswith("said for all") else -1):
        if fact.field == name:
            if (
                name == "stage"
                and chosen is not None
                and chosen.value == "waiting"
                and fact.value == "in repair"
                and fact.start - chosen.start < 25
                and not any(u.start > chosen.start for u in tale.of("unstage"))
            ):
                continue
            chosen = fact
        elif name == "stage" and fact.field == "unstage" and chosen is not None and chosen.value == fact.value:
            chosen = None
    return chosen


def _serial(reading: Reading, tale: Tale, doubts: list[Doubted]) -> Fact | None:
    found: list[Serial] = []
    for c in tale.clauses:
        clause = reading.clauses[c]
        found += reading.serials_in(clause.start, clause.end)
    spoken = [s for s in found if s.kind == "spoken"]
    if not spoken and not any(s.kind == "none" for s in found):
        bare = _bare_serial(reading, tale)
        if bare is not None:
            return bare
    if not spoken:
        unread = [s for s in found if s.kind == "unread"]
        if unread and not any(s.kind == "none" for s in found):
            doubts.append(
                Doubted(
                    "serial",
                    unread[0].reasons[0],
                    (reading.text.evidence(unread[0].start, min(unread[0].end + 6, len(reading.text.tokens))),),
                )
            )
        return None
    chosen = spoken[0]
    fact = Fact(
        "serial",
        chosen.value,
        chosen.words[0] if chosen.words else chosen.start,
        chosen.end,
        "serial as spoken",
    )
    different = [s for s in spoken[1:] if s.value != chosen.value]
    if different:
        fact.reasons.append("more than one serial was heard")
        fact.alternatives += [str(s.value) for s in different]
    return fact


def _has_no_serial(facts: Mapping[str, Fact]) -> bool:
    """Lots, tubes and cables bear no serial numbers; what counts them sounds like one ("fourteen, fifteen")."""
    kind = facts["unit_type"].value if "unit_type" in facts else None
    return facts["grouping"].value == "lot" or kind in ("vacuum tube", "cable")


BARE_SERIAL = "a bare number was taken for the serial"


def _unnamed_codes(reading: Reading, start: int, end: int) -> Iterator[Code]:
    """Codes, without the known model that one begins with ("the QT-85, four oh six, double oh two")."""
    sentence = reading.text.sentence_at(start)
    for code in codes(reading.text, start, sentence.end, across_commas=True):
        if code.start >= end:
            break
        pieces = list(code.pieces)
        if any(i in reading.named for i in range(pieces[0].start, pieces[0].end)):
            while pieces and any(i in reading.named for i in range(pieces[0].start, pieces[0].end)):
                pieces.pop(0)
            if not pieces or reading.text.tokens[pieces[0].start - 1].after != ",":
                continue
        yield Code(tuple(pieces))


def _bare_serial(reading: Reading, tale: Tale) -> Fact | None:
    """A long code that is no model, place, date or reading, told of a unit without a serial: very likely its number."""
    for start, end in _clause_spans(reading, tale):
        for code in _unnamed_codes(reading, start, end):
            span = range(code.start, code.end)
            if (
                len(code.text) < 5
                or sum(c.isdigit() for c in code.text) < 3
                or "MK" in code.text
                or is_reading(code.text)
                or is_known_tube(code.text)
                or is_known_tube(code.pieces[-1].chars)
            ):
                continue
            if not reading.named.isdisjoint(span) or reading.places_in(code.start, code.end):
                continue
            after = reading.text.tokens[code.end].norm if code.end < len(reading.text.tokens) else ""
            if (
                reading.within(code.end, code.end + 1, "unit_of_measure")
                or after in {"of", "percent", "pounds"}
                or reading.text.tokens[code.start].text[:1] in "$£€"
            ):
                continue
            return Fact("serial", code.text, code.start, code.end, "bare number", [BARE_SERIAL])
    return None


def _count(reading: Reading, topics: Topics, sketch: Sketch, tale: Tale, identity: Identity) -> dict[str, Fact]:
    """Quantity and grouping; one single piece where nothing is said of more."""
    counts = [n.count for n in sketch.namings if n.count is not None]
    start = sketch.namings[0].start if sketch.namings else 0
    unit_type = identity.unit_type.value if identity.unit_type else None
    chosen = _said_count(reading, topics, sketch, tale, counts, unit_type)
    if chosen is None:
        plural = unit_type in ("loudspeaker",) and any(m.phrase.endswith("s") for n in sketch.namings for m in n.types)
        chosen = Count(2, "pair", start, start + 1) if plural else Count(1, "single", start, start + 1)
        rule = "plural" if plural else "nothing said of more"
        reasons = ["a pair was taken from the plural alone"] if plural else []
    else:
        rule, reasons = f"count: {reading.text.words(chosen.start, chosen.end)}", []
    if chosen.grouping == "lot" and _one_set(reading, tale):
        chosen = Count(chosen.quantity, "set", chosen.start, chosen.end)
    if unit_type == "headphones" and chosen.grouping == "pair":
        chosen = Count(1, "single", chosen.start, chosen.end)       # one pair of headphones is one piece
    if unit_type == "preamplifier" and chosen.grouping != "single" and _in_chassis(reading, tale):
        chosen = Count(1, "single", chosen.start, chosen.end)
    return {
        "quantity": Fact("quantity", chosen.quantity, chosen.start, chosen.end, rule, list(reasons)),
        "grouping": Fact("grouping", chosen.grouping, chosen.start, chosen.end, rule, list(reasons)),
    }


def _one_set(reading: Reading, tale: Tale) -> bool:
    """ "Four of them, and these are a set"."""
    for a, b in _clause_spans(reading, tale):
        for i in range(a + 1, b):
            tokens = reading.text.tokens
            if tokens[i].norm == "set" and tokens[i - 1].norm in {"a", "one", "matched"} and not reading.contexts.has(i, "negated"):
                return True
    return False


def _in_chassis(reading: Reading, tale: Tale) -> bool:
    return any(
        t.norm in {"chassis", "boxes", "box", "cases", "case"}
        for a, b in _clause_spans(reading, tale)
        for t in reading.text.tokens[a:b]
    )


def _singular(sketch: Sketch) -> bool:
    """Named as one thing: "a tonearm", "an integrated amp"."""
    first = sketch.namings[0] if sketch.namings else None
    return first is not None and first.determiner in ("a", "an") and bool(first.types) and not any(
        m.phrase.endswith("s") or {"quad", "pair", "set", "lot"} & set(m.phrase.split()) for m in first.types
    )


def _of_the_unit(reading: Reading, count: Count) -> bool:
    """ "They're a pair", "there's two of them" - not "four feet", "a pair of cables"."""
    tokens = reading.text.tokens
    before = tokens[max(0, count.start - 3) : count.start]
    after = tokens[count.end : count.end + 2]
    return any(t.norm in {"they're", "it's", "that's", "these", "as"} for t in before) or [t.norm for t in after] in (
        ["of", "them"],
        ["of", "these"],
        ["of", "those"],
    )


def _recounted(reading: Reading, tale: Tale, counts: list[Count]) -> list[Count]:
    """ "A dozen, no, ten is what there is", "that's six, no, hang about, there's one under the foil, seven": the last number."""
    last = counts[-1]
    if last.quantity < 3:
        return counts
    spans = _clause_spans(reading, tale)
    for start, end in spans:
        if start < last.start or start - last.end > 30:
            continue
        commas = [i for i in range(start, end - 1) if reading.text.tokens[i].after == ","]
        words = [t.norm for t in reading.text.tokens[(commas[-1] + 1 if commas else start) : end]]
        while words[:1] and words[0] in {"and", "so", "but", "oh", "well", "that", "makes", "that's", "call", "it", "uh", "make", "counted", "i"}:
            words.pop(0)
        number = whole_number(words, figures=2)
        alone = number is not None and (number[1] == len(words) or words[number[1] : number[1] + 2] in (["is", "what"], ["of", "them"], ["in", "all"]))
        if number is not None and alone and 2 <= number[0] <= 500:
            i = end - len(words)
            counts = [*counts, Count(number[0], last.grouping, i, i + number[1])]
    return sorted(counts, key=lambda c: c.start)


def _said_count(
    reading: Reading, topics: Topics, sketch: Sketch, tale: Tale, counts: Sequence[Count], unit_type: Any
) -> Count | None:
    """Counts of the namings, and "there's eight", "it's a pair", "eight of them" said of the unit."""
    from intake.language.namings import said_counts

    said = [
        c
        for k in tale.clauses
        if k not in topics.announced_in
        for c in said_counts(reading, reading.clauses[k].start, reading.clauses[k].end)
        if not any(n.start - 4 <= c.start < n.end + 4 for n in topics.ignored)
    ]
    if _singular(sketch):
        said = [c for c in said if _of_the_unit(reading, c)]
    both = sorted([*counts, *said], key=lambda c: c.start)
    if not both and sketch.namings and "lot" in _words(reading, tale):
        both = _recounted(reading, tale, [Count(3, "lot", sketch.namings[0].start, sketch.namings[0].end)])[1:]
    if not both:
        return None
    both = _recounted(reading, tale, both)
    grouped = [c for c in both if c.grouping in ("pair", "set")]
    lots = [c for c in both if c.grouping == "lot"]
    if any(w in ("lot",) for w in _words(reading, tale)) and lots:
        return Count(lots[-1].quantity, "lot", lots[-1].start, lots[-1].end)
    if grouped:
        chosen = grouped[0]
        if (
            chosen.grouping == "pair"
            and chosen.quantity == 2
            and lots
            and unit_type == "vacuum tube"
            and lots[-1].quantity > 2
        ):
            return lots[-1]
        return chosen
    return lots[-1]


def _words(reading: Reading, tale: Tale) -> set[str]:
    return {t.norm for a, b in _clause_spans(reading, tale) for t in reading.text.tokens[a:b]}


def _merged(
    reading: Reading, tale: Tale, name: str, hedged: dict[int, str], repairs: Sequence[Repair]
) -> tuple[Value, ...]:
    """The facts of one list field, told twice counted once; the later word stands."""
    kept: dict[tuple[Any, ...], Fact] = {}
    for fact in _telling(tale.of(name)) if name == "issues" else tale.of(name):
        key = tuple(fact.value.get(k) for k in KEYS[name])
        same = next((k for k in kept if _same(name, kept[k].value, fact.value)), None)
        if same is None:
            kept[key] = fact
        else:
            kept[same] = _later(name, kept[same], fact)
    return tuple(_value(reading, fact, hedged, repairs) for fact in kept.values())


# Of two symptoms told of the same part in one breath the second only says the first in other words
SUBSUMED = {
    ("drops out", "intermittent"),
    ("scratchy", "noisy"),
    ("scratchy", "intermittent"),
    ("hum", "noisy"),
    ("buzz", "noisy"),
    ("blows fuse", "noisy"),
    ("no output", "dead"),
    ("won't power on", "dead"),
    ("won't power on", "no output"),
    ("skips", "won't read discs"),
    ("blows fuse", "won't power on"),
    ("broken", "cracked"),
    ("loose", "intermittent"),
    ("speed unstable", "runs slow"),
    ("speed unstable", "runs fast"),
    ("deteriorated", "cracked"),
    ("deteriorated", "worn"),
    ("stuck", "dead"),
    ("torn", "cracked"),
    ("worn", "loose"),
}


def _telling(facts: Sequence[Fact]) -> list[Fact]:
    """Issues without those that only put another of the same part in other words."""
    out = []
    for fact in facts:
        near = [
            o
            for o in facts
            if o is not fact
            and abs(o.start - fact.start) <= 25
            and (o.value["symptom"], fact.value["symptom"]) in SUBSUMED
        ]
        if not any(o.value["part"] == fact.value["part"] or fact.value["part"] is None for o in near):
            out.append(fact)
    return out


def _same(name: str, a: dict[str, Any], b: dict[str, Any]) -> bool:
    if name == "issues":
        if a["symptom"] != b["symptom"]:
            return False
        return (a["part"] == b["part"] and (a["side"] == b["side"] or None in (a["side"], b["side"]))) or None in (
            a["part"],
            b["part"],
        )
    if name == "service":
        return (
            a["work"] == b["work"]
            and (a["part"] == b["part"] or None in (a["part"], b["part"]))
            and (a["date"] == b["date"] or None in (a["date"], b["date"]))
        )
    if name == "actions":
        return bool(a["work"] == b["work"] and a["part"] == b["part"])
    return all(a.get(k) == b.get(k) for k in KEYS[name])


def _later(name: str, old: Fact, new: Fact) -> Fact:
    """One fact out of two tellings: the later value, with what only the earlier one knew."""
    value = dict(new.value)
    for key, told in old.value.items():
        if value.get(key) is None:
            value[key] = told
    if name == "issues":
        value["side"] = old.value["side"] if old.value["part"] else value["side"]
        rank = {"suspected": 0, "present": 1, "fixed": 2}
        value["state"] = max(old.value["state"], new.value["state"], key=lambda s: rank[s])
    merged = Fact(
        name,
        value,
        old.start,
        old.end,
        old.rule,
        [*old.reasons, *new.reasons],
        {**new.signals, **old.signals},
        [*old.alternatives, *new.alternatives],
    )
    return merged


def _places(reading: Reading, topics: Topics) -> dict[int, Fact]:
    """Where each unit stands: the place told of it, else the last one told before it came up."""
    out: dict[int, Fact] = {}
    current: Fact | None = None
    places = reading.places
    at = 0
    for c, clause in enumerate(reading.clauses):
        unit = topics.of_clause[c]
        while at < len(places) and places[at].start < clause.end:
            place = places[at]
            at += 1
            if _gone(reading, place.start):
                continue
            fact = Fact(
                "location",
                place.name,
                place.start,
                place.end,
                _place_rule(place),
                _place_doubts(place),
            )
            if unit is not None and not _moves_on(reading, topics, unit, place, clause):
                told = out.get(unit)
                if told is not None and told.rule != "place carried over" and _returning(reading, topics, unit, c):
                    continue
                out[unit] = fact
                if told is not None and _returning(reading, topics, unit, c):
                    continue
            current = fact
        for n in [unit] if unit is not None else topics.announced_in.get(c, []):
            newer = n in out and c in topics.announced_in and out[n].rule == "place carried over"
            if (n not in out or newer) and current is not None:
                out[n] = (
                    current
                    if current.start >= clause.start
                    else Fact(
                        "location",
                        current.value,
                        current.start,
                        current.end,
                        "place carried over",
                        list(current.reasons),
                    )
                )
    return out


def _place_rule(place: Place) -> str:
    if place.heard:
        return "place by its sound"
    return "place told" if place.known else "place as heard"


def _place_doubts(place: Place) -> list[str]:
    if place.heard:
        return [f"only sounds like the place; heard \"{place.heard}\""]
    return [] if place.known else ["the place is not on file"]


_STANDS = frozenset(
    ["it's", "they're", "sits", "sit", "sitting", "stands", "stand", "standing", "lives", "live", "put", "moved", "carried", "parked", "lying", "lies", "found", "set", "left", "stored", "over", "lives"]
)


def _moves_on(reading: Reading, topics: Topics, unit: int, place: Place, clause: Clause) -> bool:
    """ "Okay, now I'm at shelf B three": the speaker moves; "it's on shelf B three" tells where the unit stands."""
    if any(clause.start <= n.start < clause.end for n in topics.units[unit].namings):
        return False
    if topics.units[unit].namings and place.start < topics.units[unit].namings[0].start:
        return False                    # told on the way to the unit
    sentence = reading.text.sentence_at(place.start)
    if any(sentence.start <= n.start < place.start for n in topics.units[unit].namings):
        return False
    before = [t.norm for t in reading.text.tokens[max(sentence.start, place.start - 6) : place.start]]
    return not any(w in _STANDS for w in before) or any(w in {"i'm", "i", "we're"} for w in before)


def _returning(reading: Reading, topics: Topics, unit: int, c: int) -> bool:
    """Whether other units were spoken of between this unit's first clause and this one."""
    first = topics.units[unit].clauses[0] if topics.units[unit].clauses else c
    return any(topics.of_clause[k] not in (unit, None) for k in range(first, c))


def _gone(reading: Reading, i: int) -> bool:
    """A place that is not where the unit stands now: "it was on shelf B2", "not on bay three", "up front on the first shelf"."""
    return reading.contexts.has(i, "past", "negated", "other")


def _spans(reading: Reading, tale: Tale, sketch: Sketch) -> tuple[Span, ...]:
    out: list[Span] = []
    previous = -9
    for c in tale.clauses:
        evidence = reading.text.evidence(reading.clauses[c].start, reading.clauses[c].end)
        if out and c - previous == 1 and out[-1].recording == evidence.recording:
            out[-1] = Span(evidence.recording, out[-1].start_s, evidence.end_s)
        else:
            out.append(Span(evidence.recording, evidence.start_s, evidence.end_s))
        previous = c
    if not out and sketch.namings:
        evidence = reading.text.evidence(sketch.namings[0].start, sketch.namings[0].end)
        out.append(Span(evidence.recording, evidence.start_s, evidence.end_s))
    return tuple(out)


def _named_at(reading: Reading, sketch: Sketch) -> tuple[tuple[str, float], ...]:
    tokens = reading.text.tokens
    return tuple((tokens[n.start].recording, round(tokens[n.start].start, 2)) for n in sketch.namings)


def _same_hint(reading: Reading, tale: Tale) -> str | None:
    for a, b in _clause_spans(reading, tale):
        words = reading.text.words(a, b)
        lower = words.lower()
        if any(phrase in lower for phrase in SAME) and not reading.contexts.has(a, "negated"):
            return words
    return None
