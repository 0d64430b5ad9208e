"""What a larger disc gains and costs: turning margin above, cutting arc and downforce to go in below."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.present.edge import kgf, kmh, mm
from analysis.present.figure_style import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    PALE,
    PURPLE,
    SKY,
    VERMILION,
    blank,
    headline,
    style,
)
from analysis.setting_up.disc_drive import DiscDrive, Larger
from analysis.setting_up.disc_words import margin_text

_LOOKS: tuple[tuple[str, Any], ...] = (
    (BLUE, "-"),
    (VERMILION, (0, (5, 1.5))),
    (GREEN, (0, (1.5, 1))),
    (PURPLE, (0, (5, 1.5, 1, 1.5))),
    (SKY, "-"),
    (ORANGE, (0, (3, 1))),
)


def disc_figure(found: DiscDrive, title: str) -> Figure:
    """Two panels over the diameters of a table; title: of the scenario."""
    dense = found.dense
    ends = [mm(2.0 * dense[k][0].other.radius) for k in (0, -1)]
    with style():
        figure = blank(7.6)
        headline(figure, _finding(found), _settings(found, title), _note(found))
        gain, cost = figure.subplots(2, 1, sharex=True, height_ratios=(1.15, 1.0))
        _margins(found, gain)
        _costs(found, cost)
        for axes in (gain, cost):
            axes.axvline(mm(2.0 * found.own.radius), color=GREY, linewidth=0.9)
            axes.set_xlim(*ends)
        cost.set_xlabel("diameter of the disc [mm]")
    return figure


def _margins(found: DiscDrive, axes: Axes) -> None:
    x = [mm(2.0 * row[0].other.radius) for row in found.dense]
    highest = lowest = 1.0
    for k, factor in enumerate(found.stickiness):
        colour, dashes = _LOOKS[k % len(_LOOKS)]
        margins = [row[k].other.margin for row in found.dense]
        rim = [row[k].rim_margin for row in found.dense]
        if not all(math.isfinite(m) for m in margins):
            continue
        highest, lowest = max(highest, *margins, *rim), min(lowest, *margins, *rim)
        axes.plot(x, margins, color=colour, linestyle=dashes, label=f"stickiness {factor:g}")
        axes.plot(x, rim, color=colour, linestyle=dashes, linewidth=0.7, alpha=0.7)
    axes.plot([], [], color=GREY, linewidth=0.7, label="thin: all drag a scraper at the rim")
    axes.set_yscale("log")
    low = min(0.5, 0.8 * lowest)
    axes.axhspan(low, 1.0, facecolor=PALE, alpha=0.7, linewidth=0.0)
    axes.text(0.99, 0.95, "the disc stands still under this line", transform=axes.get_yaxis_transform(), ha="right",
              va="top", fontsize=8.5, color=GREY)  # fmt: skip
    axes.axhline(1.0, color=BLACK, linewidth=1.0)
    axes.set_ylim(low, low * (highest / low) ** 1.5)  # the legend stands above the lines
    axes.yaxis.set_major_formatter("{x:g}")
    axes.set_ylabel("margin: turning torque\nover drag")
    axes.legend(loc="upper left", fontsize=8.5, labelspacing=0.3, handlelength=2.8)


def _costs(found: DiscDrive, axes: Axes) -> None:
    rows = [row[0] for row in found.dense]
    x = [mm(2.0 * one.other.radius) for one in rows]
    lines: tuple[tuple[str, Any, Any], ...] = (
        ("turning torque (gain)", BLUE, lambda one: one.gain),
        ("lever alone", GREY, lambda one: one.lever),
        ("cutting arc (cost)", VERMILION, lambda one: one.arc_gain),
        ("downforce to go in (cost)", ORANGE, lambda one: one.other.vertical / one.own.vertical),
    )
    for (label, colour, of), dashes in zip(lines, ("-", ":", (0, (5, 1.5)), "-"), strict=True):
        axes.plot(x, [100.0 * (of(one) - 1.0) for one in rows], color=colour, linestyle=dashes, label=label)
    axes.axhline(0.0, color=BLACK, linewidth=0.7)
    axes.set_ylabel("change against\nthe own disc [%]")
    axes.legend(loc="upper left", fontsize=8.5, labelspacing=0.3, handlelength=2.8)


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


def _note(found: DiscDrive) -> str:
    return (
        f"Grey line: the file's disc, {mm(2.0 * found.own.radius):.4g} mm. Steady travel on level ground; stickiness "
        "is a factor on the drag to try, no measured value."
    )
