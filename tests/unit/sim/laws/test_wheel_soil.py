"""The pieces of the wheel-soil law belong together: whoever changes one has to change the others."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from numba import njit
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from sim.laws.wheel_soil import (
    rolling,
    settled,
    sinkage,
    soil_constants,
    soil_energy,
    static_load,
    tyre_energy,
    wheel_on_soil,
)
from sim.unit import GaugeWheel, Soil

WHEEL = GaugeWheel()
SOIL = soil_constants(Soil(), WHEEL.width, WHEEL.radius)
K, N = SOIL.load, SOIL.exponent
TYRE = (WHEEL.tyre_stiffness, WHEEL.tyre_damping, 1.0 / WHEEL.tyre_damping)
LOADS = (30.0, 700.0, 5000.0)
SPEED = 10.0 / 3.6


def sinkage_under(load: float, strength: float = 1.0) -> float:
    """Sinkage [m] that carries a load [N] at rest."""
    return (load / (K * strength)) ** (1.0 / (N + 0.5))


def wheel(s, squash_rate=0.0, deflection=0.0, strength=1.0, strength_rate=0.0, speed=SPEED):
    return wheel_on_soil(s, squash_rate, deflection, strength, strength_rate, SOIL, *TYRE, speed)


@every("load", LOADS)
def test_the_sinkage_carries_the_load(load):
    s = sinkage_under(load)
    assert 0.0 < s < 0.1
    assert static_load(s, K, N) == pytest.approx(load, rel=1e-12)


def test_no_load_no_sinkage():
    assert static_load(0.0, K, N) == static_load(-0.01, K, N) == 0.0
    assert soil_energy(0.0, -0.01, N) == 0.0


@every("load", LOADS)
def test_the_soil_keeps_the_work_of_the_load(load):
    s = sinkage_under(load)
    work, _ = quad(lambda x: static_load(x, K, N), 0.0, s, epsabs=0.0, epsrel=1e-12)
    assert soil_energy(load, s, N) == pytest.approx(work, rel=1e-9)


@every("squash", [0.002, 0.01, 0.03])
@every("strength", [0.5, 1.0, 2.0])
def test_tyre_and_soil_carry_the_same_at_rest(squash, strength):
    k = WHEEL.tyre_stiffness
    deflection = settled(squash, k, K * strength, N)
    s = sinkage(squash, 0.2, 0.2, deflection)
    rest = wheel(s, deflection=deflection, strength=strength)
    assert rest.load == pytest.approx(static_load(s, K * strength, N), rel=1e-9)
    assert k * deflection == pytest.approx(rest.load, rel=1e-9)
    assert rest.tyre_rate == pytest.approx(0.0, abs=1e-12)
    assert rest.kept == pytest.approx(0.0, abs=1e-9)


def test_tyre_and_soil_settle_in_series():
    for q in (1e-6, 1e-3, 0.02):
        d = settled(q, 200e3, 273e3, 0.6)
        assert 200e3 * d == pytest.approx(273e3 * (q - d) ** 1.1, rel=1e-9)
    assert settled(-0.01, 200e3, 273e3, 0.6) == 0.0


@every("strength", [0.25, 0.5, 2.0])
def test_load_at_a_sinkage_follows_the_strength(strength):
    """In proportion to cone index (Maclaurin; Brixius 1987); at the reference strength the law is Bekker–Wong's."""
    s = 0.006
    deflection = static_load(s, K * strength, N) / WHEEL.tyre_stiffness
    assert wheel(s, deflection=deflection, strength=strength).load == pytest.approx(strength * static_load(s, K, N))


@every("squash_rate", [-0.3, -0.05, -0.01, 0.0, 0.01, 0.05, 0.3])
@every("deflection", [0.0, 0.003, 0.009])
@every("speed", [0.14, SPEED, 8.0])
def test_the_solved_load_meets_tyre_and_soil(squash_rate, deflection, speed):
    """Against the two equations as they stand: N = clip(N₀ + B ṡ/v), ṡ = q̇ − (N − kδ)/c, by a root search."""
    k, c, _ = TYRE
    s, strength = 0.006, 0.8
    static = strength * static_load(s, K, N)
    b = strength * WHEEL.radius * (Soil().cohesive_modulus + WHEEL.width * Soil().frictional_modulus) * s**N

    def left(load):
        sinking = squash_rate - (load - k * deflection) / c
        return load - min(max(static + b * sinking / speed, 0.0), 2.0 * static)

    found = brentq(left, -1.0, 2.0 * static + 1.0, xtol=1e-9, rtol=1e-14)
    ours = wheel(s, squash_rate, deflection, strength, speed=speed)
    assert ours.load == pytest.approx(found, rel=1e-9, abs=1e-6)
    assert ours.tyre_rate == pytest.approx((found - k * deflection) / c, rel=1e-8, abs=1e-9)
    assert 0.0 <= ours.load <= 2.0 * static
    assert ours.tyre_lost == pytest.approx(c * ours.tyre_rate**2)


def test_no_jump_at_touch_down_and_nothing_in_the_air():
    for rate in (-0.5, 0.0, 0.5):
        assert wheel(-1e-4, rate, 0.002).load == 0.0
        assert wheel(1e-9, rate, 0.0).load < 1e-2
    assert wheel(-0.01, 0.1, 0.002).tyre_rate == pytest.approx(-WHEEL.tyre_stiffness * 0.002 / WHEEL.tyre_damping)


def test_soil_gives_nothing_back():
    """Whatever the wheel does, sinking and rising cost: (N − N₀) ṡ ≥ 0."""
    rng = np.random.default_rng(5)
    for s, rate, deflection in rng.uniform([-0.002, -1.0, 0.0], [0.03, 1.0, 0.01], (500, 3)):
        assert wheel(s, rate, deflection).kept >= -1e-9


def test_energy_balances_over_a_ride_through_weaker_and_stronger_soil():
    """∫N q̇ dt = stored at the end − at the start + kept + lost in the tyre, by a solver of general purpose."""
    k, _, _ = TYRE

    def at(t, state):
        q, rate = 0.006 + 0.008 * math.sin(30.0 * t), 0.24 * math.cos(30.0 * t)
        strength, strength_rate = 1.0 + 0.4 * math.sin(7.0 * t), 2.8 * math.cos(7.0 * t)
        return rate, wheel(q - state[0], rate, state[0], strength, strength_rate)

    def slope(t, state):
        rate, w = at(t, state)
        return [w.tyre_rate, w.load * rate, w.kept + w.tyre_lost]

    start = [settled(0.006, k, K, N), 0.0, 0.0]
    end = solve_ivp(slope, (0.0, 0.5), start, rtol=1e-9, atol=1e-12, max_step=2e-3).y[:, -1]
    stored = [at(t, y)[1].held + tyre_energy(y[0], k) for t, y in ((0.0, start), (0.5, end))]
    assert end[1] == pytest.approx(stored[1] - stored[0] + end[2], abs=2e-5 * abs(end[2]))
    assert end[2] > 1.0  # soil and tyre keep some of it


@every(["hertz", "stiffness", "phase"], [(5.0, 98.61e3, 15.5), (20.0, 141.87e3, 47.4)])
def test_small_motion_against_the_impedance_of_tyre_and_soil(hertz, stiffness, phase):
    """Z = (K′ + iωb)(k + iωc)/(K′ + k + iω(b + c)), K′ = mN/s, b = B/v: 1 kN at 10 km/h; derived."""
    k, c, _ = TYRE
    s, omega = sinkage_under(1000.0), 2.0 * math.pi * hertz
    k_soil, b = (N + 0.5) * 1000.0 / s, SOIL.rate * s**N / SPEED
    exact = (k_soil + 1j * omega * b) * (k + 1j * omega * c) / (k_soil + k + 1j * omega * (b + c))
    assert b == pytest.approx(1823.0, rel=1e-3)
    assert abs(exact) == pytest.approx(stiffness, rel=1e-3)
    assert math.degrees(np.angle(exact)) == pytest.approx(phase, abs=0.1)
    q0, small = s + 1000.0 / k, 1e-6

    def load(t, deflection):
        q, rate = q0 + small * math.sin(omega * t), small * omega * math.cos(omega * t)
        return wheel(q - deflection, rate, deflection)

    times = np.arange(4000) * (8.0 / hertz / 4000)
    ride = solve_ivp(
        lambda t, y: [load(t, y[0]).tyre_rate], (0.0, times[-1]), [1000.0 / k], t_eval=times, rtol=1e-11, atol=1e-15
    )
    late = times >= 4.0 / hertz
    force = np.array([load(t, d).load - 1000.0 for t, d in zip(times[late], ride.y[0][late], strict=True)])
    found = 2.0 * np.mean(force * np.exp(-1j * omega * times[late])) / small * 1j
    assert abs(found) == pytest.approx(abs(exact), rel=1e-3)
    assert np.angle(found) == pytest.approx(np.angle(exact), abs=1e-3)


@every("slope", [-0.2, 0.0, 0.3])
def test_rolling_takes_what_the_resistance_takes(slope):
    """The axle follows the ground: of the force only the resistance does work, and that is what is lost."""
    load, rho, speed = 700.0, 0.08, 2.5
    f_x, f_z, lost = rolling(load, slope, rho, speed, slope * speed)
    assert lost == pytest.approx(-(f_x * speed + f_z * slope * speed), rel=1e-12)
    assert lost == pytest.approx(rho * load * speed * (1.0 + slope**2), rel=1e-12)
    assert f_z == pytest.approx(load * (1.0 - rho * slope))


def test_a_tyre_is_a_spring():
    k, d = 2e5, 0.004
    assert tyre_energy(d, k) == pytest.approx(quad(lambda x: k * x, 0.0, d)[0], rel=1e-12)


def test_a_law_reads_the_same_compiled_and_called():
    """`static_load` is inlined into the march; called from Python it is the same function."""
    compiled = njit(lambda s: static_load(s, K, N))
    for s in np.linspace(-0.01, 0.05, 13):
        assert compiled(s) == pytest.approx(static_load(s, K, N), rel=1e-15)
