"""Hears with faster-whisper; the only module that imports it.

The batched way of the library drops what we need most: it decodes once and forgets the encoder's
output. Here the same parts are called directly, so that a stretch is encoded once (half of the
cost) and can then be decoded again with hints, weighed against other texts, or read slowly.
"""

from __future__ import annotations

import itertools
import math
import zlib
from collections.abc import Generator, Iterator, Mapping, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from intake.errors import ModelError
from intake.speech.recognizer import DecodeOptions, Stretch
from intake.speech.sound import RATE, SoundReader
from intake.speech.transcript import Word
from intake.speech.voice import Span, last_silence, speech_spans, stretches
from intake.speech.weights import ModelFolder

if TYPE_CHECKING:
    from intake.speech.sound import Samples

PREPENDED, APPENDED = "\"'“¿([{-", "\"'.。,，!！?？:：”)]}、"    # punctuation that joins the next / the last word
TEMPERATURES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)
FRAMES_PER_S = 100
CUT_WITHIN_S = 40.0             # a piece of sound is cut in the last silence of its last seconds
LEAST_PROBABILITY = 1e-10
AT_ONCE = 2                     # stretches encoded together on a processor: a fifth faster than eight, and 0.5 GB less
LONGEST_TOKENS = 448            # prompt and text together, a limit of the model


class WhisperRecognizer:
    """Reads recordings with the weights of one folder; uses a GPU where the library sees one."""

    def __init__(self, folder: ModelFolder, *, threads: int = 0) -> None:
        from faster_whisper import WhisperModel
        from faster_whisper.tokenizer import Tokenizer
        from faster_whisper.transcribe import get_suppressed_tokens

        self.folder = folder
        self.device, compute = _device()
        try:
            self.model = WhisperModel(str(folder.path), device=self.device, compute_type=compute,
                                      cpu_threads=threads, local_files_only=True)
        except (RuntimeError, ValueError, OSError) as error:
            raise ModelError(f"the weights cannot be loaded ({error}).", path=folder.path,
                             hint="Fetch them again with: intake model fetch") from error
        self.compute = compute
        self.model.hf_tokenizer = mended(self.model.hf_tokenizer)
        self.tokenizer = Tokenizer(self.model.hf_tokenizer, self.model.model.is_multilingual,
                                   task="transcribe", language="en")
        self.suppressed = list(get_suppressed_tokens(self.tokenizer, [-1]))
        self._damage = ""

    @property
    def facts(self) -> dict[str, Any]:
        """What reads: model, hash, device, versions."""
        return {"model": self.folder.name, "sha256": self.folder.sha256, "device": self.device,
                "compute": self.compute, "faster_whisper": version("faster-whisper")}

    def damage(self) -> str:
        """What could not be read of the last recording."""
        return self._damage

    def count_tokens(self, text: str) -> int:
        """How many tokens a hint takes."""
        return len(self.tokenizer.encode(" " + text.strip()))

    def batches(self, path: Path, options: DecodeOptions, *, start: float = 0.0) -> Iterator[WhisperBatch]:
        """Read a recording piece by piece, some stretches at a time."""
        import numpy as np

        self._speak(options.language)
        reader = SoundReader(path)
        left = np.zeros(0, dtype=np.float32)
        done = 0                                        # samples before `left`
        pieces: Iterator[Samples | None] = itertools.chain(reader.pieces(), [None])
        for piece in pieces:
            if piece is not None:
                left = np.concatenate([left, piece])
            skip = max(0, min(len(left), round(start * RATE) - done))       # what was done before an interruption
            left, done = left[skip:], done + skip
            if piece is not None and len(left) < 2 * CUT_WITHIN_S * RATE:
                continue
            cut = yield from self._piece(left, done, options, last=piece is None)
            left, done = left[cut:], done + cut
        self._damage = reader.damage

    def _piece(self, sound: Samples, done: int, options: DecodeOptions, *, last: bool
               ) -> Generator[WhisperBatch, None, int]:
        """Decode what is complete of `sound`; gives (as the generator's value) how many samples are settled."""
        length = len(sound) / RATE
        spans = speech_spans(self._voice(sound), options.voice)
        end = length if last else last_silence(spans, length, CUT_WITHIN_S)
        spans = [(a, min(b, end)) for a, b in spans if a < end]
        parts = stretches(spans, end, options.voice)
        offset = done / RATE
        since = 0.0
        for i in range(0, len(parts), options.batch):
            some = parts[i:i + options.batch]
            until = end if i + options.batch >= len(parts) else some[-1][1]
            heard = [(a + offset, b + offset) for a, b in spans if since <= (a + b) / 2 < until]
            batch = WhisperBatch(self, sound, offset, some, options)
            batch.close(heard, offset + until)
            since = until
            yield batch
        if not parts and end > 0:
            batch = WhisperBatch(self, sound, offset, [], options)
            batch.close([], offset + end)
            yield batch
        return round(end * RATE)

    def _voice(self, sound: Samples) -> list[float]:
        """The voice detector's probability for each frame of 512 samples."""
        import numpy as np
        from faster_whisper.vad import get_vad_model

        padded = np.pad(sound, (0, -len(sound) % 512 or 512))
        return [float(p) for p in np.asarray(get_vad_model()(padded)).reshape(-1)]

    def _speak(self, language: str) -> None:
        """Set the language of the tokens that open each decoding."""
        if self.model.model.is_multilingual:
            from faster_whisper.tokenizer import Tokenizer

            self.tokenizer = Tokenizer(self.model.hf_tokenizer, True, task="transcribe", language=language)


class WhisperBatch:
    """Some stretches of one recording, encoded and read once."""

    def __init__(self, recognizer: WhisperRecognizer, sound: Samples, offset: float, parts: Sequence[Span],
                 options: DecodeOptions) -> None:
        self._r = recognizer
        self._sound, self._offset, self._parts, self._options = sound, offset, parts, options
        self.speech: list[Span] = []
        self.end_s = 0.0
        self._encoded: Any = self._encode([_cut(sound, part) for part in parts]) if parts else None
        self.stretches: list[Stretch] = self._read() if parts else []

    def close(self, speech: list[Span], end_s: float) -> None:
        """Note the speech since the last batch and how far this one reaches."""
        self.speech, self.end_s = speech, end_s

    def again(self, hints: Mapping[int, str], filler: str = "") -> dict[int, str]:
        """The numbered stretches read again, each with its own hint words."""
        which = sorted(hints)
        if not which:
            return {}
        prompts = self._level([hints[i] for i in which], filler)
        results = self._generate(which, prompts, self._options.second_beam)
        return {i: self._r.tokenizer.decode(tokens).strip() for i, (tokens, _, _) in zip(which, results, strict=True)}

    def weigh(self, texts: Mapping[int, Sequence[Sequence[str]]], hints: Mapping[int, str]
              ) -> dict[int, list[list[float]]]:
        """The log probability of each word of each text, given the sound and the hint."""
        out = {}
        for i, some in texts.items():
            pieces = [[self._r.tokenizer.encode(" " + word) for word in words] for words in some]
            before = self._prompt(hints.get(i, ""))[:-1]        # align() adds the no-timestamps token itself
            room = LONGEST_TOKENS - len(before) - 2
            tokens = [list(itertools.chain.from_iterable(p))[:room] for p in pieces]
            results = self._r.model.model.align(self._take([i] * len(some)), before, tokens,
                                                [self._frames(i)] * len(some))
            out[i] = [_by_word(r.text_token_probs, p) for r, p in zip(results, pieces, strict=True)]
        return out

    def slowly(self, start: float, end: float) -> Stretch:
        """Read one span by itself, in sequence, with fallback to other temperatures."""
        part = (start - self._offset, end - self._offset)
        segments, _ = self._r.model.transcribe(
            _cut(self._sound, part), language=self._options.language, beam_size=self._options.beam,
            temperature=list(TEMPERATURES), word_timestamps=True, condition_on_previous_text=False,
            hallucination_silence_threshold=2.0)
        found = list(segments)                  # lazily made: errors and work happen here
        words = [w for s in found for w in s.words or []]
        return Stretch(
            start=start, end=end, words=_words([(w.word, w.start, w.end, w.probability) for w in words], start),
            logprob=min((s.avg_logprob for s in found), default=0.0),
            no_speech=max((s.no_speech_prob for s in found), default=1.0),
            compression=max((s.compression_ratio for s in found), default=1.0),
            temperature=max((s.temperature or 0.0 for s in found), default=0.0))

    def _encode(self, sounds: Sequence[Samples]) -> Any:
        import numpy as np
        from faster_whisper.audio import pad_or_trim

        model = self._r.model
        features = np.stack([pad_or_trim(model.feature_extractor(s)[..., :-1]) for s in sounds])
        if self._r.device != "cpu":
            return model.encode(features)
        from ctranslate2 import StorageView

        few = [np.asarray(model.encode(features[i:i + AT_ONCE])) for i in range(0, len(features), AT_ONCE)]
        return StorageView.from_array(np.concatenate(few))

    def _take(self, which: Sequence[int]) -> Any:
        """The encoder's output of some stretches."""
        import numpy as np
        from ctranslate2 import Device, StorageView

        if list(which) == list(range(len(self._parts))):
            return self._encoded
        on_cpu = self._encoded if self._r.device == "cpu" else self._encoded.to_device(Device.cpu)
        return StorageView.from_array(np.ascontiguousarray(np.asarray(on_cpu)[list(which)]))

    def _prompt(self, hint: str) -> list[int]:
        tokens: list[int] = self._r.model.get_prompt(
            self._r.tokenizer, [], without_timestamps=True, hotwords=hint or None)
        return tokens

    def _level(self, hints: Sequence[str], filler: str) -> list[list[int]]:
        """Prompts of equal length, which the library asks for: shorter hints get some words of `filler` before them."""
        prompts = [self._prompt(hint) for hint in hints]
        longest = max(len(p) for p in prompts)
        spare = self._r.tokenizer.encode(" " + filler.strip())
        while len(spare) < longest:
            spare = spare + spare
        return [[*p[:1], *spare[len(spare) - (longest - len(p)):], *p[1:]] if len(p) < longest else p for p in prompts]

    def _frames(self, i: int) -> int:
        a, b = self._parts[i]
        return max(1, math.ceil((b - a) * FRAMES_PER_S))

    def _read(self) -> list[Stretch]:
        """Decode all stretches without hints."""
        which = range(len(self._parts))
        found = self._generate(which, [self._prompt("")] * len(which), self._options.beam)
        timed = self._times([tokens for tokens, _, _ in found])
        return [self._stretch(i, *found[i], timed[i]) for i in which]

    def _generate(self, which: Sequence[int], prompts: Sequence[list[int]], beam: int
                  ) -> list[tuple[list[int], float, float]]:
        """Tokens, mean log probability and probability of no speech for each stretch."""
        results = self._r.model.model.generate(
            self._take(which), [list(p) for p in prompts], beam_size=beam, suppress_tokens=self._r.suppressed,
            max_length=LONGEST_TOKENS, return_scores=True, return_no_speech_prob=True, sampling_temperature=0.0)
        found = []
        for result in results:
            tokens = result.sequences_ids[0]
            found.append((tokens, result.scores[0] * len(tokens) / (len(tokens) + 1), result.no_speech_prob))
        return found

    def _stretch(self, i: int, tokens: list[int], mean: float, no_speech: float, words: tuple[Word, ...]) -> Stretch:
        a, b = self._parts[i]
        return Stretch(start=round(a + self._offset, 3), end=round(b + self._offset, 3), words=words, logprob=mean,
                       no_speech=no_speech, compression=compression_ratio(self._r.tokenizer.decode(tokens)))

    def _times(self, tokens: Sequence[list[int]]) -> list[tuple[Word, ...]]:
        """Words with times for each stretch, from the decoder's attention."""
        segments: list[list[dict[str, Any]]] = [
            [{"tokens": some, "start": 0.0, "end": b - a, "seek": 0}]
            for some, (a, b) in zip(tokens, self._parts, strict=True)]
        self._r.model.add_word_timestamps(segments, self._r.tokenizer, self._encoded,
                                          [self._frames(i) for i in range(len(self._parts))], PREPENDED, APPENDED, 0.0)
        return [_words([(w["word"], w["start"], w["end"], w["probability"]) for w in segment[0].get("words", [])],
                       a + self._offset)
                for segment, (a, _) in zip(segments, self._parts, strict=True)]


def _by_word(probabilities: Sequence[float], pieces: Sequence[Sequence[int]]) -> list[float]:
    """The log probability of each word from those of its tokens; words beyond the decoder's room count nothing."""
    logs = [math.log(max(p, LEAST_PROBABILITY)) for p in probabilities]
    out, at = [], 0
    for piece in pieces:
        out.append(sum(logs[at:at + len(piece)]))
        at += len(piece)
    return out


def mended(tokenizer: Any) -> Any:
    """The tokenizer with the merge of a blank and "t" put back, which published multilingual files lack.

    Without it every word that begins with t is cut up in a way the decoder never saw ("tweeter" as a
    blank, t, we, eter), and hints that begin with t do harm.
    """
    import json

    data = json.loads(tokenizer.to_str())
    merges, first = data["model"].get("merges") or [], ("\u0120", "t")
    pairs = [tuple(m.split(" ")) if isinstance(m, str) else tuple(m) for m in merges[:1]]
    if not merges or "".join(first) not in data["model"]["vocab"] or pairs[0] == first:
        return tokenizer
    data["model"]["merges"] = [" ".join(first) if isinstance(merges[0], str) else list(first), *merges]
    return type(tokenizer).from_str(json.dumps(data))


def compression_ratio(text: str) -> float:
    """Length over compressed length: speech is below 2.4, a text that goes in circles above (openai/whisper)."""
    data = text.encode("utf-8")
    return len(data) / len(zlib.compress(data)) if data else 1.0


def _device() -> tuple[str, str]:
    """Where to compute, and in which numbers."""
    import ctranslate2

    return ("cuda", "float16") if ctranslate2.get_cuda_device_count() > 0 else ("cpu", "int8")


def _cut(sound: Samples, part: Span) -> Samples:
    return sound[max(0, round(part[0] * RATE)):round(part[1] * RATE)]


def _words(pieces: Sequence[tuple[str, float, float, float]], offset: float) -> tuple[Word, ...]:
    """Words from the recognizer's pieces; a piece without a blank before it goes on with the last ("HV" "-46")."""
    joined: list[list[Any]] = []
    for text, start, end, probability in pieces:
        if joined and not text.startswith(" "):
            joined[-1][0] += text
            joined[-1][2] = end
            joined[-1][3] = min(joined[-1][3], probability)
        elif text.strip():
            joined.append([text, start, end, probability])
    return tuple(Word(text.strip(), round(float(a + offset), 2), round(float(max(a, b) + offset), 2),
                      round(float(p), 3))
                 for text, a, b, p in joined)
