"""A map of speeds and oil pressures, part by part: coloured cells with their numbers, hatching, marks, axes."""

from __future__ import annotations

from typing import Any, NamedTuple

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from numpy.typing import NDArray

from analysis.present.edge import bar, kgf, kmh
from analysis.present.figure_style import BLACK
from analysis.present.scenario_words import scenario_title
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick
from analysis.window.sentences import LEAST
from scenarios.scenario import Scenario


class Shown(NamedTuple):
    """What a map shows: numbers of the cells, and how they are coloured; dark: cells on which a number is white."""

    numbers: NDArray[np.float64]  # (pressures, speeds)
    label: str
    colours: str
    low: float
    high: float
    dark: NDArray[np.bool_]


def coloured(axes: Axes, shown: Shown) -> None:
    """The cells in their colours with their numbers, and what the colours mean; where a number is NaN the map is white.

    Hatching stops before the numbers.
    """
    rows, columns = shown.numbers.shape
    x, y = np.arange(columns + 1) - 0.5, np.arange(rows + 1) - 0.5
    cells = axes.pcolormesh(x, y, shown.numbers, cmap=shown.colours, vmin=shown.low, vmax=shown.high,
                            edgecolors="face", linewidth=0.2)  # fmt: skip
    size = 10.0 if columns <= 9 else max(5.5, 90.0 / columns)
    colours = mpl.colormaps[shown.colours]
    for (i, j), value in np.ndenumerate(shown.numbers):
        if np.isfinite(value):
            about = colours((value - shown.low) / (shown.high - shown.low))
            axes.text(j, i, f"{value:.0f}", ha="center", va="center", fontsize=size, zorder=2.5,
                      color="white" if shown.dark[i, j] else "black",
                      bbox={"boxstyle": "round,pad=0.12", "facecolor": about, "linewidth": 0.0})  # fmt: skip
    axes.figure.colorbar(cells, ax=axes, pad=0.02, aspect=28).set_label(shown.label)


def hatched(axes: Axes, out: NDArray[np.bool_], shown: Shown, label: str) -> Any:
    """Hatching over the cells that are `out`, so that the others stand out in grey as well → its legend."""
    for i, j in np.argwhere(out).tolist():
        colour = "#FFFFFF77" if shown.dark[i, j] else "#00000055"
        axes.fill_between([j - 0.5, j + 0.5], i - 0.5, i + 0.5, facecolor="none", hatch="////", edgecolor=colour,
                          linewidth=0.0, zorder=2)  # fmt: skip
    return mpl.patches.Patch(facecolor="none", hatch="////", edgecolor="#00000088", label=label)


def settings_line(window: Window, scenario: Scenario) -> str:
    """The scenario, its settings and its grounds, under the title of a map."""
    s = scenario.settings
    grounds = f"{len(window.seeds)} grounds" if len(window.seeds) > 1 else "one ground"
    return (
        f"“{scenario_title(scenario)}”: set depth {s.set_depth * 1e3:.3g} mm, set again in every cell; precharge "
        f"{bar(s.precharge):.4g} bar; {grounds} of {scenario.length:.0f} m, the same in every cell."
    )


def mark_choice(axes: Axes, choice: Pick | Nearest, picked: bool, handles: list[Any]) -> None:
    """A frame about the cell of a pick, or of the setting that fails least."""
    label = "pick" if picked else LEAST
    box = mpl.patches.Rectangle((choice.j - 0.42, choice.i - 0.42), 0.84, 0.84, fill=False, edgecolor=BLACK,
                                linewidth=3.4, zorder=5)  # fmt: skip
    axes.add_patch(box)
    axes.add_patch(mpl.patches.Rectangle((choice.j - 0.42, choice.i - 0.42), 0.84, 0.84, fill=False,
                                         edgecolor="white", linewidth=1.2, zorder=6))  # fmt: skip
    handles.append(Line2D([], [], marker="s", markersize=9, markerfacecolor="none", markeredgecolor=BLACK,
                          markeredgewidth=2.6, linestyle="none", label=label))  # fmt: skip


def present_setting(axes: Axes, window: Window, scenario: Scenario, handles: list[Any]) -> None:
    """A ring about the file's own setting, where it lies within the map: between cells where it was not tried."""
    s = scenario.settings
    if not (window.pressures[0] <= s.oil_pressure <= window.pressures[-1]):
        return
    if not (window.speeds[0] <= s.speed <= window.speeds[-1]):
        return
    y = float(np.interp(s.oil_pressure, window.pressures, np.arange(window.pressures.size)))
    x = float(np.interp(s.speed, window.speeds, np.arange(window.speeds.size)))
    look: dict[str, Any] = {"marker": "o", "markerfacecolor": "none", "markeredgecolor": BLACK, "markeredgewidth": 2.6}
    axes.plot(x, y, linestyle="none", markersize=22.0, zorder=5, **look)
    axes.plot(x, y, linestyle="none", markersize=22.0, zorder=6,
              **{**look, "markeredgecolor": "white", "markeredgewidth": 1.0})  # fmt: skip
    handles.append(Line2D([], [], linestyle="none", markersize=9.5, label="the file's present setting", **look))


def ticks(axes: Axes, window: Window) -> None:
    """Axes of a map: speeds, pressures, and what these put on a row."""
    rows, columns = window.pressures.size, window.speeds.size
    axes.set_xticks(range(columns), [f"{kmh(v):.3g}" for v in window.speeds])
    axes.set_yticks(range(rows), [f"{bar(p):.4g}" for p in window.pressures])
    axes.set_xlim(-0.5, columns - 0.5)
    axes.set_ylim(-0.5, rows - 0.5)
    axes.set_xlabel("speed [km/h]")
    axes.set_ylabel("oil pressure [bar]")
    right = axes.secondary_yaxis("right")
    right.set_yticks(range(rows), [f"{kgf(f):.0f}" for f in window.downforce])
    right.set_ylabel("downforce [kgf a row]", labelpad=6)
    axes.tick_params(length=0)
    for side in axes.spines.values():
        side.set_visible(False)
