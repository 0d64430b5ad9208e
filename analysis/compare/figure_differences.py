"""Every difference from the first design with its interval, measure by measure."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from analysis.compare.compare import Comparison
from analysis.compare.measured import Measured
from analysis.compare.sentences import headline, out_of_place
from analysis.present.figure_style import BLACK, BLUE, GREY, ORANGE, PALE, blank, style
from analysis.present.figure_style import headline as over
from analysis.present.sentences import DRAWN, numbered, setting

COMMON, OWN = (BLUE, "o", "all at one setting"), (ORANGE, "s", "each at its own pick")


def differences_figure(found: Comparison) -> Figure:
    """A row of axes for each measure: the mean difference with its interval, and the difference on each ground."""
    others = range(1, len(found.results))
    with style():
        rows = math.ceil(len(found.measures) / 2)
        figure = blank(1.5 + rows * (0.85 + 0.42 * len(others)))
        over(figure, headline(found), _settings(found), _note(found))
        axes = figure.subplots(rows, 2, squeeze=False).ravel()
        for place, m in zip(axes, found.measures, strict=False):
            _one(place, found, m, list(others))
        for place in axes[len(found.measures) :]:
            place.axis("off")
        _key(axes[len(found.measures)] if len(axes) > len(found.measures) else axes[-1], found)
    return figure


def _one(axes: Axes, found: Comparison, m: Measured, others: list[int]) -> None:
    unit, factor, _ = m.form
    worth = m.worth_at(float(np.nanmean(found.results[0].common.values[m.name]))) * factor
    axes.axvspan(-worth, worth, color=PALE, zorder=0)
    axes.axvline(0.0, color=BLACK, linewidth=0.8, zorder=1)
    for row, number in enumerate(others):
        for (colour, mark, _), own, shift in ((COMMON, False, -0.17), (OWN, True, 0.17)):
            _mark(axes, found, m, number, own, row + shift, colour, mark)
    names = [found.results[number].design.name for number in others]
    axes.set_yticks(range(len(others)), [_short(name) for name in names] if len(others) > 1 else [""])
    axes.set_ylim(len(others) - 0.5, -0.5)
    axes.tick_params(axis="y", length=0)
    axes.spines["left"].set_visible(False)
    low, high = axes.get_xlim()
    edge = 1.15 * max(abs(low), abs(high), 1.3 * worth)
    axes.set_xlim(-edge, edge)
    axes.xaxis.set_major_locator(MaxNLocator(4))
    better = {1: "better →", -1: "← better", 0: ""}[m.better]
    told = "points" if unit == "%" else unit
    axes.set_title(f"{m.words}, {told}", loc="left", fontsize=9.5)
    if better:
        axes.text(0.98 if m.better > 0 else 0.02, 0.02, better, fontsize=8, color=GREY, transform=axes.transAxes,
                  ha="right" if m.better > 0 else "left", va="bottom")  # fmt: skip


def _mark(
    axes: Axes, found: Comparison, m: Measured, number: int, own: bool, y: float, colour: str, mark: str
) -> None:  # fmt: skip
    change, first, other = found.difference(number, m.name, own=own), found.at(0, own=own), found.at(number, own=own)
    if change is None or first is None or other is None:
        return
    factor = m.form[1]
    each = (other.values[m.name] - first.values[m.name]) * factor
    axes.plot(each, np.full(each.size, y), "|", color=colour, markersize=5, alpha=0.6, zorder=2)
    if math.isfinite(change.low):
        axes.plot([change.low * factor, change.high * factor], [y, y], color=colour, linewidth=2.2, zorder=3)
    axes.plot(change.mean * factor, y, mark, color=colour, markersize=5.5, zorder=4)


def _short(name: str) -> str:
    return name if len(name) <= 16 else f"{name[:15]}…"


def _settings(found: Comparison) -> str:
    at = found.results[0].common
    first = found.results[0].design.name
    where = (
        "each at its file's setting" if found.as_set else f"all at {setting(at.oil_pressure, at.speed, DRAWN, ', ')}"
    )
    own = ", and each at its own pick" if _own_too(found) else ""
    others = ", ".join(one.design.name for one in found.results[1:])
    title = found.results[0].design.scenario.title
    return f"{others} less {first}: {where}{own}; {numbered('ground', found.seeds)} of “{title}”."


def _own_too(found: Comparison) -> bool:
    """Whether some design and the first both have a pick."""
    return found.results[0].own is not None and any(one.own is not None for one in found.results[1:])


def _note(found: Comparison) -> str:
    astray = next((text for i in range(1, len(found.results)) if (text := out_of_place(found, i))), "")
    chance = "Thick: 95 % interval (paired t). " if len(found.seeds) > 1 else "One ground: no interval. "
    return f"{chance}Thin strokes: each ground. Grey band: too little to act on. {astray}".rstrip()


def _key(axes: Axes, found: Comparison) -> None:
    looks = [COMMON, OWN] if _own_too(found) else [COMMON]
    words = ["each at its file's setting"] if found.as_set else [look[2] for look in looks]
    handles = [Line2D([], [], color=colour, marker=mark, linewidth=2.2, label=word)
               for (colour, mark, _), word in zip(looks, words, strict=True)]  # fmt: skip
    axes.legend(handles=handles, loc="center left" if not axes.axison else "best")
