"""The live bench in a real Chromium: dragged, typed at, touched, printed, killed, and asked by others."""

from __future__ import annotations

import time
from contextlib import contextmanager

import benches
import pytest

from scenarios.load import load

HOSTILE = '<img src=x onerror="document.title=1"> & </script>"'
FLAT = """title = "Own"
[ground]
length_m = 30
roughness = { class = "none" }
[[ground.features]]
kind = "hump"
at_m = 12
height_mm = 120
length_m = 3
[search]
pressures_bar = [30, 40, 50]
speeds_kmh = [6, 8, 10, 12]
"""
CUT = """() => [...document.querySelectorAll('h1, h2, p, li, dt, dd, label, button, caption, td, th, output, select')]
    .filter((e) => e.offsetParent && !e.closest('.scroll') && !e.closest('.traces') && !e.classList.contains('vh') &&
        (e.getBoundingClientRect().right > innerWidth + 1 ||
         (getComputedStyle(e).display !== 'inline' && e.tagName !== 'SELECT' && e.scrollWidth > e.clientWidth + 1)))
    .map((e) => e.outerHTML.slice(0, 90))"""
FOCUSED = """(() => { const e = document.activeElement, d = e.dataset;
    return e.id || d.kind || d.grip || d.key || e.tagName; })()"""
SMALL = """() => [...document.querySelectorAll('button, select, input')].filter((e) => e.offsetParent
    && e.type !== 'checkbox' && e.getBoundingClientRect().height < 32).map((e) => e.outerHTML.slice(0, 80))"""
BOX = """(name) => { const b = document.querySelector(`.grip[data-grip=${name}]`).getBoundingClientRect();
    return [b.x + b.width / 2, b.y + b.height / 2]; }"""


class Tab:
    """A tab with a bench's page in it, crossed once."""

    def __init__(self, browser, address, width=1280, height=900, **options):
        self.context = browser.new_context(viewport={"width": width, "height": height}, **options)
        self.complaints, self.asked = [], []
        self.page = self.load(address)

    def load(self, address):
        page = self.context.new_page()
        page.on("console", lambda message: self.complaints.append(message.text))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self.asked.append(request.url))
        page.goto(address)
        self.page = page
        self.until("Boolean(window.rowbench && window.rowbench.app.state.now)")
        return page

    def until(self, what, seconds=20.0):
        """Wait for a script to be true; the page lets no test watch it by `eval`."""
        end = time.monotonic() + seconds
        while not self.page.evaluate(what):
            assert time.monotonic() < end, what
            self.page.wait_for_timeout(20)

    def settled(self):
        """Wait until the bench has answered everything."""
        self.page.wait_for_timeout(40)
        self.until("rowbench.desk.idle")

    def scene(self):
        return self.page.evaluate("rowbench.desk.scene")

    def error_at(self, x):
        return self.page.evaluate("(x) => { const r = rowbench.app.state.ride; return r.error(r.nearest(x)); }", x)

    def text(self, name):
        return " ".join(self.page.inner_text(f"#{name}").split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    place = tmp_path_factory.mktemp("bench")
    (place / "own.toml").write_text(FLAT, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def bench(folder):
    with benches.served(folder, "own.toml") as found:
        yield found


@pytest.fixture
def tab(browser, bench):
    made = []

    def open_(**options):
        made.append(Tab(browser, bench.address, **options))
        return made[-1]

    yield open_
    for one in made:
        one.context.close()


@contextmanager
def dragged(page, name, by):
    """A handle dragged and let go at the end of the block."""
    page.locator("#strip").scroll_into_view_if_needed()
    x, y = page.evaluate(BOX, name)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + by[0] / 2, y + by[1] / 2)
    page.mouse.move(x + by[0], y + by[1])
    yield
    page.mouse.up()


def test_a_dragged_hump_takes_the_slot_with_it(tab):
    one = tab()
    before = one.error_at(12.0)
    with dragged(one.page, "move", (150, -20)):
        one.settled()
        moved = one.scene()["features"][0]
        assert moved["at_m"] > 15
        assert moved["height_mm"] > 120
        assert one.page.evaluate("rowbench.app.state.now.ground.soil.length") > 1000
        at = one.page.evaluate("(x) => rowbench.app.state.ride.soil(x)", moved["at_m"])
        assert at == pytest.approx(moved["height_mm"] / 1e3, abs=2e-3)
    assert one.error_at(12.0) != before
    with dragged(one.page, "last", (60, 0)):
        one.settled()
    assert one.scene()["features"][0]["length_m"] > moved["length_m"] + 1
    one.page.click("#undo")
    one.page.click("#undo")
    one.settled()
    assert one.scene()["features"][0] == {"kind": "hump", "at_m": 12, "height_mm": 120, "length_m": 3}
    assert one.error_at(12.0) == before
    assert one.complaints == []


def test_the_setting_follows_the_sliders_and_the_map_is_filled_behind(tab):
    one = tab()
    one.until("rowbench.fields.ended")
    maps = sum(url.endswith("/map") for url in one.asked)
    one.page.fill("#pressure", "50")
    one.page.fill("#speed", "12")
    one.settled()
    assert one.text("verdict").startswith("50 bar (")
    assert "at 12 km/h" in one.text("verdict")
    assert sum(url.endswith("/map") for url in one.asked) == maps  # it holds every pressure and speed already
    assert one.page.locator("#map button.now").get_attribute("aria-label").startswith("50 bar, 12 km/h")
    one.page.fill("#depth", "50")
    one.page.wait_for_timeout(120)
    one.page.fill("#depth", "55")  # the map begun for 50 mm is given up
    one.settled()
    one.until("rowbench.fields.ended")
    assert one.page.evaluate("rowbench.fields.cells") == 12
    one.page.locator("#map button").nth(0).click()
    one.settled()
    assert one.scene()["changes"] == {
        "settings.oil_pressure_bar": 50,
        "settings.speed_kmh": 6,
        "settings.set_depth_mm": 55,
    }
    assert one.page.locator("#map button.no small").first.inner_text().strip()
    assert one.complaints == []


def test_before_is_crossed_on_the_same_ground(tab):
    one = tab()
    one.page.click("#keep")
    one.page.fill("#speed", "14")
    one.settled()
    one.until("Boolean(rowbench.app.state.before)")
    assert one.page.locator("#measures td.b").first.is_visible()
    assert "before: 40 bar, 8 km/h" in one.page.inner_text("#measures caption").replace("\xa0", " ")
    old = one.page.evaluate("rowbench.app.state.before.measures")
    one.page.evaluate("rowbench.strip.put(rowbench.strip.things(rowbench.desk.scene)[0], 'height_mm', 300)")
    one.settled()
    assert one.page.evaluate("rowbench.app.state.before.setting.speed") == pytest.approx(8.0)
    assert one.page.evaluate("rowbench.app.state.before.measures") != old
    assert one.page.evaluate("rowbench.app.state.before.ground.soil") == one.page.evaluate(
        "rowbench.app.state.now.ground.soil"
    )
    assert one.page.locator("#chart-error path.before").count() == 1
    one.page.click("#swap")
    one.settled()
    assert one.page.evaluate("rowbench.app.state.now.setting.speed") == pytest.approx(8.0)
    assert one.scene()["features"][0]["height_mm"] == 300
    one.page.click("#forget")
    assert not one.page.locator("#measures td.b").first.is_visible()


def test_all_is_done_by_keyboard_alone(tab):
    one = tab()
    keys = one.page.keyboard
    reached = set()
    for _ in range(150):
        keys.press("Tab")
        reached.add(one.page.evaluate(FOCUSED))
    assert {"open", "save", "close", "place", "play", "pressure", "speed", "depth", "precharge", "redone", "keep",
            "move", "hump", "others", "rough", "find", "thing-0-at_m", "traces"} <= reached  # fmt: skip
    one.page.focus("#pressure")
    keys.press("ArrowRight")
    one.page.focus(".grip[data-grip=move]")
    for key in ("ArrowRight", "ArrowRight", "ArrowUp", "Shift+ArrowRight"):
        keys.press(key)
    one.settled()
    assert one.scene()["features"] == [{"kind": "hump", "at_m": 12.2, "height_mm": 125, "length_m": 3.1}]
    assert one.scene()["changes"] == {"settings.oil_pressure_bar": 41}
    keys.press("Delete")
    one.settled()
    assert one.scene()["features"] == []
    keys.press("Control+z")
    one.settled()
    assert len(one.scene()["features"]) == 1
    one.page.focus("button[data-kind=hollow]")
    keys.press("Enter")
    one.settled()
    assert [thing["kind"] for thing in one.scene()["features"]] == ["hump", "hollow"]
    one.until("rowbench.fields.ended")
    one.page.locator("#map button[tabindex='0']").focus()
    keys.press("ArrowUp")
    one.settled()
    assert one.scene()["changes"]["settings.oil_pressure_bar"] == 50
    one.page.focus("#play")
    keys.press("Space")
    one.page.wait_for_timeout(300)
    assert one.page.get_attribute("#play", "aria-pressed") == "true"
    keys.press("Space")
    assert one.page.get_attribute("#play", "aria-pressed") == "false"


@pytest.mark.parametrize(
    ("width", "height"), [(360, 740), (640, 450), (1280, 900)], ids=["phone", "zoom 200 %", "desk"]
)
def test_nothing_is_cut_at_any_width(tab, width, height):
    one = tab(width=width, height=height)
    one.page.click("#keep")
    one.page.click("button[data-kind=stone]")
    one.page.fill("#find", "tyre")
    one.settled()
    one.until("rowbench.fields.ended")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= width
    assert one.page.evaluate(CUT) == []
    assert one.page.evaluate(SMALL) == []


def test_a_finger_drags_and_taps(tab):
    one = tab(width=360, height=740, has_touch=True)
    one.page.evaluate("document.getElementById('strip').scrollIntoView({block: 'center'}); rowbench.app.move(240)")
    one.page.wait_for_timeout(100)
    x, y = one.page.evaluate(BOX, "move")
    devtools = one.context.new_cdp_session(one.page)
    for kind, dx in (("touchStart", 0), ("touchMove", 10), ("touchMove", 25), ("touchEnd", None)):
        points = [] if dx is None else [{"x": x + dx, "y": y}]
        if kind == "touchEnd":  # a finger rests before it lifts: after a fling Chromium takes the next tap for its end
            one.page.wait_for_timeout(200)
        devtools.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    one.settled()
    assert one.scene()["features"][0]["at_m"] > 12.5
    place = one.page.evaluate("rowbench.app.state.k")
    one.page.wait_for_timeout(400)
    x, y = one.page.evaluate(BOX, "move")
    one.page.touchscreen.tap(x - 60, y + 40)
    one.until(f"rowbench.app.state.k !== {place}")
    assert one.page.evaluate("document.querySelector('figure.unit').getBoundingClientRect().top") == pytest.approx(
        0, abs=1
    )


@pytest.mark.parametrize("options", [{"color_scheme": "dark"}, {"forced_colors": "active"}], ids=["dark", "forced"])
def test_slot_map_and_handles_keep_apart_in_the_dark_and_in_forced_colours(tab, options):
    one = tab(**options)
    one.until("rowbench.fields.ended")
    fills = one.page.evaluate(
        "[...new Set([...document.querySelectorAll('#strip .base path')].map((p) => p.getAttribute('fill')))]"
    )
    assert {"url(#strip-deep)", "url(#strip-shallow)", "url(#strip-right)"} <= set(fills)
    colour = "(e) => getComputedStyle(e).backgroundColor"
    shown = {one.page.locator("#map button").nth(n).evaluate(colour) for n in range(12)}
    assert len(shown) > 3
    dot = one.page.locator(".grip .dot").first.evaluate("(e) => [getComputedStyle(e).fill, getComputedStyle(e).stroke]")
    assert dot[0] != dot[1]


def test_printed_it_is_the_pictures_and_numbers(tab):
    one = tab()
    one.page.emulate_media(media="print")
    one.page.set_viewport_size({"width": 688, "height": 1000})
    one.page.evaluate("window.dispatchEvent(new Event('beforeprint'))")
    assert one.page.evaluate("document.documentElement.scrollWidth") <= 688
    for shown in ("#unit", "#strip", "#chart-error", "#map", "#place-words", "#measures", "#pressure-out"):
        assert one.page.is_visible(shown), shown
    for hidden in ("#pressure", "#save", ".grip", "#find"):
        assert not one.page.locator(hidden).first.is_visible(), hidden


def test_two_tabs_have_a_bench_each(tab):
    one, other = tab(), tab()
    one.page.fill("#pressure", "60")
    one.settled()
    other.page.fill("#pressure", "30")
    other.settled()
    assert one.text("verdict").startswith("60 bar")
    assert other.text("verdict").startswith("30 bar")
    one.page.reload()
    one.until("Boolean(window.rowbench && rowbench.app.state.now)")
    one.settled()
    assert one.text("verdict").startswith("60 bar")  # a page that is loaded again goes on where it was


def test_a_setting_that_cannot_be_crossed_is_told_and_left_again(tab):
    one = tab()
    one.page.evaluate("rowbench.desk.change((s) => { s.changes['settings.speed_kmh'] = 90; })")
    one.settled()
    assert "given 90" in one.text("said")
    assert one.page.evaluate("document.body.classList.contains('stale')")
    one.page.click("#undo")
    one.settled()
    assert not one.page.is_visible("#said")
    assert not one.page.evaluate("document.body.classList.contains('stale')")


def test_a_title_with_markup_in_it_is_text_here_and_in_the_file(tab, folder):
    one = tab()
    one.page.click("#save")
    one.page.fill("#title-in", HOSTILE)
    one.page.fill("#name", "hostile")
    one.page.click("#saver button[value=yes]")
    one.until("document.getElementById('heard').textContent.startsWith('Saved hostile.toml')")
    one.settled()
    assert one.page.inner_text("#title") == HOSTILE
    assert one.page.locator("img").count() == 0
    assert load(folder / "hostile.toml").title == HOSTILE
    one.page.click("#save")
    one.page.fill("#name", "hostile")
    one.page.click("#saver button[value=yes]")
    one.page.locator("#asker button[value=no]").click()
    one.until("document.getElementById('heard').textContent === 'Nothing was written.'")
    one.page.click("#save")
    one.page.fill("#name", "../out")
    one.page.click("#saver button[value=yes]")
    one.until("document.getElementById('heard').textContent.startsWith('Nothing was written: name')")
    assert not (folder.parent / "out.toml").exists()


def test_a_file_is_opened_and_undo_brings_back_what_was_there(tab):
    one = tab()
    one.page.click("#open")
    one.page.select_option("#which", "stony")
    one.page.click("#opener button[value=yes]")
    one.until("rowbench.app.state.now.title.startsWith('Stony')")
    assert "300 m of ground, the bench crosses 40 m" in one.text("heard")
    one.page.click("#undo")
    one.settled()
    assert one.page.inner_text("#title") == "Own"


def test_any_value_is_found_and_moved(tab):
    one = tab()
    one.page.fill("#find", "mass carrier")
    one.until("document.querySelectorAll('#found li').length > 0")
    field = one.page.locator("#found li", has_text="unit.carrier.mass_kg").locator("input[type=number]")
    field.fill("150")
    field.press("Tab")
    one.settled()
    assert one.scene()["changes"] == {"unit.carrier.mass_kg": 150}
    assert "unit.carrier.mass_kg = 150" in one.text("changed")
    one.page.click("#changed button")
    one.settled()
    assert one.scene()["changes"] == {}


def test_nothing_is_asked_of_anyone_else(tab, bench):
    one = tab()
    one.until("rowbench.fields.ended")
    assert all(url.startswith((bench.address, "data:")) for url in one.asked)
    assert one.complaints == []


def test_a_page_of_another_origin_gets_no_answer_and_changes_nothing(browser, bench, folder):
    context = browser.new_context()
    page = context.new_page()
    page.goto("about:blank")
    before = sorted(folder.iterdir())
    tried = """async ([address, mode]) => {
        try { const a = await fetch(address + "save", {method: "POST", mode, headers: {"Content-Type": "text/plain"},
              body: JSON.stringify({scene: {file: "own.toml"}, name: "stolen"})}); return [a.type, a.status]; }
        catch (error) { return ["none", 0]; } }"""
    for mode in ("cors", "no-cors"):
        kind, status = page.evaluate(tried, [bench.address, mode])
        assert (kind, status) in (("none", 0), ("opaque", 0))
    assert sorted(folder.iterdir()) == before
    answer = page.goto(bench.address.rsplit("/", 2)[0] + "/guessed/")
    assert answer.status == 403
    assert "only by the address" in page.inner_text("body")
    context.close()


def test_a_bench_that_ends_says_so_and_another_takes_up_what_was_there(browser, folder):
    with benches.served(folder, "own.toml") as first:
        port = int(first.address.split(":")[2].split("/")[0])
        one = Tab(browser, first.address)
        one.page.fill("#pressure", "61")
        one.settled()
    one.page.fill("#pressure", "62")
    one.until("document.getElementById('said').textContent.includes('does not answer')")
    with benches.served(folder, "own.toml", port) as second:
        one.until("document.getElementById('said').textContent.includes('Another bench answers')")
        one.load(second.address)
        one.page.locator("button", has_text="Take up what was on the bench").click()
        one.settled()
        assert one.scene()["changes"] == {"settings.oil_pressure_bar": 62}
        one.page.click("#close")
        one.until("document.getElementById('said').textContent.includes('is closed')")
    assert second.saved == []
    one.context.close()


def test_whatever_can_be_added_can_be_crossed_and_taken_away_again(tab):
    one = tab()
    kinds = one.page.evaluate("[...document.querySelectorAll('#others option')].map((o) => o.value).filter(Boolean)")
    kinds += one.page.evaluate("[...document.querySelectorAll('#adders button')].map((b) => b.dataset.kind)")
    assert {"hump", "stone", "rut", "ridges", "patch", "stone_field", "gilgai"} <= set(kinds)
    for kind in kinds:
        button = one.page.locator(f"#adders button[data-kind={kind}]")
        if button.count():
            button.click()
        else:
            one.page.select_option("#others", kind)
        one.settled()
        assert not one.page.is_visible("#said"), (kind, one.text("said"))
        one.page.locator("#things fieldset button").last.click() if kind != "stone" else one.page.click("#undo")
        one.settled()
        assert [thing["kind"] for thing in one.scene()["features"]] == ["hump"], kind
    assert one.complaints == []
