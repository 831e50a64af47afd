"""The whole chain from typed words: a capture becomes a walk once, whole, and nothing is lost."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.cli.shop import make_shop
from intake.errors import CaptureError, ShopError
from intake.lock import only_one
from intake.pipeline import process_walk
from intake.records.export import check, record
from intake.records.store import Store
from intake.settings import Settings, load_settings
from intake.vocabulary.shopfile import import_vocabulary

WORDS = """WEBVTT

NOTE started_at 2026-05-14T09:12:03-04:00

00:00.000 --> 00:04.000
Okay, shelf B two.

00:05.000 --> 00:09.000
First up is a Quenlow tuner, the Q T forty-one.

00:09.500 --> 00:13.000
Serial number is two two five oh four.

00:13.500 --> 00:17.000
The lamp is dead, and it needs a new lamp.

00:20.000 --> 00:25.000
Next to it is a Dunbarrow turntable, the D six.

00:26.000 --> 00:30.000
There's no dust cover, and it's ready to list.
"""


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    """A shop that knows two makers."""
    make_shop(tmp_path / "shop")
    words = tmp_path / "words.json"
    words.write_text('{"makers": ["Quenlow", "Dunbarrow"], "models": {"Quenlow": ["QT-41"], "Dunbarrow": ["D-6"]}, "locations": ["shelf B2"]}')
    import_vocabulary(words, tmp_path / "shop" / "vocab")
    return load_settings(tmp_path / "shop")


@pytest.fixture
def capture(tmp_path: Path) -> Path:
    """A folder with one written walk."""
    folder = tmp_path / "captures" / "2026-05-14-north-aisle"
    folder.mkdir(parents=True)
    (folder / "memo-01.vtt").write_text(WORDS)
    return folder


def test_words_become_records_that_keep_the_contract(settings: Settings, capture: Path) -> None:
    """Two units come out with their identity, issue, action and accessory, in an export the schema accepts."""
    process_walk([capture], settings)
    with Store.open(settings.database) as store:
        data = record(store, "2026-05-14-north-aisle")
        check(data, store.terms)
    tuner, turntable = data["units"]
    assert [tuner[k] for k in ("unit_type", "maker", "model", "serial", "location")] == ["tuner", "Quenlow", "QT-41", "22504", "shelf B2"]
    assert [(i["part"], i["symptom"]) for i in tuner["issues"]] == [("lamp", "dead")]
    assert [(a["work"], a["part"]) for a in tuner["actions"]] == [("replace", "lamp")]
    assert (turntable["maker"], turntable["model"], turntable["stage"]) == ("Dunbarrow", "D-6", "ready to list")
    assert turntable["accessories"] == [{"item": "dust cover", "present": False}]


def test_processing_again_adds_nothing(settings: Settings, capture: Path) -> None:
    """The same capture a second time leaves the records as they are and says so."""
    process_walk([capture], settings)
    again = process_walk([capture], settings)
    assert again.report.unchanged
    with Store.open(settings.database) as store:
        assert len(store.units()) == 2


def test_a_person_s_word_outlives_reading_again(settings: Settings, capture: Path) -> None:
    """What a reviewer settled stands after --redo."""
    process_walk([capture], settings)
    with Store.open(settings.database) as store:
        store.set_field("2026-05-14-north-aisle/u1", "serial", "22505")
    process_walk([capture], settings, redo=True)
    with Store.open(settings.database) as store:
        assert record(store, "2026-05-14-north-aisle")["units"][0]["serial"] == "22505"


def test_a_second_run_at_the_same_time_is_refused(settings: Settings, capture: Path) -> None:
    """Two runs never write into one shop at once; the second says what to do."""
    with only_one(settings.shop), pytest.raises(ShopError, match=r"another .* is at work"):
        process_walk([capture], settings)


def test_an_empty_folder_is_one_clear_error(settings: Settings, tmp_path: Path) -> None:
    """A folder with nothing to use names itself and changes nothing."""
    (tmp_path / "empty").mkdir()
    with pytest.raises(CaptureError, match="empty"):
        process_walk([tmp_path / "empty"], settings)


def test_one_bad_file_never_costs_the_walk(settings: Settings, capture: Path) -> None:
    """A zero-byte recording and a photo that is none are named with their reason; the rest is processed."""
    (capture / "memo-02.m4a").write_bytes(b"")
    (capture / "P 01 \u00fc'.JPG").write_bytes(b"this is no picture")
    result = process_walk([capture], settings)
    assert result.report.units == 2
    assert {p.name for p in result.problems if p.fatal} == {"memo-02.m4a", "P 01 \u00fc'.JPG"}
    assert all(p.reason for p in result.problems)


def test_what_names_the_thing_is_asked_about_first() -> None:
    """The same chance flags a serial and not a place; a heard place is asked about later than a typed one, an item of a list too."""
    from intake.language.draft import Evidence, UnitDraft, Value
    from intake.pipeline import flagged_drafts

    def value(content: object, *, heard: float = 1.0) -> Value:
        return Value(content, (Evidence("a.m4a", 0, 1, "x"),), 0.75, (), (), "", {"heard": heard})

    issue = {"part": None, "symptom": "hum", "side": None, "state": "present"}
    scalars = {"serial": value("123"), "location": value("bay 3"), "stage": value("testing", heard=0.0)}
    draft = flagged_drafts([UnitDraft("u1", scalars=scalars, issues=(value(issue),))], 0.88)[0]
    assert {name for name, v in draft.scalars.items() if v.reasons} == {"serial", "stage"}
    assert not draft.issues[0].reasons
    assert flagged_drafts([draft], 0.95)[0].issues[0].reasons
