"""Order of the time stepping, and accuracy at the default step against a run at an eighth of it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from reduced_unit import level_table, march_from

from sim.record import PINS
from sim.run import prepare, start_state
from sim.unit import Rock, Settings, Soil, Unit

KMH = 1 / 3.6


def same_times(coarse, fine) -> tuple[np.ndarray, np.ndarray]:
    """Samples of both runs that were taken at the same instants."""
    i = np.rint((coarse.series["time"] - fine.series["time"][0]) / fine.step).astype(int)
    both = (i >= 0) & (i < fine.series["time"].size)
    at = i[both]
    assert np.abs(fine.series["time"][at] - coarse.series["time"][both]).max() < 1e-9
    assert both.mean() > 0.99
    return np.flatnonzero(both), at


def errors_of(start, names, *, z_bar: float, time: float, parts: tuple[int, ...], at_all_steps) -> np.ndarray:
    """Errors at the end of a time [s] marched in so many parts, (parts, names)."""
    ready = prepare(Unit(), Soil(), Rock(), Settings())

    def end(n: int) -> np.ndarray:
        got = march_from(ready.model, ready.law, start, step=time / n, steps=n + 1, z_bar=z_bar, table=level_table(0.0))
        assert at_all_steps(got.series)
        return np.array([got.series[name][-1] for name in names])

    exact = end(8 * parts[-1])
    return np.array([np.abs(end(n) - exact) for n in parts])


def test_order_three_on_flat_ground():
    """Displaced by 4 mrad and 7 K from rest, wheels in contact: errors fall by 2³ with each halving."""
    ready = prepare(Unit(), Soil(), Rock(), Settings())
    rest = start_state(Unit(), Soil(), ready)
    errors = errors_of(
        rest._replace(th=rest.th - 0.004, tg=300.0), ("arm_angle", "arm_rate", "press_angle"),
        z_bar=ready.setting.toolbar_height, time=0.256, parts=(256, 512, 1024),  # later the soil has damped it away
        at_all_steps=lambda s: s["gauge_load"].min() > 0.0 and s["press_load"].min() > 0.0,
    )  # fmt: skip
    orders = np.log2(errors[:-1] / errors[1:])
    assert orders.mean(axis=0) == pytest.approx(3.0, abs=0.35)
    assert orders[:, 1] == pytest.approx(3.0, abs=0.1)  # the arm's rate carries most of the error


def test_order_four_in_contact():
    """Hanging on the arm's lower stop, wheels in the air, pressed into it and let go: errors fall by 2⁴."""
    ready = prepare(Unit(), Soil(), Rock(), Settings())
    rest = start_state(Unit(), Soil(), ready)
    stop = Unit().main_links.stop_down
    errors = errors_of(
        rest._replace(th=stop - 0.02, om=0.0, dg=0.0, dp=0.0), ("arm_angle", "arm_rate"),
        z_bar=ready.setting.toolbar_height + 1.0, time=0.032, parts=(16, 32, 64),  # before the press arm meets its stop
        at_all_steps=lambda s: np.abs(s["stop_force"]).min() > 0.0 and s["gauge_load"].max() == 0.0,
    )  # fmt: skip
    orders = np.log2(errors[:-1] / errors[1:])
    assert orders == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize("toolbar", ["level", "carried"])
def test_order_two_or_more_on_tabulated_ground(cross, toolbar):
    """The table's slope has kinks: the order is that of the joins, two, with errors that are tiny by then.

    A speed at which steps and joins have no common measure: else the joins fall on the same places of all steps.
    """
    settings = Settings(speed=1.618, toolbar=toolbar)
    fine = cross("class D short", settings, step=1e-3 / 16)
    errors = []
    for h in (2e-3, 1e-3, 0.5e-3, 0.25e-3):
        run = cross("class D short", settings, step=h)
        at, ref = same_times(run, fine)
        errors.append(np.sqrt(np.mean((run.series["depth"][at] - fine.series["depth"][ref]) ** 2)))
    order = math.log2(errors[0] / errors[-1]) / 3
    assert order > 1.9
    assert errors[0] < 1e-6
    assert np.all(np.diff(errors) < 0.0)


# track, km/h, bar, allowed RMS error of the worst pin's series
ACCURACY = [
    ("class C", 10, 60, 0.003),
    ("class C", 15, 60, 0.003),
    ("class D", 5, 60, 0.003),
    ("class D", 10, 60, 0.003),
    ("class D", 15, 60, 0.003),
    ("class D", 10, 90, 0.003),
    ("waves", 10, 60, 0.003),
    ("stony", 5, 60, 0.003),
    ("stony", 10, 60, 0.003),
    ("stony", 15, 60, 0.003),
    ("one stone", 10, 60, 0.003),
    ("drop", 10, 60, 0.003),
    ("class D", 10, 20, 0.004),  # out of oil all the time: the column's switching costs a little more
]


@pytest.mark.parametrize(("track", "kmh", "bar", "allowed"), ACCURACY)
def test_accuracy_at_the_default_step(cross, track, kmh, bar, allowed):
    """Depth within 0.02 mm RMS, every pin series within 0.3 % RMS, peaks at the same instants within 2 %."""
    settings = Settings(speed=kmh * KMH, oil_pressure=bar * 1e5)
    run = cross(track, settings)
    fine = cross(track, settings, step=run.step / 8)
    at, ref = same_times(run, fine)
    off = run.series["depth"][at] - fine.series["depth"][ref]
    assert 1e3 * np.sqrt(np.mean(off**2)) <= 0.02
    for name in PINS:
        ours, exact = run.pin_load(name)[at], fine.pin_load(name)[ref]
        assert np.sqrt(np.mean((ours - exact) ** 2)) <= allowed * np.sqrt(np.mean(exact**2)), name
        assert ours.max() == pytest.approx(exact.max(), rel=0.02), name


@pytest.mark.parametrize(("track", "kmh"), [("stony", 10), ("stony", 15), ("one stone", 10), ("class D", 15)])
def test_peaks_seen_through_the_default_step(cross, track, kmh):
    """A blow on a stone lasts some 15 ms: its top falls between samples, so a recorded peak may be up to 3 % low."""
    settings = Settings(speed=kmh * KMH)
    run = cross(track, settings)
    fine = cross(track, settings, step=run.step / 8)
    for name in ("main_upper_front", "main_upper_rear", "main_lower_front", "main_lower_rear", "cylinder_arm"):
        assert run.pin_load(name).max() == pytest.approx(fine.pin_load(name).max(), rel=0.03), name


def test_only_steps_that_switch_are_cut(cross):
    assert cross("class D", Settings(speed=10 * KMH)).cut_steps == 0
    stones = cross("stony", Settings(speed=10 * KMH))
    assert 0 < stones.cut_steps < 0.01 * stones.steps
