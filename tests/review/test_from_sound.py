"""The example walks from sound: corrected to their answer keys by keys alone, and what a correction teaches."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from .shops import BUILT, ROOT

TRANSCRIPTS = ROOT / "bench" / "out"
pytestmark = pytest.mark.slow


@pytest.fixture(autouse=True)
def _bench(monkeypatch: pytest.MonkeyPatch) -> None:
    """The programs in bench/ import their neighbours by plain name; the examples must lie beside the checkout."""
    if not BUILT.is_dir():
        pytest.skip("the example walks are not beside this checkout")
    monkeypatch.setattr(sys, "path", [str(ROOT / "bench"), *sys.path])
    monkeypatch.setenv("INTAKE_PERSON", "reviewer")


def out(tmp_path: Path) -> Path:
    """A folder for shops, with the decodings that are kept from run to run."""
    (TRANSCRIPTS / "transcripts").mkdir(parents=True, exist_ok=True)
    (tmp_path / "transcripts").symlink_to(TRANSCRIPTS / "transcripts", target_is_directory=True)
    return tmp_path


def test_every_example_walk_is_corrected_from_its_sound(tmp_path: Path) -> None:
    """All fields, photos and resightings end right, within 1.5 keys an accepted field and 6 a correction."""
    import reviewing
    from staging import find_walks

    for done in reviewing.effort(find_walks([BUILT]), out(tmp_path)):
        assert list(done.wrong) == [], done.walk
        assert done.count.accept_keys <= 1.5 * done.count.accepted
        assert done.count.correct_keys <= 6 * done.count.corrected
        assert done.count.unit_keys <= 6 * done.count.units + 3


def test_what_one_walk_taught_the_next_one_reads_right(tmp_path: Path) -> None:
    """After the first example walk was corrected and taught, no name of the second, in another voice, comes out worse."""
    import reviewing
    from staging import BuiltWalk

    first, second = (BuiltWalk(BUILT / name) for name in ("2026-01-12-first-shelf", "2026-01-26-first-shelf-again"))
    pair = reviewing.taught(first, second, out(tmp_path))
    assert pair.lessons
    for name in reviewing.NAMES:
        assert pair.after[name].right >= pair.before[name].right
        assert pair.after[name].silent <= pair.before[name].silent
