"""A moving picture of the unit crossing a few metres of ground, drawn from its real geometry."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.animation import FuncAnimation, PillowWriter
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Circle, FancyArrowPatch, Polygon

from analysis.explain.explain import Explanation
from analysis.explain.parts import along
from analysis.explain.places import Place
from analysis.movie.scene import CARRIER, LINKS, Scene, largest_forces, reach, scene, stone_slopes
from analysis.present.edge import bar, kmh, mm
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
    WIDTH,
    blank,
    style,
)  # fmt: skip
from analysis.present.scenario_words import scenario_title
from analysis.present.texts import number
from sim.record import Run

LENGTH = 5.0  # ground shown where no stretch was asked for [m]
LONGEST = 12.0  # most ground that one picture shows: longer ones grow too large [m]
FRAMES_PER_METRE = 16
FRAMES_PER_SECOND = 15
DPI = 80
LONGEST_ARROW = 0.62  # [m]
LINK_LOOKS = {
    "main link": (BLACK, 3.4),
    "depth linkage": (ORANGE, 2.2),
    "wheel arm": (BLUE, 2.8),
    "cylinder": (VERMILION, 5.0),
}
FORCE_LOOKS = {"wheel": BLUE, "disc": GREEN, "stone": BLACK, "pin": PURPLE}
FORCE_WORDS = {"wheel": "wheel on ground", "disc": "soil on disc", "stone": "stone on disc", "pin": "pins"}


def movie_stretch(told: Explanation, asked: bool) -> tuple[float, float]:
    """What the picture shows [m]: the stretch explained if it was asked for (at most 12 m), else 5 m of worst place."""
    first, last = told.stretch
    if asked:
        return first, min(last, first + LONGEST)
    middle = told.places[0].what if told.places else None
    at = middle.at if isinstance(middle, Place) else 0.5 * (first + last)
    start = min(max(at - 0.5 * LENGTH, first), max(last - LENGTH, first))
    return start, min(start + LENGTH, last)


def save_movie(told: Explanation, path: Path, asked: bool = False) -> int:
    """Write the moving picture (GIF) → number of frames. `asked`: the stretch explained is the one to show."""
    run = told.run
    x = along(run)
    first, last = movie_stretch(told, asked)
    count = max(2, round((last - first) * FRAMES_PER_METRE))
    steps = np.clip(np.searchsorted(x, np.linspace(first, last, count)), 0, x.size - 1)
    with style():
        stage = Stage(run, [int(s) for s in steps], scenario_title(told.scenario))
        made = FuncAnimation(stage.figure, stage.draw, frames=count, init_func=list, blit=False, cache_frame_data=False)
        made.save(path, writer=PillowWriter(fps=FRAMES_PER_SECOND), dpi=DPI)
    return count


class _QuietCanvas(FigureCanvasAgg):
    """Frames are written, not shown: nothing is drawn in between."""

    def draw_idle(self, *args: Any, **kwargs: Any) -> None:
        """Nothing to show."""


def quiet_figure(height: float, width: float = WIDTH) -> Figure:
    """An empty figure [in] that is laid out by hand: a layout for every frame would take most of the time."""
    figure = blank(height, width=width)
    _QuietCanvas(figure)
    figure.set_layout_engine("none")
    return figure


def force_key(stones: bool) -> list[Polygon]:
    """What the colours of the arrows mean, for a legend; stones: whether one pushes on the disc."""
    return [Polygon([(0, 0)], color=colour, label=FORCE_WORDS[kind]) for kind, colour in FORCE_LOOKS.items()
            if kind != "stone" or stones]  # fmt: skip


def room_of(run: Run, shown: Scene) -> tuple[float, float, float, float]:
    """How much is seen behind, ahead of, above and below the toolbar's O [m]."""
    behind, ahead, above = reach(run.unit, shown.points)
    return behind + 0.15, max(ahead, 0.25) + 0.28, above + 0.12, run.setting.toolbar_height + 0.28


class Stage:
    """The axes that follow the unit; `draw(n)` puts the n-th instant on them.

    axes, largest: where several units stand side by side, the axes of this one and the force that the longest arrow of
    all of them means [N]; `title` then is all that is told of the setting.
    """

    def __init__(
        self, run: Run, steps: list[int], title: str, axes: Axes | None = None, largest: float | None = None
    ) -> None:
        self.run, self.steps = run, steps
        self.slopes = stone_slopes(run, steps)
        self.scale = LONGEST_ARROW / (largest or largest_forces(run, steps[0], steps[-1] + 1))  # [m/N]
        self.alone = axes is None
        self.axes: Axes = quiet_figure(4.6).add_axes((0.03, 0.20, 0.94, 0.68)) if axes is None else axes
        self.axes.set_aspect("equal")
        self.title = title
        self.moving: list[Artist] = []
        self.room: tuple[float, float, float, float] | None = None  # of units beside each other: as `room_of`
        self._still()

    @property
    def figure(self) -> Figure:
        """The figure that the axes stand in."""
        figure = self.axes.get_figure()
        assert isinstance(figure, Figure)
        return figure

    def _still(self) -> None:
        """Ground and stones, which do not move, and the key to the arrows."""
        track, axes, at = self.run.track, self.axes, self.run.series["distance"]
        shown = (track.x >= at[self.steps[0]] - 3.0) & (track.x <= at[self.steps[-1]] + 3.0)
        x, ground, top = track.x[shown], track.ground[shown], track.stone_top[shown]
        axes.fill_between(x, float(ground.min()) - 1.0, ground, color=PALE, linewidth=0, zorder=0)
        axes.plot(x, ground, color=GREY, linewidth=1.0, zorder=2)
        axes.fill_between(x, ground - 0.12, np.maximum(top, ground - 0.12), where=track.stone_id[shown] >= 0,
                          color=GREY, linewidth=0, zorder=1)  # fmt: skip
        axes.set_xlabel("distance along the track [m]")
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        if not self.alone:
            return
        handles = force_key(bool(self.slopes))
        axes.legend(handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.17), ncols=4, handlelength=1.0,
                    columnspacing=1.2)  # fmt: skip

    def draw(self, n: int) -> list[Artist]:
        """Put instant n in place of the one before."""
        for artist in self.moving:
            artist.remove()
        self.moving = []
        shown = scene(self.run, self.steps[n], self.slopes)
        self._window(shown)
        self._slot(self.steps[n])
        self._unit(shown)
        self._arrows(shown)
        self.axes.set_title(self._words(shown), fontsize=9.5, loc="left")
        return self.moving

    def _add(self, artist: Any) -> None:
        self.moving.append(artist)

    def _window(self, shown: Scene) -> None:
        """Axes that follow the unit; ticks count along the track."""
        behind, ahead, above, below = self.room or room_of(self.run, shown)
        x, z = shown.points["O"]
        low, high = x - behind, x + ahead
        self.axes.set_xlim(low, high)
        self.axes.set_ylim(z - below, z + above)
        ticks = np.arange(np.ceil(low * 2) / 2, high, 0.5)
        self.axes.set_xticks(ticks, [f"{t:.1f}" for t in ticks])

    def _slot(self, step: int) -> None:
        """The slot that the disc has left behind."""
        s = self.run.series
        first = max(0, step - 400)
        x = s["distance"][first : step + 1]
        surface = np.interp(x, self.run.track.x, self.run.track.surface)
        bottom = surface - np.maximum(s["depth"][first : step + 1], 0.0)
        self._add(self.axes.fill_between(x, bottom, surface, color=SKY, alpha=0.55, linewidth=0, zorder=1.5))

    def _unit(self, shown: Scene) -> None:
        p, unit, axes = shown.points, self.run.unit, self.axes
        self._add(axes.add_patch(Polygon([p[name] for name in CARRIER], facecolor="#EEEEEE", edgecolor=GREY, zorder=3)))
        for name, radius, colour in (
            ("disc_hub", unit.disc.radius, BLACK), ("gauge_axle", unit.gauge_wheel.radius, BLUE),
            ("press_axle", unit.press_wheel.radius, BLUE),
        ):  # fmt: skip
            self._add(axes.add_patch(Circle(p[name], radius, facecolor="none", edgecolor=colour, lw=1.8, zorder=4)))
        x, z = zip(p["U0"], p["L0"], strict=True)
        self._add(axes.plot(x, z, color=GREY, linewidth=8, solid_capstyle="round", zorder=3)[0])
        self._add(axes.plot(*zip(p["O"], p["U0"], strict=True), color=GREY, linewidth=6, zorder=2.5)[0])
        for name, first, second in LINKS:
            colour, width = LINK_LOOKS[name]
            x, z = zip(p[first], p[second], strict=True)
            self._add(axes.plot(x, z, color=colour, linewidth=width, solid_capstyle="round", zorder=5)[0])

    def _arrows(self, shown: Scene) -> None:
        """Forces to scale; the bar says how long a kilonewton is."""
        for force in shown.forces:
            (x, z), (fx, fz) = force.at, force.force
            if np.hypot(fx, fz) * self.scale < 0.01:
                continue
            tip = (x + fx * self.scale, z + fz * self.scale)
            arrow = FancyArrowPatch((x, z), tip, arrowstyle="-|>", mutation_scale=9, color=FORCE_LOOKS[force.kind],
                                    shrinkA=0, shrinkB=0, linewidth=1.8, zorder=7)  # fmt: skip
            self._add(self.axes.add_patch(arrow))
        size = nice(0.4 / self.scale)
        left, low = self.axes.get_xlim()[0] + 0.05, self.axes.get_ylim()[0] + 0.05
        self._add(self.axes.plot([left, left + size * self.scale], [low, low], color=BLACK, linewidth=2.5)[0])
        self._add(self.axes.text(left, low + 0.03, f"{size / 1e3:g} kN", fontsize=9, va="bottom"))

    def _words(self, shown: Scene) -> str:
        s, step = self.run.series, shown.step
        settings = self.run.settings
        wheel = "gauge wheel off" if shown.wheel_off else f"gauge wheel {s['gauge_load'][step] / 1e3:.2f} kN"
        at = s["distance"][step]
        if not self.alone:
            return f"{self.title}\n{at:.2f} m: depth {number(mm(shown.depth), 0)} mm\n{wheel}"
        return (
            f"“{self.title}”, {bar(settings.oil_pressure):.4g} bar, {kmh(settings.speed):.3g} km/h, set depth "
            f"{mm(settings.set_depth):.3g} mm\n{at:.2f} m: depth {number(mm(shown.depth))} mm, {wheel}"
        )


def nice(value: float) -> float:
    """The largest of 1, 2, 5 × a power of ten that is not above a value.

    >>> nice(7300.0), nice(1990.0), nice(0.3)
    (5000.0, 1000.0, 0.2)
    """
    power = 10.0 ** np.floor(np.log10(value))
    return float(max(m * power for m in (1.0, 2.0, 5.0) if m * power <= value * (1 + 1e-9)))
