"""How the machine's readings fared with people: counts from which the review's figures are made."""

from __future__ import annotations

from typing import NamedTuple

from sqlalchemy import text
from sqlmodel import Session


class Tally(NamedTuple):
    """So many values of one field, of about one confidence, alike in what a person said of them.

    `flagged`: put before the reviewer; `only_unsure`: for no other reason than that. `verdict`: "right" or
    "wrong" (a person decided), "left" (nobody did).
    """

    field: str
    confidence: float                          # rounded to hundredths
    flagged: bool
    only_unsure: bool
    verdict: str
    values: int


UNSURE = '["not sure enough"]'                 # what the pipeline writes under the shop's threshold

_TALLY = """
SELECT e.field, round(e.confidence, 2), e.reasons <> '[]', e.reasons = :unsure,
       CASE WHEN e.decision IS NULL THEN 'left'
            WHEN e.decided_value IS e.seen_value THEN 'right' ELSE 'wrong' END AS verdict, count(*)
FROM entry e JOIN sighting s ON s.id = e.sighting_id
WHERE s.state = 'seen' AND (e.value IS NOT NULL OR e.reasons <> '[]' OR e.decision IS NOT NULL)"""
_SETTLED = """ AND NOT EXISTS (SELECT 1 FROM entry o WHERE o.sighting_id = s.id AND o.question = 1)
 AND EXISTS (SELECT 1 FROM entry o WHERE o.sighting_id = s.id AND o.decision IS NOT NULL)"""


def tallies(session: Session, *, walk: str | None = None, settled: bool = False) -> list[Tally]:
    """The counts for the shop or one walk; `settled`: only of records that a person went through to the end."""
    query = _TALLY + (_SETTLED if settled else "") + (" AND s.walk_id = :walk" if walk else "")
    query += " GROUP BY 1, 2, 3, 4, 5"
    given = {"unsure": UNSURE, **({"walk": walk} if walk else {})}
    return [Tally(field, sure, bool(flagged), bool(only), verdict, many) for field, sure, flagged, only, verdict, many
            in session.connection().execute(text(query), given)]
