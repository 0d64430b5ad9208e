"""Ridges of one height over the distance between them and the speed: how far they swing the depth, by small motions.

Everything is per height: a gain of 1 swings the depth, from its shallowest to its deepest, by the height of the ridges.
Ridges are even waves, height/2·cos(kx). For each distance and speed the seals and the fitting are the damper that takes
as much of that very swing as they do (`analysis.modes.drag`). Where the load on the gauge wheel swings by more than it
is, the wheel leaves the ground; where a crest is sharper than the wheel, a k² R > 1, the wheel bridges the furrows:
beyond both, small motions say less than they seem to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.modes.drag import drag_of, settled
from analysis.modes.response import PISTON, Response, felt, with_rub
from analysis.modes.shapes import BOUNCE, modes
from sim.errors import SimulationError
from sim.linear import OUTPUTS, Linear, linearise
from sim.record import PINS
from sim.unit import Settings, Soil, Unit

Values = NDArray[np.float64]
Complex = NDArray[np.complex128]

SPACINGS = np.geomspace(0.2, 5.0, 97)  # of the chart [m]
FINE = np.geomspace(0.2, 5.0, 481)  # at one speed: axles metres apart make close ripples of what they bring [m]
DEPTH, LOAD = OUTPUTS.index("depth"), OUTPUTS.index("gauge_load")
PEAK = 1.05  # a gain is a peak over the speeds where it is this much above those at both ends
MATTERS = 1.0  # and at least this much: ridges that swing the depth by less than their height shake nothing


@dataclass(frozen=True)
class Swings:
    """Swings on ridges of one height at one speed, by the distance between them: per height, crest to furrow."""

    linear: Linear
    spacings: Values  # [m]
    answers: Complex  # (outputs, spacings), per m of the surface
    rub: Values  # damper of the piston's drag, one for each spacing [N s/m]

    @property
    def depth(self) -> Values:
        """Swing of the depth per height [1]."""
        return np.abs(self.answers[DEPTH])

    def load_share(self, height: float) -> Values:
        """Amplitude of the gauge wheel's load on ridges of a height [m], as a share of the load at rest [1]."""
        return np.abs(self.answers[LOAD]) * 0.5 * height / float(self.linear.told.gauge_load)

    def pin(self, name: str) -> Values:
        """Swing of a pin's load per height [N/m], along its load at rest."""
        return np.abs(along_pin(self.linear, self.answers, name))


def along_pin(linear: Linear, answers: Complex, name: str) -> Complex:
    """What a pin's load changes by, along its load at rest (outputs, n) → (n,); across it changes nothing at first."""
    at = linear.pins[PINS.index(name)]
    first = OUTPUTS.index(f"{name}_x")
    return (at[0] * answers[first] + at[1] * answers[first + 1]) / max(float(np.hypot(*at)), 1e-9)


def swings(linear: Linear, spacings: Values, height: float) -> Swings:
    """Swings on ridges of a height [m] with the piston's drag that belongs to them."""
    k, drag = 2.0 * np.pi / spacings, drag_of(linear)
    answers, by_drag = Response(linear).free(felt(linear, k), k * linear.speed)

    def speed(rub: Values) -> Values:
        return np.abs(with_rub(answers, by_drag, rub)[PISTON]) * 0.5 * height

    rub = settled(drag.of_swing, speed, np.zeros(k.size))
    return Swings(linear, spacings, with_rub(answers, by_drag, rub), rub)


def bridged_below(unit: Unit, height: float) -> float:
    """Distance [m] below which the gauge wheel bridges the furrows between ridges of a height [m]: a k² R = 1."""
    return 2.0 * math.pi * math.sqrt(0.5 * height * unit.gauge_wheel.radius)


@dataclass(frozen=True)
class Chart:
    """Gains over speeds and distances; NaN at a speed at which the unit finds no steady travel."""

    height: float  # of the ridges, furrow to crest [m]
    speeds: Values  # [m/s]
    spacings: Values  # [m]
    depth: Values  # swing of the depth per height, (speeds, spacings) [1]
    load_share: Values  # swing of the load as a share of it, (speeds, spacings) [1]
    bounce: Values  # frequency of the unit's bounce at each speed, NaN where it does not swing [Hz]
    bridged_below: float  # [m]

    def at(self, spacing: float) -> Values:
        """Gains over the speeds at one distance [m], read between the chart's own."""
        x = np.log(self.spacings)
        return np.array([np.interp(math.log(spacing), x, row) for row in self.depth])

    def peak(self, spacing: float, low: float, high: float) -> float | None:
        """Speed [m/s] between two at which ridges so far apart shake most; None where no speed stands out.

        Those that swing the depth by less than the ridges' height do not count.
        """
        inside = (self.speeds >= low - 1e-9) & (self.speeds <= high + 1e-9) & np.isfinite(self.depth[:, 0])
        gains, speeds = self.at(spacing)[inside], self.speeds[inside]
        if gains.size < 3:
            return None
        i = int(gains.argmax())
        if i in (0, gains.size - 1) or gains[i] < max(MATTERS, PEAK * max(gains[0], gains[-1])):
            return None
        return _vertex(speeds[i - 1 : i + 2], gains[i - 1 : i + 2])


def _vertex(x: Values, y: Values) -> float:
    """Place of the top of the parabola through three points."""
    curve = np.polyfit(x - x[1], y, 2)
    return float(x[1] - 0.5 * curve[1] / curve[0]) if curve[0] < 0.0 else float(x[1])


def chart(unit: Unit, soil: Soil, settings: Settings, speeds: Values, height: float) -> Chart:
    """The chart of ridges of a height [m] over speeds [m/s]; the depth is set for each as the settings say."""
    rows, loads, bounce = [], [], []
    for speed in speeds.tolist():
        try:
            found = swings(linearise(unit, soil, replace(settings, speed=speed)), SPACINGS, height)
        except SimulationError:
            rows.append(np.full(SPACINGS.size, np.nan))
            loads.append(np.full(SPACINGS.size, np.nan))
            bounce.append(math.nan)
            continue
        rows.append(found.depth)
        loads.append(found.load_share(height))
        swing = [one.frequency for one in modes(found.linear, float(np.median(found.rub))) if one.kind == BOUNCE]
        bounce.append(swing[0] if swing else math.nan)
    return Chart(height, speeds, SPACINGS, np.array(rows), np.array(loads), np.array(bounce),
                 bridged_below(unit, height))  # fmt: skip
