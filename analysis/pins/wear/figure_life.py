"""Pressure in a pin's bushes against its span, and its life against oil pressure and speed."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from analysis.pins.wear.at_settings import LifeGrid, SpanLine
from analysis.pins.wear.life import PRACTICE
from analysis.pins.wear.told import Told
from analysis.present.edge import bar, kmh
from analysis.present.figure_style import BLUE, GREEN, GREY, ORANGE, PALE, VERMILION, blank, headline, style
from analysis.present.sentences import DRAWN, setting, spoken
from analysis.present.texts import short

_LOOKS = ((BLUE, "o"), (VERMILION, "s"), (GREEN, "^"))


def life_figure(told: Told, line: SpanLine, grid: LifeGrid, title: str) -> Figure:
    """Two panels of the pin told in full, or the lower one alone where it carries no couple; title: of the scenario."""
    both = line.spans.size > 0
    with style():
        figure = blank(8.2 if both else 5.2)
        headline(figure, _finding(told, line), _settings(told, title), _note())
        axes = figure.subplots(2 if both else 1, 1, squeeze=False)[:, 0]
        if both:
            _pressures(line, axes[0])
        _lives(told, grid, axes[-1])
    return figure


def _pressures(line: SpanLine, axes: Axes) -> None:
    at = line.spans * 1e3
    axes.fill_between(
        at, line.low / 1e6, line.high / 1e6, color=PALE, linewidth=0.0, label="mean, whoever takes the couples"
    )
    axes.plot(at, line.mean / 1e6, color=BLUE, label="mean, shared as assumed")
    axes.plot(at, line.peak / 1e6, color=VERMILION, linestyle="--", label="peak")
    if line.own > 0.0:
        axes.axvline(line.own * 1e3, color=GREY, linewidth=0.9)
        axes.text(line.own * 1e3, 0.98, " now", transform=axes.get_xaxis_transform(), va="top", color=GREY, fontsize=9)
    axes.set_ylim(bottom=0.0)
    axes.set_xlim(at[0], at[-1])
    axes.set_xlabel("span between the middles of the bushes [mm]")
    axes.set_ylabel("pressure in the\nworse bush [MPa]")
    axes.legend(loc="upper right")


def _lives(told: Told, grid: LifeGrid, axes: Axes) -> None:
    if not np.isfinite(grid.middle).any():
        axes.text(0.5, 0.5, "does not turn on this ground: no wear reckoned", ha="center", transform=axes.transAxes)
        axes.set_axis_off()
        return
    if told.of.name.startswith("main"):
        axes.axhspan(*PRACTICE, color=ORANGE, alpha=0.35, linewidth=0.0, label="common practice, main pins")
    shift = 0.12 * float(np.diff([bar(p) for p in grid.pressures]).min()) if grid.pressures.size > 1 else 0.0
    for k, (speed, (colour, mark)) in enumerate(zip(grid.speeds, _LOOKS, strict=False)):
        at = np.array([bar(p) for p in grid.pressures]) + shift * (k - 1)
        axes.vlines(at, grid.low[:, k], grid.high[:, k], color=colour, linewidth=1.1)
        axes.plot(at, grid.middle[:, k], color=colour, marker=mark, markersize=5, linestyle="none",
                  label=f"{kmh(speed):.3g} km/h")  # fmt: skip
    axes.set_yscale("log")
    low, high = axes.get_ylim()
    axes.set_ylim(low, 4.0 * high)
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.set_xticks([bar(p) for p in grid.pressures], [short(bar(p)) for p in grid.pressures])
    axes.set_xlabel("oil pressure [bar]")
    axes.set_ylabel("years to the worn-out play")
    axes.legend(loc="upper right", ncols=2, frameon=True, facecolor="white", edgecolor="none", framealpha=0.9)


def _finding(told: Told, line: SpanLine) -> str:
    life = told.of
    name = spoken(life.name).capitalize()
    if life.years is None:
        return f"{name}: does not turn on this ground"
    years = f"{life.years[0]:.2g} to {life.years[1]:.2g} years"
    if line.spans.size == 0 or life.duty.couple_part == 0.0:
        return f"{name} lasts {years}"
    share = life.duty.couple_part / (life.duty.couple_part + life.duty.in_plane)
    return f"{name} lasts {years}; {100 * share:.0f} % of its bush load comes from beside the links"


def _settings(told: Told, title: str) -> str:
    settings, year, pin = told.work.settings, told.pins.farm, told.of.duty.pin
    bushes = f"two bushes of {pin.length * 1e3:.4g} mm" if pin.bushes > 1 else f"one bush of {pin.length * 1e3:.4g} mm"
    area = short(float(f"{year.hectares:.3g}"))
    return (
        f"“{title}”, {setting(settings.oil_pressure, settings.speed, DRAWN, ', ')}; {area} ha a year on "
        f"{year.width:.3g} m; pin of {pin.diameter * 1e3:.4g} mm, {bushes}; worn out at "
        f"{told.pins.unit.pins.worn_out_play * 1e3:.3g} mm of play."
    )


def _note() -> str:
    return (
        "Lines: range of the assumed wear factors and of who takes the couples; marks: its middle by ratio. "
        "Loads are simulated, for comparing settings and sizes; they are no design loads."
    )
