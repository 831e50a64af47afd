"""Imports go one way, and what is heavy or foreign is known to few modules."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "intake"

# Each part may import itself and the parts in the lines below its own; those of one line don't know each other.
# pipeline.py is the glue that runs the stages one after the other: it may import all but the command line.
ORDER = (
    ("__main__",),
    ("cli",),
    ("pipeline",),
    ("report", "review"),
    ("records",),
    ("matching",),
    ("language",),
    ("speech",),
    ("capture",),
    ("vocabulary",),
    ("settings", "lock"),
    ("outcome",),
    ("errors",),
    ("",),              # intake/__init__.py: the version, nothing else
)
RANK = {part: n for n, parts in enumerate(ORDER) for part in parts}
# Each outside package is known to one part; `intake doctor` also asks whether some are there.
KNOWN_BY = {
    "faster_whisper": ("speech/",),
    "exifread": ("capture/", "cli/model.py"),
    "pillow_heif": ("capture/", "cli/model.py"),
    "rapidocr": ("capture/plate_reader.py",),
    "cv2": ("capture/plate_reader.py",),
    "openpyxl": ("report/workbook.py",),
    "textual": ("review/",),
    "sqlmodel": ("records/",),
    "sqlalchemy": ("records/",),
    "alembic": ("records/",),
    "typer": ("cli/",),
    "jinja2": ("report/",),
}
HEAVY = ("faster_whisper", "ctranslate2", "av", "spacy", "sqlmodel", "sqlalchemy", "alembic", "textual", "PIL",
         "exifread", "numpy", "scipy", "onnxruntime", "jinja2", "jsonschema", "rapidfuzz")


def modules() -> list[Path]:
    """Every module of the package."""
    return sorted(PACKAGE.rglob("*.py"))


@cache
def imports(path: Path) -> tuple[tuple[int, str], ...]:
    """(line, dotted name) of everything a module imports, inside functions too."""
    return tuple(_imports(path))


def _imports(path: Path) -> Iterator[tuple[int, str]]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                inside = path.relative_to(ROOT).with_suffix("").parts[: -node.level]
                base = ".".join([*inside, *([base] if base else [])])
            yield node.lineno, base
            if base == "intake":
                yield from ((node.lineno, f"intake.{alias.name}") for alias in node.names)


def part_of(dotted: str) -> str:
    """The part of the package that a module belongs to: "intake.speech.voice" -> "speech"."""
    names = dotted.split(".")
    return names[1] if len(names) > 1 and not names[1].startswith("__version") else ""


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_go_one_way(path: Path) -> None:
    """A module imports only its own part and those that stand below it."""
    own = part_of(".".join(path.relative_to(ROOT).with_suffix("").parts))
    own = "" if own == "__init__" else own
    for line, name in imports(path):
        if name.split(".")[0] != "intake":
            continue
        other = part_of(name)
        assert other in RANK, f"{path}:{line} imports {name}, which has no place in the order above"
        allowed = own == other or RANK[own] < RANK[other]
        assert allowed, f"{path.relative_to(ROOT)}:{line}: {own or 'intake'} must not import {other}"


@pytest.mark.parametrize("package", sorted(KNOWN_BY))
def test_one_part_knows_each_outside_package(package: str) -> None:
    """An outside package is imported only where the list above says."""
    users = {str(path.relative_to(PACKAGE)) for path in modules()
             for _, name in imports(path) if name.split(".")[0] == package}
    assert {user for user in users if not user.startswith(KNOWN_BY[package])} == set()


def test_help_loads_nothing_heavy() -> None:
    """`intake --help` answers without loading a recognizer, a database or a picture library."""
    code = ("import sys; sys.argv = ['intake', '--help']\nfrom intake.cli import main\ntry:\n    main()\n"
            f"except SystemExit:\n    pass\nprint('LOADED', *(m for m in {HEAVY!r} if m in sys.modules))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.splitlines()[-1] == "LOADED"
    assert "Usage" in done.stdout
