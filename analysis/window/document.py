"""The window as the document that `--json` prints: axes, grids, limits, in the units of the trade."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import EDGES, Join, in_window
from analysis.present.edge import bar, kmh, mm
from analysis.window.grid import Window
from analysis.window.limits import limits_of, meets, not_checked
from scenarios.spec import Limits


def window_document(window: Window) -> dict[str, Any]:
    """JSON form: axes, grids over all seeds as [pressure][speed], the limits, and all seeds under `by_seed`.

    Grids: mean over the seeds, peaks the highest, counts those of all seeds together; `by_seed` holds the same
    names as [pressure][speed][seed]. None where a crossing could not be made; `reasons` then says why. `warnings`: by
    pressure, speed and seed, what `run` warns of there; on what is `barred` nothing is picked.
    """
    grids, seeds = {}, {}
    km = window.grids["distance"] / 1e3
    for m in in_window():
        if not m.told:
            continue
        count, factor = m.join is Join.COUNT, EDGES[m.edge].factor
        grids[m.window_key] = _numbers(window.per_km(m.name) if count else window.over_seeds(m.name) * factor)
        seeds[m.window_key] = _numbers(window.grids[m.name] / km if count else window.grids[m.name] * factor)
    return {
        "pressures_bar": [bar(p) for p in window.pressures],
        "speeds_kmh": [kmh(v) for v in window.speeds],
        **grids,
        "meets_limits": meets(window, window.limits).tolist(),
        "limits": limits_document(window.limits),
        "seeds": list(window.seeds),
        "by_seed": seeds,
        "reasons": {f"{i}.{j}.{k}": text for (i, j, k), text in sorted(window.problems.items())},
        "warnings": {
            f"{i}.{j}.{k}": [{"kind": h.kind, "says": h.text, "barred": h.barred} for h in heeds]
            for (i, j, k), heeds in sorted(window.heeds.items())
        },
        "notes": list(window.notes),
    }


def _numbers(grid: NDArray[np.float64]) -> list[Any]:
    """A grid as nested lists of floats, None for NaN."""
    return np.where(np.isfinite(grid), grid, None).tolist()  # type: ignore[call-overload]


def limits_document(limits: Limits) -> dict[str, Any]:
    """The limits that hold on this ground, in edge units by the keys of a scenario file; None and named under
    `not_checked` where not given. `on_feature`: those of one feature hold in place of the shares of the way.
    """
    found: dict[str, Any] = {"on_feature": limits.on_feature, "depth_tolerance_mm": limits.depth_tolerance * 1e3}
    for limit in limits_of(limits):
        value = getattr(limits, limit.name)
        found[limit.key] = None if value is None else EDGES[limit.unit].one(value)
    highest = limits.max_oil_pressure
    found["max_oil_pressure_bar"] = None if highest is None else bar(highest)
    for key, depth in (("set_depth_min_mm", limits.set_depth_min), ("set_depth_max_mm", limits.set_depth_max)):
        found[key] = None if depth is None else round(mm(depth), 9)
    return {**found, "not_checked": not_checked(limits)}
