"""What the text of photos says about a unit: it confirms, contradicts or offers; it never decides alone.

Which readings are accepted, and how well that holds, stands in docs/plates.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from intake.capture.plate_reader import PlateLine
from intake.language.confidence import UNSURE
from intake.language.draft import DISAGREE, Doubted, Evidence, UnitDraft, Value
from intake.matching.plate_names import Found, Names, find_makers, find_models, names_of
from intake.matching.plate_numbers import find_serials, find_voltages, suits, volts
from intake.matching.plate_text import alike
from intake.matching.types import PhotoMatch
from intake.vocabulary.terms import Vocabulary, name_key

FIELDS = ("maker", "model", "serial")
# The machine's own doubts, which a plate that says the same puts to rest. What the speaker doubts stays in review.
SETTLED = frozenset(
    {
        "the maker was taken for one that sounds alike",
        "the model was taken for one that sounds alike",
        "the maker is not in the vocabulary",
        "the model is not in the vocabulary",
        DISAGREE,
        "more than one reading was heard",
        "corrected while speaking",
        "more than one serial was heard",
    }
) | UNSURE


@dataclass(frozen=True)
class Reading:
    """One field as read from one photo: the value, the lines it was read from, how sure, and by which rule."""

    field: str
    value: str
    confidence: float
    lines: tuple[PlateLine, ...] = ()
    how: str = ""

    @property
    def words(self) -> str:
        """The text it was read from, as it stands on the photo."""
        return " ".join(line.text for line in self.lines)


@dataclass(frozen=True)
class PlateReading:
    """What one photo says. A field is None where no reading may be accepted; `candidates` are what else it may say."""

    maker: Reading | None = None
    model: Reading | None = None
    serial: Reading | None = None
    line_voltage: Reading | None = None
    candidates: tuple[Reading, ...] = ()

    @property
    def accepted(self) -> tuple[Reading, ...]:
        """The fields that are read."""
        return tuple(r for r in (self.maker, self.model, self.serial, self.line_voltage) if r is not None)


def read_fields(lines: Sequence[PlateLine], vocabulary: Vocabulary) -> PlateReading:
    """Maker, model, serial and line voltage in the text of one photo; where two stand for one field, none is taken."""
    names = names_of(vocabulary)
    makers, models = find_makers(lines, names), find_models(lines, names)
    models = [_of_maker(m, makers, names) for m in models]
    found = {"maker": makers, "model": models, "serial": find_serials(lines), "line_voltage": find_voltages(lines)}
    taken = {name: _single(name, readings) for name, readings in found.items()}
    kept = {name: reading for name, reading in taken.items() if reading is not None}
    others = [
        _reading(name, f)
        for name, readings in found.items()
        for f in readings
        if name not in kept or f.value != kept[name].value
    ]
    others = [r for r in others if r.how not in _ALONE or _is_plate(found)]
    return PlateReading(**kept, candidates=_distinct(others))


_ALONE = frozenset({"after No.", "a number that stands alone"})


def _of_maker(model: Found, makers: Sequence[Found], names: Names) -> Found:
    """A model that is none of the maker on the same photo is only a candidate: one of the two is misread."""
    sure = {m.value for m in makers if m.accepted}
    if model.accepted and sure and sure.isdisjoint(names.makers_of(model.value)):
        return replace(model, accepted=False, confidence=min(model.confidence, 0.5), how="a model of another maker")
    return model


def _is_plate(found: Mapping[str, Sequence[Found]]) -> bool:
    """Whether the photo shows a plate at all: a number alone on a box or a knob is not worth a look."""
    return (
        bool(found["line_voltage"])
        or any(f.how not in _ALONE for f in found["serial"])
        or any(f.accepted for f in found["model"])
    )


def _single(name: str, readings: Sequence[Found]) -> Reading | None:
    """The one accepted value; two different ones (two units in one picture) cancel each other."""
    taken = [f for f in readings if f.accepted]
    keys = {_key(name, f.value) for f in taken}
    if len(keys) != 1:
        return None
    return _reading(name, max(taken, key=lambda f: f.confidence))


def _reading(name: str, found: Found) -> Reading:
    return Reading(name, found.value, found.confidence, found.lines, found.how)


def _distinct(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    best: dict[tuple[str, str], Reading] = {}
    for reading in sorted(readings, key=lambda r: -r.confidence):
        best.setdefault((reading.field, _key(reading.field, reading.value)), reading)
    return tuple(best.values())


def _key(name: str, value: str) -> str:
    return name_key(value) if name in ("maker", "model") else value


# ---------------------------------------------------------------- photos and units


def seen_in(drafts: Sequence[UnitDraft], readings: Mapping[str, PlateReading]) -> dict[str, dict[str, float]]:
    """For each photo, how many times likelier its plate makes each unit; only units that it names stand in it.

    For `arrange(..., pictured=...)`. A plate that no unit fits says nothing here: the words may be misheard.
    """
    weights = {"serial": 300.0, "model": 40.0, "maker": 4.0}
    out: dict[str, dict[str, float]] = {}
    for photo, reading in readings.items():
        factors = {}
        for draft in drafts:
            factor = 1.0
            for r in reading.accepted:
                value = draft.scalars.get(r.field)
                if value is not None and _same(r.field, str(value.value), r.value):
                    factor *= weights[r.field]
            if factor > 1:
                factors[draft.id] = factor
        if factors:
            out[photo] = factors
    return out


def with_plates(
    drafts: Sequence[UnitDraft], matches: Sequence[PhotoMatch], readings: Mapping[str, PlateReading], *, mains_v: int
) -> list[UnitDraft]:
    """All units of a walk with what the plates in their photos say (`compare`); `readings` by the photo's file name.

    A photo whose unit is itself in doubt may confirm a unit, but neither contradicts it nor fills its blanks.
    """
    out = []
    for draft in drafts:
        own = {m.photo: (readings[m.photo], m) for m in matches if m.unit == draft.id and m.photo in readings}
        told = {photo: _agreeing(draft, r) if match.reasons else r for photo, (r, match) in own.items()}
        out.append(compare(draft, told, mains_v=mains_v))
    return out


def _agreeing(draft: UnitDraft, reading: PlateReading) -> PlateReading:
    """Only what says the same as the unit's own words."""
    said = {name: str(value.value) for name, value in draft.scalars.items() if name in FIELDS}
    kept = {r.field: r for r in reading.accepted if r.field in said and _same(r.field, said[r.field], r.value)}
    return PlateReading(maker=kept.get("maker"), model=kept.get("model"), serial=kept.get("serial"))


def compare(draft: UnitDraft, readings: Mapping[str, PlateReading], *, mains_v: int) -> UnitDraft:
    """The unit with what the plates in its photos (by file name) say of it.

    Agreement raises a field's confidence and settles the machine's own doubts. Contradiction keeps what was said and
    gives the reason and the reading. A blank field is filled by an accepted reading, flagged. A line
    voltage that does not suit the shop's mains becomes a caution.
    """
    for name in FIELDS:
        draft = _with_field(draft, name, readings)
    return _with_voltage(draft, readings, mains_v)


def _with_field(draft: UnitDraft, name: str, readings: Mapping[str, PlateReading]) -> UnitDraft:
    taken = [(photo, r) for photo, reading in readings.items() if (r := getattr(reading, name)) is not None]
    guesses = [(photo, r) for photo, reading in readings.items() for r in reading.candidates if r.field == name]
    value = draft.scalars.get(name)
    if value is None:
        return _offered(draft, name, taken, guesses)
    said = str(value.value)
    agree = [(p, r) for p, r in taken if _same(name, said, r.value)]
    differ = [(p, r) for p, r in taken if not _same(name, said, r.value)]
    if not agree and name == "serial":  # a guess that says just what was said is no guess
        agree = [(p, r) for p, r in guesses if r.value == said.upper() and len(r.value) >= 5]
    if differ:
        value = _contradicted(value, name, differ, also=agree)
    elif agree:
        value = _confirmed(value, agree)
    return replace(draft, scalars={**draft.scalars, name: value})


def _same(name: str, said: str, read: str) -> bool:
    if name == "serial":
        return alike(said) == alike(read)
    return name_key(said) == name_key(read)


def _confirmed(value: Value, agree: Sequence[tuple[str, Reading]]) -> Value:
    photo, best = max(agree, key=lambda pair: pair[1].confidence)
    doubt = (1 - value.confidence) * (1 - best.confidence)
    return replace(
        value,
        confidence=round(max(value.confidence, 1 - doubt), 4),
        reasons=tuple(r for r in value.reasons if r not in SETTLED),
        evidence=(*value.evidence, evidence_of(photo, best)),
        signals={**value.signals, "plate": best.confidence},
    )


def _contradicted(
    value: Value, name: str, differ: Sequence[tuple[str, Reading]], also: Sequence[tuple[str, Reading]]
) -> Value:
    """What was said stays; both readings and the pictures go to the reviewer."""
    reasons = [f"the plate in {photo} reads {r.value}" for photo, r in differ]
    reasons += [f"the plate in {photo} reads {r.value}, as was said" for photo, r in also]
    others = dict.fromkeys([*(r.value for _, r in differ), *value.alternatives])
    evidence = tuple(evidence_of(photo, r) for photo, r in (*differ, *also))
    against = max(r.confidence for _, r in differ)
    return replace(
        value,
        confidence=round(min(value.confidence, 0.5 if also else 1 - 0.75 * against), 4),
        reasons=(*value.reasons, *reasons),
        alternatives=tuple(o for o in others if not _same(name, str(value.value), o)),
        evidence=(*value.evidence, *evidence),
        signals={**value.signals, "plate": -against},
    )


def _offered(
    draft: UnitDraft, name: str, taken: Sequence[tuple[str, Reading]], guesses: Sequence[tuple[str, Reading]]
) -> UnitDraft:
    """A blank field: one accepted reading fills it, flagged; several, or mere guesses, become a doubt."""
    unread = [d for d in draft.doubts if d.field == name]
    values = list(dict.fromkeys(r.value for _, r in taken))
    if len(values) == 1:
        photo, best = max(taken, key=lambda pair: pair[1].confidence)
        reason = f"read from the plate in {photo}; nobody said it"
        value = Value(
            best.value,
            (*(e for d in unread for e in d.evidence), evidence_of(photo, best)),
            min(best.confidence, 0.8),
            (reason, *(d.reason for d in unread)),
            tuple(dict.fromkeys(a for d in unread for a in d.alternatives)),
            rule="plate",
            signals={"plate": best.confidence},
        )
        return replace(
            draft, scalars={**draft.scalars, name: value}, doubts=tuple(d for d in draft.doubts if d not in unread)
        )
    offers = taken or [(p, r) for p, r in guesses if name != "maker"]
    if not offers:
        return draft
    listed = ", ".join(dict.fromkeys(f"{r.value} in {photo}" for photo, r in offers))
    reason = f"the plates differ: {listed}" if taken else f"a plate may tell it: {listed}"
    doubt = Doubted(
        name,
        reason,
        tuple(evidence_of(photo, r) for photo, r in offers),
        tuple(dict.fromkeys(r.value for _, r in offers)),
    )
    return replace(draft, doubts=(*draft.doubts, doubt))


def _with_voltage(draft: UnitDraft, readings: Mapping[str, PlateReading], mains_v: int) -> UnitDraft:
    """A caution on the unit where its plate asks for another mains than the shop's, or has a voltage selector."""
    doubts = list(draft.doubts)
    told: set[str] = set()
    for photo, reading in readings.items():
        r = reading.line_voltage
        if r is None or r.value in told:
            continue
        told.add(r.value)
        if not suits(r.value, mains_v):
            doubts.append(
                Doubted(
                    "unit",
                    f"caution: the plate in {photo} reads {r.value}, the mains here is {mains_v} V; do not plug it in "
                    "before the service manual or a qualified person says how",
                    (evidence_of(photo, r),),
                )
            )
        elif len(volts(r.value)) > 1:
            doubts.append(
                Doubted(
                    "unit",
                    f"caution: the plate in {photo} reads {r.value}; see that selector and fuse suit {mains_v} V "
                    "before it is plugged in",
                    (evidence_of(photo, r),),
                )
            )
    return replace(draft, doubts=tuple(doubts))


def evidence_of(photo: str, reading: Reading) -> Evidence:
    """The photo and the text on it, as evidence of a value."""
    return Evidence("", 0.0, 0.0, reading.words, photo)
