"""Ridges by their distance and the speed: how far they swing the depth, and which speed each distance resonates at."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.patheffects import withStroke
from matplotlib.ticker import FixedLocator, NullLocator

from analysis.modes.found import Found
from analysis.modes.shapes import BOUNCE, PITCH, PRESS
from analysis.modes.words import NAMES, finding
from analysis.present.edge import kmh, mm
from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import BLACK, BLUE, GREY, ORANGE, VERMILION, blank, headline, style
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import DRAWN, setting

TICKS = (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0, 5.0)  # [m]


def chart_figure(found: Found) -> Figure:
    """The chart over distance and speed, and under it what waves do at the file's speed."""
    s = found.scenario.settings
    with style():
        figure = blank(9.4)
        headline(
            figure,
            finding(found),
            f"“{scenario_title(found.scenario)}”, {setting(s.oil_pressure, s.speed, DRAWN, ', ')}; ridges "
            f"{mm(found.asked.height):.0f} mm high, furrow to crest; small motions.",
            "Ridges are even waves along the row. Above the dashed line the load on the gauge wheel swings by more "
            "than it is: the wheel leaves the ground, and small motions end. White lines: v = frequency × distance.",
        )
        top, between, low = figure.subplots(3, 1, height_ratios=(1.7, 0.4, 1.0))
        handles = _gains(found, top)
        between.set_axis_off()
        between.legend(handles=handles, loc="center", ncols=2, fontsize=8.5, handlelength=2.6, columnspacing=1.0,
                       borderaxespad=0.0).set_in_layout(False)  # fmt: skip
        foot_key(figure, _transfer(found, low))
        for axes in (top, low):
            axes.set_xscale("log")
            axes.xaxis.set_major_locator(FixedLocator(TICKS))
            axes.xaxis.set_minor_locator(NullLocator())
            axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
            axes.set_xlim(found.chart.spacings[0], found.chart.spacings[-1])
        low.set_xlabel("distance from ridge to ridge along the row [m]")
    return figure


def _gains(found: Found, axes: Axes) -> list[Any]:
    """The colours, the lines over them and what the lines mean."""
    chart = found.chart
    speeds = np.array([kmh(one) for one in chart.speeds])
    cells = axes.pcolormesh(chart.spacings, speeds, chart.depth, cmap="cividis", vmin=0.0, shading="gouraud",
                            vmax=max(2.0, float(np.nanmax(chart.depth))), rasterized=True)  # fmt: skip
    axes.figure.colorbar(cells, ax=axes, pad=0.02, aspect=24).set_label("swing of the depth, times the height")
    axes.fill_betweenx(speeds[[0, -1]], chart.spacings[0], chart.bridged_below, facecolor="none", hatch="////",
                       edgecolor="#FFFFFF88", linewidth=0.0)  # fmt: skip
    handles: list[Any] = [
        Patch(facecolor="#777777", hatch="////", edgecolor="white", label="wheel bridges the furrows")
    ]
    handles += _resonances(found, axes, speeds)
    if np.nanmin(chart.load_share) < 1.0 < np.nanmax(chart.load_share):
        axes.contour(chart.spacings, speeds, chart.load_share, levels=[1.0], colors="white", linestyles="--",
                     linewidths=1.8)  # fmt: skip
        handles.append(Line2D([], [], color=GREY, linestyle="--", label="wheel leaves the ground above it"))
    own = kmh(found.scenario.settings.speed)
    axes.axhline(own, color="white", linewidth=0.9)
    axes.text(4.7, own, f"your {own:.3g} km/h", color="white", ha="right", va="bottom", fontsize=9.5,
              path_effects=[withStroke(linewidth=2.5, foreground=BLACK)])  # fmt: skip
    mark: dict[str, Any] = {"linestyle": "none", "marker": "o", "markersize": 9, "markerfacecolor": "none",
                            "markeredgecolor": VERMILION, "markeredgewidth": 2.4}  # fmt: skip
    axes.plot(found.asked.spacing, own, clip_on=False, zorder=6,
              path_effects=[withStroke(linewidth=5.0, foreground="white")], **mark)  # fmt: skip
    handles.append(Line2D([], [], label="these ridges, at your speed", **mark))
    axes.set_ylim(speeds[0], speeds[-1])
    axes.set_ylabel("speed [km/h]")
    return handles


def _resonances(found: Found, axes: Axes, speeds: Any) -> list[Any]:
    """A line for each natural swing: the speed at which ridges meet it, v = f·distance."""
    made: list[Any] = []
    dashes: dict[str, Any] = {BOUNCE: "-", PRESS: ":", PITCH: "-."}
    halo = [withStroke(linewidth=3.0, foreground=BLACK)]
    for one in found.modes:
        spacing = np.array([one.spacing(v / 3.6) for v in speeds])
        if one.kind == BOUNCE:  # its frequency follows the speed
            known = np.isfinite(found.chart.bounce)
            spacing, at = (speeds / 3.6 / found.chart.bounce)[known], speeds[known]
        else:
            at = speeds
        look: dict[str, Any] = {"linestyle": dashes.get(one.kind, (0, (6, 2, 1, 2, 1, 2))), "linewidth": 1.6}
        axes.plot(spacing, at, color="white", path_effects=halo, **look)
        made.append(Line2D([], [], color=BLACK, label=f"{NAMES[one.kind]} ({one.frequency:.1f}/s)", **look))
    return made


def _transfer(found: Found, axes: Axes) -> list[Any]:
    """Swings at the file's speed: depth on the left, loads on the right → what the lines mean.

    Their dashes are others than those of the chart above.
    """
    own, per = found.own, 1e-3  # loads for each mm of the waves
    (depth,) = axes.plot(own.spacings, own.depth, color=BLACK, linewidth=2.0, label="depth [mm]")
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("depth [mm]")
    right = axes.twinx()
    right.spines["right"].set_visible(True)
    load = own.load_share(2.0 * per) * float(own.linear.told.gauge_load)
    lines = [depth]
    lines += right.plot(own.spacings, load, color=BLUE, linestyle=(0, (7, 2)), label="gauge load [N]")
    for pin, colour, dash in (("main_lower_front", VERMILION, (0, (2, 1.5))), ("gauge_arm", ORANGE, (0, (7, 2, 2, 2)))):
        name = "gauge arm pin [N]" if pin == "gauge_arm" else "main lower front pin [N]"
        lines += right.plot(own.spacings, own.pin(pin) * per, color=colour, linestyle=dash, label=name)
    right.set_ylim(bottom=0.0)
    right.set_ylabel("loads [N]")
    axes.axvspan(own.spacings[0], found.chart.bridged_below, facecolor="none", edgecolor="#00000055", hatch="////",
                 linewidth=0.0, zorder=0)  # fmt: skip
    axes.set_title(
        f"at {kmh(found.scenario.settings.speed):.3g} km/h, for each mm of the waves", loc="left", fontsize=10
    )
    return lines
