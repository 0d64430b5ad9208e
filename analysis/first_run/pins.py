"""The kernels of pins compiled without a crossing, each by itself, so that two processes can share the work.

They are called as after a crossing (`analysis.pins.wear.stretch`), of a unit that stands still and carries nothing.
"""

from __future__ import annotations

import numpy as np

from analysis.pins.bush.bush_sums import balances, rates_of, reduced
from analysis.pins.duty.gathered import gathered
from sim.record import CHANNELS, PINS, DepthSetting, Energy, Run
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit

STEPS = 4


def compile_gather() -> None:
    """Compile what gathers loads, cycles and directions of pins, or find it in the cache."""
    gathered(run_of_nothing())


def compile_bushes() -> None:
    """Compile what shares couples out and reduces bushes, or find it in the cache."""
    run = run_of_nothing()
    for held in balances(run):
        reduced(run, held, rates_of(run, ("gauge_arm",)))


def run_of_nothing() -> Run:
    """A few steps of a unit that stands still and carries nothing."""
    soil, settings, step = Soil(), Settings(), 1e-3
    still = DepthSetting(0.0, 0.5, 0.0, 0.0, 0.0, 0.0, reached=True)
    return Run(
        unit=Unit(), soil=soil, settings=settings, track=flat_track(1.0, soil.strength), setting=still, reference=still,
        step=step, steps=STEPS, cut_steps=0, series={channel.name: np.zeros(STEPS) for channel in CHANNELS},
        pins=np.zeros((STEPS, len(PINS), 2)), actuator=np.zeros(STEPS), energy=Energy(0.0, 0.0, 0.0, {}, 0.0),
        pin_residuals={}, downforce=0.0, wall=0.0, compile_wall=0.0,
    )  # fmt: skip
