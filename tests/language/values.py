"""Records in the form in which two are compared: blanks left out, a model without its punctuation."""

from __future__ import annotations

from typing import Any


def comparable(fields: dict[str, Any]) -> dict[str, Any]:
    """The filled fields; entries of a list without their blanks and in one order."""
    out: dict[str, Any] = {}
    for name, value in fields.items():
        if isinstance(value, list):
            entries = [{k: v for k, v in entry.items() if v is not None} for entry in value]
            value = sorted(entries, key=lambda e: sorted((k, str(v)) for k, v in e.items()))
        if value not in (None, []):
            out[name] = "".join(c for c in value.upper() if c.isalnum()) if name == "model" else value
    return out
