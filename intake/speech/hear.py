"""A recording -> its transcript: stored if it was heard before, else decoded; the one entry to this package."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from intake.errors import CaptureError
from intake.speech import agree
from intake.speech import doubts as d
from intake.speech.agree import Evidence
from intake.speech.coverage import complete
from intake.speech.hints import FILLER, Hinter, Proposal, hint_of
from intake.speech.recognizer import Batch, DecodeOptions, Progress, Recognizer, Stretch
from intake.speech.replay import Shelf, key
from intake.speech.transcript import Doubt, Segment, Transcript, Word
from intake.speech.verdict import Weighed
from intake.speech.voice import Span

if TYPE_CHECKING:
    from pathlib import Path

    from intake.capture.walk import Recording
    from intake.settings import Settings
    from intake.vocabulary.terms import Vocabulary

SENTENCE_END = re.compile(r"(?:\w\w|[^\w.])[.?!]+[\"')]*$")    # but not the stop after a spelled letter ("M. B. 38.")


@dataclass
class Notes:
    """What has been heard of one recording so far."""

    plain: list[Stretch] = field(default_factory=list)
    evidence: list[Evidence | None] = field(default_factory=list)   # of the second reading, one for each stretch
    doubts: list[Doubt] = field(default_factory=list)
    speech: list[Span] = field(default_factory=list)
    end_s: float = 0.0
    hints: list[str] = field(default_factory=list)      # what each second reading was given

    def to_dict(self) -> dict[str, Any]:
        """Plain data, to go on from after an interruption."""
        return asdict(self)

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Notes:
        """Read what `to_dict` wrote."""
        return cls(
            plain=[Stretch(**{**s, "words": _words(s["words"])}) for s in data["plain"]],
            evidence=[_evidence(e) for e in data["evidence"]], doubts=[Doubt(**x) for x in data["doubts"]],
            speech=[(a, b) for a, b in data["speech"]], end_s=data["end_s"], hints=list(data["hints"]))


def transcribe(recording: Recording, settings: Settings, vocabulary: Vocabulary | None, *,
               recognizer: Recognizer | None = None, options: DecodeOptions | None = None, redo: bool = False,
               progress: Progress | None = None) -> Transcript:
    """The words of a recording, with times, doubts and what made them.

    A written transcript that stands in for the recording is read; a stored decoding is taken (unless
    `redo`); else the sound is decoded and stored, batch by batch, so that an interrupted run goes on
    where it was. `progress` is told the seconds of sound done. Raises CaptureError where nothing of
    the file can be read, ModelError where the weights are missing or damaged.
    """
    if recording.transcript is not None:
        from intake.speech.written import read_written

        return read_written(recording)
    options = options or DecodeOptions()
    shelf = Shelf(settings.transcripts)
    name = key(recording.sha256, _made_by(recognizer, settings, options))
    stored = None if redo else shelf.load(name)
    if stored is not None:
        return stored
    recognizer = recognizer or load_recognizer(settings)
    notes = _listen(recording.path, recognizer, options, vocabulary, shelf=shelf, name=name, redo=redo,
                    progress=progress)
    facts = {**recognizer.facts, **options.to_dict()}
    plain = _transcript(recording, notes, [s.words for s in notes.plain], {**facts, "second": False})
    agreed = _conclude(notes, recognizer, vocabulary)
    notes.doubts += [doubt for a in agreed for doubt in a.doubts]
    final = _transcript(recording, notes, [a.words for a in agreed], {**facts, "hints": notes.hints})
    shelf.save(name, final, plain)
    return final


def is_stored(recording: Recording, settings: Settings, *, options: DecodeOptions | None = None) -> bool:
    """Whether `transcribe` would need no decoding."""
    if recording.transcript is not None:
        return True
    return Shelf(settings.transcripts).load(stored_name(recording, settings, options=options)) is not None


def stored(recording: Recording, settings: Settings, *, options: DecodeOptions | None = None) -> Transcript | None:
    """A recording's words where nothing has to be decoded for them, else None; for showing, not for processing.

    Where these settings have not decoded it, the newest transcript that others made of it.
    """
    if recording.transcript is not None:
        from intake.speech.written import read_written

        return read_written(recording)
    shelf = Shelf(settings.transcripts)
    return shelf.load(stored_name(recording, settings, options=options)) or shelf.newest(recording.sha256)


def stored_name(recording: Recording, settings: Settings, *, options: DecodeOptions | None = None) -> str:
    """The name under which a recording's decoding is stored."""
    return key(recording.sha256, _made_by(None, settings, options or DecodeOptions()))


def read_plain(recording: Recording, settings: Settings, *, options: DecodeOptions | None = None) -> Transcript | None:
    """The stored decoding without hints, the record of what was said; None where the recording was not decoded."""
    name = key(recording.sha256, _made_by(None, settings, options or DecodeOptions()))
    return Shelf(settings.transcripts).load(f"{name}.plain")


def load_recognizer(settings: Settings) -> Recognizer:
    """The recognizer with the shop's weights; loaded once in a run."""
    return _loaded(settings.model, settings.shop, settings.threads)


@lru_cache(maxsize=1)
def _loaded(model: str, shop: Path, threads: int) -> Recognizer:
    from intake.settings import Settings
    from intake.speech.weights import find_model
    from intake.speech.whisper import WhisperRecognizer

    return WhisperRecognizer(find_model(model, Settings(shop=shop)), threads=threads)


def _made_by(recognizer: Recognizer | None, settings: Settings, options: DecodeOptions) -> dict[str, Any]:
    """What names a stored decoding: the model and the options, not the vocabulary (that may grow)."""
    if recognizer is not None and recognizer.facts.get("device") == "none":
        model = str(recognizer.facts["model"])
    else:
        model = settings.model
    return {"model": model, **options.to_dict()}


def _listen(path: Path, recognizer: Recognizer, options: DecodeOptions, vocabulary: Vocabulary | None, *,
            shelf: Shelf, name: str, redo: bool, progress: Progress | None) -> Notes:
    """Decode a recording, keeping notes on disk after each batch."""
    part = None if redo else shelf.load_part(name)
    notes = Notes.from_dict(part) if part else Notes()
    hinter = _hinter(recognizer, vocabulary) if vocabulary is not None and options.second else None
    for batch in recognizer.batches(path, options, start=notes.end_s):
        _take_down(batch, notes, recognizer, options, hinter)
        shelf.save_part(name, notes.to_dict())
        if progress:
            progress(notes.end_s)
    if damage := recognizer.damage():
        notes.doubts.append(Doubt(notes.end_s, notes.end_s, d.DAMAGED, damage))
    if notes.end_s == 0.0 and not notes.plain:
        raise CaptureError("it holds no sound.", path=path, hint="Leave it out of the capture.")
    return notes


def _take_down(batch: Batch, notes: Notes, recognizer: Recognizer, options: DecodeOptions,
               hinter: Hinter | None) -> None:
    """Add what one batch holds: the plain reading, its doubts, and the final words."""
    plain = []
    for stretch in complete(batch):
        kept, dropped = d.drop_inventions(stretch, batch.speech)
        plain.append(kept)
        notes.doubts += dropped
        notes.doubts += d.find_doubts(kept, batch.speech)
    notes.evidence += (_second_reading(batch, plain, notes, recognizer, options, hinter) if hinter is not None
                       else [None] * len(plain))
    notes.plain += plain
    notes.speech += batch.speech
    notes.end_s = batch.end_s


def _second_reading(batch: Batch, plain: Sequence[Stretch], notes: Notes, recognizer: Recognizer,
                    options: DecodeOptions, hinter: Hinter) -> list[Evidence | None]:
    """What a second reading brings, for the stretches where terms may have been misheard."""
    proposals = {i: hinter.proposals(s.words) for i, s in enumerate(plain)}
    hints = {i: hint_of(found, recognizer.count_tokens, options.hint_tokens) for i, found in proposals.items()}
    hints = {i: hint for i, hint in hints.items() if hint}
    again = batch.again(hints, FILLER)
    notes.hints += [f"{plain[i].start:.1f}: {hint}" for i, hint in hints.items()]
    found: list[Evidence | None] = [None] * len(plain)
    for i, second in again.items():
        words = plain[i].words
        given = [p for p in proposals[i] if p.term in hints[i].split(", ")]
        known = {(p.term, p.start) for p in given}
        given += [p for p in agree.suggested(words, second, hinter) if (p.term, p.start) not in known]
        found[i] = Evidence(second, tuple(_weigh(batch, i, words, second, given, hints[i])))
    return found


def _weigh(batch: Batch, i: int, words: tuple[Word, ...], second: str, proposals: Sequence[Proposal], hint: str
           ) -> Iterator[Weighed]:
    """How much the sound of one stretch speaks for what the second reading and the neighbours suggest."""
    rounds = agree.to_weigh(proposals, [w.text for w in words], second.split())
    if not rounds:
        return
    texts = [agree.upto(words, [p for p, _ in r]) for r in rounds]
    needed = max(p.end for r in rounds for p, _ in r) + agree.AFTER
    texts.insert(0, [w.text for w in words[:needed]])
    plain, *changed = batch.weigh({i: texts}, {i: hint})[i]
    for chosen, likely in zip(rounds, changed, strict=True):
        gained = agree.gains(words, [p for p, _ in chosen], plain, likely)
        yield from (Weighed(p, has, round(gain, 3)) for (p, has), gain in zip(chosen, gained, strict=True))


def _hinter(recognizer: Recognizer, vocabulary: Vocabulary) -> Hinter:
    """The terms by their sound; made once for a vocabulary."""
    if _last_hinter[:1] != [vocabulary]:
        _last_hinter[:] = [vocabulary, Hinter(vocabulary, lambda word: recognizer.count_tokens(word) > 1)]
    made: Hinter = _last_hinter[1]
    return made


_last_hinter: list[Any] = []


def _transcript(recording: Recording, notes: Notes, stretches: Iterable[Sequence[Word]],
                facts: dict[str, Any]) -> Transcript:
    doubts = list(notes.doubts)
    if not notes.speech and not any(notes.plain):
        doubts.append(Doubt(0.0, notes.end_s, d.EMPTY))
    return Transcript(
        recording=recording.name, sha256=recording.sha256, duration_s=round(notes.end_s, 3),
        segments=tuple(s for words in stretches for s in sentences(words)),
        doubts=tuple(sorted(doubts, key=lambda x: (x.start, x.end))), speech=tuple(notes.speech), options=facts)


def sentences(words: Sequence[Word]) -> Iterator[Segment]:
    """Words cut into segments after each full stop, question or exclamation mark."""
    since = 0
    for i, word in enumerate(words):
        if SENTENCE_END.search(word.text) or i == len(words) - 1:
            yield Segment(tuple(words[since:i + 1]))
            since = i + 1


def _conclude(notes: Notes, recognizer: Recognizer, vocabulary: Vocabulary | None) -> list[agree.Agreement]:
    """The final words of each stretch, from all that was heard of the recording."""
    words = [s.words for s in notes.plain]
    if vocabulary is None:
        return [agree.Agreement(w, ()) for w in words]
    return agree.conclude(words, notes.evidence, _hinter(recognizer, vocabulary))


def _evidence(data: dict[str, Any] | None) -> Evidence | None:
    if data is None:
        return None
    weighed = tuple(Weighed(**{**w, "proposal": Proposal(**w["proposal"])}) for w in data["weighed"])
    return Evidence(data["second"], weighed)


def _words(data: Iterable[dict[str, Any]]) -> tuple[Word, ...]:
    return tuple(Word(**{**w, "others": tuple(w.get("others", ()))}) for w in data)
