"""All that `rowbench modes` finds at a setting: swings, chart of ridges, these ridges crossed, random ground."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.modes.crossed import Change, Crossed, by_speed, changes
from analysis.modes.drag import drag_of
from analysis.modes.ridges import FINE, Chart, Swings, chart, swings
from analysis.modes.rough import Rough, on_rough
from analysis.modes.shapes import BOUNCE, Mode, modes
from scenarios.ground.waves import Ridges, Sine
from scenarios.scenario import Scenario
from sim.linear import Linear, linearise
from sim.worn import is_worn

HEIGHT = 0.020  # of ridges where the file has none: furrow to crest [m]
SLOWEST, FASTEST, SPEEDS = 1.0 / 3.6, 30.0 / 3.6, 25  # of the chart [m/s], and how many
FEWEST_CROSSED, MOST_CROSSED = 4, 12  # speeds at which ridges are crossed
ABOUT = (0.6, 0.75, 0.9, 1.1, 1.25, 1.5)  # of the file's own: speeds besides
SAME_SPEED = 0.1 / 3.6  # speeds no further apart are one [m/s]
FEWEST_PEAKS = 3  # distances with a speed that stands out, from which on a rule is told
PLAY = "play in the pins (unit.clearance): small motions leave it out; ridges and ground are crossed with it"
RULE_SPREAD = 0.10  # by how much the rule may miss any of them

Values = NDArray[np.float64]


class Asked(NamedTuple):
    """The ridges that are crossed."""

    spacing: float  # along the row [m]
    height: float  # furrow to crest [m]
    source: str  # "file": the file's own · "asked": given · "worst": those that shake most at the file's speed
    angle: float = 0.5 * math.pi  # between ridges and travel [rad]


class Rule(NamedTuple):
    """Speed that shakes most = `per_metre`·distance, between two distances [m]."""

    per_metre: float  # [m/s per m]
    low: float
    high: float


@dataclass(frozen=True)
class Found:
    """Small motions of a scenario's unit at its setting, and what they and the whole model say of ridges and ground."""

    scenario: Scenario
    linear: Linear
    asked: Asked
    modes: tuple[Mode, ...]  # with the piston's drag as on these ridges at the bounce
    held: tuple[Mode, ...]  # with the seals holding: motions too small to slip
    rub: float  # damper of the former [N s/m]
    rub_held: float  # of the latter
    chart: Chart
    own: Swings  # at the file's speed, over finer distances
    crossed: tuple[Crossed, ...]  # the ridges by speed, with the whole model
    small: Values  # the same by small motions: half the swing of the depth [m]
    changes: tuple[Change, ...]
    resonates: bool  # whether on ridges of any distance a speed among those crossed stands out
    rule: Rule | None  # None: none does, or no one number serves all of them
    rough: Rough

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is to be heeded of the file and of its own crossing, each once, sentences without a full stop."""
        worn = (PLAY,) if is_worn(self.scenario.unit) else ()
        return tuple(dict.fromkeys((*self.scenario.warnings, *self.rough.own.warnings, *worn)))

    @property
    def tried(self) -> Values:
        """Speeds at which the ridges were crossed [m/s]."""
        return np.array([one.speed for one in self.crossed])

    @property
    def at_own(self) -> Crossed:
        """The crossing at the file's own speed."""
        return next(one for one in self.crossed if one.speed == self.scenario.settings.speed)


def find(
    scenario: Scenario, spacing: float | None = None, height: float | None = None, *, parted: bool = True
) -> Found:
    """Find all of it; spacing and height of the ridges [m], else those of the file's first ridges or waves.

    parted: as `on_rough`.

    Raises SimulationError where the unit finds no steady travel at the file's setting.
    """
    s, unit, soil = scenario.settings, scenario.unit, scenario.soil
    linear = linearise(unit, soil, s)
    in_file = own_ridges(scenario)
    high = height or (in_file.height if in_file and not spacing else HEIGHT)
    speeds = _speeds(scenario)
    made = chart(unit, soil, s, speeds, high)
    here = swings(linear, FINE, high)
    if spacing is not None:
        asked = Asked(spacing, high, "asked")
    elif in_file is not None:
        asked = in_file._replace(height=high)
    else:
        asked = Asked(worst_spacing(here, made.bridged_below), high, "worst")
    crossed = by_speed(scenario, asked.spacing, asked.height, _crossed_at(scenario))
    rub = _rub_of_bounce(linear, high)
    held = drag_of(linear).held
    return Found(
        scenario, linear, asked, modes(linear, rub), modes(linear, held), rub, held, made, here, crossed,
        _small(scenario, asked, crossed), changes(scenario, asked.spacing, asked.height, asked.angle),
        *_rule(scenario, made), on_rough(scenario, linear, parted=parted),
    )  # fmt: skip


def own_ridges(scenario: Scenario) -> Asked | None:
    """The file's highest regular waves, as the row meets them; None where there are none."""
    found = [
        Asked(one.wavelength, one.height, "file", one.angle)
        if isinstance(one, Ridges)
        else Asked(one.wavelength, 2.0 * one.amplitude, "file")
        for one in scenario.ground.features
        if isinstance(one, (Ridges, Sine))
    ]
    return max(found, key=lambda one: one.height, default=None)


def worst_spacing(here: Swings, bridged_below: float) -> float:
    """Distance [m] between ridges that swing the depth most at one speed, those left out that a wheel bridges."""
    gains = np.where(here.spacings >= bridged_below, here.depth, 0.0)
    return round(float(here.spacings[int(gains.argmax())]), 2)


def _speeds(scenario: Scenario) -> Values:
    """Speeds of the chart, about those at which ridges are crossed."""
    tried = _crossed_at(scenario)
    low, high = max(SLOWEST, 0.5 * min(tried)), min(FASTEST, 1.35 * max(tried))
    return np.linspace(low, high, SPEEDS)


def _crossed_at(scenario: Scenario) -> tuple[float, ...]:
    """Speeds [m/s] at which ridges are crossed: those that the file searches, thinned evenly, and its own.

    Where that are too few to tell a peak, whole km/h about its own besides.
    """
    own, tried = scenario.settings.speed, sorted(scenario.search.speeds)
    if len(tried) > MOST_CROSSED:
        tried = [tried[round(i)] for i in np.linspace(0, len(tried) - 1, MOST_CROSSED)]
    if len(tried) < FEWEST_CROSSED:
        tried += [min(max(float(round(3.6 * own * share)) / 3.6, SLOWEST), FASTEST) for share in ABOUT]
    apart: list[float] = [own]
    for speed in tried:
        if all(abs(speed - one) > SAME_SPEED for one in apart):
            apart.append(speed)
    return tuple(sorted(apart))


def _rub_of_bounce(linear: Linear, height: float) -> float:
    """The piston's damper on ridges of a height that meet the unit's own bounce."""
    bounce = [one for one in modes(linear, 0.0) if one.kind == BOUNCE]
    if not bounce:
        return 0.0
    return float(swings(linear, np.array([bounce[0].spacing(linear.speed)]), height).rub[0])


def _small(scenario: Scenario, asked: Asked, crossed: tuple[Crossed, ...]) -> Values:
    """Half the swing of the depth by small motions at each of the speeds that were crossed [m]; NaN as there."""
    found = []
    for one in crossed:
        if one.problem:
            found.append(np.nan)
            continue
        linear = linearise(scenario.unit, scenario.soil, replace(scenario.settings, speed=one.speed))
        gain = swings(linear, np.array([asked.spacing]), asked.height).depth[0]
        found.append(0.5 * float(gain) * asked.height)
    return np.array(found)


def _rule(scenario: Scenario, made: Chart) -> tuple[bool, Rule | None]:
    """Whether a speed among those crossed stands out on any ridges; and the speed to avoid per distance, if any."""
    low, high = _crossed_at(scenario)[0], _crossed_at(scenario)[-1]
    spacings = [one for one in made.spacings.tolist() if one >= made.bridged_below]
    peaks = [(one, made.peak(one, 0.8 * low, 1.25 * high)) for one in spacings]
    found = [(one, speed) for one, speed in peaks if speed is not None and low <= speed <= high]
    if len(found) < FEWEST_PEAKS:
        return bool(found), None
    per_metre = np.array([speed / one for one, speed in found])
    middle = float(np.median(per_metre))
    if np.any(np.abs(per_metre / middle - 1.0) > RULE_SPREAD):
        return True, None
    return True, Rule(middle, found[0][0], found[-1][0])
