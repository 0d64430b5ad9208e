"""Notch of the press wheel's spring against its load on the closing zone, and what it takes off the gauge wheel."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from analysis.present.edge import bar, kmh
from analysis.present.figure_keys import foot_key, line_names
from analysis.present.figure_style import BLUE, GREEN, GREY, ORANGE, PURPLE, VERMILION, blank, headline, style
from analysis.setting_up.press_wheel import PressWheel

_LOOKS: tuple[tuple[str, str], ...] = ((BLUE, "o"), (VERMILION, "s"), (GREEN, "^"), (PURPLE, "D"), (ORANGE, "v"))


def press_figure(found: PressWheel, title: str) -> Figure:
    """Two panels over the notches, one line a speed; title: of the scenario."""
    with style():
        figure = blank(7.4)
        headline(figure, _finding(found), _settings(found, title), _note())
        press, gauge = figure.subplots(2, 1, sharex=True, height_ratios=(1.25, 1.0))
        _press(found, press)
        _gauge(found, gauge)
        gauge.set_xticks(found.notches, [f"{n:+d}".replace("-", "−") if n else "0" for n in found.notches])
        gauge.set_xlabel("notch of the press wheel's spring")
        for axes in (press, gauge):
            axes.axvline(found.own_notch, color=GREY, linewidth=0.9, zorder=0)
        foot_key(figure, [
            *press.get_legend_handles_labels()[0],
            Line2D([], [], color=GREY, linewidth=0.9, label="the file's notch"),
            Line2D([], [], color=GREY, linewidth=1.0, linestyle="--", label="limits of the mean load"),
        ])  # fmt: skip
        limits = found.limits.gauge_load_min, found.limits.gauge_load_max
        line_names(figure, ((gauge, [(at, f"{word}\n{at:.0f} N", GREY) for at, word in zip(limits, ("least", "most"),
                                                                                         strict=True)]),))  # fmt: skip
    return figure


def _shown(found: PressWheel) -> list[int]:
    """Indices of the speeds drawn: at most five, evenly over all."""
    count = min(found.speeds.size, len(_LOOKS))
    return sorted({int(k) for k in np.linspace(0, found.speeds.size - 1, count).round()})


def _press(found: PressWheel, axes: Axes) -> None:
    shown = _shown(found)
    x = np.array(found.notches, dtype=np.float64)
    gap = 0.5 / max(len(shown), 1)
    for place, (k, (colour, mark)) in enumerate(zip(shown, _LOOKS, strict=False)):
        mean, low, high = (found.grids[name][:, k] for name in ("press_mean", "press_low", "press_high"))
        at = x + gap * (place - 0.5 * (len(shown) - 1))
        axes.vlines(at, low, high, color=colour, linewidth=1.2)
        axes.plot(np.concatenate([at, at]), np.concatenate([low, high]), color=colour, marker="_", linestyle="none")
        label = f"{kmh(found.speeds[k]):.3g} km/h"
        axes.plot(at, mean, color=colour, marker=mark, markersize=5, linestyle="none", label=label)
    axes.set_ylim(bottom=0.0)
    axes.set_ylabel("load on the closing zone [N]\nmean, 5 % and 95 % of the way")


def _gauge(found: PressWheel, axes: Axes) -> None:
    x = np.array(found.notches, dtype=np.float64)
    loads: list[Any] = []
    for k, (colour, mark) in zip(_shown(found), _LOOKS, strict=False):
        load = found.grids["gauge_mean"][:, k]
        loads.append(load)
        axes.plot(x, load, color=colour, marker=mark, markersize=5)
    low, high = found.limits.gauge_load_min, found.limits.gauge_load_max
    top = max(1.05 * high, 1.05 * float(np.nanmax(loads)) if np.isfinite(loads).any() else 0.0)
    for limit in (low, high):
        axes.axhline(limit, color=GREY, linewidth=1.0, linestyle="--", zorder=0)
    axes.set_ylim(0.0, top)
    axes.set_ylabel("mean load on the\ngauge wheel [N]")


def _finding(found: PressWheel) -> str:
    press, gauge = found.per_notch
    if not (np.isfinite(press) and np.isfinite(gauge)):
        return "Press wheel: load on the closing zone"
    way = "takes" if gauge <= 0.0 else "adds"
    to = "off" if gauge <= 0.0 else "to"
    return f"One notch puts {press:.0f} N more on the closing zone and {way} {abs(gauge):.0f} N {to} the gauge wheel"


def _settings(found: PressWheel, title: str) -> str:
    grounds = f"{len(found.seeds)} grounds" if len(found.seeds) > 1 else "one ground"
    return (
        f"“{title}”: {bar(found.oil_pressure):.4g} bar, {grounds}, depth set again for every notch and speed; one "
        f"notch is {found.couple:.3g} N m."
    )


def _note() -> str:
    return "How much load closes a slot depends on soil and moisture and is not told here."
