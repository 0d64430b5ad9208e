"""Oil pressure over gas volume: how much of the loop is spring and how much is loss."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.crossing.loads import gas
from analysis.explain.explain import Explanation
from analysis.explain.figure_words import settings_line
from analysis.present.cautions import PRESSURE_NOTE
from analysis.present.edge import bar
from analysis.present.figure_style import BLACK, BLUE, GREY, VERMILION, blank, headline, style
from analysis.present.texts import number
from sim.laws.gas import state
from sim.model import gas_law
from sim.run import prepare
from sim.unit import ATMOSPHERE

POINTS = 6000
CURVE = 80


def gas_figure(told: Explanation) -> Figure:
    """Pressure at the accumulator over the gas volume of a crossing, with the slow and the empty ends."""
    run = told.run
    acc = run.unit.accumulator
    volume, pressure = run.series["gas_volume"] * 1e6, (run.series["oil_pressure"] - ATMOSPHERE) / 1e5
    keep = slice(None, None, max(1, volume.size // POINTS))
    found = gas(run)
    out = "; it ran out of oil" if found.out else ""
    with style():
        figure = blank(5.3)
        headline(
            figure,
            f"Oil pressure from {number(bar(found.pressure_min))} to {number(bar(found.pressure_max))} bar, set to "
            f"{bar(run.settings.oil_pressure):.4g} bar{out}",
            f"{settings_line(told)} Precharge {bar(run.settings.precharge):.4g} bar, {acc.volume * 1e3:.3g} l.",
            PRESSURE_NOTE,
        )
        axes = figure.add_subplot()
        axes.plot(volume[keep], pressure[keep], color=BLUE, linewidth=0.7, label="crossing")
        span = np.linspace(max(float(volume.min()), 1.0), min(float(volume.max()), acc.volume * 1e6), CURVE)
        if span[-1] > span[0]:
            axes.plot(span, isotherm(told, span / 1e6), color=BLACK, linestyle="--", linewidth=1.2,
                      label="so slowly that the gas keeps its temperature")  # fmt: skip
        start = prepare(run.unit, run.soil, run.track.rock, run.settings).gas.volume * 1e6
        axes.plot(start, bar(run.settings.oil_pressure), "o", color=VERMILION, markersize=7, label="as set")
        low, high = axes.get_xlim()
        full = acc.volume * 1e6
        if found.out or high >= full:
            axes.axvline(full, color=GREY, linestyle=":")
            axes.text(full, axes.get_ylim()[1], "no oil left ", ha="right", va="top", fontsize=9.5, color=GREY)
        axes.set_xlim(low, high)
        axes.set_xlabel("gas volume in the accumulator, as the piston asks for [cm³]")
        axes.set_ylabel("oil pressure [bar]")
        axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.17), ncols=1)
    return figure


def isotherm(told: Explanation, volume: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gauge pressure [bar] of the accumulator's gas at its working temperature, by its volume [m³]; shape kept."""
    run = told.run
    law, kelvin = gas_law(run.settings), run.settings.gas_temperature
    mass = prepare(run.unit, run.soil, run.track.rock, run.settings).gas.mass
    return np.array([(state(mass / v, kelvin, law)[0] - ATMOSPHERE) / 1e5 for v in volume])
