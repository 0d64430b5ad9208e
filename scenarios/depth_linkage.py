"""Whether the depth linkage of a unit moves with its main links, and which keys to change together where it does not.

Rod, crank and bell crank are meant to be a parallelogram beside the main links: then the gauge wheel keeps its place
against the disc however the arms swing, and the depth is what was set. A rod longer or shorter than the arms, arms of
crank and bell crank that differ, or pivots that lie differently at both ends make the depth drift with the arm angle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from scenarios.format.edge_units import number_text
from scenarios.together import moved_with
from sim.errors import LinkageError
from sim.unit import Settings, Unit

Value = float | tuple[float, float]  # of a key

WORKING_TRAVEL = math.radians(10.0)  # each way from the nominal angle: ±0.1 m at the disc for arms of 0.55 m [rad]
# Told from here up [m]: a twentieth of the usual tolerance of ±10 mm, and more than a unit of the library drifts that
# is 1 mm out on purpose (0.36 mm).
NOTICED = 0.0005


def linkage_notes(unit: Unit, settings: Settings) -> Iterator[str]:
    """A word where the depth drifts by more than NOTICED over the working travel, and what to change together."""
    low, high = drift_range(unit, settings.set_depth)
    if max(-low, high) <= NOTICED:
        return
    pairs, changed = _unlike(unit)
    asked = "; ".join(f"{name} ({own}) goes with {with_} ({other})" for name, own, with_, other in pairs)
    left = max(abs(end) for end in drift_range(changed, settings.set_depth))
    tried = " and ".join(f"{name.rpartition('.')[2]} = {other}" for name, _, _, other in pairs)
    move = moved_with(pairs[0][0]) if len(pairs) == 1 else None
    as_one = f" (--set {move.name}=… moves both)" if move else ""
    yield (
        f"the depth linkage is no parallelogram beside the main links: arms that swing {_degrees(WORKING_TRAVEL)} up "
        f"and down move the depth from {_way(low)} to {_way(high)} by themselves. Change together: {asked}; try "
        f"{tried}, which leaves {left * 1e3:.1f} mm{as_one}"
    )


def drift_range(unit: Unit, set_depth: float) -> tuple[float, float]:
    """Least and greatest change of depth over the working travel, within the stops, deeper positive [m].

    At the crank angle that sets the depth with the wheel unloaded, toolbar level. (0, 0) where there is none, or the
    linkage does not close: a crossing is then refused.
    """
    from sim.mechanism.linkage import drift  # noqa: PLC0415 (the compiler: half a second)

    links = unit.main_links
    bottom = max(links.stop_down, links.angle_nominal - WORKING_TRAVEL)
    top = min(links.stop_up, links.angle_nominal + WORKING_TRAVEL)
    try:
        found = drift(unit, _crank_angle(unit, set_depth), np.linspace(bottom, top, 21))
    except LinkageError:
        return 0.0, 0.0
    return min(0.0, float(found.min())), max(0.0, float(found.max()))


def _crank_angle(unit: Unit, set_depth: float) -> float:
    """Crank angle [rad] at which the unloaded wheel lies at the set depth over the disc's lowest point.

    Raises LinkageError where none does.
    """
    from sim.arithmetic.bracket import zero_between  # noqa: PLC0415 (the compiler: half a second)
    from sim.mechanism.linkage import wheel_over_disc  # noqa: PLC0415
    from sim.setting import CRANK_SCAN  # noqa: PLC0415

    def over(angle: float) -> float:
        return wheel_over_disc(unit, angle, unit.main_links.angle_nominal) - set_depth

    before: tuple[float, float] | None = None
    for angle in CRANK_SCAN:
        try:
            here = over(float(angle))
        except LinkageError:
            before = None
            continue
        if before is not None and before[1] * here <= 0.0:
            return zero_between(over, before[0], float(angle))
        before = (float(angle), here)
    raise LinkageError("no crank angle sets the depth")


def _unlike(unit: Unit) -> tuple[list[tuple[str, str, str, str]], Unit]:
    """Pairs of keys that differ (key, value, the key that it goes with, value), and the unit with them alike."""
    links, depth = unit.main_links, unit.depth_linkage
    of_depth, of_links = "unit.depth_linkage", "unit.main_links"
    pairs: list[tuple[str, Value, str, Value]] = [
        (f"{of_depth}.rod_m", depth.rod, f"{of_links}.length_m", links.length),
        (f"{of_depth}.crank_m", depth.crank, f"{of_depth}.bell_first_m", depth.bell_first),
        (f"{of_depth}.crank_pivot_m", depth.crank_pivot, f"{of_depth}.bell_pivot_m", depth.bell_pivot),
    ]
    alike = replace(depth, rod=links.length, crank=depth.bell_first, crank_pivot=depth.bell_pivot)
    unlike = [(name, _text(own), with_, _text(other)) for name, own, with_, other in pairs if own != other]
    return unlike, replace(unit, depth_linkage=alike)


def _text(value: Value) -> str:
    return f"[{', '.join(map(number_text, value))}]" if isinstance(value, tuple) else number_text(value)


def _degrees(angle: float) -> str:
    return f"{math.degrees(angle):.0f}°"


def _way(depth: float) -> str:
    return f"{abs(depth) * 1e3:.1f} mm too {'deep' if depth > 0.0 else 'shallow'}" if depth else "as set"
