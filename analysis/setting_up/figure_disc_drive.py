"""What a larger disc gains and costs: turning margin above, cutting arc and downforce to go in below."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from analysis.present.edge import kgf, kmh, mm
from analysis.present.figure_keys import Name, foot_key, line_names
from analysis.present.figure_style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    VERMILION,
    blank,
    headline,
    style,
)
from analysis.setting_up.disc_drive import DiscDrive, Larger
from analysis.setting_up.disc_words import margin_text

STILL: dict[str, Any] = {"facecolor": "none", "edgecolor": "#00000055", "hatch": "////", "linewidth": 0.0}


def disc_figure(found: DiscDrive, title: str) -> Figure:
    """Two panels over the diameters of a table; title: of the scenario."""
    dense = found.dense
    span = [mm(2.0 * dense[k][0].other.radius) for k in (0, -1)]
    with style():
        figure = blank(7.6)
        headline(figure, _finding(found), _settings(found, title), _note())
        gain, cost = figure.subplots(2, 1, sharex=True, height_ratios=(1.15, 1.0))
        _margins(found, gain)
        _costs(found, cost)
        for axes in (gain, cost):
            axes.axvline(mm(2.0 * found.own.radius), color=GREY, linewidth=0.9)
            axes.set_xlim(*span)
        cost.set_xlabel("diameter of the disc [mm]")
        foot_key(figure, [
            Line2D([], [], color=BLUE, label="drag the same torque at every diameter"),
            Line2D([], [], color=BLUE, linewidth=0.7, label="all drag a scraper at the rim"),
            Line2D([], [], color=GREY, linewidth=0.9, label=f"the file's disc, {mm(2.0 * found.own.radius):.4g} mm"),
            Patch(label="the disc stands still", **STILL),
        ])  # fmt: skip
        ends = [(_change(found.dense[-1][0], of), words, colour) for words, colour, of in COSTS]
        line_names(figure, ((gain, _margin_names(found)), (cost, ends)))
    return figure


def _margins(found: DiscDrive, axes: Axes) -> None:
    x = [mm(2.0 * row[0].other.radius) for row in found.dense]
    highest = lowest = 1.0
    for k, factor in enumerate(found.stickiness):
        margins = [row[k].other.margin for row in found.dense]
        rim = [row[k].rim_margin for row in found.dense]
        if not all(math.isfinite(m) for m in margins):
            continue
        highest, lowest = max(highest, *margins, *rim), min(lowest, *margins, *rim)
        axes.plot(x, margins, color=BLUE, label=f"stickiness {factor:g}")
        axes.plot(x, rim, color=BLUE, linewidth=0.7)
    axes.set_yscale("log")
    low = min(0.5, 0.8 * lowest)
    axes.axhspan(low, 1.0, **STILL)
    axes.axhline(1.0, color=BLACK, linewidth=1.0)
    axes.set_ylim(low, 1.15 * highest)
    axes.yaxis.set_major_formatter("{x:g}")
    axes.set_ylabel("margin: turning torque\nover drag")


def _margin_names(found: DiscDrive) -> list[Name]:
    """Where each line of margins ends, how sticky that is, and its colour."""
    ends = [(row.other.margin, factor) for row, factor in zip(found.dense[-1], found.stickiness, strict=True)]
    first = found.stickiness[0]
    return [
        (margin, f"stickiness {factor:g}" if factor == first else f"{factor:g}", BLUE)
        for margin, factor in ends
        if math.isfinite(margin)
    ]


def _change(one: Larger, of: Callable[[Larger], float]) -> float:
    """Change of a quantity against the own disc [%]."""
    return 100.0 * (of(one) - 1.0)


COSTS: tuple[tuple[str, str, Callable[[Larger], float]], ...] = (
    ("turning\ntorque\n(gain)", BLUE, lambda one: one.gain),
    ("lever alone", GREY, lambda one: one.lever),
    ("downforce\nto go in\n(cost)", GREEN, lambda one: one.other.vertical / one.own.vertical),
    ("cutting arc\n(cost)", VERMILION, lambda one: one.arc_gain),
)
DASHES: tuple[Any, ...] = ("-", ":", "-", (0, (5, 1.5)))  # of each of them: they lie on each other


def _costs(found: DiscDrive, axes: Axes) -> None:
    rows = [row[0] for row in found.dense]
    x = [mm(2.0 * one.other.radius) for one in rows]
    for (words, colour, of), dashes in zip(COSTS, DASHES, strict=True):
        label = words.replace("\n", " ")
        axes.plot(x, [_change(one, of) for one in rows], color=colour, linestyle=dashes, label=label)
    axes.axhline(0.0, color=BLACK, linewidth=0.7)
    axes.set_ylabel("change against\nthe own disc [%]")


def _finding(found: DiscDrive) -> str:
    """The next larger disc of the table; without one, the own disc's margin."""
    larger = [row[0] for row in found.by_diameter if row[0].lever > 1.0 + 1e-9]
    if not larger:
        return f"A {mm(2.0 * found.own.radius):.4g} mm disc: margin {margin_text(found.own.margin)}"
    one: Larger = larger[0]
    return (
        f"{mm(2.0 * one.other.radius):.0f} mm in place of {mm(2.0 * one.own.radius):.0f}: "
        f"{100.0 * (one.gain - 1.0):+.0f} % turning torque for {kgf(one.force):+.0f} kgf to go in"
    )


def _settings(found: DiscDrive, title: str) -> str:
    own, s, disc = found.own, found.scenario.settings, found.scenario.unit.disc
    each = "" if disc.blades == 1 else "of each blade "
    return (
        f"“{title}”: {mm(own.depth):.3g} mm deep in {own.strength / 1e6:.3g} MPa at {kmh(s.speed):.3g} km/h; edge "
        f"{each}{mm(disc.edge_width):.3g} mm, drag {own.drag:.3g} N m at stickiness 1."
    )


def _note() -> str:
    return "Steady travel on level ground; stickiness is a factor on the drag to try, no measured value."
