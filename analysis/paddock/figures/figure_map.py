"""The paddock as a map: every section of every row in place, shaded by what a setting gives there."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from analysis.paddock.failures import failed_rows
from analysis.paddock.figures.figure_features import mark_features
from analysis.paddock.table import PaddockTable
from analysis.present.figure_keys import foot_key
from analysis.present.figure_style import WIDTH, blank, headline, style
from analysis.present.sentences import DRAWN, spoken
from analysis.present.sentences import setting as setting_words
from analysis.present.texts import number, percent, plural

LEVELS = 40  # colours of a map: few enough for a small file
MAP_WIDTH, LOWEST, HIGHEST = WIDTH - 0.75, 3.0, 7.0  # of the map [in]; a flatter one shows no rows on a phone


class Shade(NamedTuple):
    """What a map may show: measure, label, factor to the label's unit, colours, fixed ends (None: from the data)."""

    measure: str
    label: str
    factor: float
    colours: str
    low: float | None
    high: float | None


SHADES: dict[str, Shade] = {
    "on-depth": Shade("on_depth_share", "on depth, % of the way", 100.0, "cividis", None, 100.0),
    "wheel-off": Shade("wheel_off_share", "gauge wheel off the ground, % of the way", 100.0, "cividis_r", 0.0, None),
    "worst-pin": Shade("pin_peak", "largest load on any pin [kN]", 1e-3, "cividis_r", None, None),
}


def map_figure(table: PaddockTable, setting: int, shade: str = "on-depth") -> Figure:
    """Map of a paddock at one setting (its number), shaded by a name of SHADES.

    A colour means the same at every setting of the paddock.
    """
    kind = SHADES[shade]
    values = table.sections[kind.measure][setting].astype(np.float64) * kind.factor
    x_ends, y_ends = _extent(table)
    true = MAP_WIDTH * (y_ends[1] - y_ends[0]) / max(x_ends[1] - x_ends[0], 1e-9)
    tall = float(np.clip(true, LOWEST, HIGHEST))
    with style():
        figure = blank(tall + 2.75)
        headline(figure, _finding(table, setting, shade, values), _settings(table), _note(table, tall / true))
        axes = figure.add_subplot()
        cells = _cells(axes, table, values, kind)
        foot_key(figure, mark_features(axes, table))
        axes.set_xlim(*x_ends)
        axes.set_ylim(*y_ends)
        if tall == true:
            axes.set_aspect("equal")
        axes.set_xlabel("along the passes [m]")
        axes.set_ylabel("across [m]")
        scale = figure.colorbar(cells, ax=axes, pad=0.02, aspect=40, orientation="horizontal", extend=_beyond(kind))
        scale.set_label(kind.label)
    return figure


def _cells(axes: Axes, table: PaddockTable, values: NDArray[np.float64], kind: Shade) -> Any:
    """Every section of every row in its colour, pass by pass → the last pass."""
    low, high = scale_ends(table, kind)
    colours = mpl.colormaps[kind.colours].resampled(LEVELS)
    cells: Any = None
    for p in range(values.shape[0]):
        x, y = _corners(table, p)
        here = values[p][:, : x.size - 1]
        cells = axes.pcolormesh(x, y, here, cmap=colours, vmin=low, vmax=high, rasterized=True)
    return cells


def scale_ends(table: PaddockTable, kind: Shade) -> tuple[float, float]:
    """Ends of the colours, the same for the maps of all settings: all but 0.5 % of the sections at either end."""
    values = table.sections[kind.measure]
    found = values[np.isfinite(values)].astype(np.float64) * kind.factor
    if not found.size:
        return 0.0, 1.0
    low = float(np.floor(np.percentile(found, 0.5))) if kind.low is None else kind.low
    high = float(np.ceil(np.percentile(found, 99.5))) if kind.high is None else kind.high
    return low, max(high, low + 1e-6)


def _beyond(kind: Shade) -> str:
    """Ends of the colours that stand for what lies beyond them as well."""
    return {(True, True): "both", (True, False): "min", (False, True): "max", (False, False): "neither"}[
        kind.low is None, kind.high is None
    ]


def _corners(table: PaddockTable, p: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Edges of the cells of a pass: along (sections + 1,) and across (rows + 1,)."""
    count = int(np.isfinite(table.section_x[p]).sum())
    x, half = table.section_x[p, :count], 0.5 * table.section_length[p, :count]
    way = 1.0 if count < 2 or x[-1] > x[0] else -1.0
    y = table.row_y[p]
    up = -0.5 * table.machine.row_spacing if y.size > 1 and y[1] < y[0] else 0.5 * table.machine.row_spacing
    return np.append(x - way * half, x[-1] + way * half[-1]), np.append(y - up, y[-1] + up)


def _extent(table: PaddockTable) -> tuple[tuple[float, float], tuple[float, float]]:
    edges = [_corners(table, p) for p in range(table.zone.shape[0])]
    x, y = np.concatenate([e[0] for e in edges]), np.concatenate([e[1] for e in edges])
    return (float(x.min()), float(x.max())), (float(y.min()), float(y.max()))


def _finding(table: PaddockTable, setting: int, shade: str, values: NDArray[np.float64]) -> str:
    pressure, speed = table.settings[setting]
    where = setting_words(pressure, speed, DRAWN, ", ")
    if not np.isfinite(values).any():
        return f"{where}: no row could be crossed"
    if shade == "worst-pin":
        name, load = table.worst_pin(setting)
        return f"{where}: largest pin load {load / 1e3:.1f} kN ({spoken(name)})"
    if failed := failed_rows(table, setting):
        return f"{where}: {plural(failed, 'row')} of {table.row_y.size} could not be crossed"
    mean = table.mean_of(SHADES[shade].measure, setting)
    if shade == "on-depth":
        worst = percent(float(np.nanpercentile(values, 5.0)) / 100.0, 0)
        return f"{where}: {percent(mean)} of the way on depth; in the worst twentieth of the area {worst} or less"
    worst = percent(float(np.nanpercentile(values, 95.0)) / 100.0, 0)
    return f"{where}: gauge wheel off {percent(mean)} of the way; in the worst twentieth of the area {worst} or more"


def _settings(table: PaddockTable) -> str:
    area, passes = table.area / 1e4, table.zone.shape[0]
    section = float(np.nanmedian(table.section_length))
    return (
        f"“{table.title}”: {area:.3g} ha, {passes} passes of {table.machine.rows} rows, each cell one row over "
        f"{section:.3g} m; tolerance ±{table.limits.depth_tolerance * 1e3:.3g} mm."
    )


def _note(table: PaddockTable, stretched: float) -> str:
    same = "The colours mean the same on the maps of all settings." if len(table.settings) > 1 else ""
    wide = ""
    if not math.isclose(stretched, 1.0):
        way = "across than along" if stretched > 1.0 else "along than across"
        wide = f"Drawn {number(max(stretched, 1.0 / stretched))} times larger {way}."
    white = "White: could not be crossed." if table.problems else ""
    return " ".join(text for text in (same, wide, white) if text)
