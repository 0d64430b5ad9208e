"""Random ground by small motions: closed forms, the infinite road of waviness 2, and how it scales.

Sources: σ² = S_v/(8 ζ ω_n) for a mass on spring and damper over white velocity (`derived`), 5.887 mm where the road is
cut off at both ends (`computed`): the project's collection of sources, 9.3.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from reduced_unit import carrier_only, linear_soil, point_wheel, pushing, steady_push

from analysis.modes import response
from analysis.modes.rough import Both, Rough, Spread, line_of, on_rough, spectrum
from scenarios.load import load
from scenarios.spec import Roughness, Variation
from sim.linear import linearise

EVEN = Variation(variation_cv=0.0)


@pytest.fixture
def mass_on_wheel(monkeypatch):
    """100 kg on 200 kN/m and 2 kN s/m at 3 m/s, the disc right over a wheel that feels every point."""
    monkeypatch.setattr(response, "CONTACT_LENGTH", 1e-6)
    unit = point_wheel(steady_push(carrier_only(100.0)), 2e5)
    unit = replace(unit, gauge_wheel=replace(unit.gauge_wheel, tyre_damping=2e3))
    soil, settings = linear_soil(unit, 1e9), pushing(unit, 500.0, speed=3.0, reference_speed=3.0)
    linear = linearise(unit, soil, settings)
    return replace(linear, places={**linear.places, "disc": linear.places["gauge"]})


@pytest.mark.parametrize(("band", "expected"), [((1e-4, 300.0), 7.787e-3), ((0.011, 2.83), 5.887e-3)])
def test_mass_on_spring_and_damper_over_ground_of_class_e(mass_on_wheel, band, expected):
    found = spectrum(mass_on_wheel, Roughness(letter="E", band=band), EVEN, 1e20)
    assert found.slipping.depth == pytest.approx(expected, rel=4e-3)


def test_the_spread_grows_with_the_root_of_the_speed(mass_on_wheel):
    """White velocity: σ ∝ √v at one machine; the matrices are kept, the way is passed faster."""
    wide = Roughness(letter="E", band=(1e-4, 300.0))
    slow = spectrum(mass_on_wheel, wide, EVEN, 1e20)
    faster = replace(mass_on_wheel, speed=12.0)
    b, d = faster.free.b.copy(), faster.free.d.copy()
    slope = response.INPUTS.index("gauge_slope")
    b[:, slope], d[:, slope] = b[:, slope] * 4.0, d[:, slope] * 4.0  # a slope is met four times as fast
    fast = spectrum(replace(faster, free=faster.free._replace(b=b, d=d)), wide, EVEN, 1e20)
    assert fast.slipping.depth == pytest.approx(2.0 * slow.slipping.depth, rel=5e-3)


def test_over_one_ground_and_by_spectrum_they_agree():
    """The mean of several grounds comes to what the spectrum says."""
    scenario = load("rough", changes={"ground.length_m": 150})
    linear = linearise(scenario.unit, scenario.soil, scenario.settings)
    found = spectrum(linear, scenario.ground.roughness, scenario.variation, scenario.soil.strength)
    over = [line_of(linear, scenario.track(seed), 10.0).spread(pins=()).depth for seed in range(6)]
    assert math.sqrt(np.mean(np.square(over))) == pytest.approx(found.slipping.depth, rel=0.05)
    assert found.loose.gauge_load > found.slipping.gauge_load  # a damper takes from the bounce
    assert found.stuck.gauge_load > 1.1 * found.slipping.gauge_load  # and one that never slips stiffens the unit
    assert 0.0 < found.lift_off < 0.02


def test_level_ground_of_even_strength_stirs_nothing():
    scenario = load(
        "rough", changes={"ground.roughness.class": "none", "soil.variation_cv": 0.0, "ground.length_m": 30}
    )
    linear = linearise(scenario.unit, scenario.soil, scenario.settings)
    found = on_rough(scenario, linear)
    assert found.own.small.depth == 0.0
    assert found.own.whole.depth < 1e-6
    assert (found.classes, found.soil, found.spectra) == ((), (), None)


def test_heights_agree_with_the_whole_model_until_the_wheel_leaves_the_ground():
    scenario = load("rough", changes={"ground.length_m": 100})
    found = on_rough(scenario, linearise(scenario.unit, scenario.soil, scenario.settings))
    by_class = {one.name: one for one in found.classes}
    for name in "BCD":
        assert abs(by_class[name].apart) < 0.03
        assert by_class[name].small.gauge_load == pytest.approx(by_class[name].whole.gauge_load, rel=0.05)
        assert by_class[name].small.pins["main_lower_front"] == pytest.approx(
            by_class[name].whole.pins["main_lower_front"], rel=0.08
        )
    assert by_class["F"].wheel_off > 0.05
    assert by_class["F"].small.gauge_load > 1.15 * by_class["F"].whole.gauge_load
    # soft spots are further from the mean than hard ones: strength parts first, and sooner the more it varies
    apart = [abs(one.apart) for _, one in found.soil]
    assert apart == sorted(apart)
    assert apart[0] < 0.02
    assert found.soil_parts_from == found.soil[-1][0]


def both(name, small, whole):
    return Both(name, Spread(small, 0.0, {}), Spread(whole, 0.0, {}), 0.0, 0.0, 0.0)


def test_they_part_where_they_do_not_meet_again():
    def parted(*pairs):
        classes = tuple(both(name, *pair) for name, pair in zip("BCDEF", pairs, strict=False))
        found = Rough(None, classes[0], classes, ()).part_from
        return None if found is None else found.name

    assert parted((1.0, 1.0), (1.2, 1.0), (1.0, 1.0), (1.2, 1.0), (1.5, 1.0)) == "E"
    assert parted((1.0, 1.0), (1.05, 1.0)) is None
    assert parted((1.2, 1.0), (1.3, 1.0)) == "B"
