"""Built walks become captures that the program reads as they were."""

from __future__ import annotations

import shutil
from datetime import datetime
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SAMPLE = ROOT / "samples" / "2026-04-17-lantern-street"


@pytest.fixture(autouse=True)
def bench_path(monkeypatch: pytest.MonkeyPatch) -> None:
    """The programs in bench/ import their neighbours by plain name."""
    monkeypatch.syspath_prepend(str(ROOT / "bench"))


def test_true_words_stand_in_for_the_recordings(tmp_path: Path) -> None:
    """Each recording becomes a transcript with its true start, its sentences at their times, and no sound beside it."""
    from intake.capture.folder import read_capture
    from intake.speech.written import read_written
    from staging import BuiltWalk, stage_text

    built = BuiltWalk(SAMPLE)
    walk = read_capture([stage_text(built, tmp_path)])
    truth = built.truth()
    assert walk.id == SAMPLE.name
    assert len(walk.photos) == len(truth["photos"])
    for recording, true in zip(walk.recordings, truth["recordings"], strict=True):
        assert recording.started_at is not None
        assert recording.started_at.at == datetime.fromisoformat(true["started_at"])
        words = [word.text for segment in read_written(recording).segments for word in segment.words]
        assert " ".join(words) == true["reference"]
        assert recording.duration_s == pytest.approx(true["sentences"][-1][1], abs=0.01)


def test_file_times_are_put_back(tmp_path: Path) -> None:
    """A staged capture has the times its files had when they were made, whatever a checkout did to them."""
    from staging import BuiltWalk, stage_sound

    copy = tmp_path / "copy" / SAMPLE.name
    shutil.copytree(SAMPLE, copy, copy_function=shutil.copyfile)
    built = BuiltWalk(copy)
    capture = stage_sound(built, tmp_path / "staged")
    truth = built.truth()
    for item in [*truth["recordings"], *truth["photos"]]:
        assert (capture / item["file"]).stat().st_mtime == pytest.approx(item["mtime"], abs=0.01)


def test_walks_come_in_order_of_their_dates(tmp_path: Path) -> None:
    """Walks that see units again run after those that saw them first."""
    from staging import find_walks

    for name in ("2026-02-24-b", "2026-02-18-a", "2026-03-01-c"):
        (tmp_path / name).mkdir()
        for file in ("gold.json", "truth.json"):
            (tmp_path / name / file).write_text("{}", encoding="utf-8")
    assert [walk.id for walk in find_walks([tmp_path])] == ["2026-02-18-a", "2026-02-24-b", "2026-03-01-c"]
    assert [walk.id for walk in find_walks([tmp_path / "2026-02-24-b"])] == ["2026-02-24-b"]
