"""How the depth drifts as the arm swings, from the geometry of the depth linkage alone."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.explain.explain import Explanation
from analysis.explain.figure_words import settings_line
from analysis.explain.swing import Swing
from analysis.present.edge import mm
from analysis.present.figure_style import BLACK, BLUE, GREY, ORANGE, PALE, SKY, blank, headline, style
from analysis.present.texts import number


def drift_figure(told: Explanation, found: Swing) -> Figure:
    """Depth over arm angle with the wheel held, as built and with the crank's pivot 1 mm high and low."""
    degrees, used = found.angle, found.used
    tolerance = mm(told.scenario.limits.depth_tolerance)
    with style():
        figure = blank(4.6)
        headline(
            figure,
            _finding(found.most),
            settings_line(told),
            "Wheel held on level ground, depth zero where it was set. Blue band: arm angles of the crossing "
            f"({number(float(used.min()))}° to {number(float(used.max()))}°), the darker the "
            f"longer. Tolerance: ±{tolerance:.3g} mm (grey band where it fits into the picture).",
        )
        axes = figure.add_subplot()
        _swing(axes, used, (degrees[0], degrees[-1]))
        highest = _curves(axes, found)
        axes.axvline(math.degrees(told.run.unit.main_links.angle_nominal), color=GREY, linewidth=0.8, linestyle=":")
        reach = 1.3 * max(highest, 1.0)
        axes.set_ylim(-reach, reach)
        if tolerance < reach:
            axes.axhspan(-tolerance, tolerance, color=PALE, zorder=0)
        axes.set_xlim(degrees[0], degrees[-1])
        axes.set_xlabel("arm angle, rear end up positive [°]")
        axes.set_ylabel("depth against the setting [mm]")
        axes.set_title("↑ deeper   ↓ shallower", fontsize=9.5, loc="left", color=GREY)
        axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.17), ncols=3, handlelength=2.6)
    return figure


def _swing(axes: Axes, used: NDArray[np.float64], ends: tuple[float, float]) -> None:
    """Arm angles of the crossing [°], the darker the longer."""
    counts, edges = np.histogram(used, 40, ends)
    for count, left, right in zip(counts, edges[:-1], edges[1:], strict=True):
        if count:
            axes.axvspan(left, right, color=SKY, alpha=0.15 + 0.6 * count / counts.max(), linewidth=0, zorder=1)


def _curves(axes: Axes, found: Swing) -> float:
    """The drift as built and with the crank's pivot out of place → largest drift drawn [mm]."""
    highest = float(np.abs(found.built).max())
    axes.plot(found.angle, found.built, color=BLACK, linewidth=2.0, label="as built", zorder=4)
    for curve, words, colour, dashes in (
        (found.high, "high", ORANGE, (0, (5, 1.5))), (found.low, "low", BLUE, (0, (1, 1)))
    ):  # fmt: skip
        if curve is None:
            continue
        highest = max(highest, float(np.abs(curve).max()))
        axes.plot(found.angle, curve, color=colour, linestyle=dashes, label=f"crank pivot 1 mm {words}", zorder=3)
    return highest


def _finding(most: float) -> str:
    if most < 0.05:
        return "The depth linkage holds the depth over the whole swing of this crossing"
    return f"The depth linkage moves the slot by up to {number(most)} mm over the swing of this crossing"
