"""Reads a file of makers, models and places, as another program or a person wrote it, into entries with their lines.

CSV with a heading (maker, model, unit_type; or location), with commas, semicolons or tabs, in
UTF-8, UTF-16 or a Western code page; or JSON: {"makers": [...], "models": {"Maker": ["AI-350"]},
"locations": [...]}, a model also as {"model": ..., "unit_type": ...}.
"""

from __future__ import annotations

import codecs
import csv
import io
import json
from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from intake.errors import VocabularyError
from intake.vocabulary.shopwords import clean

COLUMNS = {
    "maker": ("maker", "brand", "make", "manufacturer"),
    "model": ("model", "model name", "model number", "modelname"),
    "unit_type": ("unit_type", "unit type", "type", "unittype", "category", "kind"),
    "location": ("location", "place", "shelf", "locations"),
}
JSON_KEYS = ("makers", "models", "locations", "aliases", "terms")
DELIMITERS = (",", ";", "\t", "|")
LONGEST = 120


@dataclass(frozen=True)
class Entry:
    """One thing to add: what it is ("maker", "model", "location", "alias", "term"), its fields and its line."""

    what: str
    fields: tuple[str, ...]
    line: int


@dataclass(frozen=True)
class BadRow:
    """A row that could not be used, and why."""

    line: int
    reason: str


def read_entries(file: Path) -> Iterator[Entry | BadRow]:
    """What the file holds, row by row; raises VocabularyError where the file as a whole cannot be read."""
    text = decoded(file)
    if not text.strip():
        raise VocabularyError("the file is empty.", path=file, hint="It should be CSV with a heading, or JSON.")
    if text.lstrip()[0] in "{[" or file.suffix.lower() == ".json":
        yield from _from_json(text, file)
    else:
        yield from _from_csv(text, file)


def decoded(file: Path) -> str:
    """The text of a file in UTF-8 or UTF-16 (with or without a mark), else taken as Windows-1252."""
    try:
        data = file.read_bytes()
    except OSError as error:
        raise VocabularyError(f"the file cannot be read: {error.strerror or error}.", path=file) from error
    for mark, name in ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE,
                                                                                         "utf-16")):
        if data.startswith(mark):
            return data.decode(name, errors="replace")
    if data[1:2] == b"\0":
        return data.decode("utf-16-le", errors="replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252", errors="replace")


# ---------------------------------------------------------------- CSV

def _from_csv(text: str, file: Path) -> Iterator[Entry | BadRow]:
    delimiter, columns, first = _heading(text, file)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield BadRow(reader.line_num, f"not readable as CSV: {error}")
            continue
        if reader.line_num > first and any(cell.strip() for cell in row):
            values = {name: clean(row[at]) if at < len(row) else "" for name, at in columns.items()}
            yield from _row(values, reader.line_num)


def _heading(text: str, file: Path) -> tuple[str, dict[str, int], int]:
    """The delimiter, the place of each known column, and the line of the heading."""
    lines = text.splitlines()
    number = next(n for n, line in enumerate(lines) if line.strip())
    best: dict[str, int] = {}
    chosen = ","
    for delimiter in DELIMITERS:
        cells = [clean(cell).lower().strip('"') for cell in next(csv.reader([lines[number]], delimiter=delimiter),
                                                                 [])]
        found = {name: at for name, names in COLUMNS.items() for at, cell in enumerate(cells) if cell in names}
        if len(found) > len(best):
            best, chosen = found, delimiter
    if "maker" not in best and "location" not in best:
        raise VocabularyError(f"the first line names no column we know: {lines[number][:80]!r}.", path=file,
                              hint="It should read: maker,model,unit_type or: location.")
    return chosen, best, number + 1


def _row(values: dict[str, str], line: int) -> Iterator[Entry | BadRow]:
    maker, model, place = values.get("maker", ""), values.get("model", ""), values.get("location", "")
    if place:
        yield _entry("location", (place,), line)
    if maker and model:
        yield _entry("model", (maker, model, values.get("unit_type", "")), line)
    elif maker:
        yield _entry("maker", (maker,), line)
    elif model:
        yield BadRow(line, f"model {model!r} has no maker")
    elif not place:
        yield BadRow(line, "neither a maker nor a place in this row")


def _entry(what: str, fields: tuple[str, ...], line: int) -> Entry | BadRow:
    """The entry, or why its text cannot be a name."""
    for field in fields:
        if len(field) > LONGEST:
            return BadRow(line, f"{field[:40]!r}... is too long for a name ({len(field)} characters)")
        if any(not c.isprintable() for c in field) or "\ufffd" in field:
            return BadRow(line, f"{field!r} holds characters that are no text")
        if "|" in field:
            return BadRow(line, f"{field!r}: a name may not hold the sign |")
        if field and not any(c.isalnum() for c in field):
            return BadRow(line, f"{field!r} holds neither a letter nor a digit")
        if field.startswith("#"):
            return BadRow(line, f"{field!r}: a name may not start with #")
    return Entry(what, fields, line)


# ---------------------------------------------------------------- JSON

def _from_json(text: str, file: Path) -> Iterator[Entry | BadRow]:
    try:
        data = json.loads(text.lstrip("\ufeff"))
    except json.JSONDecodeError as error:
        raise VocabularyError(f"this is no JSON: {error.msg} in line {error.lineno}.", path=file) from error
    except RecursionError as error:
        raise VocabularyError("this JSON is nested far too deep.", path=file) from error
    if not isinstance(data, dict):
        raise VocabularyError("a JSON object is expected.", path=file, hint=f"Its keys: {', '.join(JSON_KEYS)}.")
    unknown = [key for key in data if key not in JSON_KEYS]
    if unknown:
        raise VocabularyError(f"unknown key {unknown[0]!r}.", path=file, hint=f"Known: {', '.join(JSON_KEYS)}.")
    where = _Lines(text)
    yield from _names(data.get("makers", []), "maker", where)
    yield from _models(data.get("models", {}), where)
    yield from _names(data.get("locations", []), "location", where)
    yield from _objects(data.get("aliases", []), "alias", ("heard", "kind", "canonical"), where)
    yield from _objects(data.get("terms", []), "term", ("kind", "canonical"), where)


class _Lines:
    """Where a value stands in the JSON text, as the parser does not tell: the line of its next appearance."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._at = 0
        self._ends = [at for at, sign in enumerate(text) if sign == "\n"]

    def of(self, value: object) -> int:
        shown = json.dumps(value, ensure_ascii=False)
        at = self._text.find(shown, self._at)
        if at < 0:
            at = max(self._text.find(shown), 0)
        self._at = at
        return bisect_left(self._ends, at) + 1


def _text_of(value: Any) -> str | None:
    """A JSON text or number as text; None for anything else."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        return None
    return clean(str(value))


def _names(values: Any, what: str, where: _Lines) -> Iterator[Entry | BadRow]:
    if not isinstance(values, list):
        yield BadRow(1, f"{what}s should be a list")
        return
    for value in values:
        name = _text_of(value)
        line = where.of(value)
        yield _entry(what, (name,), line) if name else BadRow(line, f"{value!r} is no name of a {what}")


def _models(values: Any, where: _Lines) -> Iterator[Entry | BadRow]:
    if not isinstance(values, dict):
        yield BadRow(1, 'models should look like {"Maker": ["AI-350"]}')
        return
    for maker, models in values.items():
        line, name = where.of(maker), clean(maker)
        if not name or not isinstance(models, list):
            yield BadRow(line, f"the models of {maker!r} should be a list")
            continue
        if not models:
            yield _entry("maker", (name,), line)
        for model in models:
            yield _model(name, model, where)


def _model(maker: str, value: Any, where: _Lines) -> Entry | BadRow:
    line = where.of(value)
    given = value if isinstance(value, dict) else {"model": value}
    unknown = [key for key in given if key not in ("model", "unit_type")]
    model = _text_of(given.get("model"))
    kind = "" if given.get("unit_type") is None else _text_of(given["unit_type"])
    if unknown or not model or kind is None:
        return BadRow(line, f"{value!r} is no model of {maker}")
    return _entry("model", (maker, model, kind), line)


def _objects(values: Any, what: str, keys: tuple[str, ...], where: _Lines) -> Iterator[Entry | BadRow]:
    if not isinstance(values, list):
        yield BadRow(1, f"{what} entries should be a list")
        return
    for value in values:
        fields = tuple(_text_of(value.get(key)) for key in keys) if isinstance(value, dict) else ()
        line = where.of(value[keys[0]]) if isinstance(value, dict) and keys[0] in value else 1
        texts = tuple(field for field in fields if field)
        if len(texts) != len(keys) or set(value) != set(keys):
            yield BadRow(line, f"{value!r} should have the keys {', '.join(keys)}")
        else:
            yield _entry(what, texts, line)
