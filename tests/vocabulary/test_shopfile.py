"""The shop's own words: import of whatever comes, adding, removing, exporting; nothing doubled, nothing lost."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from intake.errors import VocabularyError
from intake.vocabulary.load import load_vocabulary
from intake.vocabulary.shopfile import (
    ImportResult,
    add_alias,
    add_maker,
    add_model,
    add_place,
    add_term,
    export,
    import_vocabulary,
    remove,
)
from intake.vocabulary.shopwords import read_shop
from intake.vocabulary.terms import ModelName

CSV = "maker,model,unit_type\nCorvane,AI-350,integrated amplifier\nCorvane,CP-12,\nMarrowby,,\n"
JSON = {"makers": ["Corvane", "Dravik"], "models": {"Corvane": ["AI-350", {"model": "CP-12",
                                                                           "unit_type": "phono stage"}]},
        "locations": ["shelf B2"]}


def given(tmp_path: Path, name: str, content: str | bytes) -> Path:
    path = tmp_path / name
    path.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    return path


def test_csv(tmp_path: Path, shop: Path) -> None:
    """Makers and models of a CSV file are the shop's afterwards, with their unit types."""
    result = import_vocabulary(given(tmp_path, "list.csv", CSV), shop / "vocab")
    assert (result.added, result.bad_rows) == (4, [])
    words = load_vocabulary(shop)
    assert words.makers == ("Corvane", "Marrowby")
    assert words.models == (ModelName("Corvane", "AI-350", "integrated amplifier"), ModelName("Corvane", "CP-12"))


def test_json(tmp_path: Path, shop: Path) -> None:
    """The JSON form, with models as text or as objects, is taken."""
    assert import_vocabulary(given(tmp_path, "list.json", json.dumps(JSON)), shop / "vocab").bad_rows == []
    words = load_vocabulary(shop)
    assert words.makers == ("Corvane", "Dravik")
    assert words.locations == ("shelf B2",)
    assert words.models_of("Corvane")[1].unit_type == "phono stage"


@pytest.mark.parametrize("content", [CSV, json.dumps(JSON), "location\nshelf B2\nbay 3\n"])
def test_again_adds_nothing(tmp_path: Path, shop: Path, content: str) -> None:
    """A second import of the same file changes no byte of the shop's files."""
    path = given(tmp_path, "list", content)
    first = import_vocabulary(path, shop / "vocab")
    files = {p.name: p.read_bytes() for p in (shop / "vocab").iterdir()}
    again = import_vocabulary(path, shop / "vocab")
    assert first.added > 0
    assert again.added == 0
    assert again.already > 0
    assert again.bad_rows == []
    assert {p.name: p.read_bytes() for p in (shop / "vocab").iterdir()} == files


@pytest.mark.parametrize("content", [
    ("maker;model;unit_type\r\nCorvané;AI-350;\r\n").encode("cp1252"),
    "\ufeffmaker;model\nCorvané;AI-350\n".encode(),
    "maker\tmodel\nCorvané\tAI-350\n".encode("utf-16"),
    'Maker , MODEL\n"Corvané","AI-350"\n'.encode(),
    "\n\nBrand,Model number\n Corvané , AI-350 \n\n".encode(),
    "maker,model\rCorvané,AI-350\r".encode(),
])
def test_odd_spreadsheets(tmp_path: Path, shop: Path, content: bytes) -> None:
    """Byte order marks, semicolons, tabs, code pages, odd headings and line ends are all read."""
    result = import_vocabulary(given(tmp_path, "list.csv", content), shop / "vocab")
    assert result == ImportResult(added=2, already=0, bad_rows=[])
    assert load_vocabulary(shop).models == (ModelName("Corvané", "AI-350"),)


def test_bad_rows_are_named_and_good_ones_kept(tmp_path: Path, shop: Path) -> None:
    """Each row that cannot be used is named by its line with the reason; all others are kept."""
    rows = ["maker,model,unit_type", "Corvane,AI-350,flux pump", ",CP-12,", "###,X-1,", "A|B,X-1,",
            "Dravik,743,tuner",
            f"{'long' * 40},1,", ",,", "Dravik,743,receiver"]
    result = import_vocabulary(given(tmp_path, "list.csv", "\n".join(rows) + "\n"), shop / "vocab")
    reasons = dict(result.bad_rows)
    assert sorted(reasons) == [2, 3, 4, 5, 7, 9]
    assert "flux pump" in reasons[2]
    assert "no maker" in reasons[3]
    assert "|" in reasons[5]
    assert "tuner here" in reasons[9]
    assert [m.name for m in load_vocabulary(shop).models] == ["AI-350", "743"]


def test_bad_json_entries_are_named(tmp_path: Path, shop: Path) -> None:
    """A JSON value of the wrong kind is named by its line; the rest is kept."""
    text = ('{\n"makers": ["Corvane",\n 7.5, null,\n {"name": "X"}],\n'
            '"models": {"Corvane": ["AI-350", {"model": "B", "year": 1}]}\n}')
    result = import_vocabulary(given(tmp_path, "list.json", text), shop / "vocab")
    assert [line for line, _ in result.bad_rows] == [3, 4, 5]
    assert "Corvane" in load_vocabulary(shop).makers
    assert load_vocabulary(shop).makers_of("AI-350") == ("Corvane",)


@pytest.mark.parametrize(("content", "says"), [
    ("", "empty"), ("   \n", "empty"), ("a,b\n1,2\n", "no column we know"), ('{"makers": [}', "no JSON"), ("[1]",
                                                                                                           "object"),
    ('{"maker": ["X"]}', "unknown key 'maker'"), ("model,unit_type\nAI-350,\n", "no column we know"),
    ("[" * 100_000, "JSON"),
])
def test_a_file_that_is_none_of_both(tmp_path: Path, shop: Path, content: str, says: str) -> None:
    """A file that cannot be read as a whole is one clear error that names it, and nothing is changed."""
    with pytest.raises(VocabularyError, match=r"list\.txt") as error:
        import_vocabulary(given(tmp_path, "list.txt", content), shop / "vocab")
    assert says in str(error.value)
    assert list((shop / "vocab").iterdir()) == []


def test_a_missing_file(tmp_path: Path, shop: Path) -> None:
    """A file that is not there is told by name."""
    with pytest.raises(VocabularyError, match=r"none\.csv"):
        import_vocabulary(tmp_path / "none.csv", shop / "vocab")


def test_spelling_differences_are_no_new_names(shop: Path) -> None:
    """Case, hyphens and the way marks are written don't make a second maker or model."""
    folder = shop / "vocab"
    assert add_model(folder, "Pellworth", "PT-26 Mk II")
    assert not add_model(folder, "PELLWORTH", "pt26 mark 2")
    assert not add_maker(folder, "pellworth")
    assert add_place(folder, "shelf B2")
    assert not add_place(folder, "Shelf  b2")
    assert read_shop(folder).makers == ("Pellworth",)


def test_a_type_learned_later_is_kept(shop: Path) -> None:
    """A model without a unit type gets it from a later list; all other lines stay as they were."""
    folder = shop / "vocab"
    (folder / "models.txt").write_text("# mine\nCorvane | AI-350\n\nDravik | 743   # no comment here\n",
                                       encoding="utf-8")
    add_model(folder, "Corvane", "AI-350", "integrated amp")
    assert (folder / "models.txt").read_text(encoding="utf-8") == (
        "# mine\nCorvane | AI-350 | integrated amplifier\n\nDravik | 743   # no comment here\n")


def test_aliases(shop: Path) -> None:
    """What is heard leads to what is meant; a new meaning replaces the old, an unknown one is refused."""
    folder = shop / "vocab"
    add_maker(folder, "Haldwick")
    add_maker(folder, "Hallwick")
    assert add_alias(folder, "Hull would", "maker", "haldwick")
    assert not add_alias(folder, "hull  WOULD", "maker", "Haldwick")
    assert load_vocabulary(shop).meanings("hull would")[0].canonical == "Haldwick"
    assert add_alias(folder, "hull would", "maker", "Hallwick")
    assert [p.canonical for p in load_vocabulary(shop).meanings("hull would")] == ["Hallwick"]
    with pytest.raises(VocabularyError, match="no maker 'Nobody'"):
        add_alias(folder, "no body", "maker", "Nobody")
    with pytest.raises(VocabularyError, match="kind 'colour'"):
        add_alias(folder, "red", "colour", "red")


def test_terms_of_the_shops_own(shop: Path) -> None:
    """A shop's own term is allowed beside the contract's; the contract's own are not added again."""
    folder = shop / "vocab"
    assert add_term(folder, "part", "tape counter")
    assert not add_term(folder, "part", "tape counter")
    assert not add_term(folder, "part", "lamp")
    words = load_vocabulary(shop)
    assert "tape counter" in words.allowed["part"]
    assert words.meanings("tape counter")[0].source == "shop"
    with pytest.raises(VocabularyError, match="kind 'maker'"):
        add_term(folder, "maker", "X")


@pytest.mark.parametrize("name", ["", "  ", "---", "a|b", "# note"])
def test_what_cannot_be_a_name(shop: Path, name: str) -> None:
    """Names that would break the file are refused before anything is written."""
    with pytest.raises(VocabularyError, match="cannot be a name"):
        add_maker(shop / "vocab", name)
    assert list((shop / "vocab").iterdir()) == []


def test_removing(shop: Path) -> None:
    """A maker goes with its models; comments and all other lines stay."""
    folder = shop / "vocab"
    (folder / "makers.txt").write_text("# ours\nCorvane\nDravik\n", encoding="utf-8")
    add_model(folder, "Corvane", "AI-350")
    add_model(folder, "Dravik", "743")
    assert remove(folder, "maker", "corvane") == 2
    assert remove(folder, "maker", "corvane") == 0
    assert (folder / "makers.txt").read_text(encoding="utf-8") == "# ours\nDravik\n"
    assert read_shop(folder).models == (ModelName("Dravik", "743"),)


def test_export_comes_back(tmp_path: Path, shop: Path) -> None:
    """What is exported, imported into an empty shop, gives the same words."""
    folder = shop / "vocab"
    import_vocabulary(given(tmp_path, "list.json", json.dumps(JSON)), folder)
    add_alias(folder, "core vein", "maker", "Corvane")
    add_term(folder, "part", "tape counter")
    other = tmp_path / "other"
    result = import_vocabulary(given(tmp_path, "out.json", json.dumps(export(folder))), other)
    assert result.bad_rows == []
    assert read_shop(other) == read_shop(folder)


@pytest.mark.parametrize(("file", "line"), [("models.txt", "Corvane"), ("models.txt", "| AI-350"), ("aliases.txt",
                                                                                                    "a | b"),
                                            ("aliases.txt", "a | colour | b"), ("terms.txt", "maker | X"),
                                            ("makers.txt", "A | B")])
def test_a_broken_shop_file_names_its_line(shop: Path, file: str, line: str) -> None:
    """A line that a hand made wrong is told with file and line."""
    (shop / "vocab" / file).write_text(f"# by hand\n{line}\n", encoding="utf-8")
    with pytest.raises(VocabularyError, match=rf"{file}, line 2"):
        load_vocabulary(shop)


def test_a_folder_without_rights_changes_nothing(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write that fails leaves the old file and is told with the file's name."""
    add_maker(shop / "vocab", "Corvane")
    before = (shop / "vocab" / "makers.txt").read_bytes()

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("intake.vocabulary.shopwords.os.replace", refuse)
    with pytest.raises(VocabularyError, match=r"makers\.txt.*Permission denied"):
        add_maker(shop / "vocab", "Dravik")
    assert (shop / "vocab" / "makers.txt").read_bytes() == before
