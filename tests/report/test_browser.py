"""The pages in a real browser: no overflow, no request, no console error, accessible, at most three sheets of paper.

Skipped where Chromium, the playwright package or axe-core are not installed; `.ci/run` installs them.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from intake.report import demo, render_html, weeks
from intake.report.lines import Week

from .conftest import NOW, Shop
from .hostile import HOSTILE
from .test_page import spoiled

ROOT = Path(__file__).resolve().parents[2]
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def chromium() -> str:
    """The browser's program, or a skip that says what is missing."""
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        pytest.skip("Chromium is not installed: the browser checks of the pages are left out")
    return found


def axe() -> str:
    """The text of axe-core, or a skip that says what is missing."""
    named = [Path(os.environ["AXE_CORE"])] if os.environ.get("AXE_CORE") else []
    for path in (*named, ROOT / "node_modules" / "axe-core" / "axe.min.js"):
        if path.is_file():
            return path.read_text("utf-8")
    pytest.skip("axe-core is not installed (AXE_CORE names axe.min.js): the accessibility check is left out")


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = chromium()
    with sync_api.sync_playwright() as playwright:
        context = playwright.chromium.launch_persistent_context(
            tmp_path_factory.mktemp("profile"), executable_path=program, args=FLAGS
        )
        yield context
        context.close()


@pytest.fixture(scope="module")
def pages(shop: Shop, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The demo's page, one with hostile text in every field, one of a week without a walk, and a walk's sheet."""
    from intake.report import sheet
    from intake.settings import Settings

    folder = tmp_path_factory.mktemp("pages")
    week = shop.week()
    empty = shop.week("2026-W25", today=weeks.week_days("2026-W25")[1])
    made = {
        "demo": render_html.html(week, shop.extras(week)),
        "empty": render_html.html(empty, shop.extras(empty)),
        "hostile": render_html.html(spoiled(week, "".join(HOSTILE)), shop.extras(week)),
        "long": render_html.html(spoiled(week, "x" * 10_000), shop.extras(week)),
    }
    walk = sheet.make_sheet(shop.store, "2026-05-15-benches", Settings(shop=shop.folder), now=NOW)
    made["sheet"] = sheet.html(walk, demo.SHOP)
    for name, html in made.items():
        (folder / f"{name}.html").write_text(html, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}


NAMES = ["demo", "hostile", "long", "empty", "sheet"]


@pytest.mark.parametrize("width", [360, 800, 1400])
@pytest.mark.parametrize("name", NAMES)
def test_pages_fit_the_window_and_stay_silent(browser: Any, pages: dict[str, Path], name: str, width: int) -> None:
    """Nothing sticks out at the side; nothing is written to the console; no request leaves the file."""
    said: list[str] = []
    asked: list[str] = []
    page = browser.new_page()
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    page.on("request", lambda request: asked.append(request.url))
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(pages[name].as_uri())
    wide = page.evaluate("document.documentElement.scrollWidth")
    page.close()
    assert wide <= width
    assert said == []
    assert [url for url in asked if not url.startswith("data:")] == [pages[name].as_uri()]


@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_no_violation(browser: Any, pages: dict[str, Path], name: str) -> None:
    """axe-core, with all its rules, has nothing to say at the width of a phone and of a desk."""
    source = axe()
    for width in (360, 1400):
        page = browser.new_page()
        page.set_viewport_size({"width": width, "height": 900})
        page.goto(pages[name].as_uri())
        page.evaluate(source)  # the page's own policy forbids scripts; this is the driver's
        result = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
        page.close()
        assert [(v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in result["violations"]] == []


def printed(browser: Any, path: Path, paper: str) -> int:
    """How many sheets a page prints to, in black and white."""
    page = browser.new_page()
    page.goto(path.as_uri())
    pdf = page.pdf(format=paper, print_background=False)
    page.close()
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_forty_units_print_to_three_pages(browser: Any, shop: Shop, tmp_path: Path, paper: str) -> None:
    """A week with forty units in its lists prints to at most three pages."""
    week = shop.week()
    assert len(units_of(week)) >= 40
    path = tmp_path / "week.html"
    path.write_text(render_html.html(week, shop.extras(week)), encoding="utf-8")
    assert printed(browser, path, paper) <= 3


def units_of(week: Week) -> set[str]:
    """Every unit that the page names."""
    lines = (*week.arrived, *week.moved, *week.stuck_units, *week.overdue, *week.due, *week.customers, *week.unseen)
    return {line.unit.id for line in lines}
