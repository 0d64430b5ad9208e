"""The pieces of the wheel-soil law belong together: whoever changes one has to change the others."""

from __future__ import annotations

import numpy as np
import pytest
from every import every
from numba import njit
from scipy.integrate import quad

from sim.laws.wheel_soil import (
    rolling,
    settled,
    sinkage,
    sinkage_at,
    soil_constants,
    soil_energy,
    tyre_energy,
    tyre_rate,
    wheel_load,
)
from sim.unit import GaugeWheel, Soil

K, M = soil_constants(Soil(), GaugeWheel().width, GaugeWheel().radius)
LOADS = (30.0, 700.0, 5000.0)


@every("load", LOADS)
def test_the_sinkage_carries_the_load(load):
    s = sinkage_at(load, K, M)
    assert 0.0 < s < 0.1
    assert wheel_load(s, K, M) == pytest.approx(load, rel=1e-12)


def test_no_load_no_sinkage():
    assert sinkage_at(0.0, K, M) == wheel_load(0.0, K, M) == wheel_load(-0.01, K, M) == 0.0
    assert soil_energy(0.0, -0.01, M) == 0.0


@every("load", LOADS)
def test_the_soil_keeps_the_work_of_the_load(load):
    s = sinkage_at(load, K, M)
    work, _ = quad(lambda x: wheel_load(x, K, M), 0.0, s, epsabs=0.0, epsrel=1e-12)
    assert soil_energy(load, s, M) == pytest.approx(work, rel=1e-9)


@every("squash", [0.002, 0.01, 0.03])
def test_tyre_and_soil_carry_the_same_at_rest(squash):
    k = GaugeWheel().tyre_stiffness
    deflection = settled(squash, k, K, M)
    load = wheel_load(sinkage(squash, 0.2, 0.2, deflection), K, M)
    assert k * deflection == pytest.approx(load, rel=1e-9)
    assert tyre_rate(load, deflection, k, 1.0 / 1500.0) == pytest.approx(0.0, abs=1e-12)


def test_tyre_and_soil_settle_in_series():
    for q in (1e-6, 1e-3, 0.02):
        d = settled(q, 200e3, 273e3, 1.1)
        assert 200e3 * d == pytest.approx(273e3 * (q - d) ** 1.1, rel=1e-9)
    assert settled(-0.01, 200e3, 273e3, 1.1) == 0.0


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
    """`wheel_load` is inlined into the march; called from Python it is the same function."""
    compiled = njit(lambda s: wheel_load(s, K, M))
    for s in np.linspace(-0.01, 0.05, 13):
        assert compiled(s) == pytest.approx(wheel_load(s, K, M), rel=1e-15)
