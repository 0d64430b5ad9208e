"""What a fit looks for, as one vector: values in doubt, the cone factor, the position of each depth setting.

x = (u, c, a): u (n) the values in doubt in standard normal numbers that do not go together (u = 0: as the file has
them; z = R u with R Rᵀ the correlation of the belief), c (0 or 1) the cone factor likewise, a (k) actuator lengths
against the middle of the unit's range, in `STROKE`. The prior is N(0, 1) in u and c; in a it is flat between the ends
of the range, which are hard bounds, and for the algebra's sake normal with the range itself as standard deviation.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from scenarios.doubt.belief import RANGE, Belief, belief
from scenarios.doubt.varied import with_values
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from sim.errors import LinkageError, SimulationError
from sim.mechanism.linkage import actuator_length, check_travel
from sim.run import prepare
from sim.unit import Unit

STROKE = 1e-3  # unit of the positions [m]: 1 mm of actuator is 2 to 3 mm of depth
CRANKS = np.radians(np.arange(70.0, 130.5, 1.0))  # crank angles looked through [rad], as `sim.setting`

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Stroke:
    """The crank angles at which a unit's depth linkage works, and the actuator's lengths there, rising with them."""

    angles: Vector  # [rad]
    lengths: Vector  # [m]

    @property
    def middle(self) -> float:
        """[m]"""
        return float(0.5 * (self.lengths.min() + self.lengths.max()))

    @property
    def range(self) -> float:
        """[m]"""
        return float(np.ptp(self.lengths))

    def crank(self, unit: Unit, length: float) -> float:
        """Crank angle [rad] at an actuator's length [m], held within the range."""
        low, high = float(self.angles[0]), float(self.angles[-1])
        wanted = min(max(length, float(self.lengths.min())), float(self.lengths.max()))

        def off(angle: float) -> float:
            return actuator_length(unit, angle) - wanted

        ends = off(low), off(high)
        if ends[0] * ends[1] >= 0.0:
            return low if abs(ends[0]) < abs(ends[1]) else high
        return float(brentq(off, low, high, xtol=1e-12))


def stroke(unit: Unit) -> Stroke:
    """The working range of a unit's depth linkage. Raises LinkageError where it has none."""
    able, last = [], None
    for angle in CRANKS:
        try:
            check_travel(unit, float(angle))
        except LinkageError as error:
            last = error
        else:
            able.append(float(angle))
    if len(able) < 2:
        raise last or LinkageError("no crank angle closes the depth linkage")
    return Stroke(np.array(able), np.array([actuator_length(unit, angle) for angle in able]))


@dataclass(frozen=True)
class Trial:
    """One set of values: the scenario with them, the cone factor, and the crank angle [rad] of each depth setting."""

    scenario: Scenario
    cone_factor: float
    cranks: Mapping[str, float]
    standing_crank: float  # the unit's own, where it is weighed


@dataclass(frozen=True, eq=False)
class Unknowns:
    """The vector of a fit, and what it means."""

    scenario: Scenario
    doubt: Belief
    root: Vector  # R, (names, n)
    cone: bool
    held: tuple[str, ...]
    stroke: Stroke
    own_crank: float  # the file's own depth setting [rad]

    @property
    def values(self) -> int:
        """Length n of u."""
        return self.root.shape[1]

    @property
    def size(self) -> int:
        """Length of x."""
        return self.values + self.cone + len(self.held)

    @property
    def free(self) -> int:
        """Unknowns of which nothing is believed beforehand."""
        return len(self.held)

    @property
    def weights(self) -> Vector:
        """Square roots of the prior's precision, (size,): the prior's residuals are x times these."""
        flat = np.full(len(self.held), STROKE / self.stroke.range)
        return np.concatenate([np.ones(self.values + self.cone), flat])

    @property
    def bounds(self) -> tuple[Vector, Vector]:
        """Lowest and highest x."""
        reach = np.concatenate(
            [np.full(self.values + self.cone, 6.0), np.full(len(self.held), 0.5 * self.stroke.range / STROKE)]
        )
        return -reach, reach

    @property
    def start(self) -> Vector:
        """Where a search begins: the file's own values, every depth setting where the file's own stands."""
        x = np.zeros(self.size)
        own = (actuator_length(self.scenario.unit, self.own_crank) - self.stroke.middle) / STROKE
        x[self.values + self.cone :] = own
        low, high = self.bounds
        return np.clip(x, 0.99 * low, 0.99 * high)

    def z(self, x: Vector) -> Vector:
        """The values in doubt in standard deviations of the belief, (…, names)."""
        return np.asarray(x[..., : self.values] @ self.root.T)

    def lengths(self, x: Vector) -> Vector:
        """Actuator lengths [m], (…, held)."""
        return np.asarray(self.stroke.middle + STROKE * x[..., self.values + self.cone :])

    def cone_factor(self, x: Vector) -> float:
        """Soil strength over the reading of a penetrometer."""
        prior = self.scenario.prior
        away = float(x[self.values]) if self.cone else 0.0
        return float(prior.cone_factor * math.exp(away * math.log(prior.cone_factor_times) / RANGE))

    def trial(self, x: Vector) -> Trial:
        """What x means."""
        found = self.doubt.from_z(self.z(x))
        changed = with_values(self.scenario, dict(zip(self.doubt.names, found.tolist(), strict=True)))
        lengths = self.lengths(x)
        cranks = {
            name: self.stroke.crank(self.scenario.unit, float(length))
            for name, length in zip(self.held, lengths, strict=True)
        }
        return Trial(changed, self.cone_factor(x), cranks, self.own_crank)


def _without_measured(scenario: Scenario, doubt: Belief) -> Belief:
    """Where a profile brings the strength along, that is no unknown: a file's own would not count."""
    if scenario.profile is None or scenario.profile.mean_strength is None:
        return doubt
    kept = [k for k, name in enumerate(doubt.names) if name != "soil_strength"]
    return Belief(
        tuple(doubt.names[k] for k in kept),
        tuple(doubt.ways[k] for k in kept),
        doubt.centre[kept],
        doubt.sd[kept],
        doubt.correlation[np.ix_(kept, kept)],
        tuple(doubt.measured[k] for k in kept),
    )


def unknowns(scenario: Scenario, held: tuple[str, ...], cone: bool) -> Unknowns:
    """The unknowns of a scenario. Raises ScenarioError where its depth linkage has no working range."""
    doubt = _without_measured(scenario, belief(scenario))
    weights, axes = np.linalg.eigh(doubt.correlation) if doubt.names else (np.zeros(0), np.zeros((0, 0)))
    kept = weights > 1e-9
    if bool(np.allclose(doubt.correlation, np.eye(len(doubt.names)))):
        root = np.eye(len(doubt.names))
    else:
        root = axes[:, kept] * np.sqrt(weights[kept])
    try:
        travel = stroke(scenario.unit)
        own = prepare(scenario.unit, scenario.soil, scenario.stones.contact, scenario.settings).setting.crank_angle
    except SimulationError as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None
    in_doubt = cone and scenario.prior.cone_factor_times > 1.0
    return Unknowns(scenario, doubt, root, in_doubt, held, travel, own)
