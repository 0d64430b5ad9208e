"""Depth setting and equilibrium on flat ground."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from every import every
from packed_model import packed

from sim.arithmetic.bracket import zero_between
from sim.errors import EquilibriumError, LinkageError
from sim.laws.gas import NITROGEN
from sim.run import prepare, simulate, start_state
from sim.setting import TRAVEL_MARGIN, equilibrium, nominal_height, press_angle, rest_at
from sim.track import flat_track
from sim.unit import Accumulator, Cylinder, DepthLinkage, MainLinks, Rock, Settings, Soil, Unit

FLAT = flat_track(1.0, 1.2e6)


# set depth mm: crank angle °, gauge load N (the model text's check values, rebuilt independently)
TABLE = [(20, 103.56, 1489), (40, 97.60, 1061), (50, 94.75, 883), (60, 91.94, 720), (80, 86.42, 426)]


@every(("depth", "crank", "load"), TABLE)
def test_reference_setting(depth, crank, load):
    found = prepare(Unit(), Soil(), Rock(), Settings(set_depth=1e-3 * depth)).setting
    assert math.degrees(found.crank_angle) == pytest.approx(crank, abs=0.01)
    assert found.gauge_load == pytest.approx(load, abs=2.5)
    assert found.reached


@every("depth", [0.02, 0.04, 0.06])
@every("bar", [60, 90])
@every("kmh", [5.0, 12.0])
def test_redone_setting_holds_the_depth_at_rest(depth, bar, kmh):
    settings = Settings(set_depth=depth, oil_pressure=bar * 1e5, speed=kmh / 3.6)
    ready = prepare(Unit(), Soil(), Rock(), settings)
    y = start_state(Unit(), Soil(), ready)
    assert ready.setting.reached
    assert abs(y.th) < 1e-9
    assert y.ps == pytest.approx(ready.setting.press_angle, abs=1e-9)
    run = simulate(Unit(), Soil(), FLAT, settings)
    assert np.abs(run.series["depth"] - depth).max() < 1e-8
    assert np.abs(run.series["arm_rate"]).max() < 1e-9


def test_unchanged_setting_is_that_of_the_reference():
    settings = Settings(oil_pressure=90e5, speed=15 / 3.6, setting="unchanged")
    ready = prepare(Unit(), Soil(), Rock(), settings)
    reference = prepare(Unit(), Soil(), Rock(), Settings())
    assert ready.setting == ready.reference == reference.setting
    redone = prepare(Unit(), Soil(), Rock(), replace(settings, setting="redone"))
    assert redone.setting.crank_angle != ready.setting.crank_angle
    assert redone.reference == reference.setting


def test_the_gas_starts_at_its_working_temperature():
    """Filled at 20 °C, at work at −10 and at 40 °C: it starts there, and the wall keeps it there."""
    for celsius in (-10.0, 40.0):
        settings = Settings(gas_temperature=273.15 + celsius)
        ready = prepare(Unit(), Soil(), Rock(), settings)
        assert start_state(Unit(), Soil(), ready).tg == settings.gas_temperature == ready.model.wall


def test_nominal_height_puts_the_disc_at_the_set_depth():
    unit = replace(Unit(), main_links=MainLinks(angle_nominal=0.1))
    z_hub = nominal_height(unit, 0.05) + 0.10 + 0.55 * math.sin(0.1) - 0.55
    assert z_hub - 0.28 == pytest.approx(-0.05)


def test_press_arm_rests_against_its_spring():
    """Far over the ground the arm hangs on its lower stop."""
    m = packed()
    hanging = press_angle(m, NITROGEN, 5.0, 0.0, 1.2e6)
    assert math.radians(-37.0) < hanging < math.radians(-35.0)


def test_equilibrium_without_wheel_contact():
    """With the disc bearing all the load the wheel may hang: a hard soil at low pressure."""
    soil = Soil(strength=6e6)
    settings = Settings(oil_pressure=30e5, setting="unchanged", reference_pressure=200e5, reference_speed=5 / 3.6)
    ready = prepare(Unit(), soil, Rock(), settings)
    y = start_state(Unit(), soil, ready)
    assert y.dg == 0.0
    run = simulate(Unit(), soil, flat_track(1.0, 6e6), settings)
    assert run.series["gauge_load"].max() == 0.0
    assert run.series["depth"].max() < 0.04


OVER_CENTRE = Cylinder(frame=(-0.4, 0.0))  # past the line of its pins it pushes the arm up


@every("cylinder", [Cylinder(), OVER_CENTRE])
@every("nominal", [-0.3, 0.0, 0.25, 0.7])
@every("height", [0.60, 0.69, 0.75, 1.2])
def test_of_all_angles_at_rest_the_nearest_to_the_nominal_one_is_found(cylinder, nominal, height):
    """Against a look over the whole travel; the over-centre cylinder holds the arm in two places."""
    links = MainLinks(angle_nominal=nominal)
    unit = replace(Unit(), main_links=links, cylinder=cylinder, accumulator=Accumulator(volume=0.01))
    m = packed(unit)

    def load(angle):
        pressed = press_angle(m, NITROGEN, height, angle, 1.2e6)
        return rest_at(m, NITROGEN, height, angle, pressed, 1.2e6).load_th

    grid = np.linspace(links.stop_down - TRAVEL_MARGIN, links.stop_up + TRAVEL_MARGIN, 69)
    loads = [load(angle) for angle in grid]
    falling = [k for k in range(68) if loads[k] > 0.0 >= loads[k + 1]]
    assert len(falling) == (2 if cylinder is OVER_CENTRE else 1)
    zeros = [zero_between(load, grid[k], grid[k + 1]) for k in falling]
    nearest = min(zeros, key=lambda angle: abs(angle - nominal))
    found, pressed = equilibrium(unit, m, NITROGEN, height, 1.2e6)
    assert found == pytest.approx(nearest, abs=1e-12)
    assert pressed == press_angle(m, NITROGEN, height, found, 1.2e6)


def test_setting_that_cannot_be_reached_says_so():
    """The wheel is set to touch at the depth, and the run warns."""
    soil = Soil(strength=6e6)
    run = simulate(Unit(), soil, flat_track(1.0, 6e6), Settings(oil_pressure=30e5))
    assert not run.setting.reached
    assert run.setting.squash == pytest.approx(0.0, abs=1e-9)
    assert any("does not hold the disc at 40 mm" in told for told in run.warnings)


def test_linkage_that_cannot_be_set_names_the_reason():
    unit = replace(Unit(), depth_linkage=DepthLinkage(turnbuckle=0.57))
    with pytest.raises(LinkageError, match=r"depth 150 mm cannot be set"):
        prepare(unit, Soil(), Rock(), Settings(set_depth=0.150))


def test_unit_without_equilibrium_is_refused():
    """A cylinder under the arm that throws the unit against its upper stop and beyond."""
    unit = replace(Unit(), cylinder=Cylinder(frame=(-0.05, -0.43), bore=0.15), accumulator=Accumulator(volume=0.1))
    m = packed(unit)
    with pytest.raises(EquilibriumError, match=r"no equilibrium"):
        equilibrium(unit, m, NITROGEN, 0.69, 1.2e6)
