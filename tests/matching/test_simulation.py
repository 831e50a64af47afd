"""Random walks, made by other rules than the model's: how often photos and clocks come out right."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest

from intake.matching.clocks import estimate_offsets
from intake.matching.photos import match_photos


def test_random_walks_come_out_right_and_say_how_sure_they_are(simulate: ModuleType) -> None:
    """Over 40 walks with offsets up to a day, drift, strays and missing dates: the measured rates hold."""
    right = silent = photos = held = clocks = off = 0
    said: list[tuple[float, bool]] = []
    for seed in range(40):
        case = simulate.make_case(seed)
        if sum(p.taken_at is not None for p in case.photos) < 8:
            continue
        offset, = estimate_offsets(case.photos, case.timeline)
        truth = case.offset_s + case.drift_s_per_h * (offset.drift_from - case.middle_s) / 3600
        clocks += 1
        held += offset.low <= truth <= offset.high
        off += offset.known and abs(offset.offset_s - truth) > 10
        for m in match_photos(case.photos, case.timeline, [offset]):
            ok = m.unit == case.units[m.photo]
            said.append((m.confidence, ok))
            photos, right, silent = photos + 1, right + ok, silent + (not ok and not m.reasons)
    assert right / photos > 0.86
    assert silent / photos < 0.045
    assert held / clocks > 0.9
    assert off == 0
    marks = np.array(said)
    for low, high, within in ((0.5, 0.8, 0.1), (0.8, 0.95, 0.07), (0.95, 1.01, 0.03)):
        own = marks[(marks[:, 0] >= low) & (marks[:, 0] < high)]
        assert own[:, 1].mean() == pytest.approx(own[:, 0].mean(), abs=within)


@pytest.mark.slow
def test_a_very_long_capture_is_quick_and_small(simulate: ModuleType) -> None:
    """Some 4,500 photos against eleven hours of talk: under ten seconds of processor time, and little memory."""
    import time
    import tracemalloc
    case = simulate.make_case(77, units=1100)
    begun = time.process_time()
    offsets = estimate_offsets(case.photos, case.timeline)
    matches = match_photos(case.photos, case.timeline, offsets)
    assert time.process_time() - begun < 10.0
    assert abs(offsets[0].offset_s - case.offset_s) < 2.0
    assert len(matches) == len(case.photos) > 4000
    tracemalloc.start()
    match_photos(case.photos, case.timeline, offsets)
    assert tracemalloc.get_traced_memory()[1] < 200e6
    tracemalloc.stop()
