"""Where the pins' loads point, as roses on the drawn unit."""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle, Wedge
from numpy.typing import NDArray

from analysis.pins.duty.roses import Rose, narrowest
from analysis.present.cautions import LOADS_NOTE
from analysis.present.figure_style import BLACK, GREY, ORANGE, SKY, blank, headline, style
from analysis.present.figure_unit import draw_parts
from analysis.present.sentences import capital, spoken
from analysis.present.unit_points import PIN_AT, Points, unit_points
from sim.record import DepthSetting
from sim.unit import Unit

LINES = {  # ends of a part's own line in the drawing
    "link": ("U0", "U1"), "cylinder": ("cylinder_frame", "cylinder_arm"), "crank": ("crank_pivot", "crank_pin"),
    "rod": ("crank_pin", "rod_rear"), "bell_crank": ("bell_pivot", "rod_rear"), "turnbuckle": ("bell_end", "lug"),
    "gauge_arm": ("arm_pivot", "gauge_axle"), "press_arm": ("press_pivot", "press_axle"),
}  # fmt: skip
SHOWN = ("main_upper_front", "main_upper_rear", "main_lower_front", "main_lower_rear", "gauge_arm", "press_arm")
"""Pins that are drawn together: none hides another."""
BOTH_SIDES = math.radians(150.0)  # wear spread over more than this lies on two sides or all round
SMALL, LARGE = 0.105, 0.20  # radius of a rose among others and alone [m in the drawing]


def rose_figure(unit: Unit, setting: DepthSetting, shown: Mapping[str, tuple[Rose, Rose]], under: str) -> Figure:
    """Roses of several pins on the unit: of the force on each pin's second-named part.

    shown: by pin (`roses.roses`), `SHOWN` where none is asked for; under: the settings it holds for.
    """
    with style():
        figure = blank(5.5)
        headline(figure, _finding_of_all(shown), under, f"{_NOTE} {_SECOND} {LOADS_NOTE}")
        axes = figure.add_subplot()
        points = _unit(axes, unit, setting)
        for pin, pair in shown.items():
            _rose(axes, points[PIN_AT[pin]], pair[1], _turn(points, pair[1].part), SMALL)
        _legend(axes)
    return figure


def pin_rose_figure(unit: Unit, setting: DepthSetting, pin: str, pair: tuple[Rose, Rose], under: str) -> Figure:
    """One pin: its rose on the unit, and those of both parts in their own axes."""
    with style():
        figure = blank(8.2)
        headline(figure, finding(pin, pair[1]), under, f"{_NOTE} {_OWN} {LOADS_NOTE}")
        grid = figure.add_gridspec(2, 2, height_ratios=[1.75, 1.0])
        axes = figure.add_subplot(grid[0, :])
        points = _unit(axes, unit, setting)
        _rose(axes, points[PIN_AT[pin]], pair[1], _turn(points, pair[1].part), LARGE)
        _legend(axes)
        for column, rose in enumerate(pair):
            _own_axes(figure.add_subplot(grid[1, column]), rose, _turn(points, rose.part))
    return figure


_NOTE = (
    "Petals point where the load pushes, their area is the share of time in 10° (filled) and of load × sliding, which "
    "is what wears (outlined). A bush that sits in the part wears on that side, a pin fixed in it on the other."
)
_OWN = "Angles count from each part's own line, front to rear, pivot to axle; from forward on toolbar and carrier."
_SECOND = "Drawn for the link at front pins, the carrier at rear pins, and both arms."


def _unit(axes: Axes, unit: Unit, setting: DepthSetting) -> Points:
    """The unit, paled, at its depth setting."""
    points = unit_points(unit, setting.crank_angle, unit.main_links.angle_nominal, setting.press_angle)
    axes.set_aspect("equal")
    axes.set_axis_off()
    draw_parts(axes, unit, points, setting)
    low, high = axes.get_xlim()
    bottom, top = axes.get_ylim()
    axes.add_patch(
        Rectangle((low, bottom), high - low, top - bottom, facecolor="white", alpha=0.55, linewidth=0, zorder=5)
    )
    return points


def _turn(points: Points, part: str) -> float:
    """Angle of a part's own line in the drawing [rad]."""
    if part not in LINES:
        return 0.0
    (x0, z0), (x1, z1) = (points[name] for name in LINES[part])
    return math.atan2(z1 - z0, x1 - x0)


def _rose(axes: Axes, at: tuple[float, float], rose: Rose, turn: float, radius: float) -> None:
    """One rose about a point; `turn`: where its first sector points [rad]."""
    axes.add_patch(Circle(at, radius, facecolor="white", edgecolor=GREY, linewidth=0.8, zorder=6, alpha=0.9))
    _petals(axes, at, rose.time, turn, radius, facecolor=SKY, edgecolor="none", zorder=7)
    _petals(axes, at, rose.worn, turn, radius, facecolor="none", edgecolor=BLACK, linewidth=1.2, zorder=8)
    axes.plot(*at, "o", color="white", markeredgecolor=BLACK, markersize=4.5, zorder=9)


def _petals(
    axes: Axes, at: tuple[float, float], shares: NDArray[np.float64], turn: float, radius: float, **look: Any
) -> None:
    """Petals whose area is their share, the largest as long as the radius."""
    if not shares.any():
        return
    sector = 360.0 / shares.size
    for k, share in enumerate(shares / shares.max()):
        middle = math.degrees(turn) + k * sector
        if share > 0.0:
            axes.add_patch(Wedge(at, radius * math.sqrt(share), middle - 0.5 * sector, middle + 0.5 * sector, **look))


def _own_axes(axes: Axes, rose: Rose, turn: float) -> None:
    """A rose alone, its part as it stands in the drawing: the part's own line and angles from it."""
    axes.set_aspect("equal")
    axes.set_axis_off()
    axes.set(xticks=[], yticks=[])
    axes.set_xlim(-1.55, 1.55)
    axes.set_ylim(-1.4, 1.4)
    _rose(axes, (0.0, 0.0), rose, turn, 1.0)
    along = cmath.exp(1j * turn)
    axes.plot([0.0, along.real], [0.0, along.imag], color=ORANGE, linewidth=2.0, zorder=6.5)
    for degrees in (0, 90, 180, 270):
        place = 1.27 * along * cmath.exp(1j * math.radians(degrees))
        axes.text(place.real, place.imag, f"{degrees}°", ha="center", va="center", fontsize=9, color=GREY)
    axes.set_title(f"on the {spoken(rose.part)}", fontsize=10.5)


def _legend(axes: Axes) -> None:
    handles = [
        Rectangle((0, 0), 1, 1, facecolor=SKY, label="share of time"),
        Rectangle((0, 0), 1, 1, facecolor="none", edgecolor=BLACK, linewidth=1.2, label="share of load × sliding"),
    ]
    axes.legend(handles=handles, ncols=2, loc="lower center", bbox_to_anchor=(0.5, 1.0))


def finding(pin: str, rose: Rose) -> str:
    """Within which angle a pin's load stays."""
    name, bore = capital(spoken(pin)), f"of the {spoken(rose.part)}'s bore"
    if worn := narrowest(rose.worn):
        sides = ": the load changes sides" if worn.width > BOTH_SIDES else ""
        return f"{name}: nine tenths of the wear lie within {math.degrees(worn.width):.0f}° {bore}{sides}"
    if time := narrowest(rose.time):
        stays = f"the load stays within {math.degrees(time.width):.0f}° {bore} nine tenths of the time"
        return f"{name}: {stays}; its parts do not turn against each other"
    return f"{name}: no load"


def _finding_of_all(shown: Mapping[str, Sequence[Rose]]) -> str:
    """The pins that wear on one side, against those all round."""
    widths = {pin: told.width for pin, pair in shown.items() if (told := narrowest(pair[1].worn)) is not None}
    if not widths:
        return "Where the pins' loads point"
    widest = max(widths, key=lambda pin: widths[pin])
    least = min(widths, key=lambda pin: widths[pin])
    degrees = [math.degrees(widths[pin]) for pin in (least, widest)]
    return (
        f"Nine tenths of the wear lie within {degrees[0]:.0f}° on the {spoken(least)} pin, within {degrees[1]:.0f}° "
        f"on the {spoken(widest)} pin"
    )
