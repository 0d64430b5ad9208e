"""The page as a reader meets it: sliders, map, keyboard, phone width, print, nothing fetched, nothing slow."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import date

import pytest

from analysis.drawn.samples import Crossed
from analysis.movie.scene import turned
from analysis.present.unit_points import unit_points
from analysis.report.edge_words import used
from analysis.report.page import page as write_page

WIDTHS = (360, 768, 1280)
TRACES = ("scrollWidth", "clientWidth")
SLOW = 100.0  # an interaction must take less [ms]


def shown(tab):
    """What the page shows of the crossing."""
    return tab.evaluate("""() => ({
        error: document.querySelector('#chart-error').innerHTML, load: document.querySelector('#chart-load').innerHTML,
        pin: document.querySelector('#chart-pin').innerHTML, unit: document.querySelector('#unit').innerHTML,
        here: document.querySelector('#here').textContent, verdict: document.querySelector('#verdict').textContent,
        cell: document.querySelector('#cell').textContent })""")


def slide(tab, name, value):
    """Move a slider as a hand does, one input event."""
    tab.evaluate(
        "([name, value]) => { const s = document.getElementById(name); s.value = value; "
        "s.dispatchEvent(new Event('input', {bubbles: true})); }",
        [name, value],
    )


def test_sliders_change_the_crossing_at_once(opened):
    page = opened()
    before = shown(page.tab)
    slide(page.tab, "pressure", 0)
    lower = shown(page.tab)
    for part in ("error", "load", "pin", "unit", "here", "verdict", "cell"):
        assert lower[part] != before[part], part
    assert lower["verdict"].startswith("30\N{NO-BREAK SPACE}bar")
    slide(page.tab, "speed", 3)
    faster = shown(page.tab)
    assert faster["error"] != lower["error"]
    assert "at 12\N{NO-BREAK SPACE}km/h" in faster["verdict"]
    assert page.tab.text_content("#speed-out") == "12 km/h"
    assert page.complaints == []


def test_what_is_shown_is_the_run_of_that_setting(opened, report):
    page = opened()
    for i, j in ((0, 0), (2, 3)):
        page.tab.evaluate("([i, j]) => rowbench.choose(i, j)", [i, j])
        cell = report.cells[i, j].samples
        for k in (0, 333, 799):
            parts = [cell[name][k] for name in ("ground_shape", "tyre_and_sinkage", "linkage", "toolbar_pitch",
                                                "lift_off")]  # fmt: skip
            assert page.tab.evaluate("k => rowbench.error(k)", k) == pytest.approx(sum(parts), abs=0.02)
            got = page.tab.evaluate("k => rowbench.value('gauge_load', k)", k)
            assert got == pytest.approx(cell["gauge_load"][k], abs=1.0)


def test_the_drawn_unit_is_the_unit(opened, report):
    page = opened()
    i, j, k = 1, 2, 400
    page.tab.evaluate("([i, j]) => rowbench.choose(i, j)", [i, j])
    drawn = page.tab.evaluate("k => rowbench.unitPoints(k)", k)
    cell = report.cells[i, j]
    at = {name: float(cell.samples[name][k]) for name in ("arm_angle", "press_angle", "pitch", "toolbar_height")}
    local = unit_points(report.scenario.unit, cell.crank_angle, at["arm_angle"], at["press_angle"])
    flat = {name: turned(place, at["pitch"]) for name, place in local.items()}
    x = report.lead.first + 0.05 * k - flat["disc_hub"][0]
    for name, place in drawn.items():
        assert math.dist(place, (x + flat[name][0], at["toolbar_height"] + flat[name][1])) < 1e-3, name


def test_a_tap_on_the_map_and_the_arrow_keys_choose(opened):
    page = opened()
    page.tab.click("#map button[aria-label^='60 bar, 6 km/h']")
    assert page.tab.text_content("#pressure-out") == "60 bar"
    page.tab.keyboard.press("ArrowDown")
    page.tab.keyboard.press("ArrowRight")
    assert page.tab.text_content("#verdict").startswith("40\N{NO-BREAK SPACE}bar")
    assert page.tab.get_attribute("#map button:focus", "aria-label").startswith("40 bar, 8 km/h")
    assert page.tab.locator("#map button[aria-pressed=true]").count() == 1
    assert page.tab.locator("#map button[tabindex='0']").count() == 1


def test_all_controls_are_reached_and_worked_by_keyboard(opened):
    page = opened()
    reached = []
    for _ in range(8):
        page.tab.keyboard.press("Tab")
        reached.append(page.tab.evaluate("document.activeElement.id || document.activeElement.closest('table')?.id || "
                                         "document.activeElement.className"))  # fmt: skip
    assert reached[:6] == ["skip", "pressure", "speed", "map", "place", "play"]
    page.tab.focus("#pressure")
    page.tab.keyboard.press("Home")
    assert page.tab.text_content("#pressure-out") == "30 bar"
    assert "kgf a row" in page.tab.get_attribute("#pressure", "aria-valuetext")


def test_every_control_picture_and_table_has_words(opened):
    page = opened()
    nameless = page.tab.evaluate("""() => [...document.querySelectorAll('input, button, svg[role=img]')].filter((e) =>
        !(e.getAttribute('aria-label') || e.getAttribute('aria-labelledby') || e.textContent.trim() ||
          (e.labels && e.labels.length))).map((e) => e.id || e.outerHTML.slice(0, 60))""")
    assert nameless == []
    assert page.tab.get_attribute("html", "lang") == "en"
    assert page.tab.get_attribute("#verdict", "role") == "status"
    ids = page.tab.evaluate("[...document.querySelectorAll('[id]')].map((e) => e.id)")
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_cut_at_any_width(opened, width):
    page = opened(width, 740)
    for details in page.tab.locator("details").all():
        details.evaluate("(e) => { e.open = true; }")
    assert page.tab.evaluate("document.documentElement.scrollWidth") <= width
    cut = page.tab.evaluate("""() => [...document.querySelectorAll('h1, h2, p, li, dt, dd, th, td, label, output, ' +
            'button, caption, figcaption')]
        .filter((e) => e.offsetParent && !e.closest('.vh') && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 &&
            !e.closest('.scroll') && getComputedStyle(e).display !== 'inline').map((e) => e.outerHTML.slice(0, 80))""")
    assert cut == []
    outside = page.tab.evaluate("""() => [...document.querySelectorAll('svg text')].filter((t) => {
        const box = t.getBoundingClientRect(), all = t.ownerSVGElement.getBoundingClientRect();
        return box.left < all.left - 1 || box.right > all.right + 1 || box.top < all.top - 1 ||
            box.bottom > all.bottom + 1;
    }).map((t) => t.ownerSVGElement.id + ': ' + t.textContent)""")
    assert outside == []
    assert page.complaints == []


def test_targets_are_large_enough_for_a_thumb(opened):
    page = opened(360, 740)
    small = page.tab.evaluate("""() => [...document.querySelectorAll('button, input, summary')].map((e) =>
        [e.id || e.className, e.getBoundingClientRect()]).filter(([, b]) => b.height < 32).map(([name]) => name)""")
    assert small == []


def test_nothing_is_fetched(opened, page_file):
    page = opened()
    slide(page.tab, "pressure", 2)
    assert page.asked == [page_file.as_uri()]
    assert page.complaints == []


def test_an_interaction_is_quick(opened):
    page = opened()
    times = page.tab.evaluate("""() => { const found = [];
        for (let n = 0; n < 12; n++) { rowbench.choose(n % 3, n % 4); found.push(rowbench.state.last_ms); }
        for (let n = 0; n < 12; n++) { rowbench.move(60 * n); found.push(rowbench.state.last_ms); }
        return found; }""")
    assert sorted(times)[len(times) // 2] < SLOW


def test_the_unit_moves_on_request_and_stops(opened):
    page = opened()
    page.tab.evaluate("rowbench.move(0)")
    page.tab.click("#play")
    for _ in range(100):  # the page's own policy forbids the driver's waiting by a script
        page.tab.wait_for_timeout(50)
        if page.tab.evaluate("rowbench.state.k") > 2:
            break
    assert page.tab.evaluate("rowbench.state.k") > 2
    assert page.tab.get_attribute("#play", "aria-pressed") == "true"
    page.tab.click("#play")
    at = page.tab.evaluate("rowbench.state.k")
    page.tab.wait_for_timeout(150)
    assert page.tab.evaluate("rowbench.state.k") == at


def test_with_reduced_motion_nothing_runs_by_itself(opened):
    page = opened(reduced_motion="reduce")
    page.tab.evaluate("rowbench.move(0)")
    assert page.tab.text_content("#play") == "On by half a metre"
    page.tab.click("#play")
    page.tab.wait_for_timeout(100)
    assert page.tab.evaluate("rowbench.state.k") == 10


def test_a_tap_on_a_chart_moves_the_place(opened):
    page = opened()
    chart = page.tab.locator("#chart-error")
    chart.click(position={"x": 0.5 * chart.bounding_box()["width"], "y": 80})
    assert abs(page.tab.evaluate("rowbench.state.k / rowbench.samples") - 0.48) < 0.03


def test_the_first_printed_page_is_the_setting_sheet(opened):
    page = opened()
    assert not page.tab.is_visible(".sheet")
    page.tab.emulate_media(media="print")
    assert page.tab.is_visible(".sheet")
    assert not page.tab.is_visible("#play")
    page.tab.set_viewport_size({"width": 688, "height": 1000})  # A4 less its margins: 182 mm at 96 pixels an inch
    height = page.tab.evaluate("document.querySelector('.sheet').getBoundingClientRect().height")
    assert height < 269 / 25.4 * 96
    assert page.tab.evaluate("getComputedStyle(document.querySelector('.sheet')).breakAfter") == "page"
    assert page.tab.pdf(prefer_css_page_size=True).startswith(b"%PDF")


def test_printing_opens_what_is_folded_and_folds_it_again(opened):
    page = opened()
    page.tab.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert page.tab.locator("details:not([open])").count() == 0
    page.tab.evaluate("window.dispatchEvent(new Event('afterprint'))")
    assert page.tab.locator("details[open]").count() == 0


def test_markup_in_a_title_is_text(opened):
    page = opened()
    assert "Page & <ground>" in page.tab.text_content("header")
    assert page.tab.locator("ground").count() == 0


def test_a_setting_that_could_not_be_crossed_is_told(opened, report, tmp_path):
    lost = Crossed({}, problem="the arm was pressed far into a travel stop")
    cells = {**report.cells, (0, 3): lost}
    file = tmp_path / "page.html"
    file.write_text(write_page(replace(report, cells=cells), date(2026, 1, 31)), encoding="utf-8")
    page = opened(file=file)
    page.tab.evaluate("rowbench.choose(0, 3)")
    assert "could not be crossed: the arm was pressed" in page.tab.text_content("#here")
    assert page.tab.inner_html("#unit") == ""
    page.tab.evaluate("rowbench.choose(1, 1)")
    assert page.tab.inner_html("#unit") != ""
    assert page.complaints == []


def test_the_picture_on_top_is_the_pick_at_its_worst_whatever_is_tried_below(opened):
    page = opened()
    words, drawn = (page.tab.text_content("#worst-words"), page.tab.inner_html("#worst"))
    assert words.startswith("The worst of these")
    assert "of the way is on depth" in words
    assert drawn.count("<circle") >= 3  # disc and both wheels
    top = page.tab.evaluate("document.querySelector('#worst').getBoundingClientRect().bottom")
    assert top < page.tab.evaluate("document.querySelector('#h-why').getBoundingClientRect().top")
    page.tab.click("#map button[aria-label^='60 bar, 6 km/h']")
    assert page.tab.text_content("#worst-words") == words
    assert page.tab.inner_html("#worst") == drawn
    assert page.tab.inner_html("#unit") != drawn


def test_the_slot_is_told_by_pattern_not_by_colour_alone(opened):
    page = opened()
    marks = [page.tab.inner_html(f"#worst-{kind}") for kind in ("deep", "right", "shallow")]
    assert len(set(marks)) == 3
    assert ["<circle" in mark for mark in marks] == [True, False, False]
    assert ["<path" in mark for mark in marks] == [False, False, True]
    used = page.tab.evaluate("[...document.querySelectorAll('#unit path')].map((e) => e.getAttribute('fill'))")
    assert any(fill and fill.startswith("url(#unit-") for fill in used)


@pytest.mark.parametrize("options", [{"color_scheme": "dark"}, {"forced_colors": "active"}])
def test_map_and_marks_keep_apart_in_the_dark_and_in_forced_colours(opened, options):
    page = opened(**options)
    style = """(name) => { const e = document.querySelector(name), s = getComputedStyle(e);
        return [s.backgroundColor, s.backgroundImage, s.boxShadow, s.outlineColor]; }"""
    pick, failing = page.tab.evaluate(style, "#map button.pick"), page.tab.evaluate(style, "#map button.no:not(.pick)")
    assert pick[2] != "none"  # the pick's frame
    assert "gradient" in failing[1]  # the hatching
    assert failing[0] not in ("rgb(255, 255, 255)", "rgba(0, 0, 0, 0)")
    assert page.tab.evaluate("getComputedStyle(document.querySelector('#unit')).backgroundColor") != "rgba(0, 0, 0, 0)"
    ink, paper = (
        page.tab.evaluate(f"getComputedStyle(document.documentElement).{name}") for name in ("color", "backgroundColor")
    )
    if "color_scheme" in options:
        assert sum(map(int, re.findall(r"\d+", ink)[:3])) > 500 > sum(map(int, re.findall(r"\d+", paper)[:3]))


def test_traces_are_wider_than_a_phone_and_follow_the_place(opened):
    page = opened(360, 740)
    wide, seen = (page.tab.evaluate(f"document.querySelector('#traces').{name}") for name in TRACES)
    assert wide > 1.8 * seen
    assert page.tab.evaluate("document.documentElement.scrollWidth") <= 360
    page.tab.evaluate("window.rowbench.move(0)")
    left = page.tab.evaluate("document.querySelector('#traces').scrollLeft")
    page.tab.evaluate("window.rowbench.move(window.rowbench.samples - 1)")
    assert page.tab.evaluate("document.querySelector('#traces').scrollLeft") > left + 200
    page = opened(1280, 900)
    wide, seen = (page.tab.evaluate(f"document.querySelector('#traces').{name}") for name in TRACES)
    assert wide <= seen + 1


def test_the_bar_says_how_near_the_nearest_limit_is(opened, report):
    page = opened()
    check = min(report.advice.outcome.checks, key=lambda one: one.margin)
    assert check.limit.words in page.tab.text_content(".edge-words")
    bar, whole = (
        page.tab.evaluate(f"document.querySelector('{name}').getBoundingClientRect().width")
        for name in (".edge span", ".edge")
    )
    assert bar / whole == pytest.approx(min(used(check), 1.0), abs=0.02)
