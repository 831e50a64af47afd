"""The recognizer itself. What needs the weights is slow and is skipped, visibly, where they were not fetched."""

from __future__ import annotations

import json
import sys
from itertools import pairwise
from pathlib import Path

import pytest

from intake.capture.walk import Recording
from intake.settings import Settings
from intake.speech.hear import read_plain, transcribe
from intake.speech.recognizer import DecodeOptions
from intake.speech.transcript import Transcript
from intake.speech.whisper import WhisperRecognizer, compression_ratio, mended

SHARED = Path(__file__).resolve().parents[3] / "shared"
FIRST = SHARED / "walks" / "built" / "2026-01-12-first-shelf"


@pytest.fixture(scope="module")
def heard(recognizer: WhisperRecognizer, tmp_path_factory: pytest.TempPathFactory) -> tuple[Transcript, str, Path]:
    if not FIRST.exists():
        pytest.skip("the example walks are not beside the checkout")
    shop = tmp_path_factory.mktemp("shop")
    truth = json.loads((FIRST / "truth.json").read_text())["recordings"][0]
    path = FIRST / "capture" / truth["file"]
    from intake.vocabulary.load import load_vocabulary
    from intake.vocabulary.shopfile import import_vocabulary

    (shop / "vocab").mkdir()
    import_vocabulary(FIRST / "vocabulary.json", shop / "vocab")
    recording = Recording(path=path, name=path.name, sha256="1" * 64, kind="m4a")
    transcript = transcribe(recording, Settings(shop=shop), load_vocabulary(shop), recognizer=recognizer)
    return transcript, truth["reference"], shop


@pytest.mark.slow
def test_clear_speech_is_understood(heard: tuple[Transcript, str, Path]) -> None:
    """The share of wrong words in a clear recording is below one in eight, by the bench's normalization."""
    sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))
    from words import normalize, split_errors

    transcript, reference, _ = heard
    said, text = normalize(reference), normalize(" ".join(w.text for w in transcript.words()))
    _, counts = split_errors(said, text, (), frozenset())
    assert counts.rate < 0.125


@pytest.mark.slow
def test_words_lie_in_order_within_the_speech(heard: tuple[Transcript, str, Path]) -> None:
    """Times never go back, and the truth's first sentence is where it was said, give or take half a second."""
    transcript, _, _ = heard
    words = list(transcript.words())
    assert all(a.start <= b.start + 0.02 for a, b in pairwise(words))
    truth = json.loads((FIRST / "truth.json").read_text())["recordings"][0]["sentences"]
    assert words[0].start == pytest.approx(truth[0][0], abs=0.5)
    assert words[-1].end == pytest.approx(truth[-1][1], abs=0.7)


@pytest.mark.slow
def test_a_second_reading_changes_only_what_it_marks(heard: tuple[Transcript, str, Path]) -> None:
    """Undoing the terms that were taken gives the plain decoding back, word for word."""
    transcript, _, shop = heard
    recording = Recording(path=Path(transcript.recording), name="", sha256="1" * 64, kind="m4a")
    plain = read_plain(recording, Settings(shop=shop))
    assert plain is not None
    undone = [text for w in transcript.words() for text in (w.text if w.heard is None else w.heard).split()]
    assert undone == [text for w in plain.words() for text in w.text.split()]
    assert any(w.heard for w in transcript.words())


@pytest.mark.slow
def test_the_said_text_is_likelier_than_another(recognizer: WhisperRecognizer) -> None:
    """Weighing compares texts against the sound."""
    path = SHARED / "data" / "speech" / "jfk" / "jfk.flac"
    if not path.exists():
        pytest.skip("the speech samples are not beside the checkout")
    (batch,) = recognizer.batches(path, DecodeOptions())
    said = ["ask", "not", "what", "your", "country", "can", "do", "for", "you"]
    other = ["ask", "not", "what", "your", "kitchen", "can", "do", "for", "you"]
    (mine, theirs), = batch.weigh({0: [said, other]}, {0: ""}).values()
    assert sum(mine) > sum(theirs) + 3
    again = batch.again({0: "kitchen, country"})
    assert "country" in again[0]


def test_a_tokenizer_that_lacks_the_first_merge_is_mended() -> None:
    """Multilingual files lack the merge of a blank and t, so that every word that begins with t falls apart."""
    from tokenizers import Tokenizer, models, pre_tokenizers

    vocab = {"Ġ": 0, "t": 1, "e": 2, "Ġt": 3, "Ġe": 4, "Ġte": 5}
    lacking = Tokenizer(models.BPE(vocab=vocab, merges=[("Ġ", "e"), ("Ġt", "e")]))
    lacking.pre_tokenizer = pre_tokenizers.ByteLevel(add_prefix_space=False)
    assert lacking.encode(" te").ids == [0, 1, 2]
    whole = mended(lacking)
    assert whole.encode(" te").ids == [5]
    assert mended(whole) is whole


def test_loops_compress_well() -> None:
    """The measure of openai/whisper: a loop lies above 2.4, speech below."""
    assert compression_ratio("I don't know, " * 30) > 2.4
    assert compression_ratio("The lamp is dead, it needs a new lamp, and the lamp is on order.") < 2.4
    assert compression_ratio("") == 1.0
