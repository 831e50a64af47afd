"""`intake photos`, `intake walk timeline`, `intake walk set-offset`: where photos belong, and the cameras' clocks."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import TYPE_CHECKING, Annotated, Any

import typer

from intake.cli import common
from intake.cli.common import JsonOption, ShopOption

if TYPE_CHECKING:
    from intake.cli.timeline_drawing import Track
    from intake.records.store import Store
    from intake.records.types import ClockInfo, PhotoPlace, Sighting
    from intake.settings import Settings
    from intake.speech.transcript import Transcript

WalkArgument = Annotated[str, typer.Argument(metavar="WALK", help="A walk's id; `intake list --walks` shows them.")]


def register(app: typer.Typer) -> None:
    """Add `photos`, and `walk` with what belongs to a walk as a whole."""
    app.command()(photos)
    walk = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="One walk: its timeline, its cameras' clocks.")
    walk.command()(timeline)
    walk.command("set-offset")(set_offset)
    app.add_typer(walk, name="walk")


def photos(
    walk: WalkArgument,
    look: Annotated[bool, typer.Option("--look", help="Only photos that a person should look at.")] = False,
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Show a walk's photos: when each was taken, its unit, how sure that is, and why a person should look."""
    with _store(shop) as store:
        store.walk(walk)
        clocks, units = store.clocks(walk), {s.id: s for s in store.sightings(walk)}
        places = [p for p in store.photos(walk) if p.reasons or not look]
    if json_:
        common.print_json({"walk": walk, "clocks": [asdict(c) for c in clocks], "photos": [asdict(p) for p in places]})
        return
    for line in clock_lines(clocks):
        common.say(line)
    for line in photo_lines(places, units):
        common.say(line)


def clock_lines(clocks: Sequence[ClockInfo]) -> list[str]:
    """One line a camera: how far its clock is ahead, how surely, and how that is known."""
    from intake.cli import text
    from intake.matching.prior import say_offset

    lines = []
    for c in clocks:
        if c.known:
            sure = "" if c.state != "open" else f" ({c.low:+.1f} to {c.high:+.1f} s)"
            drift = f", gaining {c.drift_s_per_h:+.1f} s an hour" if abs(c.drift_s_per_h) >= 0.3 else ""
            lines += text.wrap(f"{c.camera}: clock {say_offset(c.offset_s)}{sure}{drift}; {c.how}", rest="  ")
        else:
            lines += text.wrap(f"{c.camera}: clock not known; {c.how}. Say it with: intake walk set-offset {c.walk} "
                               f"OFFSET --camera \"{c.camera}\"", rest="  ")
    return lines


def photo_lines(places: Sequence[PhotoPlace], units: Mapping[str, Sighting]) -> list[str]:
    """The photos as a table, or one under another where the terminal is too narrow for it."""
    from intake.cli import text

    if not places:
        return ["No photos."]
    head = ("photo", "by its camera", "corrected", "unit", "sure", "why")
    rows = [head, *(_row(p, units) for p in places)]
    drawn = text.table(rows)
    if drawn is not None:
        return drawn
    return [line for row in rows[1:] for line in
            text.wrap("  ".join(cell for cell in row if cell), rest="    ")]


def _row(p: PhotoPlace, units: Mapping[str, Sighting]) -> tuple[str, ...]:
    from intake.cli import text

    sighting = units.get(p.sighting or "")
    unit = _name(sighting) if sighting is not None else "none"
    sure = "set" if p.state != "open" else f"{100 * p.confidence:.0f} %"
    why = "look: " + "; ".join(p.reasons) if p.reasons else p.why
    return text.clean(p.name), _time(p.taken_at, p.at), _time(p.at), text.clean(unit), sure, text.clean(why)


def _name(s: Sighting) -> str:
    parts = [str(v) for v in (s.value("maker"), s.value("model")) if v] or [str(s.value("unit_type") or "")]
    return " ".join([s.local_id, *parts]).strip()


def _time(stamp: str | None, like: str | None = None) -> str:
    """The time of day of a stored time, in the zone of `like` where both know one; "no date" where there is none."""
    if not stamp:
        return "no date"
    at = datetime.fromisoformat(stamp)
    zone = datetime.fromisoformat(like).tzinfo if like else None
    if at.tzinfo is not None and zone is not None:
        at = at.astimezone(zone)
    return f"{at:%H:%M:%S}" + (f".{at.microsecond // 100000}" if at.microsecond else "")


def timeline(
    walk: WalkArgument,
    scale: Annotated[float | None, typer.Option("--scale", metavar="SECONDS", help="Seconds a column stands for "
                                                                                  "(0.5 to 60).")] = None,
    shop: ShopOption = None,
) -> None:
    """Draw a walk: units, speech and photos on one axis."""
    import sys

    from intake.cli import text, timeline_drawing

    settings = common.settings(shop)
    with _store(shop) as store:
        store.walk(walk)
        tracks, outside = tracks_of(store, walk, transcripts_of(store, walk, settings))
    plain = not (sys.stdout.encoding or "").lower().startswith("utf")
    for line in timeline_drawing.draw(tracks, width=text.width(), column_s=scale, plain=plain):
        common.say(line)
    common.say("^ a photo   ? look at it   x of no unit")
    if outside:
        common.say("Not during a recording: " + ", ".join(text.clean(n) for n in outside))


def tracks_of(store: Store, walk: str, transcripts: Mapping[str, Transcript]) -> tuple[list[Track], list[str]]:
    """A stored walk as tracks to draw, and the photos that fall in no recording."""
    from intake.cli.timeline_drawing import Mark, Track

    spans: dict[str, list[tuple[str, float, float]]] = {}
    for s in store.sightings(walk):
        for span in s.spans:
            spans.setdefault(span.recording, []).append((s.local_id, span.start_s, span.end_s))
    places = store.photos(walk)
    tracks = []
    for r in store.recordings(walk):
        transcript = transcripts.get(r.name)
        marks = [Mark(_short(p.name), p.recording_second, p.sighting, bool(p.reasons)) for p in places
                 if p.recording == r.name and p.recording_second is not None]
        speech = [(w.start, w.end) for w in transcript.words()] if transcript is not None else []
        start = datetime.fromisoformat(r.started_at) if r.started_at else None
        length = r.duration_s or max((b for _, _, b in spans.get(r.name, [])), default=0.0)
        tracks.append(Track(r.name, start, length, tuple(spans.get(r.name, [])), tuple(speech), tuple(marks)))
    return tracks, [p.name for p in places if p.recording is None]


def _short(name: str) -> str:
    from intake.cli import text

    return text.clean(name).rsplit("/", 1)[-1].rsplit(".", 1)[0]


def transcripts_of(store: Store, walk: str, settings: Settings) -> dict[str, Transcript]:
    """The walk's transcripts as far as they are stored; nothing is decoded."""
    from intake.errors import IntakeError
    from intake.records.again import recordings_of
    from intake.speech.hear import is_stored, transcribe

    found = {}
    for recording in recordings_of(store, walk):
        try:
            if is_stored(recording, settings):
                found[recording.name] = transcribe(recording, settings, None)
        except IntakeError as error:            # a moved transcript costs the picture only its speech
            common.remark(str(error))
    return found


def set_offset(
    walk: WalkArgument,
    offset: Annotated[str | None, typer.Argument(
        metavar="[OFFSET]", help="How far the camera's clock was ahead: 45, -125, +1h, 1:00:00, -0:02:05. Put -- "
                                 "before one that starts with a minus.")] = None,
    camera: Annotated[str | None, typer.Option("--camera", metavar="NAME", help="Which camera; needed where the walk "
                                                                               "has several.")] = None,
    photo: Annotated[str | None, typer.Option("--photo", metavar="NAME", help="Instead of OFFSET: a photo whose true "
                                                                             "time is known ...")] = None,
    at: Annotated[str | None, typer.Option("--at", metavar="HH:MM:SS", help="... and that time, for instance of a "
                                                                           "clock that it shows.")] = None,
    why: Annotated[str, typer.Option("--why", metavar="TEXT", help="Why; kept in the history.")] = "",
    json_: JsonOption = False, shop: ShopOption = None,
) -> None:
    """Say how far a camera's clock was off in a walk; its photos are placed anew at once."""
    from intake.matching.prior import say_offset
    from intake.records.again import place_again

    settings = common.settings(shop)
    with _store(shop) as store:
        store.walk(walk)
        name, seconds = _meant(store, walk, offset, camera, photo, at)
        store.set_clock(walk, name, seconds, why=why)
        before = {p.name: p.sighting for p in store.photos(walk)}
        place_again(store, walk, transcripts_of(store, walk, settings))
        places = store.photos(walk)
    moved = [p for p in places if before.get(p.name) != p.sighting]
    if json_:
        common.print_json({"walk": walk, "camera": name, "offset_s": seconds,
                           "moved": {p.name: p.sighting for p in moved}})
        return
    common.say(f"{name}: clock {say_offset(seconds)}. {len(moved)} of {len(places)} photos moved to another unit. "
               f"(See them: intake photos {walk})")


def _meant(store: Store, walk: str, offset: str | None, camera: str | None, photo: str | None, at: str | None
           ) -> tuple[str, float]:
    """The camera and the offset in seconds that the words of the command mean."""
    from intake.errors import NotFoundError, UsageError

    if (offset is None) == (photo is None) or (photo is None) != (at is None):
        raise UsageError("say either OFFSET, or --photo and --at.",
                         hint="For instance: intake walk set-offset WALK +1h")
    names = [c.camera for c in store.clocks(walk)]
    if photo is not None:
        place = next((p for p in store.photos(walk) if p.name == photo or _short(p.name) == photo), None)
        if place is None or place.taken_at is None:
            raise NotFoundError(f"walk {walk!r} has no photo {photo!r} with a date.")
        camera, seconds = camera or place.camera, offset_by_photo(place.taken_at, at or "")
    else:
        seconds = parse_offset(offset or "")
    if camera is None and len(names) > 1:
        raise UsageError("the walk has several cameras.", hint="Say which with --camera: " + ", ".join(names))
    wanted = camera or (names[0] if names else "")
    if wanted not in names:
        raise NotFoundError(f"walk {walk!r} has no camera {wanted!r}.", hint=f"It has: {', '.join(names) or 'none'}.")
    return wanted, seconds


def parse_offset(said: str) -> float:
    """An offset as typed, in seconds: "45", "-125.5", "+1h", "1h 30m", "-0:02:05"; UsageError else."""
    from intake.errors import UsageError

    plain = said.strip().lower().replace(" ", "").replace("\u2212", "-")
    sign = -1.0 if plain.startswith("-") else 1.0
    body = plain.lstrip("+-")
    clock = re.fullmatch(r"(\d{1,3}):(\d\d)(?::(\d\d(?:\.\d+)?))?", body)
    number = r"(\d+(?:\.\d+)?)"
    words = re.fullmatch(rf"(?:{number}d)?(?:{number}h)?(?:{number}m(?:in)?)?(?:{number}s?)?", body)
    if clock:
        return sign * (int(clock[1]) * 3600 + int(clock[2]) * 60 + float(clock[3] or 0))
    if not body or not words:
        raise UsageError(f"{said!r} is no offset.", hint="Write seconds (45), hours (+1h) or h:mm:ss (-0:02:05).")
    return sign * sum(float(part or 0) * size for part, size in zip(words.groups(), (86400, 3600, 60, 1), strict=True))


def offset_by_photo(taken_at: str, shown: str) -> float:
    """Camera minus truth, from a photo's own time and the true time of day "09:15:30", to the nearer day."""
    from intake.errors import UsageError

    match = re.fullmatch(r"(\d{1,2}):(\d\d)(?::(\d\d))?", shown.strip())
    if not match or int(match[1]) > 23 or int(match[2]) > 59 or int(match[3] or 0) > 59:
        raise UsageError(f"{shown!r} is no time of day.", hint="Write it as HH:MM:SS, on the shop's clock.")
    own = datetime.fromisoformat(taken_at)
    true = own.replace(hour=int(match[1]), minute=int(match[2]), second=int(match[3] or 0), microsecond=0)
    gap = (own - true).total_seconds()
    return gap - 86400 * round(gap / 86400)


def _store(shop: Any) -> Store:
    from intake.cli.records import open_store

    return open_store(common.settings(shop))
