"""The unit over its ground, instant by instant, in axes of one size and one scale of forces for the whole film."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.patches import Circle, FancyArrowPatch, Polygon

from analysis.movie.room import Room, room_of
from analysis.movie.scene import CARRIER, LINKS, Scene, largest_forces, toolbar_axles
from analysis.present.figure_style import BLACK, BLUE, GREEN, GREY, ORANGE, PALE, PURPLE, SKY, VERMILION
from sim.record import Run
from sim.unit import Unit

LONGEST_ARROW = 0.62  # of the largest force of the film [m]
SLOT = 3.0  # of the slot shown behind the disc [m]
LINK_LOOKS = {
    "main link": (BLACK, 3.4),
    "depth linkage": (ORANGE, 2.2),
    "wheel arm": (BLUE, 2.8),
    "cylinder": (VERMILION, 5.0),
}
FORCE_LOOKS = {"wheel": BLUE, "disc": GREEN, "stone": BLACK, "pin": PURPLE}
FORCE_WORDS = {"wheel": "ground on wheel", "disc": "soil on disc", "stone": "stone on disc", "pin": "pins"}
TOOLBAR = "#B4B4B4"  # of the toolbar, its axles and wheels: behind the unit and paler than it


def force_key(scenes: Iterable[Scene]) -> list[Polygon]:
    """What the colours of the arrows mean, for a legend; of a stone only where one pushes on the disc."""
    kinds = {force.kind for shown in scenes for force in shown.forces}
    return [Polygon([(0, 0)], color=colour, label=FORCE_WORDS[kind]) for kind, colour in FORCE_LOOKS.items()
            if kind in kinds]  # fmt: skip


def inches(axes: Axes) -> tuple[float, float]:
    """Width and height of axes in their figure [in]."""
    box, size = axes.get_position(), axes.figure.get_size_inches()  # type: ignore[union-attr]
    return float(box.width * size[0]), float(box.height * size[1])


class Stage:
    """A unit in axes that go along with its disc; `draw(n)` puts the n-th instant on them.

    Their size, their heights and the scale of the forces stand for all instants, so that what moves in the picture is
    what moves on the machine: the ground passes, and stays in view. largest: the force that the longest arrow means
    [N]; left out, the largest between the first and the last instant. `room` may be set before the first `draw`:
    where several units are shown, the same for all.
    """

    def __init__(self, run: Run, scenes: Sequence[Scene], axes: Axes, largest: float | None = None) -> None:
        self.run, self.scenes, self.axes = run, scenes, axes
        self.scale = LONGEST_ARROW / (largest or largest_forces(run, scenes[0].step, scenes[-1].step + 1))  # [m/N]
        self.room: Room = room_of(run, self.scenes, self.scale)
        self.moving: list[Artist] = []
        self.ready = False

    def draw(self, n: int) -> list[Artist]:
        """Put instant n in place of the one before → what is to be drawn anew: the axes, since the ground passes."""
        if not self.ready:
            self._still()
        for artist in self.moving:
            artist.remove()
        self.moving = []
        shown = self.scenes[n]
        at = float(self.run.series["distance"][shown.step])
        self.axes.set_xlim(at - self.room.behind, at + self.room.ahead)
        self._slot(shown.step)
        self._toolbar(shown)
        self._unit(shown)
        self._arrows(shown)
        return [self.axes]

    def _still(self) -> None:
        """Ground and stones, which do not move, the heights in view, and the scale of the forces."""
        self.ready = True
        self.room = room = self.room.filled(*inches(self.axes))
        axes, at = self.axes, self.run.series["distance"]
        first, last = at[self.scenes[0].step] - room.behind - 0.1, at[self.scenes[-1].step] + room.ahead + 0.1
        draw_ground(axes, self.run, float(first), float(last), room.low)
        axes.set_ylim(room.low, room.high)
        axes.set_yticks([])
        axes.spines["left"].set_visible(False)
        axes.set_xticks(np.arange(np.ceil(2.0 * first), 2.0 * last) / 2.0)
        axes.tick_params(axis="x", labelsize=9.0)
        axes.xaxis.set_major_formatter("{x:.1f}")
        self._force_scale()

    def _force_scale(self) -> None:
        """A bar as long as the arrow of a round force, in the ground at the left."""
        force = nice(0.4 / self.scale)
        across, up = self.room.behind + self.room.ahead, self.room.high - self.room.low
        left, low = 0.05 / across, 0.045 / up
        self.axes.plot([left, left + force * self.scale / across], [low, low], color=BLACK, linewidth=2.5,
                       solid_capstyle="butt", transform=self.axes.transAxes, zorder=8)  # fmt: skip
        self.axes.text(left + (force * self.scale + 0.03) / across, low, f"{force / 1e3:g} kN", fontsize=9.5,
                       va="center", transform=self.axes.transAxes, zorder=8)  # fmt: skip

    def _add(self, artist: Any) -> None:
        self.moving.append(artist)

    def _slot(self, step: int) -> None:
        """The slot that the disc has left behind."""
        s = self.run.series
        first = int(np.searchsorted(s["distance"], s["distance"][step] - SLOT))
        x = s["distance"][first : step + 1]
        surface = np.interp(x, self.run.track.x, self.run.track.surface)
        bottom = surface - np.maximum(s["depth"][first : step + 1], 0.0)
        self._add(self.axes.fill_between(x, bottom, surface, color=SKY, alpha=0.55, linewidth=0, zorder=1.5))

    def _toolbar(self, shown: Scene) -> None:
        """The toolbar on its own wheels, behind the unit."""
        for artist in toolbar_artists(self.axes, self.run, shown, 5.0, 2.0):
            self._add(artist)

    def _unit(self, shown: Scene) -> None:
        p, unit, axes = shown.points, self.run.unit, self.axes
        self._add(axes.add_patch(Polygon([p[name] for name in CARRIER], facecolor="#EEEEEE", edgecolor=GREY, zorder=3)))
        for name, radius, colour in rims(unit):
            self._add(axes.add_patch(Circle(p[name], radius, facecolor="none", edgecolor=colour, lw=1.8, zorder=4)))
        x, z = zip(p["U0"], p["L0"], strict=True)
        self._add(axes.plot(x, z, color=GREY, linewidth=8, solid_capstyle="round", zorder=3)[0])
        self._add(axes.plot(*zip(p["O"], p["U0"], strict=True), color=GREY, linewidth=6, zorder=2.5)[0])
        for name, first, second in LINKS:
            colour, width = LINK_LOOKS[name]
            x, z = zip(p[first], p[second], strict=True)
            self._add(axes.plot(x, z, color=colour, linewidth=width, solid_capstyle="round", zorder=5)[0])

    def _arrows(self, shown: Scene) -> None:
        """Forces to scale."""
        for force in shown.forces:
            (x, z), (fx, fz) = force.at, force.force
            if np.hypot(fx, fz) * self.scale < 0.01:
                continue
            tip = (x + fx * self.scale, z + fz * self.scale)
            arrow = FancyArrowPatch((x, z), tip, arrowstyle="-|>", mutation_scale=9, color=FORCE_LOOKS[force.kind],
                                    shrinkA=0, shrinkB=0, linewidth=1.8, zorder=7)  # fmt: skip
            self._add(self.axes.add_patch(arrow))


def rims(unit: Unit) -> tuple[tuple[str, float, str], ...]:
    """Disc and wheels of a unit: the point in their middle, radius [m], colour."""
    wheels = (("gauge_axle", unit.gauge_wheel), ("press_axle", unit.press_wheel))
    return (("disc_hub", unit.disc.radius, BLACK), *((name, wheel.radius, BLUE) for name, wheel in wheels))


def draw_ground(axes: Axes, run: Run, first: float, last: float, low: float) -> None:
    """Ground down to a height `low` [m] with its stones, from `first` to `last` [m]."""
    track = run.track
    shown = (track.x >= first) & (track.x <= last)
    x, ground, top = track.x[shown], track.ground[shown], track.stone_top[shown]
    axes.fill_between(x, low, ground, color=PALE, linewidth=0, zorder=0)
    axes.plot(x, ground, color=GREY, linewidth=1.0, zorder=2)
    axes.fill_between(x, ground - 0.12, np.maximum(top, ground - 0.12), where=track.stone_id[shown] >= 0,
                      color=GREY, linewidth=0, zorder=1)  # fmt: skip


def toolbar_artists(axes: Axes, run: Run, shown: Scene, beam: float, rim: float) -> list[Artist]:
    """The toolbar's beam, legs, axles and wheels at an instant; beam, rim: widths of their lines [pt]."""
    axles = toolbar_axles(run, shown)
    if not axles:
        return []
    origin, pitch = shown.points["O"], float(run.series["pitch"][shown.step])
    tops = [(x - (origin[1] - z) * np.sin(pitch), origin[1] + (x - origin[0]) * np.sin(pitch)) for x, z in axles]
    made: list[Artist] = list(axes.plot(*zip(*tops, strict=True), color=TOOLBAR, linewidth=beam, zorder=0.6))
    for top, axle in zip(tops, axles, strict=True):
        made += axes.plot(*zip(top, axle, strict=True), color=TOOLBAR, linewidth=0.7 * beam, zorder=0.6)
        wheel = Circle(axle, run.unit.toolbar.wheel_radius, facecolor="none", edgecolor=TOOLBAR, lw=rim, zorder=0.7)
        made.append(axes.add_patch(wheel))
    return made


def nice(value: float) -> float:
    """The largest of 1, 2, 5 × a power of ten that is not above a value.

    >>> nice(7300.0), nice(1990.0), nice(0.3)
    (5000.0, 1000.0, 0.2)
    """
    power = 10.0 ** np.floor(np.log10(value))
    return float(max(m * power for m in (1.0, 2.0, 5.0) if m * power <= value * (1 + 1e-9)))
