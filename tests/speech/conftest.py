"""The recognizer itself, for tests that decode sound; they are skipped where its weights are not at hand."""

from __future__ import annotations

import pytest

from intake.errors import ModelError
from intake.speech.weights import find_model
from intake.speech.whisper import WhisperRecognizer


@pytest.fixture(scope="module")
def recognizer() -> WhisperRecognizer:
    try:
        return WhisperRecognizer(find_model("base"))
    except ModelError as error:
        pytest.skip(str(error))
