"""An accepted answer outlives the program: it is killed again and again at moments nobody chose."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.records import builders

from .made import flagged, shop_with

ROOT = Path(__file__).resolve().parents[2]


def many_questions(folder: Path, units: int) -> Path:
    """A shop with that many units, seven doubtful fields each."""
    drafts = [builders.draft(
        f"u{n + 1}", n * 20.0, n * 20.0 + 19, maker=flagged("Corvane", n * 20.0), model=flagged("AI-350", n * 20.0 + 1),
        serial=flagged(f"S{n:05d}", n * 20.0 + 2), unit_type=flagged("receiver", n * 20.0 + 3),
        stage=flagged("received", n * 20.0 + 4), location=flagged("shelf B2", n * 20.0 + 5),
        cosmetic=flagged("good", n * 20.0 + 6)) for n in range(units)]
    return shop_with(folder, drafts).shop


def killed(shop: Path, kills: int, seed: int) -> dict[str, object]:
    """Review that shop in processes that are killed; what came of it."""
    run = [sys.executable, "-m", "tests.review.killing", str(shop), str(kills), str(seed)]
    done = subprocess.run(run, cwd=ROOT, capture_output=True, text=True, check=True)
    result: dict[str, object] = json.loads(done.stdout.splitlines()[-1])
    return result


def test_ten_kills_lose_no_answer(tmp_path: Path) -> None:
    """What the screen showed as answered is in the records after kill -9, ten times over."""
    result = killed(many_questions(tmp_path / "shop", 20), 10, 1)
    assert result["kills"] == 10
    assert result["lost"] == []
    assert int(str(result["answers"])) > 10


@pytest.mark.slow
def test_a_hundred_kills_lose_no_answer(tmp_path: Path) -> None:
    """The same at a hundred random moments."""
    result = killed(many_questions(tmp_path / "shop", 200), 100, 2)
    assert result["kills"] == 100
    assert result["lost"] == []
    assert int(str(result["answers"])) > 200
