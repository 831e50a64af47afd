"""The words behind the report's claims: the whole sentence where the transcript is kept, and the seconds of sound."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from intake.report.lines import Quote, Thing

if TYPE_CHECKING:
    from intake.records.look import Look
    from intake.records.types import RecordingInfo
    from intake.settings import Settings
    from intake.speech.transcript import Transcript, Word

#: Hours of talk whose transcripts one page reads for its sentences; past that it shows the words on file. An hour's
#: transcript takes about a twentieth of a second to read.
MOST_HOURS = 6.0
LONGEST_SENTENCE = 60                                  # words; speech without full stops is cut around its claim


@dataclass(frozen=True)
class Said:
    """One quote on a page. `sound`: address of the file with its seconds, where the file is at hand."""

    anchor: str
    before: str                                        # the sentence up to the words that count
    words: str
    after: str
    where: str                                         # "2026-05-14-north-aisle/memo-01.m4a"
    start_s: float
    end_s: float
    sound: str | None
    first: bool = False                                # the page's first use of it: there the quote leads back to

    @property
    def sentence(self) -> str:
        """The whole of it."""
        return " ".join(part for part in (self.before, self.words, self.after) if part)


class Sayings:
    """Collects the quotes of a page: each place in the sound once, with its own anchor."""

    def __init__(self, look: Look | None, settings: Settings | None) -> None:
        self._look, self._settings = look, settings
        self._recordings: dict[str, dict[str, RecordingInfo]] = {}
        self._words: dict[tuple[str, str], list[Word]] = {}
        self._hours = 0.0                              # of the transcripts that were read
        self._found: dict[Quote, Said] = {}
        self._units: dict[str, dict[str, Thing]] = {}  # anchor -> the units beside which it stands
        self._used: set[str] = set()

    def of(self, quote: Quote | None, thing: Thing | None = None) -> Said | None:
        """The quote as the page shows it beside a unit; None stays None."""
        if quote is None:
            return None
        key = Quote(quote.walk, "", quote.recording, quote.start_s, quote.end_s, quote.words)
        if key not in self._found:
            before, words, after = self._sentence(quote)
            self._found[key] = Said(f"said-{len(self._found) + 1}", before, words, after,
                                    f"{quote.walk}/{quote.recording}", quote.start_s, quote.end_s, self._sound(quote))
        said = self._found[key]
        units = self._units.setdefault(said.anchor, {})
        first = said.anchor not in self._used
        self._used.add(said.anchor)
        if thing is not None:
            units[thing.id] = thing
        return replace(said, first=first)

    def units(self, said: Said) -> list[Thing]:
        """The units that the page tells these words of."""
        return list(self._units.get(said.anchor, {}).values())

    def all(self) -> list[Said]:
        """Every quote asked for, by place in the sound."""
        return sorted(self._found.values(), key=lambda said: (said.where, said.start_s, said.end_s, said.anchor))

    def _info(self, quote: Quote) -> RecordingInfo | None:
        from intake.records import shown

        if self._look is None:
            return None
        if quote.walk not in self._recordings:
            self._recordings[quote.walk] = shown.recordings(self._look, quote.walk)
        return self._recordings[quote.walk].get(quote.recording)

    def _sound(self, quote: Quote) -> str | None:
        info = self._info(quote)
        return sound_address(info, quote.start_s, quote.end_s) if info else None

    def _sentence(self, quote: Quote) -> tuple[str, str, str]:
        key = (quote.walk, quote.recording)
        if key not in self._words:
            self._words[key] = self._heard(self._info(quote))
        return sentence(self._words[key], quote.start_s, quote.end_s) or ("", quote.words, "")

    def _heard(self, info: RecordingInfo | None) -> list[Word]:
        if info is None or self._settings is None or self._hours > MOST_HOURS:
            return []
        kept = transcript_of(info, self._settings)
        if kept is None:
            return []
        self._hours += (info.duration_s or kept.duration_s) / 3600
        return list(kept.words())


def sentence(words: Sequence[Word], start_s: float, end_s: float) -> tuple[str, str, str] | None:
    """The sentence around some seconds: what stands before, what was meant, what stands after; None without words."""
    inside = [at for at, word in enumerate(words) if start_s - 0.05 <= (word.start + word.end) / 2 <= end_s + 0.05]
    if not inside:
        return None
    first, last = inside[0], inside[-1]
    begin, end = first, last
    while begin > 0 and first - begin < LONGEST_SENTENCE and not _ends(words[begin - 1]):
        begin -= 1
    while end + 1 < len(words) and end - last < LONGEST_SENTENCE and not _ends(words[end]):
        end += 1
    return _joined(words[begin:first]), _joined(words[first:last + 1]), _joined(words[last + 1:end + 1])


def _ends(word: Word) -> bool:
    return word.text.rstrip("\"'”’)").endswith((".", "?", "!"))


def _joined(words: Iterable[Word]) -> str:
    return " ".join(word.text.strip() for word in words)


def sound_address(info: RecordingInfo, start_s: float, end_s: float) -> str | None:
    """The file's address with the seconds as a media fragment (W3C Media Fragments, npt): "file:///...m4a#t=41,66"."""
    path = Path(info.path)
    if info.kind == "transcript" or not path.is_file():
        return None
    begin = max(0.0, start_s)
    return f"{path.absolute().as_uri()}#t={seconds(begin)},{seconds(max(end_s, begin + 0.1))}"


def seconds(value: float) -> str:
    """Seconds to a tenth, without needless zeros: 41.0 -> "41", 65.98 -> "66"."""
    return f"{value:.1f}".removesuffix(".0")


def transcript_of(info: RecordingInfo, settings: Settings) -> Transcript | None:
    """A recording's words as kept; None where they would have to be heard anew, or their file is gone."""
    from intake.capture.walk import Recording
    from intake.errors import IntakeError

    written = Path(info.transcript) if info.transcript else None
    if written is None and not settings.transcripts.is_dir():
        return None
    from intake.speech.hear import stored

    recording = Recording(Path(info.path), info.name, info.sha256, info.kind, info.duration_s, transcript=written)
    try:
        return stored(recording, settings)
    except (IntakeError, OSError):                     # the page does without: it then shows the words on file
        return None
