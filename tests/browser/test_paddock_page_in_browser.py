"""The page of a paddock as a reader meets it: nothing fetched, nothing cut, every picture shown, one sheet on paper."""

from __future__ import annotations

from datetime import date

import paddocks
import pytest

from analysis.paddock.batch import run_batch
from analysis.paddock.summary import summarise
from analysis.paddock.table import load_table
from analysis.report.paddock import paddock_page

ZONE = '[[zones]]\nname = "clay rise beyond the creek"\nstart_m = [0, 0]\nend_m = [10, 2.5]\nstrength_MPa = 1.6'


@pytest.fixture(scope="module")
def paddock_file(tmp_path_factory):
    """The page of a small paddock with a zone, as a file on disk."""
    folder = tmp_path_factory.mktemp("paddock_page")
    paddock = paddocks.small(folder, {"search": "pressures_bar = [45, 60]\nspeeds_kmh = [8, 10]"}, ZONE)
    run_batch(paddock, folder / "r.h5", 1, None, None)
    page = folder / "page.html"
    page.write_text(paddock_page(summarise(load_table(folder / "r.h5")), date(2026, 1, 31)), encoding="utf-8")
    return page


@pytest.mark.parametrize("width", [360, 1200])
def test_a_paddock_page_is_whole_at_any_width(opened, paddock_file, width):
    page = opened(width, 740, file=paddock_file)
    for details in page.tab.locator("details").all():
        details.evaluate("(e) => { e.open = true; }")
    assert page.tab.evaluate("document.documentElement.scrollWidth") <= width
    cut = page.tab.evaluate("""() => [...document.querySelectorAll('h1, h2, p, li, dt, dd, img, code, summary')]
        .filter((e) => e.offsetParent && !e.closest('.scroll') && (e.getBoundingClientRect().right > innerWidth + 1 ||
            (getComputedStyle(e).display !== 'inline' && e.scrollWidth > e.clientWidth + 1)))
        .map((e) => e.outerHTML.slice(0, 80))""")
    assert cut == []
    pictures = page.tab.evaluate("[...document.images].map((i) => [i.complete, i.naturalWidth, i.alt.length > 20])")
    assert pictures == [[True, 900, True]] * 4
    assert page.asked[0] == paddock_file.as_uri()
    assert all(address.startswith("data:") for address in page.asked[1:])
    assert page.complaints == []


def test_the_first_printed_page_of_a_paddock_is_its_setting_sheet(opened, paddock_file):
    page = opened(file=paddock_file)
    assert not page.tab.is_visible(".sheet")
    page.tab.emulate_media(media="print")
    page.tab.set_viewport_size({"width": 688, "height": 1000})  # A4 less its margins: 182 mm at 96 pixels an inch
    assert page.tab.is_visible(".sheet")
    height = page.tab.evaluate("document.querySelector('.sheet').getBoundingClientRect().height")
    assert 200 < height < 269 / 25.4 * 96
    assert page.tab.evaluate("document.documentElement.scrollWidth") <= 688
    page.tab.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.tab.locator("details:not([open])").count() == 0
    page.tab.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.tab.locator("details[open]").count() == 0
