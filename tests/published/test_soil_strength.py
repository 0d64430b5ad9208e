"""What the soil's strength does to depth and load, and how much it varies along a field.

Sources: the half-strength patch was computed by a rebuild of the model apart from this program (`computed`); the
variation of the cone index in a field is an abstract's (Bragantia, seen).
"""

from __future__ import annotations

import numpy as np
import pytest

from scenarios.load import load
from sim.run import simulate
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit

REBUILT = {"source": "independent rebuild of the model: flat, level, 40 bar, 8 km/h", "status": "computed"}


@pytest.mark.parametrize(
    ("share", "where", "depth", "load"), [(1.0, "firm soil", 40.0, 1061.0), (0.5, "half the strength", 53.2, 1561.0)]
)
def test_half_strength_patch(published, share, where, depth, load):
    soil = Soil()
    run = simulate(Unit(), soil, flat_track(20.0, share * soil.strength), Settings(toolbar="level"))
    s = run.series
    assert np.ptp(s["depth"][-100:]) < 1e-6  # at rest on it
    published(f"depth in {where}, set in firm soil", value=depth, ours=1e3 * s["depth"][-1], unit="mm", within=0.2,
              **REBUILT)  # fmt: skip
    published(f"gauge load in {where}", value=load, ours=s["gauge_load"][-1], unit="N", rel=0.02, **REBUILT)


def test_variation_of_the_cone_index(published):
    track = load("rough").track()
    inside = (track.x >= track.x_from) & (track.x <= track.x_to)
    strength = track.strength[inside]
    published.band(
        "coefficient of variation of the strength along the library's rough field",
        source="Bragantia: cone index in a field", status="seen (abstract)", low=16.5, high=45.8,
        ours=100.0 * strength.std() / strength.mean(), unit="%",
    )  # fmt: skip
