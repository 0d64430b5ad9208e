"""What a scenario says about ground, stones, soil variation, machine, limits and search: frozen dataclasses in SI.

Each field carries the same metadata as those of `sim.unit` (unit, range, edge unit, meaning, source), plus what a
file needs (`scenarios.format.described`). The file format (`scenarios.format.tables`) is built from it. Ground,
its features and its stones have files of their own and are found here too.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from scenarios.format.described import optional, series, whole
from scenarios.ground.banks import Bank, Rut
from scenarios.ground.feature import Feature, Surface
from scenarios.ground.features import FEATURES, SURFACES
from scenarios.ground.humps import Gilgai, Hollow, Hump
from scenarios.ground.patches import Patch, Patches
from scenarios.ground.spec_ground import Ground, ProfileFile, Roughness, Variation
from scenarios.ground.steps import Drop, Edge, Ramp
from scenarios.ground.stone_field import StoneField
from scenarios.ground.stones import PlacedStone, Stones
from scenarios.ground.waves import Ridges, Sine
from sim.hydraulics.gas_rule import MOST, SHARE, SQUEEZE, GasRule
from sim.unit import quantity

__all__ = [
    "FEATURES",
    "SURFACES",
    "Bank",
    "Drop",
    "Edge",
    "Feature",
    "Gilgai",
    "Ground",
    "Hollow",
    "Hump",
    "Limits",
    "Machine",
    "Patch",
    "Patches",
    "PlacedStone",
    "ProfileFile",
    "Ramp",
    "Ridges",
    "Roughness",
    "Rut",
    "Search",
    "Sine",
    "StoneField",
    "Stones",
    "Surface",
    "Variation",
]

SAME_DEPTH = 1e-9  # set depths that differ by less are one [m]
ON_FEATURE = "where the ground is a feature"
NOT_ON_FEATURE = ("on_depth_share_min", "wheel_off_share_max")  # limits that the feature's own stand in for


def feature(default: float, unit: str, high: float, doc: str) -> Any:
    """A limit that holds only where the ground is one feature."""
    return quantity(default, unit, 0.0, high, f"{ON_FEATURE}: {doc}")


@dataclass(frozen=True, kw_only=True)
class Machine:
    """The machine around the row; its mass on the toolbar's wheels stands in [unit.toolbar].

    `rows` are those whose downforce that mass has to hold down: rows × downforce is weighed against it.
    """

    rows: int = whole(8, 1, 200, "rows whose downforce the toolbar's mass (mass_kg in [unit.toolbar]) holds down")
    row_spacing: float = quantity(0.25, "m", 0.05, 2.0, "distance between rows")
    field_efficiency: float = quantity(
        0.70, "1", 0.1, 1.0, "share of the time that is spent seeding",
        source="typical of drills in ASABE D497; value from memory",
    )  # fmt: skip

    @property
    def width(self) -> float:
        """Working width [m]."""
        return self.rows * self.row_spacing

    def hectares_per_hour(self, speed: float) -> float:
        """Effective field capacity at a speed [m/s] → [ha/h]: width × speed × field efficiency."""
        return self.width * speed * 3600.0 / 1e4 * self.field_efficiency


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a setting has to meet; a limit that is left out (None) is not checked.

    Where the ground is one feature or a few on flat ground (`scenarios.single`) those named `feature_` hold in
    place of `NOT_ON_FEATURE`, elsewhere they do not. A share of the way says nothing there, since the flat before
    and behind waters it down; a share of the feature's own reach would need one, and a drop or an edge has none. So
    the slot at its worst counts, over the set depth since 20 mm are another thing at 20 mm than at 60: half the set
    depth too shallow is what a breakout goes by too, 0.6 of it too deep is 64 mm for 40 (a coleoptile reaches 60 to
    70 mm; from memory). Metres count at one place (`analysis.crossing.places`), so that no number of features
    changes what each may cost: 4 and 0.8 m are what on_depth_share_min and wheel_off_share_max leave on 40 m of
    row.
    """

    depth_tolerance: float = quantity(0.010, "m", 0.001, 0.05, "depth error that still counts as on depth", edge="mm")
    on_depth_share_min: float = quantity(0.90, "1", 0.0, 1.0, "least share of travel on depth")
    wheel_off_share_max: float = quantity(0.02, "1", 0.0, 1.0, "largest share of travel with the gauge wheel off")
    feature_too_deep_max: float = feature(
        0.6, "1", 5.0, "how much too deep the slot may be, as a share of the set depth"
    )
    feature_too_shallow_max: float = feature(
        0.5, "1", 5.0, "how much too shallow the slot may be, as a share of the set depth"
    )
    feature_off_depth_max: float = feature(4.0, "m", 100.0, "longest way off depth at one place")
    feature_wheel_off_max: float = feature(0.8, "m", 100.0, "longest way with the gauge wheel off at one place")
    feature_gauge_peak_max: float | None = optional(
        "N", 100.0, 1e5, f"{ON_FEATURE}: largest load on the gauge wheel", example=5e3
    )
    on_feature: bool = False  # no key: found from the ground by `Scenario`
    gauge_load_min: float = quantity(200.0, "N", 0.0, 1e4, "least mean load on the gauge wheel")
    gauge_load_max: float = quantity(1200.0, "N", 0.0, 2e4, "largest mean load on the gauge wheel")
    pin_peak_max: float | None = optional("N", 100.0, 1e6, "largest load on any pin", example=25e3)
    gas_pressure_max: float | None = optional(
        "Pa", 10e5, 500e5, "largest pressure in gas and oil", edge="bar", example=200e5
    )
    gas_pressure_warning: float = quantity(200e5, "Pa", 10e5, 500e5, "pressure above which a run warns", edge="bar")
    breakouts_per_km_max: float | None = optional("1/km", 0.0, 1e4, "most breakouts on a km of row", example=20.0)
    max_oil_pressure: float | None = optional(
        "Pa", 1e5, 250e5, "highest oil pressure that may be set", edge="bar", example=110e5
    )
    set_depth_min: float | None = optional(
        "m", 0.005, 0.15, "shallowest set depth at which the crop may be sown", edge="mm", example=0.035
    )
    set_depth_max: float | None = optional(
        "m", 0.005, 0.15, "deepest set depth at which the crop may be sown", edge="mm", example=0.045
    )

    confidence: float = quantity(
        0.8, "1", 0.05, 0.999, "least chance with which a setting has to meet every limit, where values are in doubt"
    )
    precharge_share_max: float = quantity(
        SHARE, "1", 0.1, MOST,
        "largest precharge over the lowest working pressure (lower stop, gas at 35 °C); 100: any",
        source="common practice; the vessel's plate and papers come first",
    )  # fmt: skip
    gas_squeeze_max: float = quantity(
        SQUEEZE, "1", 1.5, MOST,
        "largest working pressure over the precharge (fast to the upper stop, gas at 0 °C); 100: any",
        source="common practice for a bladder, value from memory; the vessel's plate and papers come first",
    )  # fmt: skip

    def sows_at(self, set_depth: float) -> bool:
        """Whether the crop may be sown at a set depth [m]; at any where no depths are given."""
        shallowest = 0.0 if self.set_depth_min is None else self.set_depth_min - SAME_DEPTH
        deepest = math.inf if self.set_depth_max is None else self.set_depth_max + SAME_DEPTH
        return shallowest <= set_depth <= deepest

    @property
    def gas_rule(self) -> GasRule:
        """What a precharge has to keep; `sim.hydraulics.working.keeps` tells whether settings do."""
        return GasRule(self.precharge_share_max, self.gas_squeeze_max)

    def holds(self, name: str) -> bool:
        """Whether a limit on a measure, given or not, is one to be held on this ground."""
        return name not in NOT_ON_FEATURE if self.on_feature else not name.startswith("feature_")


@dataclass(frozen=True, kw_only=True)
class Search:
    """Pressures, speeds and seeds that a window tries."""

    pressures: tuple[float, ...] = series(
        tuple(p * 1e5 for p in (30, 35, 40, 45, 50, 55)), "Pa", 1e5, 250e5, "oil pressures to try", edge="bar"
    )
    speeds: tuple[float, ...] = series(
        tuple(v / 3.6 for v in range(5, 13)), "m/s", 1 / 3.6, 30 / 3.6, "speeds to try", edge="km/h"
    )
    seeds: int = whole(3, 1, 1000, "grounds to try: the ground's seed and the numbers after it")
    draws: int = whole(32, 1, 1000, "sets of values that stand for what is in doubt ([uncertain], else [prior])")
