"""What kind of thing is waited for: a part, a person, a decision, a test. The words stand in waits.yaml."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from functools import cache
from importlib import resources

KINDS = ("part", "person", "decision", "test", "something else", "not said")
#: Work that says which part it needs though it names none.
PART_OF_WORK: Mapping[str, str] = {"retube": "tube"}


@cache
def words() -> dict[str, tuple[str, ...]]:
    """The words of each kind, in the order in which they are tried."""
    import yaml

    data = yaml.safe_load(resources.files("intake.report").joinpath("waits.yaml").read_text("utf-8"))
    return {kind: tuple(word.casefold() for line in lines for word in line) for kind, lines in data.items()}


def kind_of(waiting_on: str | None, parts: Collection[str]) -> str:
    """The kind of what is waited for; `parts`: the terms for parts and accessories.

    "belt" -> part, "owner's okay" -> decision, "Bev" -> person (a name stands alone, in capitals), "the moon" ->
    something else, None -> not said.
    """
    if not waiting_on or not waiting_on.strip():
        return "not said"
    said = re.sub(r"['’]s?\b", " ", waiting_on.casefold())
    for kind, listed in words().items():
        if kind == "person" and _holds(said, [part.casefold() for part in parts]):
            return "part"                              # "the customer's belt" is a belt
        if _holds(said, listed):
            return kind
    return "person" if _is_name(waiting_on) else "something else"


def _holds(said: str, listed: Collection[str]) -> bool:
    return any(word in said and re.search(rf"(?<![\w-]){re.escape(word)}s?(?![\w-])", said) for word in listed)


def _is_name(text: str) -> bool:
    """Capitalized words without digits ("Bev", "Dana Okafor"), not capitals alone ("RIAA")."""
    return all(word[0].isupper() and not word.isupper() for word in text.split()) and not any(c.isdigit() for c in text)


def part_named(waiting_on: str, parts: Collection[str]) -> str:
    """The part's own term where the words hold one ("new output transistors" -> output transistor), else the words."""
    said = waiting_on.casefold()
    found = [part for part in parts if _holds(said, [part.casefold()])]
    return max(found, key=len) if found else " ".join(waiting_on.split())
