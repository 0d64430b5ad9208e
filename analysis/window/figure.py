"""The window as a map: on-depth share over speed and oil pressure, the border of every limit, and the pick."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patheffects import withStroke
from numpy.typing import NDArray

from analysis.present.edge import bar
from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import BLACK, ORANGE, PURPLE, SKY, VERMILION, YELLOW, blank, headline, style
from analysis.present.sentences import DRAWN, sentence, setting
from analysis.window.feature.at_feature import largest_error
from analysis.window.figure_map import (
    Shown,
    coloured,
    hatched,
    mark_choice,
    present_setting,
    settings_line,
    ticks,
)
from analysis.window.grid import Window
from analysis.window.limits import asked_text, given, lifting, margins, meets
from analysis.window.pick import Nearest, Pick
from analysis.window.sentences import depth_words, edge_notes
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
        figure = blank(2.75 + min(max(0.44 * window.pressures.size, 1.9), 5.0))
        headline(figure, _finding(choice), settings_line(window, scenario), _note(window, choice))
        axes = figure.add_subplot()
        shown, met = _shown(window), meets(window, window.limits)
        coloured(axes, shown)
        handles = _limits(axes, window)
        fails = hatched(axes, ~met, shown, "fails a limit")
        handles += [fails] if met.any() else []
        _by_the_worst(axes, window, handles)
        mark_choice(axes, choice, picked, handles)
        present_setting(axes, window, scenario, handles)
        ticks(axes, window)
        foot_key(figure, handles)
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


def _note(window: Window, choice: Pick | Nearest) -> str:
    ends = "".join(f" {sentence(text)}" for text in edge_notes(choice)) if isinstance(choice, Pick) else ""
    lifted = ""
    if lifting(window).any():
        least = bar(window.pressures[lifting(window)][0])
        lifted = f" From {least:.4g} bar on all rows together would lift the toolbar."
    missing = "" if not window.problems else " White: could not be crossed."
    over = "the worst of the grounds" if window.limits.on_feature else "mean over the grounds"
    return (
        f"Numbers: {over}. Limits hold for the worst ground; each coloured line runs just inside the cells that meet "
        f"its limit.{_without_border(window)}{lifted}{missing}{ends}"
    )


def _without_border(window: Window) -> str:
    """The limits that all cells meet, and those that none does: there is no line to them."""
    room = margins(window, window.limits)
    told = ""
    for where, of in (("everywhere", np.all), ("nowhere", lambda met: not np.any(met))):
        names = [asked_text(limit, asked) for limit, asked in given(window.limits) if of(room[limit.name] >= 0.0)]
        told += f" Met {where}: {', '.join(names)}." if names else ""
    return told


def _shown(window: Window) -> Shown:
    """What the map shows, by what the ground is judged."""
    if window.limits.on_feature:
        error = largest_error(window) * 1e3
        high = max(20.0, float(np.nanmax(error, initial=0.0)))
        label = "largest depth error [mm]"
        return Shown(error, label, "cividis_r", 0.0, high, error > 0.44 * high)
    share = window.over_seeds("on_depth_share") * 100.0
    label = f"on depth (±{window.limits.depth_tolerance * 1e3:.3g} mm),\n% of the way"
    low = min(50.0, float(np.nanmin(share, initial=100.0)))
    return Shown(share, label, "cividis", low, 100.0, share < 78.0)


def _limits(axes: Axes, window: Window) -> list[Any]:
    """Borders of all limits that are given, each a little inside its own side, and their legend."""
    handles: list[Any] = []
    room = margins(window, window.limits)
    meeting = {limit.name: room[limit.name] >= 0.0 for limit, _ in given(window.limits)}
    split = [bool(met.any() and not met.all()) for met in meeting.values()]
    step = min(0.06, 0.18 / max(sum(split), 1))  # so that none reaches the number in the middle
    drawn = 0  # borders so far: only these take room in the cells
    for number, (limit, asked) in enumerate(given(window.limits)):
        colour, dashes = _BORDERS[number % len(_BORDERS)]
        met = meeting[limit.name]
        inset = 0.05 + step * drawn
        drawn += split[number]
        look = {"color": colour, "linestyle": dashes, "linewidth": 2.0, "solid_capstyle": "butt"}
        for piece in borders(met, inset):
            axes.plot(piece.x, piece.y, zorder=3, path_effects=[withStroke(linewidth=3.2, foreground=BLACK)], **look)
        if split[number]:
            handles.append(Line2D([], [], label=asked_text(limit, asked),
                                  path_effects=[withStroke(linewidth=3.2, foreground=BLACK)], **look))  # fmt: skip
    return handles


def reads_enough(window: Window) -> NDArray[np.bool_]:
    """Cells whose number reads as much as the on-depth share asked for, and that fail it all the same."""
    short = margins(window, window.limits)["on_depth_share_min"] < 0.0
    read = np.round(window.over_seeds("on_depth_share") * 100.0)
    return np.asarray(short & (read >= np.floor(window.limits.on_depth_share_min * 100.0 + 1e-9)))


def _by_the_worst(axes: Axes, window: Window, handles: list[Any]) -> None:
    """A mark beside each number that would pass for enough, and is not."""
    if window.limits.on_feature or not (found := np.argwhere(reads_enough(window))).size:
        return
    asked = f"{window.limits.on_depth_share_min * 100.0:.3g}"
    look: dict[str, Any] = {"marker": "v", "markersize": 5.0, "color": BLACK, "linestyle": "none"}
    axes.plot(found[:, 1] + 0.37, found[:, 0] - 0.27, zorder=4, markeredgecolor="white", **look)
    why = f"mean {asked} or more, but the worst ground less" if len(window.seeds) > 1 else f"{asked} by rounding alone"
    handles.append(Line2D([], [], label=why, **look))
