"""A stored walk -> the contract's JSON (intake-record/1), checked against its schema, and one row a unit as CSV."""

from __future__ import annotations

import csv
import io
import re
from typing import TYPE_CHECKING, Any

from intake.errors import RecordsError
from intake.language.draft import LISTS, SCALARS
from intake.records.cautions import of_doubt
from intake.records.types import PhotoPlace, Sighting, Stored
from intake.records.values import SHAPES, Terms, schema

if TYPE_CHECKING:
    from intake.records.store import Store

FORMAT = "intake-record/1"


def record(store: Store, walk: str) -> dict[str, Any]:
    """The walk as the contract writes it, valid by its schema; NotFoundError where there is no such walk."""
    info = store.walk(walk)
    sightings = store.sightings(walk)
    local = {s.id: s.local_id for s in sightings}
    exported = {
        "format": FORMAT,
        "walk": {
            "id": info.id, "date": info.date.isoformat(),
            "recordings": [{"file": r.name, "started_at": r.started_at, "duration_s": r.duration_s}
                           for r in store.recordings(walk)],
            "photos": [_photo(photo, local) for photo in store.photos(walk)],
        },
        "units": [unit(s, store.seen_earlier(s.id)) for s in sightings],
    }
    check(exported, store.terms)
    return exported


def _photo(photo: PhotoPlace, local: dict[str, str]) -> dict[str, Any]:
    return {"file": photo.name, "taken_at": photo.taken_at, "unit": local.get(photo.sighting or ""),
            "confidence": round(photo.confidence, 3)}


def unit(sighting: Sighting, same_as: str | None = None) -> dict[str, Any]:
    """One sighting as the contract's unit; `same_as` names the latest earlier sighting of the same thing."""
    return {
        "id": sighting.local_id,
        **{name: sighting.value(name) for name in SCALARS},
        **{name: [{key: item[key] for key in SHAPES[name]} for item in sighting.items(name)] for name in LISTS},
        "photos": [photo.name for photo in sighting.photos],
        "review": review(sighting),
        "span": _span(sighting),
        "same_as": same_as,
    }


def review(sighting: Sighting) -> list[dict[str, str]]:
    """Each open field with its reasons, one line a field; and the cautions of this unit, also when accepted."""
    open_fields: dict[str, dict[str, None]] = {}
    asked: list[Stored] = [stored for stored in sighting.stored() if stored.reasons]
    for stored in asked:
        open_fields.setdefault(stored.field, {}).update(dict.fromkeys(stored.reasons))
    for stored in sighting.doubts:
        for caution in of_doubt(stored) if stored.state != "open" else ():
            open_fields.setdefault("unit", {})[f"{caution} (a person has seen this caution; it stays)"] = None
    for photo in sighting.photos:
        if photo.reasons:
            open_fields.setdefault("photos", {}).update(dict.fromkeys(f"{photo.name}: {r}" for r in photo.reasons))
    for link in sighting.links:
        if link.state == "open":
            why = f" ({'; '.join(link.reasons)})" if link.reasons else ""
            open_fields.setdefault("unit", {})[f"may be {link.unit}, seen before{why}"] = None
    return [{"field": field, "reason": "; ".join(reasons)} for field, reasons in open_fields.items()]


def _span(sighting: Sighting) -> dict[str, Any] | None:
    """The first stretch of talk about a unit."""
    if not sighting.spans:
        return None
    first = sighting.spans[0]
    return {"recording": first.recording, "start_s": first.start_s, "end_s": first.end_s}


def check(exported: dict[str, Any], terms: Terms) -> None:
    """Hold a record against the schema, with a shop's own terms added to it; RecordsError names the place at fault."""
    from jsonschema import Draft202012Validator

    rules = schema()
    extended = {**rules["$defs"], **{kind: {"enum": list(words)} for kind, words in terms.items()}}
    found = min(Draft202012Validator({**rules, "$defs": extended}).iter_errors(exported), default=None,
                key=lambda error: list(map(str, error.absolute_path)))
    if found is not None:
        place = list(found.absolute_path)
        named = exported["units"][place[1]]["id"] + " " if len(place) > 1 and place[0] == "units" else ""
        raise RecordsError(f"the record does not keep to its format: {named}{'.'.join(map(str, place[2:] or place))}: "
                           f"{found.message[:200]}.", hint="Correct that field (intake set), then export again.")


# ---- CSV

COLUMNS = ("walk", "date", "id", "unit", *SCALARS, *LISTS, "photos", "review", "same_as")
_FORMULA = re.compile(r"\s*[=+\-@\t\r]")
_REWRITTEN = re.compile(r"0\d+|\d+[eE]\d+|\d{16,}|\d{1,2}[-/.]\d{1,2}([-/.]\d{2,4})?|\d+:\d+(:\d+)?")


def csv_text(store: Store, walk: str) -> str:
    """One row a unit (RFC 4180: CRLF, quotes doubled), lists in words; with a byte-order mark, so that
    spreadsheets read it as UTF-8. A cell that a spreadsheet would take for a formula begins with an apostrophe."""
    exported = record(store, walk)
    ids = {s.local_id: s.unit for s in store.sightings(walk)}
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in exported["units"]:
        cells = {**row, "walk": walk, "date": exported["walk"]["date"], "unit": ids[row["id"]],
                 **{name: "; ".join(in_words(name, item) for item in row[name]) for name in LISTS},
                 "photos": "; ".join(row["photos"]),
                 "review": "; ".join(f"{r['field']}: {r['reason']}" for r in row["review"])}
        writer.writerow([safe_cell(cells[column]) for column in COLUMNS])
    return "\ufeff" + out.getvalue()


def safe_cell(value: Any) -> Any:
    """A cell that no spreadsheet runs or rewrites: an apostrophe goes before text that it would.

    That is text that begins like a formula (OWASP, CSV injection), and serials and models that would be
    taken for a number or a date and lose what they are ("0041", "116E203", "10-12"). Numbers stay
    numbers; line breaks and other control characters become blanks.
    """
    if value is None:
        return ""
    if isinstance(value, int | float):
        return value
    text = re.sub(r"[\x00-\x1f\x7f\u2028\u2029]+", " ", str(value))
    return f"'{text}" if _FORMULA.match(str(value)) or _REWRITTEN.fullmatch(text) else text


def in_words(field: str, item: Any) -> str:
    """One item of a list as a person would say it: "left channel: dead (suspected)"."""
    if not isinstance(item, dict):
        return str(item)
    return _WORDS[field](item)


def _issue(item: dict[str, Any]) -> str:
    thing = " ".join(p for p in (item["side"], item["part"]) if p)
    said = ": ".join(p for p in (thing, item["symptom"]) if p)
    return said if item["state"] == "present" else f"{said} ({item['state']})"


def _service(item: dict[str, Any]) -> str:
    said = " ".join(p for p in (item["work"], item["part"]) if p)
    more = ", ".join(p for p in (item["date"], f"by {item['by']}" if item["by"] else None) if p)
    return f"{said} ({more})" if more else said


def _action(item: dict[str, Any]) -> str:
    said = " ".join(p for p in (item["work"], item["part"]) if p)
    more = ", ".join(p for p in (f"due {item['due']}" if item["due"] else None,
                                 f"waiting on {item['waiting_on']}" if item["waiting_on"] else None) if p)
    return f"{said} ({more})" if more else said


def _accessory(item: dict[str, Any]) -> str:
    return str(item["item"]) if item["present"] else f"no {item['item']}"


def _measurement(item: dict[str, Any]) -> str:
    side = f"{item['side']} " if item["side"] else ""
    return f"{side}{item['what']} {item['value']}{' ' + item['unit'] if item['unit'] else ''}"


_WORDS = {"issues": _issue, "service": _service, "actions": _action, "accessories": _accessory,
          "measurements": _measurement}
