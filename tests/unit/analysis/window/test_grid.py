import json
from dataclasses import replace

import invented
import numpy as np
import pytest
from single_crossings import cross

from analysis.crossing.depth import on_depth_share
from analysis.crossing.loads import wheel_load, worst_pin
from analysis.crossing.measures import in_window
from analysis.rows import cells
from analysis.rows import crossings as cell_rows
from analysis.rows.cells import Crossing, lay
from analysis.window.cross_grid import search
from analysis.window.document import window_document
from scenarios.format.errors import ScenarioError
from sim.errors import RunError
from sim.run import simulate

PRESSURES, SPEEDS = [40.0, 60.0], [6.0, 10.0]

KEYS = (
    "pressures_bar", "speeds_kmh", "on_depth_share", "on_depth_share_unchanged_setting", "error_sd_mm",
    "depth_mean_mm", "wheel_off_share", "gauge_load_mean_N", "wheel_off_per_km", "breakouts_per_km", "pin_peak_N",
    "pressure_max_bar", "meets_limits", "limits",
)  # fmt: skip


@pytest.fixture(scope="module")
def scenario():
    return invented.short_scenario("stony", 12.0)


@pytest.fixture(scope="module")
def serial(scenario):
    return search(scenario, PRESSURES, SPEEDS, 2, workers=1)


def test_threads_give_the_same_bit_for_bit(scenario, serial):
    threaded = search(scenario, PRESSURES, SPEEDS, 2, workers=3)
    assert {"on_depth_share", "pin_peak", "reached"} < set(serial.grids) == {m.name for m in in_window()}
    for name in serial.grids:
        assert serial.grids[name].shape == (2, 2, 2)
        assert serial.grids[name].tobytes() == threaded.grids[name].tobytes(), name
    assert window_document(serial) == window_document(threaded)


def test_cells_hold_the_measures_of_single_crossings(scenario, serial):
    settings = replace(scenario.settings, oil_pressure=60e5, speed=10.0 / 3.6, setting="redone")
    run = simulate(scenario.unit, scenario.soil, scenario.track(scenario.seed + 1), settings)
    assert serial.grids["on_depth_share"][1, 1, 1] == on_depth_share(run, 0.010)
    assert serial.grids["gauge_load_mean"][1, 1, 1] == pytest.approx(wheel_load(run).mean, rel=1e-9)
    assert serial.grids["pin_peak"][1, 1, 1] == pytest.approx(worst_pin(run)[1], rel=1e-9)
    assert serial.grids["error_sd"][1, 1, 1] == pytest.approx(np.std(run.series["depth"]))
    left = simulate(scenario.unit, scenario.soil, run.track, replace(settings, setting="unchanged"))
    assert serial.grids["on_depth_share_unchanged_setting"][1, 1, 1] == on_depth_share(left, 0.010)
    assert serial.downforce[1] == run.downforce


def test_the_same_ground_in_every_cell(scenario, serial):
    assert np.ptp(serial.grids["distance"]) < 0.02
    assert serial.seeds == (scenario.seed, scenario.seed + 1)
    assert (serial.grids["rock_peak"][..., 0] != serial.grids["rock_peak"][..., 1]).all()


def test_json_has_its_keys_and_shapes_and_no_nan(serial):
    document = window_document(serial)
    assert set(KEYS) <= set(document)
    assert (document["pressures_bar"], document["speeds_kmh"]) == (PRESSURES, SPEEDS)
    for key in KEYS[2:-1]:
        assert np.shape(document[key]) == (2, 2), key
    json.dumps(document, allow_nan=False)
    assert document["limits"]["on_depth_share_min"] == 0.90
    assert document["limits"]["pin_peak_max_N"] is None
    assert "peak pin load" in document["limits"]["not_checked"]


def test_grids_over_seeds_are_means_and_peaks_and_pooled_counts(serial):
    document, grids = window_document(serial), serial.grids
    assert document["error_sd_mm"][0][1] == pytest.approx(1e3 * grids["error_sd"][0, 1].mean())
    assert document["pin_peak_N"][1][0] == grids["pin_peak"][1, 0].max()
    assert document["pressure_max_bar"][1][1] == pytest.approx(grids["pressure_max"][1, 1].max() / 1e5)
    count, length = grids["breakouts"][1, 1].sum(), grids["distance"][1, 1].sum()
    assert count > 0
    assert document["breakouts_per_km"][1][1] == pytest.approx(count / length * 1e3)
    assert document["by_seed"]["breakouts_per_km"][1][1] == pytest.approx(
        (grids["breakouts"][1, 1] / grids["distance"][1, 1] * 1e3).tolist()
    )
    low, high = serial.per_km_interval("breakouts", 1, 1)
    assert low < count / length * 1e3 < high


def test_progress_counts_every_cell_and_seed(scenario):
    told = []
    search(scenario, [60.0], SPEEDS, 2, workers=2, progress=lambda done, total: told.append((done, total)))
    assert told == [(n, 4) for n in range(1, 5)]


def test_pressures_and_speeds_are_sorted_and_counted_once(scenario):
    made = search(scenario, [60.0, 40.0, 60.0], [10.0], [1], workers=1, unchanged=False)
    assert window_document(made)["pressures_bar"] == [40.0, 60.0]
    assert np.isnan(made.grids["on_depth_share_unchanged_setting"]).all()
    assert window_document(made)["on_depth_share_unchanged_setting"] == [[None], [None]]


def test_axes_and_seeds_left_out_are_those_of_the_file(scenario, monkeypatch):
    monkeypatch.setattr("analysis.window.cross_grid.cross_or_find", lambda *given: [Crossing()] * len(given[2]))
    monkeypatch.setattr(
        "analysis.window.cross_grid.lay", lambda scenario, seeds: [cells.Laid(seed, None, None, 0.04) for seed in seeds]
    )
    made = search(scenario, workers=1)
    assert made.pressures.tolist() == list(scenario.search.pressures)
    assert made.speeds.tolist() == list(scenario.search.speeds)
    assert made.seeds == scenario.search_seeds


@pytest.fixture(scope="module")
def soft():
    """A gully and travel stops so soft that at 12 km/h the higher pressures press the arm right through them."""
    scenario = invented.short_scenario("gully", 25.0)
    links = replace(scenario.unit.main_links, stop_stiffness=38e3)
    return replace(scenario, unit=replace(scenario.unit, main_links=links))


def test_a_crossing_that_fails_leaves_its_reason_and_the_rest_stands(soft):
    made = search(soft, [40.0, 60.0, 80.0], [12.0], 1, workers=2)
    assert set(made.problems) == {(2, 0, 0)}
    settings = replace(soft.settings, oil_pressure=80e5, speed=12.0 / 3.6, setting="redone")
    with pytest.raises(RunError) as alone:
        simulate(soft.unit, soft.soil, soft.track(), settings)
    assert made.problems[2, 0, 0] == str(alone.value)
    document = window_document(made)
    assert document["on_depth_share"][0][0] > 0.0
    assert document["on_depth_share"][2] == document["pin_peak_N"][2] == document["breakouts_per_km"][2] == [None]
    assert document["meets_limits"][2] == [False]
    assert document["reasons"] == {"2.0.0": str(alone.value)}
    json.dumps(document, allow_nan=False)


def test_a_crossing_is_the_same_beside_one_that_fails(soft):
    beside, alone = search(soft, [40.0, 60.0, 80.0], [12.0], 1), search(soft, [60.0], [12.0], 1)
    for name in beside.grids:
        assert beside.grids[name][1].tobytes() == alone.grids[name][0].tobytes(), name


def test_settings_that_cannot_be_made_leave_their_reason_and_the_rest_stands(scenario):
    """On a tyre so soft that at the highest pressure no crank angle holds the depth."""
    wheel = replace(scenario.unit.gauge_wheel, tyre_stiffness=30e3)
    weak = replace(scenario, unit=replace(scenario.unit, gauge_wheel=wheel))
    made = search(weak, [40.0, 190.0], [8.0], 2, workers=1)
    single = {k: cross(weak, lay(weak, (k,))[0], replace(weak.settings, oil_pressure=190e5), True) for k in (1, 2)}
    assert made.problems == {(1, 0, 0): single[1].problem, (1, 0, 1): single[2].problem}
    assert "cannot be set: with no crank angle the gauge wheel carries" in single[1].problem
    assert (made.grids["on_depth_share"][0] > 0.0).all()


@pytest.mark.parametrize("name", ["rough", "stony", "hollow", "no_cushion"])
def test_cells_agree_with_crossings_made_one_by_one(name):
    scenario = invented.short_scenario(name, 25.0)
    made = search(scenario, [45.0, 60.0, 90.0], [8.0, 14.0], 1, workers=1)
    laid = lay(scenario, (scenario.seed,))[0]
    counts = (
        "on_depth_share",
        "on_depth_share_unchanged_setting",
        "wheel_off_share",
        "wheel_off_episodes",
        "breakouts",
    )
    for i, p in enumerate(made.pressures):
        for j, v in enumerate(made.speeds):
            alone = cross(scenario, laid, replace(scenario.settings, oil_pressure=float(p), speed=float(v)), True)
            assert set(alone.values) == set(made.grids)
            for measure in made.grids:
                value = made.grids[measure][i, j, 0]
                if measure in counts:
                    assert value == alone.value(measure), (measure, p, v)
                else:
                    assert value == pytest.approx(alone.value(measure), rel=1e-9, abs=1e-15), (measure, p, v)


def test_a_cell_does_not_depend_on_the_others(scenario, serial):
    for i, j, k in ((0, 0, 0), (1, 1, 1), (1, 0, 0)):
        alone = search(scenario, [PRESSURES[i]], [SPEEDS[j]], [serial.seeds[k]])
        for name in serial.grids:
            assert alone.grids[name].tobytes() == serial.grids[name][i, j, k].tobytes(), name


def test_an_unchanged_setting_that_fails_leaves_only_its_own_column_empty(scenario, monkeypatch):
    def failing(march, found):
        able = prepared(march, found)
        left = [one for one in able if one.row.case.settings.setting == "unchanged"]
        found += [(one.asked, (one.row.cell, "unchanged"), "no") for one in left]
        return [one for one in able if one.row.case.settings.setting == "redone"]

    prepared = cell_rows._prepared
    monkeypatch.setattr(cell_rows, "_prepared", failing)
    made = search(scenario, [50.0], [8.0], 1)
    assert np.isnan(made.grids["on_depth_share_unchanged_setting"]).all()
    assert (made.grids["on_depth_share"] > 0.0).all()
    assert not made.problems


def test_at_the_reference_both_settings_are_one_and_the_same(scenario):
    s = scenario.settings
    made = search(scenario, [s.reference_pressure / 1e5], [s.reference_speed * 3.6], 1)
    assert made.grids["on_depth_share_unchanged_setting"] == made.grids["on_depth_share"]


def test_seeds_that_give_one_ground_are_crossed_once():
    scenario = invented.short_scenario("smooth", 6.0)
    if len(lay(scenario, (1, 2))) == 2:  # ground with random parts: make it all the same
        scenario = replace(
            scenario,
            ground=replace(scenario.ground, roughness=None),
            variation=replace(scenario.variation, variation_cv=0.0),
        )
    made = search(scenario, [60.0], [8.0], 3, workers=1)
    assert made.seeds == (1,)
    assert "the same ground" in made.notes[0]


def test_all_values_out_of_range_are_told_at_once(scenario):
    with pytest.raises(ScenarioError) as error:
        search(scenario, [0.0, 60.0, 400.0], [99.0], 1)
    assert len(error.value.faults) == 3
    with pytest.raises(ScenarioError, match="no value given"):
        search(scenario, [], [8.0], 1)
    with pytest.raises(ScenarioError, match="seeds"):
        search(scenario, [60.0], [8.0], 0)


def test_wheel_off_share_falls_with_pressure_while_gauge_and_pin_loads_rise():
    made = search(invented.short_scenario("rough", 60.0), [24.0, 30.0, 40.0], [14.0], 1, unchanged=False)
    off, load, pin = (made.over_seeds(name)[:, 0] for name in ("wheel_off_share", "gauge_load_mean", "pin_peak"))
    assert off[0] > off[1] > off[2] >= 0.0
    assert load[0] < load[1] < load[2]
    assert pin[0] < pin[2]
    assert made.over_seeds("setting_change")[:, 0].tolist() == sorted(
        made.over_seeds("setting_change")[:, 0], reverse=True
    )


def test_depth_scatter_and_wheel_off_share_rise_with_speed():
    made = search(invented.short_scenario("rough", 60.0), [30.0], [8.0, 11.0, 14.0], 1, unchanged=False)
    for name in ("error_sd", "wheel_off_share"):
        values = made.over_seeds(name)[0]
        assert values[0] < values[1] < values[2], name
