"""Beside the unit: the whole machine over its ground, and depth and oil pressure along the film, in fixed axes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle
from numpy.typing import NDArray

from analysis.movie.figure_stage import draw_ground, rims, toolbar_artists
from analysis.movie.scene import CARRIER, Scene, toolbar_axles
from analysis.present.edge import bar, mm
from analysis.present.figure_style import BLACK, GREY, PALE
from sim.record import Run
from sim.unit import ATMOSPHERE

CLEAR = 0.15  # free before and behind the machine [m]


def stretch_of(run: Run, scenes: Sequence[Scene]) -> tuple[float, float]:
    """From where to where the machine with its wheels stands over a film [m along the track]."""
    radius = run.unit.toolbar.wheel_radius
    ends: list[float] = []
    for shown in (scenes[0], scenes[-1]):
        ends += [x for x, _ in shown.points.values()]
        ends += [shown.points["press_axle"][0] - run.unit.press_wheel.radius]
        ends += [x + side * radius for x, _ in toolbar_axles(run, shown) for side in (-1.0, 1.0)]
    return min(ends) - CLEAR, max(ends) + CLEAR


class Overview:
    """The whole machine on its wheels, to scale, going over ground that stands still.

    heights [m]: from the foot of its axes to their top; their width stands for `ends` [m along the track].
    """

    def __init__(self, run: Run, scenes: Sequence[Scene]) -> None:
        self.run, self.scenes = run, scenes
        self.moving: list[Artist] = []
        self.ends = stretch_of(run, scenes)
        ground = run.track.ground[(run.track.x >= self.ends[0]) & (run.track.x <= self.ends[1])]
        rim = run.unit.toolbar.wheel_radius
        tops = [max(*(z for _, z in shown.points.values()), *(z + rim for _, z in toolbar_axles(run, shown)))
                for shown in scenes]  # fmt: skip
        self.heights = float(ground.min()) - 0.15, max(*tops, float(ground.max())) + 0.05

    def tall(self, wide: float) -> float:
        """Height of its axes where they are `wide`, in the same unit."""
        return wide * (self.heights[1] - self.heights[0]) / (self.ends[1] - self.ends[0])

    def stand(self, axes: Axes) -> None:
        """Draw the ground on the axes, which are `tall`."""
        self.axes = axes
        draw_ground(axes, self.run, *self.ends, self.heights[0])
        axes.set_xlim(self.ends)
        axes.set_ylim(self.heights)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        axes.tick_params(labelbottom=False)

    def draw(self, n: int) -> list[Artist]:
        """Put instant n in place of the one before."""
        for artist in self.moving:
            artist.remove()
        shown, axes = self.scenes[n], self.axes
        p = shown.points
        made = toolbar_artists(axes, self.run, shown, 2.6, 1.6)
        bars = (("U0", "U1"), ("L0", "L1"), ("arm_pivot", "gauge_axle"), ("press_pivot", "press_axle"))
        for first, second in (*bars, *zip(CARRIER, (*CARRIER[1:], CARRIER[0]), strict=True)):
            made += axes.plot(*zip(p[first], p[second], strict=True), color=BLACK, linewidth=0.9, zorder=4)
        for name, radius, colour in rims(self.run.unit):
            made.append(axes.add_patch(Circle(p[name], radius, facecolor="none", edgecolor=colour, lw=1.1, zorder=3)))
        self.moving = made
        return made


class Trace:
    """One quantity along a film: thin where the unit comes to, thick where it has been, a dot where it is.

    look: `color` and `marker`, where several are shown in the same axes.
    """

    def __init__(self, run: Run, steps: Sequence[int], values: NDArray[np.float64], axes: Axes, **look: Any) -> None:
        s = run.series["distance"]
        self.x, self.y, self.steps, self.axes = s, values, list(steps), axes
        axes.plot(s, values, color=GREY, linewidth=0.7, zorder=2)
        colour, mark = look.get("color", BLACK), look.get("marker", "o")
        self.line = axes.plot([], [], color=colour, linewidth=1.8, zorder=3)[0]
        self.dot = axes.plot([], [], marker=mark, markersize=5.5, linestyle="none", color=colour, zorder=4,
                             clip_on=False)[0]  # fmt: skip

    def draw(self, n: int) -> list[Artist]:
        """The way up to instant n."""
        first, step = self.steps[0], self.steps[n]
        self.line.set_data(self.x[first : step + 1], self.y[first : step + 1])
        self.dot.set_data([self.x[step]], [self.y[step]])
        return [self.line, self.dot]


def depths(run: Run) -> NDArray[np.float64]:
    """Depth of a run at every step [mm]."""
    return np.asarray(run.series["depth"] * 1e3)


def pressures(run: Run) -> NDArray[np.float64]:
    """Oil pressure of a run at every step, over that of the air [bar]."""
    return np.asarray((run.series["oil_pressure"] - ATMOSPHERE) / 1e5)


def depth_axes(axes: Axes, runs: Sequence[Run], tolerances: Sequence[float], ends: tuple[float, float]) -> None:
    """Axes of depths [mm], deeper further down, with the depths that count as on depth as a band; ends: of x [m]."""
    low, high = shown_range([depths(run) for run in runs], runs, ends)
    for run, off in zip(runs, tolerances, strict=True):
        aim = run.settings.set_depth
        axes.axhspan(mm(aim - off), mm(aim + off), color=PALE, linewidth=0, zorder=0)
        low, high = min(low, mm(aim - 1.5 * off)), max(high, mm(aim + 1.5 * off))
    axes.set_ylim(high, low)
    axes.set_xlim(ends)
    axes.set_ylabel("depth [mm]")
    axes.tick_params(labelbottom=False)


def pressure_axes(axes: Axes, runs: Sequence[Run], ends: tuple[float, float]) -> None:
    """Axes of oil pressures [bar] with a thin line at what is set; ends: of x [m]."""
    low, high = shown_range([pressures(run) for run in runs], runs, ends)
    for at in dict.fromkeys(bar(run.settings.oil_pressure) for run in runs):
        axes.axhline(at, color=GREY, linewidth=0.8, zorder=1)
        axes.text(1.02, at, "set", transform=axes.get_yaxis_transform(), fontsize=9.5, color=GREY, va="center")
        low, high = min(low, at - 1.0), max(high, at + 1.0)
    axes.set_ylim(low, high)
    axes.set_xlim(ends)
    axes.set_ylabel("oil [bar]")
    axes.set_xlabel("distance along the track [m]")


def shown_range(
    values: Sequence[NDArray[np.float64]], runs: Sequence[Run], ends: tuple[float, float]
) -> tuple[float, float]:
    """Least and largest of some series between two places, with a little room."""
    seen = [v[(run.series["distance"] >= ends[0]) & (run.series["distance"] <= ends[1])]
            for v, run in zip(values, runs, strict=True)]  # fmt: skip
    low, high = min(float(v.min()) for v in seen), max(float(v.max()) for v in seen)
    room = 0.06 * (high - low)
    return low - room, high + room
