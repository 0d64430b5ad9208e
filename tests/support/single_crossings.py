"""One cell of a window made from whole runs: what the rows of `analysis.rows.crossings` must agree with."""

from __future__ import annotations

from dataclasses import replace

from analysis.crossing.breakouts import breakouts
from analysis.crossing.depth import depth_measures, on_depth_share
from analysis.crossing.episodes import wheel_off_episodes
from analysis.crossing.loads import gas, wheel_load, worst_pin
from analysis.crossing.spans import travelled
from analysis.crossing.summary import setting_change
from analysis.rows.cells import NAN, Crossing, Laid
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.run import simulate
from sim.unit import Settings


def cross(scenario: Scenario, laid: Laid, settings: Settings, unchanged: bool) -> Crossing:
    """One crossing with the depth setting redone, reduced to its measures, and if asked for one with it unchanged."""
    tolerance = scenario.limits.depth_tolerance
    redone = replace(settings, setting="redone")
    try:
        run = simulate(scenario.unit, scenario.soil, laid.track, redone, tables=laid.tables)
    except SimulationError as error:
        return Crossing(problem=str(error))
    depth, wheel = depth_measures(run, tolerance), wheel_load(run)
    kept = Crossing(
        on_depth_share=depth.on_depth_share,
        error_sd=depth.error_sd,
        depth_mean=depth.mean,
        wheel_off_share=wheel.off_share,
        gauge_load_mean=wheel.mean,
        wheel_off_episodes=float(len(wheel_off_episodes(run, tolerance))),
        breakouts=float(len(breakouts(run, tolerance))),
        distance=travelled(run),
        pin_peak=worst_pin(run)[1],
        pressure_max=gas(run).pressure_max,
        rock_peak=float(run.series["rock_force"].max()),
        setting_change=setting_change(run),
        reached=float(run.setting.reached),
    )
    if not unchanged:
        return kept
    same = run.setting == run.reference
    del run  # two runs at once would need twice the memory
    share = kept.on_depth_share if same else _share_unchanged(scenario, laid, settings)
    return kept._replace(on_depth_share_unchanged_setting=share)


def _share_unchanged(scenario: Scenario, laid: Laid, settings: Settings) -> float:
    """On-depth share with the depth setting left alone; NaN where that crossing cannot be made."""
    left = replace(settings, setting="unchanged")
    try:
        run = simulate(scenario.unit, scenario.soil, laid.track, left, tables=laid.tables)
    except SimulationError:
        return NAN
    return on_depth_share(run, scenario.limits.depth_tolerance)
