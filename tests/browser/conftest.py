"""A page made once a session, and the Chromium that is installed, to open it with."""

from __future__ import annotations

import os
import shutil
from datetime import date

import pytest

from analysis.report.page import page as write_page
from analysis.report.report import make_report
from scenarios.load import load

BROWSERS = ("chromium", "chromium-browser")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]  # fmt: skip
GROUND = """title = "Page & <ground>"
[ground]
length_m = 60
roughness = { class = "D" }
[stones]
placed = [{ at_m = 30, length_m = 0.3, top_mm = 30 }]
[search]
pressures_bar = [30, 40, 60]
speeds_kmh = [6, 8, 10, 12]
seeds = 2
[limits]
on_depth_share_min = 0.8
wheel_off_share_max = 0.05
"""


@pytest.fixture(scope="session")
def report(tmp_path_factory):
    """A report on 60 m of rough ground with one stone."""
    path = tmp_path_factory.mktemp("page") / "ground.toml"
    path.write_text(GROUND, encoding="utf-8")
    return make_report(load(path))


@pytest.fixture(scope="session")
def page_file(report, tmp_path_factory):
    """Its page as a file on disk."""
    path = tmp_path_factory.mktemp("page") / "page.html"
    path.write_text(write_page(report, date(2026, 1, 31)), encoding="utf-8")
    return path


@pytest.fixture(scope="session")
def browser():
    """Chromium without a window. Skips where none is installed, unless ROWBENCH_NEEDS_BROWSER is set."""
    found = next((place for name in BROWSERS if (place := shutil.which(name))), None)
    if found is None:
        if os.environ.get("ROWBENCH_NEEDS_BROWSER"):
            pytest.fail("no Chromium: install the package chromium")
        pytest.skip("no Chromium is installed (package chromium)")
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 (only with a browser)

    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield made
        made.close()


class Opened:
    """The page in a tab of its own, with everything that it complained of or asked for."""

    def __init__(self, browser, file, width, height, **options):
        self.context = browser.new_context(viewport={"width": width, "height": height}, **options)
        self.tab = self.context.new_page()
        self.complaints, self.asked = [], []
        self.tab.on("console", lambda message: self.complaints.append(message.text))
        self.tab.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.tab.on("request", lambda request: self.asked.append(request.url))
        self.tab.goto(file.as_uri())


@pytest.fixture
def opened(browser, page_file):
    """opened(width, height, file) → the page (or another one) in a fresh browser profile."""
    made = []

    def open_(width=1200, height=900, file=page_file, **options):
        made.append(Opened(browser, file, width, height, **options))
        return made[-1]

    yield open_
    for one in made:
        one.context.close()
