"""Places on measured ground are the file's own distances, wherever they are named."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.crossing.figure_crossing import crossing_figure
from analysis.crossing.summary import run_summary
from analysis.explain.document import document
from analysis.explain.explain import explain
from analysis.explain.figure_causes import figure_data
from analysis.report.lead import worst_stretch
from analysis.storage.run_file import save_run
from analysis.storage.run_table import load_run_table
from scenarios.format.errors import ScenarioError
from scenarios.load import load

HUMP = 120.0  # [m], in a file that begins at 100 m


@pytest.fixture(scope="module")
def scenario(tmp_path_factory):
    x = 100.0 + 0.1 * np.arange(401)
    h = 0.075 * (1.0 + np.cos(2 * np.pi * np.clip((x - HUMP) / 3.0, -0.5, 0.5)))
    path = tmp_path_factory.mktemp("measured") / "p.csv"
    path.write_text("distance_m,height_m\n" + "\n".join(f"{a:.1f},{b:.6f}" for a, b in zip(x, h, strict=True)) + "\n")
    return load("smooth", profile=path)


@pytest.fixture(scope="module")
def told(scenario):
    return explain(scenario, 115.0, 125.0, workers=1)


def test_the_hump_is_told_where_the_file_has_it(told):
    found = document(told)
    assert (found["from_m"], found["to_m"]) == (115.0, 125.0)
    assert found["places"]
    for place in found["places"]:
        assert abs(place["at_m"] - HUMP) < 3.0
        assert f"At {place['at_m']:.2f} m" in place["says"][0]


def test_a_stretch_is_asked_for_in_the_files_distances(scenario):
    with pytest.raises(ScenarioError, match=r"--from: given 20; allowed: 100 to 140 m, the measured ground"):
        explain(scenario, 20.0, 125.0)


def test_figures_and_the_pages_stretch_count_so_too(told, scenario):
    x = figure_data(told)["x"]
    assert 115.0 <= x[0] < x[-1] <= 125.0
    run = told.run
    figure = crossing_figure(run, run_summary(run, scenario), 0.01, "t")
    assert figure.axes[0].get_xlim() == pytest.approx((100.0, 140.0), abs=0.05)
    first, last = worst_stretch(run, scenario.x_from, scenario.x_to)
    assert (first, last) == pytest.approx((100.0, 140.0))


def test_a_saved_run_keeps_them(told, scenario, tmp_path):
    path = tmp_path / "run.h5"
    save_run(path, told.run, scenario, run_summary(told.run, scenario), {})
    found = load_run_table(path)
    assert (found.x_from, found.x_to) == (100.0, 140.0)
    top = found.track["x"][np.argmax(found.track["ground"])]
    assert top == pytest.approx(HUMP, abs=0.006)
    assert found.series["distance"][0] == pytest.approx(100.0, abs=0.02)
