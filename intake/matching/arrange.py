"""The whole of matching for one walk, in one visible chain: timeline, clocks, recordings without a start, photos."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from intake.capture.walk import Walk
from intake.language.draft import UnitDraft
from intake.matching.clocks import estimate_offsets
from intake.matching.coefficients import load
from intake.matching.photos import match_photos
from intake.matching.recordings import place_recordings
from intake.matching.timeline import build_timeline
from intake.matching.types import Anchor, ClockOffset, PhotoMatch, Timeline
from intake.speech.transcript import Transcript


@dataclass(frozen=True)
class Arrangement:
    """A walk's line of time, its cameras' clocks and its photos with their units."""

    timeline: Timeline
    offsets: tuple[ClockOffset, ...]
    matches: tuple[PhotoMatch, ...]

    @property
    def starts(self) -> dict[str, datetime]:
        """Starts of recordings, by name, where matching knows better than the file."""
        return {r.recording: self.timeline.moment(r.start) for r in self.timeline.recordings
                if r.source in ("rhythm of pictures", "spoken time", "given")}


def arrange(
    walk: Walk, drafts: Sequence[UnitDraft], transcripts: Mapping[str, Transcript],
    *, given: Mapping[str, float] | None = None, starts: Mapping[str, datetime] | None = None,
    anchors: Sequence[Anchor] = (), pictured: Mapping[str, Mapping[str, float]] | None = None,
    look_below: float | None = None,
) -> Arrangement:
    """Match a walk's photos; a match less sure than `look_below` is put before a person.

    `given`: offsets a person has set, by camera ("*": all). `starts`: recordings' starts a person has set.
    `pictured`: for a photo's name, how many times likelier its picture makes a unit, as a plate read in it does.
    """
    timeline = build_timeline(walk, drafts, transcripts, starts=starts)
    offsets = estimate_offsets(walk.photos, timeline, given, anchors=anchors)
    placed = place_recordings(walk.photos, timeline, offsets)
    if placed is not timeline:
        timeline = placed
        offsets = estimate_offsets(walk.photos, timeline, given, anchors=anchors)
    coefficients = load() if look_below is None else load().with_changes(flags__look_below=look_below)
    matches = match_photos(walk.photos, timeline, offsets, pictured=pictured, coefficients=coefficients)
    return Arrangement(timeline, offsets, matches)
