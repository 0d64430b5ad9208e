"""Values in doubt in a paddock: a sample crossed with sets of them, put upon the whole, kept and told."""

from __future__ import annotations

import html
import json
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from analysis.cli.main import main
from analysis.crossing.measures import in_window
from analysis.paddock.batch import run_batch
from analysis.paddock.doubt.chance import WHOLE, chance_of, in_doubt, of_region, values_of
from analysis.paddock.doubt.estimate import estimated
from analysis.paddock.doubt.find import find_sampled
from analysis.paddock.doubt.sample import crossed, sample_of
from analysis.paddock.doubt.sampled import Sampled, checked_sampled, names_of_measures
from analysis.paddock.summary import summarise, to_dict
from analysis.paddock.table import load_table
from analysis.paddock.words import paddock_text
from analysis.report.paddock import paddock_page
from analysis.storage.paddock_inputs import Sizes
from analysis.storage.stored_values import Unfit
from analysis.window.doubt.words import chance_words
from analysis.window.pick import Nearest, Pick
from scenarios.doubt.doubtful import BY_NAME
from scenarios.paddock.load import load_paddock
from scenarios.paddock.varied import believed, with_values, without_effect

FILE = """title = "Two soils"
[machine]
rows = 12
[passes]
count = 5
length_m = 40
[ground]
seed = 3
roughness = { class = "D" }
[[zones]]
name = "clay"
start_m = [0, 9]
end_m = [40, 12]
strength_MPa = 1.5
[limits]
confidence = 0.6
on_depth_share_min = 0.75
gauge_load_max_N = 2000
[search]
pressures_bar = [40, 50]
speeds_kmh = [8, 10]
"""
UNCERTAIN = """[uncertain]
keys = ["soil.strength_MPa", "unit.disc.edge_width_mm"]
centre = [1.2, 5.0]
spread = [1.4, 1.2]
correlation = [[1, -0.3], [-0.3, 1]]
readings = 42
"""
SETS = 5
NAMES = names_of_measures()


def written(folder: Path, text: str) -> Path:
    path = folder / "mine.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def paddock(tmp_path_factory):
    return load_paddock(written(tmp_path_factory.mktemp("doubt"), FILE + UNCERTAIN))


@pytest.fixture(scope="module")
def table(paddock, tmp_path_factory):
    """The whole, crossed with the values of the file."""
    out = tmp_path_factory.mktemp("whole") / "r.h5"
    run_batch(replace(paddock, uncertain=None), out, 1)
    return load_table(out)


@pytest.fixture(scope="module")
def sampled(paddock, table) -> Sampled:
    found = find_sampled(paddock, table, 1, count=SETS)
    assert found is not None
    return found


def test_what_a_sample_shows_is_put_upon_the_whole():
    """Means and shares shift by the sample's change, peaks change by its share, counts by its number for each metre."""
    whole, own, other = (np.ones((1, len(NAMES))) for _ in range(3))
    at = {name: NAMES.index(name) for name in ("distance", "on_depth_share", "error_sd", "breakouts", "pin_peak")}
    for values, row in ((whole, (1000.0, 0.9, 4e-3, 20.0, 9e3)), (own, (100.0, 0.95, 5e-3, 1.0, 6e3)),
                        (other, (100.0, 0.80, 8e-3, 3.0, 8e3))):  # fmt: skip
        values[0, list(at.values())] = row
    found = dict(zip(at, estimated(whole, own, other)[0, list(at.values())], strict=True))
    assert found == pytest.approx(
        {"distance": 1000.0, "on_depth_share": 0.75, "error_sd": 7e-3, "breakouts": 40.0, "pin_peak": 12e3}
    )
    assert estimated(whole, own, own) == pytest.approx(whole)
    other[0, at["on_depth_share"]] = 0.0
    assert estimated(whole, own, other)[0, at["on_depth_share"]] == 0.0  # a share stays one: 0.9 − 0.95 is below it


def test_a_sample_meets_every_zone_and_weighs_only_its_rows(paddock, table):
    sample = sample_of(table)
    clay = int(np.flatnonzero((table.zone == 1).any(axis=(1, 2)))[0])
    assert set(sample.passes) == {1, 3, clay}
    assert len(sample.rows) == 8
    made = crossed(paddock, table, sample, float(table.speeds[0]))
    assert made.area == table.machine.width * 40.0 * len(sample.passes)  # passes; what is crossed of them:
    assert made.weight.sum() == pytest.approx(8 * table.machine.row_spacing * 40.0 * len(sample.passes))
    window, there = made.window(table.limits), np.ix_(range(2), sample.passes, sample.rows)
    whole = table.sections["on_depth_share"][there]
    assert window.grids["on_depth_share"][:, 0, 0] == pytest.approx(whole.mean(axis=(1, 2, 3)))


def test_the_estimate_is_near_to_all_rows_crossed_with_the_same_values(paddock, table, sampled, tmp_path):
    """Against the truth that it stands for: every row of every pass with a set's values."""
    j = max(sampled.found)
    known = values_of(table.window(table.limits), j)
    k = int(np.argmax(np.abs(sampled.held.to_z(sampled.values)[:, 0])))
    changed = with_values(paddock, dict(zip(sampled.held.names, sampled.values[k].tolist(), strict=True)))
    run_batch(replace(changed, uncertain=None), tmp_path / "all.h5", 1)
    truth = values_of(load_table(tmp_path / "all.h5").window(table.limits), j)
    found = estimated(known, *(of_region(table, sampled.found[j][n], WHOLE) for n in (0, 1 + k)))
    for name, close in (("on_depth_share", 0.004), ("gauge_load_mean", 5.0), ("depth_mean", 0.05e-3)):
        at = NAMES.index(name)
        assert np.abs(found[:, at] - truth[:, at]).max() < close, name
        assert np.abs(found[:, at] - truth[:, at]).max() < 0.15 * np.abs(known[:, at] - truth[:, at]).max(), name


def test_the_same_for_any_number_of_workers(paddock, table, sampled):
    other = find_sampled(paddock, table, 2, count=SETS)
    assert other is not None
    assert other.document() == sampled.document()


def test_it_comes_back_from_its_file_as_it_was(sampled, table):
    sizes = Sizes(4, 5, 12)
    back = checked_sampled(json.loads(json.dumps(sampled.document())), sizes, 1)
    assert back.document() == sampled.document()
    for region in range(3):
        here, there = (chance_of(table, one, table.limits, region).met for one in (sampled, back))
        assert (here == there).all()


DAMAGES = {
    "no list": lambda d: d.update(values=3),
    "a name that is none": lambda d: d["names"].__setitem__(0, "luck"),
    "a name twice": lambda d: d["names"].__setitem__(0, d["names"][1]),
    "a pass that is not there": lambda d: d["passes"].append(99),
    "no speed": lambda d: d.update(speeds=[]),
    "another number of sets": lambda d: d["speeds"][0]["found"].pop(),
    "a text for a number": lambda d: d["speeds"][0]["found"][0][0][0].__setitem__(0, "1"),
    "measures of another version": lambda d: d["measures"].pop(),
    "more in it": lambda d: d.update(more=1),
}


@pytest.mark.parametrize("damage", DAMAGES)
def test_what_is_not_that_of_a_paddock_is_refused(damage, sampled):
    told = json.loads(json.dumps(sampled.document()))
    DAMAGES[damage](told)
    with pytest.raises(Unfit):
        checked_sampled(told, Sizes(4, 5, 12), 1)


def said_chance(found) -> str:
    return chance_words(found.doubt.chance, found.choice.i, found.choice.j)


def page(found) -> str:
    return " ".join(html.unescape(re.sub("<[^>]+>", " ", paddock_page(found, date(2026, 1, 31)))).split())


def test_the_chance_decides_what_is_set(table, sampled):
    """The rule of a window: the fastest speed at which some pressure has the chance asked for."""
    easy = replace(table, doubt=sampled)
    found = summarise(easy)
    assert found.doubt is not None
    chance = found.doubt.chance
    assert isinstance(found.choice, Pick)
    assert found.choice.chance == chance.grid[found.choice.i, found.choice.j] >= 0.6
    assert "with a chance of" in " ".join(paddock_text(found).split())
    assert to_dict(found)["pick"]["chance"] == found.choice.chance
    assert to_dict(found)["in_doubt"]["sets"] == SETS
    assert f"meets every limit over the whole paddock with a chance of 60 %; here it is {said_chance(found)}" in page(
        found
    )
    # a limit that the values as fitted just meet, and about half of the sets do not
    least = float(values_of(table.window(table.limits), found.choice.j)[:, NAMES.index("on_depth_share")].max())
    hard = replace(table.limits, on_depth_share_min=least - 1e-6, confidence=0.99)
    known = summarise(table, hard).choice
    doubted = in_doubt(easy, hard, known)
    assert isinstance(known, Pick)
    assert doubted is not None
    assert isinstance(doubted.sure, Nearest)
    said = " ".join(paddock_text(summarise(easy, hard)).split())
    assert "No setting to use: none of those tried meets every limit with a chance of 99 %" in said
    assert "so what is in doubt costs the pick" in said


def test_a_speed_that_was_not_looked_at_is_said_to_be_unknown(table, sampled):
    other = replace(sampled, found={0: sampled.found[max(sampled.found)]})
    found = summarise(replace(table, doubt=other))
    assert found.choice.j == 1
    assert found.doubt is None
    assert "The chance at this setting was not looked at" in " ".join(paddock_text(found, details=True).split())


def test_strengths_of_zones_go_with_that_of_the_soil(paddock):
    made = with_values(paddock, {"soil_strength": 1.5 * paddock.soil.strength})
    assert made.zones[0].strength == pytest.approx(1.5 * 1.5e6)
    assert made.soil.strength == 1.5 * paddock.soil.strength
    assert with_values(paddock, {"edge_width": 6e-3}).zones == paddock.zones


def test_what_cannot_matter_is_left_out(paddock):
    assert without_effect(paddock, BY_NAME["stone_contact"]) == "no stones on this ground"
    assert without_effect(paddock, BY_NAME["roughness"]) == ""
    assert believed(paddock).names == ("soil_strength", "edge_width")
    everything = believed(replace(paddock, uncertain=None)).names
    assert "stone_contact" not in everything
    assert len(everything) > 15


def test_the_command_keeps_it_in_the_result(tmp_path, capsys, monkeypatch):
    """From a file to the screen, and again from the result alone."""
    monkeypatch.chdir(tmp_path)
    short = FILE.replace("count = 5", "count = 2").replace("length_m = 40", "length_m = 20").replace("[0, 9]", "[0, 3]")
    written(tmp_path, short.replace("speeds_kmh = [8, 10]", "speeds_kmh = [8]") + UNCERTAIN)
    assert main(["paddock", "mine.toml", "--out", "r.h5"]) == 0
    first = capsys.readouterr().out
    assert "32 sets of values" in " ".join(first.split())
    assert main(["paddock", "r.h5"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "32 sets of values" in told
    assert "2 values in doubt as far as 42 readings left it" in told
    assert len(in_window()) == len(NAMES)
