"""Bush pressure, edge pressure, wear and life against worked examples and closed forms."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from analysis.pins.bush.bushes import bush_duties
from analysis.pins.bush.pressure import edge_pressure, mean_pressure, pin_stress
from analysis.pins.wear.law import factors, lubricated_share, mixing, time_to_wear, wear_depth
from analysis.pins.wear.life import clearance, farm, needed, pin_lives
from analysis.pins.wear.materials import MATERIALS
from analysis.pins.wear.stretch import stretch_of
from scenarios.spec import Machine
from sim.bushes import MATERIALS as NAMES
from sim.bushes import MainPins, Pin
from sim.record import PINS
from sim.unit import Settings, Unit

INCH, POUND_FORCE, FOOT = 0.0254, 4.4482216152605, 0.3048  # exact
MACHINE = Machine().width


@pytest.fixture(scope="module")
def rough(cross):
    return cross("class D")


@pytest.fixture(scope="module")
def lives(rough):
    return pin_lives(stretch_of(rough), MACHINE)


def with_pins(run, **changes):
    return replace(run, unit=replace(run.unit, pins=replace(run.unit.pins, **changes)))


def test_bush_and_edge_pressure_of_the_worked_example():
    """2 kN on a bush of 20 × 25 mm: 4.0 MPa. With 10 N m, over F·L/6 = 8.33: 8.89 MPa over the part that touches; the
    formula of full contact would say 8.8 (derived)."""
    assert mean_pressure(2000.0, 0.020, 0.025) == pytest.approx(4.0e6)
    assert edge_pressure(2000.0, 10.0, 0.020, 0.025) == pytest.approx(8.889e6, rel=1e-4)
    assert edge_pressure(2000.0, 5.0, 0.020, 0.025) == pytest.approx(4.0e6 + 2.4e6)


def test_edge_pressure_has_no_jump_where_contact_becomes_partial_and_no_end_at_the_edge():
    at = 2000.0 * 0.025 / 6.0
    assert edge_pressure(2000.0, at * (1 - 1e-9), 0.02, 0.025) == pytest.approx(8.0e6, rel=1e-6)
    assert edge_pressure(2000.0, at * (1 + 1e-9), 0.02, 0.025) == pytest.approx(8.0e6, rel=1e-6)
    assert edge_pressure(2000.0, 2000.0 * 0.0125, 0.02, 0.025) == math.inf
    assert list(edge_pressure(np.array([2000.0, 2000.0]), np.array([0.0, -10.0]), 0.02, 0.025)) == pytest.approx(
        [4.0e6, 8.889e6], rel=1e-4
    )


def test_linear_wear_of_the_worked_example():
    """Self-lubricating bush, D = L = 1 in, 700 lbf, 33 ft/min, 0.005 in, K = 0.6e-10 in³·min/(lbf·ft·h), f1 1.3,
    f2 1.0: 2180 h (Shigley's Mechanical Engineering Design, ch. 12; value from memory, high; arithmetic 2179.5 h)."""
    factor = 0.6e-10 * 1.3 * INCH**3 * 60.0 / (POUND_FORCE * FOOT * 3600.0)  # [m²/N]
    load, speed = 700.0 * POUND_FORCE, 33.0 * FOOT / 60.0
    hours = time_to_wear(factor, load, INCH, INCH, speed, 0.005 * INCH) / 3600.0
    assert hours == pytest.approx(2179.5, rel=1e-3)
    assert wear_depth(factor, load, INCH, INCH, speed * hours * 3600.0) == pytest.approx(0.005 * INCH, rel=1e-12)


def test_the_low_wear_factor_of_porous_bronze_is_that_of_the_worked_example():
    found = 0.6e-10 * INCH**3 * 60.0 / (POUND_FORCE * FOOT * 3600.0)
    assert MATERIALS["porous_bronze"].lubricated[0] == pytest.approx(found, rel=0.01)


def test_pin_stress_of_a_beam_by_hand():
    """4 kN in the middle of 120 mm on a pin of 30 mm: 120 N m, 45.3 MPa; 2 kN of shear 3.8 MPa: √(45.3² + 3·3.8²).
    A single bush of 30 mm in a fork: 4 kN·0.03/8 = 15 N m."""
    sigma, tau = 32 * 120.0 / (math.pi * 0.03**3), 16 * 2000.0 / (3 * math.pi * 0.03**2)
    assert sigma == pytest.approx(45.27e6, rel=1e-3)
    assert pin_stress(4000.0, 0.0, 2000.0, Pin()) == pytest.approx(math.hypot(sigma, math.sqrt(3) * tau))
    alone = pin_stress(4000.0, 0.0, 4000.0, Pin(span=0.0))
    assert alone == pytest.approx(math.hypot(32 * 15.0 / (math.pi * 0.03**3), math.sqrt(3) * tau))


def test_every_material_of_the_file_has_limits_and_wear_factors_with_their_source():
    assert set(MATERIALS) == set(NAMES)
    for name, of in MATERIALS.items():
        assert of.limits_from, name
        assert of.wear_from, name
        assert 0.0 < of.lubricated[0] < of.lubricated[1] <= of.starved[1], name
        assert of.lubricated[0] <= of.starved[0] < of.starved[1], name


def test_greasing_mixes_lubricated_and_starved_running():
    assert lubricated_share(300.0, 3.0, 50.0) == pytest.approx(0.5)
    assert lubricated_share(100.0, 3.0, 50.0) == 1.0
    low, high = factors(Pin(), 0.5)
    of = MATERIALS["cast_bronze"]
    assert low == pytest.approx(0.5 * (of.lubricated[0] + of.starved[0]))
    assert high == pytest.approx(0.5 * (of.lubricated[1] + of.starved[1]))
    assert factors(Pin(lubrication="starved"), 1.0) == factors(Pin(lubrication="dry"), 1.0) == of.starved
    assert mixing(Pin(material="lined", lubrication="dry"), 0.0) == 1.0


def test_a_years_work_of_a_row_by_hand():
    """8 rows at 0.25 m: 2 m; 500 ha are 2500 km of each row, 312.5 h at 8 km/h; 3 greasings of 50 h: 48 % greased."""
    year = farm(MACHINE, Unit(), Settings(), 500.0)
    assert (year.travel, year.hours) == pytest.approx((2.5e6, 312.5))
    assert year.lubricated == pytest.approx(0.48)
    fast = farm(MACHINE, Unit(), Settings(speed=12 / 3.6), 500.0)
    assert (fast.lubricated, fast.travel) == (
        year.lubricated,
        year.travel,
    )  # driving faster makes no grease last longer
    assert farm(MACHINE, Unit(), Settings(), None).hectares == pytest.approx(500.0)


def test_life_by_hand_from_sliding_and_load(rough, lives):
    """Main lower front: w = k (4/π) ∫F|dθ| /(2L); years = play/(w per hectare × hectares)."""
    life, duty = lives.named("main_lower_front"), bush_duties(rough, ("main_lower_front",))[0]
    k = factors(Pin(), lives.farm.lubricated)
    least, most = life.worn
    assert least <= duty.worn <= most
    assert most > 1.05 * least  # all couples on the upper or on the lower pins
    per_metre = k[1] * 4.0 / math.pi * most / (2 * 0.030)
    assert life.wear_per_hectare[1] == pytest.approx(per_metre * 1e4 / 2.0)
    assert life.years[0] == pytest.approx(0.001 / (per_metre * 2.5e6))
    assert clearance(life, lives.farm, [2.0])[0][1] == pytest.approx(2.0 * 0.001 / life.years[0])


def test_sliding_and_wear_fall_out_of_a_steady_oscillation(rough):
    """∫F|dθ| is no smaller than the mean load times the mean turning less their scatter, and no diameter changes it."""
    thick = with_pins(rough, main=MainPins(diameter=0.06))
    for one, other in zip(bush_duties(rough, PINS[:4]), bush_duties(thick, PINS[:4]), strict=True):
        assert other.worn == pytest.approx(one.worn)
        assert other.pressure_peak == pytest.approx(0.5 * one.pressure_peak)
        assert other.velocity == pytest.approx(2.0 * one.velocity)
        assert other.pressure_velocity(2.0) == pytest.approx(one.pressure_velocity(2.0))


def test_twice_the_hectares_halve_the_years_or_less(rough, lives):
    """Fewer of the hours are lubricated, so it is less than half."""
    busy = pin_lives(stretch_of(rough), MACHINE, 1000.0)
    for name in PINS[:4]:
        assert busy.named(name).years[1] < 0.5 * lives.named(name).years[1]


def test_pins_that_do_not_turn_do_not_wear_here(lives):
    """The crank is held by its actuator; in a parallelogram the gauge arm does not turn against the carrier."""
    for name in ("crank", "gauge_arm", "bell_crank"):
        assert lives.named(name).years is None
        assert lives.named(name).limit != "wear"


def test_what_ten_years_need_gives_ten_years(rough, lives):
    """Length, span and greasings told back: with each the pin lasts ten years by the factor it was told for."""
    life = lives.first_main
    need = needed(rough, life, lives.farm, 10.0)
    longer = with_pins(rough, main=MainPins(length=need.length[1], span=0.5))
    assert need.length[1] == pytest.approx(0.03 * life.factor[1] / need.factor)
    duty = bush_duties(rough, (life.name,))[0]
    k = need.factor
    assert 0.001 / (k * 4 / math.pi * duty.worn / 0.06 * lives.farm.travel) == pytest.approx(10.0)
    assert longer.unit.pins.main.length == need.length[1]
    small = with_pins(rough, worn_out_play=lives.unit.pins.worn_out_play * 10.0 / life.middle_years * 0.9)
    life = pin_lives(stretch_of(small), MACHINE).first_main
    need = needed(small, life, lives.farm, 10.0)
    if need.span[0] is not None:
        wider = with_pins(small, main=MainPins(span=need.span[0]))
        ratio = bush_duties(wider, (life.name,))[0].worn / life.duty.worn
        assert ratio == pytest.approx(need.factor / math.sqrt(life.factor[0] * life.factor[1]), rel=0.01)


def test_a_pressure_beyond_the_material_is_what_limits(rough):
    weak = with_pins(rough, main=MainPins(material="sintered_bronze", length=0.008))
    lives = pin_lives(stretch_of(weak), MACHINE)
    assert lives.passed
    assert lives.named("main_lower_front").limit in ("peak pressure", "pressure")


def test_a_single_bush_with_a_couple_is_told_by_its_edge(rough):
    alone = with_pins(rough, main=MainPins(span=0.0, length=0.15))
    duty = bush_duties(alone, ("main_lower_front",))[0]
    assert duty.side == ""
    assert duty.edge > 1.5 * duty.pressure_peak
    short = bush_duties(with_pins(rough, main=MainPins(span=0.0, length=0.05)), ("main_lower_front",))[0]
    assert short.worn > 2.0 * duty.worn  # of a couple on a bush as short, most is at its edge
