"""The invented shop of the demo, lived once for all tests of the report."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from intake.records.look import Look
from intake.records.store import Store
from intake.report import demo, make, weeks
from intake.report.lines import Week
from intake.report.render_html import Extras

NOW = datetime(2026, 5, 17, 22, 0, tzinfo=UTC)


class Shop:
    """The demo's shop: its store, a look at it, its folder, and a plain connection for questions of one's own."""

    def __init__(self, store: Store, look: Look, folder: Path) -> None:
        self.store, self.look, self.folder = store, look, folder
        self.sql = sqlite3.connect(f"file:{store.path}?mode=ro", uri=True)

    def week(self, name: str = "2026-W20", today: date = demo.LAST_DAY) -> Week:
        """The report of a week."""
        return make.report(self.look, weeks.period_of_week(name, today))

    def extras(self, week: Week) -> Extras:
        """What the page shows beside it."""
        return make.extras(
            self.look, week, None, shop=demo.SHOP, thumbnails=self.folder / "thumbnails", now=NOW, demo=True
        )


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    folder = tmp_path_factory.mktemp("shop")
    (folder / "photos").mkdir()
    with Store.open(folder / "intake.db") as store:
        demo.build(store, pictures=folder / "photos")
        with Look.open(folder / "intake.db") as look:
            made = Shop(store, look, folder)
            yield made
            made.sql.close()
