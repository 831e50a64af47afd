"""What `vocab test` shows and `vocab check` finds."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.vocabulary.check import Remark, check_vocabulary
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.recognize import Recognizer
from intake.vocabulary.shopfile import add_alias, add_maker, add_model
from intake.vocabulary.sounds import index_of


@pytest.fixture
def stocked(shop: Path) -> Path:
    for maker, model, kind in (("Thorncross", "TH-60 Mk VI", "power amplifier"), ("Corvane", "CP-21", "phono stage")):
        add_model(shop / "vocab", maker, model, kind)
    return shop


def test_the_longest_form_wins(stocked: Path) -> None:
    """ "Volume pot" is one part, not a volume and a pot; punctuation does not hide a form."""
    found = Recognizer(load_vocabulary(stocked)).find("The volume pot, is Scratchy.")
    assert [(f.text, {p.canonical for p in f.phrases}) for f in found] == [
        ("volume pot,", {"volume control"}), ("Scratchy.", {"scratchy"})]


def test_names_that_sound_alike_are_shown_with_the_reason(stocked: Path) -> None:
    """A misheard maker is shown as such, a model in another spelling as a form."""
    words = load_vocabulary(stocked)
    found = Recognizer(words, index_of(words)).find("it is a foreign cross, the TH60 Mark VI")
    assert [f.sound.candidate.canonical if f.sound else f.phrases[0].canonical for f in found] == ["Thorncross",
                                                                                                   "TH-60 Mk VI"]
    assert "sounds like it" in found[0].why
    assert found[1].why == "the shop's word"


def test_curly_apostrophes(stocked: Path) -> None:
    """A typographic apostrophe reads as a straight one."""
    found = Recognizer(load_vocabulary(stocked)).find("it won’t turn on")
    assert {p.canonical for f in found for p in f.phrases} == {"won't power on"}


def test_the_shipped_words_have_no_mistakes() -> None:
    """No form clashes, every term is reachable, every form is found where it stands."""
    assert check_vocabulary(None) == []


@pytest.mark.parametrize(("file", "lines", "expected"), [
    ("aliases.txt", "hull would | maker | Haldwick\n", ("unreachable", "hull would")),
    ("aliases.txt", "lamp | part | fuse\n", ("collision", "lamp")),
    ("models.txt", "Corvane | AI-350 | flux pump\n", ("unreachable", "Corvane AI-350")),
    ("models.txt", "Corvane | CP-9\nCorvane | CP9\n", ("collision", "Corvane CP9")),
    ("makers.txt", "Dravik\nDRAVIK\n", ("collision", "DRAVIK")),
    ("makers.txt", "Vantrell\nVentrell\n", ("near", "Vantrell")),
])
def test_mistakes_in_a_shops_files(shop: Path, file: str, lines: str, expected: tuple[str, str]) -> None:
    """Aliases that mean nothing or overrule, unknown unit types, doubled spellings and near makers are found."""
    (shop / "vocab" / file).write_text(lines, encoding="utf-8")
    assert expected in [(remark.what, remark.entry) for remark in check_vocabulary(shop)]


def test_a_good_shop_has_no_remarks(stocked: Path) -> None:
    """Ordinary makers, models and aliases raise no remark."""
    add_maker(stocked / "vocab", "Haldwick")
    add_alias(stocked / "vocab", "hull would", "maker", "Haldwick")
    assert check_vocabulary(stocked) == []


def test_near_is_no_mistake() -> None:
    """Makers that sound alike are a fact of the shop, not a fault of its files."""
    assert not Remark("near", "maker", "Vantrell", "").is_mistake
    assert Remark("collision", "part", "x", "").is_mistake
