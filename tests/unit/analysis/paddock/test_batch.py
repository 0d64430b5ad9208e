"""A pass against the single run, groups, blocks, and batches: serial, parallel and resumed bit for bit."""

from __future__ import annotations

import multiprocessing
import os
import signal
from dataclasses import replace

import h5py
import numpy as np
import paddocks
import pytest
from every import every

from analysis.crossing.breakouts import breakouts
from analysis.crossing.depth import causes, depth_measures
from analysis.crossing.episodes import wheel_off_episodes
from analysis.crossing.loads import pin_loads, wheel_load
from analysis.paddock import store
from analysis.paddock.batch import run_batch, unit_seconds
from analysis.paddock.fingerprint import fingerprint
from analysis.paddock.passes import crossing as paddock_pass
from analysis.paddock.passes.batch_part import compute_parts
from analysis.paddock.passes.crossing import Stopped, run_pass, section_bounds
from analysis.paddock.passes.executors import on_processes
from analysis.paddock.store_parts import parts_folder
from scenarios.format.errors import ScenarioError
from scenarios.paddock.rows import Lanes
from sim.run import simulate
from sim.track import Track

STONY = "[stones]\nstones_per_ha = 30000\ntop_mm = [-20, 40]"
LEVEL = {"settings": 'toolbar = "level"'}


def track_of(paddock, number: int, row: int) -> Track:
    """The whole track of one row of a pass."""
    lanes = Lanes(paddock, number)
    first = round(lanes.start / 0.005)
    found = lanes.row_ground(first, round((lanes.length + lanes.ahead) / 0.005) - first)
    return Track(
        first * 0.005, 0.005, found.ground[row], found.stone_top[row], found.stone_id[row], found.strength[row],
        0.0, lanes.length, paddock.stones.contact,
    )  # fmt: skip


def _bits_equal(a, b) -> bool:
    return a.dtype == b.dtype and a.tobytes() == b.tobytes()


def same_datasets(a, b) -> None:
    """Every dataset of two results has the same bits."""
    with h5py.File(a) as one, h5py.File(b) as two:
        assert set(one) == set(two)
        for name in one:
            if isinstance(one[name], h5py.Dataset):
                mine, theirs = one[name][...], two[name][...]
                equal = np.array_equal if mine.dtype.kind == "O" else _bits_equal  # texts are held by pointers
                assert equal(mine, theirs), name
        assert one["inputs/problems"][()] == two["inputs/problems"][()]
        assert one["inputs/heeds"][()] == two["inputs/heeds"][()]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("batch")


def test_a_row_of_a_pass_is_the_single_run_of_its_track(folder):
    """Toolbar level, stony ground: all that is kept of a row equals the measures of `simulate` on its whole track."""
    tables = {**LEVEL, "passes": "count = 2\nlength_m = 80", "search": "pressures_bar = [45]\nspeeds_kmh = [8]"}
    paddock = paddocks.small(folder, tables, STONY)
    number, row = 1, 2
    result = run_pass(paddock, number)
    run = simulate(paddock.unit, paddock.soil, track_of(paddock, number, row), paddock.tried[0])
    tolerance = paddock.limits.depth_tolerance
    depth, wheel, pins = depth_measures(run, tolerance), wheel_load(run), pin_loads(run)
    mine = {name: values[0, row] for name, values in result.totals.items()}
    assert mine["row_steps"] == run.series["depth"].size
    assert mine["row_error_mean"] == pytest.approx(depth.error_mean, abs=1e-9)
    assert mine["row_error_sd"] == pytest.approx(depth.error_sd, rel=1e-6)
    assert mine["row_on_depth_share"] == pytest.approx(depth.on_depth_share, abs=2e-4)
    assert mine["row_wheel_off_share"] == pytest.approx(wheel.off_share, abs=2e-4)
    assert mine["row_gauge_load_mean"] == pytest.approx(wheel.mean, rel=1e-6)
    assert mine["row_pin_peak"] == pytest.approx([p.peak for p in pins.values()], rel=1e-4)
    assert mine["row_pin_rms"] == pytest.approx([p.rms for p in pins.values()], rel=1e-6)
    parts = causes(run).parts.values()
    assert mine["row_cause_mean"] == pytest.approx([c.mean for c in parts], abs=1e-9)
    assert mine["row_cause_share"] == pytest.approx([c.share_of_variance for c in parts], abs=1e-5)
    episodes, events = wheel_off_episodes(run, tolerance), breakouts(run, tolerance)
    table = result.episodes[result.episodes[:, 1] == row]
    assert len(table) == len(episodes) > 5
    assert table[:, 2] == pytest.approx([e.start for e in episodes], abs=1e-4)
    assert table[:, 3] == pytest.approx([e.length for e in episodes], abs=1e-4)
    table = result.breakouts[result.breakouts[:, 1] == row]
    assert len(table) == len(events) > 0
    assert table[:, 3] == pytest.approx([e.rise for e in events], abs=1e-6)
    assert mine["row_error_count"].sum() == mine["row_gauge_count"].sum() == mine["row_steps"]


def test_sections_add_up_to_the_row(folder):
    paddock = paddocks.small(folder)
    result = run_pass(paddock, 0)
    assert result.sections["on_depth_share"].shape == (2, 5, 4)
    weights = np.diff(section_bounds(20.0, 5.0, 8 / 3.6, 0.003735))
    shares = (result.sections["on_depth_share"] * weights).sum(axis=2) / weights.sum()
    assert shares == pytest.approx(result.totals["row_on_depth_share"], abs=1e-6)
    peaks = result.sections["pin_peak"].max(axis=2)
    assert peaks == pytest.approx(result.totals["row_pin_peak"].max(axis=2), rel=1e-6)


@every(("length", "section", "number"), [(20.0, 5.0, 4), (23.0, 5.0, 5), (22.0, 5.0, 4), (6.0, 20.0, 1)])
def test_the_last_section_takes_what_is_left(length, section, number):
    for speed, step in ((2.0, 0.004), (3.0, 0.00277)):
        bounds = section_bounds(length, section, speed, step)
        assert bounds.size == number + 1
        assert (bounds[-1] - bounds[0]) * speed * step == pytest.approx(length, abs=2.0 * speed * step)
        assert np.abs(np.diff(bounds)[:-1] * speed * step - section).max(initial=0.0) <= speed * step


def test_rows_do_not_depend_on_their_group_nor_on_the_stretches(folder, monkeypatch):
    paddock = paddocks.small(folder, more=STONY)
    together = run_pass(paddock, 0)
    monkeypatch.setattr(paddock_pass, "_by_eight", lambda places: [[place] for place in places])
    alone = run_pass(paddock, 0)
    for name, values in together.totals.items():
        assert values.tobytes() == alone.totals[name].tobytes(), name
    monkeypatch.undo()
    monkeypatch.setattr(paddock_pass, "BLOCK", 7.0)
    short = run_pass(paddock, 0)
    for name in ("row_error_mean", "row_error_sd", "row_gauge_load_mean", "row_pin_rms"):
        assert together.totals[name] == pytest.approx(short.totals[name], rel=1e-7, abs=1e-10), name


def test_the_toolbar_rolls_and_each_row_has_its_own_height(folder):
    """A bank under the left wheels only: left rows are carried up, right ones pushed down."""
    flat = {"ground": "seed = 1", "soil": "variation_cv = 0", "passes": "count = 1\nlength_m = 30\nsection_m = 1"}
    more = '[[ground.features]]\nkind = "hump"\nat_m = [15, 2.5]\nheight_mm = 100\nlength_m = 6\nwidth_m = 1.3'
    machine = "rows = 5\nrow_spacing_m = 0.25\nfront_wheels_m = [-2, 2]\nrear_wheels_m = [-2, 2]"
    paddock = paddocks.small(folder, {**flat, "machine": machine}, more)
    load = run_pass(paddock, 0).sections["gauge_load_mean"][1][:, 15].astype(float)
    between = np.diff(load)  # from left to right
    assert between.min() > 5.0  # carried up on the left: less load there
    assert between == pytest.approx(np.full(4, between.mean()), rel=0.1)
    level = replace(paddock, settings=replace(paddock.settings, toolbar="level"))
    still = run_pass(level, 0).sections["gauge_load_mean"][1][:, 15]
    assert np.ptp(still) < 0.01


def test_serial_parallel_and_resumed_give_the_same_bits(folder):
    paddock = paddocks.small(folder, more=STONY)
    told = []
    run_batch(paddock, folder / "serial.h5", workers=1, told=lambda *words: told.append(words))
    assert [words[:2] for words in told] == [(1, 3), (2, 3), (3, 3)]
    assert told[-1][2] == pytest.approx(sum(unit_seconds(paddock, i) for i in range(3)))
    run_batch(paddock, folder / "parallel.h5", workers=2)
    same_datasets(folder / "serial.h5", folder / "parallel.h5")

    def stop(done, total, worked):
        if done == 2:
            raise KeyboardInterrupt

    out = folder / "resumed.h5"
    with pytest.raises(KeyboardInterrupt):
        run_batch(paddock, out, workers=2, told=stop)
    assert not out.exists()
    assert len(list(parts_folder(out).glob("pass-*.npz"))) == 2
    outcome = run_batch(paddock, out, workers=2)
    assert (outcome.passes, outcome.before) == (3, 2)
    assert not parts_folder(out).exists()
    same_datasets(folder / "serial.h5", out)
    assert run_batch(paddock, out).before == 3
    assert (folder / "serial.h5").read_bytes() == out.read_bytes()


def test_passes_joined_one_at_a_time_or_together_are_the_same(folder, monkeypatch):
    paddock = paddocks.small(folder, {"keep": "series_every_m = 0.5"}, more=STONY)
    run_batch(paddock, folder / "together.h5", 1)
    monkeypatch.setattr(store, "AT_ONCE", 1)
    run_batch(paddock, folder / "alone.h5", 1)
    same_datasets(folder / "together.h5", folder / "alone.h5")
    with h5py.File(folder / "together.h5") as stored:
        for number in range(3):
            kept = run_pass(paddock, number)
            assert _bits_equal(stored["gauge_load_mean"][:, number], kept.sections["gauge_load_mean"])
            assert _bits_equal(stored["row_error_sd"][:, number], kept.totals["row_error_sd"])
            assert _bits_equal(stored["series_depth_error"][:, number], kept.series[:, :, 0])
            assert _bits_equal(stored["zone"][number], kept.zone)


def test_a_pass_is_given_up_when_asked(folder):
    paddock = paddocks.small(folder)
    with pytest.raises(Stopped):
        compute_parts(paddock, [0], "x", lambda: True)


def test_a_row_that_cannot_be_crossed_is_told_and_leaves_the_others(folder):
    more = '[[ground.features]]\nkind = "hump"\nat_m = [10, 0.625]\nheight_mm = 1500\nlength_m = 1.2\nwidth_m = 0.2'
    paddock = paddocks.small(folder, {**LEVEL, "passes": "count = 1\nlength_m = 20"}, more)
    result = run_pass(paddock, 0)
    assert set(result.problems) == {(0, 2), (1, 2)}
    assert "travel stop" in result.problems[(0, 2)]
    error = result.totals["row_error_mean"]
    assert np.isnan(error[:, 2]).all()
    assert np.isfinite(error[:, [0, 1, 3, 4]]).all()


def test_a_setting_that_cannot_be_made_is_told(folder):
    tables = {"search": "pressures_bar = [30, 250]\nspeeds_kmh = [8]", "passes": "count = 1\nlength_m = 10",
              "unit": "cylinder = { bore_mm = 70 }"}  # fmt: skip
    result = run_pass(paddocks.small(folder, tables), 0)
    assert set(result.problems) == {(1, row) for row in range(5)}
    assert "try: less settings.oil_pressure_bar" in result.problems[(1, 0)]
    assert np.isnan(result.totals["row_error_mean"][1]).all()
    assert np.isfinite(result.totals["row_error_mean"][0]).all()  # though three of its rows shared a group with them
    assert np.isnan(result.by_setting["reached"][1])


def test_the_fingerprint_follows_what_decides_the_numbers(folder):
    one = fingerprint(paddocks.small(folder))
    assert one == fingerprint(paddocks.small(folder))
    assert one == fingerprint(paddocks.small(folder, {"limits": "on_depth_share_min = 0.5"}))
    for tables in ({"limits": "depth_tolerance_mm = 8"}, {"ground": "seed = 6"}, {"machine": "rows = 6"},
                   {"search": "pressures_bar = [45]"}, {"unit": "carrier = { mass_kg = 96 }"}):  # fmt: skip
        assert one != fingerprint(paddocks.small(folder, tables))


def test_results_of_something_else_are_refused(folder):
    paddock = paddocks.small(folder)
    out = folder / "other.h5"
    run_batch(paddock, out, workers=1)
    other = paddocks.small(folder, {"ground": "seed = 99"})
    with pytest.raises(ScenarioError, match="a result of another paddock or other settings"):
        run_batch(other, out)


def test_series_are_kept_on_request(folder):
    paddock = paddocks.small(folder, {"keep": "series_every_m = 0.5", "passes": "count = 1\nlength_m = 20"})
    result = run_pass(paddock, 0)
    assert result.series.shape == (2, 5, 2, 40)
    assert np.isfinite(result.series).all()
    assert result.series[:, :, 0].mean() == pytest.approx(result.totals["row_error_mean"].mean(), abs=1.5e-3)


def test_processes_give_the_same_bytes_and_end_when_closed(folder):
    paddock = paddocks.small(folder, more=STONY)
    here = dict(enumerate(compute_parts(paddock, range(3), "x")))
    assert dict(on_processes(paddock, "x", [0, 1, 2], 2)) == here
    assert dict(on_processes(paddock, "x", [0, 1, 2], 1)) == here  # all three at once
    left = on_processes(paddock, "x", list(range(3)), 2)
    next(left)
    left.close()
    assert multiprocessing.active_children() == []


def test_a_worker_that_is_killed_is_told(folder):
    paddock = paddocks.small(folder, {"passes": "count = 40\nlength_m = 20"})
    left = on_processes(paddock, "x", list(range(40)), 2)
    next(left)
    os.kill(multiprocessing.active_children()[0].pid, signal.SIGKILL)
    with pytest.raises(ScenarioError, match="one of the worker processes was ended from outside"):
        list(left)
