"""The page: what it holds, that it is the same again, that it stands alone, what it says where nothing is found."""

from __future__ import annotations

import base64
import html
import json
import re
from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from every import every

from analysis.crossing.depth import depth_error
from analysis.drawn.samples import FULL, SERIES, packed, sample_places, sampled
from analysis.explain.parts import along, wheel_off
from analysis.report.assumptions import assumptions, value_text
from analysis.report.lead import worst_stretch
from analysis.report.page import page as write_page
from analysis.report.page import page_data
from analysis.report.report import make_report
from analysis.report.words import sentences
from analysis.window.sentences import headline
from scenarios.load import load
from sim.heeds import Heed
from sim.record import CAUSES
from sim.run import simulate

DAY = date(2026, 1, 31)
GROUND = """title = "Back paddock"
[ground]
length_m = 30
roughness = {{ class = "{letter}" }}
[stones]
placed = [{{ at_m = 15, length_m = 0.3, top_mm = 30 }}]
[search]
pressures_bar = [50, 70]
speeds_kmh = [7, 9]
seeds = 1
[limits]
wheel_off_share_max = 0.2
on_depth_share_min = 0.6
gauge_load_max_N = 3000
"""


def made(folder, letter="C"):
    path = folder / "back_paddock.toml"
    path.write_text(GROUND.format(letter=letter), encoding="utf-8")
    return make_report(load(path), workers=1)


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    return made(tmp_path_factory.mktemp("report"))


@pytest.fixture(scope="module")
def page(report):
    return write_page(report, DAY)


def test_warnings_of_the_setting_are_on_page_and_sheet_and_of_every_setting_in_its_data(report):
    """A warning put on one setting that is not chosen, and on the one that is."""
    advice, found = report.advice, report.advice.outcome
    other = next((i, j) for i in (0, 1) for j in (0, 1) if (i, j) != (found.i, found.j))
    little, lost = Heed("little_gas", "gas fills only 15 %"), Heed("gauge_lost", "pressed in <far>", barred=True)
    window = replace(advice.window, heeds={(found.i, found.j, 0): (little,), (*other, 0): (lost,)})
    warned = replace(report, advice=replace(advice, window=window, outcome=replace(found, heeds=(little,))))
    text = write_page(warned, DAY).replace("\N{NO-BREAK SPACE}", " ")
    assert text.count("Warning: Gas fills only 15 %.") == 1
    assert text.count("Gas fills only 15 %.") == 2  # the setting sheet too
    assert "Of the 3 other settings: gauge wheel pressed over its radius at 1, never picked." in text
    cells = page_data(warned)["cells"]
    assert [cell["warnings"] for cell in cells].count([]) == 2
    assert cells[other[1] * 2 + other[0]]["warnings"] == [lost.text]
    assert not cells[other[1] * 2 + other[0]]["ok"]
    assert not report.advice.outcome.heeds
    assert "Warning: G" not in write_page(report, DAY)


def embedded(page):
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', page, re.DOTALL)[1])


def test_the_same_scenario_gives_the_same_page_apart_from_the_date(tmp_path, page):
    again = write_page(made(tmp_path), date(2027, 2, 3))
    assert again != page
    assert again.replace("2027-02-03", "2026-01-31") == page


def test_the_page_stands_alone(page):
    addresses = r"https?://[^\s\"'<)]+|(?:src|href)\s*=\s*\"(?!#|data:)[^\"]*\"|url\((?!#)[^)]*\)|@import"
    outside = re.findall(addresses, page)
    assert outside == []
    assert "Content-Security-Policy" in page
    for word in ("{{", "{%", "None", "nan"):
        assert word not in re.sub(r"<script.*?</script>|<style.*?</style>", "", page, flags=re.DOTALL), word


def test_the_page_tells_what_it_must(report, page):
    bare = re.sub(r"<[^>]+>", " ", re.sub(r"<script.*?</script>|<style.*?</style>", "", page, flags=re.DOTALL))
    text = " ".join(html.unescape(bare).split())
    for head in ("The pick and why", "Try other settings", "Stones and breakouts", "Pin loads", "How sure", "Cautions",
                 "What it rests on", "Made again"):  # fmt: skip
        assert head in text, head
    found = report.advice.outcome
    assert f"Set {found.oil_pressure / 1e5:g} bar" in text
    assert text.count(f"Set depth {found.set_depth_mm:g} mm") == 2  # on the sheet and on the page
    ends = {"lowest_pressure": "the lowest tried", "highest_speed": "the fastest tried; faster was not looked at"}
    for end in found.at_edge:
        assert text.count(ends.get(end, "tried")) >= 2
    assert "rowbench report back_paddock.toml --out page.html" in text
    for sentence in ("dry nitrogen only", "no design loads", "Depth is that of the slot"):
        assert sentence in text
    assert "grounds number 1" in text
    assert "ASABE D497" in text
    assert "main lower front" in text


def test_the_pick_is_told_in_three_sentences(report):
    said = sentences(report)
    assert len(said) == 3
    assert said[0].startswith(headline(report.advice.outcome))
    assert said[1].startswith("Faster: ")
    assert said[2].startswith("Lower: ")
    assert "; higher: " in said[2]
    assert all(text.endswith(".") and ".." not in text for text in said)


def test_packed_samples_are_the_run_to_the_quantum(report):
    scenario, window, lead = report.scenario, report.advice.window, report.lead
    pack = packed([report.cells[i, j] for j in range(2) for i in range(2)], lead.samples)
    i, j = 1, 0
    s = scenario.with_settings(oil_pressure=float(window.pressures[i]), speed=float(window.speeds[j]), setting="redone")
    run = simulate(s.unit, s.soil, s.track(), s.settings)
    at = sample_places(lead.first, lead.last)
    got = {}
    for name, channel in pack["channels"].items():
        numbers = (
            np.frombuffer(base64.b64decode(channel["data"]), "<i2").reshape(-1, pack["n"]) if channel["data"] else 0
        )
        assert np.abs(numbers).max() <= FULL * 1.01
        got[name] = (numbers * channel["quantum"])[j * 2 + i] if channel["data"] else np.zeros(pack["n"])
    assert set(got) == set(SERIES)
    error = np.interp(at, along(run), depth_error(run)) * 1e3
    quanta = sum(0.5 * pack["channels"][name]["quantum"] for name in CAUSES)
    np.testing.assert_allclose(sum(got[name] for name in CAUSES), error, rtol=0.0, atol=quanta + 1e-9)
    load = np.interp(at, along(run), run.series["gauge_load"])
    np.testing.assert_allclose(got["gauge_load"], load, rtol=0.0, atol=pack["channels"]["gauge_load"]["quantum"])
    # a blow between two samples is not lost
    assert got["rock_force"].max() == pytest.approx(run.series["rock_force"].max(), rel=1e-3)
    cell = report.cells[i, j]
    inside = (along(run) >= lead.first) & (along(run) <= lead.last)
    assert cell.on_depth_share == np.mean(np.abs(depth_error(run)[inside]) <= 0.010)
    assert cell.wheel_off_share == np.mean(wheel_off(run)[inside])


def test_the_stretch_is_where_the_error_is_largest():
    scenario = load("stony")
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    first, last = worst_stretch(run, scenario.x_from, scenario.x_to)
    x, square = along(run), depth_error(run) ** 2
    means = [square[(x >= a) & (x < a + 40.0)].mean() for a in np.arange(0.0, 261.0, 20.0)]
    assert last - first == 40.0
    assert square[(x >= first) & (x < last)].mean() >= max(means) - 1e-9
    assert worst_stretch(run, 0.0, 12.02) == pytest.approx((0.0, 12.0))
    assert sampled(run, first, last, 0.010).samples["pin_worst"].size == 801


def test_the_data_for_the_script_are_plain_and_whole(report, page):
    data = embedded(page)
    assert data == json.loads(json.dumps(page_data(report)))
    assert len(data["cells"]) == 4
    share = report.advice.window.over_seeds("on_depth_share")
    for n, cell in enumerate(data["cells"]):
        assert cell["share"] == share[n % 2, n // 2]
        assert cell["ok"] == (not cell["fails"])
    ground = np.array(data["ground"]["soil"])
    assert np.abs(np.diff(ground)).max() < 500  # tenths of millimetres over 0.02 m


def test_the_default_grid_stays_below_three_megabytes(report):
    pack = packed([report.cells[i, j] for j in range(2) for i in range(2)], report.lead.samples)
    longest = 801 / pack["n"] * 14  # 40 m and 7 × 8 settings in place of 2 × 2
    size = sum(len(c["data"]) for c in pack["channels"].values()) * longest
    assert size + 200_000 < 3_000_000


def test_where_no_setting_will_do_the_page_says_so(tmp_path):
    path = tmp_path / "hopeless.toml"
    path.write_text(GROUND.format(letter="F").replace("max = 0.2", "max = 0.0"), encoding="utf-8")
    hopeless = make_report(load(path), workers=1)
    page = write_page(hopeless, DAY)
    words = " ".join(re.sub(r"<[^>]+>", " ", page).split())
    assert "No setting to use: none of those tried meets every limit" in words
    assert "fails least (not to be set)" in words
    assert "comes nearest" not in page
    assert '<table class="set">' not in page
    assert '<dl class="facts">\n<div><dt>Set depth' not in page
    assert page.count("<h2>Weight</h2>") == 0
    assert "At the setting that fails least (not to be set): 8 rows" in words
    for gains in ("What it buys", "Beside the present setting"):
        assert gains not in page


def test_values_are_told_with_unit_and_source(report):
    groups = dict(assumptions(report.scenario))
    soil = {row.name: row for row in groups["Soil"]}
    assert (soil["strength"].value, soil["strength"].source) == ("1.2 MPa", "assumed")
    assert "D497" in soil["speed factor"].source
    limits = {row.name: row for row in groups["Limits"]}
    assert limits["wheel off share max"].source == "given in the scenario file"
    links = {row.name: row for row in groups["Unit: main links"]}
    assert links["stop down"].value == "−28°"
    assert all(row.meaning and row.source for rows in groups.values() for row in rows)


@every(("value", "edge", "text"), [(0.04, "mm", "40 mm"), ((-0.05, 0.43), "m", "−0.05, 0.43 m"),
                                                     ("redone", "1", "redone"), (0.25, "1", "0.25")])  # fmt: skip
def test_a_value_reads_in_its_own_unit(value, edge, text):
    assert value_text(value, edge) == text
