"""One cell of a window made from whole runs: what the rows of `analysis.rows.crossings` must agree with."""

from __future__ import annotations

from dataclasses import replace

from analysis.crossing.depth import on_depth_share
from analysis.crossing.measures import in_window
from analysis.crossing.one_run import measure
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
    m = measure(run, tolerance)
    kept = {}
    for described in in_window():
        if described.setting is not None:
            kept[described.name] = described.setting(run)
        elif described.run is not None and not described.unchanged:
            kept[described.name] = float(described.run(m))
    if unchanged:
        same = run.setting == run.reference
        del run, m  # two runs at once would need twice the memory
        share = kept["on_depth_share"] if same else _share_unchanged(scenario, laid, settings)
        kept["on_depth_share_unchanged_setting"] = share
    return Crossing(kept)


def _share_unchanged(scenario: Scenario, laid: Laid, settings: Settings) -> float:
    """On-depth share with the depth setting left alone; NaN where that crossing cannot be made."""
    left = replace(settings, setting="unchanged")
    try:
        run = simulate(scenario.unit, scenario.soil, laid.track, left, tables=laid.tables)
    except SimulationError:
        return NAN
    return on_depth_share(run, scenario.limits.depth_tolerance)
