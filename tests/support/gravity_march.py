"""Crossings under our gravity and under four times as much: run by `test_properties_scaling.py` without compilation.

Gravity is a constant of the model, compiled into it; as plain Python it can be changed wherever it was imported. The
ground tables come from a file, since envelopes are compiled only, and the toolbar stands level for the same reason.
"""

from __future__ import annotations

import json
import sys
from dataclasses import replace

import numpy as np
import synthetic_ground
from scaled_unit import all_quicker

from sim import run as crossing
from sim.ground_tables import GroundTables
from sim.run import simulate
from sim.track import Track, flat_track
from sim.unit import GRAVITY, Rock, Settings, Soil, Unit

LEAD = 1.0  # in place of the usual 26 m: as plain Python a metre takes a second [m]
FACTOR = 2.0
STEP = 2.0**-8  # [s]
LEVEL = Settings(toolbar="level", speed=2.0, reference_speed=2.0)
CASES = (LEVEL, replace(LEVEL, oil="held", oil_pressure=30e5, precharge=28e5, setting="unchanged"))


def ground() -> Track:
    """A hump of 30 mm with stronger soil and a stone on it that gives way, right behind the start."""
    track = flat_track(2.0, synthetic_ground.FIRM, rock=Rock(give_way=4e3))
    rise = 0.03 * np.sin(np.pi * np.clip(track.x - 0.2, 0.0, 1.0)) ** 2
    track = replace(track, ground=rise, strength=track.strength * (1.0 + 5.0 * rise))
    return synthetic_ground.with_stone(track, 0.9, 0.25, 0.02)


def with_gravity(value: float) -> None:
    """Another constant in every module that holds it."""
    for name, module in list(sys.modules.items()):
        if name.split(".")[0] == "sim" and hasattr(module, "GRAVITY"):
            module.GRAVITY = value


def compared(track: Track, tables: GroundTables, settings: Settings) -> dict[str, float]:
    """Largest differences of the motion in place and of the loads, each as a share of its largest value."""
    unit, soil = Unit(), Soil()
    with_gravity(GRAVITY)
    ours = simulate(unit, soil, track, settings, step=STEP, tables=tables)
    with_gravity(GRAVITY * FACTOR**2)
    unit, soil, rock, settings = all_quicker(unit, soil, track.rock, settings, FACTOR)
    theirs = simulate(unit, soil, replace(track, rock=rock), settings, step=STEP / FACTOR, tables=tables)
    powers = {"time": -1, "arm_rate": 1, "press_rate": 1, "carrier_acceleration": 2}
    found = {}
    for name, values in ours.series.items():
        size = max(float(np.abs(values).max()), 1e-3)
        found[name] = float(np.abs(values - theirs.series[name] / FACTOR ** powers.get(name, 0)).max()) / size
    found["pins"] = float(np.abs(ours.pins - theirs.pins).max() / np.abs(ours.pins).max())
    found["stone"] = float(ours.series["rock_force"].max())
    return found


if __name__ == "__main__":
    given = np.load(sys.argv[1])
    crossing.LEAD_IN = LEAD
    tables = GroundTables(given["table"], given["stone"], float(given["x0"]), float(given["dx"]))
    sys.stdout.write(json.dumps([compared(ground(), tables, settings) for settings in CASES]))
