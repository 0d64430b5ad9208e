"""Cylinder, oil line and accumulator by hand, state by state."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from every import every
from packed_model import packed
from reduced_unit import carrier_only, filled, level_table, march_from, pushing, steady_push

from sim.hydraulics.cylinder import cylinder_length
from sim.hydraulics.oil import hydraulics
from sim.laws.gas import IDEAL, NITROGEN, state
from sim.mechanism.kinematics import State
from sim.model import pack
from sim.unit import ATMOSPHERE, Accumulator, Cylinder, Rock, Settings, Soil, Unit

AREA = math.pi / 4 * 0.032**2
NAMES = (
    "force", "p_oil", "p_cyl", "volume", "tg_rate", "vo_rate", "friction", "orifice", "atmosphere", "heat", "valve",
    "column",
)  # fmt: skip


def at(rate: float = 0.0, longer: float = 0.0, *, temperature=293.15, oil=0.0, settings=None, law=NITROGEN, unit=None):
    """Hydraulics of the default unit at a piston speed [m/s] and travel [m] from the setting, by name."""
    m = packed(unit, settings=settings)
    length = cylinder_length(unit or Unit(), 0.0) + longer
    return dict(zip(NAMES, hydraulics(m, law, length, rate, temperature, oil), strict=True))


def test_at_rest_the_set_pressure_pushes():
    got = at()
    assert got["p_oil"] == pytest.approx(40e5 + ATMOSPHERE, rel=1e-12)
    assert got["p_cyl"] == got["p_oil"]
    assert got["force"] == pytest.approx(40e5 * AREA, rel=1e-12)
    assert got["tg_rate"] == got["vo_rate"] == 0.0
    assert [got[n] for n in NAMES[6:]] == [0.0] * 6


@every("rate", [-0.3, -0.002, 0.001, 0.05])
def test_line_and_seals_resist_motion(rate):
    """p_cyl = p_oil − K_o Q|Q| − K_l Q, K_o = ρ/(2 (C_d A_o)²); seals (F_0 + μ|p − p_atm|A) tanh(L′/v_0)."""
    got, flow = at(rate), AREA * rate
    orifice = 870.0 / (2 * (0.65 * math.pi / 4 * 0.004**2) ** 2)
    p_cyl = 40e5 + ATMOSPHERE - orifice * flow * abs(flow) - 2e8 * flow
    push = (p_cyl - ATMOSPHERE) * AREA
    seals = (40.0 + 0.03 * push) * math.tanh(rate / 0.005)
    assert got["p_cyl"] == pytest.approx(p_cyl, rel=1e-12)
    assert got["force"] == pytest.approx(push - seals, rel=1e-12)
    assert got["friction"] == pytest.approx(seals * rate, rel=1e-12)
    assert got["orifice"] == pytest.approx((got["p_oil"] - p_cyl) * flow, rel=1e-12)
    assert got["atmosphere"] == pytest.approx(ATMOSPHERE * flow, rel=1e-12)
    assert got["friction"] > 0.0
    assert got["orifice"] > 0.0


def test_the_cylinder_does_not_pull_when_the_line_cannot_follow():
    got = at(3.0)
    assert got["p_cyl"] == 0.0
    assert got["force"] < 0.0  # atmosphere on the rod side, and seals


def test_gas_follows_the_piston():
    """Volume from the travel, pressure from the equation of state, cooling as it grows."""
    got, rest = at(0.1, 0.05), at()
    assert got["volume"] == pytest.approx(rest["volume"] + AREA * 0.05, rel=1e-12)
    mass = packed().gas_mass
    p, p_t, c_v = state(mass / got["volume"], 293.15, NITROGEN)
    assert got["p_oil"] == pytest.approx(p, rel=1e-12)
    assert got["tg_rate"] == pytest.approx(-293.15 * p_t * AREA * 0.1 / (mass * c_v), rel=1e-12)
    assert at(temperature=303.15)["tg_rate"] == pytest.approx(-10.0 / 4.0)


def test_out_of_oil_the_column_gives_way_stiffly():
    """V > V_acc: p = p_gas(V_acc) − (B/V_col)(V − V_acc), gas rests but for its wall."""
    settings = Settings(oil_pressure=20e5)
    got = at(0.05, settings=settings, temperature=300.0)
    acc, m = Accumulator(), packed(settings=settings)
    assert m.v_nominal > acc.volume
    p_gas = state(m.gas_mass / acc.volume, 300.0, NITROGEN)[0]
    expected = p_gas - acc.bulk_modulus / acc.column_volume * (m.v_nominal - acc.volume)
    assert got["p_oil"] == pytest.approx(expected, rel=1e-9)
    assert got["tg_rate"] == pytest.approx(-6.85 / 4.0)
    assert got["column"] == pytest.approx(got["p_oil"] * AREA * 0.05)
    assert at(settings=settings)["p_oil"] == pytest.approx(20e5 + ATMOSPHERE, rel=1e-9)
    assert at(longer=0.05, settings=settings)["p_oil"] == 0.0


def test_trapped_oil_stays_and_a_valve_lets_it_return():
    """V_o′ = (p_set − p_oil) V_g/(1.4 p_g τ_v)."""
    trapped, held = at(0.0, 0.05), at(0.0, 0.05, settings=Settings(oil="held"))
    assert trapped["vo_rate"] == 0.0
    expected = (40e5 + ATMOSPHERE - held["p_oil"]) * held["volume"] / (1.4 * held["p_oil"] * 1.0)
    assert held["vo_rate"] == pytest.approx(expected, rel=1e-12)
    assert held["vo_rate"] > 0.0
    assert held["valve"] == pytest.approx(held["p_oil"] * held["vo_rate"], rel=1e-12)
    assert at(oil=1e-5)["volume"] == pytest.approx(at()["volume"] - 1e-5, rel=1e-12)


def test_rod_side_stands_at_atmosphere():
    """At zero gauge pressure there is no force, whatever the bore."""
    unit = replace(Unit(), cylinder=Cylinder(bore=0.05, seal_force=0.0))
    m = packed(unit)._replace(p_set=ATMOSPHERE)
    volume = m.gas_mass / (ATMOSPHERE * 28.01348e-3 / (8.314 * 293.15))
    length = cylinder_length(unit, 0.0)
    got = hydraulics(m._replace(v_nominal=volume, v_acc=10 * volume), IDEAL, length, 0.0, 293.15, 0.0)
    assert got[0] == pytest.approx(0.0, abs=1e-6)


@every("damping", [0.0, 0.45])
def test_a_stone_gives_way_at_its_strength(damping):
    """A carrier falls on a plate that sinks at 5 kN: the force is held there, the energy adds up."""
    unit = steady_push(carrier_only(100.0))
    settings = pushing(unit, 1000.0)
    rock = Rock(stiffness=0.6e6, damping=damping, give_way=5e3)
    m = pack(unit, Soil(), rock, settings, filled(unit, settings), math.radians(97.0))
    bottom = 10.0 + unit.toolbar.upper_pin[1] + unit.disc.hub[1] - unit.disc.radius
    y = State(0.0, -1.5 / 0.55, 0.1, 0.0, 0.0, 0.0, 293.15, 0.0)
    got = march_from(m, IDEAL, y, step=2e-4, steps=800, z_bar=10.0, table=level_table(-50.0, hard=bottom))
    force, fallen = got.series["rock_force"], bottom - (bottom + 0.55 * np.sin(got.series["arm_angle"]))
    assert force.max() == pytest.approx(5e3, rel=1e-9)
    held = force >= 5e3 * (1.0 - 1e-9)
    assert got.series["stone_gives_way"][held].all()
    assert np.count_nonzero(got.series["stone_gives_way"]) <= np.count_nonzero(held) + 1
    sunk = fallen.max() - 5e3 / 0.6e6
    assert sunk > 0.005
    # once risen from its deepest the plate stays where it was pressed to
    after = np.flatnonzero(fallen == fallen.max())[0]
    open_again = np.flatnonzero(force[after:] == 0.0)[0] + after
    assert fallen[open_again] == pytest.approx(sunk, abs=2e-3)
    losses = sum(v for k, v in got.sums.items() if k not in ("work", "traffic", "heat", "valve", "column"))
    gains = got.sums["heat"] + got.sums["valve"] + got.sums["column"]
    residual = got.sums["work"] - (got.stored[1] - got.stored[0]) - losses + gains
    assert abs(residual) < 1e-3 * (5e3 * sunk)
    assert got.sums["soil"] == pytest.approx(5e3 * sunk, rel=0.02)  # F_s·u
    assert got.sums["rock"] == pytest.approx(0.0, abs=1e-9) if damping == 0.0 else got.sums["rock"] > 1.0
