"""What a search may change: numbers of the file between two bounds, alone or with what moves with them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from analysis.rank.design import Values
from analysis.rank.knobs import PATHS, Knob, refuse_wrong, turned
from scenarios.changed.numeric_keys import NumericKey, numeric_key, numeric_keys
from scenarios.format.errors import closest, fault, shown
from scenarios.format.numbers import plain_number
from scenarios.scenario import Scenario

SPEED = "settings.speed_kmh"
_NOT_FREE = {  # what a search may not trade, and what does nothing here
    "settings.set_depth_mm": ("the crop's, not to be traded for speed", "--set settings.set_depth_mm=40 for another"),
    "settings.reference_pressure_bar": ("without effect: the depth is set again for every design", "another key"),
    "settings.reference_speed_kmh": ("without effect: the depth is set again for every design", "another key"),
}
MOST_FREE = 8  # more than a search of minutes can tell apart


@dataclass(frozen=True)
class Space:
    """Designs as points of a unit cube: 0 the low bound of each free value, 1 the high one; the last is the speed."""

    scenario: Scenario
    free: tuple[Knob, ...]
    speeds: tuple[float, float]  # least and most [m/s]; both the same: it is not searched

    @property
    def size(self) -> int:
        """Number of coordinates."""
        return len(self.free) + (self.speeds[0] < self.speeds[1])

    def values(self, point: Values) -> tuple[float, ...]:
        """Free values at a point [edge units], to four figures as its file holds them, within their bounds."""
        ends = zip(self.free, point.tolist(), strict=False)
        rounded = ((knob, float(f"{knob.low + u * (knob.high - knob.low):.4g}")) for knob, u in ends)
        return tuple(min(max(value, knob.low), knob.high) for knob, value in rounded)

    def speed(self, point: Values) -> float:
        """Speed at a point [m/s], to a hundredth of a km/h."""
        low, high = self.speeds
        return low if low == high else round((low + float(point[-1]) * (high - low)) * 3.6, 2) / 3.6

    def at(self, point: Values) -> Scenario:
        """The scenario of a point. Raises Refused where the file's checks would refuse it."""
        made = self.scenario
        for knob, value in zip(self.free, self.values(point), strict=True):
            made = turned(made, self.scenario, knob, value)
        refuse_wrong(made)
        return replace(made, settings=replace(made.settings, speed=self.speed(point), setting="redone"))

    def changes(self, point: Values) -> Mapping[str, float]:
        """The same as values of a file: keys in edge units, what moves together under its name."""
        named = {knob.name: value for knob, value in zip(self.free, self.values(point), strict=True)}
        return {**named, SPEED: float(f"{self.speed(point) * 3.6:.6g}")}


def read_free(texts: Sequence[str], scenario: Scenario, faults: list[str]) -> tuple[Knob, ...]:
    """KEY=LOW:HIGH texts → what is free; faults are added."""
    found: dict[str, Knob] = {}
    for text in texts:
        knob = _read(str(text), scenario, faults)
        if knob is not None and knob.name in found:
            faults.append(fault(f"--free {knob.name}", "given twice", "each key once", "leave one out"))
        elif knob is not None:
            found[knob.name] = knob
    if len(found) > MOST_FREE:
        faults.append(fault("--free", f"{len(found)} values free", f"up to {MOST_FREE}: more than that takes hours",
                            "rowbench rank --within 10: which of them matter"))  # fmt: skip
    return tuple(found.values())


def _read(text: str, scenario: Scenario, faults: list[str]) -> Knob | None:
    """One of them; None where there is a fault, which is added."""
    name, sign, bounds = (part.strip() for part in text.partition("="))
    ends = [end for part in bounds.split(":") if (end := plain_number(part)) is not None] if sign else []
    if len(ends) != 2 or bounds.count(":") != 1 or not name:
        faults.append(fault("--free", f"given {shown(text)}", "KEY=LOW:HIGH, a number of the file with two bounds",
                            "--free settings.precharge_bar=20:28"))  # fmt: skip
        return None
    key = numeric_key(scenario, name)
    wrong = _name_fault(name, key, bounds, scenario)
    if wrong or key is None:
        faults.append(wrong)
        return None
    low, high = ends
    if not key.low <= low < high <= key.high:
        allowed = f"low below high, both {key.low:g} to {key.high:g}"
        faults.append(fault(f"--free {name}", f"given {low:g} to {high:g}", allowed, f"--free {name}=LOW:HIGH"))
        return None
    paths = tuple(PATHS[one] for one in (key.moves or (key.name,)))
    return Knob(name, key.doc, "", key.unit, key.value, low, high, paths, key.moves)


def _name_fault(name: str, key: NumericKey | None, bounds: str, scenario: Scenario) -> str:
    """Why a name cannot be free; "" where it can."""
    where = f"--free {name}"
    if name == SPEED:
        return fault(where, "the speed", "--speeds, between whose ends it is searched", "--speeds 6:10:2")
    if name in _NOT_FREE:
        return fault(where, *_NOT_FREE[name], "--free settings.precharge_bar=20:28")
    if name.startswith("soil."):
        return fault(where, "of the soil, which is as it is", "a number of [unit] or [settings]", "rowbench rank")
    able = [one.name for one in numeric_keys(scenario, ("unit", "settings")) if not (one.whole or one.together)]
    if key is not None and key.together:
        return fault(where, "a part that moves together with others", f"{key.together}, which moves all of them",
                     f"--free {key.together}={bounds}")  # fmt: skip
    if key is None or name not in able:
        near = closest(name, able) or "settings.precharge_bar"
        return fault(where, "no number that can be searched", "a number of [unit] or [settings]", f"--free {near}=…")
    return ""
