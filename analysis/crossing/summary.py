"""One run as the document that `--json` prints."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from analysis.crossing.breakouts import Breakout
from analysis.crossing.depth import depth_error, on_depth_share
from analysis.crossing.episodes import CAUSES_IN_ORDER, wheel_off_episodes
from analysis.crossing.heed import warnings_of
from analysis.crossing.loads import pin_table
from analysis.crossing.measures import EDGES, MEASURES, setting_change
from analysis.crossing.one_run import RunMeasures, measure
from analysis.crossing.poisson import rate
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.version import VERSION
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate

SQUARE_METRES_PER_HA = 1e4


def unchanged_share(run: Run, tolerance: float, unchanged: Run | None = None) -> tuple[float | None, str]:
    """On-depth share of the same crossing with the depth setting left as made at the reference, and a reason if None.

    `unchanged` is that crossing if it was made already; else it is made here, unless the run itself is one.
    """
    if unchanged is None:
        if run.setting == run.reference:
            return on_depth_share(run, tolerance), ""
        try:
            unchanged = simulate(run.unit, run.soil, run.track, replace(run.settings, setting="unchanged"))
        except SimulationError as error:
            return None, f"with the setting left alone: {error}"
    return on_depth_share(unchanged, tolerance), ""


def run_summary(run: Run, scenario: Scenario, unchanged: Run | None = None) -> dict[str, Any]:
    """The JSON document of one run: plain numbers with the unit in the key, shares as fractions, None for "none".

    `unchanged`: the same crossing with the depth setting left alone; made here where it is not given. What is None
    has its reason under `reasons`, by dotted key.
    """
    tolerance = scenario.limits.depth_tolerance
    m = measure(run, tolerance)
    share, why = unchanged_share(run, tolerance, unchanged)
    reasons = {"depth.on_depth_share_unchanged_setting": why} if share is None else {}
    if any(part.share_of_variance is None for part in m.causes.parts.values()):
        reasons["causes.*.share_of_variance"] = "the depth error does not vary: there is nothing to share out"
    for i, event in enumerate(m.breakouts):
        if event.regain is None:
            reasons[f"breakouts.list.{i}.regain_m"] = "depth was not regained before the end of the run"
    return {
        "scenario": scenario.name,
        "settings": _settings(run),
        "distance_m": m.distance,
        "depth": {**_told(m, "depth", "mean_mm", "error_mean_mm", "error_sd_mm", "error_p05_mm", "error_p95_mm"),
                  **_extremes_at(run), "on_depth_share_unchanged_setting": share},
        "causes": _causes(m),
        "gauge_load": _told(m, "gauge_load", "mean_N", "sd_N", "p05_N", "p95_N"),
        "press_load": _told(m, "press_load"),
        "disc": _told(m, "disc"),
        "wheel_off": _wheel_off(m),
        "breakouts": _breakouts(m, scenario.machine.row_spacing),
        "pins": pin_table(m.pins),
        "pins_check": dict(run.pin_residuals),
        "gas": {**_told(m, "gas"), "ran_out_of_oil": m.gas.out},
        "energy": {"work_J": run.energy.work, "residual_J": run.energy.residual,
                   "residual_share": run.energy.residual_share},
        "warnings": warnings_of(run, scenario),
        "run": {"steps": run.steps, "step_s": run.step, "wall_s": run.wall, "compile_s": run.compile_wall,
                "seed": scenario.seed, "version": VERSION},
        "reasons": reasons,
    }  # fmt: skip


def _told(m: RunMeasures, part: str, *first: str) -> dict[str, float | None]:
    """Measures whose `run_key` lies in a part of the document: those keys first that are named, then the others."""
    found: dict[str, float | None] = dict.fromkeys(first)
    for described in MEASURES.values():
        inside, _, key = described.run_key.partition(".")
        if inside == part and described.run is not None:
            found[key] = EDGES[described.edge].one(described.run(m))
    return found


def _extremes_at(run: Run) -> dict[str, float]:
    """Where the largest depth errors to both sides are along the ground."""
    error, at = depth_error(run), run.series["distance"]
    return {"error_max_at_m": float(at[error.argmax()]), "error_min_at_m": float(at[error.argmin()])}


def _settings(run: Run) -> dict[str, Any]:
    s = run.settings
    return {
        "oil_pressure_bar": bar(s.oil_pressure),
        "precharge_bar": bar(s.precharge),
        "speed_kmh": kmh(s.speed),
        "set_depth_mm": mm(s.set_depth),
        "downforce_kgf": kgf(run.downforce),
        "setting": s.setting,
        "depth_setting_change_mm": mm(setting_change(run)),
    }


def _causes(m: RunMeasures) -> dict[str, Any]:
    parts: dict[str, Any] = {
        name: {"mean_mm": mm(c.mean), "sd_mm": mm(c.sd), "share_of_variance": c.share_of_variance}
        for name, c in m.causes.parts.items()
    }
    return {**parts, "sum_residual_mm": mm(m.causes.sum_residual)}


def _wheel_off(m: RunMeasures) -> dict[str, Any]:
    per_km = rate(len(m.episodes), m.distance / 1e3)
    of = {cause: [e.length for e in m.episodes if e.cause == cause] for cause in CAUSES_IN_ORDER}
    return {
        "episodes": len(m.episodes),
        "per_km": per_km.per,
        "per_km_interval": [per_km.low, per_km.high],
        "length_share": sum(e.length for e in m.episodes) / m.distance,
        "by_cause": {cause: len(lengths) for cause, lengths in of.items()},
        "length_m_by_cause": {cause: float(sum(lengths)) for cause, lengths in of.items()},
    }


def _breakouts(m: RunMeasures, row_spacing: float) -> dict[str, Any]:
    count = len(m.breakouts)
    per_km = rate(count, m.distance / 1e3)
    per_ha = rate(count, m.distance * row_spacing / SQUARE_METRES_PER_HA)
    return {
        "count": count,
        "per_km": per_km.per,
        "per_km_interval": [per_km.low, per_km.high],
        "per_ha": per_ha.per,
        "per_ha_interval": [per_ha.low, per_ha.high],
        "list": [_breakout(event) for event in m.breakouts],
    }


def _breakout(event: Breakout) -> dict[str, Any]:
    return {
        "position_m": event.position,
        "rise_mm": mm(event.rise),
        "regain_m": event.regain,
        "disc_peak_N": event.disc_peak,
        "pin": event.pin,
        "pin_peak_N": event.pin_peak,
        "pressure_max_bar": bar(event.pressure_max),
    }


def episode_rows(run: Run, tolerance: float) -> list[dict[str, Any]]:
    """The wheel-off episodes of a run as rows of a table, units in the keys; `tolerance` of the depth [m]."""
    return [
        {
            "start_m": e.start, "length_m": e.length, "rise_mm": mm(e.rise), "gap_mm": mm(e.gap),
            "shallow_m": e.shallow, "cause": e.cause,
        }
        for e in wheel_off_episodes(run, tolerance)
    ]  # fmt: skip
