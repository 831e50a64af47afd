"""The commands that read and correct the records: init, list, show, find, export, explain, history, edits."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from intake.cli import main, text, unit_list
from intake.cli.shop import make_shop
from intake.errors import ShopError
from intake.language.draft import Value
from intake.matching.types import PhotoMatch
from intake.records.store import Store

from .builders import action, draft, heard, issue, photo, walk

WALK = "2026-05-14-north-aisle"
Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def shop(tmp_path: Path, made_shop: Path) -> Path:
    """A shop of one's own for each test."""
    return Path(shutil.copytree(made_shop, tmp_path / "the shop"))


@pytest.fixture(scope="module")
def made_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one walk of two units, one doubt and two photos; brackets and escapes in what was said."""
    folder = tmp_path_factory.mktemp("made") / "the shop"
    make_shop(folder)
    with Store.open(folder / "intake.db") as store:
        store.save_walk(walk(photos=[photo("P1.JPG"), photo("P2.JPG")]), [
            draft("u1", 41.2, 66.0, unit_type="CD player", model="AI-350", serial="K90213", location="shelf B2",
                  maker=Value("Corvane", heard("the [left] core vane [/b] \x1b[31mred", 66.04), 0.62,
                              ("not in the vocabulary",), ("Corbane", "Corwen"), "sound-alike", {"match": 0.8}),
                  issues=[issue("lamp", "dead"), issue("disc tray", "stuck", state="suspected")]),
            draft("u2", 70, 90, maker="Haldwick", stage="waiting", actions=[action("replace", "belt",
                waiting_on="belt")]),
        ], [PhotoMatch("P1.JPG", "u1", 0.97, datetime(2026, 5, 14, 13, 12, 50, tzinfo=UTC)),
            PhotoMatch("P2.JPG", "u2", 0.5, reasons=("two units are as near",))])
    return folder


@pytest.fixture
def run(shop: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs the command as a person would; gives the exit code, what was printed, and what was remarked."""
    monkeypatch.setenv("INTAKE_SHOP", str(shop))
    monkeypatch.delenv("COLUMNS", raising=False)

    def command(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["intake", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        out = capsys.readouterr()
        code = ended.value.code
        return (code if isinstance(code, int) else 0 if code is None else 1), out.out, out.err

    return command


def test_init_makes_a_shop(tmp_path: Path, run: Run) -> None:
    """A new folder gets settings, vocab/ and a database; a second time nothing is overwritten."""
    folder = tmp_path / "new" / "shop"
    assert run("init", str(folder))[0] == 0
    assert {p.name for p in folder.iterdir()} >= {"config.toml", "vocab", "intake.db"}
    (folder / "config.toml").write_text("mains_v = 230\n", encoding="utf-8")
    code, out, _ = run("init", str(folder), "--json")
    assert (code, json.loads(out)["made"]) == (0, [])
    assert (folder / "config.toml").read_text("utf-8") == "mains_v = 230\n"


def test_init_where_a_file_is(tmp_path: Path, run: Run) -> None:
    """A file in the way is told, and left."""
    (tmp_path / "letter").write_text("x")
    code, _, err = run("init", str(tmp_path / "letter"))
    assert code == 1
    assert "not a folder" in err
    with pytest.raises(ShopError):
        make_shop(tmp_path / "letter" / "inside")


def test_list_stands_by_place(run: Run) -> None:
    """Each place heads its units; a pipe gets one line a unit, whole."""
    _, out, _ = run("list")
    lines = out.splitlines()
    assert lines[0] == "shelf B2"
    assert [word in lines[1] for word in ("U0001", "Corvane AI-350", "CD player", "K90213",
        "1 to look at")] == [True] * 5
    assert lines[2] == "place unknown"


@pytest.mark.parametrize(("options", "units"), [
    ((), ["U0001", "U0002"]), (("--open",), ["U0001", "U0002"]), (("--stage", "waiting"), ["U0002"]),
    (("--walk", WALK), ["U0001", "U0002"]), (("--stage", "listed"), [])])
def test_list_can_be_narrowed(run: Run, options: tuple[str, ...], units: list[str]) -> None:
    """By walk, by stage, by open questions; also for programs."""
    _, out, _ = run("list", *options, "--json")
    assert [unit["id"] for unit in json.loads(out)] == units


def test_list_of_walks(run: Run) -> None:
    """Walks with their counts."""
    assert run("list", "--walks")[1] == f"2026-05-14  {WALK}: 2 units, 2 photos, 1 recording, 2 to look at\n"
    assert json.loads(run("list", "--walks", "--json")[1])[0]["questions"] == 2


@pytest.mark.parametrize("words", [("list", "--stage", "sold"), ("list", "--walk", "nowhere"), ("show", "U0099"),
                                   ("explain", "U0001", "colour"), ("export", "--walk", "nowhere")])
def test_a_wrong_name_says_what_there_is(run: Run, words: tuple[str, ...]) -> None:
    """An unknown stage, walk, unit or field is one line on standard error, with a hint."""
    code, out, err = run(*words)
    assert code in (1, 2)
    assert out == ""
    assert err.startswith("intake: ")
    assert err.count("\n") == 1


def test_show_has_the_whole_unit(run: Run) -> None:
    """Values with the very words and their time, doubts with alternatives, photos, sightings, cautions."""
    _, out, _ = run("show", "k90213")
    for wanted in ("CAUTION, laser", "CAUTION, mains", "TO LOOK AT (1)", "not in the vocabulary", "or: Corbane, Corwen",
                   "memo-01.m4a 1:06.0", "lamp: dead", "disc tray: stuck (suspected)", "P1.JPG", f"{WALK}/u1",
                   "serial K90213", "62% sure", "taken 2026-05-14T09:13:10"):
        assert wanted in out, wanted


def test_what_was_said_is_shown_as_it_is(run: Run) -> None:
    """Brackets are no markup, and nothing that was said steers the terminal."""
    for words in (("show", "U0001"), ("explain", "U0001", "maker")):
        _, out, _ = run(*words)
        assert "the [left] core vane [/b]" in out
        assert "\x1b" not in out


@pytest.mark.parametrize("columns", [40, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(run: Run, monkeypatch: pytest.MonkeyPatch, columns: int) -> None:
    """Lines are broken between words only: what is longer than the line alone stands alone, uncut."""
    monkeypatch.setenv("COLUMNS", str(columns))
    for words in (("list",), ("show", "U0001"), ("history", "U0001"), ("explain", "U0001", "maker"), ("list",
        "--walks")):
        for line in run(*words)[1].splitlines():
            assert text.columns(line) <= columns or " " not in line.strip().removeprefix("heard").strip(), line
    assert "K90213" in run("list")[1]


def test_show_for_programs(run: Run) -> None:
    """--json has the latest state, the sightings with their evidence, cautions and history."""
    shown = json.loads(run("show", "U0001", "--json")[1])
    assert shown["scalars"]["serial"]["stored"]["value"] == "K90213"
    assert shown["sightings"][0]["scalars"]["maker"]["evidence"][0]["start_s"] == 66.04
    assert {c["name"] for c in shown["cautions"]} == {"laser", "mains"}
    assert shown["history"][0]["who"] == "machine"


def test_find(run: Run) -> None:
    """What is found is listed; finding nothing ends with 1."""
    assert "U0001" in run("find", "core", "vane")[1]
    code, out, _ = run("find", "zeppelin")
    assert (code, out) == (1, "Nothing on file for: zeppelin\n")
    assert json.loads(run("find", "haldwick", "--json")[1])[0]["id"] == "U0002"


def test_export_to_the_screen_and_to_a_file(run: Run, tmp_path: Path) -> None:
    """JSON and CSV come out whole either way; a file that cannot be written is told."""
    target = tmp_path / "out.json"
    code, out, err = run("export", "--walk", WALK, "-o", str(target))
    assert (code, out) == (0, "")
    assert str(target) in err
    assert json.loads(target.read_text("utf-8"))["format"] == "intake-record/1"
    table = tmp_path / "out.csv"
    run("export", "--walk", WALK, "--format", "csv", "-o", str(table))
    assert table.read_bytes().startswith(b"\xef\xbb\xbfwalk,date,id,")
    code, _, err = run("export", "--walk", WALK, "-o", str(tmp_path / "nowhere" / "x.json"))
    assert code == 1
    assert "cannot be written" in err


def test_export_prints_exactly_the_record(run: Run) -> None:
    """Standard output has the record and nothing else, the words as they were said."""
    code, out, err = run("export", "--walk", WALK)
    assert (code, err) == (0, "")
    assert [unit["id"] for unit in json.loads(out)["units"]] == ["u1", "u2"]


def test_explain_tells_why(run: Run) -> None:
    """Words, time, rule, other readings, doubts and numbers behind a value; after a correction both readings."""
    _, out, _ = run("explain", "U0001", "maker")
    for wanted in ("sound-alike", "Corbane", "Corwen", "not in the vocabulary", "1:06.0", "match 0.8"):
        assert wanted in out, wanted
    run("set", "U0001", "maker", "Corbane", "--why", "the plate says so")
    _, out, _ = run("explain", "U0001", "maker")
    for wanted in ("corrected by ann", "machine reads Corvane", "the plate says so"):
        assert wanted in " ".join(out.split()), wanted
    told = json.loads(run("explain", "U0001", "issues", "--json")[1])
    assert [value["address"] for value in told["values"]] == ["issues.1", "issues.2"]


def test_a_day_of_corrections(run: Run) -> None:
    """Every command that changes records does so, says how to take it back, and undo takes it back."""
    acts = [
        ("set", "U0001", "serial", "K", "90231"), ("set", "U0001", "issues.1.symptom", "dim"),
        ("set", "U0002", "issues.new", "part=power cord", "symptom=worn"), ("accept", "U0001"), ("blank",
            "U0001", "issues.2"),
        ("move-photo", "P2.JPG", "U0001"), ("add", WALK, "maker=Dravik", "location=bay 3"),
        ("split", "U0001", "--at", "0:50"), ("drop", "U0002"), ("merge", "U0001", "U0003"), ("link",
            f"{WALK}/u1", "--new")]
    for act in acts:
        code, out, err = run(*act)
        assert code == 0, (act, err)
        assert out
    shown = json.loads(run("show", "U0001", "--json")[1])
    assert shown["scalars"]["serial"]["stored"]["value"] == "K90231"
    for _ in acts:
        assert run("undo")[0] == 0
    assert run("undo")[0] == 1
    assert [u["id"] for u in json.loads(run("list", "--json")[1])] == ["U0001", "U0002"]
    assert run("redo")[0] == 0
    assert json.loads(run("show", "U0001", "--json")[1])["scalars"]["serial"]["stored"]["value"] == "K90231"


@pytest.mark.parametrize("words", [
    ("set", "U0001", "issues.new", "lamp", "dead"), ("set", "U0001", "issues.new", "{part"), ("set", "U0001",
        "stage", "sold"),
    ("split", "U0001", "--at", "noon"), ("link", f"{WALK}/u1"), ("add", WALK, "Dravik"), ("set", "U0001",
        "issues", "x")])
def test_words_that_make_no_sense(run: Run, words: tuple[str, ...]) -> None:
    """Exit code 2 and one line that says what would do."""
    code, _, err = run(*words)
    assert code == 2
    assert err.count("\n") == 1


def test_history_of_units_and_walks(run: Run) -> None:
    """What was done to a unit, field by field, and to a walk; with who and why."""
    run("set", "U0001", "maker", "Corbane", "--why", "plate")
    out = " ".join(run("history", "U0001")[1].split())
    assert "ann: set" in out
    assert "Corvane -> Corbane (plate)" in out
    assert json.loads(run("history", "U0001", "--field", "serial", "--json")[1]) == []
    assert any(c["field"] == "maker" for c in json.loads(run("history", WALK, "--json")[1]))


def test_a_photo_name_that_two_walks_have(run: Run, shop: Path) -> None:
    """An ambiguous photo name asks for the walk."""
    from .builders import recording

    with Store.open(shop / "intake.db") as store:
        store.save_walk(walk("second", recordings=[recording("b.m4a")], photos=[photo("P1.JPG", sha256="other")]),
                        [draft("u1", recording="b.m4a")])
    code, _, err = run("move-photo", "P1.JPG", "none")
    assert code == 1
    assert "--walk" in err
    assert run("move-photo", "P1.JPG", "second/u1", "--walk", "second")[0] == 0


@pytest.mark.parametrize(("typed", "seconds"), [("66", 66.0), ("66.5", 66.5), ("1:06.5", 66.5), ("1:01:06", 3666.0)])
def test_moments_are_read_as_typed(typed: str, seconds: float) -> None:
    """Seconds, minutes or hours."""
    assert text.seconds_of(typed) == seconds
    assert text.clock(66.04) == "1:06.0"


@pytest.mark.parametrize("typed", ["", "noon", "1:", "-3", "nan", "1:2:3:4", "inf"])
def test_what_is_no_moment(typed: str) -> None:
    """Anything else is refused."""
    with pytest.raises(ValueError, match=r".*"):
        text.seconds_of(typed)


def test_wide_letters_keep_the_columns() -> None:
    """East Asian letters take two columns, marks that combine none."""
    assert (text.columns("音"), text.columns("e\u0301"), text.pad("音", 4)) == (2, 1, "音  ")
    assert text.table([["音", "x"], ["ab", "y"]], to=40) == ["音  x", "ab  y"]
    assert text.clean("a\u202eb\x07") == "a\ufffdb\ufffd"


def test_a_list_of_nothing() -> None:
    """No unit, no line."""
    assert unit_list.lines([]) == []
