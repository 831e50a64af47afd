"""The closed grammar of the trade's files: what it refuses, and that a file read and written again is the same file."""

from __future__ import annotations

from pathlib import Path

import pytest

from intake.errors import VocabularyError
from intake.vocabulary import grammar
from intake.vocabulary.folder import vocab_folder
from intake.vocabulary.trade import spoken_files

GOOD = """\
# Parts.
kind: part
inflect: noun
plurals:
  foot: feet
terms:
  lamp:
    say: [lamp, bulb]
    exact: [festoon]
    unsure: [light]
    note: "a globe: also \\"bulb\\""
"""


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "parts.yaml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("path", spoken_files(vocab_folder()), ids=lambda path: path.name)
def test_shipped_files_are_written_as_they_were_read(path: Path) -> None:
    """Reading and writing a shipped file changes no byte."""
    assert grammar.write_spoken(grammar.read_spoken(path)) == path.read_text(encoding="utf-8")


def test_a_file_with_every_key_comes_back(tmp_path: Path) -> None:
    """Comment, plurals, notes with quotes and colons: all survive."""
    path = written(tmp_path, GOOD)
    assert grammar.write_spoken(grammar.read_spoken(path)) == GOOD


@pytest.mark.parametrize(("change", "line", "says"), [
    (("    exact:", "    exactly:"), 9, "unknown key 'exactly'. Allowed: say, verbs, exact"),
    (("inflect: noun", "inflect: nouns"), 1, "inflect 'nouns' is unknown"),
    (("kind: part", "kind: parts"), 1, "kind 'parts' is unknown"),
    (("[lamp, bulb]", "[lamp, Bulb]"), 8, "lower case"),
    (("[lamp, bulb]", "[lamp, lamp]"), 8, "twice"),
    (("[lamp, bulb]", "lamp"), 8, "a list"),
    (("terms:", "words:"), 6, "unknown key 'words'"),
    (("kind: part\n", ""), 2, "'kind' is lacking"),
    (("[lamp, bulb]", "[lamp, bulb"), 9, "no YAML"),
    (("  foot: feet\n", "  foot: feet\n  foot: foots\n"), 6, "twice"),
    (("[lamp, bulb]", "[lamp, two  blanks]"), 8, "single blanks"),
])
def test_a_broken_file_names_its_line(tmp_path: Path, change: tuple[str, str], line: int, says: str) -> None:
    """Each break of the grammar is told with file, line and what is allowed."""
    path = written(tmp_path, GOOD.replace(*change))
    with pytest.raises(VocabularyError, match=r"parts\.yaml, line \d+") as error:
        grammar.read_spoken(path)
    assert says in str(error.value)
    assert f"line {line}:" in str(error.value)


def test_words_that_yaml_reads_otherwise_stay_words(tmp_path: Path) -> None:
    """"on", "no" and "%" are words of speech, not truth values."""
    path = written(tmp_path, 'kind: part\ninflect: none\nterms:\n  lamp:\n    say: ["on", "no", "%", "12", "a: b"]\n')
    file = grammar.read_spoken(path)
    assert file.terms["lamp"].say == ("on", "no", "%", "12", "a: b")
    assert grammar.read_spoken(written(tmp_path,
                                       grammar.write_spoken(file))).terms["lamp"].say == file.terms["lamp"].say


def test_an_unreadable_file_is_a_clear_error(tmp_path: Path) -> None:
    """A missing file, and one that is no UTF-8, are told as such."""
    with pytest.raises(VocabularyError, match="cannot be read"):
        grammar.read_spoken(tmp_path / "none.yaml")
    (tmp_path / "latin.yaml").write_bytes(b"kind: part\nnote: caf\xe9\n")
    with pytest.raises(VocabularyError, match="UTF-8"):
        grammar.read_spoken(tmp_path / "latin.yaml")
