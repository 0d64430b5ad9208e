"""The window as a map: on-depth share over speed and oil pressure, the border of every limit, and the pick."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patheffects import withStroke
from numpy.typing import NDArray

from analysis.present.edge import bar, kgf, kmh
from analysis.present.figure_style import BLACK, ORANGE, PURPLE, SKY, VERMILION, YELLOW, blank, headline, style
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import DRAWN, sentence, setting
from analysis.window.feature.at_feature import largest_error
from analysis.window.grid import Window
from analysis.window.limits import asked_text, given, lifting, margins, meets
from analysis.window.pick import Nearest, Pick
from analysis.window.sentences import LEAST, depth_words, edge_notes
from analysis.window.sentences import headline as headline_words
from scenarios.scenario import Scenario

_BORDERS: tuple[tuple[str, Any], ...] = (
    (VERMILION, "-"),
    (SKY, (0, (4, 1.2))),
    (YELLOW, (0, (1.2, 0.8))),
    (PURPLE, (0, (5, 1, 1, 1))),
    (ORANGE, (0, (2, 1))),
    ("#FFFFFF", (0, (6, 1))),
    ("#BBBBBB", "-"),
    (SKY, "-"),
    (VERMILION, (0, (1.2, 0.8))),
    (YELLOW, (0, (6, 1))),
    (PURPLE, "-"),
    (ORANGE, (0, (1, 2))),
)


@dataclass(frozen=True)
class Segment:
    """A piece of border in cell numbers, drawn `inset` inside the cells that meet a limit."""

    x: tuple[float, float]
    y: tuple[float, float]


def window_figure(window: Window, choice: Pick | Nearest, scenario: Scenario) -> Figure:
    """Map of a window: one cell for each pressure and speed, numbers in per cent of the way on depth; where the ground
    is one feature the largest depth error.
    """
    picked = isinstance(choice, Pick)
    with style():
        rows, columns = window.pressures.size, window.speeds.size
        figure = blank(2.9 + min(max(0.42 * rows, 1.6), 5.0))
        headline(figure, _finding(choice), settings_line(window, scenario), _note(window, choice))
        axes = figure.add_subplot()
        shown = _shown(window)
        x, y = np.arange(columns + 1) - 0.5, np.arange(rows + 1) - 0.5
        cells = axes.pcolormesh(x, y, shown.numbers, cmap=shown.colours, vmin=shown.low, vmax=shown.high,
                                edgecolors="face", linewidth=0.2)  # fmt: skip
        _numbers(axes, shown)
        handles = _limits(axes, window)
        _region(axes, meets(window, window.limits), handles)
        mark_choice(axes, choice, picked, handles)
        present_setting(axes, window, scenario, handles)
        ticks(axes, window)
        colours = figure.colorbar(cells, ax=axes, pad=0.02, aspect=28)
        colours.set_label(shown.label)
        axes.legend(handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.2), ncols=1, handlelength=3.0,
                    labelspacing=0.35)  # fmt: skip
    return figure


def borders(met: NDArray[np.bool_], inset: float = 0.0) -> Iterator[Segment]:
    """Edges between cells that meet a limit and cells that do not, joined at their corners; met: (rows, columns)."""
    # with a rim that repeats the outermost cells there is no border along the edge of the map
    wide = np.pad(met, 1, mode="edge")
    rows, columns = met.shape
    for i, j in np.ndindex(rows, columns):
        for di, dj in ((0, 1), (0, -1), (1, 0), (-1, 0)):
            if not met[i, j] or wide[i + 1 + di, j + 1 + dj]:
                continue
            ends = []
            for along in (-1, 1):
                ai, aj = along * abs(dj), along * abs(di)
                beside, across = wide[i + 1 + ai, j + 1 + aj], wide[i + 1 + ai + di, j + 1 + aj + dj]
                ends.append(along * (0.5 + (0.0 if beside and not across else inset if beside else -inset)))
            away = 0.5 - inset
            if dj:
                yield Segment((j + dj * away, j + dj * away), (i + ends[0], i + ends[1]))
            else:
                yield Segment((j + ends[0], j + ends[1]), (i + di * away, i + di * away))


def _finding(choice: Pick | Nearest) -> str:
    place = setting(choice.oil_pressure, choice.speed, DRAWN, ", ")
    said = headline_words(choice, f"{place}, {depth_words(choice.set_depth)}")
    return f"{said}: the fastest tried that meets every limit" if isinstance(choice, Pick) else said


def settings_line(window: Window, scenario: Scenario) -> str:
    """The scenario, its settings and its grounds, under the title of a map."""
    s = scenario.settings
    grounds = f"{len(window.seeds)} grounds" if len(window.seeds) > 1 else "one ground"
    return (
        f"“{scenario_title(scenario)}”: set depth {s.set_depth * 1e3:.3g} mm, set again in every cell; precharge "
        f"{bar(s.precharge):.4g} bar; {grounds} of {scenario.length:.0f} m, the same in every cell."
    )


def _note(window: Window, choice: Pick | Nearest) -> str:
    ends = "".join(f" {sentence(text)}" for text in edge_notes(choice)) if isinstance(choice, Pick) else ""
    lifted = ""
    if lifting(window).any():
        least = bar(window.pressures[lifting(window)][0])
        lifted = f" From {least:.4g} bar on all rows together would lift the toolbar."
    missing = "" if not window.problems else " White: could not be crossed."
    numbers = f"Numbers: {_shown(window).over_grounds}."
    return (
        f"{numbers} Limits hold for the worst ground; each coloured line runs just inside the cells that meet its "
        f"limit.{lifted}{missing}{ends}"
    )


class _Shown(NamedTuple):
    """What the map shows: numbers of the cells, and how they are coloured; dark where a number says so."""

    numbers: NDArray[np.float64]  # (pressures, speeds)
    label: str
    over_grounds: str
    colours: str
    low: float
    high: float
    dark: NDArray[np.bool_]


def _shown(window: Window) -> _Shown:
    if window.limits.on_feature:
        error = largest_error(window) * 1e3
        high = max(20.0, float(np.nanmax(error, initial=0.0)))
        label = "largest depth error [mm]"
        return _Shown(error, label, "the worst of the grounds", "cividis_r", 0.0, high, error > 0.44 * high)
    share = window.over_seeds("on_depth_share") * 100.0
    label = f"on depth (±{window.limits.depth_tolerance * 1e3:.3g} mm), % of the way"
    low = min(50.0, float(np.nanmin(share, initial=100.0)))
    return _Shown(share, label, "mean over the grounds", "cividis", low, 100.0, share < 78.0)


def _numbers(axes: Axes, shown: _Shown) -> None:
    columns = shown.numbers.shape[1]
    size = 10.0 if columns <= 9 else max(5.5, 90.0 / columns)
    colours, low, high = mpl.colormaps[shown.colours], shown.low, shown.high
    for (i, j), value in np.ndenumerate(shown.numbers):
        if np.isfinite(value):
            ground = colours((value - low) / (high - low))  # about the figures: hatching and borders pass behind them
            axes.text(j, i, f"{value:.0f}", ha="center", va="center", fontsize=size, zorder=4,
                      color="white" if shown.dark[i, j] else "black",
                      path_effects=[withStroke(linewidth=3.0, foreground=ground)])  # fmt: skip


def _limits(axes: Axes, window: Window) -> list[Any]:
    """Borders of all limits that are given, each a little inside its own side, and their legend."""
    handles: list[Any] = []
    room = margins(window, window.limits)
    split = [
        bool(met.any() and not met.all()) for met in (room[limit.name] >= 0.0 for limit, _ in given(window.limits))
    ]
    step = min(0.06, 0.18 / max(sum(split), 1))  # so that none reaches the number in the middle
    drawn = 0  # borders so far: only these take room in the cells
    for number, (limit, asked) in enumerate(given(window.limits)):
        colour, dashes = _BORDERS[number % len(_BORDERS)]
        met = room[limit.name] >= 0.0
        inset = 0.05 + step * drawn
        drawn += split[number]
        look = {"color": colour, "linestyle": dashes, "linewidth": 2.0, "solid_capstyle": "butt"}
        for piece in borders(met, inset):
            axes.plot(piece.x, piece.y, zorder=3, path_effects=[withStroke(linewidth=3.2, foreground=BLACK)], **look)
        where = "" if not met.all() else " (met everywhere)"
        where = where if met.any() else " (met nowhere)"
        handles.append(Line2D([], [], label=asked_text(limit, asked) + where,
                              path_effects=[withStroke(linewidth=3.2, foreground=BLACK)], **look))  # fmt: skip
    return handles


def _region(axes: Axes, met: NDArray[np.bool_], handles: list[Any]) -> None:
    """Hatching over what fails, so that the window stands out in grey as well."""
    for (i, j), good in np.ndenumerate(met):
        if not good:
            axes.fill_between([j - 0.5, j + 0.5], i - 0.5, i + 0.5, facecolor="none", hatch="////",
                              edgecolor="#00000055", linewidth=0.0, zorder=2)  # fmt: skip
    if met.any():
        handles.append(mpl.patches.Patch(facecolor="none", hatch="////", edgecolor="#00000088", label="fails a limit"))


def mark_choice(axes: Axes, choice: Pick | Nearest, picked: bool, handles: list[Any]) -> None:
    """A frame about the cell of a pick, or of the setting that fails least."""
    label = "pick" if picked else LEAST
    box = mpl.patches.Rectangle((choice.j - 0.42, choice.i - 0.42), 0.84, 0.84, fill=False, edgecolor=BLACK,
                                linewidth=3.4, zorder=5)  # fmt: skip
    axes.add_patch(box)
    axes.add_patch(mpl.patches.Rectangle((choice.j - 0.42, choice.i - 0.42), 0.84, 0.84, fill=False,
                                         edgecolor="white", linewidth=1.2, zorder=6))  # fmt: skip
    handles.append(Line2D([], [], marker="s", markersize=11, markerfacecolor="none", markeredgecolor=BLACK,
                          markeredgewidth=2.6, linestyle="none", label=label))  # fmt: skip


def present_setting(axes: Axes, window: Window, scenario: Scenario, handles: list[Any]) -> None:
    """The file's own setting, where it lies within the map."""
    s = scenario.settings
    if not (window.pressures[0] <= s.oil_pressure <= window.pressures[-1]):
        return
    if not (window.speeds[0] <= s.speed <= window.speeds[-1]):
        return
    y = float(np.interp(s.oil_pressure, window.pressures, np.arange(window.pressures.size)))
    x = float(np.interp(s.speed, window.speeds, np.arange(window.speeds.size)))
    look: dict[str, Any] = {"marker": "v", "markersize": 7, "markerfacecolor": "white", "markeredgecolor": BLACK}
    axes.plot(x + 0.31, y - 0.3, linestyle="none", zorder=7, **look)
    handles.append(Line2D([], [], linestyle="none", label="the file's present setting", **look))


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
