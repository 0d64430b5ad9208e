"""Small motions from the compiled model against closed forms, through units that are brought down to them.

Closed forms: parallelogram arm, mass on spring and damper, two masses over one tyre (`derived`; the table of the two
masses `computed` in the project's collection of sources, 9.1 and 9.2).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from reduced_unit import carrier_only, linear_soil, point_wheel, pushing, steady_push

from sim.errors import EquilibriumError
from sim.linear import INPUTS, OUTPUTS, linearise
from sim.unit import Settings, Soil, Unit

HARD = 1e9  # stiffness of soil that hardly gives [N/m]
DEPTH, LOAD, PISTON = (OUTPUTS.index(name) for name in ("depth", "gauge_load", "piston"))


def answers(linear, brought, frequency, rub=0.0):
    """Answers to what is brought to INPUTS at a frequency [Hz]."""
    a, b, c, d = linear.with_rub(rub)
    s = 2j * math.pi * frequency
    u = np.array([brought.get(name, 0.0) for name in INPUTS])
    return c @ np.linalg.solve(s * np.eye(a.shape[0]) - a, b @ u) + d @ u


def slowest(matrix):
    """Frequency |λ|/2π [Hz] and damping ratio of the slowest swing."""
    rates = [rate for rate in np.linalg.eigvals(matrix) if rate.imag > 1e-6 * abs(rate)]
    rate = min(rates, key=abs)
    return abs(rate) / (2.0 * math.pi), -rate.real / abs(rate)


def mass_on_wheel(mass=100.0, stiffness=2e5, damping=2e3, links=0.0, angle=0.0):
    """A carrier on its gauge tyre alone, on hard soil, pushed down steadily."""
    unit = point_wheel(steady_push(carrier_only(mass, links)), stiffness)
    unit = replace(
        unit,
        main_links=replace(unit.main_links, angle_nominal=angle),
        gauge_wheel=replace(unit.gauge_wheel, tyre_damping=damping),
    )
    return linearise(unit, linear_soil(unit, HARD), pushing(unit, 500.0))


def test_mass_on_spring_and_damper():
    linear = mass_on_wheel()
    frequency, damping = slowest(linear.free.a)
    assert frequency == pytest.approx(math.sqrt(2e5 / 100.0) / (2.0 * math.pi), rel=1e-3)  # 7.118 Hz
    assert damping == pytest.approx(2e3 / (2.0 * math.sqrt(2e5 * 100.0)), rel=2e-3)  # 0.22361
    drag = (
        0.04 * linear.told.gauge_load
    )  # of the rolling wheel: on a slope it pulls down, on the arm turned up it lifts
    for f in (1.0, 7.0, 20.0):
        s = 2j * math.pi * f
        tyre = 2e3 * s + 2e5
        rise = (tyre - drag * s / linear.speed) / (100.0 * s * s + tyre + drag / 0.55)
        felt = {"gauge": 1.0, "gauge_slope": s / linear.speed, "surface": 1.0}
        found = answers(linear, felt, f)
        assert found[DEPTH] == pytest.approx(1.0 - rise, rel=2e-3)
        assert found[LOAD] == pytest.approx(tyre * (1.0 - rise), rel=2e-3)


@pytest.mark.parametrize(("links", "angle"), [(10.0, 0.0), (10.0, 0.25), (0.0, -0.25)])
def test_parallelogram_arm_on_a_spring(links, angle):
    """ω = cos θ₀ √(k/(m + 2 I_a/L²)), I_a = m_a L²/3; draught of the rolling wheel is left out of it (under 1 %)."""
    linear = mass_on_wheel(links=links, angle=angle)
    frequency, _ = slowest(linear.free.a)
    expected = math.cos(angle) * math.sqrt(2e5 / (100.0 + 2.0 * links / 3.0)) / (2.0 * math.pi)
    assert frequency == pytest.approx(expected, rel=1.5e-3 if angle == 0.0 else 1e-2)


QUARTER = {0.5: (1.12968, 1.00433), 1.5: (1.70862, 1.03257), 5.0: (0.26561, 1.09303), 10.0: (0.17435, 1.58685),
           16.0: (0.33035, 4.91373), 30.0: (0.01382, 0.38919)}  # fmt: skip
M_S, M_U, K_S, C_S, K_T, C_T = 60.0, 20.0, 5e3, 400.0, 2e5, 1.0
K_G, C_G = 2e4, 10.0  # of the gauge tyre, which stands under the sprung mass besides


def two_masses(f, k_g=0.0, c_g=0.0, k_s=K_S, c_s=C_S, c_t=0.0):
    """(X_s, X_u)/Z of two masses over one tyre; a further spring and damper from the upper one to level ground."""
    s = 2j * math.pi * f
    link, tyre = c_s * s + k_s, K_T + c_t * s
    upper = M_S * s * s + c_g * s + k_g + link
    below = M_U * s * s + link + tyre
    both = upper * below - link * link
    return tyre * link / both, tyre * upper / both


def test_the_closed_form_of_two_masses_is_that_of_the_table():
    for f, (sprung, unsprung) in QUARTER.items():
        x_s, x_u = two_masses(f)
        assert (abs(x_s), abs(x_u)) == (pytest.approx(sprung, abs=6e-6), pytest.approx(unsprung, abs=6e-6))


def two_mass_unit(k_s=K_S, c_s=C_S):
    """The press wheel's mass on its tyre, held to the carrier by its arm's spring; the carrier on a soft gauge tyre."""
    load, reach = 500.0, 0.35
    unit = point_wheel(steady_push(carrier_only(M_S)), K_G)
    hub = 0.28 - 0.04  # of the disc over the ground at the setting, wherever point_wheel put it
    pivot = unit.press_wheel.radius - load / K_T - (hub - unit.disc.hub[1]) - (unit.disc.radius - 0.28)
    press = replace(
        unit.press_wheel, pivot=(-0.35, pivot), arm_length=reach, arm_mass=M_U, arm_centre=reach, arm_inertia=0.0,
        preload=(load - M_U * 9.80665) * reach, spring=k_s * reach**2, spring_angle=0.0, damping=c_s * reach**2,
        stiffness=K_T, tyre_damping=C_T, rolling=0.0,
    )  # fmt: skip
    unit = replace(unit, press_wheel=press, gauge_wheel=replace(unit.gauge_wheel, tyre_damping=C_G))
    return linearise(unit, linear_soil(unit, HARD), pushing(unit, 20.0))


def carrier_rise(linear, f):
    """Rise of the carrier per rise of the ground under the press wheel alone."""
    felt = {"press": 1.0, "press_slope": 2j * math.pi * f / linear.speed}
    return -answers(linear, felt, f)[DEPTH]


def test_two_masses_over_one_tyre():
    linear = two_mass_unit()
    assert abs(linear.rest[2]) < 1e-4  # the press arm lies level, so that its spring acts upright
    for f in QUARTER:
        assert carrier_rise(linear, f) == pytest.approx(two_masses(f, K_G, C_G, c_t=C_T)[0], rel=6e-3)


def test_the_invariant_point_of_two_masses():
    """At ω² = k_t/m_u the sprung mass moves alike whatever holds the two together: X_s = k_t/(k_g − m_s ω²) Z."""
    f = math.sqrt(K_T / M_U) / (2.0 * math.pi)
    found = [carrier_rise(two_mass_unit(k_s, c_s), f) for k_s, c_s in ((K_S, C_S), (2e4, 100.0), (1e3, 1500.0))]
    for rise in found:
        assert rise == pytest.approx(K_T / (K_G - M_S * K_T / M_U), rel=1e-2)
    assert abs(carrier_rise(two_mass_unit(2e4, 100.0), 10.0) / carrier_rise(two_mass_unit(), 10.0)) < 0.9


def test_wheel_on_tyre_and_soil_answers_as_its_closed_form():
    """Z = (K′ + iωb)(k + iωc)/(K′ + k + iω(b + c)), K′ = m N/s, b = B/v: force per height under a wheel held still."""
    linear = linearise(Unit(), Soil(), Settings(toolbar="level"))
    told, m = linear.told, linear.model
    stiff = (m.soil_n + 0.5) * told.gauge_load / told.sinkage
    lost = m.gauge_soil_rate * told.sinkage**m.soil_n / linear.speed
    a, b, c, d = linear.free
    tyre = linear.states.index("dg")
    for f in (1.0, 5.0, 20.0):
        s = 2j * math.pi * f
        u = np.zeros(len(INPUTS), complex)
        u[INPUTS.index("gauge")], u[INPUTS.index("gauge_slope")] = 1.0, s / linear.speed
        deflection = (b[tyre] @ u) / (s - a[tyre, tyre])  # the arm held
        load = c[LOAD, tyre] * deflection + d[LOAD] @ u
        soil, spring = stiff + s * lost, m.gauge_k + s * m.gauge_c
        assert load == pytest.approx(soil * spring / (soil + spring), rel=1e-6)


def test_drag_of_the_piston_is_a_damper_in_line_with_it():
    """With the seals as steep as they are at rest the matrices are those of the unit with its seals."""
    linear = linearise(Unit(), Soil(), Settings())
    speeds = np.array([1e-6, 1e-3, 1.0])
    drag = linear.piston_drag(speeds)
    push = float(linear.told.cylinder_force)
    seals = 40.0 + 0.03 * push
    assert drag[0] / speeds[0] == pytest.approx(seals / 0.005, rel=1e-3)
    assert drag[1] == pytest.approx(seals * math.tanh(0.2), rel=1e-3)
    assert drag[2] > 5.0 * seals  # the hose fitting, which takes the square of the flow
    arm = linear.states.index("om")
    before, after = linear.with_rub(0.0), linear.with_rub(1e4)
    changed = {i for i, row in enumerate(after.a - before.a) if np.abs(row).max() > 1e-9}
    assert changed == {arm, linear.states.index("ops")}
    assert np.abs(np.delete(after.a - before.a, arm, axis=1)).max() < 1e-6
    ratio = linear.free.c[PISTON, arm]
    taken = -(after.c - before.c)[OUTPUTS.index("cylinder_force"), arm]
    assert taken == pytest.approx(1e4 * ratio, rel=1e-6)


def test_the_toolbar_swings_as_two_springs_let_it():
    linear = linearise(Unit(), Soil(), Settings())
    bar = Unit().toolbar
    heave = math.sqrt(2.0 * bar.stiffness / bar.mass) / (2.0 * math.pi)
    assert slowest(linear.free.a)[0] == pytest.approx(heave, rel=1e-9)
    assert linear.states[-4:] == ("z", "vz", "p", "vp")
    level = linearise(Unit(), Soil(), Settings(toolbar="level"))
    assert level.states == linear.states[:-4]
    n = len(level.states)
    np.testing.assert_allclose(level.free.a, linear.free.a[:n, :n], rtol=1e-9, atol=1e-9)


def test_a_valve_that_holds_the_pressure_has_stood_still():
    """Set for 40 bar, driven at 50: the arm stands elsewhere, and the valve has brought the pressure to 50 there."""
    settings = Settings(oil="held", setting="unchanged", oil_pressure=50e5)
    linear = linearise(Unit(), Soil(), settings)
    assert linear.told.oil_pressure == pytest.approx(50e5 + 101325.0, rel=1e-7)
    assert linear.states[7] == "vo"
    assert np.linalg.eigvals(linear.free.a).real.max() < 0.0


def test_nothing_is_told_of_a_wheel_that_carries_nothing():
    with pytest.raises(EquilibriumError, match="carries nothing on flat ground at 30 bar"):
        linearise(Unit(), Soil(strength=3.5e6), Settings(oil_pressure=30e5))


def test_derivatives_are_good_to_rounding_over_settings():
    for kmh, bar in ((3.0, 35e5), (8.0, 40e5), (16.0, 55e5)):
        linear = linearise(Unit(), Soil(), Settings(speed=kmh / 3.6, oil_pressure=bar, oil="held"))
        assert linear.error < 1e-6
