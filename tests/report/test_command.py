"""`intake report` and `intake sheet` write each form where they are told to, and refuse what makes no sense."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from records import builders
from typer.testing import CliRunner

from intake.cli import build
from intake.errors import IntakeError, UsageError
from intake.records.store import Store
from intake.settings import CONFIG_TEXT

RUN = CliRunner()


@pytest.fixture
def small(tmp_path: Path) -> Path:
    """A shop folder with one walk of 14 May 2026."""
    (tmp_path / "vocab").mkdir()
    (tmp_path / "config.toml").write_text(CONFIG_TEXT + 'time_zone = "America/New_York"\n', encoding="utf-8")
    with Store.open(tmp_path / "intake.db") as store:
        store.save_walk(
            builders.walk(),
            [
                builders.draft(
                    "u1",
                    maker="Corvane",
                    model="AI-350",
                    unit_type="integrated amplifier",
                    stage="waiting",
                    source="trade-in",
                    actions=[builders.action("replace", "lamp", due="2026-05-20", waiting_on="lamp")],
                )
            ],
        )
    return tmp_path


def run(shop: Path, *words: str) -> str:
    """The command's standard output; its own errors are raised."""
    done = RUN.invoke(build(), [*words, "--shop", str(shop)], catch_exceptions=False)
    assert done.exit_code == 0, done.stderr
    return done.stdout


def test_the_terminal_report(small: Path) -> None:
    """Plain lines answer what came in, what is stuck on what, what is due."""
    text = run(small, "report", "--week", "2026-W20")
    assert "Week 20 of 2026, 11 to 17 May 2026" in text
    assert "Waits for a part" in text
    assert "at least 3 days U0001 Corvane AI-350: waits for lamp" in text
    assert "in 3 days (Wed 20 May 2026): replace lamp, U0001 Corvane AI-350 [stuck: lamp]" in text


@pytest.mark.parametrize(
    ("name", "begins"),
    [
        ("w.html", b"\n<!doctype html>"),
        ("w.md", b"# Week 20 of 2026"),
        ("w.csv", b"\xef\xbb\xbfsection,"),
        ("w.json", b"{\n"),
        ("w.jsonl", b'{"format"'),
        ("w.ics", b"BEGIN:VCALENDAR\r\n"),
        ("w.xlsx", b"PK"),
    ],
)
def test_the_form_goes_by_the_files_name(small: Path, name: str, begins: bytes) -> None:
    """-o FILE writes the form of its suffix, whole."""
    assert run(small, "report", "--week", "2026-W20", "-o", str(small / name)) == ""
    assert (small / name).read_bytes().lstrip(b"\n").startswith(begins.lstrip(b"\n"))
    assert not list(small.glob("*.part"))


def test_days_in_place_of_a_week(small: Path) -> None:
    """--from and --to take any days; a Monday to its Sunday is that week."""
    numbers = json.loads(run(small, "report", "--from", "2026-05-14", "--to", "2026-05-14", "--format", "json"))[
        "numbers"
    ]
    assert (numbers["week"], numbers["came in"], numbers["stuck"]) == (None, 1, 1)
    numbers = json.loads(run(small, "report", "--from", "2026-05-11", "--to", "2026-05-17", "--format", "json"))[
        "numbers"
    ]
    assert numbers["week"] == "2026-W20"


@pytest.mark.parametrize(
    "words",
    [
        ("--week", "2026-W54"),
        ("--week", "2026-W20", "--from", "2026-05-11"),
        ("--to", "2026-05-11"),
        ("--from", "2026-05-17", "--to", "2026-05-11"),
        ("--from", "May"),
        ("--week", "2999-W01"),
    ],
)
def test_what_makes_no_sense_is_refused(small: Path, words: tuple[str, ...]) -> None:
    """Weeks that are none, and days that contradict each other, are errors of use."""
    with pytest.raises(UsageError):
        run(small, "report", *words)


def test_a_file_that_cannot_be_written(small: Path) -> None:
    """The error names the file and leaves nothing half written."""
    with pytest.raises(IntakeError, match="cannot be written"):
        run(small, "report", "--week", "2026-W20", "-o", str(small / "nowhere" / "w.html"))


def test_the_sheet_of_a_walk(small: Path) -> None:
    """`intake sheet` prints the page of a walk; an unknown walk is an error that names those there are."""
    assert "Walk 2026-05-14-north-aisle" in run(small, "sheet", "2026-05-14-north-aisle")
    with pytest.raises(IntakeError, match="2026-05-14-north-aisle"):
        run(small, "sheet", "nope")
