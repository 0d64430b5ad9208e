"""Everything that one run is measured by, and its JSON form."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from analysis.crossing.breakouts import Breakout, breakouts
from analysis.crossing.depth import Causes, DepthMeasures, causes, depth_measures, on_depth_share
from analysis.crossing.episodes import CAUSES_IN_ORDER, Episode, wheel_off_episodes
from analysis.crossing.loads import Gas, PinLoad, WheelLoad, gas, pin_loads, wheel_load
from analysis.crossing.poisson import rate
from analysis.crossing.spans import travelled
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.version import VERSION
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate

SQUARE_METRES_PER_HA = 1e4


@dataclass(frozen=True)
class RunMeasures:
    """The measures of one run, SI units."""

    distance: float  # [m]
    depth: DepthMeasures
    causes: Causes
    gauge: WheelLoad
    press: WheelLoad
    rock_peak: float  # [N]
    episodes: tuple[Episode, ...]
    breakouts: tuple[Breakout, ...]
    pins: dict[str, PinLoad]
    gas: Gas
    setting_change: float  # wheel over disc at the setting in force − at the reference [m], positive = set deeper


def measure(run: Run, tolerance: float) -> RunMeasures:
    """All measures of a run; `tolerance` of the depth [m]."""
    return RunMeasures(
        distance=travelled(run),
        depth=depth_measures(run, tolerance),
        causes=causes(run),
        gauge=wheel_load(run, "gauge_load"),
        press=wheel_load(run, "press_load"),
        rock_peak=float(run.series["rock_force"].max()),
        episodes=wheel_off_episodes(run, tolerance),
        breakouts=breakouts(run, tolerance),
        pins=pin_loads(run),
        gas=gas(run),
        setting_change=setting_change(run),
    )


def setting_change(run: Run) -> float:
    """How the depth setting in force differs from the one made at the reference [m], positive = set deeper.

    The depth setting is counted as wheel bottom over disc bottom with the arm at its nominal angle: what the depth
    scale of the unit would show. More load on the wheel means more squash, so it has to be set shallower.
    """
    return run.setting.wheel_over_disc - run.reference.wheel_over_disc


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
        "settings": _settings(run, m),
        "distance_m": m.distance,
        "depth": {**_depth(m), "on_depth_share_unchanged_setting": share},
        "causes": _causes(m),
        "gauge_load": {**_wheel(m.gauge), "p05_N": m.gauge.p05, "p95_N": m.gauge.p95,
                       "wheel_off_share": m.gauge.off_share},
        "press_load": _wheel(m.press),
        "disc": {"rock_peak_N": m.rock_peak},
        "wheel_off": _wheel_off(m),
        "breakouts": _breakouts(m, scenario.machine.row_spacing),
        "pins": {n: {"peak_N": p.peak, "rms_N": p.rms, "mean_N": p.mean} for n, p in m.pins.items()},
        "pins_check": dict(run.pin_residuals),
        "gas": {"pressure_min_bar": bar(m.gas.pressure_min), "pressure_max_bar": bar(m.gas.pressure_max),
                "ran_out_of_oil": m.gas.out},
        "energy": {"work_J": run.energy.work, "residual_J": run.energy.residual,
                   "residual_share": run.energy.residual_share},
        "warnings": [*scenario.warnings, *run.warnings],
        "run": {"steps": run.steps, "step_s": run.step, "wall_s": run.wall, "compile_s": run.compile_wall,
                "seed": scenario.seed, "version": VERSION},
        "reasons": reasons,
    }  # fmt: skip


def _settings(run: Run, m: RunMeasures) -> dict[str, Any]:
    s = run.settings
    return {
        "oil_pressure_bar": bar(s.oil_pressure),
        "precharge_bar": bar(s.precharge),
        "speed_kmh": kmh(s.speed),
        "set_depth_mm": mm(s.set_depth),
        "downforce_kgf": kgf(run.downforce),
        "setting": s.setting,
        "depth_setting_change_mm": mm(m.setting_change),
    }


def _depth(m: RunMeasures) -> dict[str, float]:
    d = m.depth
    return {
        "mean_mm": mm(d.mean), "error_mean_mm": mm(d.error_mean), "error_sd_mm": mm(d.error_sd),
        "error_p05_mm": mm(d.error_p05), "error_p95_mm": mm(d.error_p95), "on_depth_share": d.on_depth_share,
    }  # fmt: skip


def _causes(m: RunMeasures) -> dict[str, Any]:
    parts: dict[str, Any] = {
        name: {"mean_mm": mm(c.mean), "sd_mm": mm(c.sd), "share_of_variance": c.share_of_variance}
        for name, c in m.causes.parts.items()
    }
    return {**parts, "sum_residual_mm": mm(m.causes.sum_residual)}


def _wheel(load: WheelLoad) -> dict[str, float]:
    return {"mean_N": load.mean, "sd_N": load.sd}


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
