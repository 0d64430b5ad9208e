"""The screen of `rowbench run` as a person meets it: on a terminal of 80 × 24, the depth first, with places."""

from dataclasses import replace

import numpy as np
import pytest

from analysis.cli.main import main
from analysis.crossing.depth import depth_error
from analysis.crossing.summary import run_summary
from analysis.crossing.words import run_text
from scenarios.format.library import library
from scenarios.load import load
from sim.run import simulate

LINES, COLUMNS = 24, 80


@pytest.fixture(scope="module")
def crossed():
    """Scenario, run and document of one scenario: stones, episodes, breakouts."""
    scenario = load("stony", changes={"ground.length_m": 40})
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    return scenario, run, run_summary(run, scenario)


@pytest.fixture
def screen(monkeypatch):
    monkeypatch.setenv("COLUMNS", str(COLUMNS))


def test_every_scenario_of_the_library_fits_a_terminal(screen, capsys):
    """Room is left for the prompt. Warnings come on top: two scenarios are there to show some."""
    tall = {}
    for entry in library():
        assert main(["run", entry.name]) == 0
        lines = capsys.readouterr().out.rstrip("\n").split("\n")
        assert max(map(len, lines)) <= COLUMNS, entry.name
        if len(lines) > LINES - 1:
            tall[entry.name] = lines
    assert {name for name, lines in tall.items() if not any(line.startswith("Warning") for line in lines)} == set()
    assert len(tall) <= 3


def test_the_depth_stands_first_and_the_largest_errors_with_their_places(crossed, screen):
    scenario, run, d = crossed
    error, at = depth_error(run), run.series["distance"]
    assert d["depth"]["error_max_mm"] == pytest.approx(1e3 * error.max(), rel=1e-12)
    assert d["depth"]["error_min_mm"] == pytest.approx(1e3 * error.min(), rel=1e-12)
    assert d["depth"]["error_max_at_m"] == at[np.argmax(error)]
    assert d["depth"]["error_min_at_m"] == at[np.argmin(error)]
    lines = run_text(d, scenario.title, 10.0, True).split("\n")
    after = lines[lines.index("") + 1 :]
    assert after[0].startswith("On depth")
    assert after[1].startswith("Largest error")
    assert f"{1e3 * error.max():.0f} mm too deep at {at[np.argmax(error)]:.1f} m" in after[1]


def test_a_disc_that_leaves_the_ground_is_not_told_as_too_shallow_by_more_than_it_was_deep(crossed):
    """Its set depth was 40 mm: "93 mm too shallow" would make a reader wonder."""
    scenario, _, d = crossed
    over = -d["depth"]["error_min_mm"] - 40.0
    assert over > 10.0
    assert f"disc {over:.0f} mm in the air at" in " ".join(run_text(d, scenario.title, 10.0, True).split())
    held = {**d, "depth": {**d["depth"], "error_min_mm": -12.4, "error_min_at_m": 7.04}}
    assert "12 mm too shallow at 7.0 m" in run_text(held, scenario.title, 10.0, True)


def test_the_length_is_that_of_the_track(crossed):
    scenario, _, d = crossed
    assert 39.98 < d["distance_m"] <= 40.0
    assert ", 40 m, ground 21" in run_text(d, scenario.title, 10.0, True).split("\n")[0]


def test_a_share_below_nothing_is_explained_and_only_then(crossed):
    scenario, _, d = crossed
    below = "Below 0 %: it makes the error smaller."
    causes = {**d["causes"], "toolbar_pitch": {"mean_mm": 0.1, "sd_mm": 0.5, "share_of_variance": -0.022}}
    assert below in run_text({**d, "causes": causes}, scenario.title, 10.0, True)
    causes["toolbar_pitch"] = {**causes["toolbar_pitch"], "share_of_variance": -0.003}  # told as 0 %
    text = run_text({**d, "causes": causes}, scenario.title, 10.0, True)
    assert below not in text
    assert "−0 %" not in text


def test_loads_have_three_figures_and_one_unit_at_a_size(crossed):
    scenario, _, d = crossed
    gauge = {**d["gauge_load"], "mean_N": 21352.0, "p05_N": 463.44, "p95_N": 1714.2}
    text = run_text({**d, "gauge_load": gauge}, scenario.title, 10.0, True)
    assert "mean 21.4 kN, nine tenths 463 N to 1710 N" in text


def test_pins_and_details_are_asked_for(screen, capsys):
    shown = {}
    for option in ((), ("--pins",), ("--details",)):
        assert main(["run", "hump", *option]) == 0
        shown[option] = capsys.readouterr().out
    assert "Pin loads, kN" not in shown[()]
    for option in ("--pins", "--details"):
        assert "turnbuckle rear" in shown[option,]
    assert "licensed people" in shown["--details",]
    assert "licensed people" not in shown[()]
    for text in (shown[()], shown["--pins",]):  # the caution in one sentence
        assert "it can kill. All cautions: --details" in text


def test_nothing_is_called_a_seed_but_the_grain(crossed):
    scenario, _, d = crossed
    for details in (False, True):
        text = run_text(d, scenario.title, 10.0, True, details=details)
        assert [line for line in text.split("\n") if "seed" in line.lower() and "slot" not in line.lower()] == []


def test_a_setting_left_alone_is_told_where_it_gives_another_share(screen, capsys):
    assert main(["run", "smooth"]) == 0
    assert "left alone" not in capsys.readouterr().out
    assert main(["run", "rough", "--pressure", "70"]) == 0
    assert "with the setting left alone" in capsys.readouterr().out


def test_a_file_that_begins_a_sentence_keeps_its_name(crossed):
    scenario, _, d = crossed
    told = {**d, "warnings": ["log.csv: points are far apart", "points are far apart"]}
    text = run_text(told, replace(scenario, title="x").title, 10.0, True)
    assert "Warning           log.csv: points" in text
    assert "Warning           Points are" in text


def test_a_feature_tells_what_its_window_judges_it_by(screen, capsys):
    """A share of 40 m hides what one hump costs; over ground without end one place says nothing."""
    assert main(["run", "hump", "--speed", "20"]) == 0
    told = next(line for line in capsys.readouterr().out.split("\n") if line.startswith("At one place"))
    metres = float(told.split("off depth for ")[1].split(" m")[0])
    scenario = load("hump", changes={"settings.speed_kmh": 20})
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    assert metres == pytest.approx(run_summary(run, scenario)["depth"]["off_depth_at_one_place_m"], abs=0.051)
    assert main(["run", "rough"]) == 0
    assert "At one place" not in capsys.readouterr().out
