"""A disc of two blades: forces double, no side load is left over, each blade turns or stalls on its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground

from scenarios.load import load_unit
from sim.run import prepare, simulate
from sim.track import flat_track
from sim.unit import Disc, Rock, Settings, Soil, Unit

LEVEL = Settings(toolbar="level")
HIGHER = replace(LEVEL, oil_pressure=77e5, reference_pressure=77e5)
DOUBLE = Unit(disc=Disc(blades=2))


def on_flat(unit: Unit, settings: Settings):
    return simulate(unit, Soil(), flat_track(5.0, 1.2e6), settings)


def test_two_blades_bear_twice_and_leave_no_side_load():
    one, two = on_flat(Unit(), LEVEL).series, on_flat(DOUBLE, HIGHER).series
    assert one["side_load"][-1] > 200.0
    assert (two["side_load"] == 0.0).all()
    for name in ("disc_vertical", "disc_draught"):
        assert two[name][-1] == pytest.approx(2.0 * one[name][-1], rel=1e-9)


def test_two_blades_are_one_of_twice_the_edge_and_face_but_for_the_side_load():
    wide = Unit(disc=Disc(edge_width=0.010, face_factor=0.08, drag_torque=16.0))
    track = synthetic_ground.stony(20.0, synthetic_ground.GEOMETRIC_MEAN["D"], 3)
    one, two = (simulate(unit, Soil(), track, replace(HIGHER, toolbar="carried")) for unit in (wide, DOUBLE))
    for name, values in two.series.items():
        assert np.array_equal(values, np.zeros(values.size) if name == "side_load" else one.series[name]), name
    assert np.array_equal(one.pins, two.pins)


def test_a_blade_stalls_by_its_own_drag_and_torque():
    """Forces and drag of each blade are those of the single disc, so both stall at the same drag."""
    turning = on_flat(Unit(), LEVEL).series
    torque = 0.3 * 0.28 * (turning["disc_vertical"][-1] + _face(turning["side_load"][-1]))
    for unit, settings in ((Unit(), LEVEL), (DOUBLE, HIGHER)):
        for share, stalls in ((0.999, 0.0), (1.001, 1.0)):
            dragged = replace(unit, disc=replace(unit.disc, drag_torque=share * torque))
            assert on_flat(dragged, settings).series["disc_slip"][-1] == stalls


def _face(side: float) -> float:
    """What a face's normal force adds to the load on the arc beside its part of the vertical force [N]."""
    disc = Disc()
    return side / (np.cos(disc.tilt) * np.cos(disc.sweep)) - side * np.tan(disc.tilt)


def test_the_librarys_double_disc_carries_about_the_single_discs_load_at_its_own_pressure():
    made, single = load_unit("double_disc"), load_unit("demo")
    assert made.unit == DOUBLE
    assert made.settings.oil_pressure == made.settings.reference_pressure == 77e5
    loads = [prepare(one.unit, one.soil, Rock(), one.settings).reference.gauge_load for one in (made, single)]
    assert loads[0] == pytest.approx(loads[1], rel=0.02)
