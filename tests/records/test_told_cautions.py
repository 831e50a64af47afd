"""A caution told of one unit stays with it, whatever is answered, until a person takes it away."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from intake.cli import main
from intake.cli.shop import make_shop
from intake.language.draft import Doubted, Evidence
from intake.records.cautions import TOLD, cautions
from intake.records.store import Store
from intake.records.values import contract_terms, offered

from .builders import action, draft, fresh_store, walk

DAY = date(2026, 5, 14)
WALK = "2026-05-14-north-aisle"
TEXT = (TOLD + "the plate in P04.JPG reads 230 V, the mains here is 120 V; do not plug it in before the service manual "
        "or a qualified person says how")
SHOWN = "The plate in P04.JPG reads 230 V"
DOUBT = Doubted("unit", TEXT, (Evidence("", 0.0, 0.0, "230 V~ 50 Hz", "P04.JPG"),))
DRAFT = draft("u1", unit_type="tuner", maker="Haldwick", source="customer repair", stage="received", doubts=[DOUBT],
              actions=[action("replace", "lamp", due="2026-05-15", waiting_on="lamp")])
Run = Callable[..., str]


@pytest.fixture(scope="module")
def made_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A customer's tuner that came in, waits and is due, with another country's voltage on its plate."""
    folder = tmp_path_factory.mktemp("made") / "shop"
    make_shop(folder)
    with Store.open(folder / "intake.db") as store:
        store.save_walk(walk(), [DRAFT, draft("u2", 70, 90, unit_type="cable")])
        store.save_walk(walk("2026-05-16-benches", on=date(2026, 5, 16)), [
            draft("u1", unit_type="tuner", stage="waiting")])
        store.link_sighting("2026-05-16-benches/u1", "U0001")
    return folder


@pytest.fixture
def run(tmp_path: Path, made_shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the command in a shop of one's own; gives what was printed, and the file for `-o`."""
    monkeypatch.setenv("INTAKE_SHOP", str(shutil.copytree(made_shop, tmp_path / "shop")))
    monkeypatch.setenv("COLUMNS", "120")

    def command(*words: str) -> str:
        monkeypatch.setattr(sys, "argv", ["intake", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        out = capsys.readouterr()
        assert not ended.value.code, out.err
        return " ".join(out.out.split())

    return command


def section(page: str, begin: str, end: str) -> str:
    """What stands between two headings."""
    assert begin in page, begin
    return page.partition(begin)[2].partition(end)[0]


def html_of(run: Run, tmp_path: Path, *words: str) -> str:
    """A page without its line breaks."""
    page = tmp_path / "page.html"
    run(*words, "-o", str(page))
    return " ".join(page.read_text("utf-8").split())


@pytest.mark.parametrize("accepted", [False, True])
def test_the_caution_stands_wherever_the_unit_stands(run: Run, tmp_path: Path, *, accepted: bool) -> None:
    """Before and after an answer, show, every form of the report, the walk's page and the export all tell it."""
    if accepted:
        run("accept", "U0001")
    seen = "seen by" if accepted else "not reviewed yet"
    shown = run("show", "U0001")
    assert f"CAUTION, line voltage: {SHOWN}" in shown
    assert seen in shown
    assert json.loads(run("show", "U0001", "--json"))["cautions"][0]["text"].startswith(SHOWN)
    report = ("report", "--week", "2026-W20")
    written = run(*report, "--format", "md")
    for begin, end in (("## Stuck", "## Overdue"), ("## Overdue and due", "## Parts"), ("## Came in", "## Moved"), ("## Moved on", "## Customers"),
                       ("## Customers", "## Not seen"), ("## Cautions", "@end")):
        assert SHOWN in section(written, begin, end), begin
    assert seen in written
    typed = run(*report)
    for begin, end in (("STUCK", "OVERDUE"), ("OVERDUE, AND", "PARTS TO"), ("CAME IN", "MOVED ON"), ("MOVED ON", "CUSTOMERS'"),
                       ("CUSTOMERS'", "NOT SEEN")):
        assert SHOWN in section(typed, begin, end), begin
    page = html_of(run, tmp_path, *report, "--format", "html")
    for begin, end in (("stuck", "due"), ("due", "parts"), ("arrived", "moved"), ("moved", "customers"), ("customers", "unseen"),
                       ("cautions", "said")):
        assert SHOWN in section(page, f'<h2 id="{begin}"', f'<h2 id="{end}"'), begin
    assert SHOWN in run(*report, "--format", "csv")
    assert SHOWN in section(html_of(run, tmp_path, "sheet", WALK), 'id="units"', 'id="cautions"')
    exported = json.loads(run("export", "--walk", WALK))
    assert "reads 230 V" in json.dumps(exported["units"][0]["review"])
    assert "reads 230 V" in run("export", "--walk", WALK, "--format", "csv")


def test_the_history_names_the_caution(run: Run) -> None:
    """Who accepted it and who took it away can be read, with its words."""
    run("accept", "U0001", "unit")
    assert "accept 2026-05-14-north-aisle/u1 unit.1: caution: the plate in P04.JPG reads 230 V" in run(
        "history", "U0001")
    run("blank", "U0001", "unit.1")
    told = run("history", "U0001")
    assert "says how -> (blank)" in told


def test_it_is_the_first_question_under_its_own_name(run: Run) -> None:
    """Nobody must guess that "unit: (blank)" is a warning."""
    asked = section(run("show", "U0001"), "TO LOOK AT", "WHAT IT IS")
    assert "caution (unit.1)" in asked.split("? ")[1]
    assert "(blank)" not in asked


def test_only_blanking_takes_it_away(run: Run) -> None:
    """Blanking is the explicit word that it does not hold; undo brings it back as it was."""
    run("accept", "U0001")
    run("blank", "U0001", "unit.1")
    for words in (("show", "U0001", "--json"), ("export", "--walk", WALK)):
        found = json.loads(run(*words))
        assert "230 V" not in json.dumps(found.get("cautions") or found["units"])
    run("undo")
    assert SHOWN in run("show", "U0001")


def shown(store: Store) -> list[tuple[str, bool]]:
    """The told cautions of the unit, and whether a person has seen each."""
    return [(c.text, bool(c.seen_by)) for c in cautions(store.unit("U0001"), mains_v=120) if c.told]


def read_again(store: Store, *doubts: Doubted) -> None:
    """The walk read once more, with these doubts."""
    store.save_walk(walk(), [replace(DRAFT, doubts=doubts)], redo=True)


def test_no_later_reading_takes_an_accepted_caution_away() -> None:
    """A reading without the plate leaves it; the same plate asks nothing anew; another plate is asked about."""
    store = fresh_store()
    store.save_walk(walk(), [DRAFT])
    store.accept("U0001", [])
    first = shown(store)
    assert [seen for _, seen in first] == [True]
    read_again(store)
    assert shown(store) == first
    read_again(store, DOUBT)
    assert shown(store) == first
    assert not store.open_questions(unit="U0001")
    other = replace(DOUBT, reason=TEXT.replace("230", "100"))
    read_again(store, other)
    assert [seen for _, seen in shown(store)] == [True, False]
    assert len(store.open_questions(unit="U0001")) == 1


def test_a_caution_taken_away_is_asked_again_only_where_it_differs() -> None:
    """The same words are answered; another voltage on the same plate is not."""
    store = fresh_store()
    store.save_walk(walk(), [DRAFT])
    store.blank_field("U0001", "unit.1")
    assert shown(store) == []
    read_again(store, DOUBT)
    assert shown(store) == []
    read_again(store, replace(DOUBT, reason=TEXT.replace("230", "100")))
    assert [seen for _, seen in shown(store)] == [False]


def test_an_answer_given_by_an_earlier_version_hides_nothing() -> None:
    """Records accepted when only the answer was kept, without the words, show the caution too."""
    from sqlalchemy import text

    store = fresh_store()
    store.save_walk(walk(), [DRAFT])
    store.accept("U0001", [])
    with store._engine.begin() as connection:
        connection.execute(text("UPDATE entry SET decided_value = NULL, seen_value = NULL WHERE field = 'unit'"))
    assert [seen for _, seen in shown(store)] == [True]


def test_joined_units_keep_the_caution() -> None:
    """Two records said to be one thing: the caution of either stays."""
    store = fresh_store()
    store.save_walk(walk(), [draft("u1", unit_type="tuner"), replace(DRAFT, id="u2")])
    store.accept("U0002", [])
    store.merge("U0001", "U0002")
    assert [seen for _, seen in shown(store)] == [True]


def test_only_values_that_fit_are_offered() -> None:
    """A maker's name is no other reading of a quantity; a term must be one of the record's."""
    assert offered("quantity", ("Renfold", "2"), contract_terms()) == ("2",)
    assert offered("stage", ("Renfold", "waiting"), contract_terms()) == ("waiting",)
    assert offered("serial", ("Renfold", "77152"), contract_terms()) == ("77152",)
    assert offered("maker", ("Renfold",), contract_terms()) == ("Renfold",)
