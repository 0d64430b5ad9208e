"""Relief up to 40 cycles a metre, waves of 25 mm: accuracy, energy, what it changes, slow travel, lift-off.

Ground with such waves is laid on a grid of 1.25 mm (`scenarios.ground.lay.spacing`); the same ground is marched here
on other grids too.
"""

from __future__ import annotations

import numpy as np
import pytest
import synthetic_ground
from every import every

from sim.laws.envelope import envelope
from sim.record import PINS, Run
from sim.unit import Settings

KMH = 1 / 3.6
TEN = Settings(speed=10 * KMH)


def errors(run: Run, fine: Run) -> tuple[float, float, float]:
    """Depth [mm, RMS], worst pin's series [share, RMS] and worst pin's peak [share], at the same instants."""
    i = np.rint((run.series["time"] - fine.series["time"][0]) / fine.step).astype(int)
    at = np.flatnonzero((i >= 0) & (i < fine.series["time"].size))
    ref = i[at]
    assert np.abs(fine.series["time"][ref] - run.series["time"][at]).max() < 1e-9
    assert at.size > 0.99 * i.size
    depth = 1e3 * np.sqrt(np.mean((run.series["depth"][at] - fine.series["depth"][ref]) ** 2))
    pairs = [(run.pin_load(name)[at], fine.pin_load(name)[ref]) for name in PINS]
    series = max(np.sqrt(np.mean((a - b) ** 2) / np.mean(b**2)) for a, b in pairs)
    return depth, series, max(abs(a.max() / b.max() - 1.0) for a, b in pairs)


@every("letter", ["C", "D", "E"])
def test_accuracy_on_the_grid_of_such_ground(cross, letter):
    """Against a quarter of the grid and an eighth of the step: depth 0.02 mm, pins 0.3 %, their peaks 2 %."""
    run = cross(f"class {letter} to 40 c/m, 1.25 mm", TEN)
    fine = cross(f"class {letter} to 40 c/m, very fine", TEN, step=run.step / 8)
    depth, series, peak = errors(run, fine)
    assert depth <= 0.02
    assert series <= 0.003
    assert peak <= 0.02


def test_the_usual_grid_is_too_coarse_for_them(cross):
    """Five samples a wave: at 5 mm depth is 0.05 mm and a pin 0.8 % off on class E, so a finer grid is not idle."""
    step = cross("class E to 40 c/m, 1.25 mm", TEN).step / 8
    fine = cross("class E to 40 c/m, very fine", TEN, step=step)
    depth, series, _ = errors(cross("class E to 40 c/m, 5 mm", TEN, step=step), fine)
    assert depth > 0.04
    assert series > 0.006
    halved = errors(cross("class E to 40 c/m, 1.25 mm", TEN, step=step), fine)[0]
    assert depth > 10.0 * halved  # the square of the spacing, 16


def test_envelope_of_short_waves_is_off_by_the_square_of_the_grid():
    """Class E up to 40 c/m against a grid of a quarter: tops between the samples are missed, by 0.03 mm at 1.25 mm."""
    fine = synthetic_ground.short_relief("E", 40.0, synthetic_ground.VERY_FINE)
    exact = envelope(fine.ground, fine.dx, 0.2)
    off = {}
    for nth in (4, 8, 16):
        dx = nth * fine.dx
        ours = envelope(fine.ground[::nth], dx, 0.2)
        gap = (exact[::nth] - ours)[round(20.0 / dx) : round(60.0 / dx)]
        assert gap.min() > -1e-12
        off[nth] = gap.mean(), gap.max()
    assert off[4][1] < 5e-5
    assert off[4][0] < 5e-6
    assert off[8][0] / off[4][0] == pytest.approx(4.0, rel=0.3)
    assert off[16][0] / off[8][0] == pytest.approx(4.0, rel=0.3)


@every(("letter", "kmh"), [("D", 10), ("E", 10), ("E", 15)])
def test_energy_is_kept(cross, letter, kmh):
    run = cross(f"class {letter} to 40 c/m, 1.25 mm", Settings(speed=kmh * KMH))
    assert run.energy.residual_share <= 1e-4


def test_what_waves_beyond_ten_cycles_change(cross):
    """Class D: the wheels ride on more tops, so the unit runs shallower; scatter and lift-off hardly change."""
    plain, more = (cross(f"class D to {high} c/m, 1.25 mm", TEN).series for high in (10, 40))
    shallower = 1e3 * (plain["depth"].mean() - more["depth"].mean())
    assert 0.4 < shallower < 0.8
    assert more["depth"].std() == pytest.approx(plain["depth"].std(), rel=0.015)
    off = [float(np.mean(s["gauge_load"] == 0.0)) for s in (plain, more)]
    assert abs(off[1] - off[0]) < 0.005
    assert more["gauge_load"].mean() == pytest.approx(plain["gauge_load"].mean(), rel=0.02)


@every("kmh", [0.5, 1.0, 2.0])
@every("high", [10, 40])
def test_slow_travel_neither_sticks_nor_fails(cross, kmh, high):
    """The rate law at next to no speed: everything finite, the wheel keeps its load and never hangs in the air."""
    run = cross(f"class D to {high} c/m, 1.25 mm", Settings(speed=kmh * KMH))
    assert all(np.isfinite(series).all() for series in run.series.values())
    assert np.isfinite(run.pins).all()
    load = run.series["gauge_load"]
    assert load.min() > 0.0
    assert load.mean() == pytest.approx(run.setting.gauge_load, rel=0.1)
    assert run.series["depth"].mean() == pytest.approx(run.settings.set_depth, abs=2e-3)
    assert run.energy.residual_share < 1e-6


@every(("letter", "high"), [("D", 10), ("E", 40)])
def test_lift_off_and_touch_down_without_a_jump(cross, letter, high):
    """What the load gains or loses in the step of touch-down or lift-off shrinks with the step: a slope, no jump."""
    track = f"class {letter} to {high} c/m, 1.25 mm"
    settings = Settings(speed=15 * KMH)
    coarse = cross(track, settings)
    changes = []
    for share in (8, 64):
        load = cross(track, settings, step=coarse.step / share).series["gauge_load"]
        change = np.abs(np.diff(load))
        borders = (load[1:] > 0.0) != (load[:-1] > 0.0)
        assert borders.sum() >= 10
        changes.append(change[borders].max())
    assert changes[1] < 0.25 * changes[0]
    assert changes[1] < 0.02 * coarse.setting.gauge_load
