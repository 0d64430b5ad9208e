"""What a pick buys: depth, wheel contact and hectares an hour beside the file's present settings."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.rows.cells import lay
from analysis.rows.crossings import cross_rows
from analysis.rows.together import Row
from analysis.window.feature.at_feature import AtFeature, at_cell, of_rows
from analysis.window.grid import Window
from analysis.window.pick import Pick
from scenarios.scenario import Scenario
from sim.march.rows import Case

TOLD_SHARE = 0.5e-3  # shares and hectares an hour that differ by less read alike
TOLD_AREA = 0.5e-2
TOLD_AT = (0.5e-3, 0.5e-3, 0.05, 0.05)  # slots and lengths of row [m]


@dataclass(frozen=True)
class Use:
    """What one setting gives, mean over the seeds; SI units."""

    oil_pressure: float
    speed: float
    set_depth: float
    precharge: float
    setting: str  # depth setting "redone" or "unchanged"
    on_depth_share: float | None  # None: it could not be crossed, `reason` says why
    wheel_off_share: float | None
    hectares_per_hour: float
    reason: str = ""
    elsewhere: bool = False  # found with another precharge or set depth than those of the window beside it
    warnings: tuple[str, ...] = ()  # why its numbers are not to be trusted, or it would not be picked for its precharge
    at: AtFeature | None = None  # where the ground is one feature, in place of the shares


@dataclass(frozen=True)
class Gain:
    """The pick beside the file's present settings."""

    pick: Use
    present: Use

    @property
    def better(self) -> bool:
        """Whether the pick has more hectares an hour, more of the way on depth or less with the wheel off."""
        return any(change > 0.0 for change in self._changes)

    @property
    def worse(self) -> bool:
        """Whether it has less of these."""
        return any(change < 0.0 for change in self._changes)

    @property
    def _changes(self) -> list[float]:
        """What the pick has more of the good, 0 where it is not told apart or not known."""
        pick, now = self.pick, self.present
        pairs = [
            (pick.hectares_per_hour, now.hectares_per_hour, TOLD_AREA),
            (pick.on_depth_share, now.on_depth_share, TOLD_SHARE),
            (now.wheel_off_share, pick.wheel_off_share, TOLD_SHARE),
        ]
        if pick.at is not None and now.at is not None:
            pairs[1:] = zip(now.at.worst, pick.at.worst, TOLD_AT, strict=True)
        found = [(after - before, least) for after, before, least in pairs if after is not None and before is not None]
        return [change if abs(change) >= least else 0.0 for change, least in found]


def gain(scenario: Scenario, window: Window, pick: Pick, workers: int | None = None) -> Gain:
    """The pick, as the window found it, beside the file's own settings on the same grounds.

    Hectares an hour: working width × speed × field efficiency.
    """
    rate = scenario.machine.hectares_per_hour
    picked = Use(
        pick.oil_pressure,
        pick.speed,
        pick.set_depth,
        scenario.settings.precharge,
        "redone",
        float(window.grids["on_depth_share"][pick.i, pick.j].mean()),
        float(window.grids["wheel_off_share"][pick.i, pick.j].mean()),
        rate(pick.speed),
        at=at_cell(window, pick.set_depth, pick.i, pick.j) if window.limits.on_feature else None,
    )
    return Gain(picked, present_use(scenario, window.seeds, workers))


def present_use(scenario: Scenario, seeds: tuple[int, ...], workers: int | None = None) -> Use:
    """What the file's own settings give, mean over the seeds."""
    s = scenario.settings
    rate = scenario.machine.hectares_per_hour(s.speed)
    empty = Use(s.oil_pressure, s.speed, s.set_depth, s.precharge, s.setting, None, None, rate)

    laid = lay(scenario, seeds)
    found = cross_rows(scenario, laid, [Row(k, Case(k, s)) for k in range(len(laid))], workers)
    made = [row for _, row in sorted(found.items()) if not isinstance(row, str)]
    if len(made) < len(laid):
        return replace(empty, reason=next(text for _, text in sorted(found.items()) if isinstance(text, str)))
    on_depth, off = (float(np.mean([row.share(name) for row in made])) for name in ("on_depth", "wheel_off"))
    heeds = sorted((heed for row in made for heed in row.heeds(scenario, s)), key=lambda heed: not heed.barred)
    told = tuple(dict.fromkeys(heed.text for heed in heeds if heed.barred or heed.kind == "precharge"))
    at = of_rows(made, s.set_depth) if scenario.limits.on_feature else None
    return replace(empty, on_depth_share=on_depth, wheel_off_share=off, warnings=told, at=at)
