"""What one setting costs against another over the whole paddock: area on depth against oil pressure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from analysis.paddock.failures import failed_rows
from analysis.paddock.summary import HECTARE, Summary
from analysis.present.edge import bar, kgf, kmh
from analysis.present.figure_style import BLACK, BLUE, GREEN, ORANGE, PURPLE, SKY, VERMILION, blank, headline, style
from analysis.present.sentences import DRAWN, setting
from analysis.window.pick import Pick
from analysis.window.sentences import LEAST, NOTHING
from analysis.window.sentences import headline as headline_words

_LOOKS = ((BLUE, "o"), (VERMILION, "s"), (GREEN, "^"), (ORANGE, "D"), (PURPLE, "v"), (SKY, "P"))


def settings_figure(summary: Summary) -> Figure:
    """Area of the sections that are on depth for the share that the limit asks, by pressure, a line for each speed."""
    table = summary.table
    least = summary.limits.on_depth_share_min
    pressures = np.array([bar(p) for p in table.pressures])
    areas = np.array([table.area_on_depth(k, least) for k in range(len(table.settings))]) / HECTARE
    areas[[failed_rows(table, k) > 0 for k in range(areas.size)]] = np.nan  # not of the whole paddock
    areas = areas.reshape(table.speeds.size, table.pressures.size)
    total = table.area / HECTARE
    with style():
        figure = blank(4.8)
        headline(figure, _finding(summary, areas, total), f"“{table.title}”: {total:.3g} ha; an area counts where a "
                 f"row is on depth (±{table.limits.depth_tolerance * 1e3:.3g} mm) for at least {least * 100:g} % of a "
                 "section.")  # fmt: skip
        axes = figure.add_subplot()
        handles = []
        for j, speed in enumerate(table.speeds):
            colour, mark = _LOOKS[j % len(_LOOKS)]
            axes.plot(pressures, areas[j], color=colour, marker=mark, markersize=6)
            handles.append(Line2D([], [], color=colour, marker=mark, label=f"{kmh(float(speed)):.3g} km/h"))
        choice = summary.choice
        if np.isfinite(areas[choice.j, choice.i]):
            axes.plot([bar(choice.oil_pressure)], [areas[choice.j, choice.i]], marker="s", markersize=13,
                      markerfacecolor="none", markeredgecolor=BLACK, markeredgewidth=2.0, linestyle="none")  # fmt: skip
            label = "pick" if isinstance(choice, Pick) else LEAST
            handles.append(Line2D([], [], marker="s", markersize=11, markerfacecolor="none", markeredgecolor=BLACK,
                                  markeredgewidth=2.0, linestyle="none", label=label))  # fmt: skip
        axes.set_ylim(0.0, total * 1.02)
        if not np.isfinite(areas).any():
            axes.set_xlim(pressures.min() - 1.0, pressures.max() + 1.0)
        axes.set_xlabel("oil pressure [bar]")
        axes.set_ylabel("area on depth [ha]")
        share = axes.secondary_yaxis("right", functions=_per_cent(total))
        share.set_ylabel("share of the paddock [%]")
        top = axes.secondary_xaxis("top")
        top.set_xticks(pressures, [f"{kgf(float(f)):.0f}" for f in table.downforce])
        top.set_xlabel("downforce [kgf a row]")
        axes.set_xticks(pressures, [f"{p:.4g}" for p in pressures])
        axes.legend(handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.17), ncols=3)
    return figure


def _per_cent(total: float) -> tuple[Callable[[Any], Any], Callable[[Any], Any]]:
    """Area [ha] to per cent of a total, and back."""
    return (lambda area: area / total * 100.0), (lambda share: share * total / 100.0)


def _finding(summary: Summary, areas: np.ndarray, total: float) -> str:
    choice = summary.choice
    if not np.isfinite(areas).any():
        return f"{NOTHING}: at none of those tried could every row be crossed"
    here = float(areas[choice.j, choice.i])
    if not np.isfinite(here):
        return f"Most is {float(np.nanmax(areas)):.3g} of {total:.3g} ha on depth; settings left out failed in a row"
    said = f"{setting(choice.oil_pressure, choice.speed, DRAWN)}: {here:.3g} of {total:.3g} ha on depth"
    if not isinstance(choice, Pick):
        return f"{headline_words(choice)}. {said} with the one that {LEAST}"
    j, i = np.unravel_index(int(np.nanargmax(areas)), areas.shape)
    if areas[j, i] > here + 5e-4 * total:
        most = setting(float(summary.table.pressures[i]), float(summary.table.speeds[j]), DRAWN)
        return f"{said}; most is {areas[j, i]:.3g} ha with {most}"
    return f"{said}, the most of all settings tried"
