"""The shop folder and its settings, read once from `config.toml`.

A shop folder holds `config.toml`, `intake.db`, `vocab/` (the shop's own words), `transcripts/`
(stored decodings) and `thumbnails/`. Captures may lie anywhere.
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from intake.errors import ShopError

CONFIG_NAME = "config.toml"

CONFIG_TEXT = """\
# Settings of this shop. Lines that start with # show what holds when nothing is set.

# The shop's time zone, an IANA name. Without it, times without a zone are taken as this computer's.
# time_zone = "America/New_York"

# The mains voltage in this shop; a unit built for another one gets a caution.
# mains_v = 120

# The recognizer: a name ("base"), or a folder with converted weights.
# model = "base"

# Processor threads for the recognizer; 0 = as many as the machine has.
# threads = 0

# A maker, model, serial or type whose chance of being right is below this is put before the reviewer (0 to 1); other
# heard values 0.18 further below, items of lists 0.15.
# review_below = 0.88

# Read maker, model and serial from photos where the optional reader is installed.
# read_plates = true
"""


@dataclass(frozen=True)
class Settings:
    """What a shop has set; each field is a key of config.toml but `shop`."""

    shop: Path
    time_zone: str | None = None
    mains_v: int = 120
    model: str = "base"
    threads: int = 0
    review_below: float = 0.88
    read_plates: bool = True

    @property
    def database(self) -> Path:
        """The SQLite file with all records."""
        return self.shop / "intake.db"

    @property
    def vocab(self) -> Path:
        """The folder with the shop's own words."""
        return self.shop / "vocab"

    @property
    def transcripts(self) -> Path:
        """The folder with stored decodings, one JSON file per recording hash and model."""
        return self.shop / "transcripts"

    @property
    def thumbnails(self) -> Path:
        """The folder with small upright copies of the photos."""
        return self.shop / "thumbnails"

    @property
    def zone(self) -> ZoneInfo | None:
        """The shop's zone, or None where none is set."""
        return ZoneInfo(self.time_zone) if self.time_zone else None


def find_shop(given: Path | None) -> Path:
    """The shop folder: the one given, else INTAKE_SHOP, else the current folder."""
    named = given or (Path(os.environ["INTAKE_SHOP"]) if os.environ.get("INTAKE_SHOP") else None)
    return (named or Path.cwd()).expanduser().absolute()


def load_settings(given: Path | None = None) -> Settings:
    """Read the settings of the shop folder; raises ShopError where it is none or a key is wrong."""
    shop = find_shop(given)
    config = shop / CONFIG_NAME
    if not shop.is_dir():
        raise ShopError("there is no such folder.", path=shop, hint=f"Make a shop with: intake init {shop}")
    if not config.exists():
        raise ShopError(
            "this folder is no shop yet (it has no config.toml).",
            path=shop,
            hint="Go to your shop folder, name it with --shop DIR, or make one with: intake init",
        )
    try:
        data = tomllib.loads(config.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise ShopError(
            f"the settings cannot be read: {error}.",
            path=config,
            hint="Correct that line, or move the file away and run: intake init",
        ) from error
    return Settings(shop=shop, **_checked(data, config))


_KINDS_OF: dict[str, tuple[type, ...]] = {"int": (int,), "float": (int, float), "bool": (bool,)}


def _checked(data: dict[str, Any], config: Path) -> dict[str, Any]:
    allowed = {f.name: f.type for f in fields(Settings) if f.name != "shop"}
    for key, value in data.items():
        if key not in allowed:
            raise ShopError(f"unknown setting {key!r}.", path=config, hint=f"Known: {', '.join(allowed)}.")
        wanted = _KINDS_OF.get(str(allowed[key]), (str,))
        if not isinstance(value, wanted) or (isinstance(value, bool) and bool not in wanted):
            raise ShopError(
                f"{key} = {value!r} is not of the right kind.",
                path=config,
                hint="config.toml shows an example of each setting.",
            )
    if data.get("time_zone"):
        try:
            ZoneInfo(data["time_zone"])
        except (ZoneInfoNotFoundError, ValueError, OSError) as error:
            raise ShopError(
                f"time_zone = {data['time_zone']!r} is no zone this computer knows.",
                path=config,
                hint='Use an IANA name such as "America/New_York" or "Europe/London".',
            ) from error
    if not 0 <= float(data.get("review_below", 0.5)) <= 1:
        raise ShopError("review_below must lie between 0 and 1.", path=config)
    return data
