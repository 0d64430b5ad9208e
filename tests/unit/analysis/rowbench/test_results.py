"""What the door hands back: the numbers of the commands, as arrays, documents, screens and figures; short reprs."""

import json
import sys
from dataclasses import replace

import numpy as np
import paddocks
import pytest
from matplotlib.figure import Figure

import rowbench as rb
from analysis.cli.main import main
from analysis.crossing.measures import in_window
from analysis.window.cross_grid import search
from scenarios.load import load
from sim.record import CHANNELS, PINS
from sim.run import simulate

GRIDS = tuple(measure.name for measure in in_window())
SHORT = """title = "Short"
settings = { oil_pressure_bar = 60 }
search = { pressures_bar = [50, 60], speeds_kmh = [7, 9], seeds = 2 }
[ground]
length_m = 12
roughness = { class = "D" }
"""

EASY = {"on_depth_share_min": 0.0, "wheel_off_share_max": 1.0, "gauge_load_min_N": 0.0, "gauge_load_max_N": 20000.0}


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("door") / "short.toml"
    path.write_text(SHORT)
    return path


@pytest.fixture(scope="module")
def scenario(file):
    return rb.load(file)


@pytest.fixture(scope="module")
def run(scenario):
    return scenario.run(speed_kmh=9)


@pytest.fixture(scope="module")
def window(scenario):
    return rb.window(scenario)


@pytest.fixture(scope="module")
def explained(scenario):
    return rb.explain(scenario, from_m=2, to_m=10)


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    folder = tmp_path_factory.mktemp("paddock")
    return rb.paddock(paddocks.write(folder), folder / "r.h5", workers=1)


def printed(capsys, *words):
    """The JSON document of a command."""
    assert main([*map(str, words), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def plain(document):
    """A document as JSON gives it back, without the times that differ from call to call."""
    found = json.loads(json.dumps(document, default=lambda value: value.item()))
    if isinstance(found.get("run"), dict):
        found["run"] = {k: v for k, v in found["run"].items() if k not in ("wall_s", "compile_s")}
    return found


def test_a_run_is_that_of_the_command(scenario, run, capsys, file):
    assert plain(run.summary()) == plain(printed(capsys, "run", file, "--speed", "9"))
    plainly = load(file, changes={"settings.speed_kmh": 9})
    alone = simulate(plainly.unit, plainly.soil, plainly.track(), plainly.settings)
    assert all(np.array_equal(run.series[c.name], alone.series[c.name]) for c in CHANNELS)
    assert scenario.settings.speed == 8 / 3.6  # the scenario stays as it is
    assert main(["run", str(file), "--speed", "9"]) == 0
    assert capsys.readouterr().out == run.text() + "\n"


def test_the_second_engine_is_asked_for_by_name(scenario, monkeypatch):
    def instead(*parts):
        return replace(simulate(*parts), engine="rigid")

    monkeypatch.setattr(
        "sim.rigid.simulate.simulate_rigid", instead
    )  # itself takes many seconds; it has tests of its own
    run = scenario.run(engine="rigid", speed_kmh=7)
    assert run.summary()["engine"] == run.engine == "rigid"
    assert run.settings.speed == 7 / 3.6


def test_a_crossing_that_cannot_be_made_is_an_error_of_its_own(scenario):
    with pytest.raises(rb.SimulationError, match="travel stop"):
        scenario.run(ground={"roughness": {"class": "H"}}, speed_kmh=30)
    assert not issubclass(rb.SimulationError, rb.ScenarioError)


def test_a_window_is_that_of_the_command(window, scenario, capsys, file):
    made = search(scenario, [50, 60], [7, 9], 2)
    assert all(np.array_equal(window.grids[name], made.grids[name], equal_nan=True) for name in GRIDS)
    said = printed(capsys, "window", file)
    del said["run"]
    assert plain(window.summary()) == said
    assert window.text().startswith("Short (short): 12 m, grounds 1–2, 2 pressures × 2 speeds")


def test_a_pick_or_the_nearest_is_there_and_never_both(window, scenario):
    assert (window.pick is None) != (window.nearest is None)
    easy = rb.window(scenario.changed(limits=EASY), seeds=1)
    assert [sentence.split(":")[0] for sentence in easy.why] == ["Faster", "Lower", "Higher"]
    hard = rb.window(scenario.changed(limits={"gauge_load_max_N": 1.0, "gauge_load_min_N": 0.0}), seeds=1)
    assert any("would do if the limits were" in sentence for sentence in hard.why)
    assert easy.pick is not None
    assert (easy.pick.oil_pressure_bar, easy.pick.speed_kmh) == (easy.pick.oil_pressure / 1e5, 9.0)
    assert hard.pick is None
    assert hard.nearest.oil_pressure_bar in (50.0, 60.0)


def test_a_window_takes_its_axes_and_tells_how_far_it_is(scenario):
    told = []
    made = rb.window(
        scenario, pressures_bar=[70, 50], speeds_kmh=[8], seeds=[7], workers=1, progress=lambda *n: told.append(n)
    )
    assert (made.pressures.tolist(), made.seeds) == ([50e5, 70e5], (7,))
    assert told == [(1, 2), (2, 2)]
    with pytest.raises(rb.ScenarioError, match="2 faults"):
        rb.window(scenario, pressures_bar=[600], speeds_kmh=[99])


def test_an_explanation_is_that_of_the_command(explained, capsys, file):
    assert plain(explained.summary()) == printed(capsys, "explain", file, "--from", "2", "--to", "10")
    assert explained.text().startswith("Short (short)")


def test_a_stretch_off_the_ground_is_told_by_the_names_of_the_door(scenario):
    with pytest.raises(rb.ScenarioError, match=r"^to_m: given 99; allowed: 0 to 12 m"):
        rb.explain(scenario, to_m=99)


def test_a_pressure_chart_is_that_of_the_command(scenario, capsys, file):
    made = rb.pressures(scenario)
    assert plain(made.summary()) == printed(capsys, "pressures", file)
    assert main(["pressures", str(file)]) == 0
    assert capsys.readouterr().out == made.text() + "\n"
    assert [line.oil_pressure for line in rb.pressures(scenario, pressures_bar=[55]).states[0].lines] == [55e5]


def test_faults_of_a_pressure_chart_come_at_once(scenario):
    with pytest.raises(rb.ScenarioError) as caught:
        rb.pressures(scenario, pressures_bar=[600, 0.1], cold_degC=40, hot_degC=35)
    assert len(caught.value.faults) == 3


def test_a_paddock_is_that_of_the_command_and_opens_again(result, capsys):
    assert plain(result.summary()) == printed(capsys, "paddock", result.table.path)
    again = rb.paddock(result.table.path)
    assert plain(again.summary()) == plain(result.summary())
    assert (again.pick is None) != (again.nearest is None)
    assert main(["paddock", str(result.table.path)]) == 0
    assert capsys.readouterr().out.startswith(result.text())


def test_faults_of_a_paddock_come_at_once(tmp_path, result):
    bad = paddocks.write(tmp_path, {"passes": "count = 0\nlength_m = 20"})
    with pytest.raises(rb.ScenarioError) as caught:
        rb.paddock(bad)
    assert len(caught.value.faults) == 2
    with pytest.raises(rb.ScenarioError, match="given with a stored result"):
        rb.paddock(result.table.path, tmp_path / "other.h5")


def test_every_figure_is_one_of_matplotlib(scenario, run, window, explained, result):
    for figure in (scenario.figure(), run.figure(), window.figure(), rb.pressures(scenario).figure(),
                   explained.figure(), explained.figure("pins"), result.map_figure(), result.rows_figure(),
                   result.settings_figure()):  # fmt: skip
        assert isinstance(figure, Figure)
    with pytest.raises(rb.ScenarioError, match='try: "pins"'):
        explained.figure("pin")
    with pytest.raises(rb.ScenarioError, match="on-depth, wheel-off, worst-pin"):
        result.map_figure("depth")


def test_a_movie_is_written(scenario, tmp_path):
    rb.explain(scenario, from_m=4, to_m=5).save_movie(tmp_path / "unit.gif")
    assert (tmp_path / "unit.gif").read_bytes().startswith(b"GIF8")


def test_a_run_as_a_dataset(run):
    data = run.to_xarray()
    for channel in CHANNELS:
        assert data[channel.name].attrs == {"units": channel.unit, "long_name": channel.doc}
        assert data[channel.name].dims == ("distance",)
        assert np.array_equal(data[channel.name], run.series[channel.name])
    assert data.pins.dims == ("distance", "pin", "axis")
    crank = data.pins.sel(pin="crank")
    size = np.hypot(crank.sel(axis="x"), crank.sel(axis="z"))
    assert np.array_equal(size, run.pin_load("crank"))
    assert data.sizes["pin"] == len(PINS)
    assert (data.attrs["Conventions"], data.attrs["speed_kmh"]) == ("CF-1.11", 9.0)
    data.depth[:] = 0.0
    assert run.series["depth"].max() > 0.0  # the run keeps its own numbers


def test_a_dataset_goes_to_a_file_and_back(run, window, tmp_path):
    import xarray  # noqa: PLC0415

    for name, data in (("run", run.to_xarray()), ("window", window.to_xarray())):
        data.to_netcdf(tmp_path / f"{name}.nc", engine="h5netcdf")
        with xarray.open_dataset(tmp_path / f"{name}.nc", engine="h5netcdf") as back:
            assert back.equals(data)


def test_a_window_as_a_dataset(window):
    data = window.to_xarray()
    assert set(data) == {*GRIDS, "downforce"}
    for name in GRIDS:
        assert np.array_equal(data[name], window.grids[name], equal_nan=True)
        assert set(data[name].attrs) == {"units", "long_name"}
    one = data.gauge_load_mean.sel(oil_pressure_bar=60, speed_kmh=9, seed=2)
    assert float(one) == window.grids["gauge_load_mean"][1, 1, 1]
    assert (data.oil_pressure_bar.attrs["units"], data.speed_kmh.attrs["units"]) == ("bar", "km/h")


def test_without_xarray_the_error_says_what_to_install(run, window, monkeypatch):
    monkeypatch.setitem(sys.modules, "xarray", None)
    for made in (run, window):
        with pytest.raises(ImportError, match="pip install xarray"):
            made.to_xarray()


def test_every_repr_is_one_or_two_short_lines(scenario, run, window, explained, result):
    shown = [scenario, run, window, window.advice, explained, rb.pressures(scenario), result, result.table,
             result.choice, window.only_seed(0), load("rough")]  # fmt: skip
    for made in shown:
        lines = repr(made).splitlines()
        assert len(lines) <= 2, lines
        assert max(map(len, lines)) <= 120, lines
    assert repr(scenario) == "Scenario short: Short\n  12 m, 60 bar, 8 km/h, set depth 40 mm, seed 1"
    assert repr(run).startswith("Run: 60 bar, 9 km/h, set depth 40 mm, 12 m (compiled)\n  short: on depth (±10 mm) ")
    assert repr(window).startswith("Window short: 2 × 2 settings (50 to 60 bar, 7 to 9 km/h), 2 grounds\n")


def test_wear_of_a_run_is_what_the_command_tells(file, scenario, capsys):
    found = scenario.run().wear(hectares_a_year=900.0, width_m=6.0, pin="press_arm")
    assert main(["pins", str(file), "--hectares-a-year", "900", "--width", "6", "--pin", "press_arm", "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(found.summary()))
    assert found.text().startswith("Pins and bushes: Short")
    assert "first, " in repr(found)
    assert isinstance(found.figure(), Figure)
    with pytest.raises(rb.ScenarioError) as told:
        scenario.run().wear(hectares_a_year=-1.0, pin="knee")
    assert len(told.value.faults) == 2
