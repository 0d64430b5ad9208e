"""A moving picture of the unit crossing a few metres of ground, drawn from its real geometry."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.artist import Artist
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from analysis.explain.explain import Explanation
from analysis.explain.parts import along
from analysis.explain.places import Place
from analysis.movie.figure_gif import FRAMES_PER_METRE, pace_words, write_gif
from analysis.movie.figure_page import Page
from analysis.movie.figure_stage import TOOLBAR, Stage, force_key
from analysis.movie.figure_trace import Overview, Trace, depth_axes, depths, pressure_axes, pressures
from analysis.movie.scene import scenes_of
from analysis.present.edge import bar, kmh, mm
from analysis.present.figure_style import BLACK, PALE, WIDTH, style
from analysis.present.scenario_words import scenario_title
from analysis.present.texts import number
from sim.record import Run

LENGTH = 5.0  # ground shown where no stretch was asked for [m]
LONGEST = 12.0  # most ground that one picture shows: longer ones grow too large [m]
SIDES = (0.115, 0.93)  # left and right end of the lower axes, as shares of the width
# heights of the parts [in]; that of the whole machine follows from its scale
TELLS, UNIT, KEY, TRACE, OIL, FOOT, GAP = 0.26, 3.1, 0.74, 0.95, 0.75, 0.48, 0.10


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
    with style():
        film = film_of(told, asked)
        write_gif(film.figure, film.draw, film.count, path)
    return film.count


def film_of(told: Explanation, asked: bool = False) -> Film:
    """The film of a crossing, ready to be drawn frame by frame; `asked` as in `save_movie`."""
    run = told.run
    x = along(run)
    first, last = movie_stretch(told, asked)
    count = max(2, round((last - first) * FRAMES_PER_METRE))
    steps = np.clip(np.searchsorted(x, np.linspace(first, last, count)), 0, x.size - 1)
    return Film(run, [int(s) for s in steps], scenario_title(told.scenario), told.scenario.limits.depth_tolerance)


class Film:
    """The unit, the whole machine, depth and oil pressure, one above the other; `draw(n)` shows the n-th instant.

    tolerance: depth error that counts as on depth [m].
    """

    def __init__(self, run: Run, steps: list[int], title: str, tolerance: float) -> None:
        self.run, self.count = run, len(steps)
        self.scenes = scenes_of(run, steps)
        overview = self.overview = Overview(run, self.scenes)
        machine = overview.tall(WIDTH * (SIDES[1] - SIDES[0]))
        page = self.page = Page((_settings(run, title), f"In this film {pace_words(run.settings.speed)}."),
                                (TELLS, UNIT, KEY, machine, GAP, TRACE, GAP, OIL, FOOT))  # fmt: skip
        self.stage = Stage(run, self.scenes, page.axes(1, (0.03, 0.97)))
        overview.stand(page.axes(3, SIDES))
        depth, oil = page.axes(5, SIDES), page.axes(7, SIDES)
        depth_axes(depth, [run], [tolerance], overview.ends)
        pressure_axes(oil, [run], overview.ends)
        self.traces = [Trace(run, steps, depths(run), depth), Trace(run, steps, pressures(run), oil)]
        page.key([*force_key(self.scenes), *trace_key(run)], 2)
        self.tells = [page.text(0, across) for across in (0.02, 0.24, 0.66)]

    @property
    def figure(self) -> Figure:
        """What the frames are taken from."""
        return self.page.figure

    def draw(self, n: int) -> list[Artist]:
        """Put instant n in place of the one before → what was drawn anew."""
        for field, text in zip(self.tells, told_at(self.run, self.scenes[n].step), strict=True):
            field.set_text(text)
        parts: tuple[Stage | Overview | Trace, ...] = (self.stage, self.overview, *self.traces)
        return [*self.tells, *(artist for part in parts for artist in part.draw(n))]


def trace_key(run: Run) -> list[Artist]:
    """What band, lines and dots of the traces mean, and the machine's own grey."""
    found: list[Artist] = [
        Patch(color=PALE, label="on depth"),
        Line2D([], [], color=BLACK, linewidth=1.8, marker="o", markersize=5.5, label="way so far"),
    ]
    if run.settings.toolbar == "carried":
        found.append(Line2D([], [], color=TOOLBAR, linewidth=4, label="toolbar, its wheels"))
    return found


def _settings(run: Run, title: str) -> str:
    s = run.settings
    return f"“{title}”, {bar(s.oil_pressure):.4g} bar, {kmh(s.speed):.3g} km/h, set depth {mm(s.set_depth):.3g} mm"


def told_at(run: Run, step: int) -> tuple[str, str, str]:
    """Where the disc is, its depth against the set depth, and what the gauge wheel carries, in words."""
    s = run.series
    depth, load = float(s["depth"][step]), float(s["gauge_load"][step])
    off = round(mm(depth)) - round(mm(run.settings.set_depth))
    against = "as set" if off == 0 else f"{abs(off)} too {'deep' if off > 0 else 'shallow'}"
    wheel = "gauge wheel off" if load <= 0.0 else f"gauge wheel {load / 1e3:.1f} kN"
    slot = f"{number(abs(mm(depth)), 0)} mm " + ("over the ground" if depth < 0.0 else f"deep, {against}")
    return f"at {s['distance'][step]:.2f} m", slot, wheel
