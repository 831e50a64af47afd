"""The invented shop of the language tests, made once, and the extractor that knows its words."""

from __future__ import annotations

import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from intake.language.extract import Extractor
from intake.vocabulary.folder import vocab_folder
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.shopfile import add_maker, add_model, add_place

CASES = Path(__file__).parent / "cases"


def read_yaml(path: Path) -> Any:
    """A file of the cases."""
    return yaml.safe_load(path.read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def extractor() -> Extractor:
    """An extractor with the trade's words and the shop's."""
    shop = read_yaml(CASES / "shop.yaml")
    with tempfile.TemporaryDirectory() as folder:
        words = Path(folder) / "vocab"
        words.mkdir()
        for maker in shop["makers"]:
            add_maker(words, maker)
        for maker, model, unit_type in shop["models"]:
            add_model(words, maker, model, unit_type)
        for place in shop["places"]:
            add_place(words, place)
        return Extractor(load_vocabulary(Path(folder)), vocab_folder() / "cues")
