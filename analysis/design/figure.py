"""The front drawn: hectares an hour against on-depth share, marks by mean pin load, open where new ground fails it."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from analysis.design.search import Search
from analysis.design.words import first_of
from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import BLACK, VERMILION, blank, headline, style
from analysis.present.sentences import numbered
from analysis.present.texts import number, percent


def design_figure(found: Search, title: str) -> Figure:
    """One panel; the file's own values as a cross."""
    worths = [one.worth for one in found.front if one.worth is not None]
    with style():
        figure = blank(5.2)
        headline(figure, _finding(found), _settings(found, title), _note(found))
        axes = figure.add_subplot()
        x = np.array([worth.hectares for worth in worths])
        y = np.array([worth.on_depth * 100.0 for worth in worths])
        load = np.array([worth.pin / 1e3 for worth in worths])
        good = np.array([one.meets for one in found.unseen] or [True] * len(worths), dtype=bool)
        if worths:
            marks = axes.scatter(x, y, c=load, cmap="cividis", s=46, edgecolors=BLACK, linewidths=0.5, zorder=3)
            name = "_" if good.all() else "fails a limit on new ground"  # "_": not in the legend
            axes.scatter(x[~good], y[~good], s=120, facecolors="none", edgecolors=VERMILION, linewidths=1.5, marker="s",
                         label=name)  # fmt: skip
            figure.colorbar(marks, ax=axes, label="mean load of the pin with most [kN]")
            best = first_of(found)
            axes.annotate("look at first", (x[best], y[best]), xytext=(26, 20), textcoords="offset points", ha="left",
                          fontsize=9, arrowprops={"arrowstyle": "-", "linewidth": 0.8})  # fmt: skip
        own = found.own.worth
        if own is not None:
            axes.plot(own.hectares, own.on_depth * 100.0, marker="X", color=BLACK, markersize=9, linestyle="none",
                      label="the file's own values")  # fmt: skip
        axes.margins(0.08, 0.12)
        axes.set_xlabel("area in an hour [ha]")
        axes.set_ylabel("on-depth share of the worst ground [%]")
        foot_key(figure, axes.get_legend_handles_labels()[0])
    return figure


def _finding(found: Search) -> str:
    if not found.front:
        return "None of the designs tried meets every limit"
    worth = found.front[first_of(found)].worth
    assert worth is not None
    return f"{number(worth.hectares, 2)} ha/h with {percent(worth.on_depth)} on depth meets every limit"


def _settings(found: Search, title: str) -> str:
    free = ", ".join(knob.name for knob in found.space.free)
    return f"“{title}”, {numbered('ground', found.seeds)}; free: {free} and speed."


def _note(found: Search) -> str:
    new = f" New ground: {numbered('ground', found.new_seeds)}." if found.new_seeds else ""
    return f"{found.tried} designs tried.{new} Simulated loads are for comparing; they are no design loads."
