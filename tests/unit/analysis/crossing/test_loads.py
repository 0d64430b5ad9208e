from dataclasses import replace

import invented
import numpy as np
import pytest

from analysis.crossing import loads
from analysis.crossing.loads import gas, pin_loads, pin_squares, wheel_load, worst_pin
from analysis.crossing.peaks import peaks
from sim.record import PINS
from sim.unit import ATMOSPHERE


def test_wheel_load_of_a_known_series():
    load = np.concatenate([np.zeros(20), np.linspace(0.5, 100.0, 80)])
    found = wheel_load(invented.made_run(100, gauge_load=load))
    assert found.mean == pytest.approx(load.mean())
    assert found.sd == pytest.approx(np.sqrt(np.mean(load**2) - load.mean() ** 2))
    assert found.off_share == pytest.approx(0.20)
    assert found.p05 == 0.0
    assert found.p95 == pytest.approx(np.sort(load)[94], rel=0.01)


def test_press_load_is_read_from_its_own_channel():
    run = invented.made_run(50, press_load=270.0)
    assert wheel_load(run, "press_load").mean == pytest.approx(270.0)


def _with_pins(steps=100):
    run = invented.made_run(steps)
    pins = np.zeros((steps, 14, 2))
    pins[:, 3, 0] = 300.0
    pins[:, 3, 1] = -400.0
    pins[:, 9, 1] = np.where(np.arange(steps) < 10, 900.0, 0.0)
    return replace(run, pins=pins)


def test_pin_load_is_the_size_of_both_components():
    found = pin_loads(_with_pins())
    assert list(found) == list(PINS)
    steady, short = found["main_lower_rear"], found["bell_crank"]
    assert (steady.peak, steady.rms, steady.mean) == pytest.approx((500.0, 500.0, 500.0))
    assert (short.peak, short.rms, short.mean) == pytest.approx((900.0, 900.0 * np.sqrt(0.1), 90.0))


@pytest.mark.parametrize("at", [37.7, 38.2, 39.5, 40.3, 41.4])
def test_a_peak_where_two_blocks_meet_is_found_with_what_lies_between_steps(at, monkeypatch):
    monkeypatch.setattr(loads, "BLOCK", 20)
    run = invented.made_run(95)
    pins = np.random.default_rng(4).normal(100.0, 5.0, (95, 14, 2))
    pins[:, 5, 0] = 4000.0 / (1.0 + (np.arange(95) - at)[:] ** 2 / 9.0)
    run = replace(run, pins=pins)
    squares = pin_squares(run)
    found = pin_loads(run)
    assert [load.peak for load in found.values()] == np.sqrt(peaks(squares)).tolist()
    assert found["cylinder_arm"].peak > np.sqrt(squares[:, 5].max())
    np.testing.assert_allclose([load.rms for load in found.values()], np.sqrt(squares.mean(axis=0)), rtol=1e-14)
    np.testing.assert_allclose([load.mean for load in found.values()], np.sqrt(squares).mean(axis=0), rtol=1e-14)


def test_worst_pin_looks_only_at_the_steps_asked_for():
    run = _with_pins()
    assert worst_pin(run) == ("bell_crank", pytest.approx(900.0))
    assert worst_pin(run, 10, 50) == ("main_lower_rear", pytest.approx(500.0))


def test_gas_pressures_are_gauge_pressures():
    pressure = ATMOSPHERE + np.linspace(50e5, 70e5, 100)
    found = gas(invented.made_run(100, oil_pressure=pressure))
    assert (found.pressure_min, found.pressure_max) == pytest.approx((50e5, 70e5))
    assert not found.out


def test_gas_runs_out_of_oil_where_the_piston_asks_for_more_than_the_accumulator_holds():
    volume = np.full(100, 0.5e-3)
    volume[40] = 0.701e-3
    assert gas(invented.made_run(100, gas_volume=volume)).out
