"""Words of a walk as tokens: normalised for matching, each still knowing its recording, time and written form."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from intake.language.draft import Evidence
from intake.speech.transcript import Transcript, Word

PAUSE_ENDS_SENTENCE_S = 1.1
FILLERS = frozenset({"uh", "um", "er", "erm", "uhm", "mm", "hm", "hmm", "ah", "eh"})
_EDGE = re.compile(r"^([^\w$£€'#&+-]*)(.*?)([^\w%'\")]*[\"')]*[^\w%'\")]*)$", re.DOTALL)
_HYPHEN_BETWEEN_LETTERS = re.compile(r"(?<=[^\W\d_])[-‐‑–—/](?=[^\W\d_])")
_APOSTROPHES = str.maketrans({"’": "'", "‘": "'", "ʼ": "'", "`": "'", "“": '"', "”": '"'})
# Contracted negations stay one token ("won't", "isn't"): cues are written the same way in the data files.
_CLITIC = re.compile(r"^(\w+)('s|'re|'ve|'ll|'d|'m)$")


@dataclass(frozen=True)
class Token:
    """One matchable word. `norm` is lower case without edge punctuation; `after` is the punctuation behind it."""

    i: int
    text: str  # as written, without edge punctuation
    norm: str
    after: str  # "", ",", ".", "?", "!", ";", ":", "-"
    recording: str
    start: float
    end: float
    probability: float = 1.0
    heard: str | None = None
    others: tuple[str, ...] = ()
    capital: bool = False


@dataclass(frozen=True)
class Sentence:
    """Tokens start..end (exclusive)."""

    start: int
    end: int


@dataclass
class Text:
    """All tokens of a walk in order, cut into sentences."""

    tokens: list[Token]
    sentences: list[Sentence]
    sentence_of: list[int] = field(default_factory=list)  # token index -> sentence index

    def norms(self, start: int, end: int) -> list[str]:
        """The normalised words start..end."""
        return [t.norm for t in self.tokens[start:end]]

    def words(self, start: int, end: int) -> str:
        """The words as written, with their punctuation."""
        return " ".join(t.text + t.after for t in self.tokens[start:end]).strip(" ,;")

    def evidence(self, start: int, end: int) -> Evidence:
        """The words start..end as evidence; never empty."""
        end = max(end, start + 1)
        first, last = self.tokens[start], self.tokens[end - 1]
        if last.recording != first.recording:
            last = first
        return Evidence(first.recording, round(first.start, 2), round(last.end, 2), self.words(start, end))

    def sentence_at(self, i: int) -> Sentence:
        """The sentence that holds token i."""
        return self.sentences[self.sentence_of[i]]

    def pause_before(self, i: int) -> float:
        """Seconds of silence before token i; a new recording counts as a long one."""
        if i <= 0:
            return 60.0
        a, b = self.tokens[i - 1], self.tokens[i]
        return 60.0 if a.recording != b.recording else max(0.0, b.start - a.end)


def normalise(text: str) -> str:
    """Lower case, straight apostrophes, hyphens between letters opened: the form that phrases are matched in."""
    text = text.translate(_APOSTROPHES).lower()
    return " ".join(_HYPHEN_BETWEEN_LETTERS.sub(" ", text).replace("&", " and ").split())


def split_word(word: Word) -> list[tuple[str, str]]:
    """A written word as (text, punctuation behind) parts: "trade-in," -> [("trade", ""), ("in", ",")]."""
    raw = word.text.strip().translate(_APOSTROPHES)
    match = _EDGE.match(raw)
    body, tail = (match.group(2), match.group(3)) if match else (raw, "")
    if body.startswith("'") or body.endswith("'"):
        body = body.strip("'")
    mark = next((c for c in tail if c in ".?!"), "") or next((c for c in tail if c in ",;:"), "")
    if not mark and tail.strip(" \"')") in {"-", "--", "—", "–", "..."}:
        mark = ","
    parts = [p for p in _HYPHEN_BETWEEN_LETTERS.sub(" ", body).split() if p]
    out: list[tuple[str, str]] = []
    for part in parts:
        out.extend(_letters_with_points(part))
    if not out:
        return [("", mark)] if mark else []
    out[-1] = (out[-1][0], mark or out[-1][1])
    return out


def _letters_with_points(part: str) -> list[tuple[str, str]]:
    """ "U.T.12" -> UT12; "B.M." -> BM; a split such as "Serial.551" -> two words."""
    if re.fullmatch(r"(?:[A-Za-z]\.)+[A-Za-z0-9]*", part):
        return [(part.replace(".", ""), "")]
    if re.fullmatch(r"[A-Za-z]{3,}\.\w+", part):
        a, b = part.split(".", 1)
        return [(a, "."), (b, "")]
    if match := _CLITIC.match(part):
        # "it's", "that's", "Pruitt's": the clitic stays glued; cues are written with it
        return [(match.group(0), "")]
    return [(part, "")]


def read_text(transcripts: Sequence[Transcript]) -> Text:
    """Tokens and sentences of a walk's transcripts, in their order."""
    tokens: list[Token] = []
    breaks: set[int] = set()
    for transcript in transcripts:
        breaks.add(len(tokens))
        for word in _whole_words(transcript):
            parts = split_word(word)
            if not parts:
                continue
            if parts[0][0] == "":
                _mark_last(tokens, parts[0][1], transcript.recording)
                continue
            _append(tokens, word, parts, transcript.recording)
    sentences = list(_sentences(tokens, breaks))
    text = Text(tokens, sentences)
    text.sentence_of = [0] * len(tokens)
    for n, sentence in enumerate(sentences):
        for i in range(sentence.start, sentence.end):
            text.sentence_of[i] = n
    return text


def _whole_words(transcript: Transcript) -> Iterable[Word]:
    """Words as written: a recognizer cuts "33.4" and "PT-26" in two at the mark; these are put together again."""
    held: Word | None = None
    for word in transcript.words():
        text = word.text.strip()
        if (
            held is not None
            and len(text) > 1
            and text[0] in ".,-'/"
            and text[1].isalnum()
            and word.start - held.end < 0.35
            and held.text.strip()[-1:].isalnum()
        ):
            held = replace(
                held,
                text=held.text.strip() + text,
                end=word.end,
                probability=min(held.probability, word.probability),
                others=(*held.others, *word.others),
            )
            continue
        if held is not None:
            yield held
        held = word
    if held is not None:
        yield held


def _append(tokens: list[Token], word: Word, parts: list[tuple[str, str]], recording: str) -> None:
    step = (word.end - word.start) / len(parts)
    for k, (body, mark) in enumerate(parts):
        start = word.start + k * step
        tokens.append(
            Token(
                len(tokens),
                body,
                body.lower(),
                mark,
                recording,
                start,
                start + step,
                word.probability,
                word.heard,
                word.others,
                body[:1].isupper(),
            )
        )


def _mark_last(tokens: list[Token], mark: str, recording: str) -> None:
    if tokens and tokens[-1].recording == recording and not tokens[-1].after:
        last = tokens[-1]
        tokens[-1] = Token(
            last.i,
            last.text,
            last.norm,
            mark,
            last.recording,
            last.start,
            last.end,
            last.probability,
            last.heard,
            last.others,
            last.capital,
        )


def _sentences(tokens: Sequence[Token], breaks: Iterable[int]) -> Iterable[Sentence]:
    """Cut at . ? ! (not inside a number), at a long pause, and between recordings."""
    begin, forced = 0, set(breaks)
    for i, token in enumerate(tokens):
        last = i + 1 == len(tokens)
        ends = token.after in {".", "?", "!"}
        if not last and not ends:
            following = tokens[i + 1]
            ends = i + 1 in forced or following.start - token.end > PAUSE_ENDS_SENTENCE_S
        if last or ends:
            yield Sentence(begin, i + 1)
            begin = i + 1
