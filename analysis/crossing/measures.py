"""Measures of a crossing, each described once: what it is, how it is found, joined, limited and written.

From these descriptions are built: the document of a run, what is kept of a window's cells and of a paddock's sections,
rows and settings, how stretches and seeds are put together, the limits, and the keys of every document. A measure that
is added to MEASURES is therefore in all of them; a limit on it needs its key in `scenarios.spec.Limits` as well, and
one that no sum of `analysis.rows.sums` holds yet needs that sum.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.offered import Set, Sums, counts_of, number_of, steps_of
from analysis.crossing.one_run import RunMeasures
from analysis.present.edge import bar, mm
from sim.hydraulics.working import ratios
from sim.mechanism.linkage import wheel_over_disc
from sim.record import CAUSES
from sim.unit import ATMOSPHERE
from sim.worn import is_worn


class Join(Enum):
    """How the values of two stretches of row make the value of both; over the seeds of a window: the mean of a value,
    the highest of HIGHEST, and counts all together.
    """

    MEAN = "mean, weighted by distance"
    OVER_SET_DEPTH = "as the mean depth error, with the set depth on top"
    SCATTER = "standard deviation within and between stretches"
    HIGHEST = "highest"
    LOWEST = "lowest"
    WITH_HIGHEST = "that of the stretch with the highest value of its partner"
    SUM = "sum"
    BEHIND = "not from the values: only from the sums or counts behind them"
    COUNT = "number of events, told per km of row"
    SETTING = "the same on every stretch"


class Edge(NamedTuple):
    """How a quantity is written in the trade: ending of a key, factor for grids, conversion of one value, and its text
    in a sentence on limits (factor, unit, decimals). `again`: unit of a second value of it in the same sentence, None:
    as the first; `least_decimals`: told at least.
    """

    suffix: str
    factor: float
    one: Callable[[float], float]
    text_factor: float
    text: str
    decimals: int
    again: str | None = None
    least_decimals: int = 0


EDGES: dict[str, Edge] = {
    "share": Edge("", 1.0, float, 100.0, " %", 1),
    "N": Edge("N", 1.0, float, 1.0, " N", 0),
    "bar": Edge("bar", 1e-5, bar, 1e-5, " bar", 1),
    "mm": Edge("mm", 1e3, mm, 1e3, " mm", 1),
    "km": Edge("per_km", 1.0, float, 1.0, " per km", 1),
    "of_lowest": Edge("", 1.0, float, 1.0, " of the lowest working pressure", 2, "", 2),
    "of_precharge": Edge("", 1.0, float, 1.0, " times the precharge", 2, "", 2),
    "m": Edge("m", 1.0, float, 1.0, " m", 1, None, 1),
    "of_depth": Edge("", 1.0, float, 100.0, " % of the set depth", 0, " %"),
}
EDGE_OF = {"1": "share", "N": "N", "Pa": "bar", "m": "mm"}


@dataclass(frozen=True, kw_only=True)
class Measure:
    """One measure, SI units.

    Formulas: `run` from the measures of one run; `rows` from the sums of a march, (sections, rows) or (sections, n,
    rows), counts (1, rows); `setting` from what is known once the depth is set. Which of them there are and `kept` say
    where it stands: "window" its cells, "section" and "row" datasets of a paddock over dimensions `dims` more.
    """

    name: str
    unit: str
    doc: str  # in a paddock's file
    join: Join
    run: Callable[[RunMeasures], float] | None = None
    rows: Callable[[Sums], NDArray[Any]] | None = None
    setting: Callable[[Set], float] | None = None
    kept: tuple[str, ...] = ()
    told: bool = True  # in the JSON of a window and of a paddock, where it is kept there
    key: str = ""  # in the JSON of a window; "": by the rule of `in_window_key`
    run_key: str = ""  # in the JSON of a run: part.key
    dataset: str = ""  # name in a paddock, before "row_"; "": the measure's own
    partner: str = ""  # measure that joins together with it: SCATTER, OVER_SET_DEPTH the mean; WITH_HIGHEST the value
    events: str = ""  # COUNT: the events in a paddock's file
    unchanged: bool = False  # of the row whose depth setting is left as made at the reference
    words: str = ""  # in a sentence on its limits
    at_least: str = ""  # field of `scenarios.spec.Limits`
    at_most: str = ""
    dims: tuple[str, ...] = ()
    kind: str = ""  # number type in a paddock; "": single precision by section, double by row
    form: str = ""  # name in EDGES; "": by its unit

    def __post_init__(self) -> None:
        """Raises ValueError where it is to be kept and there is no formula for it."""
        if self.kept and self.rows is None and self.setting is None:
            raise ValueError(f"{self.name}: kept by {', '.join(self.kept)}, but has no formula for rows or a setting")

    def of_rows(self, sums: Sums) -> NDArray[Any]:
        """Its values from the sums of a march."""
        assert self.rows is not None
        return self.rows(sums)

    def of_setting(self, made: Set) -> float:
        """Its value once the depth is set."""
        assert self.setting is not None
        return self.setting(made)

    @property
    def edge(self) -> str:
        """Name in EDGES of how it is written."""
        return self.form or self._edge_of_unit

    @property
    def _edge_of_unit(self) -> str:
        return "km" if self.join is Join.COUNT else EDGE_OF[self.unit]

    @property
    def stored(self) -> str:
        """Name of its dataset by section or by setting."""
        return self.dataset or self.name

    @property
    def window_key(self) -> str:
        """Key in the JSON of a window."""
        return self.key or _with_unit(self.name, self.edge)

    @property
    def paddock_key(self) -> str:
        """Key in the JSON and in the tables of a paddock."""
        return _with_unit(self.stored, self.edge)


def _with_unit(name: str, edge: str) -> str:
    suffix = EDGES[edge].suffix
    return f"{name}_{suffix}" if suffix else name


def setting_change(made: Set) -> float:
    """How the depth setting in force differs from the one made at the reference [m], positive = set deeper.

    The depth setting is counted as wheel bottom over disc bottom with the arm at its nominal angle: what the depth
    scale of the unit would show. More load on the wheel means more squash, so it has to be set shallower. Play that
    lies otherwise than at the reference is not on that scale, and has to be set against.
    """
    if is_worn(made.unit):
        nominal = made.unit.main_links.angle_nominal
        here, there = (wheel_over_disc(made.unit, s.crank_angle, nominal) for s in (made.setting, made.reference))
        return here - there
    return made.setting.wheel_over_disc - made.reference.wheel_over_disc


_DESCRIBED = (
    Measure(
        name="steps", unit="1", doc="steps measured", join=Join.SUM,
        rows=steps_of, kept=("row",), kind="i8",
    ),
    Measure(
        name="distance", unit="m", doc="travel measured", join=Join.SUM, told=False,
        run=lambda m: m.distance, rows=lambda r: steps_of(r) * r.travel, kept=("window", "row"),
    ),
    Measure(
        name="on_depth_share", unit="1", doc="share of travel within the tolerance of the set depth", join=Join.MEAN,
        run=lambda m: m.depth.on_depth_share, rows=lambda r: r.share("on_depth"), kept=("window", "section", "row"),
        run_key="depth.on_depth_share", words="on-depth share", at_least="on_depth_share_min",
    ),
    Measure(
        name="on_depth_share_unchanged_setting", unit="1", join=Join.MEAN, unchanged=True,
        doc="share of travel within the tolerance, with the depth setting left as made at the reference",
        run=lambda m: m.depth.on_depth_share, rows=lambda r: r.share("on_depth"), kept=("window",),
    ),
    Measure(
        name="error_mean", unit="m", doc="mean depth error, positive = deeper", join=Join.MEAN,
        run=lambda m: m.depth.error_mean, rows=lambda r: r.values["error_mean"], kept=("section", "row"),
        run_key="depth.error_mean_mm",
    ),
    Measure(
        name="error_sd", unit="m", doc="standard deviation of the depth error", join=Join.SCATTER,
        partner="error_mean", run=lambda m: m.depth.error_sd, rows=lambda r: r.sd("error"),
        kept=("window", "section", "row"), run_key="depth.error_sd_mm",
    ),
    Measure(
        name="error_max", unit="m", doc="largest depth error, positive = deeper", join=Join.HIGHEST,
        run=lambda m: m.depth.error_max, rows=lambda r: r.values["error_max"], kept=("window",),
        run_key="depth.error_max_mm",
    ),
    Measure(
        name="error_min", unit="m", doc="lowest depth error, positive = deeper", join=Join.LOWEST,
        run=lambda m: m.depth.error_min, rows=lambda r: r.values["error_min"], kept=("window",),
        run_key="depth.error_min_mm",
    ),
    Measure(
        name="too_deep", unit="1", doc="how much too deep at worst, over the set depth", join=Join.HIGHEST,
        run=lambda m: max(m.depth.error_max, 0.0) / m.run.settings.set_depth,
        rows=lambda r: np.maximum(r.values["error_max"], 0.0) / r.set_depth, kept=("window",), form="of_depth",
        words="error too deep", key="too_deep_share", at_most="feature_too_deep_max",
    ),
    Measure(
        name="too_shallow", unit="1", doc="how much too shallow at worst, over the set depth", join=Join.HIGHEST,
        run=lambda m: max(-m.depth.error_min, 0.0) / m.run.settings.set_depth,
        rows=lambda r: np.maximum(-r.values["error_min"], 0.0) / r.set_depth, kept=("window",), form="of_depth",
        words="error too shallow", key="too_shallow_share", at_most="feature_too_shallow_max",
    ),
    Measure(
        name="off_depth_at_one_place", unit="m", doc="travel off depth at the place with most of it",
        join=Join.HIGHEST, run=lambda m: m.places.off_depth,
        rows=lambda r: r.values["off_depth_most"] * r.travel, kept=("window",), form="m",
        run_key="depth.off_depth_at_one_place_m", words="way off depth at one place", at_most="feature_off_depth_max",
    ),
    Measure(
        name="error_p05", unit="m", doc="depth error that a twentieth of the travel stays below", join=Join.BEHIND,
        run=lambda m: m.depth.error_p05, run_key="depth.error_p05_mm",
    ),
    Measure(
        name="error_p95", unit="m", doc="depth error that a twentieth of the travel exceeds", join=Join.BEHIND,
        run=lambda m: m.depth.error_p95, run_key="depth.error_p95_mm",
    ),
    Measure(
        name="depth_mean", unit="m", doc="mean depth", join=Join.OVER_SET_DEPTH, partner="error_mean",
        run=lambda m: m.depth.mean, rows=lambda r: r.values["error_mean"] + r.set_depth, kept=("window",),
        run_key="depth.mean_mm",
    ),
    Measure(
        name="wheel_off_share", unit="1", doc="share of travel with no load on the gauge wheel", join=Join.MEAN,
        run=lambda m: m.gauge.off_share, rows=lambda r: r.share("wheel_off"), kept=("window", "section", "row"),
        run_key="gauge_load.wheel_off_share", words="wheel-off share", at_most="wheel_off_share_max",
    ),
    Measure(
        name="wheel_off_at_one_place", unit="m", doc="travel without load on the gauge wheel at the place with most",
        join=Join.HIGHEST, run=lambda m: m.places.wheel_off,
        rows=lambda r: r.values["wheel_off_most"] * r.travel, kept=("window",), form="m",
        run_key="gauge_load.wheel_off_at_one_place_m", words="way with the wheel off at one place",
        at_most="feature_wheel_off_max",
    ),
    Measure(
        name="gauge_load_peak", unit="N", doc="largest load on the gauge wheel at a step", join=Join.HIGHEST,
        run=lambda m: m.gauge.peak, rows=lambda r: r.values["gauge_load_max"], kept=("window",),
        run_key="gauge_load.peak_N", words="peak gauge load", at_most="feature_gauge_peak_max",
    ),
    Measure(
        name="gauge_load_mean", unit="N", doc="mean load on the gauge wheel", join=Join.MEAN,
        run=lambda m: m.gauge.mean, rows=lambda r: r.values["gauge_load_mean"], kept=("window", "section", "row"),
        run_key="gauge_load.mean_N", words="mean gauge load", at_least="gauge_load_min", at_most="gauge_load_max",
    ),
    Measure(
        name="gauge_load_sd", unit="N", doc="standard deviation of the load on the gauge wheel", join=Join.SCATTER,
        partner="gauge_load_mean", run=lambda m: m.gauge.sd, rows=lambda r: r.sd("gauge_load"), kept=("row",),
        run_key="gauge_load.sd_N",
    ),
    Measure(
        name="gauge_load_p05", unit="N", doc="gauge load that a twentieth of the travel stays below", join=Join.BEHIND,
        run=lambda m: m.gauge.p05, run_key="gauge_load.p05_N",
    ),
    Measure(
        name="gauge_load_p95", unit="N", doc="gauge load that a twentieth of the travel exceeds", join=Join.BEHIND,
        run=lambda m: m.gauge.p95, run_key="gauge_load.p95_N",
    ),
    Measure(
        name="press_load_mean", unit="N", doc="mean load on the press wheel", join=Join.MEAN,
        run=lambda m: m.press.mean, rows=lambda r: r.values["press_load_mean"], kept=("row",),
        run_key="press_load.mean_N",
    ),
    Measure(
        name="press_load_sd", unit="N", doc="standard deviation of the load on the press wheel", join=Join.SCATTER,
        partner="press_load_mean", run=lambda m: m.press.sd, rows=lambda r: r.sd("press_load"),
        run_key="press_load.sd_N",
    ),
    Measure(
        name="wheel_off_episodes", unit="1", doc="wheel-off episodes", join=Join.COUNT, events="episode",
        run=lambda m: len(m.episodes), rows=lambda r: number_of(r.found_episodes), kept=("window", "row"),
        key="wheel_off_per_km", words="wheel-off episodes",
    ),
    Measure(
        name="breakouts", unit="1", doc="breakouts", join=Join.COUNT, events="breakout",
        run=lambda m: len(m.breakouts), rows=lambda r: number_of(r.found_breakouts), kept=("window", "row"),
        words="breakouts", at_most="breakouts_per_km_max",
    ),
    Measure(
        name="pin_peak", unit="N", doc="largest load on any pin", join=Join.HIGHEST,
        run=lambda m: max(pin.peak for pin in m.pins.values()), rows=lambda r: r.values["pin_peak"].max(axis=1),
        kept=("window", "section"), words="peak pin load", at_most="pin_peak_max",
    ),
    Measure(
        name="pin_worst", unit="1", doc="number of the pin that bears it, in the order of `pin`", told=False,
        join=Join.WITH_HIGHEST, partner="pin_peak", rows=lambda r: r.values["pin_peak"].argmax(axis=1),
        kept=("section",), kind="i1",
    ),
    Measure(
        name="rock_peak", unit="N", doc="largest force of a stone on the disc", join=Join.HIGHEST, told=False,
        run=lambda m: m.rock_peak, rows=lambda r: r.values["rock_peak"], kept=("window", "section", "row"),
        run_key="disc.rock_peak_N",
    ),
    Measure(
        name="pressure_min", unit="Pa", doc="lowest oil pressure at the accumulator, gauge", join=Join.LOWEST,
        dataset="oil_pressure_min", run=lambda m: m.gas.pressure_min,
        rows=lambda r: r.values["pressure_min"] - ATMOSPHERE, kept=("row",), run_key="gas.pressure_min_bar",
    ),
    Measure(
        name="pressure_max", unit="Pa", doc="highest oil pressure at the accumulator, gauge", join=Join.HIGHEST,
        dataset="oil_pressure_max", run=lambda m: m.gas.pressure_max,
        rows=lambda r: r.values["pressure_max"] - ATMOSPHERE, kept=("window", "section", "row"),
        run_key="gas.pressure_max_bar", words="highest gas pressure", at_most="gas_pressure_max",
    ),
    Measure(
        name="disc_slip_share", unit="1", doc="share of travel in which the soil cannot turn the disc", join=Join.MEAN,
        rows=lambda r: r.share("disc_slip"), kept=("row",),
    ),
    Measure(
        name="out_of_oil_share", unit="1", doc="share of travel with no oil in the accumulator", join=Join.MEAN,
        rows=lambda r: r.share("out_of_oil"), kept=("row",),
    ),
    Measure(
        name="pin_peaks", unit="N", doc="largest load on each pin", join=Join.HIGHEST, dataset="pin_peak",
        rows=lambda r: r.values["pin_peak"], kept=("row",), dims=("pin",),
    ),
    Measure(
        name="pin_rms", unit="N", doc="root mean square of the load on each pin", join=Join.BEHIND,
        rows=lambda r: np.sqrt(r.values["pin_square_mean"]), kept=("row",), dims=("pin",),
    ),
    Measure(
        name="cause_mean", unit="m", doc="mean of each part of the depth error", join=Join.MEAN,
        rows=lambda r: np.stack([r.values[f"{cause}_mean"] for cause in CAUSES], axis=1), kept=("row",),
        dims=("cause",),
    ),
    Measure(
        name="cause_share", unit="1", doc="share of each part in the variance of the depth error", join=Join.BEHIND,
        rows=lambda r: np.stack([r.share_of_variance(cause) for cause in CAUSES], axis=1), kept=("row",),
        dims=("cause",),
    ),
    Measure(
        name="error_count", unit="1", doc="steps by depth error", join=Join.SUM,
        rows=lambda r: counts_of(r.error_counts), kept=("row",), dims=("error_bin",), kind="i4",
    ),
    Measure(
        name="gauge_count", unit="1", doc="steps by gauge load", join=Join.SUM,
        rows=lambda r: counts_of(r.gauge_counts), kept=("row",), dims=("load_bin",), kind="i4",
    ),
    Measure(
        name="reached", unit="1", doc="1: the depth can be set at this pressure and speed, 0: it cannot",
        join=Join.SETTING, setting=lambda made: float(made.setting.reached), kept=("window",), told=False,
        dataset="depth_reached",
    ),
    Measure(
        name="setting_change", unit="m", doc="depth setting against the reference, positive = set deeper",
        join=Join.SETTING, setting=setting_change, kept=("window",), told=False,
    ),
    Measure(
        name="precharge_share", unit="1", form="of_lowest", join=Join.SETTING,
        doc="precharge over the lowest working pressure, hot gas, absolute", kept=("window",),
        setting=lambda made: ratios(made.unit, made.settings).share,
        words="precharge (hot)", at_most="precharge_share_max",
    ),
    Measure(
        name="gas_squeeze", unit="1", form="of_precharge", join=Join.SETTING,
        doc="highest working pressure over the precharge, cold gas, absolute", kept=("window",),
        setting=lambda made: ratios(made.unit, made.settings).squeeze,
        words="gas squeeze (cold)", at_most="gas_squeeze_max",
    ),
)  # fmt: skip
MEASURES: dict[str, Measure] = {measure.name: measure for measure in _DESCRIBED}


def in_window() -> list[Measure]:
    """Those kept of every cell of a window."""
    return [m for m in MEASURES.values() if "window" in m.kept]


def by_section() -> dict[str, Measure]:
    """Those kept of every section of a paddock, by dataset."""
    return {m.stored: m for m in MEASURES.values() if "section" in m.kept}


def by_row() -> dict[str, Measure]:
    """Those kept of every row of a paddock's passes, by dataset; counts of events come last."""
    kept = [m for m in MEASURES.values() if "row" in m.kept]
    return {f"row_{m.stored}": m for m in sorted(kept, key=lambda m: m.join is Join.COUNT)}


def by_setting() -> dict[str, Measure]:
    """Those of a depth setting, by name."""
    return {m.name: m for m in MEASURES.values() if m.setting is not None}


def limited_counts() -> dict[str, Measure]:
    """Counts of events that may have a limit, by name."""
    return {m.name: m for m in MEASURES.values() if m.join is Join.COUNT and (m.at_most or m.at_least)}
