"""The window as the document that `--json` prints: axes, grids, limits, in the units of the trade."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.present.edge import bar, kmh
from analysis.window.grid import Window
from analysis.window.limits import LIMITS, meets, not_checked
from scenarios.spec import Limits

# JSON key of a grid · measure · factor from SI
_JSON = (
    ("on_depth_share", "on_depth_share", 1.0),
    ("on_depth_share_unchanged_setting", "on_depth_share_unchanged_setting", 1.0),
    ("error_sd_mm", "error_sd", 1e3),
    ("depth_mean_mm", "depth_mean", 1e3),
    ("wheel_off_share", "wheel_off_share", 1.0),
    ("gauge_load_mean_N", "gauge_load_mean", 1.0),
    ("wheel_off_per_km", "wheel_off_episodes", None),
    ("breakouts_per_km", "breakouts", None),
    ("pin_peak_N", "pin_peak", 1.0),
    ("pressure_max_bar", "pressure_max", 1e-5),
)


def window_document(window: Window) -> dict[str, Any]:
    """JSON form: axes, grids over all seeds as [pressure][speed], the limits, and all seeds under `by_seed`.

    Grids: mean over the seeds, peaks the highest, counts those of all seeds together; `by_seed` holds the same
    names as [pressure][speed][seed]. None where a crossing could not be made; `reasons` then says why.
    """
    grids = {key: _numbers(window.per_km(name) if f is None else window.over_seeds(name) * f) for key, name, f in _JSON}
    km = window.grids["distance"] / 1e3
    seeds = {key: _numbers(window.grids[name] / km if f is None else window.grids[name] * f) for key, name, f in _JSON}
    return {
        "pressures_bar": [bar(p) for p in window.pressures],
        "speeds_kmh": [kmh(v) for v in window.speeds],
        **grids,
        "meets_limits": meets(window, window.limits).tolist(),
        "limits": limits_document(window.limits),
        "seeds": list(window.seeds),
        "by_seed": seeds,
        "reasons": {f"{i}.{j}.{k}": text for (i, j, k), text in sorted(window.problems.items())},
        "notes": list(window.notes),
    }


def _numbers(grid: NDArray[np.float64]) -> list[Any]:
    """A grid as nested lists of floats, None for NaN."""
    return np.where(np.isfinite(grid), grid, None).tolist()  # type: ignore[call-overload]


def limits_document(limits: Limits) -> dict[str, Any]:
    """The limits in edge units by the keys of a scenario file; None and named under `not_checked` where not given."""
    found: dict[str, Any] = {"depth_tolerance_mm": limits.depth_tolerance * 1e3}
    for limit in LIMITS:
        value = getattr(limits, limit.name)
        found[limit.key] = None if value is None else (bar(value) if limit.unit == "bar" else value)
    highest = limits.max_oil_pressure
    found["max_oil_pressure_bar"] = None if highest is None else bar(highest)
    return {**found, "not_checked": not_checked(limits)}
