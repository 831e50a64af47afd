"""What the documents say is so: commands, links, and the house rules that a reader would notice broken."""

from __future__ import annotations

import hashlib
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

ROOT = Path(__file__).resolve().parents[1]
TEXT = {"", ".py", ".md", ".toml", ".yaml", ".json", ".txt", ".csv", ".vtt", ".cfg", ".html", ".css", ".tcss", ".j2"}
MACHINE_PATH = re.compile(r"(?<![\w.$~}])/(?:work|root|home|tmp|Users|mnt)/\w+")
LINK = re.compile(r"(?<!!)\[[^\]\n]*\]\(([^)\s]+)\)")
# Words that no file may hold (names of real makers and of tools that have no business here), as the first twelve digits
# of the SHA-256 of each in lower case, so that this file doesn't hold them either.
UNWANTED_DIGITS = """
04deeb8b6d7b 161409e76840 1758ddf958b6 24e6654bfd1a 312db9ab8ee6 32756d062a9d 451fec1c21ac 4d3c301e0369
5248952ab59c 60965168ce76 64a00d1e8ac3 7cb32171b53b 94a168d2da57 af37bba71721 b06473f57705 b29016583a07
b60cb2e841d6 bf7508845c74 c3bbba70d92b c70eca6b0f88 c733290426e4 c857d09db23e cef5b542abab d3e97f0c5de3
d5807d8394b9 e12dc8ccc151 e297342fccc4 e70655085b1b e8a75136d271 f473cc50b862 f7860588002d fd7063b0cce6
"""
UNWANTED = frozenset(UNWANTED_DIGITS.split())


def tracked() -> list[Path]:
    """The repository's text files, as git knows them; walks kept aside for measuring are not read."""
    listing = ["git", "ls-files", "-co", "--exclude-standard", "-z"]
    done = subprocess.run(listing, cwd=ROOT, capture_output=True, check=False)
    if done.returncode != 0:
        pytest.skip("this is no git checkout")
    paths = [ROOT / name for name in done.stdout.decode().split("\0") if name and not name.startswith("bench/held/")]
    return [path for path in paths if path.suffix in TEXT and path.is_file()]


def documents() -> list[Path]:
    """Every Markdown file of the repository."""
    return [path for path in tracked() if path.suffix == ".md"]


def commands() -> list[tuple[str, Any]]:
    """Every command with its full name: ("intake vocab import", ...)."""
    from intake.cli import build

    return list(_walk("intake", typer.main.get_command(build())))


def _walk(name: str, command: Any) -> Iterator[tuple[str, Any]]:
    inner = getattr(command, "commands", {})             # a group has them
    for part, one in inner.items():
        yield from _walk(f"{name} {part}", one)
    if not inner or (command.invoke_without_command and name != "intake"):
        yield name, command


def test_every_command_has_help() -> None:
    """Each command, argument and option says what it does."""
    found = commands()
    assert len(found) > 20
    for name, command in found:
        assert command.help, f"{name} has no help text"
        for parameter in command.params:
            assert parameter.help, f"{name} {parameter.opts[0]} has no help text"


def test_every_command_stands_in_the_readme() -> None:
    """README names each command; a new one is not done before that."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert [name for name, _ in commands() if name not in readme] == []


def test_the_readme_names_no_command_that_is_not_there() -> None:
    """Every `intake WORD` in a code block or in backticks of the documents is a command."""
    known = {name.split()[1] for name, _ in commands() if " " in name}
    for path in documents():
        for code in _code(path.read_text(encoding="utf-8")):
            for word in re.findall(r"(?<![\w./-])intake (?:--shop \S+ )?([a-z][a-z-]+)\b", code):
                assert word in known, f"{path.relative_to(ROOT)} names `intake {word}`"


def _code(text: str) -> Iterator[str]:
    """Code blocks and code in backticks; indented blocks count where a line begins with a command."""
    for block in re.findall(r"```[a-z]*\n(.*?)```", text, re.DOTALL):
        yield "\n".join(line.split("#")[0] for line in block.splitlines() if re.match(r"\s*(\$ )?intake ", line))
    yield from re.findall(r"(?<!`)`(intake [^`\n]+)`", text)


def test_every_link_leads_somewhere() -> None:
    """Links between the documents name files and headings that are there."""
    for path in documents():
        text = re.sub(r"```.*?```", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        for target in LINK.findall(text):
            if re.match(r"[a-z]+:", target):
                continue
            name, _, heading = target.partition("#")
            there = (path.parent / name) if name else path
            assert there.exists(), f"{path.relative_to(ROOT)} links to {target}"
            if heading:
                assert heading in _headings(there), f"{path.relative_to(ROOT)} links to {target}"


def _headings(path: Path) -> set[str]:
    """The anchors of a document's headings, as the common Markdown renderers make them."""
    rows = re.findall(r"(?m)^#+ +(.+?)\s*$", path.read_text(encoding="utf-8"))
    return {re.sub(r"[^\w\- ]", "", row.lower()).replace(" ", "-") for row in rows}


def test_no_path_of_a_machine() -> None:
    """No file names a folder of the computer it was written on."""
    for path in tracked():
        found = MACHINE_PATH.search(path.read_text(encoding="utf-8", errors="replace"))
        assert not found, f"{path.relative_to(ROOT)}: {found and found.group()}"


def test_no_unwanted_word() -> None:
    """Makers, models and shops are invented, and no file speaks of what it was written with."""
    seen: dict[str, bool] = {}
    for path in tracked():
        for word in set(re.findall(r"[a-z]{4,}", path.read_text(encoding="utf-8", errors="replace").lower())):
            if word not in seen:
                seen[word] = hashlib.sha256(word.encode()).hexdigest()[:12] in UNWANTED
            assert not seen[word], f"{path.relative_to(ROOT)}: {word}"
