"""One crossing as a picture: ground, depth error, gauge load, and the five causes around the worst place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.transforms import blended_transform_factory
from numpy.typing import NDArray

from analysis.present.edge import kmh, mm
from analysis.present.figure_style import BLACK, BLUE, CAUSE_COLOURS, GREY, PALE, blank, headline, style
from analysis.present.sentences import loaded
from analysis.present.texts import number, percent
from sim.record import CAUSES, Run
from sim.track import NO_STONE

COLUMNS = 700  # points across a panel; a longer series is drawn as the span of each column
CLOSE_UP = 10.0  # length of the stretch that shows the causes [m]

# dashes, width: apart by line as well as by colour
_LINES: dict[str, tuple[Any, float]] = {
    "ground_shape": ("-", 2.4),
    "tyre_and_sinkage": ((0, (5, 1.5)), 1.6),
    "linkage": ((0, (1, 1)), 1.8),
    "toolbar_pitch": ((0, (4, 1.5, 1, 1.5)), 1.6),
    "lift_off": ("-", 1.2),
}


def crossing_figure(run: Run, summary: Mapping[str, Any], tolerance: float, title: str) -> Figure:
    """Four panels over the distance: ground, depth error with its tolerance, gauge load, causes close up.

    summary: as printed by `rowbench run --json`; tolerance [m]; title: of the scenario.
    """
    x = run.series["distance"]
    error = (run.series["depth"] - run.settings.set_depth) * 1e3
    first, last = close_up(x, error)
    with style():
        figure = blank(8.4)
        headline(figure, _finding(summary, tolerance), _settings(run, title), _note(summary))
        rows = figure.subplots(4, 1, gridspec_kw={"height_ratios": [1.0, 1.25, 1.0, 1.5]})
        _ground(rows[0], run)
        _error(rows[1], x, error, tolerance * 1e3)
        _load(rows[2], x, run.series["gauge_load"])
        for axes in rows[:3]:
            axes.set_xlim(x[0], x[-1])
            axes.tick_params(labelbottom=axes is rows[2])
            if last - first < x[-1] - x[0]:
                axes.axvspan(first, last, facecolor="none", edgecolor=BLACK, linewidth=0.8, linestyle=":", zorder=5)
        _causes(rows[3], run, x, error, summary, (first, last))
        for axes in rows[2:]:
            axes.set_xlabel("distance along the track [m]")
        figure.align_ylabels(list(rows))
    return figure


def close_up(x: NDArray[np.float64], error: NDArray[np.float64], length: float = CLOSE_UP) -> tuple[float, float]:
    """First and last distance [m] of the stretch of `length` around the largest depth error."""
    start, end = float(x[0]), float(x[-1])
    if end - start <= 1.5 * length:
        return start, end
    worst = float(x[int(np.argmax(np.abs(error)))])
    first = min(max(worst - 0.5 * length, start), end - length)
    return first, first + length


def spans(x: NDArray[np.float64], y: NDArray[np.float64], columns: int = COLUMNS) -> tuple[NDArray[np.float64], ...]:
    """Middle, least and largest value of each column of a long series: (x, low, high), each of shape (≤ columns,)."""
    if x.size <= 2 * columns:
        return x, y, y
    edges = np.linspace(0, x.size, columns + 1).astype(int)[:-1]
    high = np.maximum.reduceat(y, edges)
    low = np.minimum.reduceat(y, edges)
    # neighbouring columns overlap, so that steep flanks stay joined
    low[1:], high[1:] = np.minimum(low[1:], high[:-1]), np.maximum(high[1:], low[:-1])
    return x[edges], low, high


def _draw(axes: Axes, x: NDArray[np.float64], y: NDArray[np.float64], colour: str) -> None:
    at, low, high = spans(x, y)
    if at.size == x.size:
        axes.plot(x, y, color=colour, linewidth=1.2)
    else:
        axes.fill_between(at, low, high, color=colour, linewidth=0.5)


def _finding(summary: Mapping[str, Any], tolerance: float) -> str:
    share, off = summary["depth"]["on_depth_share"], summary["gauge_load"]["wheel_off_share"]
    text = f"{percent(share)} of the way within ±{tolerance * 1e3:.3g} mm of the set depth"
    return f"{text}; gauge wheel off the ground for {percent(off)}" if off > 0 else f"{text}; gauge wheel always loaded"


def _settings(run: Run, title: str) -> str:
    s = run.settings
    made = "depth set for this pressure and speed" if s.setting == "redone" else "depth setting left as it was"
    return (
        f"“{title}”: {loaded(s.oil_pressure, run.downforce)}, {kmh(s.speed):.3g} km/h, "
        f"set depth {mm(s.set_depth):.3g} mm ({made}), {run.track.x_to - run.track.x_from:.0f} m."
    )


def _note(summary: Mapping[str, Any]) -> str:
    return (
        "Depth is that of the slot, not of the seed. Simulated by rowbench "
        f"{summary['run']['version']}, ground {summary['run']['seed']}."
    )


def _ground(axes: Axes, run: Run) -> None:
    track = run.track
    inside = (track.x >= track.x_from) & (track.x <= track.x_to)
    x, surface = track.x[inside], track.surface[inside] * 1e3
    at, low, high = spans(x, surface)
    floor = float(surface.min()) - 0.08 * max(float(np.ptp(surface)), 20.0)
    axes.fill_between(at, floor, high, color=PALE, linewidth=0)
    axes.fill_between(at, low, high, color=GREY, linewidth=0.9)
    axes.set_ylim(floor, max(float(surface.max()) + 0.1 * np.ptp(surface), floor + 40.0))
    axes.set_ylabel("ground\n[mm]")
    stones = _reachable_stones(run)
    if stones:
        over = blended_transform_factory(axes.transData, axes.transAxes)
        axes.plot(stones, [0.95] * len(stones), "v", color=BLACK, markersize=4, transform=over, clip_on=False)
        axes.set_title(f"▾ {len(stones)} stones within reach of the disc", fontsize=9.5, loc="left")


def _reachable_stones(run: Run) -> list[float]:
    """Distances of the stones whose top lies above the set depth [m]."""
    track = run.track
    place = track.x
    proud = (track.stone_top > track.ground - run.settings.set_depth) & (track.stone_top > NO_STONE)
    proud &= (place >= track.x_from) & (place <= track.x_to)
    numbers = np.unique(track.stone_id[proud])
    return [float(place[proud & (track.stone_id == n)].mean()) for n in numbers if n >= 0]


def _error(axes: Axes, x: NDArray[np.float64], error: NDArray[np.float64], tolerance: float) -> None:
    axes.axhspan(-tolerance, tolerance, color=PALE, linewidth=0, zorder=0)
    for edge in (-tolerance, tolerance):
        axes.axhline(edge, color=GREY, linewidth=0.9, linestyle="--", zorder=1)
    _draw(axes, x, error, BLUE)
    room = 1.6 * tolerance
    axes.set_ylim(min(-room, 1.15 * float(error.min())), max(room, 1.15 * float(error.max())))
    axes.set_ylabel("depth error\n[mm]")
    axes.set_title("↑ too deep   ↓ too shallow", fontsize=9.5, loc="left", color=GREY)
    axes.set_title(f"grey band: tolerance ±{tolerance:.3g} mm", fontsize=9.5, loc="right", color=GREY)


def _load(axes: Axes, x: NDArray[np.float64], load: NDArray[np.float64]) -> None:
    _draw(axes, x, load / 1e3, BLUE)
    mean = float(load.mean()) / 1e3
    axes.axhline(mean, color=BLACK, linewidth=1.0)
    axes.set_title(f"black line: mean {mean:.2f} kN", fontsize=9.5, loc="right", color=GREY)
    off = load <= 0.0
    if off.any():
        over = blended_transform_factory(axes.transData, axes.transAxes)
        axes.fill_between(x, 0.92, 1.0, where=off, color=BLACK, transform=over, linewidth=1.2, zorder=6)
        axes.set_title("black marks on top: wheel off", fontsize=9.5, loc="left", color=GREY)
    axes.set_ylim(0.0, max(1.2 * float(load.max()) / 1e3, 0.1))
    axes.set_ylabel("gauge load\n[kN]")


def _causes(
    axes: Axes, run: Run, x: NDArray[np.float64], error: NDArray[np.float64], summary: Mapping[str, Any],
    stretch: tuple[float, float],
) -> None:  # fmt: skip
    """The five parts along one stretch; the legend gives each part's share of the whole crossing's variance."""
    inside = (x >= stretch[0]) & (x <= stretch[1])
    step = max(1, int(inside.sum()) // 1500)
    for name in CAUSES:
        colour, (dashes, width) = CAUSE_COLOURS[name], _LINES[name]
        share = summary["causes"][name]["share_of_variance"]
        known = "" if share is None else f" {number(100 * share, 0)} %"
        label = f"{'lift-off' if name == 'lift_off' else name.replace('_', ' ')}{known}"
        axes.plot(x[inside][::step], run.series[name][inside][::step] * 1e3, color=colour, linestyle=dashes,
                  linewidth=width, label=label)  # fmt: skip
    axes.plot(x[inside][::step], error[inside][::step], color=BLACK, linewidth=0.9, label="depth error (sum)")
    axes.axhline(0.0, color=GREY, linewidth=0.6, zorder=0)
    low, high = axes.get_ylim()
    axes.set_ylim(min(low, -1.0), max(high, 1.0))
    axes.set_xlim(*stretch)
    axes.set_ylabel("causes\n[mm]")
    whole = stretch[1] - stretch[0] >= x[-1] - x[0]
    axes.set_title(
        "" if whole else "close-up of the dotted stretch (largest error)", fontsize=9.5, loc="left", color=GREY
    )
    axes.legend(ncols=2, loc="upper center", bbox_to_anchor=(0.46, -0.30), handlelength=2.8, columnspacing=1.2,
                title="share of the depth error's variance over the whole crossing", title_fontsize=9.5)  # fmt: skip
