"""What is kept of one cell of a window, the crossing of one ground at one pressure and speed; and its grounds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from scenarios.scenario import Scenario
from sim.run import GroundTables, ground_tables
from sim.track import Track

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
