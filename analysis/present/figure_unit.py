"""A unit drawn from its own geometry at its depth setting, with its axes, angles and signs."""

from __future__ import annotations

import math
from typing import Any

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, FancyArrowPatch, Polygon
from matplotlib.patheffects import withStroke

from analysis.present.edge import mm
from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import BLACK, BLUE, GREY, ORANGE, PALE, VERMILION, blank, headline, style
from analysis.present.sentences import DRAWN, spoken
from analysis.present.sentences import setting as setting_words
from analysis.present.unit_points import PIN_AT, Points, unit_points
from sim.record import PINS, DepthSetting
from sim.unit import Settings, Unit

BESIDE = {  # where the number of a pin stands beside it [pt]
    "main_upper_front": (-9, -9), "main_upper_rear": (9, -9), "main_lower_front": (-4, -10),
    "main_lower_rear": (-9, 2), "cylinder_frame": (9, 6), "cylinder_arm": (2, -11), "crank": (-9, 9),
    "rod_front": (8, 7), "rod_rear": (-9, 5), "bell_crank": (9, 9), "turnbuckle_front": (-10, 2),
    "turnbuckle_rear": (9, -7), "gauge_arm": (9, 8), "press_arm": (-3, -10),
}  # fmt: skip
TOGETHER = 0.005  # pins nearer to each other than this have one number in the drawing [m]
GHOST = math.radians(16)  # how far the dashed links are turned up from the nominal arm angle [rad]


def unit_figure(unit: Unit, setting: DepthSetting, settings: Settings, name: str) -> Figure:
    """Side view in the plane of travel: links, wheels, disc and cylinder to scale, with the model's axes and signs.

    setting: as found by `sim.run.prepare`; name: of the scenario, for the line under the title.
    """
    nominal = unit.main_links.angle_nominal
    points = unit_points(unit, setting.crank_angle, nominal, setting.press_angle)
    angles = ", ".join(
        f"{name} = {math.degrees(angle):.1f}°".replace("-", "−")
        for name, angle in (
            ("arm angle θ", nominal), ("press arm angle ψ", setting.press_angle), ("crank angle α", setting.crank_angle)
        )
    )  # fmt: skip
    with style():
        figure = blank(6.1)
        headline(
            figure,
            "Axes and signs: x forward, z up; every arrow points the positive way",
            f"Unit of “{name}”, drawn to scale: set to {mm(settings.set_depth):.3g} mm at "
            f"{setting_words(settings.oil_pressure, settings.speed, DRAWN, ' and ')} on flat ground; {angles}.",
            "θ and ψ are positive with the rear end up (dashed: links at θ + 16°), the toolbar's pitch p with the nose "
            "up, α counter-clockwise. Depth counts down from the soil surface to the disc's lowest point; a depth "
            "error is positive where the slot is too deep.",
        )
        numbers = _numbers(points)
        foot_key(figure, [Line2D([], [], linestyle="none", label=named) for named in _pin_names(numbers)], 3, 0.0)
        axes = figure.add_subplot()
        axes.set_aspect("equal")
        axes.set_axis_off()
        draw_parts(axes, unit, points, setting)
        _ghost(axes, unit, setting)
        _names(axes, points, setting, unit.disc.blades)
        _pins(axes, points, numbers)
        _frame(axes, points)
        _angles(axes, points, setting)
        _depth(axes, unit, points, setting)
    return figure


def draw_parts(axes: Axes, unit: Unit, points: Points, setting: DepthSetting) -> None:
    """Soil, carrier, disc, wheels, links and cylinder to scale [m], without names; sets the limits of the drawing."""
    _ground(axes, points, setting)
    _wheels(axes, unit, points)
    _links(axes, points)


def _ground(axes: Axes, points: Points, setting: DepthSetting) -> None:
    """Soil, and the limits of the drawing."""
    surface = -setting.toolbar_height
    left, right = points["press_axle"][0] - 0.32, max(0.0, points["actuator_base"][0]) + 0.28
    top = max(z for _, z in points.values()) + 0.22
    axes.fill_between([left, right], surface, surface - 0.17, color=PALE, zorder=0, linewidth=0)
    axes.plot([left, right], [surface, surface], color=GREY, linewidth=1.0, zorder=1)
    axes.text(left + 0.03, surface - 0.06, "soil surface", color=GREY, fontsize=9.5, va="center")
    axes.plot([left + 0.03, left + 0.53], [surface - 0.13] * 2, color=BLACK, linewidth=2, solid_capstyle="butt")
    axes.text(left + 0.56, surface - 0.13, "0.5 m", fontsize=9.5, va="center")
    axes.annotate("travel", (right - 0.03, surface - 0.09), (right - 0.33, surface - 0.09), fontsize=9.5, va="center",
                  arrowprops={"arrowstyle": "-|>", "color": BLACK})  # fmt: skip
    axes.set_xlim(left, right)
    axes.set_ylim(surface - 0.17, top)


def _wheels(axes: Axes, unit: Unit, points: Points) -> None:
    """Carrier, disc and both wheels."""
    corners = [points[name] for name in ("U1", "L1", "arm_pivot", "disc_hub", "press_pivot")]
    axes.add_patch(Polygon(corners, closed=True, facecolor="#EEEEEE", edgecolor=GREY, linewidth=0.8, zorder=1.5))
    wheels = (
        ("disc_hub", unit.disc.radius, BLACK, "-"),
        ("gauge_axle", unit.gauge_wheel.radius, BLUE, "-"),
        ("press_axle", unit.press_wheel.radius, BLUE, "-"),
    )
    for name, radius, colour, line in wheels:
        circle = Circle(points[name], radius, facecolor="none", edgecolor=colour, linewidth=1.8, linestyle=line)
        axes.add_patch(circle)
        axes.plot(*points[name], "o", color=colour, markersize=4, zorder=4)


def _links(axes: Axes, p: Points) -> None:
    lines = (
        ("U0", "U1", BLACK, 3.2), ("L0", "L1", BLACK, 3.2),
        ("crank_pivot", "crank_pin", ORANGE, 2.2), ("crank_pin", "rod_rear", ORANGE, 2.2),
        ("bell_pivot", "rod_rear", ORANGE, 2.2), ("bell_pivot", "bell_end", ORANGE, 2.2),
        ("bell_end", "lug", ORANGE, 2.2), ("actuator_base", "actuator_pin", ORANGE, 3.6),
        ("arm_pivot", "gauge_axle", BLUE, 2.6), ("press_pivot", "press_axle", BLUE, 2.6),
        ("cylinder_frame", "cylinder_arm", VERMILION, 5.0),
    )  # fmt: skip
    for first, second, colour, width in lines:
        (x1, z1), (x2, z2) = p[first], p[second]
        axes.plot([x1, x2], [z1, z2], color=colour, linewidth=width, solid_capstyle="round", zorder=3)
        axes.plot([x1, x2], [z1, z2], "o", color="white", markeredgecolor=colour, markersize=4, zorder=4)


def _ghost(axes: Axes, unit: Unit, setting: DepthSetting) -> None:
    """The main links with their rear end up."""
    up = unit_points(unit, setting.crank_angle, unit.main_links.angle_nominal + GHOST, setting.press_angle)
    for front, rear in (("U0", "U1"), ("L0", "L1")):
        axes.plot(*zip(up[front], up[rear], strict=True), color=GREY, linewidth=1.0, linestyle=(0, (4, 3)), zorder=2)


def _names(axes: Axes, p: Points, setting: DepthSetting, blades: int) -> None:
    """What the parts are called, with a thin line to each."""
    top = max(z for _, z in p.values())
    ground = -setting.toolbar_height

    def between(first: str, second: str, share: float) -> tuple[float, float]:
        (x1, z1), (x2, z2) = p[first], p[second]
        return x1 + share * (x2 - x1), z1 + share * (z2 - z1)

    hub, gauge, press = p["disc_hub"], p["gauge_axle"], p["press_axle"]
    left, disc = press[0] - 0.28, "disc" if blades == 1 else "double disc"
    parts = (
        ("rod", between("crank_pin", "rod_rear", 0.7), (p["rod_rear"][0] - 0.02, top + 0.13), "center"),
        ("bell crank", between("bell_pivot", "bell_end", 0.5), (left, p["rod_rear"][1] + 0.06), "left"),
        ("turnbuckle", between("bell_end", "lug", 0.25), (left, p["bell_end"][1] - 0.06), "left"),
        ("gauge wheel", (gauge[0] - 0.12, gauge[1] + 0.16), (left, gauge[1] + 0.40), "left"),
        ("press wheel", (press[0], press[1] + 0.15), (left, press[1] + 0.24), "left"),
        (
            "cylinder",
            between("cylinder_frame", "cylinder_arm", 0.12),
            (p["cylinder_frame"][0] - 0.13, top + 0.13),
            "right",
        ),
        (
            "depth actuator",
            between("actuator_base", "actuator_pin", 0.25),
            (p["actuator_base"][0] + 0.26, top + 0.13),
            "right",
        ),
        ("main links", between("L0", "L1", 0.25), (p["L0"][0] + 0.12, p["L0"][1] - 0.13), "left"),
        ("gauge arm", between("arm_pivot", "gauge_axle", 0.05), (p["L0"][0] + 0.12, p["arm_pivot"][1] + 0.01), "left"),
        (disc, (hub[0] + 0.26, hub[1] - 0.10), (p["L0"][0] + 0.12, ground + 0.13), "left"),
    )
    for name, (x, z), at, side in parts:
        line = {"arrowstyle": "-", "color": GREY, "linewidth": 0.7, "shrinkA": 1, "shrinkB": 0}
        axes.annotate(name, (x, z), at, ha=side, va="center", fontsize=9.5, arrowprops=line, zorder=6)


def _numbers(p: Points) -> dict[str, int]:
    """A number for every pin, the same for pins that lie on each other in this view."""
    places: list[tuple[float, float]] = []
    found = {}
    for pin in PINS:
        at = p[PIN_AT[pin]]
        near = [i for i, place in enumerate(places) if math.dist(place, at) < TOGETHER]
        if not near:
            places.append(at)
        found[pin] = near[0] + 1 if near else len(places)
    return found


def _pin_names(numbers: dict[str, int]) -> list[str]:
    """Every number with its pins, in words."""
    return [f"{one}  {', '.join(spoken(pin) for pin in PINS if numbers[pin] == one)}"
            for one in sorted(set(numbers.values()))]  # fmt: skip


def _pins(axes: Axes, p: Points, numbers: dict[str, int]) -> None:
    """The number of every pin beside it."""
    for number in sorted(set(numbers.values())):
        pin = next(pin for pin, one in numbers.items() if one == number)
        axes.annotate(str(number), p[PIN_AT[pin]], BESIDE[pin], textcoords="offset points", fontsize=9.0, ha="center",
                      va="center", zorder=7, color=BLUE, fontweight="bold",
                      path_effects=[withStroke(linewidth=2.2, foreground="white")])  # fmt: skip


def _frame(axes: Axes, p: Points) -> None:
    """O with x, z and p; the pins that points of a file count from: U0, L0 and U1."""
    arrow: dict[str, Any] = {"arrowstyle": "-|>", "mutation_scale": 12, "color": BLACK, "linewidth": 1.4, "zorder": 5}
    axes.add_patch(FancyArrowPatch((0, 0), (0.34, 0), shrinkA=0, shrinkB=0, **arrow))
    axes.add_patch(FancyArrowPatch((0, 0), (0, 0.30), shrinkA=0, shrinkB=0, **arrow))
    axes.text(0.36, 0.0, "x", va="center", fontsize=11)
    axes.text(-0.01, 0.31, "z", va="bottom", ha="center", fontsize=11)
    _turn(axes, p["O"], 0.17, 5, 78, "p", (0.205, 0.06))
    for name, dx, dz, side in (
        ("O", -0.02, -0.055, "center"),
        ("U0", 0.02, -0.055, "left"),
        ("L0", 0.03, 0.02, "left"),
        ("U1", -0.03, 0.05, "right"),
    ):
        axes.plot(*p[name], "o", color=BLACK, markersize=5, zorder=6)
        label = name.replace("0", "₀").replace("1", "₁")
        axes.text(p[name][0] + dx, p[name][1] + dz, label, ha=side, va="center", fontsize=11, fontweight="bold")


def _angles(axes: Axes, p: Points, setting: DepthSetting) -> None:
    """Arrows for θ, ψ and α, the last two from the line they count from."""
    nominal = math.degrees(math.atan2(p["U1"][1] - p["U0"][1], p["U0"][0] - p["U1"][0]))
    _turn(axes, p["L0"], 0.42, 180 - nominal, 180 - nominal - math.degrees(GHOST), "θ", (-0.455, 0.06))
    psi = math.degrees(setting.press_angle)
    x, z = p["press_pivot"]
    axes.plot([x, x - 0.42], [z, z], color=GREY, linewidth=1.0, linestyle=(0, (4, 3)), zorder=2)
    _turn(axes, p["press_pivot"], 0.30, 180 - psi, 180 - psi - 34, "ψ", (-0.225, 0.06))
    alpha = math.degrees(setting.crank_angle)
    x, z = p["crank_pivot"]
    axes.plot([x, x + 0.13], [z, z], color=GREY, linewidth=1.0, linestyle=(0, (4, 3)), zorder=2)
    _turn(axes, p["crank_pivot"], 0.07, 0, alpha, "α", (0.082, 0.028))


def _turn(
    axes: Axes, centre: tuple[float, float], radius: float, start: float, end: float, name: str, at: tuple[float, float]
) -> None:
    """An arc with an arrow head from `start` to `end` [°, counter-clockwise from x], its letter at `at` from centre."""
    steps = [math.radians(start + (end - start) * i / 40) for i in range(41)]
    x = [centre[0] + radius * math.cos(a) for a in steps]
    z = [centre[1] + radius * math.sin(a) for a in steps]
    axes.plot(x[:-3], z[:-3], color=VERMILION, linewidth=1.4, zorder=5)
    head = FancyArrowPatch(
        (x[-6], z[-6]),
        (x[-1], z[-1]),
        arrowstyle="-|>",
        mutation_scale=11,
        color=VERMILION,
        shrinkA=0,
        shrinkB=0,
        zorder=5,
    )
    axes.add_patch(head)
    axes.text(centre[0] + at[0], centre[1] + at[1], name, color=VERMILION, fontsize=12, fontweight="bold",
              ha="center", va="center", zorder=6)  # fmt: skip


def _depth(axes: Axes, unit: Unit, p: Points, setting: DepthSetting) -> None:
    """The set depth between the soil surface and the disc's lowest point."""
    x, bottom = p["disc_hub"][0], p["disc_hub"][1] - unit.disc.radius
    surface = -setting.toolbar_height
    right = x + unit.disc.radius + 0.06
    axes.plot([x, right + 0.03], [bottom, bottom], color=VERMILION, linewidth=0.9, zorder=4)
    for start, end in (((right, surface + 0.10), (right, surface)), ((right, bottom - 0.09), (right, bottom))):
        axes.add_patch(FancyArrowPatch(start, end, arrowstyle="-|>", mutation_scale=9, color=VERMILION,
                                       shrinkA=0, shrinkB=0, zorder=5))  # fmt: skip
    text = f"depth {1e3 * (surface - bottom):.0f} mm"
    axes.text(right + 0.03, bottom - 0.06, text, color=VERMILION, fontsize=10, va="center")
