"""How the depth drifts as the arm swings, from the geometry of the depth linkage alone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.explain.explain import Explanation
from analysis.explain.figure_words import settings_line
from analysis.present.edge import mm
from analysis.present.figure_style import BLACK, BLUE, GREY, ORANGE, PALE, SKY, blank, headline, style
from analysis.present.texts import number
from sim.errors import LinkageError
from sim.mechanism.linkage import drift
from sim.record import Run
from sim.unit import Unit

OFF_PLACE = 0.001  # how far the crank's pivot is moved for comparison [m]
POINTS = 121


def drift_figure(told: Explanation) -> Figure:
    """Depth over arm angle with the wheel held, as built and with the crank's pivot 1 mm high and low."""
    run, links = told.run, told.run.unit.main_links
    angles = np.linspace(links.stop_down, links.stop_up, POINTS)
    degrees = np.degrees(angles)
    used = np.degrees(run.series["arm_angle"])
    built = depth_drift(run.unit, run.setting.crank_angle, angles)
    swing = built[(degrees >= used.min()) & (degrees <= used.max())]
    most = float(np.abs(swing).max(initial=0.0))
    tolerance = mm(told.scenario.limits.depth_tolerance)
    with style():
        figure = blank(4.6)
        headline(
            figure,
            _finding(most),
            settings_line(told),
            "Wheel held on level ground, depth zero where it was set. Blue band: arm angles of the crossing "
            f"({number(float(used.min()))}° to {number(float(used.max()))}°), the darker the "
            f"longer. Tolerance: ±{tolerance:.3g} mm (grey band where it fits into the picture).",
        )
        axes = figure.add_subplot()
        _swing(axes, used, (degrees[0], degrees[-1]))
        highest = _curves(axes, run, angles, built)
        axes.axvline(math.degrees(links.angle_nominal), color=GREY, linewidth=0.8, linestyle=":")
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


def _curves(axes: Axes, run: Run, angles: NDArray[np.float64], built: NDArray[np.float64]) -> float:
    """The drift as built and with the crank's pivot out of place → largest drift drawn [mm]."""
    degrees, highest = np.degrees(angles), float(np.abs(built).max()) * 1e3
    axes.plot(degrees, mm_of(built), color=BLACK, linewidth=2.0, label="as built", zorder=4)
    for moved, words, colour, dashes in ((1, "high", ORANGE, (0, (5, 1.5))), (-1, "low", BLUE, (0, (1, 1)))):
        try:
            curve = mm_of(depth_drift(_moved(run.unit, moved * OFF_PLACE), run.setting.crank_angle, angles))
        except LinkageError:
            continue
        highest = max(highest, float(np.abs(curve).max()))
        axes.plot(degrees, curve, color=colour, linestyle=dashes, label=f"crank pivot 1 mm {words}", zorder=3)
    return highest


def _finding(most: float) -> str:
    if mm(most) < 0.05:
        return "The depth linkage holds the depth over the whole swing of this crossing"
    return f"The depth linkage moves the slot by up to {number(mm(most))} mm over the swing of this crossing"


def depth_drift(unit: Unit, crank_angle: float, angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """Depth over arm angle less that at the nominal angle, (n,) [m]; deeper positive."""
    return drift(unit, crank_angle, angles)


def _moved(unit: Unit, up: float) -> Unit:
    x, z = unit.depth_linkage.crank_pivot
    return replace(unit, depth_linkage=replace(unit.depth_linkage, crank_pivot=(x, z + up)))


def mm_of(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """[m] → [mm]."""
    return values * 1e3
