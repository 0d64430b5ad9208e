"""Readings against what is expected of them, before and after the fit; and how far each value narrowed."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from analysis.fit.fitted import Fit, Fitted, Residual
from analysis.fit.words import as_share, figures, residual_name
from analysis.present.figure_style import BLUE, GREY, PALE, VERMILION, blank, headline, style
from scenarios.doubt.keys import edge_of
from scenarios.format.edge_units import unit_text

ROW, FOOT = 0.27, 1.9  # height of a line [in], and of all beside lines
MOST = 4.0  # standard deviations shown at most


def fit_figure(found: Fit) -> Figure:
    """Left: each reading's distance from what the file's own values and the fitted ones expect, in its own standard
    deviations. Right: each value's range before and after, against the range before.
    """
    readings, values = list(found.residuals), sorted(found.values, key=lambda one: one.left)
    told = [one for one in values if one.learned != "not at all"] or values[:5]
    height = FOOT + ROW * (len(readings) + len(told)) + 0.9
    with style():
        figure = blank(height, width=7.2)
        headline(figure, _finding(found), _settings(found), _note(values, told))
        upper, lower = figure.subplots(2, 1, height_ratios=(max(len(readings), 2), max(len(told), 2)))
        _readings(readings, upper)
        _values(told, lower)
    return figure


def _readings(readings: list[Residual], axes: Axes) -> None:
    at = np.arange(len(readings))[::-1]
    axes.axvspan(-2.0, 2.0, facecolor=PALE, alpha=0.6, linewidth=0.0)
    axes.axvline(0.0, color=GREY, linewidth=0.9)
    for y, one in zip(at, readings, strict=True):
        scale = max(one.sd, 1e-12)
        after = _held((one.reading - one.predicted) / scale)
        before = _held((one.reading - one.before) / scale) if np.isfinite(one.before) else after
        axes.plot([before, after], [y, y], color=GREY, linewidth=0.8)
        axes.plot(before, y, marker="o", color=VERMILION, markerfacecolor="white", markersize=6, linestyle="none")
        axes.plot(after, y, marker="D", color=BLUE, markersize=5, linestyle="none")
    axes.set_yticks(at, [residual_name(one) for one in readings], fontsize=8.5)
    axes.set_ylim(-0.7, max(len(readings) - 0.3, 0.7))
    axes.set_xlim(-MOST - 0.2, MOST + 0.2)
    axes.set_xlabel("reading less expected, in its standard deviations")
    marks = [
        Line2D(
            [], [], marker="o", color=VERMILION, markerfacecolor="white", linestyle="none", label="the file's values"
        ),
        Line2D([], [], marker="D", color=BLUE, linestyle="none", label="fitted"),
    ]
    axes.legend(handles=marks, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2, borderaxespad=0.2)


def _held(value: float) -> float:
    return float(np.clip(value, -MOST, MOST))


def _values(values: list[Fitted], axes: Axes) -> None:
    at = np.arange(len(values))[::-1]
    for y, one in zip(at, values, strict=True):
        low, high = (_along(one, v) for v in (one.low, one.high))
        axes.plot([-1.0, 1.0], [y, y], color=PALE, linewidth=9, solid_capstyle="butt")
        axes.plot([low, high], [y, y], color=BLUE, linewidth=4, solid_capstyle="butt")
        axes.plot(_along(one, one.value), y, marker="D", color="white", markeredgecolor=BLUE, markersize=5)
    axes.set_yticks(at, [_label(one) for one in values], fontsize=8.5)
    axes.set_ylim(-0.7, max(len(values) - 0.3, 0.7))
    axes.set_xlim(-1.45, 1.45)
    axes.axvline(0.0, color=GREY, linewidth=0.9, zorder=0)
    axes.set_xticks([-1.0, 0.0, 1.0], ["low end", "the file's value", "high end"])
    axes.set_xlabel("grey: 19 of 20 within before · blue: after")


def _along(one: Fitted, value: float) -> float:
    """A value between the ends of the range before: −1 to 1; in the logarithm where that range is a factor."""
    if one.doubtful.way == "times":
        value, low, high = np.log(value), np.log(one.prior_low), np.log(one.prior_high)
    else:
        low, high = one.prior_low, one.prior_high
    return float(np.clip((2.0 * value - low - high) / (high - low), -1.4, 1.4))


def _label(one: Fitted) -> str:
    unit = " %" if as_share(one) else unit_text(edge_of(one.doubtful))
    return f"{one.doubtful.words}\n{figures(one, one.before)} → {figures(one, one.value)}{unit}"


def _finding(found: Fit) -> str:
    learned = [one.doubtful.words for one in found.values if one.learned == "learned"]
    little = sum(one.learned == "a little" for one in found.values)
    if not learned and not little:
        return "The readings tell nothing about any value"
    if not learned:
        return f"{little} values are known a little better; none well"
    more = f", {little} more a little better" if little else ""
    return f"Learned: {', '.join(learned)}{more}"


def _settings(found: Fit) -> str:
    fits = "the readings fit the model" if found.check.fits else "the readings do not fit the model"
    return f"“{found.scenario.title}”: {found.measured.count} readings; {fits} (p = {found.check.p:.2g})."


def _note(values: list[Fitted], told: list[Fitted]) -> str:
    silent = len(values) - len(told)
    more = f"{silent} further values were not learned of. " if silent else ""
    return f"{more}Beyond {MOST:g} standard deviations: drawn at the edge."
