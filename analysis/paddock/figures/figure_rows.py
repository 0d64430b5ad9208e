"""Which rows run deep: each row's mean depth error with its interval, and where wheels and ruts are."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.ticker import MaxNLocator

from analysis.paddock.summary import RowMean, Summary, row_means
from analysis.present.figure_style import BLACK, BLUE, GREY, PALE, VERMILION, blank, headline, style
from analysis.present.sentences import DRAWN, by_mm
from analysis.present.sentences import setting as setting_words
from analysis.present.texts import signed

NOTE = (
    "Interval: 95 % of the mean, from the scatter between sections. Marked: apart from the other rows in the same "
    "sections by more than 1 mm and 3 standard errors."
)


def rows_figure(summary: Summary, setting: int | None = None) -> Figure:
    """Mean depth error of every row at a setting (its number; None: the chosen one), with 95 % intervals.

    Rows that stand out are marked.
    """
    number = summary.setting if setting is None else setting
    table, rows = summary.table, summary.rows if number == summary.setting else row_means(summary.table, number)
    spacing = table.machine.row_spacing
    with style():
        figure = blank(4.6)
        headline(figure, _finding(rows), _settings(summary, number, rows), NOTE)
        axes = figure.add_subplot()
        for track in table.tracks:
            place = 0.5 * (table.machine.rows + 1) - track / spacing
            axes.axvspan(place - 0.3 / spacing, place + 0.3 / spacing, color=PALE, linewidth=0)
        ends = (0.3, table.machine.rows + 0.7)
        wheels = [0.5 * (table.machine.rows + 1) - wheel / spacing
                  for wheel in (*table.machine.front_wheels, *table.machine.rear_wheels)]  # fmt: skip
        among = [place for place in wheels if ends[0] <= place <= ends[1]]  # further out no room were left for the axes
        for place in among:
            axes.plot([place], [0.0], marker="|", markersize=12, markeredgewidth=2.0, color=GREY, clip_on=False,
                      transform=axes.get_xaxis_transform())  # fmt: skip
        axes.axhline(0.0, color=BLACK, linewidth=0.8)
        for r in rows:
            _mark(axes, r)
        axes.set_xlim(*ends)
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        axes.set_xlabel("row, from the left")
        axes.set_ylabel("mean depth error [mm]\n(positive: deeper)")
        axes.legend(
            handles=_handles(summary, len(among), len(wheels) - len(among)),
            loc="upper center",
            bbox_to_anchor=(0.5, -0.2),
            ncols=2,
        )
    return figure


def _mark(axes: Axes, r: RowMean) -> None:
    """A row's mean with its interval, where it has one: a single section gives none."""
    colour, mark = (VERMILION, "s") if r.stands_out else (BLUE, "o")
    low, high = (r.mean - r.low) * 1e3, (r.high - r.mean) * 1e3
    interval = [[low], [high]] if np.isfinite([low, high]).all() else None
    axes.errorbar([r.row + 1], [r.mean * 1e3], interval, color=colour, marker=mark, markersize=5.0, capsize=2.0,
                  linewidth=1.1)  # fmt: skip


def _handles(summary: Summary, among: int, beside: int) -> list[Line2D | Patch]:
    """among, beside: wheels of the machine that stand between its outer rows, and beyond them."""
    more = (f" ({beside} more beyond the rows)" if among else "s: all beyond the rows") if beside else ""
    wheel = f"machine's wheel{more}"
    found: list[Line2D | Patch] = [
        Line2D([], [], color=BLUE, marker="o", label="row, with interval"),
        Line2D([], [], color=VERMILION, marker="s", label="stands out"),
        Line2D([], [], color=GREY, marker="|", markersize=12, markeredgewidth=2, linestyle="none", label=wheel),
    ]
    if summary.table.tracks:
        found.append(Patch(color=PALE, label="rut behind a wheel track"))
    return found


def _finding(rows: list[RowMean]) -> str:
    if not all(np.isfinite(r.mean) for r in rows):
        return "In no section were all rows crossed: nothing to compare"
    out = [r for r in rows if r.stands_out]
    if not out:
        return "No row runs deeper or shallower than the others"
    most = max(out, key=lambda r: abs(r.apart))
    count = f"{len(out)} rows stand out" if len(out) > 1 else "One row stands out"
    return f"{count}; row {most.row + 1} runs {by_mm(most.apart)} than the others"


def _settings(summary: Summary, number: int, rows: list[RowMean]) -> str:
    pressure, speed = summary.table.settings[number]
    means = np.array([r.mean for r in rows]) * 1e3
    mean = f": mean of all rows {signed(float(means.mean()))} mm" if np.isfinite(means).all() else ""
    return f"“{summary.table.title}” at {setting_words(pressure, speed, DRAWN, ' and ')}{mean}."
