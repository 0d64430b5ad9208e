"""The depth error split into its five parts along the ground, the worst places numbered."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.transforms import blended_transform_factory
from numpy.typing import NDArray

from analysis.explain.explain import Explanation, shown_stretch
from analysis.explain.figure_words import settings_line
from analysis.explain.parts import Parts, along, stacked, told_parts, wheel_off
from analysis.explain.places import Place
from analysis.explain.sentences import PART_NAMES, TYRE, short_of, squash_of, told_in_mm
from analysis.explain.trials.sentences import helps_there
from analysis.present.cautions import SLOT_SHORT
from analysis.present.figure_style import BLACK, BLUE, CAUSE_COLOURS, GREY, PALE, blank, headline, style
from analysis.present.sentences import capital
from analysis.present.texts import percent, signed
from sim.record import CAUSES, Run
from sim.track import NO_STONE

# apart by hatching as well as by colour
HATCHES = {
    "ground_shape": "",
    "tyre_and_sinkage": "....",
    "linkage": "xxxx",
    "toolbar_pitch": "----",
    "lift_off": "////",
}
LABEL_ROOM = 0.04  # least distance of two numbers, as a share of the stretch
POINTS = 2000  # samples across a panel; more are thinned out


def causes_figure(told: Explanation) -> Figure:
    """Three panels over the same ground: its line with numbered places, the stacked parts, the gauge load."""
    data = figure_data(told)
    with style():
        figure = blank(7.8)
        headline(figure, _finding(told), settings_line(told), _note(told))
        rows = figure.subplots(3, 1, sharex=True, gridspec_kw={"height_ratios": [1.0, 2.1, 0.9]})
        places = [t.what for t in told.places if isinstance(t.what, Place)]
        shown = [p for p in places if data["x"][0] <= p.at <= data["x"][-1]]
        _ground(rows[0], told.run, data, shown)
        _stack(rows[1], data, told.scenario.limits.depth_tolerance * 1e3, shown)
        _load(rows[2], data, told.run.setting.gauge_load / 1e3)
        rows[2].set_xlabel("distance along the track [m]")
        rows[2].legend(*rows[1].get_legend_handles_labels(), ncols=2, loc="upper center", columnspacing=1.4,
                       bbox_to_anchor=(0.45, -0.42), handlelength=2.4)  # fmt: skip
        rows[0].set_xlim(data["x"][0], data["x"][-1])
        figure.align_ylabels(list(rows))
    return figure


def figure_data(told: Explanation) -> dict[str, NDArray[np.float64]]:
    """What the figure draws, thinned to POINTS: x [m], error and every part as told [mm], load [kN], off (0 or 1)."""
    run = told.run
    x = along(run)
    first, last = shown_stretch(told)
    inside = np.flatnonzero((x >= first) & (x <= last))
    keep = inside[:: max(1, inside.size // POINTS)]
    parts: Parts = told_parts(run)
    error = (run.series["depth"] - run.settings.set_depth)[keep] * 1e3
    shown = {name: part[keep] * 1e3 for name, part in parts.items()}
    load, off = run.series["gauge_load"][keep] / 1e3, wheel_off(run)[keep].astype(np.float64)
    return {"x": x[keep], "error": error, **shown, "load": load, "off": off}


def _finding(told: Explanation) -> str:
    """The worst place and its parts, which add up to it."""
    if not told.places:
        return "The depth does not move here"
    place = told.places[0].what
    assert isinstance(place, Place)
    in_mm = told_in_mm(place)
    parts = {name: squash_of(in_mm) if name == TYRE else in_mm[name] for name in CAUSES}
    named = sorted((name for name in CAUSES if parts[name]), key=lambda name: -abs(parts[name]))
    sums = ", ".join(f"{signed(parts[name], 0)} mm from {PART_NAMES[name]}" for name in named)
    return f"{capital(short_of(place))} at {place.at:.1f} m: {sums}"


def _helps(told: Explanation) -> str:
    """What helps most at place 1."""
    if not told.places:
        return ""
    of = told.part_of(told.places[0]) or told.places[0]
    if of.best is None:
        return "Nothing tried helps at place 1 within the limits. "
    return f"At place 1 {helps_there(of.event, of.best).replace('Helps most there:', 'helps most:')} "


def _note(told: Explanation) -> str:
    w = told.whole
    return (
        f"Parts above zero are piled up, those below zero down; together they are the black line. On depth over "
        f"{told.stretch[0]:.4g} to {told.stretch[1]:.4g} m: {percent(w.on_depth_share)}. {_helps(told)}{SLOT_SHORT}"
    )


def _ground(axes: Axes, run: Run, data: dict[str, NDArray[np.float64]], places: list[Place]) -> None:
    track = run.track
    at = track.x
    inside = (at >= data["x"][0]) & (at <= data["x"][-1])
    x, soil, top = at[inside], track.ground[inside] * 1e3, track.stone_top[inside]
    stones = np.where(top > NO_STONE, top * 1e3, np.nan)
    low, high = float(soil.min()), float(max(soil.max(), np.nanmax(stones, initial=-9e3)))
    room = max(high - low, 30.0)
    axes.fill_between(x, low - 0.15 * room, soil, color=PALE, linewidth=0)
    axes.plot(x, soil, color=GREY, linewidth=1.0)
    axes.fill_between(x, soil, np.fmax(stones, soil), color=BLACK, linewidth=0)
    axes.set_ylim(low - 0.15 * room, high + 0.55 * room)
    axes.set_ylabel("ground\n[mm]")
    points_per_metre = 72.0 * axes.bbox.width / axes.figure.dpi / float(data["x"][-1] - data["x"][0])
    for place, beside in zip(places, apart([p.at for p in places], data["x"]), strict=True):
        level = float(np.fmax(stones, soil)[np.abs(x - place.at) < 0.2].max())
        aside = (beside - place.at) * points_per_metre
        axes.annotate(str(place.number), (place.at, level), (aside, 17), textcoords="offset points", ha="center",
                      va="center", fontsize=9.5, fontweight="bold", zorder=6,
                      bbox={"boxstyle": "circle,pad=0.18", "fc": "white", "ec": BLACK, "lw": 1.0},
                      arrowprops={"arrowstyle": "-", "color": BLACK, "lw": 0.8})  # fmt: skip


def apart(at: list[float], x: NDArray[np.float64]) -> list[float]:
    """Where numbers of places at `at` [m] go so that none hides another over the stretch x: in the order of places."""
    least = LABEL_ROOM * float(x[-1] - x[0])
    order = sorted(range(len(at)), key=at.__getitem__)
    gaps = [max(0.0, least - (at[b] - at[a])) for a, b in pairwise(order)]
    shift = np.concatenate(([0.0], np.cumsum(gaps)))
    crowd = np.concatenate(([True], np.array(gaps) == 0.0)).cumsum() if at else np.array([])
    moved = dict.fromkeys(order, 0.0)
    for k, i in enumerate(order):
        together = shift[crowd == crowd[k]]
        moved[i] = at[i] + float(shift[k] - 0.5 * (together[0] + together[-1]))
    return [moved[i] for i in range(len(at))]


def _stack(axes: Axes, data: dict[str, NDArray[np.float64]], tolerance: float, places: list[Place]) -> None:
    parts = {name: data[name] for name in HATCHES}
    for name, (lower, upper) in stacked(parts).items():
        colour = CAUSE_COLOURS[name]
        look: dict[str, Any] = {"facecolor": colour, "hatch": HATCHES[name], "edgecolor": "#FFFFFF", "linewidth": 0.0}
        axes.fill_between(data["x"], lower, upper, label=_label(name), zorder=2, **look)
    axes.plot(data["x"], data["error"], color=BLACK, linewidth=1.1, label="depth error (sum)", zorder=4)
    axes.axhline(0.0, color=BLACK, linewidth=0.6, zorder=3)
    for edge in (-tolerance, tolerance):
        axes.axhline(edge, color=GREY, linewidth=1.0, linestyle="--", zorder=5)
    low, high = axes.get_ylim()
    room = 1.4 * tolerance
    axes.set_ylim(min(low, -room), max(high, room) + 0.1 * (high - low))
    over = blended_transform_factory(axes.transData, axes.transAxes)
    for place, beside in zip(places, apart([p.at for p in places], data["x"]), strict=True):
        axes.axvline(place.at, color=GREY, linewidth=0.7, linestyle=":", zorder=1)
        axes.text(beside, 0.965, str(place.number), transform=over, ha="center", va="center", fontsize=9,
                  fontweight="bold", zorder=6)  # fmt: skip
    axes.set_ylabel("depth error\nand its parts [mm]")
    axes.set_title("↑ too deep   ↓ too shallow", fontsize=9.5, loc="left", color=GREY)
    axes.set_title(f"dashed: tolerance ±{tolerance:.3g} mm", fontsize=9.5, loc="right", color=GREY)


def _label(name: str) -> str:
    return "wheel off: air under it, tyre and soil back" if name == "lift_off" else PART_NAMES[name]


def _load(axes: Axes, data: dict[str, NDArray[np.float64]], when_set: float) -> None:
    axes.plot(data["x"], data["load"], color=BLUE, linewidth=1.2)
    axes.axhline(when_set, color=BLACK, linewidth=0.9)
    axes.set_ylim(0.0, 1.2 * max(float(data["load"].max()), when_set, 0.1))
    axes.set_ylabel("gauge load\n[kN]")
    axes.set_title(f"black line: {when_set:.2f} kN when set", fontsize=9.5, loc="right", color=GREY)
    if data["off"].any():
        over = blended_transform_factory(axes.transData, axes.transAxes)
        axes.fill_between(data["x"], 0.93, 1.0, where=data["off"] > 0, color=BLACK, transform=over, linewidth=1.2)
        axes.set_title("black marks on top: wheel off", fontsize=9.5, loc="left", color=GREY)
