"""The shop's own words as they lie on disk: plain text files in the shop's vocab folder, one entry a line.

    makers.txt    Corvane
    models.txt    Corvane | AI-350 | integrated amplifier       (the unit type may be left out)
    places.txt    shelf B2
    aliases.txt   hull would | maker | Haldwick                 (heard | kind | meant)
    terms.txt     part | tape counter                           (kind | a term of the shop's own)

Lines that start with # and blank lines are kept as they are. A file is replaced whole or not at all.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from intake.errors import VocabularyError
from intake.vocabulary.grammar import fault, read_text
from intake.vocabulary.names import spoken
from intake.vocabulary.terms import CONTRACT_KINDS, KINDS, ModelName

FILES = {"maker": "makers.txt", "model": "models.txt", "location": "places.txt", "alias": "aliases.txt",
         "term": "terms.txt"}
FIELDS = {"maker": (1, 1), "model": (2, 3), "location": (1, 1), "alias": (3, 3), "term": (2, 2)}
HEADERS = {
    "maker": "# Makers, one a line.",
    "model": "# Maker | model | unit type (may be left out), one model a line.",
    "location": "# Places as they are spoken, one a line.",
    "alias": "# What is heard | kind | what is meant, one a line.",
    "term": "# Kind | a term of the shop's own, one a line.",
}
ALIAS_KINDS = tuple(kind for kind in KINDS if kind != "place_noun")
TERM_KINDS = tuple(CONTRACT_KINDS)


@dataclass(frozen=True)
class Row:
    """One entry: its fields and its line in the file."""

    fields: tuple[str, ...]
    line: int


@dataclass(frozen=True)
class ShopWords:
    """All that a shop has added."""

    makers: tuple[str, ...] = ()
    models: tuple[ModelName, ...] = ()
    locations: tuple[str, ...] = ()
    aliases: tuple[tuple[str, str, str], ...] = ()   # heard, kind, canonical
    terms: tuple[tuple[str, str], ...] = ()          # kind, canonical


def clean(text: str) -> str:
    """A field without odd blanks; it may hold no separator and no line break."""
    return " ".join(text.replace("\ufeff", "").split())


def rows_of(folder: Path, what: str) -> Iterator[Row]:
    """The entries of one file, checked for their number of fields; raises VocabularyError with file and line."""
    path = folder / FILES[what]
    if not path.exists():
        return
    least, most = FIELDS[what]
    for number, line in enumerate(read_text(path).splitlines(), 1):
        if not line.strip() or line.startswith("#"):
            continue
        fields = tuple(clean(field) for field in line.split("|"))
        if not least <= len(fields) <= most or not all(fields[:least]):
            raise fault(path, number, f"{line.strip()!r} cannot be read.", f"A line looks like this: {HEADERS[what]}")
        yield Row(fields, number)


def read_shop(folder: Path | None) -> ShopWords:
    """All shop files; a shop without any gives empty ones. Raises VocabularyError with file and line."""
    if folder is None or not folder.is_dir():
        return ShopWords()
    models = tuple(ModelName(r.fields[0], r.fields[1], r.fields[2] if len(r.fields) > 2 and r.fields[2] else None)
                   for r in rows_of(folder, "model"))
    named = dict.fromkeys(r.fields[0] for r in rows_of(folder, "maker"))
    makers = dict.fromkeys([*named, *(m.maker for m in models)])
    return ShopWords(makers=tuple(makers), models=models,
                     locations=tuple(r.fields[0] for r in rows_of(folder, "location")),
                     aliases=tuple(_alias(folder, r) for r in rows_of(folder, "alias")),
                     terms=tuple(_term(folder, r) for r in rows_of(folder, "term")))


def _alias(folder: Path, row: Row) -> tuple[str, str, str]:
    heard, kind, canonical = row.fields
    if kind not in ALIAS_KINDS:
        raise fault(folder / FILES["alias"], row.line, f"kind {kind!r} is unknown.",
                    f"Known: {', '.join(ALIAS_KINDS)}.")
    return spoken(heard), kind, canonical


def _term(folder: Path, row: Row) -> tuple[str, str]:
    kind, canonical = row.fields
    if kind not in TERM_KINDS:
        raise fault(folder / FILES["term"], row.line, f"kind {kind!r} is unknown.",
                    f"Known: {', '.join(TERM_KINDS)}.")
    return kind, canonical


def line_of(fields: Iterable[str]) -> str:
    """The fields as a line of a shop file; empty ones at the end are left out."""
    return " | ".join(fields).rstrip(" |")


def append(folder: Path, what: str, entries: Iterable[Iterable[str]]) -> None:
    """Add entries at the end of a file, which is made with its heading where there is none."""
    path = folder / FILES[what]
    before = read_text(path) if path.exists() else HEADERS[what] + "\n"
    if before and not before.endswith("\n"):
        before += "\n"
    replace_file(path, before + "".join(line_of(fields) + "\n" for fields in entries))


def rewrite(folder: Path, what: str, change: Callable[[tuple[str, ...]], tuple[str, ...] | None]) -> int:
    """Change or (None) remove entries of a file, all other lines as they were; returns how many were changed."""
    path = folder / FILES[what]
    rows = {row.line: row.fields for row in rows_of(folder, what)}
    changed = {line: change(fields) for line, fields in rows.items()}
    touched = {line: fields for line, fields in changed.items() if fields != rows[line]}
    if touched:
        lines: list[str] = []
        for number, line in enumerate(read_text(path).splitlines(), 1):
            fields = touched.get(number, ())
            if fields is not None:
                lines.append(line_of(fields) if fields else line)
        replace_file(path, "".join(line + "\n" for line in lines))
    return len(touched)


def replace_file(path: Path, text: str) -> None:
    """Write a file whole or leave the old one; raises VocabularyError where the disk or the rights forbid it."""
    part = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        part.write_text(text, encoding="utf-8", newline="\n")
        os.replace(part, path)
    except OSError as error:
        raise VocabularyError(f"the file cannot be written: {error.strerror or error}.", path=path,
                              hint="Nothing was changed. Look at the folder's rights and the free disk.") from error
