"""A window of a worn unit beside that of the same unit with pins that fit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from analysis.parallel import Progress
from analysis.window.cross_grid import search
from analysis.window.doubt.pick import in_doubt
from analysis.window.feature.at_feature import AtFeature, at_cell
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick, choose
from scenarios.scenario import Scenario
from sim.unit import Clearance

FITTING, ALL, MAIN, DEPTH = "fitting", "all", "main_pins", "depth_linkage"  # which pins have the play


class At(NamedTuple):
    """What one unit does at one setting, over all grounds."""

    on_depth_share: float  # on the worst ground; NaN where it could not be crossed
    wheel_off_share: float  # on the worst ground
    slot: AtFeature  # at its worst places


@dataclass(frozen=True)
class WearCost:
    """What the play in a unit's pins costs."""

    clearance: Clearance  # of the worn unit
    worn: Pick | Nearest
    fitting: Pick | Nearest  # of the same unit with pins that fit
    oil_pressure: float  # setting at which all are compared, that of `fitting` [Pa, gauge]
    speed: float  # [m/s]
    at: Mapping[str, At]  # there, by which pins have the play: FITTING, ALL, and MAIN and DEPTH alone


def with_clearance(scenario: Scenario, clearance: Clearance) -> Scenario:
    """The scenario with other play in its pins."""
    return replace(scenario, unit=replace(scenario.unit, clearance=clearance))


def wear_cost(
    scenario: Scenario, worn: Pick | Nearest, workers: int | None = None, progress: Progress | None = None
) -> WearCost:
    """The search of a worn unit's scenario made again with pins that fit, and both at the setting found then.

    worn: what the worn unit's own search found. progress(done, all) over the crossings of that search.
    """
    play = scenario.unit.clearance
    new = with_clearance(scenario, Clearance())
    window = search(new, workers=workers, progress=progress)
    doubt = None if new.uncertain is None else in_doubt(new, window, workers)
    fitting = choose(window) if doubt is None else doubt.outcome
    others = {
        ALL: play,
        MAIN: Clearance(main_pins=play.main_pins),
        DEPTH: replace(play, main_pins=0.0),
    }
    at = {FITTING: _cell(window, scenario, fitting.i, fitting.j)} | {
        name: _at(with_clearance(scenario, clearance), fitting.oil_pressure, fitting.speed, workers)
        for name, clearance in others.items()
    }
    return WearCost(play, worn, fitting, fitting.oil_pressure, fitting.speed, at)


def _at(scenario: Scenario, oil_pressure: float, speed: float, workers: int | None) -> At:
    one = replace(scenario, search=replace(scenario.search, pressures=(oil_pressure,), speeds=(speed,)))
    return _cell(search(one, workers=workers, unchanged=False), scenario, 0, 0)


def _cell(window: Window, scenario: Scenario, i: int, j: int) -> At:
    share, off = window.grids["on_depth_share"][i, j], window.grids["wheel_off_share"][i, j]
    return At(float(share.min()), float(off.max()), at_cell(window, scenario.settings.set_depth, i, j))
