"""A disc of two blades in the general rigid-body engine: constants read on a way of their own, and one crossing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import synthetic_ground
from packed_model import packed

from sim.rigid.laws import laws
from sim.rigid.simulate import simulate_rigid
from sim.run import prepare, simulate
from sim.unit import Disc, Rock, Settings, Soil, Unit

HIGHER = Settings(toolbar="level", oil_pressure=77e5, reference_pressure=77e5)
DOUBLE = Unit(disc=Disc(blades=2))


def test_both_engines_have_the_same_constants():
    ready = prepare(DOUBLE, Soil(), Rock(), HIGHER)
    other, m = laws(DOUBLE, Soil(), Rock(), HIGHER, ready), packed(DOUBLE, settings=HIGHER)
    assert (other.edge_width, other.face_factor, other.drag_torque) == (m.edge_w, m.face_k, m.drag_torque)
    assert (m.edge_w, m.face_k, m.drag_torque) == (0.010, 0.08, 16.0)
    assert (other.one_sided, m.side_share, packed().side_share) == (0.0, 0.0, 1.0)


def test_the_second_engine_agrees():
    track = synthetic_ground.rough(4.0, synthetic_ground.GEOMETRIC_MEAN["D"], 4)
    settings = replace(HIGHER, toolbar="carried")
    mine, rigid = (engine(DOUBLE, Soil(), track, settings, step=1e-3) for engine in (simulate, simulate_rigid))
    assert np.abs(mine.series["depth"] - rigid.series["depth"]).max() < 0.02e-3
    assert (rigid.series["side_load"] == 0.0).all()
    for name in ("disc_vertical", "disc_draught", "spare_load"):
        scale = np.abs(mine.series[name]).max()
        assert np.abs(mine.series[name] - rigid.series[name]).max() < 0.003 * scale, name
