"""From a capture, its transcripts and its drafts to one line of time.

Recordings lie where their start says, in UTC where one of them knows its zone, else in the
shop's local time. One without a start follows the one before it, and says so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime, time, timedelta, timezone

from intake.capture.walk import Recording, Walk
from intake.language.draft import UnitDraft
from intake.matching.cues import cues_in
from intake.matching.spoken_time import spoken_times
from intake.matching.types import Cue, Stretch, Timeline, Visit
from intake.speech.transcript import Transcript

GAP = 30.0               # between recordings of which the second has no start
JOINED = 0.25            # words this close are one stretch of speech
ASIDE = 3.0              # a gap from here on in the talk about a unit is an aside
IN_PASSING = 6.0         # and unnamed talk up to this long after it says nothing of the unit
WEAK = ("file time",)    # sources of a start that a copy may have changed


def build_timeline(
    walk: Walk, drafts: Sequence[UnitDraft], transcripts: Mapping[str, Transcript],
    *, starts: Mapping[str, datetime] | None = None,
) -> Timeline:
    """The walk on one line; `transcripts` by recording name, `starts` are recordings' starts a person has set."""
    stretches, zero = _lay_out(walk, transcripts, starts or {})
    begin = {s.recording: s.start for s in stretches}
    speech: list[tuple[float, float]] = []
    cues: list[Cue] = []
    for s in stretches:
        transcript = transcripts.get(s.recording)
        if transcript is not None:
            cues += cues_in(transcript, s.start)
            speech += [] if s.estimated else _speech(transcript, s.start)
    visits = _closed(_visits(drafts, begin), cues)
    return Timeline(zero, tuple(stretches), tuple(visits), tuple(sorted(speech)),
                    tuple(sorted(cues, key=lambda q: q.start)), walk.utc_offset_min)


def _lay_out(walk: Walk, transcripts: Mapping[str, Transcript], starts: Mapping[str, datetime]
             ) -> tuple[list[Stretch], datetime]:
    own = [_start_of(r, transcripts.get(r.name), starts.get(r.name)) for r in walk.recordings]
    known = [at for at, *_ in own if at is not None]
    zero = _zero(walk, known)
    stretches: list[Stretch] = []
    for recording, (at, source, certain, ambiguous) in zip(walk.recordings, own, strict=True):
        transcript = transcripts.get(recording.name)
        length = _length(recording, transcript)
        begin = _seconds(at, zero, walk.utc_offset_min) if at is not None else _after(stretches)
        stretches.append(Stretch(recording.name, begin, begin + length, certain and at is not None, ambiguous, source,
                                 transcript is not None and transcript.options.get("times") == "estimated"))
    return stretches, zero


def _after(stretches: Sequence[Stretch]) -> float:
    return max((s.end for s in stretches), default=-GAP) + GAP


def _start_of(recording: Recording, transcript: Transcript | None, given: datetime | None
              ) -> tuple[datetime | None, str, bool, bool]:
    """(start, where it was read, whether it can be relied on, whether it may be the end)."""
    if given is not None:
        return given, "given", True, False
    moment = recording.started_at
    if moment is not None and moment.source not in WEAK:
        return moment.at, moment.source, True, "end" in moment.marks and "start" in moment.marks
    said = spoken_times(transcript) if transcript is not None else []
    if moment is None:
        return None, "no time", False, False
    if said:
        at = _near(moment.at, said[0].start_for)
        return at, "spoken time", True, False
    return moment.at, moment.source, False, False


def _near(day: datetime, clock: float) -> datetime:
    """The start, a time of day in seconds since midnight, on the day of `day`."""
    midnight = day.replace(hour=0, minute=0, second=0, microsecond=0)
    return midnight + timedelta(seconds=clock)


def _zero(walk: Walk, known: Sequence[datetime]) -> datetime:
    aware = [at for at in known if at.tzinfo is not None]
    if aware:
        return min(aware).astimezone(UTC)
    return min(known) if known else datetime.combine(walk.date, time(12))


def _seconds(at: datetime, zero: datetime, utc_offset_min: int | None) -> float:
    if at.tzinfo is None and zero.tzinfo is not None:
        at = at.replace(tzinfo=timezone(timedelta(minutes=utc_offset_min or 0)))
    return (at - zero).total_seconds()


def _length(recording: Recording, transcript: Transcript | None) -> float:
    if recording.duration_s is not None:
        return recording.duration_s
    return transcript.duration_s if transcript is not None else 0.0


def _visits(drafts: Sequence[UnitDraft], begin: Mapping[str, float]) -> list[Visit]:
    """Each draft's spans in order of talk; where two overlap the earlier one ends as the later begins."""
    visits = []
    for draft in drafts:
        for span in draft.spans:
            if span.recording in begin:
                zero = begin[span.recording]
                named = [zero + at for name, at in draft.named_at
                         if name == span.recording and span.start_s - 1 <= at <= span.end_s + 1]
                visits.append((Visit(draft.id, zero + span.start_s, zero + span.end_s, min(named, default=None)),
                               tuple(named)))
    out: list[Visit] = []
    for v in sorted(_without_lists(visits), key=lambda v: (v.start, v.end)):
        if out and out[-1].unit == v.unit and v.named is None and _passing(out[-1], v):
            continue
        if out and out[-1].end > v.start and out[-1].unit != v.unit:
            last = out[-1]
            out[-1] = Visit(last.unit, last.start, v.start, last.named)
        out.append(v)
    return out


def _closed(visits: Sequence[Visit], cues: Sequence[Cue]) -> list[Visit]:
    """The visits without the words that close the walk ("that's it, I'm off"): they are of no unit."""
    out = []
    for v in visits:
        at = min((q.start for q in cues if q.kind == "end" and v.start < q.start < v.end), default=v.end)
        out.append(Visit(v.unit, v.start, at, v.named) if v.named is None or v.named < at else v)
    return out


def _passing(last: Visit, v: Visit) -> bool:
    """Whether talk that names nothing only follows an aside ("anyway, where was I"): it is no visit of its own."""
    return v.start - last.end >= ASIDE and v.end - v.start <= IN_PASSING


def _without_lists(visits: Sequence[tuple[Visit, Sequence[float]]]) -> list[Visit]:
    """The visits without mere lists ("on here I've got a tuner, a deck and two speakers").

    Several units that begin at one moment are a list. A unit that is talked about later was only announced
    there; one that goes on at once begins as the list ends, and is named when it is named again.
    """
    units = Counter(v.unit for v, _ in visits)
    out = []
    for v, named in visits:
        listed = [o.end for o, _ in visits if o.unit != v.unit and abs(o.start - v.start) < JOINED]
        if not listed:
            out.append(v)
        elif v.end > max(listed) + JOINED:
            again = min((at for at in named if at >= max(listed)), default=None)
            out.append(Visit(v.unit, max(listed), v.end, again) if again is not None else v)
        elif units[v.unit] == 1:
            out.append(v)
    return out


def _speech(transcript: Transcript, begin: float) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for word in transcript.words():
        a, b = begin + word.start, begin + word.end
        if out and a - out[-1][1] <= JOINED:
            out[-1] = (out[-1][0], max(b, out[-1][1]))
        else:
            out.append((a, b))
    return out
