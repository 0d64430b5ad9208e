"""How the gauge load and the depth are spread over a crossing."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.crossing.loads import wheel_load
from analysis.explain.explain import Explanation
from analysis.explain.figure_words import settings_line
from analysis.present.cautions import SLOT_SHORT
from analysis.present.edge import mm
from analysis.present.figure_style import BLACK, BLUE, GREY, PALE, SKY, VERMILION, blank, headline, style
from analysis.present.texts import number, percent
from analysis.window.limits import value_text

BINS = 60


def gauge_load_figure(told: Explanation) -> Figure:
    """Share of the way by gauge load, with the limits of the mean."""
    run, limits = told.run, told.scenario.limits
    load = run.series["gauge_load"]
    found = wheel_load(run)
    with style():
        figure = blank(4.3)
        off = f"; wheel off for {percent(found.off_share)} of the way" if found.off_share > 0 else ", never off"
        headline(
            figure,
            f"Gauge wheel: {found.mean:.0f} N on average, nine tenths between {found.p05:.0f} and "
            f"{found.p95:.0f} N{off}",
            settings_line(told),
            "Dashed: limits of the mean. The black bar on the left is the share of the way without load.",
        )
        axes = figure.add_subplot()
        high = max(float(np.percentile(load, 99.8)), limits.gauge_load_max) * 1.05
        edges = np.linspace(0.0, high, BINS + 1)
        on = load[load > 0.0]
        shares = np.histogram(on, edges)[0] / load.size * 100.0
        axes.stairs(shares, edges / 1e3, fill=True, color=SKY, edgecolor=BLUE)
        if found.off_share > 0:
            axes.bar(-0.6 * edges[1] / 1e3, 100 * found.off_share, width=edges[1] / 1e3, color=BLACK)
        top = max(float(shares.max()), 100 * found.off_share)
        axes.set_ylim(0.0, 1.22 * top)
        axes.axvline(found.mean / 1e3, color=BLACK)
        axes.text(found.mean / 1e3, 1.14 * top, "mean ", fontsize=9.5, ha="right")
        for limit, words in ((limits.gauge_load_min, "least"), (limits.gauge_load_max, "most")):
            axes.axvline(limit / 1e3, color=VERMILION, linestyle="--", linewidth=1.6)
            axes.text(limit / 1e3, 1.06 * top, f" {words} {value_text(limit, 'N')}", fontsize=9.5, color=VERMILION)
        _axes(axes, "gauge load [kN]")
    return figure


def depth_figure(told: Explanation) -> Figure:
    """Share of the way by depth, with the tolerance."""
    run, tolerance = told.run, mm(told.scenario.limits.depth_tolerance)
    set_depth = mm(run.settings.set_depth)
    depth = run.series["depth"] * 1e3
    error = depth - set_depth
    within, shallow = float(np.mean(np.abs(error) <= tolerance)), float(np.mean(error < -tolerance))
    with style():
        figure = blank(4.3)
        headline(
            figure,
            f"{percent(within)} of the way within ±{tolerance:.3g} mm; {percent(shallow)} too shallow, "
            f"{percent(1.0 - within - shallow)} too deep",
            settings_line(told),
            f"Mean {number(float(depth.mean()))} mm, scatter (SD) {number(float(depth.std()))} mm. "
            f"Grey band: tolerance. {SLOT_SHORT}",
        )
        axes = figure.add_subplot()
        edges = _edges(depth, set_depth, tolerance)
        shares = np.histogram(np.clip(depth, edges[0], edges[-1]), edges)[0] / depth.size * 100.0
        axes.axvspan(set_depth - tolerance, set_depth + tolerance, color=PALE, zorder=0)
        axes.stairs(shares, edges, fill=True, color=SKY, edgecolor=BLUE, zorder=2)
        axes.axvline(set_depth, color=BLACK, zorder=3)
        top = max(float(shares.max()), 0.1)
        axes.set_ylim(0.0, 1.2 * top)
        axes.text(set_depth, 1.12 * top, " set depth", fontsize=9.5)
        _axes(axes, "depth of the slot [mm]")
        axes.set_title("← too shallow", fontsize=9.5, loc="left", color=GREY)
        axes.set_title("too deep →", fontsize=9.5, loc="right", color=GREY)
    return figure


def _edges(depth: NDArray[np.float64], set_depth: float, tolerance: float) -> NDArray[np.float64]:
    """Whole millimetres from the shallowest to the deepest thousandth; what lies beyond is counted at the ends."""
    low, high = np.percentile(depth, (0.1, 99.9))
    low, high = min(float(low), set_depth - 1.5 * tolerance), max(float(high), set_depth + 1.5 * tolerance)
    step = max(1.0, np.ceil((high - low) / BINS))
    return np.arange(np.floor(low), np.ceil(high) + step, step)


def _axes(axes: Axes, words: str) -> None:
    axes.set_xlabel(words)
    axes.set_ylabel("share of the way [%]")
