"""Why the gauge wheel carries more or less than when set, in words."""

from __future__ import annotations

from analysis.explain.parts import in_whole
from analysis.explain.places import Place
from analysis.present.edge import bar
from analysis.present.texts import number, short, signed
from sim.record import Run

FIGURE = 10.0  # loads are told to so many newtons [N]
REST = (50.0, 0.15)  # what is left once no more of the change is untold than so many newtons or this share [N]
MOST = 5  # causes told singly
TWICE = 1.5  # from here on the load is told as so many times that when set


def kilonewtons(load: float) -> str:
    """A load [N] in kN.

    >>> kilonewtons(1060.3), kilonewtons(87.0)
    ('1.06 kN', '0.09 kN')
    """
    return f"{number(load / 1e3, 2)} kN"


def load_sentence(place: Place, run: Run, why: bool) -> str:
    """What the wheel carries and, where `why`, what makes it more or less than when set; the causes add up."""
    assert place.load is not None
    carried, when_set = round(place.gauge_load / FIGURE) * FIGURE, round(place.set_load / FIGURE) * FIGURE
    if carried == when_set:
        return f"The gauge wheel carries {kilonewtons(carried)}, as when set."
    times = place.gauge_load / place.set_load if place.set_load > 0.0 else 0.0
    more = f"{number(times)} times the {kilonewtons(when_set)} when set" if times >= TWICE else ""
    text = f"The gauge wheel carries {kilonewtons(carried)}, {more or f'{kilonewtons(when_set)} when set'}"
    if not why:
        return f"{text}."
    tens = in_whole(_told(place.load.by_cause(), carried - when_set), FIGURE)
    told = [f"{signed(n * FIGURE / 1e3, 2)} kN {_cause(name, n, place, run)}" for name, n in tens.items() if n]
    return f"{text}: {'; '.join(told)}."


def _told(causes: dict[str, float], change: float) -> dict[str, float]:
    """The largest causes of a change [N] until little is left, and that as the rest; they add up to the change."""
    told: dict[str, float] = {}
    for name, value in sorted(causes.items(), key=lambda item: -abs(item[1])):
        rest = change - sum(told.values())
        if len(told) == MOST or (
            told and abs(rest) <= REST[0] + REST[1] * abs(change) and abs(value) <= abs(change) / 3
        ):
            break
        told[name] = value
    return {**told, "rest": change - sum(told.values())}


def _cause(name: str, value: float, place: Place, run: Run) -> str:
    """What stands behind a part of the change."""
    up, s = value > 0, run.settings
    if name == "gas":
        moved = "pressed to" if up else "fallen to"
        return f"from the gas, {moved} {number(bar(place.oil_pressure), 0)} bar (set to {short(bar(s.oil_pressure))})"
    if name == "pressure_set":
        way = "above" if up else "below"
        return f"from oil set {way} the {short(bar(s.reference_pressure))} bar at which the depth was set"
    return {
        "lever": "from the cylinder's lever at this arm angle",
        "line": "from oil pressed through the hose and from the seals",
        "disc": f"since the disc bears {'less' if up else 'more'}",
        "boot": f"since the boot bears {'less' if up else 'more'}",
        "press": f"since the press wheel bears {'less' if up else 'more'}",
        "stone": "since a stone bears the disc",
        "stop": "from the arm's travel stop",
        "tilt": "from draught on the slanting arm, and slopes",
        "inertia": "from the unit's mass, pushed up" if up else "from the unit's mass, let down",
        "rest": "from all else",
    }[name]
