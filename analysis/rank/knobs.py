"""What is varied: every numeric key of unit, soil and settings within a share of its value, or what is believed.

Both kinds hand out scenarios by a point of the unit cube: 0 the low end of each range, 1 the high end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple, Protocol

import numpy as np

from analysis.rank.design import Values
from scenarios.changed.names import Named, names_in
from scenarios.changed.numeric_keys import numeric_keys
from scenarios.consistency import depth_faults, settings_faults, unit_faults
from scenarios.doubt.belief import RANGE, Belief, belief
from scenarios.doubt.doubtful import BY_NAME, DOUBTFUL, Doubtful, Path
from scenarios.doubt.keys import edge_of, key_of, value_at
from scenarios.doubt.varied import with_value, with_values, within, without_effect
from scenarios.format.edge_units import to_edge, to_si
from scenarios.format.keys import keys_of
from scenarios.scenario import Scenario
from sim.unit import Soil

GROUPS = ("unit", "gas", "tyres", "soil and ground", "settings")
_TYRES = {
    ("unit", "gauge_wheel", "tyre_stiffness"), ("unit", "gauge_wheel", "tyre_damping"),
    ("unit", "press_wheel", "stiffness"), ("unit", "press_wheel", "tyre_damping"),
    ("unit", "toolbar", "stiffness"), ("unit", "toolbar", "damping"),
}  # fmt: skip
EXPONENT = "soil.sinkage_exponent"
# both moduli go with the exponent, so that the pressure at 10 mm stays (`scenarios.doubt.varied`): else it would be
# another soil altogether, and lead every ranking by its unit
_MODULI = (EXPONENT, "soil.cohesive_modulus_kN_per_m_n1", "soil.frictional_modulus_kN_per_m_n2")
_GAS = {("settings", "precharge"), ("settings", "precharge_temperature"), ("settings", "gas_temperature")}


class Refused(Exception):
    """A set of values that the file's own checks refuse."""


@dataclass(frozen=True)
class Knob:
    """One thing that is varied: a key, or keys that move together. Figures in edge units (`edge`)."""

    name: str  # key of the file, or name of `scenarios.together`
    words: str
    group: str  # one of GROUPS
    edge: str
    value: float
    low: float
    high: float
    paths: tuple[Path, ...]  # into a Scenario; the first is that whose figures these are
    members: tuple[str, ...] = ()  # keys that move together


class Left(NamedTuple):
    """A key that is not varied, and why."""

    name: str
    why: str


class Varied(Protocol):
    """What is varied about a scenario."""

    @property
    def scenario(self) -> Scenario:
        """The file's own."""
        ...

    @property
    def knobs(self) -> tuple[Knob, ...]:
        """What is varied."""
        ...

    def at(self, point: Values) -> Scenario:
        """The scenario at a point (k,) of the unit cube. Raises Refused."""
        ...

    def only(self, numbers: Sequence[int]) -> Varied:
        """The same with some of the knobs alone; the others stay at the file's own values."""
        ...


def groups_of(knobs: Sequence[Knob]) -> dict[str, tuple[int, ...]]:
    """Numbers of the knobs of each group that has any, in the order of GROUPS."""
    found = {name: tuple(i for i, knob in enumerate(knobs) if knob.group == name) for name in GROUPS}
    return {name: numbers for name, numbers in found.items() if numbers}


def group_of(path: Path) -> str:
    """The group of what a path leads to."""
    names = tuple(step for step in path if isinstance(step, str))
    if names in _TYRES:
        return "tyres"
    if names in _GAS or names[:2] == ("unit", "accumulator"):
        return "gas"
    return names[0] if names[0] in ("unit", "settings") else "soil and ground"


# --- within a share of its value


@dataclass(frozen=True)
class Within:
    """Numeric keys, each evenly from `share` less to `share` more than its own value, cut at its key's range."""

    scenario: Scenario
    knobs: tuple[Knob, ...]

    def at(self, point: Values) -> Scenario:
        """See `Varied`."""
        made = self.scenario
        values = {
            knob: knob.low + u * (knob.high - knob.low) for knob, u in zip(self.knobs, point.tolist(), strict=True)
        }
        for knob, value in sorted(values.items(), key=lambda item: item[0].name == EXPONENT):  # it last
            made = turned(made, self.scenario, knob, value)
        refuse_wrong(made)
        return made

    def only(self, numbers: Sequence[int]) -> Within:
        """See `Varied`."""
        return replace(self, knobs=tuple(self.knobs[i] for i in numbers))


def turned(made: Scenario, base: Scenario, knob: Knob, value: float) -> Scenario:
    """A scenario with a knob at a value [edge unit]; what moves with it goes by as much from where it is in `base`."""
    if knob.name == EXPONENT:
        return with_values(made, {"sinkage_exponent": value})
    now = value_at(base, knob.paths[0])
    given = now if value == knob.value else to_si(value, knob.edge)
    made = with_value(made, knob.paths[0], given)
    for path in knob.paths[1:]:
        made = with_value(made, path, value_at(base, path) + (given - now))
    return made


def refuse_wrong(made: Scenario) -> None:
    """Raises Refused for values that the file's checks would not let through together."""
    wrong = [*unit_faults(made.unit, ""), *settings_faults(made.settings, made.unit, "")]
    wrong += depth_faults(made.settings, made.limits, "")
    if wrong:
        raise Refused(wrong[0].removeprefix(": "))


def every_key(scenario: Scenario, share: float) -> tuple[Within, tuple[Left, ...]]:
    """All numeric keys of unit, soil and settings within a share (0.1: 10 %) of their values; those left out.

    Whole numbers and words are no matter of a share; a value of zero has none.
    """
    knobs, left = [], []
    for key in numeric_keys(scenario):
        if key.whole or key.together:
            continue
        low, high = sorted((key.value * (1.0 - share), key.value * (1.0 + share)))
        low, high = max(low, key.low), min(high, key.high)
        if key.value == 0.0:
            left.append(Left(key.name, "zero in the file, which has no share"))
        elif not low < high:
            left.append(Left(key.name, "its range ends there"))
        else:
            paths = tuple(PATHS[name] for name in (key.moves or (key.name,)))
            members = _MODULI if key.name == EXPONENT else key.moves
            knobs.append(Knob(key.name, key.doc, group_of(paths[0]), key.unit, key.value, low, high, paths, members))
    return Within(scenario, tuple(knobs)), tuple(left)


def _path(one: Named) -> Path:
    """The way into a Scenario to the number that a name means."""
    table, *inner, _ = one.path
    top = "variation" if table == "soil" and one.key.name not in keys_of(Soil) else table
    return (top, *inner, one.key.field, *(() if one.part is None else (one.part,)))


PATHS = {one.name: _path(one) for one in names_in() if one.path[0] in ("unit", "soil", "settings")}


# --- what is believed


@dataclass(frozen=True)
class Believed:
    """Values in doubt as the file's [prior] or [uncertain] has them, each by itself: normal, or so in the logarithm."""

    scenario: Scenario
    knobs: tuple[Knob, ...]
    held: Belief  # of the scenario, all its values
    numbers: tuple[int, ...]  # of those varied, in `held`

    def at(self, point: Values) -> Scenario:
        """See `Varied`."""
        from scipy.special import ndtri  # noqa: PLC0415

        z = np.zeros(len(self.held.names))
        z[list(self.numbers)] = ndtri(point)
        values = self.held.from_z(z)
        return with_values(self.scenario, {self.held.names[i]: float(values[i]) for i in self.numbers})

    def only(self, numbers: Sequence[int]) -> Believed:
        """See `Varied`."""
        kept = [(self.knobs[i], self.numbers[i]) for i in numbers]
        return replace(self, knobs=tuple(knob for knob, _ in kept), numbers=tuple(i for _, i in kept))


def every_doubt(scenario: Scenario) -> tuple[Believed, tuple[Left, ...]]:
    """All values in doubt, and those that cannot matter here or are known."""
    held = belief(scenario)
    ends = held.from_z(np.array([[-RANGE], [RANGE]]) * np.ones(len(held.names)))
    knobs = tuple(
        _believed(scenario, BY_NAME[name], (float(ends[0, i]), float(ends[1, i]))) for i, name in enumerate(held.names)
    )
    left = [Left(key_of(one), without_effect(scenario, one) or "known") for one in DOUBTFUL
            if one.name not in held.names]  # fmt: skip
    return Believed(scenario, knobs, held, tuple(range(len(knobs)))), tuple(left)


def _believed(scenario: Scenario, one: Doubtful, ends: tuple[float, float]) -> Knob:
    edge = edge_of(one)
    low, high = (to_edge(within(one, end), edge) for end in ends)
    value = to_edge(value_at(scenario, one.paths[0]), edge)
    return Knob(key_of(one), one.words, group_of(one.paths[0]), edge, value, low, high, one.paths)
