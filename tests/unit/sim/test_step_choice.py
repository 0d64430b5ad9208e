"""The choice of the time step: kept where it is usual, shorter by key, the same for all rows of a march."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from itertools import pairwise

import numpy as np
import pytest
from every import every

from scenarios.format.edge_units import file_key
from scenarios.format.library import library
from scenarios.load import load
from sim.errors import SimulationError, StepError
from sim.laws.wheel_soil import soil_constants, wheel_on_soil, wheel_rates
from sim.rates import of_spring
from sim.step import LONGEST_STEP, READ, STEP_LENGTH, Step, choose_step, travel_in, usual_step
from sim.stiff_laws import LAWS, Case, place_of, with_value
from sim.toolbar.parts import parts_per_node, toolbar_rates
from sim.unit import Accumulator, Cylinder, GaugeWheel, MainLinks, PressWheel, Rock, Settings, Soil, Toolbar, Unit

KMH = 1 / 3.6
SETTINGS = Settings(speed=8 * KMH)
CASE = Case(Unit(), Soil(), Rock(), SETTINGS)


def chosen(unit=Unit(), soil=Soil(), rock=Rock(), settings=SETTINGS):  # noqa: B008 (frozen)
    return choose_step(unit, soil, rock, settings)


@pytest.mark.parametrize("kmh", [1, 3, 5, 7.4, 8, 12, 20, 30])
def test_the_library_keeps_the_usual_step(kmh):
    for name in (entry.name for entry in library()):
        s = load(name)
        step = choose_step(s.unit, s.soil, s.stones.contact, replace(s.settings, speed=kmh * KMH))
        assert (step.seconds, step.note) == (usual_step(kmh * KMH), ""), name


@pytest.mark.parametrize(
    ("key", "unit", "soil", "rock"),
    [
        ("unit.gauge_wheel.tyre_damping_Ns_per_m", Unit(gauge_wheel=GaugeWheel(tyre_damping=50.0)), Soil(), Rock()),
        ("unit.press_wheel.tyre_damping_Ns_per_m", Unit(press_wheel=PressWheel(tyre_damping=20.0)), Soil(), Rock()),
        ("unit.press_wheel.stiffness_kN_per_m", Unit(press_wheel=PressWheel(stiffness=4e6)), Soil(), Rock()),
        ("unit.press_wheel.damping_Nms_per_rad", Unit(press_wheel=PressWheel(damping=1e3)), Soil(), Rock()),
        ("unit.press_wheel.stop_stiffness_kNm_per_rad", Unit(press_wheel=PressWheel(stop_stiffness=1e6)), Soil(),
         Rock()),
        ("unit.main_links.stop_damping_s_per_rad",
         Unit(main_links=MainLinks(stop_stiffness=1e6, stop_damping=5.0)), Soil(), Rock()),
        ("unit.cylinder.line_Pa_s_per_m3", Unit(cylinder=Cylinder(line=1e12)), Soil(), Rock()),
        ("unit.cylinder.orifice_mm", Unit(cylinder=Cylinder(orifice=0.0005)), Soil(), Rock()),
        ("unit.cylinder.seal_speed_mm_per_s", Unit(cylinder=Cylinder(seal_speed=1e-4)), Soil(), Rock()),
        ("unit.accumulator.column_volume_l", Unit(accumulator=Accumulator(column_volume=1e-6)), Soil(), Rock()),
        ("soil.frictional_modulus_kN_per_m_n2", Unit(), Soil(frictional_modulus=1e8), Rock()),
        ("stones.contact.stiffness_MN_per_m", Unit(), Soil(), Rock(stiffness=1e8)),
        ("unit.toolbar.stiffness_kN_per_m", Unit(toolbar=Toolbar(stiffness=1e7, mass=200.0)), Soil(), Rock()),
    ],
)  # fmt: skip
def test_a_stiff_value_asks_for_a_shorter_step_by_its_key(key, unit, soil, rock):
    step = chosen(unit, soil, rock)
    assert step.seconds * step.shorter == pytest.approx(usual_step(SETTINGS.speed))
    assert step.shorter > 1.0
    assert key in step.keys
    assert key in step.note


@every(
    ("shorter", "told"),
    [(1.0, None), (1.04, None), (1.0999, None), (1.1, "1.1 times as long"), (1.37, "1.4"), (12.6, "13 times as long")],
)
def test_a_step_is_told_of_where_it_costs_something(shorter, told):
    note = Step(1e-3, shorter, ("unit.carrier.mass_kg",)).note
    assert (told in note) if told else note == ""
    assert " 1 times" not in note


def test_a_hard_stop_is_followed_as_closely_as_the_unit_can_strike_it():
    """The faster the unit goes the faster its arms meet a stop."""
    hard = Unit(main_links=MainLinks(stop_stiffness=1e6))
    steps = [chosen(hard, settings=replace(SETTINGS, speed=v * KMH)).seconds for v in (4, 8, 12, 20)]
    assert all(slower > faster for slower, faster in pairwise(steps))


def test_a_held_valve_counts_where_there_is_one():
    unit = Unit(accumulator=Accumulator(hold_time=0.05))
    assert chosen(unit).keys == ()
    assert chosen(unit, settings=replace(SETTINGS, oil="held")).keys == ("unit.accumulator.hold_time_s",)
    assert chosen(settings=replace(SETTINGS, oil="held")).keys == ()


def test_what_moves_nothing_asks_for_no_step():
    """Both pins of the cylinder in one line with the main link's pin: its length does not follow the arm."""
    still = Unit(cylinder=Cylinder(frame=(0.0, 0.0)))
    assert Case(still, Soil(), Rock(), SETTINGS).mass_at(0.0, 0.0) == math.inf
    assert chosen(still).seconds == usual_step(SETTINGS.speed)


def test_what_is_too_stiff_is_refused_by_key():
    with pytest.raises(StepError, match=r"unit\.gauge_wheel\.tyre_\w+ with .*tyre_\w+: .* allowed: 64"):
        chosen(Unit(gauge_wheel=GaugeWheel(tyre_damping=50.0, tyre_stiffness=5e6)))
    assert issubclass(StepError, SimulationError)


def test_the_step_depends_on_what_is_read_alone():
    unit = Unit(gauge_wheel=GaugeWheel(tyre_damping=50.0))
    step = chosen(unit)
    others = (
        {"oil_pressure": 250e5}, {"precharge": 5e5}, {"set_depth": 0.1}, {"setting": "unchanged"},
        {"reference_speed": 1.0}, {"reference_pressure": 20e5},
    )  # fmt: skip
    assert all(chosen(unit, settings=replace(SETTINGS, **other)) is step for other in others)
    assert not set(READ) & {name for other in others for name in other}


def test_every_key_is_one_of_the_scenario_file():
    for law in LAWS:
        assert law.rates(CASE).lasting.real.max() <= 1e-9
        for key in law.keys:
            group, name = place_of(CASE, key)
            (field,) = (field for field in fields(group) if field.name == name)
            assert key.rsplit(".", 1)[1] == file_key(name, field.metadata["edge"]), key
            changed = with_value(CASE, key, 0.123)
            assert getattr(place_of(changed, key)[0], name) == 0.123
            assert with_value(changed, key) == CASE


@pytest.mark.parametrize("held", [False, True])
def test_rates_of_a_wheel_are_the_slopes_of_its_law(held):
    """Central differences of the law itself, about rest and about sinking fast."""
    soil, k, c, v, mass, strength = soil_constants(Soil(), 0.1, 0.2), 200e3, 1500.0, 2.0, 150.0, 1.3
    load = 900.0
    m = soil.exponent + 0.5
    sunk = (load / (soil.load * strength)) ** (1.0 / m)
    rate = 5.0 if held else 0.0  # sinking so fast that the load is held

    def slopes(y):
        z, w, deflection = y
        on = wheel_on_soil(
            sunk - z - (deflection - load / k), rate - w, deflection, strength, 0.0, soil, k, c, 1.0 / c, v
        )  # fmt: skip
        return np.array([w, on.load / mass, on.tyre_rate])

    at = np.array([0.0, 0.0, load / k])
    jacobian = np.empty((3, 3))
    for i, by in enumerate((1e-7, 1e-5, 1e-7)):
        by_one = np.eye(3)[i] * by
        jacobian[:, i] = (slopes(at + by_one) - slopes(at - by_one)) / (2.0 * by)
    rates = wheel_rates(soil, k, c, v, mass, load, strength)
    ours = rates.passing if held else rates.lasting[:3]
    assert np.sort_complex(ours) == pytest.approx(np.sort_complex(np.linalg.eigvals(jacobian)), rel=1e-4)
    assert rates.lasting[3] == pytest.approx(-k / c)


def test_a_mass_on_a_spring_and_a_damper():
    assert of_spring(100.0, 0.0, 4.0) == pytest.approx([-5.0j, 5.0j])
    assert sorted(of_spring(3.0, 4.0, 1.0).real) == pytest.approx([-3.0, -1.0])


def test_parts_of_the_toolbars_march():
    usual = toolbar_rates(Toolbar())
    assert [parts_per_node(usual, h) for h in (0.5e-3, 1.6e-3, 2e-3)] == [1, 1, 2]
    stiff = toolbar_rates(Toolbar(damping=1e6))
    assert np.abs(stiff).max() == pytest.approx(2e6 * 2.2**2 / 3500.0, rel=0.01)
    assert parts_per_node(stiff, 2e-3) == 3
    with pytest.raises(StepError, match=r"unit\.toolbar\.damping_kNs_per_m.* allowed: 256"):
        parts_per_node(toolbar_rates(Toolbar(damping=1e6, inertia=10.0)), 2e-3)


def test_the_usual_step_holds_the_very_same_travel_at_every_speed_but_slow_ones():
    fast = np.linspace(STEP_LENGTH / LONGEST_STEP, 30 * KMH, 500).tolist()
    assert {travel_in(usual_step(speed), speed) for speed in fast} == {STEP_LENGTH}
    assert travel_in(usual_step(1.5), 1.5) == 1.5 * LONGEST_STEP
    assert travel_in(1e-3, 3.0) == 3e-3
