"""`intake init`: makes a shop folder."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from intake.cli import common
from intake.cli.common import JsonOption


def register(app: typer.Typer) -> None:
    """Add the command `init`."""
    app.command()(init)


def init(
    folder: Annotated[Path | None, typer.Argument(metavar="[DIR]", help="The folder to make (default: the shop "
                                                                       "folder, else the current one).")] = None,
    json_: JsonOption = False,
) -> None:
    """Make a shop folder: settings, a folder for the shop's words, an empty database. Nothing is overwritten."""
    from intake.settings import find_shop, load_settings

    shop = find_shop(folder or common.shop_folder())
    made = make_shop(shop)
    settings = load_settings(shop)
    if json_:
        common.print_json({"shop": str(shop), "made": made, "database": str(settings.database)})
        return
    common.say(f"Shop folder: {shop}")
    for name, about in (("config.toml", "settings; edit it in any editor"),
                        ("vocab", "this shop's own makers, models and places"),
                        ("intake.db", "the records")):
        common.say(f"  {name:12} {about}{'' if name in made else ' (was there)'}")
    common.say(f"Next: put your makers and models in with `intake vocab import FILE`, then `intake process FOLDER`"
               f"{'' if shop == Path.cwd() else f' (from {shop}, or with --shop)'}.")


def make_shop(shop: Path) -> list[str]:
    """Make what the folder lacks of a shop; returns the names made. ShopError where it cannot be made."""
    from intake.errors import ShopError
    from intake.records.store import Store
    from intake.settings import CONFIG_NAME, CONFIG_TEXT

    if shop.exists() and not shop.is_dir():
        raise ShopError("this is a file, not a folder.", path=shop, hint="Name another folder: intake init DIR")
    made = []
    try:
        shop.mkdir(parents=True, exist_ok=True)
        if not (shop / "vocab").is_dir():
            (shop / "vocab").mkdir()
            made.append("vocab")
        if not (shop / CONFIG_NAME).exists():
            (shop / CONFIG_NAME).write_text(CONFIG_TEXT, encoding="utf-8")
            made.append(CONFIG_NAME)
    except OSError as error:
        raise ShopError(f"the shop folder cannot be made: {error.strerror or error}.", path=error.filename or shop,
                        hint="Choose a folder that you may write in.") from error
    if not (shop / "intake.db").exists():
        made.append("intake.db")
    Store.open(shop / "intake.db").close()
    return made
