"""A correction -> what it could teach the shop's vocabulary; after a yes, and guarded against nonsense."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from intake.records.heads import VALUE
from intake.records.store import Store
from intake.records.types import Sighting
from intake.review.answers import Answer
from intake.review.words import plain
from intake.vocabulary import shopfile
from intake.vocabulary.names import spoken
from intake.vocabulary.sounds import sound_distance
from intake.vocabulary.terms import Vocabulary, name_key

#: Fields whose words can be taught, and the vocabulary's name for their kind.
KINDS = {"unit_type": "unit_type", "maker": "maker", "model": "model", "location": "location", "stage": "stage",
         "source": "source", "cosmetic": "cosmetic"}
FEWEST_LETTERS = 4
MOST_WORDS = 5
#: How unlike a name its misheard words may sound (0 the same, 1 nothing alike). Of the mishearings in
#: bench/heard-names.tsv 94 % are nearer; of words heard for another name 2 % are.
FARTHEST = 0.55
_DIGIT_WORDS = frozenset(
    ("zero", "oh", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "double"))


@dataclass(frozen=True)
class Lesson:
    """What one yes would teach: entries of the shop's vocabulary, "alias" ones as (heard, kind, meant)."""

    about: str                                 # the record that was corrected
    field: str
    entries: tuple[tuple[str, tuple[str, ...]], ...]
    said: str

    @property
    def alias(self) -> tuple[str, str, str] | None:
        """The alias among the entries, if there is one."""
        return next(((f[0], f[1], f[2]) for what, f in self.entries if what == "alias"), None)


@dataclass(frozen=True)
class Clash:
    """A record that a person settled otherwise on the same words."""

    about: str
    field: str
    value: Any
    words: str


@dataclass(frozen=True)
class Beside:
    """What stands beside the answer on its card; `maker` and `model` only where nothing asks about them (any more)."""

    maker: str | None = None
    model: str | None = None
    unit_type: str | None = None


def beside(sighting: Sighting) -> Beside:
    """What a record says that goes with a lesson: a maker in doubt must not be given a model."""
    maker, model = (held.value if held is not None and not held.reasons else None
                    for held in map(sighting.scalars.get, ("maker", "model")))
    return Beside(maker, model, sighting.value("unit_type"))


def lesson_of(answer: Answer, vocabulary: Vocabulary, card: Beside | None = None) -> Lesson | None:
    """What an answer could teach; None where it is no lesson, or would be nonsense."""
    row, kind = answer.row, KINDS.get(answer.row.field)
    if kind is None or row.kind != VALUE or not isinstance(answer.value, str):
        return None
    entries = _term(kind, answer.value, vocabulary, card or Beside())
    heard = "" if answer.right else _heard(answer, vocabulary)
    if heard and fault(heard, kind, answer.value, vocabulary) is None:
        entries.append(("alias", (heard, kind, answer.value)))
    if not entries:
        return None
    return Lesson(row.about, row.field, tuple(entries), plain(_said(entries)))


def _term(kind: str, value: str, vocabulary: Vocabulary, card: Beside) -> list[tuple[str, tuple[str, ...]]]:
    """The new name itself, where the shop does not have it yet; with a maker the model that waited for it."""
    key = name_key(value)
    if kind == "maker":
        new = [] if key in {name_key(m) for m in vocabulary.makers} else [("maker", (value,))]
        return new + _model(value, card.model, vocabulary, card)
    if kind == "model":
        return _model(card.maker, value, vocabulary, card)
    if kind == "location" and key not in {name_key(place) for place in vocabulary.locations}:
        return [("location", (value,))]
    return []


def _model(maker: str | None, model: str | None, vocabulary: Vocabulary,
           card: Beside) -> list[tuple[str, tuple[str, ...]]]:
    if maker is None or model is None or name_key(model) in {name_key(m.name) for m in vocabulary.models_of(maker)}:
        return []
    return [("model", (maker, model, card.unit_type or ""))]


def _heard(answer: Answer, vocabulary: Vocabulary) -> str:
    """The spoken words that the machine took for something else; "" where they are the name itself."""
    pieces = [e for e in answer.row.evidence if e.photo is None]  # a plate is read, not heard
    if len(pieces) != 1:
        return ""                              # said in several places: which words were misheard cannot be told
    heard = bare(pieces[0].words)
    known = {p.canonical for p in vocabulary.meanings(heard)}
    return "" if answer.value in known or name_key(heard) == name_key(str(answer.value)) else heard


def bare(words: str) -> str:
    """Spoken words without the punctuation that the recognizer puts between them."""
    return spoken(re.sub(r"[^\w\s'’.&-]|[.](?=\s|$)", " ", words))


def _said(entries: Sequence[tuple[str, tuple[str, ...]]]) -> str:
    parts = []
    for what, fields in entries:
        if what == "alias":
            parts.append(f"“{fields[0]}” means {fields[2]}")
        elif what == "model":
            parts.append(f"{fields[0]} has a model {fields[1]}")
        else:
            parts.append(f"{fields[0]} is a {'place' if what == 'location' else what}")
    return "; ".join(parts)


def fault(heard: str, kind: str, meant: str, vocabulary: Vocabulary) -> str | None:
    """Why these words must not be taught to mean that; None where nothing speaks against it."""
    words = heard.split()
    if sum(letter.isalnum() for letter in heard) < FEWEST_LETTERS:
        return f"“{heard}” is too short to be told from other words"
    if len(words) > MOST_WORDS:
        return f"“{heard}” is a sentence, not a name"
    if all(word in common_words() or word in _DIGIT_WORDS or word.isdigit() for word in words):
        return f"“{heard}” is everyday speech; it would be taken for {meant} everywhere"
    others = [p for p in vocabulary.meanings(heard) if not (p.kind == kind and p.canonical == meant)]
    if others:
        return f"“{heard}” means {others[0].canonical} ({others[0].kind.replace('_', ' ')}) already"
    key = name_key(heard)
    named = (*vocabulary.makers, *(m.name for m in vocabulary.models), *vocabulary.locations)
    other = next((name for name in named if name_key(name) == key and name != meant), None)
    if other:
        return f"“{heard}” is how {other} is said"
    if kind in ("maker", "model", "location") and sound_distance(heard, meant) > FARTHEST:
        return f"“{heard}” sounds too little like {meant} to be that misheard"
    return None


@cache
def common_words() -> frozenset[str]:
    """Words of everyday English and of the shop's talk that no alias may be made of alone."""
    return frozenset(resources.files("intake.review").joinpath("common-words.txt").read_text("utf-8").split())


def clashes(store: Store, lesson: Lesson, *, limit: int = 200) -> list[Clash]:
    """Records settled by a person in which the same words stand for something else: a new reading would differ."""
    if lesson.alias is None:
        return []
    heard, _, meant = lesson.alias
    out = []
    for line in store.find(heard, limit=limit):
        for sighting in store.unit(line.id).sightings:
            stored = sighting.scalars.get(lesson.field)
            if stored is None or stored.state == "open" or sighting.id == lesson.about or stored.value == meant:
                continue
            words = " ".join(e.words for e in stored.evidence if e.photo is None)
            if f" {heard} " in f" {bare(words)} ":
                out.append(Clash(sighting.id, lesson.field, stored.value, words))
    return out


def teach(store: Store, vocab: Path, lesson: Lesson, *, who: str) -> None:
    """Write the lesson into the shop's vocabulary, and the act into the history. Raises VocabularyError."""
    before = {(h, k): c for h, k, c in shopfile.read_shop(vocab).aliases}
    for what, fields in lesson.entries:
        _put(vocab, what, fields)
    replaced = before.get(lesson.alias[:2]) if lesson.alias else None
    store.note_taught(lesson.about, {"entries": [[what, list(fields)] for what, fields in lesson.entries],
                                     "replaced": replaced}, who=who, why=lesson.said)


def _put(vocab: Path, what: str, fields: Sequence[str]) -> None:
    if what == "maker":
        shopfile.add_maker(vocab, fields[0])
    elif what == "model":
        shopfile.add_model(vocab, fields[0], fields[1], fields[2] or None)
    elif what == "location":
        shopfile.add_place(vocab, fields[0])
    else:
        shopfile.add_alias(vocab, fields[0], fields[1], fields[2])


def turn(vocab: Path, what: Mapping[str, Any], *, back: bool) -> str:
    """After undo (`back`) or redo of a lesson's act: make the vocabulary say what it said then; a sentence on it."""
    names = []
    for kind, fields in what["entries"]:
        names.append(fields[0])
        if not back:
            _put(vocab, kind, fields)
        elif kind == "alias" and what.get("replaced"):
            shopfile.add_alias(vocab, fields[0], fields[1], what["replaced"])
        elif kind != "maker" or not any(m.maker == fields[0] for m in shopfile.read_shop(vocab).models):
            shopfile.remove(vocab, kind, *fields[:2] if kind in ("alias", "model") else fields[:1])
    return f"vocabulary: {', '.join(names)} {'forgotten' if back else 'taught'} again"
