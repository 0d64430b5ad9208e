"""What moves in each natural swing, drawn on the unit to scale."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyArrowPatch

from analysis.modes.found import Found
from analysis.modes.shapes import Mode
from analysis.modes.words import NAMES
from analysis.present.edge import kmh
from analysis.present.figure_style import BLACK, BLUE, PALE, VERMILION, blank, headline, style
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import DRAWN, setting
from analysis.present.unit_points import Points, unit_points

MOVED = 0.13  # by so much the most moved part is drawn out of its place [m]
MOST = 6  # swings drawn
REST = "#A8A8A8"  # light, so that in grey it stays apart from what has moved
BAR = {"bar_rear": (-0.08, 0.0), "bar_front": (0.38, 0.0)}  # a piece of the toolbar through O [m]
LINES = (
    ("U0", "U1"), ("L0", "L1"), ("U0", "L0"), ("U1", "L1"), ("L1", "arm_pivot"), ("arm_pivot", "gauge_axle"),
    ("arm_pivot", "press_pivot"), ("press_pivot", "press_axle"), ("arm_pivot", "disc_hub"),
    ("cylinder_frame", "cylinder_arm"),
)  # fmt: skip


def shapes_figure(found: Found) -> Figure:
    """A panel for each swing, the slowest first: at rest, and at one end of the swing, drawn too large."""
    s, shown = found.scenario.settings, found.modes[:MOST]
    with style():
        rows = max(1, math.ceil(len(shown) / 2))
        figure = blank(1.35 + 2.5 * rows)
        headline(
            figure,
            _finding(found),
            f"“{scenario_title(found.scenario)}”, {setting(s.oil_pressure, s.speed, DRAWN, ', ')}.",
            "Light: at rest. Dark blue: at one end of the swing, drawn far too large; the thick bar is the toolbar. "
            "Damping: 0.1 rings on, above 0.7 it hardly swings.",
        )
        panels = np.atleast_1d(figure.subplots(rows, 2, squeeze=False)).ravel()
        for axes, mode in zip(panels, shown, strict=False):
            _panel(axes, found, mode)
        for axes in panels[len(shown) :]:
            axes.set_axis_off()
    return figure


def _finding(found: Found) -> str:
    if not found.modes:
        return "Nothing swings by itself"
    told = [f"{NAMES[one.kind]} {one.frequency:.1f}" for one in found.modes[:MOST]]
    return f"Times a second: {', '.join(told)}"


def _panel(axes: Axes, found: Found, mode: Mode) -> None:
    speed = found.scenario.settings.speed
    rest, moved = _places(found, None), _places(found, mode)
    surface = -found.linear.setting.toolbar_height
    axes.set_aspect("equal")
    axes.set_axis_off()
    left, right = rest["press_axle"][0] - 0.32, 0.48
    axes.fill_between([left, right], surface - 0.16, surface, color=PALE, linewidth=0, zorder=0)
    _unit(axes, found, rest, REST, 1.2)
    _unit(axes, found, moved, BLUE, 2.0)
    for name in ("bar_front", "disc_hub", "gauge_axle", "press_axle"):
        (x, z), (x2, z2) = rest[name], moved[name]
        if math.hypot(x2 - x, z2 - z) > 0.025:
            axes.add_patch(FancyArrowPatch((x, z), (x2, z2), arrowstyle="-|>", mutation_scale=10, color=VERMILION,
                                           linewidth=1.5, shrinkA=0, shrinkB=0, zorder=6))  # fmt: skip
    axes.set_xlim(left, right)
    axes.set_ylim(surface - 0.16, 0.42)
    axes.set_title(
        f"{NAMES[mode.kind]}\n{mode.frequency:.1f} a second, damping {mode.damping:.2f};\n"
        f"ridges {mode.spacing(speed):.2f} m apart at {kmh(speed):.3g} km/h",
        fontsize=9, loc="left", color=BLACK,
    )  # fmt: skip


def _places(found: Found, mode: Mode | None) -> Points:
    """Pins and axles at rest, or at one end of a swing."""
    linear, setting_ = found.linear, found.linear.setting
    th, ps = float(linear.rest[0]), float(linear.rest[2])
    if mode is None:
        return {**unit_points(linear.unit, setting_.crank_angle, th, ps), **BAR}
    scale = MOVED
    points = unit_points(
        linear.unit, setting_.crank_angle, th + scale * mode.arm.real, ps + scale * mode.press_arm.real
    )  # fmt: skip
    z, p = scale * mode.heave.real, scale * mode.pitch.real
    c, s = math.cos(p), math.sin(p)
    return {name: (c * x - s * y, z + s * x + c * y) for name, (x, y) in (*points.items(), *BAR.items())}


def _unit(axes: Axes, found: Found, points: Points, colour: str, width: float) -> None:
    unit = found.linear.unit
    look: dict[str, Any] = {"color": colour, "linewidth": width, "solid_capstyle": "round", "zorder": 3}
    for first, second in LINES:
        (x1, z1), (x2, z2) = points[first], points[second]
        axes.plot([x1, x2], [z1, z2], **look)
    for name, radius in (
        ("disc_hub", unit.disc.radius), ("gauge_axle", unit.gauge_wheel.radius), ("press_axle", unit.press_wheel.radius)
    ):  # fmt: skip
        axes.add_patch(Circle(points[name], radius, facecolor="none", edgecolor=colour, linewidth=width, zorder=3))
    (x, z), (tx, tz) = points["O"], points["U0"]
    axes.plot([x, tx], [z, tz], **look)
    (x, z), (tx, tz) = points["bar_rear"], points["bar_front"]
    axes.plot([x, tx], [z, tz], **{**look, "linewidth": 2.5 * width})
