"""How a photo's place is told to a person: where it lies against the talk, and between what it is a close call."""

from __future__ import annotations

from intake.matching.types import Cue, Timeline, Visit

RETURN = 30.0            # seconds for which words of going back hold


class Wording:
    """Words about moments of one walk."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self._visits: dict[str, list[Visit]] = {}
        for v in timeline.visits:
            self._visits.setdefault(v.unit, []).append(v)
        self._order = {unit: i for i, unit in enumerate(self._visits)}

    def why(self, at: float | None, unit: str | None) -> str:
        """One sentence on how a photo was placed."""
        if at is None:
            return "no date; by its number between its neighbours"
        if unit is not None:
            return f"taken {self.where(at, unit)}"
        cue = self._stray_cue(at)
        if cue is not None:
            return "a stray by the speaker's own words" + (f': "{cue.words}"' if cue.words else "")
        if not any(r.start <= at <= r.end for r in self.timeline.recordings):
            return "taken while nothing was recorded"
        return "taken while no unit was spoken of"

    def is_unexplained(self, at: float) -> bool:
        """True for a moment during a recording at which nobody said that the picture is a stray."""
        return self._stray_cue(at) is None and any(r.start <= at <= r.end for r in self.timeline.recordings)

    def is_lost_return(self, at: float) -> bool:
        """True where the speaker went back to something ("oh, wait, the big ones") and no talk was found for it."""
        back = next((q for q in reversed(self.timeline.cues) if q.kind == "back" and q.start - 1 < at), None)
        if back is None or at > back.end + RETURN:
            return False
        return not any(back.start - 1 <= v.start <= max(at, back.end + 5) for v in self.timeline.visits)

    def _stray_cue(self, at: float) -> Cue | None:
        return next((q for q in self.timeline.cues if q.kind == "stray" and q.start - 8 < at < q.end + 2), None)

    def close_call(self, at: float | None, first: str | None, second: str | None) -> str:
        """Why a person should look: what it lies between, and how near.

        "between u2 and u3: taken 1.2 s before u3 is named".
        """
        units = sorted({u for u in (first, second) if u is not None}, key=lambda u: self._order.get(u, 0))
        if not units:
            return "perhaps no unit"
        who = f"between {units[0]} and {units[1]}" if len(units) == 2 else f"perhaps {units[0]}, perhaps no unit"
        return f"{who}: taken {self.where(at, units[-1])}" if at is not None else who

    def guessed_times(self, at: float) -> bool:
        """True where the times of the talk were guessed from the length of its text."""
        return any(r.estimated and r.start - 30 <= at <= r.end + 30 for r in self.timeline.recordings)

    def where(self, at: float, unit: str) -> str:
        """Where a moment lies against the nearest talk about a unit."""
        own = self._visits.get(unit)
        if not own:
            return f"near {unit}"
        v = min(own, key=lambda v: max(v.start - at, at - v.end, 0.0))
        named = v.named if v.named is not None else v.start
        if at < named:
            return f"{named - at:.1f} s before {unit} is {'named' if v.named is not None else 'spoken of'}"
        if at > v.end:
            return f"{at - v.end:.1f} s after the talk about {unit} ends"
        return f"{at - named:.1f} s after {unit} is {'named' if v.named is not None else 'first spoken of'}"
