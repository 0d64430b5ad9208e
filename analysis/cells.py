"""One cell of a window: the crossing of one ground at one pressure and speed, reduced to a few numbers at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from analysis.breakouts import breakouts
from analysis.depth import depth_measures, on_depth_share
from analysis.episodes import wheel_off_episodes
from analysis.loads import gas, wheel_load, worst_pin
from analysis.measures import setting_change
from analysis.spans import travelled
from scenarios.scenario import Scenario
from sim.linkage import LinkageError
from sim.run import GroundTables, RunError, ground_tables, simulate
from sim.track import Track
from sim.unit import Settings

NAN = float("nan")


class Crossing(NamedTuple):
    """What is kept of one crossing, SI units; NaN throughout where it could not be made (`problem` says why)."""

    on_depth_share: float = NAN
    on_depth_share_unchanged_setting: float = NAN  # with the depth setting left as made at the reference
    error_sd: float = NAN  # [m]
    depth_mean: float = NAN  # [m]
    wheel_off_share: float = NAN
    gauge_load_mean: float = NAN  # [N]
    wheel_off_episodes: float = NAN  # number
    breakouts: float = NAN  # number
    distance: float = NAN  # [m]
    pin_peak: float = NAN  # largest load on any pin [N]
    pressure_max: float = NAN  # highest oil pressure at the accumulator, gauge [Pa]
    rock_peak: float = NAN  # [N]
    setting_change: float = NAN  # [m], positive = set deeper than at the reference
    reached: float = NAN  # 1: the depth can be set at this pressure and speed; 0: not
    problem: str = ""


@dataclass(frozen=True)
class Laid:
    """The ground of one seed, laid and made ready for the unit's wheels and disc."""

    seed: int
    track: Track
    tables: GroundTables


def lay(scenario: Scenario, seeds: tuple[int, ...]) -> tuple[Laid, ...]:
    """Grounds of a scenario by seed; of seeds that give one and the same ground only the first is kept."""
    laid: list[Laid] = []
    for seed in seeds:
        track = scenario.track(seed)
        if not any(_same(track, other.track) for other in laid):
            laid.append(Laid(seed, track, ground_tables(scenario.unit, track, scenario.settings.set_depth)))
    return tuple(laid)


def _same(a: Track, b: Track) -> bool:
    return all(
        np.array_equal(getattr(a, name), getattr(b, name)) for name in ("ground", "stone_top", "stone_id", "strength")
    )


def cross(scenario: Scenario, laid: Laid, settings: Settings, unchanged: bool) -> Crossing:
    """One crossing with the depth setting redone, reduced to its measures, and if asked for one with it unchanged."""
    tolerance = scenario.limits.depth_tolerance
    redone = replace(settings, setting="redone")
    try:
        run = simulate(scenario.unit, scenario.soil, laid.track, redone, tables=laid.tables)
    except (RunError, LinkageError, ValueError) as error:
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
    except (RunError, LinkageError, ValueError):
        return NAN
    return on_depth_share(run, scenario.limits.depth_tolerance)
