"""Two designs over the same few metres, side by side: the unit at one place, and the slot along them."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.compare.pair import Pair, steps_at
from analysis.movie.figure_stage import Stage
from analysis.movie.movie import told_at
from analysis.movie.room import widest
from analysis.movie.scene import largest_forces, scenes_of
from analysis.present.edge import mm
from analysis.present.figure_style import BLACK, GREY, PALE, SKY, blank, headline, style
from analysis.present.sentences import DRAWN, setting
from analysis.present.texts import number

WIDE = 8.4  # [in]: two units have to be told apart


def crossings_figure(pair: Pair) -> Figure:
    """Above each unit where the two part most, below the slot of each along the same metres."""
    with style():
        figure = blank(6.6, width=WIDE)
        headline(figure, _finding(pair), settings_of(pair), _note(pair))
        rows = _rows(figure)
        axes = [[figure.add_axes((0.09 + 0.47 * i, *row)) for i in (0, 1)] for row in rows]
        for stage, name in zip(stages_of(pair, np.array([pair.at]), axes[0]), pair.names, strict=True):
            stage.draw(0)
            _, depth, wheel = told_at(stage.run, stage.scenes[0].step)
            stage.axes.set_title(f"{name}\n{depth}\n{wheel}", fontsize=9.5, loc="left", parse_math=False)
        low, high = _heights(pair)
        for place, i in zip(axes[1], (0, 1), strict=True):
            _slot(place, pair, i)
            place.set_ylim(low, high)
        axes[1][0].set_ylabel("height [mm]")
        axes[1][1].tick_params(labelleft=False)
    return figure


def _rows(figure: Figure) -> tuple[tuple[float, float, float], ...]:
    """Foot, width and height of the axes of the units and of the slots, in what headline and note leave.

    They are laid out by hand, so that the units keep their scale.
    """
    engine: Any = figure.get_layout_engine()
    _, foot, _, tall = engine.get()["rect"]
    figure.set_layout_engine("none")
    words = 3.0 * 9.5 * 1.25 / 72.0 / figure.get_size_inches()[1] + 0.02  # over each unit
    unit = foot + 0.34
    return (unit, 0.42, foot + tall - words - unit), (foot + 0.09, 0.42, 0.19)


def stages_of(pair: Pair, x: NDArray[np.float64], axes: list[Axes]) -> list[Stage]:
    """Both units on axes of their own, to the same scale, of lengths and of arrows."""
    scenes = [scenes_of(run, steps_at(run, x)) for run in pair.runs]
    largest = max(largest_forces(run, of[0].step, of[-1].step + 1) for run, of in zip(pair.runs, scenes, strict=True))
    stages = [Stage(run, of, place, largest) for run, of, place in zip(pair.runs, scenes, axes, strict=True)]
    room = widest([stage.room for stage in stages])
    for stage in stages:
        stage.room = room
    return stages


def _slot(axes: Axes, pair: Pair, i: int) -> None:
    """Ground, slot, and the depths that count as on depth."""
    run, (first, last) = pair.runs[i], pair.stretch
    s = run.series
    shown = (s["distance"] >= first) & (s["distance"] <= last)
    x = s["distance"][shown]
    surface = np.interp(x, run.track.x, run.track.surface) * 1e3
    depth, aim, off = s["depth"][shown] * 1e3, run.settings.set_depth * 1e3, pair.tolerances[i] * 1e3
    axes.fill_between(x, surface - aim - off, surface - aim + off, color=PALE, linewidth=0, zorder=1)
    axes.fill_between(x, surface - np.maximum(depth, 0.0), surface, color=SKY, alpha=0.45, linewidth=0, zorder=0)
    axes.plot(x, surface, color=GREY, linewidth=1.2, zorder=2)
    axes.plot(x, surface - depth, color=BLACK, linewidth=1.4, zorder=3)
    axes.axvline(pair.at, color=GREY, linewidth=0.8, linestyle=":", zorder=0)
    axes.set_xlim(first, last)
    axes.set_xlabel("distance along the track [m]")


def _heights(pair: Pair) -> tuple[float, float]:
    """Range of heights that both slots lie in [mm]."""
    ends: list[float] = []
    for run, off in zip(pair.runs, pair.tolerances, strict=True):
        s = run.series
        shown = (s["distance"] >= pair.stretch[0]) & (s["distance"] <= pair.stretch[1])
        surface = np.interp(s["distance"][shown], run.track.x, run.track.surface)
        bottom = surface - np.maximum(s["depth"][shown], run.settings.set_depth + off)
        ends += [float(surface.max()) * 1e3, float(bottom.min()) * 1e3]
    room = 0.06 * (max(ends) - min(ends))
    return min(ends) - room, max(ends) + room


def _finding(pair: Pair) -> str:
    if pair.apart == 0.0:
        return f"{pair.names[1]} cuts the same slot as {pair.names[0]}"
    far = f"{number(abs(mm(pair.apart)), 0 if abs(pair.apart) > 5e-3 else 1)} mm"
    way = "deeper" if pair.apart > 0.0 else "shallower"
    where = f"{pair.names[0]} at {pair.at:.1f} m, where the two part most"
    if pair.runs[0].settings.set_depth != pair.runs[1].settings.set_depth:
        return f"Against its own set depth {pair.names[1]} lies {far} {way} than {where}"
    return f"{pair.names[1]} cuts {far} {way} than {where}"


def settings_of(pair: Pair) -> str:
    told = [setting(run.settings.oil_pressure, run.settings.speed, DRAWN, ", ") for run in pair.runs]
    at = told[0] if told[0] == told[1] else f"{told[0]} and {told[1]}"
    depths = [f"{mm(run.settings.set_depth):.3g} mm" for run in pair.runs]
    depth = depths[0] if depths[0] == depths[1] else " and ".join(depths)
    return f"“{pair.title}”, ground {pair.seed}, both at {at}, set depth {depth}."


def _note(pair: Pair) -> str:
    return (
        f"Below: ground (grey), slot (blue), its bottom (black), on depth (grey band). Dotted: {pair.at:.1f} m. "
        "Arrows: ground on wheel (blue), soil on disc (green), stone on disc (black), pins (pink)."
    )
