"""What the invented shop of the demo deals in: its makers, models, troubles, holds and sentences. All invented."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

SHELVES = ("shelf A1", "shelf A2", "shelf B1", "shelf B2", "bay 3")
BENCHES = ("north bench", "south bench", "repair cart")
SOURCES = ("purchase", "trade-in", "consignment", "customer repair")
SOURCE_WORDS = {"purchase": "We bought this one outright.", "trade-in": "That's a trade-in.",
                "consignment": "It's here on consignment.", "customer repair": "It's a customer's, in for repair."}
STAGE_WORDS = {"received": "Just came in.", "testing": "It's on test.", "in repair": "It's being worked on.",
               "waiting": "It waits.", "ready to photograph": "That one is ready to photograph.",
               "ready to list": "Photos are done, ready to list.", "listed": "It's listed."}


@dataclass(frozen=True)
class Trouble:
    """Something wrong, what mends it, and how it is said."""

    part: str
    symptom: str
    work: str
    side: str | None = None

    @property
    def issue(self) -> dict[str, Any]:
        return {"part": self.part, "symptom": self.symptom, "side": self.side, "state": "present"}

    @property
    def sentence(self) -> str:
        return f"The {' '.join(word for word in (self.side, self.part) if word)} is {self.symptom}."

    @property
    def todo(self) -> str:
        return f"Need to {self.work} the {self.part}"

    @property
    def done(self) -> str:
        return f"The {self.part} is done, {self.work} and all."


@dataclass(frozen=True)
class Hold:
    """Something a unit waits for, and how it is said."""

    on: str | None
    sentence: str


@dataclass(frozen=True)
class Kind:
    """A kind of unit, with its makers, models and troubles."""

    unit_type: str
    makers: tuple[str, ...]
    models: tuple[str, ...]
    troubles: tuple[Trouble, ...]


KINDS = (
    Kind("turntable", ("Wexcombe", "Dravik"), ("TD-40", "TD-44", "P-9"),
         (Trouble("belt", "worn", "replace"), Trouble("main bearing", "noisy", "lubricate"),
          Trouble("stylus", "worn", "replace"))),
    Kind("integrated amplifier", ("Corvane", "Vantrell"), ("AI-350", "AI-300", "VA-22"),
         (Trouble("volume control", "scratchy", "clean"), Trouble("output transistor", "shorted", "replace", "left"),
          Trouble("filter capacitor", "swollen", "replace"))),
    Kind("power amplifier", ("Vantrell", "Morrowby"), ("VX-260", "M-60"),
         (Trouble("output tube", "weak", "replace"), Trouble("relay", "intermittent", "replace", "right"))),
    Kind("receiver", ("Brackwell", "Calverton"), ("3417", "CR-70"),
         (Trouble("lamp", "dead", "replace"), Trouble("channel", "drops out", "troubleshoot", "right"))),
    Kind("CD player", ("Kessing",), ("9031", "9040"),
         (Trouble("laser pickup", "dirty", "clean"), Trouble("disc tray", "stuck", "repair"))),
    Kind("cassette deck", ("Brunholt", "Calverton"), ("K-700", "CD-8"),
         (Trouble("pinch roller", "worn", "replace"), Trouble("belt", "broken", "replace"))),
    Kind("reel-to-reel deck", ("Brunholt",), ("Q-14",), (Trouble("tape head", "worn", "replace"),)),
    Kind("loudspeaker", ("Thorncross", "Silvermoor"), ("Sable", "L-110"),
         (Trouble("surround", "deteriorated", "refoam", "both"), Trouble("tweeter", "dead", "replace", "left"))),
    Kind("tuner", ("Calverton",), ("FT-5",), (Trouble("lamp", "dead", "replace"),)),
    Kind("phono stage", ("Quillon",), ("Q2",), (Trouble("RCA jack", "loose", "repair"),)),
    Kind("preamplifier", ("Ravensholt", "Corvane"), ("RP-1", "AC-20"),
         (Trouble("tube", "microphonic", "replace"), Trouble("switch", "intermittent", "clean"))),
)


def holds(trouble: Trouble | None, source: str) -> list[Hold]:
    """What a unit with that trouble may wait for."""
    part = trouble.part if trouble and trouble.work == "replace" else None
    found = [Hold(part, f"Waiting on the {part}, it's on order."), Hold(part, f"Waiting on a {part}."),
             Hold(part, f"Waiting on the {part} still.")] if part else []
    found = [*found, Hold("Bev", "Bev has to look at that one first."),
             Hold("Bev", "Waiting on Bev to have a look."), Hold("burn-in", "Waiting on the burn-in, then we know."),
             Hold(None, "That one waits.")]
    if trouble and trouble.part in ("surround", "tape head"):
        found.append(Hold("refoamer" if trouble.part == "surround" else "head relapper",
                          "Waiting on the man who does these."))
    if source in ("customer repair", "consignment"):
        found += [Hold("owner's okay", "Waiting on the owner's okay."),
                  Hold("customer decision", "Waiting for the customer to decide whether to go on.")]
    return found


def nth(day: int) -> str:
    """1 -> "st", 12 -> "th"."""
    return "th" if day in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(day % 10, "th")
