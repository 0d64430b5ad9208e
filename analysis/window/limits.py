"""Limits: what a setting has to meet, by how much it does, and how that reads.

Margin as a share of the limit: (value − limit)/limit where at least the limit is asked for, (limit − value)/limit
where at most. The on-depth share counts like any other value: 0.95 against at least 0.90 is a margin of 0.056. A limit
of zero has no share: its margin is infinite where it is met whatever the value, 0 where it is just met, −1 where not.
Values are those of the worst seed. Counts per km are those of all seeds together, at the upper end of their exact 95 %
interval: seeds are samples of one ground, and more of them show more.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import EDGES, MEASURES, Join
from analysis.crossing.poisson import LEVEL, interval, least_exposure
from analysis.present.edge import bar, kgf, mm
from analysis.window.grid import Window
from analysis.window.weight import ROUNDING
from scenarios.format.edge_units import file_key
from scenarios.spec import Limits
from sim.heeds import KINDS
from sim.hydraulics.gas_rule import MOST


class Limit(NamedTuple):
    """One limit: field of `Limits`, JSON key, the window's measure that it bounds, and its words."""

    name: str
    key: str
    measure: str
    least: bool  # True: at least this; False: at most this
    words: str
    unit: str  # name in `analysis.crossing.measures.EDGES`

    @property
    def way(self) -> str:
        """Its direction in words."""
        return "at least" if self.least else "at most"

    @property
    def of_setting(self) -> bool:
        """Whether it is known before the first step, the same on every ground."""
        return MEASURES[self.measure].join is Join.SETTING


def limits_of(limits: Limits) -> list[Limit]:
    """All limits on measures that hold on this ground, in the order of the file's keys, whether given or not."""
    found = {}
    for m in MEASURES.values():
        for name, least in ((m.at_least, True), (m.at_most, False)):
            if name:
                found[name] = (m, least)
    listed = [
        (field, *found[field.name]) for field in fields(limits) if field.name in found and limits.holds(field.name)
    ]
    return [
        Limit(field.name, file_key(field.name, field.metadata["edge"]), m.name, least, m.words, m.edge)
        for field, m, least in listed
    ]


def without_counts(limits: Limits) -> Limits:
    """The limits with those on counts of events left out."""
    left_out: dict[str, Any] = {limit.name: None for limit in limits_of(limits) if limit.unit == "km"}
    return replace(limits, **left_out)


def without_rule(limits: Limits) -> Limits:
    """The limits with those left out that a setting meets or fails before the first step: the precharge rule."""
    return replace(limits, precharge_share_max=MOST, gas_squeeze_max=MOST)


class Check(NamedTuple):
    """One limit held against one setting."""

    limit: Limit
    asked: float  # the limit itself [SI, or per km]
    value: float  # of the worst seed; of a count the upper end of its interval
    seed: int | None  # the worst seed; None where all seeds count together, or none does
    margin: float  # as a share of the limit, ≥ 0 where met
    met: bool

    def sentence(self) -> str:
        """Value against limit, in words: "on-depth share 87 % (ground 3) against at least 90 %"."""
        value, asked = apart(self.value, self.asked, self.limit.unit)
        return f"{self.limit.words} {value}{self._whose} against {self.limit.way} {asked}"

    @property
    def _whose(self) -> str:
        if self.limit.of_setting:
            return ""
        return (
            f" (ground {self.seed})" if self.seed is not None else f" (upper end of the {LEVEL * 100:.0f} % interval)"
        )


def given(limits: Limits) -> list[tuple[Limit, float]]:
    """The limits that are to be checked, with their values."""
    return [(limit, value) for limit in limits_of(limits) if (value := getattr(limits, limit.name)) is not None]


def not_checked(limits: Limits) -> list[str]:
    """Words of the limits that are not given, and therefore not checked."""
    return [limit.words for limit in limits_of(limits) if getattr(limits, limit.name) is None]


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
    """Cells that may be chosen at all, (pressures, speeds): crossed, depth can be set and is one at which the crop may
    be sown, numbers to be trusted, oil pressure can be had, toolbar heavy enough for it.
    """
    crossed = np.isfinite(window.grids["on_depth_share"]) & (window.grids["reached"] > 0.0)
    return np.asarray(crossed.all(axis=2) & window.trusted() & choosable_before(window, limits))


def allowed_cells(window: Window, limits: Limits) -> NDArray[np.bool_]:
    """Cells that may be picked by what is known before any crossing, (pressures, speeds): depths that may be sown, the
    highest oil pressure, the toolbar's weight, the precharge rule.
    """
    rule = [limit for limit, _ in given(limits) if limit.of_setting]
    room = margins(window, limits)
    found = choosable_before(window, limits)
    for limit in rule:
        found = found & (room[limit.name] >= 0.0)
    return found


def choosable_before(window: Window, limits: Limits) -> NDArray[np.bool_]:
    """Cells whose set depth and oil pressure may be had at all, and that lift no toolbar, (pressures, speeds)."""
    highest = math.inf if limits.max_oil_pressure is None else limits.max_oil_pressure * (1.0 + ROUNDING)
    able = ((window.pressures <= highest) & ~lifting(window))[:, None] & limits.sows_at(window.set_depth)
    return np.broadcast_to(able, (window.pressures.size, window.speeds.size))


def lifting(window: Window) -> NDArray[np.bool_]:
    """Pressures at which all rows together would lift the toolbar off its wheels, (pressures,)."""
    if window.held_down is None:
        return np.zeros(window.pressures.size, dtype=np.bool_)
    return np.asarray(window.downforce > window.held_down * (1.0 + ROUNDING))


def meets(window: Window, limits: Limits) -> NDArray[np.bool_]:
    """Cells that meet every limit in every seed, (pressures, speeds)."""
    return choosable(window, limits) & (smallest_margin(window, limits) >= 0.0)


def checks(window: Window, limits: Limits, i: int, j: int) -> tuple[Check, ...]:
    """All limits held against one cell (pressure i, speed j), the smallest margin first."""
    found = []
    for limit, asked in given(limits):
        value = float(worst(window, limit)[i, j])
        seed = None
        if limit.unit != "km" and not limit.of_setting:
            by_seed = window.grids[limit.measure][i, j]
            seed = window.seeds[int(by_seed.argmin() if limit.least else by_seed.argmax())]
        room = margin(value, asked, limit.least) if math.isfinite(value) else -math.inf
        found.append(Check(limit, asked, value, seed, room, room >= 0.0))
    return tuple(sorted(found, key=lambda check: check.margin))


def hindrance(window: Window, limits: Limits, i: int, j: int) -> str:
    """Why a cell may not be chosen at all, in words; "" if it may."""
    if not limits.sows_at(window.set_depth):
        return f"set depth {mm(window.set_depth):.4g} mm is not one at which the crop may be sown ({sown_text(limits)})"
    for k, seed in enumerate(window.seeds):
        if (i, j, k) in window.problems:
            return f"ground {seed} could not be crossed: {window.problems[i, j, k]}"
    if not (window.grids["reached"][i, j] > 0.0).all():
        return "the depth cannot be set: even with no load on the gauge wheel the disc does not reach it"
    barred = [KINDS[heed.kind] for heed in window.heeds_at(i, j) if heed.barred]
    if barred:
        return f"its numbers are not to be trusted ({', '.join(barred)})"
    return _pressure_hindrance(window, limits, i)


def _pressure_hindrance(window: Window, limits: Limits, i: int) -> str:
    """Why a pressure may not be set, whatever the speed."""
    if window.held_down is not None and lifting(window)[i]:
        return (
            f"{kgf(window.downforce[i]):.0f} kgf on every row would lift the toolbar off its wheels: its mass holds "
            f"{kgf(window.held_down):.0f} kgf a row"
        )
    highest = limits.max_oil_pressure
    if highest is not None and window.pressures[i] > highest * (1.0 + ROUNDING):
        return f"above the highest oil pressure that may be set, {bar(highest):.4g} bar"
    return ""


def sown_text(limits: Limits) -> str:
    """The depths at which the crop may be sown, in words; some have to be given."""
    low, high = (None if end is None else f"{mm(end):.4g}" for end in (limits.set_depth_min, limits.set_depth_max))
    if low and high:
        return f"{low} mm" if low == high else f"{low} to {high} mm"
    return f"{low} mm and more" if low else f"up to {high} mm"


def without_depths(limits: Limits) -> Limits:
    """The limits as if the crop could be sown at any depth."""
    return replace(limits, set_depth_min=None, set_depth_max=None)


def stops(window: Window, limits: Limits, i: int, j: int) -> str:
    """What keeps a cell from being chosen: that it cannot be had, or the limit that fails worst."""
    return hindrance(window, limits, i, j) or checks(window, limits, i, j)[0].sentence()


def too_little_ground(window: Window, limits: Limits) -> bool:
    """Whether even a count of zero cannot meet a limit on a count: its interval is too wide on so little ground."""
    return any(_too_little(most, _km(window)) for _, most in _counts(limits))


def _counts(limits: Limits) -> list[tuple[Limit, float]]:
    return [(limit, most) for limit, most in given(limits) if limit.unit == "km"]


def _too_little(most: float, km: float) -> bool:
    return most == 0.0 or km < least_exposure(most)


def _km(window: Window) -> float:
    """Row crossed in a cell, all seeds together [km]; the least of all cells that were crossed, 0 if none was."""
    lengths = window.grids["distance"].sum(axis=2) / 1e3
    crossed = lengths[np.isfinite(lengths)]
    return float(crossed.min()) if crossed.size else 0.0


def ground_notes(window: Window, limits: Limits) -> tuple[str, ...]:
    """Says so where too little ground was crossed to hold a count against its limit."""
    length = _km(window)
    if length == 0.0:
        return ()
    return tuple(_note(limit, most, length) for limit, most in _counts(limits) if _too_little(most, length))


def _note(limit: Limit, most: float, length: float) -> str:
    if most == 0.0:
        return f"no length of ground can show that there are no {limit.words} at all: give a limit above zero"
    return (
        f"{length:.3g} km of row is too little ground to check {most:g} {limit.words} per km: even with none the upper "
        f"end of the {LEVEL * 100:.0f} % interval is {interval(0)[1] / length:.3g} per km; "
        f"at least {least_exposure(most):.3g} km are needed (more grounds: seeds, or a longer track: length_m)"
    )


def apart(value: float, asked: float, unit: str) -> tuple[str, str]:
    """Value and limit as texts, with so many decimals that they differ if the numbers do."""
    form = EDGES[unit]
    limit = f"{asked * form.text_factor:g}{form.text if form.again is None else form.again}"
    for decimals in range(form.least_decimals, 9):
        text = f"{value * form.text_factor:.{decimals}f}"
        if value == asked or float(text) != float(f"{asked * form.text_factor:g}"):
            return text + form.text, limit
    return text + form.text, limit


def differing(before: float, after: float, unit: str) -> tuple[str, str]:
    """Two values with their unit, with so many decimals that they differ if the numbers do.

    >>> differing(0.0251, 0.0249, "share"), differing(0.03, 0.01, "share")
    (('2.51 %', '2.49 %'), ('3.0 %', '1.0 %'))
    """
    form = EDGES[unit]
    told = ("", "")
    for decimals in range(form.decimals, 9):
        told = (
            f"{before * form.text_factor:.{decimals}f}{form.text}",
            f"{after * form.text_factor:.{decimals}f}{form.text}",
        )
        if before == after or told[0] != told[1]:
            break
    return told


def value_text(value: float, unit: str) -> str:
    """A value with its unit: "87.3 %", "845 N", "93.1 bar", "4.1 per km"."""
    form = EDGES[unit]
    return f"{value * form.text_factor:.{form.decimals}f}{form.text}"


def asked_text(limit: Limit, asked: float) -> str:
    """A limit in words: "mean gauge load at most 1200 N"."""
    return f"{limit.words} {limit.way} {value_text(asked, limit.unit)}"


def eased_text(value: float, limit: Limit) -> str:
    """The limit that a value would just meet, rounded to the easy side: "at least 85.7 %", "at most 1269 N"."""
    form = EDGES[limit.unit]
    scale = 10.0**form.decimals
    round_ = math.floor if limit.least else math.ceil
    text = f"{round_(value * form.text_factor * scale) / scale:.{form.decimals}f}{form.text}"
    return f"{limit.way} {text}"
