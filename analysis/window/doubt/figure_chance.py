"""The window by chance: a map of the chance that all limits are met, over speed and oil pressure."""

from __future__ import annotations

from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure

from analysis.present.figure_style import blank, headline, style
from analysis.present.sentences import DRAWN, setting
from analysis.present.texts import percent, plural
from analysis.window.doubt.pick import Doubt
from analysis.window.figure import mark_choice, present_setting, settings_line, ticks
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick
from analysis.window.sentences import asked_chance, depth_words
from analysis.window.sentences import headline as headline_words
from scenarios.scenario import Scenario

DARK = 0.55  # chances below this have white numbers


def chance_figure(window: Window, doubt: Doubt, scenario: Scenario) -> Figure:
    """Map of a window under doubt: one cell for each pressure and speed, numbers the chance in per cent; a cell that
    was not looked at is left white.
    """
    chance, found = doubt.chance, doubt.outcome
    rows, columns = chance.grid.shape
    with style():
        figure = blank(2.6 + min(max(0.42 * rows, 1.6), 5.0))
        headline(figure, _finding(doubt, found), settings_line(window, scenario), _note(doubt))
        axes = figure.add_subplot()
        x, y = np.arange(columns + 1) - 0.5, np.arange(rows + 1) - 0.5
        cells = axes.pcolormesh(x, y, chance.grid * 100.0, cmap="cividis", vmin=0.0, vmax=100.0, edgecolors="face",
                                linewidth=0.2)  # fmt: skip
        size = 10.0 if columns <= 9 else max(5.5, 90.0 / columns)
        handles: list[Any] = []
        for (i, j), share in np.ndenumerate(chance.grid):
            if not np.isfinite(share):
                continue
            axes.text(j, i, f"{share * 100.0:.0f}", ha="center", va="center", fontsize=size,
                      color="white" if share < DARK else "black")  # fmt: skip
            if share < doubt.confidence - 1e-9:
                axes.fill_between([j - 0.5, j + 0.5], i - 0.5, i + 0.5, facecolor="none", hatch="////",
                                  edgecolor="#00000055", linewidth=0.0, zorder=2)  # fmt: skip
        less = f"less than {asked_chance(doubt.confidence)}"
        handles.append(mpl.patches.Patch(facecolor="none", hatch="////", edgecolor="#00000088", label=less))
        mark_choice(axes, found, isinstance(found, Pick), handles)
        present_setting(axes, window, scenario, handles)
        ticks(axes, window)
        figure.colorbar(cells, ax=axes, pad=0.02, aspect=28).set_label("chance that all limits are met, %")
        axes.legend(handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.2), ncols=1, handlelength=3.0,
                    labelspacing=0.35)  # fmt: skip
    return figure


def _finding(doubt: Doubt, found: Pick | Nearest) -> str:
    place = f"{setting(found.oil_pressure, found.speed, DRAWN, ', ')}, {depth_words(found.set_depth)}"
    said = headline_words(found, place)
    if isinstance(found, Nearest):
        return said
    share = percent(float(doubt.chance.grid[found.i, found.j]), 0)
    if not doubt.decides:
        return f"{said}: as far as values are in doubt, a chance of {share} that all limits are met"
    return f"{said}: the fastest tried with a chance of {asked_chance(doubt.confidence)}; here {share}"


def _note(doubt: Doubt) -> str:
    held = doubt.chance.held
    what = "as far as readings left them" if doubt.decides else "as assumed ([prior])"
    white = "" if doubt.chance.looked.all() else " White: not looked at."
    return (
        f"{plural(len(held.names), 'value')} in doubt {what}; numbers: share of {plural(doubt.chance.sets, 'set')} of "
        f"values with which all limits are met on every ground.{white}"
    )
