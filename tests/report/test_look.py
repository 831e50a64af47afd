"""A look reads by plain SQL what the store reads through its tables' classes, and starts without them."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from records import builders

from intake.errors import NewerDatabaseError, RecordsError
from intake.language.draft import Doubted, Value
from intake.matching.types import ClockOffset, PhotoMatch
from intake.records import asked, shown
from intake.records.cautions import cautions
from intake.records.look import Look
from intake.records.store import Store

from .conftest import Shop

FIRST, SECOND = "2026-05-14-north-aisle", "2026-05-15-benches"


@pytest.fixture(scope="module")
def asking(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    """Two walks with every kind of question and decision: doubts, moved photos, joined units, links, clocks."""
    unsure = Value("AI-350", builders.heard("AI three fifty", 3), 0.5, ("the speaker was unsure",), ("AI-300",))
    with Store.open(tmp_path_factory.mktemp("asking") / "intake.db") as store:
        drafts = [
            builders.draft("u1", 0, 20, unit_type="integrated amplifier", maker="Corvane", model=unsure, serial="0041",
                           measurements=[{"what": "weight", "value": 30.0, "unit": "kg", "side": None}]),
            builders.draft("u2", 20, 40, unit_type="CD player", maker="Kessing", model="9040",
                           issues=[Value(builders.issue("laser pickup", "dirty"), builders.heard("dirty laser", 22),
                                         0.4, ("not sure enough",))]),
            builders.draft("u3", 40, 60, unit_type="loudspeaker", doubts=[Doubted("photos", "no photo fits")]),
            builders.draft("u4", 60, 80, unit_type="tuner", maker="Calverton", model="FT-5")]
        shots = [builders.photo(f"P{number}.JPG", at=datetime(2026, 5, 14, 9, 13, 10 + number))
                 for number in range(1, 7)]
        placed = [PhotoMatch("P1.JPG", "u1", 0.97, datetime(2026, 5, 14, 13, 12, 9, tzinfo=UTC)),
                  PhotoMatch("P2.JPG", "u2", 0.5, datetime(2026, 5, 14, 13, 12, 30, tzinfo=UTC), "u1",
                             ("two units are as near",)),
                  PhotoMatch("P3.JPG", "u4", 0.9), PhotoMatch("P4.JPG", None, 0.2, reasons=("no unit is near",)),
                  PhotoMatch("P5.JPG", "u1", 0.6, reasons=("close",)),
                  PhotoMatch("P6.JPG", "u3", 0.4, None, "u2", ("far from any",))]
        clock = ClockOffset("Lumora K5", 12.0, -30.0, 60.0, known=False)
        store.save_walk(builders.walk(photos=shots), drafts, placed, [clock])
        store.accept_photo("P5.JPG", walk=FIRST)
        store.move_photo("P3.JPG", f"{FIRST}/u1", walk=FIRST)
        store.merge(f"{FIRST}/u2", f"{FIRST}/u3")
        store.set_field(f"{FIRST}/u2", "model", "9031")
        redone = [builders.draft("u2", 20, 40, unit_type="CD player", maker="Kessing", model="9042"),
                  *(drafts[at] for at in (0, 2, 3))]
        store.save_walk(builders.walk(photos=shots), redone, placed, [clock], settings={"again": True}, redo=True)
        later = builders.walk(SECOND, on=date(2026, 5, 15), recordings=[builders.recording(sha256="later")])
        store.save_walk(later, [builders.draft("u1", maker="Corvane", model="AI-350")],
                        candidates={"u1": [("U0001", 0.6, ("same maker and model",))]})
        yield store


def walks_of(store: Store) -> list[str]:
    return [walk.id for walk in store.walks()]


@pytest.mark.parametrize("kind", ["value", "photo", "link", "clock"])
def test_there_is_a_question_of_each_kind(asking: Store, kind: str) -> None:
    """What the comparisons below compare is not empty."""
    assert asking.count_questions()[kind] > 0


def test_the_questions_are_the_stores(asking: Store, shop: Shop) -> None:
    """Counts and questions of a look and of the store agree, value by value."""
    for store in (asking, shop.store):
        with Look.of(store) as look:
            found = asked.of_days(look, date(2026, 1, 1), date(2026, 12, 31), most=10_000)
            assert asked.count(look) == store.count_questions()
        expected = [question for walk in walks_of(store) for question in store.open_questions(walk=walk)]
        assert found == expected


def test_the_photos_are_the_stores(asking: Store, shop: Shop) -> None:
    """Moved photos and those of joined records stand with their unit, in the store's order."""
    for store in (asking, shop.store):
        ids = [unit.id for unit in store.units()]
        with Look.of(store) as look:
            found = shown.photos(look, ids)
        expected = {unit: [shown.Shot(photo.sha256, photo.path, photo.reasons)
                           for sighting in store.unit(unit).sightings for photo in sighting.photos] for unit in ids}
        assert found == {unit: photos for unit, photos in expected.items() if photos}
        assert found


def test_the_cautions_are_the_stores(asking: Store, shop: Shop) -> None:
    """A unit gets the same cautions from a look as from the whole record."""
    for store in (asking, shop.store):
        ids = [unit.id for unit in store.units()]
        with Look.of(store) as look:
            found = shown.warned(look, ids, mains_v=120)
        assert found == {unit: tuple(cautions(store.unit(unit), mains_v=120)) for unit in ids}
        assert any(found.values())


def test_the_recordings_are_the_stores(asking: Store) -> None:
    """A look names the same files of a walk."""
    with Look.of(asking) as look:
        for walk in walks_of(asking):
            assert list(shown.recordings(look, walk).values()) == asking.recordings(walk)


def test_a_missing_database_is_made(tmp_path: Path) -> None:
    """A look into a shop without records finds an empty shop."""
    with Look.open(tmp_path / "intake.db") as look:
        assert look.rows("SELECT * FROM unit") == []


def test_a_look_cannot_write(tmp_path: Path) -> None:
    """What opens the database for a report never changes it."""
    with pytest.raises(RecordsError), Look.open(tmp_path / "intake.db") as look:
        look.rows("DELETE FROM unit")


def test_a_look_sees_one_moment(tmp_path: Path) -> None:
    """What is written while a report is made does not change it half-way."""
    with Store.open(tmp_path / "intake.db") as store, Look.open(tmp_path / "intake.db") as look:
        assert look.column("SELECT count(*) FROM walk") == [0]
        store.save_walk(builders.walk(), [builders.draft("u1", maker="Corvane")])
        assert look.column("SELECT count(*) FROM walk") == [0]


def test_a_newer_or_foreign_database_is_refused(tmp_path: Path) -> None:
    """A look refuses what the store refuses, with the same errors."""
    path = tmp_path / "intake.db"
    Store.open(path).close()
    with sqlite3.connect(path) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
    with pytest.raises(NewerDatabaseError), Look.open(path):
        pass
    (tmp_path / "notes.db").write_text("not a database, but long enough to be taken for one" * 40)
    with pytest.raises(RecordsError), Look.open(tmp_path / "notes.db"):
        pass


@pytest.mark.parametrize("form", ["html", "terminal", "csv", "md", "json", "ics"])
def test_a_report_starts_without_what_it_does_not_need(tmp_path: Path, form: str) -> None:
    """Neither the tables' classes nor the recognizer's, language's or screen's packages are loaded for a report."""
    (tmp_path / "vocab").mkdir()
    (tmp_path / "config.toml").write_text("")
    Store.open(tmp_path / "intake.db").close()
    heavy = ("sqlalchemy", "sqlmodel", "alembic", "spacy", "faster_whisper", "textual", "numpy", "rapidfuzz")
    program = (f"import sys; sys.argv = ['intake', 'report', '--shop', {str(tmp_path)!r}, '--format', {form!r}]\n"
               "from intake.cli import main\ntry:\n    main()\nexcept SystemExit as end:\n    assert not end.code\n"
               f"print([name for name in {heavy} if name in sys.modules], file=sys.stderr)")
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stderr.strip().splitlines()[-1] == "[]"
