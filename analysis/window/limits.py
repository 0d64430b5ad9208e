"""Limits: what a setting has to meet, by how much it does, and how that reads.

Margin as a share of the limit: (value − limit)/limit where at least the limit is asked for, (limit − value)/limit
where at most. The on-depth share counts like any other value: 0.95 against at least 0.90 is a margin of 0.056. A limit
of zero has no share: its margin is infinite where it is met whatever the value, 0 where it is just met, −1 where not.
Values are those of the worst seed. Counts per km are those of all seeds together, at the upper end of their exact 95 %
interval: seeds are samples of one ground, and more of them show more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.poisson import LEVEL, interval, least_exposure
from analysis.present.edge import bar
from analysis.window.grid import Window
from scenarios.spec import Limits


class Limit(NamedTuple):
    """One limit: field of `Limits`, JSON key, the window's measure that it bounds, and its words."""

    name: str
    key: str
    measure: str
    least: bool  # True: at least this; False: at most this
    words: str
    unit: str  # "share", "N", "bar" (inside Pa), "km" (count per km)


LIMITS: tuple[Limit, ...] = (
    Limit("on_depth_share_min", "on_depth_share_min", "on_depth_share", True, "on-depth share", "share"),
    Limit("wheel_off_share_max", "wheel_off_share_max", "wheel_off_share", False, "wheel-off share", "share"),
    Limit("gauge_load_min", "gauge_load_min_N", "gauge_load_mean", True, "mean gauge load", "N"),
    Limit("gauge_load_max", "gauge_load_max_N", "gauge_load_mean", False, "mean gauge load", "N"),
    Limit("pin_peak_max", "pin_peak_max_N", "pin_peak", False, "peak pin load", "N"),
    Limit("gas_pressure_max", "gas_pressure_max_bar", "pressure_max", False, "highest gas pressure", "bar"),
    Limit("breakouts_per_km_max", "breakouts_per_km_max", "breakouts", False, "breakouts", "km"),
)


class Check(NamedTuple):
    """One limit held against one setting."""

    limit: Limit
    asked: float  # the limit itself [SI, or per km]
    value: float  # of the worst seed; of a count the upper end of its interval
    seed: int | None  # the worst seed; None where all seeds count together
    margin: float  # as a share of the limit, ≥ 0 where met
    met: bool

    def sentence(self) -> str:
        """Value against limit, in words: "on-depth share 87 % (seed 3) against at least 90 %"."""
        value, asked = _apart(self.value, self.asked, self.limit.unit)
        who = f" (seed {self.seed})" if self.seed is not None else f" (upper end of the {LEVEL * 100:.0f} % interval)"
        return f"{self.limit.words} {value}{who} against {'at least' if self.limit.least else 'at most'} {asked}"


def given(limits: Limits) -> list[tuple[Limit, float]]:
    """The limits that are to be checked, with their values."""
    return [(limit, value) for limit in LIMITS if (value := getattr(limits, limit.name)) is not None]


def not_checked(limits: Limits) -> list[str]:
    """Words of the limits that are not given, and therefore not checked."""
    return [limit.words for limit in LIMITS if getattr(limits, limit.name) is None]


def margin(value: float, asked: float, least: bool) -> float:
    """Margin of a value to a limit as a share of the limit; see the top of this file."""
    room = value - asked if least else asked - value
    if asked > 0.0:
        return room / asked
    if room < 0.0:
        return -1.0
    return math.inf if least else 0.0


def worst(window: Window, limit: Limit) -> NDArray[np.float64]:
    """The value held against a limit in every cell, shape (pressures, speeds); NaN where a crossing is missing."""
    grid = window.grids[limit.measure]
    if limit.unit == "km":
        counts, lengths = grid.sum(axis=2), window.grids["distance"].sum(axis=2) / 1e3
        ends = [interval(int(c))[1] if math.isfinite(c) else math.nan for c in counts.ravel()]
        return np.reshape(ends, counts.shape) / lengths
    return grid.min(axis=2) if limit.least else grid.max(axis=2)


def margins(window: Window, limits: Limits) -> dict[str, NDArray[np.float64]]:
    """Margins of every cell by name of the limit, each of shape (pressures, speeds), −inf where a run is missing."""
    found = {}
    for limit, asked in given(limits):
        values = worst(window, limit)
        flat = [margin(float(v), asked, limit.least) if math.isfinite(v) else -math.inf for v in values.ravel()]
        found[limit.name] = np.reshape(flat, values.shape)
    return found


def smallest_margin(window: Window, limits: Limits) -> NDArray[np.float64]:
    """Smallest of the margins of every cell, shape (pressures, speeds)."""
    return np.min(list(margins(window, limits).values()), axis=0)


def choosable(window: Window, limits: Limits) -> NDArray[np.bool_]:
    """Cells that may be chosen at all, (pressures, speeds): crossed, depth can be set, oil pressure can be had."""
    highest = math.inf if limits.max_oil_pressure is None else limits.max_oil_pressure * (1.0 + 1e-12)
    crossed = np.isfinite(window.grids["on_depth_share"]) & (window.grids["reached"] > 0.0)
    return np.asarray(crossed.all(axis=2) & (window.pressures <= highest)[:, None])


def meets(window: Window, limits: Limits) -> NDArray[np.bool_]:
    """Cells that meet every limit in every seed, (pressures, speeds)."""
    return choosable(window, limits) & (smallest_margin(window, limits) >= 0.0)


def checks(window: Window, limits: Limits, i: int, j: int) -> tuple[Check, ...]:
    """All limits held against one cell (pressure i, speed j), the smallest margin first."""
    found = []
    for limit, asked in given(limits):
        value = float(worst(window, limit)[i, j])
        seed = None
        if limit.unit != "km":
            by_seed = window.grids[limit.measure][i, j]
            seed = window.seeds[int(by_seed.argmin() if limit.least else by_seed.argmax())]
        room = margin(value, asked, limit.least) if math.isfinite(value) else -math.inf
        found.append(Check(limit, asked, value, seed, room, room >= 0.0))
    return tuple(sorted(found, key=lambda check: check.margin))


def hindrance(window: Window, limits: Limits, i: int, j: int) -> str:
    """Why a cell may not be chosen at all, in words; "" if it may."""
    for k, seed in enumerate(window.seeds):
        if (i, j, k) in window.problems:
            return f"seed {seed} could not be crossed: {window.problems[i, j, k]}"
    if not (window.grids["reached"][i, j] > 0.0).all():
        return "the depth cannot be set: even with no load on the gauge wheel the disc does not reach it"
    if limits.max_oil_pressure is not None and not choosable(window, limits)[i, j]:
        return f"above the highest oil pressure that may be set, {bar(limits.max_oil_pressure):g} bar"
    return ""


def stops(window: Window, limits: Limits, i: int, j: int) -> str:
    """What keeps a cell from being chosen: that it cannot be had, or the limit that fails worst."""
    return hindrance(window, limits, i, j) or checks(window, limits, i, j)[0].sentence()


def too_little_ground(window: Window, limits: Limits) -> bool:
    """Whether even a count of zero cannot meet the limit on breakouts: its interval is too wide on so little ground."""
    most = limits.breakouts_per_km_max
    return most is not None and (most == 0.0 or _km(window) < least_exposure(most))


def _km(window: Window) -> float:
    """Row crossed in a cell, all seeds together [km]; the least of all cells that were crossed, 0 if none was."""
    lengths = window.grids["distance"].sum(axis=2) / 1e3
    crossed = lengths[np.isfinite(lengths)]
    return float(crossed.min()) if crossed.size else 0.0


def ground_notes(window: Window, limits: Limits) -> tuple[str, ...]:
    """Says so where too little ground was crossed to hold a count against its limit."""
    most, length = limits.breakouts_per_km_max, _km(window)
    if most is None or length == 0.0 or not too_little_ground(window, limits):
        return ()
    if most == 0.0:
        return ("no length of ground can show that there are no breakouts at all: give a limit above zero",)
    return (
        f"{length:.3g} km of row is too little ground to check {most:g} breakouts per km: even with none the upper end "
        f"of the {LEVEL * 100:.0f} % interval is {interval(0)[1] / length:.3g} per km; "
        f"at least {least_exposure(most):.3g} km are needed (more seeds or a longer track)",
    )


@dataclass(frozen=True)
class _Form:
    factor: float
    text: str


_FORMS = {"share": _Form(100.0, " %"), "N": _Form(1.0, " N"), "bar": _Form(1e-5, " bar"), "km": _Form(1.0, " per km")}


def _apart(value: float, asked: float, unit: str) -> tuple[str, str]:
    """Value and limit as texts, with so many decimals that they differ if the numbers do."""
    form = _FORMS[unit]
    limit = f"{asked * form.factor:g}{form.text}"
    for decimals in range(9):
        text = f"{value * form.factor:.{decimals}f}"
        if value == asked or float(text) != float(f"{asked * form.factor:g}"):
            return text + form.text, limit
    return text + form.text, limit


def value_text(value: float, unit: str) -> str:
    """A value with its unit: "87.3 %", "845 N", "93.1 bar", "4.1 per km"."""
    form = _FORMS[unit]
    return f"{value * form.factor:.{_decimals(unit)}f}{form.text}"


def asked_text(limit: Limit, asked: float) -> str:
    """A limit in words: "on-depth share at least 90.0 %"."""
    return f"{limit.words} {'at least' if limit.least else 'at most'} {value_text(asked, limit.unit)}"


def eased_text(value: float, limit: Limit) -> str:
    """The limit that a value would just meet, rounded to the easy side: "at least 85.7 %", "at most 1269 N"."""
    form, scale = _FORMS[limit.unit], 10.0 ** _decimals(limit.unit)
    round_ = math.floor if limit.least else math.ceil
    text = f"{round_(value * form.factor * scale) / scale:.{_decimals(limit.unit)}f}{form.text}"
    return f"{'at least' if limit.least else 'at most'} {text}"


def _decimals(unit: str) -> int:
    return 0 if unit == "N" else 1
