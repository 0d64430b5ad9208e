"""The identity of means: the ground carries the unit's weight and the mean downforce, whatever the motion.

mean(N + F_z + N_press + boot) = weight + mean downforce, `derived`: the vertical momentum of a unit that ends as it
began has not changed. Bounce, hysteresis and enveloping cannot move the mean gauge load; only the opener's force, the
depth held, downforce and press load can.

Exact where the ground is level, so that the wheels' rolling resistance has no vertical part, and downforce is what
toolbar and locked crank push the unit down with. On random ground with the downforce as a grower counts it, the
cylinder's force at its leverage over the arm, the slope's part of the rolling resistance and the draught at the arm's
angle are left out.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import synthetic_ground
from every import every

from sim.ground_tables import ground_tables
from sim.hydraulics.cylinder import cylinder_length, piston_area
from sim.laws.contact import GroundColumns
from sim.record import PINS, Run
from sim.run import prepare, simulate
from sim.track import Track, flat_track
from sim.unit import ATMOSPHERE, GRAVITY, Rock, Settings, Soil, Unit

FIRM = Soil().strength
FROM_TOOLBAR = ("main_upper_front", "main_lower_front", "cylinder_frame", "rod_front")
IDENTITY = {"source": "momentum of a unit that ends as it began", "status": "derived"}


def patched() -> Track:
    """Flat ground with 4 m of half the strength, 2 m of one and a half times it, and firm soil ahead and behind."""
    track = flat_track(40.0, FIRM)

    def step(at: float):
        u = np.clip((track.x - at) / 0.3, 0.0, 1.0)
        return u * u * (3.0 - 2.0 * u)

    return replace(track, strength=FIRM * (1.0 - 0.5 * step(8.0) + step(12.0) - 0.5 * step(14.0)))


def carried(run: Run, track: Track) -> np.ndarray:
    """N + F_z + N_press + boot at every step, (n,) [N]."""
    laid = ground_tables(run.unit, track, run.settings.set_depth)
    ground, at = GroundColumns(*laid.table), run.series["distance"]
    x = laid.x0 + laid.dx * np.arange(ground.surface.size)
    depth = np.maximum(run.series["depth"] + np.interp(at, x, ground.ahead - ground.surface), 0.0)
    boot = run.unit.disc.boot_vertical * depth * np.interp(at, x, ground.strength) / run.soil.reference_strength
    return run.series["gauge_load"] + run.series["press_load"] + run.series["disc_vertical"] + boot


def weight(unit: Unit) -> float:
    """Of all that hangs on the toolbar and the locked crank [N]."""
    link = unit.depth_linkage
    mass = 2.0 * unit.main_links.mass + unit.carrier.mass + unit.gauge_wheel.arm_mass + unit.press_wheel.arm_mass
    return GRAVITY * (mass + link.rod_mass + link.turnbuckle_mass + link.bell_mass)


@every("speed", [8.0, 15.0])
def test_thrown_by_patches_on_level_ground(published, speed):
    track = patched()
    run = simulate(Unit(), Soil(), track, Settings(toolbar="level", speed=speed / 3.6), step=1e-3)
    up, down = carried(run, track), -sum(run.pins[:, PINS.index(name), 1] for name in FROM_TOOLBAR)
    assert np.ptp(up - weight(run.unit) - down) > 500.0  # at each instant the two are far apart
    assert (run.series["gauge_load"] == 0.0).any() == (speed == 15.0)
    published(
        f"mean load on the ground over soft and hard patches at {speed:g} km/h: weight + mean downforce",
        value=weight(run.unit) + down.mean(), ours=up.mean(), unit="N", rel=1e-6, **IDENTITY,
    )  # fmt: skip


@every("letter", ["C", "D"])
def test_on_random_ground(published, letter):
    track = synthetic_ground.rough(300.0, synthetic_ground.GEOMETRIC_MEAN[letter], 1)
    unit, soil, settings = Unit(), Soil(), Settings()
    run = simulate(unit, soil, track, settings, step=2e-3)
    angle, small = run.series["arm_angle"], 1e-5
    turns = np.linspace(angle.min(), angle.max(), 60)
    rise = [(cylinder_length(unit, a + small) - cylinder_length(unit, a - small)) / (2.0 * small) for a in turns]
    leverage = np.abs(np.interp(angle, turns, rise)) / (unit.main_links.length * np.cos(angle))
    down = (run.series["oil_pressure"] - ATMOSPHERE) * piston_area(unit) * leverage
    published(
        f"mean load on the ground, 300 m of class {letter} at 8 km/h: weight + mean downforce by cylinder and leverage",
        value=prepare(unit, soil, Rock(), settings).model.spare_weight + down.mean(),
        ours=carried(run, track).mean(), unit="N", rel=0.002, **IDENTITY,
    )  # fmt: skip
    assert math.isclose(run.series["gauge_load"].mean(), run.setting.gauge_load, rel_tol=0.02)
