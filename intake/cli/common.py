"""What every command shares: the shop option, printing, JSON, and the list of command modules."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from intake.settings import Settings

JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for a program to read.")]
ShopOption = Annotated[
    Path | None,
    typer.Option("--shop", envvar="INTAKE_SHOP", metavar="DIR", help="The shop folder (default: the current folder)."),
]

_shop: Path | None = None


def remember_shop(shop: ShopOption = None) -> None:
    """Keep the shop folder named before the command's name."""
    global _shop  # one process runs one command: the option is read once, here
    _shop = shop


def settings(shop: Path | None = None) -> Settings:
    """The settings of the shop in use: `shop` of the command itself wins over the one named before it."""
    from intake.settings import load_settings

    return load_settings(shop or _shop)


def shop_folder(shop: Path | None = None) -> Path | None:
    """The shop folder as named on the command line, if any."""
    return shop or _shop


def print_json(data: Any) -> None:
    """One JSON document on standard output."""
    sys.stdout.write(json.dumps(data, ensure_ascii=False, indent=1, default=str) + "\n")


def say(text: str) -> None:
    """A line of result on standard output, exactly as it is (no markup)."""
    sys.stdout.write(text + "\n")


def remark(text: str) -> None:
    """A line that is no result, on standard error."""
    sys.stderr.write(text + "\n")


def say_error(text: str) -> None:
    """An error on standard error."""
    sys.stderr.write(f"intake: {text}\n")


def parts() -> list[Callable[[typer.Typer], None]]:
    """The `register` function of every command module, in the order of --help."""
    from intake.cli import model, photos, process, records, report, review, shop, vocab

    return [shop.register, vocab.register, process.register, records.register, review.register, report.register,
            photos.register, model.register]
