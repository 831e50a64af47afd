"""The shipped words: the contract's terms, and spoken forms that lead to them."""

from __future__ import annotations

import json
from collections import defaultdict
from pathlib import Path

import pytest

from intake.errors import VocabularyError
from intake.vocabulary import trade as trade_words
from intake.vocabulary.folder import cache_folder, vocab_folder
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.terms import CONTRACT_KINDS, UNITS_OF_MEASURE, Vocabulary

CONTRACT = Path(__file__).resolve().parents[2] / ".." / "shared" / "contract" / "terms.yaml"


@pytest.mark.skipif(not CONTRACT.exists(), reason="the reference data does not lie beside the checkout")
def test_terms_are_the_contracts() -> None:
    """vocab/terms.yaml is the contract's file, byte for byte."""
    assert (vocab_folder() / "terms.yaml").read_bytes() == CONTRACT.read_bytes()


def test_every_term_can_be_said(trade: Vocabulary) -> None:
    """Each canonical term of each kind has a spoken form that is sure by itself, but for those that cannot have one."""
    sure = {(p.kind, p.canonical) for p in trade.phrases if not p.ambiguous}
    lacking = [(kind, term) for kind in (*CONTRACT_KINDS, "unit_of_measure") for term in trade.allowed[kind]
               if (kind, term) not in sure]
    assert lacking == []


def test_units_of_measure_are_the_contracts(trade: Vocabulary) -> None:
    """Only the contract's units are canonical; others are scaled to them."""
    assert set(trade.allowed["unit_of_measure"]) == set(UNITS_OF_MEASURE)
    assert trade.scales["kilohertz"] == 1000
    assert trade.scales["amps"] == 1000
    assert "watts" not in trade.scales


def test_no_form_is_sure_of_two_terms(trade: Vocabulary) -> None:
    """Within a kind a sure form means one term; where several are possible, each is marked unsure."""
    meant = defaultdict(set)
    for phrase in trade.phrases:
        meant[(phrase.kind, phrase.words)].add((phrase.canonical, phrase.ambiguous))
    clashes = {key: found for key, found in meant.items()
               if len({c for c, _ in found}) > 1 and not all(unsure for _, unsure in found)}
    assert clashes == {}


def test_forms_are_lower_case_with_single_blanks(trade: Vocabulary) -> None:
    """A form is written as the reader will look it up."""
    assert [p.words for p in trade.phrases if p.words != " ".join(p.words.lower().split())] == []


@pytest.mark.parametrize(("said", "kind", "canonical"), [
    ("phono pre amp", "unit_type", "phono stage"), ("record player", "unit_type", "turntable"),
    ("amplifiers", "unit_type", "power amplifier"), ("loudspeakers", "unit_type", "loudspeaker"),
    ("open reel", "unit_type", "reel-to-reel deck"), ("tape deck", "unit_type", "cassette deck"),
    ("valve tester", "unit_type", "test instrument"), ("mono blocks", "unit_type", "monoblock amplifier"),
    ("step up transformer", "unit_type", "step-up transformer"), ("dack", "unit_type", "DAC"),
    ("mains lead", "part", "power cord"), ("power cords", "accessory", "power cord"),
    ("volume pot", "part", "volume control"), ("volume knob", "part", "knob"), ("valves", "part", "tube"),
    ("lid", "part", "dust cover"), ("filter caps", "part", "filter capacitor"), ("rubber foot", "part", "feet"),
    ("styli", "part", "stylus"), ("grills", "accessory", "grilles"), ("aerial", "accessory", "antenna"),
    ("owner's manual", "accessory", "manual"), ("wall wart", "accessory", "external power supply"),
    ("cuts out", "symptom", "drops out"), ("humming", "symptom", "hum"), ("buzzes", "symptom", "buzz"),
    ("will not turn on", "symptom", "won't power on"), ("bulging", "symptom", "swollen"),
    ("no sound", "symptom", "no output"), ("perished", "symptom", "deteriorated"),
    ("replaced", "work", "replace"), ("swapped it out", "work", "replace"), ("re-capped", "work", "recap"),
    ("cleaning", "work", "clean"), ("rebuilt", "work", "rebuild"), ("sent it out", "work", "send out"),
    ("diagnosed", "work", "troubleshoot"), ("give him a call", "work", "call"),
    ("ready for pictures", "stage", "ready to photograph"), ("on hold", "stage", "waiting"),
    ("just came in", "stage", "received"), ("being repaired", "stage", "in repair"),
    ("house clearance", "source", "purchase"), ("part exchange", "source", "trade-in"),
    ("on commission", "source", "consignment"), ("belongs to", "source", "customer repair"),
    ("beat up", "cosmetic", "poor"), ("near mint", "cosmetic", "excellent"), ("like new", "cosmetic", "mint"),
    ("milliamps", "unit_of_measure", "mA"), ("millivolts", "unit_of_measure", "mV"), ("per cent", "unit_of_measure",
                                                                                      "%"),
    ("tracking weight", "measure", "tracking force"), ("both channels", "side", "both"), ("left-hand", "side",
                                                                                          "left"),
    ("matched pair", "grouping", "pair"), ("job lot", "grouping", "lot"), ("trolley", "place_noun", "cart"),
])
def test_what_people_say(trade: Vocabulary, said: str, kind: str, canonical: str) -> None:
    """A spoken form of the trade leads to the contract's word."""
    assert canonical in {p.canonical for p in trade.meanings(said) if p.kind == kind}


@pytest.mark.parametrize(("said", "kind"), [
    ("amp", "unit_type"), ("deck", "unit_type"), ("pickup", "part"), ("needle", "part"), ("transformer", "part"),
    ("static", "symptom"), ("blown", "symptom"), ("good", "cosmetic"), ("on the bench", "stage"),
])
def test_what_can_mean_several_things_is_unsure(trade: Vocabulary, said: str, kind: str) -> None:
    """A form that may mean several terms, or nothing, is left to the sentence."""
    found = [p for p in trade.meanings(said) if p.kind == kind]
    assert found
    assert all(p.ambiguous for p in found)


def test_the_cache_gives_the_same(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Read from the files, and read again from the cache, the words are the same."""
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path / "cache"))
    first = trade_words.load_trade(vocab_folder())
    assert list((tmp_path / "cache").glob("trade-*.json"))
    assert trade_words.load_trade(vocab_folder()) == first


@pytest.mark.parametrize("damage", ["", "{", "[]", json.dumps({"phrases": [["x"]], "allowed": {}})])
def test_a_damaged_cache_is_passed_over(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, damage: str) -> None:
    """Whatever stands in the cache, the words are right."""
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path))
    first = trade_words.load_trade(vocab_folder())
    next(cache_folder().glob("trade-*.json")).write_text(damage, encoding="utf-8")
    assert trade_words.load_trade(vocab_folder()) == first


def test_a_cache_that_cannot_be_written_is_no_error(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A full or read-only disk costs time, not words."""
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setenv("INTAKE_CACHE", str(tmp_path / "file"))
    assert len(trade_words.load_trade(vocab_folder()).phrases) > 10_000


def test_a_term_outside_the_contract_is_refused(tmp_path: Path) -> None:
    """The trade's files cannot bring in a term that the contract does not have."""
    (tmp_path / "spoken").mkdir()
    for name in ("terms.yaml", "tubes.yaml"):
        (tmp_path / name).write_bytes((vocab_folder() / name).read_bytes())
    text = "kind: part\ninflect: noun\nterms:\n  flux pump:\n    say: [flux pump]\n"
    (tmp_path / "spoken" / "parts.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(VocabularyError, match=r"parts\.yaml, line 5.*'flux pump' is no part of the contract"):
        trade_words.read_trade(tmp_path)


def test_without_a_shop_there_are_no_names() -> None:
    """The program ships no makers, models or places."""
    words = load_vocabulary(None)
    assert (words.makers, words.models, words.locations) == ((), (), ())
