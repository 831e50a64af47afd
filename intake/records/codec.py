"""Small pieces as they stand in the tables: evidence, spans, times, paths and file names."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from urllib.parse import unquote_to_bytes

from intake.capture.walk import Moment, Recording
from intake.language.draft import DISAGREE, Evidence, Span
from intake.records.readings import Reading


def dumps(value: Any) -> str:
    """JSON as it stands in the tables: readable letters, keys in order, no not-a-number."""
    return json.dumps(value, ensure_ascii=False, sort_keys=True, allow_nan=False, separators=(",", ":"))


def as_text(value: Any) -> str:
    """A value as another reading is offered: words as they are, an item of a list as JSON."""
    return value if isinstance(value, str) else dumps(value)


def newer_reading(value: Any) -> str:
    """Why a decided value is asked about again: "a newer reading says work replace, part belt"."""
    if isinstance(value, dict):
        said = ", ".join(f"{key} {part}" for key, part in value.items() if part is not None)
    else:
        said = "nothing here" if value is None else str(value)
    return f"a newer reading says {said}"


#: Reasons that are kept in the words of those who build this -> in everybody's.
_PLAIN = {DISAGREE: "heard in two ways"}


def in_plain_words(reason: str) -> str:
    """A reason as a person is told it."""
    return _PLAIN.get(reason, reason)


def clean(text: str) -> str:
    """Text that can be stored: bytes of a file name that are no letters stand as \\xNN."""
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace") if not _plain(text) else text


def _plain(text: str) -> bool:
    return not any("\ud800" <= letter <= "\udfff" for letter in text)


def path_text(path: Path) -> str:
    """A path to store; one whose name is no text is stored as a file: address."""
    text = str(path)
    return text if _plain(text) and not text.startswith("file:") else path.absolute().as_uri()


def path_of(text: str) -> Path:
    """The path that `path_text` stored."""
    if text.startswith("file://"):
        return Path(os.fsdecode(unquote_to_bytes(text.removeprefix("file://"))))
    return Path(text)


def evidence_json(evidence: Iterable[Evidence]) -> list[dict[str, Any]]:
    return [{"recording": clean(e.recording), "start_s": round(float(e.start_s), 3), "end_s": round(float(e.end_s), 3),
             "words": clean(e.words), **({"photo": clean(e.photo)} if e.photo else {})} for e in evidence]


def evidence_of(stored: Iterable[dict[str, Any]]) -> tuple[Evidence, ...]:
    return tuple(Evidence(**e) for e in stored)


def spans_json(spans: Iterable[Span]) -> list[dict[str, Any]]:
    return [{"recording": clean(s.recording), "start_s": round(float(s.start_s), 3), "end_s": round(float(s.end_s), 3)}
            for s in spans]


def spans_of(stored: Iterable[dict[str, Any]]) -> tuple[Span, ...]:
    return tuple(Span(**s) for s in stored)


def machine_columns(reading: Reading) -> dict[str, Any]:
    """A reading as the machine's columns of an entry."""
    return {"value": reading.value, "confidence": reading.confidence, "reasons": [clean(r) for r in reading.reasons],
            "alternatives": [clean(a) for a in reading.alternatives], "evidence": evidence_json(reading.evidence),
            "rule": reading.rule, "signals": dict(reading.signals)}


NOTHING_READ: dict[str, Any] = machine_columns(Reading(field="", value=None))


def moments_json(times: Iterable[Moment]) -> list[dict[str, str]]:
    return [{"at": m.at.isoformat(), "source": m.source, "marks": m.marks} for m in times]


def offset_of(moment: datetime) -> int | None:
    """Minutes ahead of UTC, None for a time without a zone."""
    ahead = moment.utcoffset()
    return None if ahead is None else round(ahead.total_seconds() / 60)


def walk_zone(utc_offset_min: int | None) -> timezone | None:
    return None if utc_offset_min is None else timezone(timedelta(minutes=utc_offset_min))


def recording_start(recording: Recording, utc_offset_min: int | None) -> datetime | None:
    """When a recording started, on the walk's clock where that is known; None where the file leaves it open."""
    moment = recording.started_at
    if moment is None or moment.marks not in ("start", "end"):
        return None
    at = moment.at
    if moment.marks == "end":
        if recording.duration_s is None:
            return None
        at -= timedelta(seconds=recording.duration_s)
    zone = walk_zone(utc_offset_min)
    if at.tzinfo is None:
        return at.replace(tzinfo=zone)
    return at.astimezone(zone) if zone else at


def local_time(at: datetime) -> str:
    """ISO 8601 to the millisecond, without needless zeros."""
    return at.isoformat(timespec="milliseconds" if at.microsecond else "seconds")


def seconds_between(start: str | None, at: str | None) -> float | None:
    """Seconds from one stored time to another; None where only one of them has an offset."""
    if start is None or at is None:
        return None
    one, other = datetime.fromisoformat(start), datetime.fromisoformat(at)
    if (one.tzinfo is None) is not (other.tzinfo is None):
        return None
    return (other - one).total_seconds()


