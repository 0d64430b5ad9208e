"""Toolbar work = change of stored energy + every loss, on any ground and in every state of the oil."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from sim.laws.gas import density, internal_energy, law_named, state
from sim.unit import ATMOSPHERE, DepthLinkage, Settings, Unit

KMH = 1 / 3.6
CASES = {
    "flat": ("flat", Settings()),
    "class C": ("class C", Settings()),
    "class D, slow": ("class D", Settings(speed=5 * KMH)),
    "class D, fast": ("class D", Settings(speed=15 * KMH)),
    "class D, level toolbar": ("class D", Settings(speed=10 * KMH, toolbar="level")),
    "stones": ("stony", Settings(speed=10 * KMH)),
    "stones, fast, high pressure": ("stony", Settings(speed=15 * KMH, oil_pressure=90e5)),
    "drop": ("drop", Settings(speed=10 * KMH)),
    "drop, level toolbar": ("drop", Settings(speed=10 * KMH, toolbar="level")),
    "no cushion": ("class D", Settings(speed=10 * KMH, oil_pressure=20e5)),
    "drop out of oil": ("drop", Settings(speed=10 * KMH, oil_pressure=30e5, precharge=28e5)),
    "held oil": ("class D", Settings(speed=10 * KMH, oil="held")),
    "held oil, drop": ("drop", Settings(speed=10 * KMH, oil="held")),
    "ideal gas": ("class D", Settings(speed=10 * KMH, gas="ideal")),
    "setting left alone": ("class D", Settings(speed=14 * KMH, oil_pressure=90e5, setting="unchanged")),
    "cold gas": ("class D", Settings(speed=10 * KMH, gas_temperature=253.15)),
}


@pytest.mark.parametrize("case", CASES)
def test_energy_is_kept(cross, case):
    run = cross(*CASES[case])
    assert run.energy.residual_share <= 1e-4
    # to rounding: where the power keeps its sign both are one sum, and a product may be fused into one of them alone
    assert run.energy.traffic * (1.0 + 1e-12) >= abs(run.energy.work)
    assert not any("energy" in told for told in run.warnings)


CROOKED = replace(
    Unit(),
    depth_linkage=DepthLinkage(
        crank_pivot=(0.03, 0.03), bell_pivot=(-0.02, 0.01), rod=0.56, bell_first=0.10, turnbuckle=0.520
    ),
)


@pytest.mark.parametrize("track", ["class D", "stony", "drop"])
def test_energy_is_kept_with_a_linkage_out_of_true(cross, track):
    assert cross(track, Settings(speed=10 * KMH), CROOKED).energy.residual_share <= 1e-4


@pytest.mark.parametrize(
    "settings",
    [
        Settings(speed=15 * KMH),
        Settings(speed=15 * KMH, toolbar="level"),
        Settings(speed=15 * KMH, oil="held"),
        Settings(speed=15 * KMH, gas="ideal"),
    ],
    ids=["carried", "level", "held", "ideal"],
)
@pytest.mark.parametrize("unit", [Unit(), CROOKED], ids=["true", "crooked"])
def test_energy_is_kept_to_a_millionth_on_smooth_ground(cross, unit, settings):
    """No kinks, no switching: what is left is the fourth order's, so a wrong velocity term has no place to hide."""
    assert cross("waves", settings, unit).energy.residual_share < 1e-6


@pytest.mark.parametrize("case", ["stones", "drop", "class D, fast", "no cushion"])
def test_residual_shrinks_with_the_step(cross, case):
    """What is left is the error of the time steps, not a missing loss: at an eighth of the step it is far smaller."""
    track, settings = CASES[case]
    coarse = cross(track, settings)
    fine = cross(track, settings, step=coarse.step / 8)
    assert fine.energy.residual_share < max(0.3 * coarse.energy.residual_share, 1e-7)


def test_losses_are_losses(cross):
    """Soil, rolling, tyre, stones, stops, dampers, friction and line only take energy."""
    for case in ("stones", "drop", "held oil"):
        losses = cross(*CASES[case]).energy.losses
        for name in ("soil", "rolling", "tyre", "rock", "stops", "press_damper", "seal_friction", "orifice"):
            assert losses[name] >= 0.0, (case, name)
    assert cross(*CASES["stones"]).energy.losses["rock"] > 0.0
    assert cross(*CASES["drop"]).energy.losses["stops"] > 0.0


def test_names_of_what_does_not_occur_stay_at_zero(cross):
    losses = cross("class D", Settings(speed=10 * KMH)).energy.losses
    assert losses["rock"] == 0.0
    assert losses["valve"] == 0.0
    assert losses["column"] == 0.0
    assert cross(*CASES["held oil"]).energy.losses["valve"] != 0.0
    assert cross(*CASES["no cushion"]).energy.losses["column"] != 0.0


def test_work_on_flat_ground_is_the_draught(cross):
    """Steady state: work per metre = soil's and wheels' drag, summed from the channels."""
    run = cross("flat")
    s = run.series
    gauge = s["gauge_load"][0] * (0.04 + s["gauge_load"][0] / (1.2e6 * 0.04 * 2 / 1.75))
    drag = -s["disc_draught"][0] + 120.0 + gauge + 0.08 * s["press_load"][0]
    travelled = (run.steps - 1) * run.step * run.settings.speed
    assert run.energy.work / travelled == pytest.approx(drag, rel=1e-9)
    assert run.energy.stored == pytest.approx(0.0, abs=1e-6 * run.energy.work)


def test_gas_keeps_its_own_balance(cross):
    """From the channels alone: p dV work against internal energy and heat, by the trapezoidal rule."""
    run = cross("class D", Settings(speed=10 * KMH), step=5e-4)
    s, acc = run.series, run.unit.accumulator
    law = law_named("real")
    mass = _gas_mass(run)
    v, t, p = s["gas_volume"], s["gas_temperature"], s["oil_pressure"]
    assert v.max() < acc.volume
    stored = mass * (internal_energy(mass / v[-1], t[-1], law) - internal_energy(mass / v[0], t[0], law))
    work = np.trapezoid(p, v)
    from_wall = mass * np.trapezoid(_c_v(mass / v, t, law) * (293.15 - t) / acc.time_constant, dx=run.step)
    swing = np.trapezoid(np.abs(p * np.gradient(v)))
    assert abs(stored + work - from_wall) < 1e-5 * swing


def _gas_mass(run) -> float:
    s = run.settings
    return density(s.precharge + ATMOSPHERE, s.precharge_temperature, law_named(s.gas)) * run.unit.accumulator.volume


def _c_v(rho, t, law):
    return np.array([state(r, x, law)[2] for r, x in zip(rho, t, strict=True)])
