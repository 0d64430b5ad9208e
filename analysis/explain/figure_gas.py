"""Oil pressure over gas volume: how much of the loop is spring and how much is loss."""

from __future__ import annotations

from matplotlib.figure import Figure

from analysis.explain.explain import Explanation
from analysis.explain.figure_words import settings_line
from analysis.explain.gas_loop import GasLoop
from analysis.present.cautions import PRESSURE_NOTE
from analysis.present.edge import bar
from analysis.present.figure_style import BLACK, BLUE, GREY, VERMILION, blank, headline, style
from analysis.present.texts import number

POINTS = 6000


def gas_figure(told: Explanation, loop: GasLoop) -> Figure:
    """Pressure at the accumulator over the gas volume of a crossing, with the slow and the empty ends."""
    run, found, full = told.run, loop.found, loop.full_volume
    keep = slice(None, None, max(1, loop.volume.size // POINTS))
    out = "; it ran out of oil" if found.out else ""
    with style():
        figure = blank(5.3)
        headline(
            figure,
            f"Oil pressure from {number(bar(found.pressure_min))} to {number(bar(found.pressure_max))} bar, set to "
            f"{bar(run.settings.oil_pressure):.4g} bar{out}",
            f"{settings_line(told)} Precharge {bar(run.settings.precharge):.4g} bar, {full / 1e3:.3g} l.",
            PRESSURE_NOTE,
        )
        axes = figure.add_subplot()
        axes.plot(loop.volume[keep], loop.pressure[keep], color=BLUE, linewidth=0.7, label="crossing")
        if loop.slow_volume[-1] > loop.slow_volume[0]:
            axes.plot(loop.slow_volume, loop.slow_pressure, color=BLACK, linestyle="--", linewidth=1.2,
                      label="so slowly that the gas keeps its temperature")  # fmt: skip
        axes.plot(loop.set_volume, bar(run.settings.oil_pressure), "o", color=VERMILION, markersize=7, label="as set")
        low, high = axes.get_xlim()
        if found.out or high >= full:
            axes.axvline(full, color=GREY, linestyle=":")
            axes.text(full, axes.get_ylim()[1], "no oil left ", ha="right", va="top", fontsize=9.5, color=GREY)
        axes.set_xlim(low, high)
        axes.set_xlabel("gas volume in the accumulator, as the piston asks for [cm³]")
        axes.set_ylabel("oil pressure [bar]")
        axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.17), ncols=1)
    return figure
