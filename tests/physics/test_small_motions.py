"""Small motions against the whole compiled model on small waves, and against the ring-down of the second engine."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import sim.run
from analysis.modes.drag import drag_of
from analysis.modes.response import Response, felt
from analysis.modes.ridges import LOAD, along_pin, swings
from sim.linear import linearise
from sim.rigid.simulate import simulate_rigid
from sim.run import simulate
from sim.track import flat_track
from sim.unit import Cylinder, Settings, Soil, Unit

SOIL = Soil()
TEN = Settings(speed=10.0 / 3.6)


def waves(spacing, height):
    """Even waves [m] that begin in the lead-in, a whole number of them measured."""
    track = flat_track(math.ceil(8.0 / spacing) * spacing, SOIL.strength)
    share = np.clip((track.x + 14.0) / 6.0, 0.0, 1.0)
    return replace(track, ground=0.5 * height * np.sin(2.0 * np.pi * track.x / spacing) * share)


def fundamental(run, values, spacing):
    """Amplitude of what repeats with the waves, over the whole ones that were crossed."""
    x = run.series["distance"]
    count = math.floor((x[-1] - x[0]) / spacing)
    inside = x < x[0] + count * spacing - 1e-9
    wave = np.exp(-2j * np.pi * x[inside] / spacing)
    return 2.0 * abs(((values[inside] - values[inside].mean()) * wave).mean())


@pytest.mark.parametrize(("hertz", "kmh"), [(1.2, 8.0), (2.0, 8.0), (3.5, 6.0), (5.0, 10.0), (8.0, 12.0), (15.0, 15.0)])
def test_small_waves_crossed_by_the_whole_model_answer_as_small_motions_say(hertz, kmh):
    """A sine of 0.4 mm from crest to furrow, on a carried toolbar: depth, gauge load and a main pin within 1 %."""
    settings = replace(TEN, speed=kmh / 3.6)
    spacing, height = settings.speed / hertz, 4e-4
    run = simulate(Unit(), SOIL, waves(spacing, height), settings)
    linear = linearise(Unit(), SOIL, settings)
    found = swings(linear, np.array([spacing]), height)
    half = 0.5 * height
    assert fundamental(run, run.series["depth"], spacing) == pytest.approx(half * found.depth[0], rel=0.01)
    load = fundamental(run, run.series["gauge_load"], spacing)
    assert load == pytest.approx(half * abs(found.answers[LOAD, 0]), rel=0.01)
    pin = run.pins[:, 2] @ linear.pins[2] / np.hypot(*linear.pins[2])  # main lower front, along its load at rest
    expected = half * abs(along_pin(linear, found.answers, "main_lower_front")[0])
    assert fundamental(run, pin, spacing) == pytest.approx(expected, rel=0.01)


def test_waves_in_which_seals_slip_answer_with_the_damper_of_their_swing():
    """Ten millimetres at the bounce: seals stuck or gone would miss by tenths, the damper of this swing by 1 %."""
    settings, spacing, height = TEN, TEN.speed / 5.0, 0.010
    run = simulate(Unit(), SOIL, waves(spacing, height), settings)
    depth = fundamental(run, run.series["depth"], spacing)
    linear = linearise(Unit(), SOIL, settings)
    assert depth == pytest.approx(0.5 * height * swings(linear, np.array([spacing]), height).depth[0], rel=0.015)
    k = 2.0 * np.pi / np.array([spacing])
    for rub in (0.0, drag_of(linear).held):
        other = abs(Response(linear).rubbed(felt(linear, k), k * linear.speed, rub)[0, 0])
        assert abs(0.5 * height * other / depth - 1.0) > 0.05


def ringing(run, count=10, every=12, wide=30):
    """Swings left after the push, (|λ|/2π [Hz], damping ratio), the slowest first: matrix pencil over both arms.

    Both series as they change from sample to sample, so that where they come to rest need not be known (Hua & Sarkar
    1990, from memory).
    """
    after = run.series["distance"] > 0.35
    series = [np.diff(run.series[name][after][::every]) for name in ("arm_angle", "press_angle")]
    rows = [s[i : i + wide] / np.abs(s).max() for s in series for i in range(s.size - wide)]
    lasting = np.linalg.svd(np.array(rows), full_matrices=False)[2][:count].T
    steps = np.linalg.eigvals(np.linalg.lstsq(lasting[:-1], lasting[1:], rcond=None)[0]).astype(complex)
    rates = np.log(steps) / (every * run.step)
    return sorted((abs(one) / (2.0 * np.pi), -one.real / abs(one)) for one in rates if one.imag > 1.0)


@pytest.mark.parametrize("seals", [False, True])
def test_the_second_engine_rings_down_as_small_motions_say(seals, monkeypatch):
    """Loose bodies in the general engine, pushed by a bump of 0.2 mm and left alone: bounce and press wheel."""
    monkeypatch.setattr(sim.run, "LEAD_IN", 0.6)  # nothing has to settle on flat ground
    unit = Unit() if seals else Unit(cylinder=Cylinder(seal_force=0.0, seal_factor=0.0))
    settings = replace(TEN, toolbar="level")
    track = flat_track(2.5, SOIL.strength)
    bump = 1e-4 * (1.0 + np.cos(2.0 * np.pi * (track.x + 0.15) / 0.3)) * (np.abs(track.x + 0.15) < 0.15)
    run = simulate_rigid(unit, SOIL, replace(track, ground=bump), settings, passes=600)
    (hertz, damping), (fast, press), *_ = ringing(run)
    linear = linearise(unit, SOIL, settings)
    rates = np.linalg.eigvals(linear.with_rub(drag_of(linear).held).a)
    ours = sorted((abs(one) / (2.0 * np.pi), -one.real / abs(one)) for one in rates if one.imag > 1.0)
    assert (hertz, damping) == (pytest.approx(ours[0][0], rel=0.01), pytest.approx(ours[0][1], rel=0.01))
    assert (fast, press) == (pytest.approx(ours[1][0], rel=0.01), pytest.approx(ours[1][1], rel=0.01))
    assert damping > 0.8 if seals else damping < 0.25
