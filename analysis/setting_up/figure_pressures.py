"""The pressure chart as a picture: downforce over the travel, spring rate and use of the gas against oil pressure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from numpy.typing import NDArray

from analysis.present.cautions import STORED_NOTE
from analysis.present.edge import bar, kgf, mm
from analysis.present.figure_keys import Name, foot_key, line_names
from analysis.present.figure_style import BLACK, BLUE, GREY, VERMILION, blank, headline, style
from analysis.setting_up.pressure_chart import Chart, Line, State
from analysis.setting_up.pressure_words import celsius, state_name

_COLOURS = {"cold": BLUE, "hot": VERMILION}
NOMINAL: Any = (0, (6, 1.5, 1, 1.5))  # dashes of what holds with the arm at its nominal angle
NOTE = (
    "Top and bottom after a slow move, oil trapped, friction left out. Fast: no heat passes; slow: the gas keeps its "
    f"temperature. {STORED_NOTE}"
)


def pressures_figure(found: Chart, title: str) -> Figure:
    """Three panels over the oil pressures of a chart; title: of the scenario."""
    cold, hot = found.states
    dense = found.dense
    with style():
        figure = blank(9.6)
        headline(figure, _finding(found), _settings(found, title), NOTE)
        force, spring, gas = figure.subplots(3, 1, sharex=True, height_ratios=(1.25, 1.0, 1.0))
        for state in dense:
            _state_lines(state, force, spring, gas)
        _nominal(dense, force)
        force.set_ylabel("downforce [kgf a row]")
        spring.set_ylabel("spring rate at\nthe disc [N/mm]")
        gas.set_ylabel("gas [% of the\naccumulator]")
        gas.set_xlabel("oil pressure, arm at its nominal angle [bar]")
        gas.set_ylim(0.0, 108.0)
        for axes in (force, spring, gas):
            _marks(found, axes)
            axes.set_xlim(*_reach(found))
        force.set_ylim(0.0, _force_top(dense))
        spring.set_ylim(bottom=0.0)
        foot_key(figure, [*(_key(state_name(s), "-", _COLOURS[s.name]) for s in (cold, hot)), *_place_keys(),
                          *_mark_keys(found)])  # fmt: skip
        named = ((force, _force_names(dense)), (spring, _spring_names(dense)), (gas, _gas_names(dense)))
        line_names(figure, named)
    return figure


def _reach(found: Chart) -> tuple[float, float]:
    """Oil pressures shown [bar]."""
    low, high = found.reach
    return bar(low), bar(high)


def _series(state: State, of: Callable[[Line], float | None]) -> NDArray[np.float64]:
    """A value of every line that has a cushion, NaN for the others."""
    values = [of(line) if line.cushion else None for line in state.lines]
    return np.array([np.nan if value is None else value for value in values])


def _state_lines(state: State, force: Axes, spring: Axes, gas: Axes) -> None:
    colour = _COLOURS[state.name]
    x = np.array([bar(line.oil_pressure) for line in state.lines])
    top = _series(state, lambda line: None if line.top.downforce is None else kgf(line.top.downforce))
    bottom = _series(
        state,
        lambda line: None if line.bottom.downforce is None or line.lost_at is not None else kgf(line.bottom.downforce),
    )
    force.plot(x, top, color=colour)
    force.plot(x, bottom, color=colour, linestyle="--")
    spring.plot(x, _series(state, lambda line: line.spring_slow / 1e3), color=colour, linestyle=NOMINAL)
    spring.plot(x, _series(state, lambda line: line.spring_fast / 1e3), color=colour, linestyle=NOMINAL, linewidth=2.4)
    shares = [_series(state, of) for of in (lambda a: a.top.share, lambda a: min(a.bottom.share, 1.0))]
    for share, dashes in zip(shares, ("-", "--"), strict=True):
        gas.plot(x, 100.0 * share, color=colour, linestyle=dashes)


def _nominal(dense: tuple[State, ...], force: Axes) -> None:
    lines = dense[0].lines
    force.plot([bar(a.oil_pressure) for a in lines], [kgf(a.downforce) for a in lines], color=BLACK, linestyle=NOMINAL)


def _force_top(dense: tuple[State, ...]) -> float:
    """Top of the downforce axis: the highest line, or three times the nominal where a stop runs away [kgf]."""
    tops = [kgf(a.top.downforce) for s in dense for a in s.lines if a.top.downforce is not None and a.cushion]
    nominal = max(kgf(line.downforce) for line in dense[0].lines)
    return 1.05 * min(max([*tops, nominal]), 3.0 * nominal)


def _marks(found: Chart, axes: Axes) -> None:
    """The ends of the cushion, the file's own pressure and its highest."""
    for state in found.states:
        axes.axvline(bar(state.full_pressure), color=_COLOURS[state.name], linestyle=":", linewidth=1.6)
    axes.axvline(bar(found.own[0].oil_pressure), color=GREY, linewidth=0.9)
    highest = found.max_oil_pressure
    if highest is not None and bar(highest) < _reach(found)[1]:
        axes.axvspan(bar(highest), _reach(found)[1], facecolor="none", edgecolor="#00000055", hatch="////",
                     linewidth=0.0)  # fmt: skip


def _mark_keys(found: Chart) -> list[Line2D | Patch]:
    keys: list[Line2D | Patch] = [
        _key("cushion lost below", ":"),
        Line2D([], [], color=GREY, linewidth=0.9, label=f"the file's {bar(found.own[0].oil_pressure):.4g} bar"),
    ]
    highest = found.max_oil_pressure
    if highest is not None and bar(highest) < _reach(found)[1]:
        keys.append(
            Patch(
                facecolor="none", edgecolor="#00000088", hatch="////", label=f"over the file's {bar(highest):.4g} bar"
            )
        )
    return keys


def _key(label: str, dashes: Any, colour: str = GREY) -> Line2D:
    return Line2D([], [], color=colour, linestyle=dashes, label=label)


def _place_keys() -> list[Line2D]:
    """What the dashes mean in all three panels: where the arm stands."""
    return [_key("top of travel", "-"), _key("bottom of travel", "--"), _key("arm at its nominal angle", NOMINAL)]


def _force_names(dense: tuple[State, ...]) -> list[Name]:
    tops = [_last(_series(s, lambda a: None if a.top.downforce is None else kgf(a.top.downforce))) for s in dense]
    feet = [
        _last(_series(s, lambda a: None if a.bottom.downforce is None or a.lost_at is not None
                      else kgf(a.bottom.downforce)))
        for s in dense
    ]  # fmt: skip
    return _names((tops, "top"), ([kgf(dense[0].lines[-1].downforce)], "nominal"), (feet, "bottom"))


def _spring_names(dense: tuple[State, ...]) -> list[Name]:
    fast = [_last(_series(s, lambda line: line.spring_fast / 1e3)) for s in dense]
    slow = [_last(_series(s, lambda line: line.spring_slow / 1e3)) for s in dense]
    return _names((fast, "fast"), (slow, "slow"))


def _gas_names(dense: tuple[State, ...]) -> list[Name]:
    top = [100.0 * _last(_series(s, lambda a: a.top.share)) for s in dense]
    bottom = [100.0 * _last(_series(s, lambda a: min(a.bottom.share, 1.0))) for s in dense]
    return _names((bottom, "bottom"), (top, "top"))


def _names(*groups: tuple[list[float], str]) -> list[Name]:
    """Each group's name at the middle of where its lines end; without a line there is no name."""
    ends = [([v for v in values if np.isfinite(v)], words) for values, words in groups]
    return [(sum(values) / len(values), words, BLACK) for values, words in ends if values]


def _last(values: NDArray[np.float64]) -> float:
    """The last value that there is; NaN without one."""
    there = values[np.isfinite(values)]
    return float(there[-1]) if there.size else float("nan")


def _finding(found: Chart) -> str:
    own = found.own[0]
    text = f"{bar(own.oil_pressure):.4g} bar give {kgf(own.downforce):.0f} kgf a row"
    if not own.cushion:
        return f"{text}, without cushion in the cold"
    if own.bottom.downforce is None or own.top.downforce is None:
        return f"{text}; at the upper stop the gas is beyond its law"
    low, high = kgf(max(own.bottom.downforce, 0.0)), kgf(own.top.downforce)
    return f"{text}, {low:.0f} to {high:.0f} kgf over the travel in the cold"


def _settings(found: Chart, title: str) -> str:
    s, (down, up) = found.settings, found.travel
    return (
        f"“{title}”: precharge {bar(s.precharge):.4g} bar at {celsius(s.precharge_temperature)}, accumulator "
        f"{found.unit.accumulator.volume * 1e3:.3g} l; travel from {mm(-down):.0f} mm under to {mm(up):.0f} mm over "
        "the disc's nominal place."
    )
