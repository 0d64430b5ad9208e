"""Both engines drawn over each other where it is hardest: a hump, and a stone that the disc strikes."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.present.figure_style import BLACK, BLUE, GREY, ORANGE, PALE, blank, headline, style
from analysis.present.sentences import SCREEN, setting
from analysis.present.texts import number, short
from analysis.verify.checks import Difference
from analysis.verify.engines import HUMP_HIGH, STONE_PROUD, Compared
from sim.record import Run
from sim.track import Track

VIEWS = (("over a hump", 2.0, 9.0), ("over a stone", 13.4, 15.4))  # stretches drawn [m]
PIN = "main_lower_front"


def engines_figure(found: Compared) -> Figure:
    """Depth and one pin's load from both engines over the same course."""
    track, compiled, rigid, s = found.track, found.compiled, found.rigid, found.compiled.settings
    with style():
        figure = blank(6.6)
        headline(
            figure,
            _finding(found.apart),
            f"{found.title}: its unit, soil and settings ({setting(s.oil_pressure, s.speed, SCREEN, ', ')}, set depth "
            f"{short(s.set_depth * 1e3)} mm) over a hump of "
            f"{HUMP_HIGH * 1e3:.0f} mm and a stone {STONE_PROUD * 1e3:.0f} mm proud",
            "Depth: largest difference; pin loads: RMS difference over the RMS load, worst of 14 pins. Both engines "
            "share the force laws of soil, tyre, gas and stone, but not motion, pins and the measurement of depth.",
        )
        cells = figure.subplots(3, 2, sharex="col", gridspec_kw={"height_ratios": [0.6, 1.0, 1.0]})
        for column, (name, start, end) in enumerate(VIEWS):
            _ground(cells[0, column], track, start, end)
            cells[0, column].set_title(name, loc="left")
            _pair(cells[1, column], compiled, rigid, lambda run: run.series["depth"] * 1e3, start, end)
            _pair(cells[2, column], compiled, rigid, lambda run: run.pin_load(PIN) / 1e3, start, end)
            cells[2, column].set_xlabel("distance [m]")
        cells[0, 0].set_ylabel("ground\n[mm]")
        cells[1, 0].set_ylabel("depth [mm]")
        cells[2, 0].set_ylabel("load, main lower\nfront pin [kN]")
        cells[2, 1].legend(loc="upper right")
        figure.align_ylabels(list(cells[:, 0]))
    return figure


def _finding(d: Difference) -> str:
    return (
        f"Two engines, one answer: depth within {number(max(d.depth_worst * 1e3, 0.001), 3)} mm, "
        f"pin loads within {number(max(float(d.series.max()) * 1e2, 0.01), 2)} %"
    )


def _ground(axes: Axes, track: Track, start: float, end: float) -> None:
    """Surface with the stone."""
    inside = (track.x >= start) & (track.x <= end)
    x = track.x[inside]
    soil, top = track.ground[inside] * 1e3, track.surface[inside] * 1e3
    axes.fill_between(x, soil.min() - 20.0, soil, color=PALE, linewidth=0.0)
    axes.fill_between(x, soil, top, color=GREY, linewidth=0.0)
    axes.plot(x, top, color=BLACK, linewidth=1.0)


def _pair(axes: Axes, compiled: Run, rigid: Run, of, start: float, end: float) -> None:
    """One quantity from both engines over a stretch."""
    for run, name, colour, width, dashes in (
        (compiled, "compiled equations", ORANGE, 3.2, "-"),
        (rigid, "loose rigid bodies", BLUE, 1.2, (0, (4, 2))),
    ):
        x: NDArray[np.float64] = run.series["distance"]
        inside = (x >= start) & (x <= end)
        axes.plot(x[inside], of(run)[inside], color=colour, linewidth=width, linestyle=dashes, label=name)
    axes.set_xlim(start, end)
