"""The paddock as a map: every section of every row in place, shaded by what a setting gives there."""

from __future__ import annotations

from typing import Any, NamedTuple

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from analysis.paddock.failures import failed_rows
from analysis.paddock.table import PaddockTable
from analysis.present.figure_style import BLACK, WIDTH, blank, headline, style
from analysis.present.sentences import DRAWN, spoken
from analysis.present.sentences import setting as setting_words
from analysis.present.texts import percent, plural

LEVELS = 40  # colours of a map: few enough for a small file


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
    "worst-pin": Shade("pin_peak", "largest load on any pin, kN", 1e-3, "cividis_r", None, None),
}


def map_figure(table: PaddockTable, setting: int, shade: str = "on-depth") -> Figure:
    """Map of a paddock at one setting (its number), shaded by a name of SHADES."""
    kind = SHADES[shade]
    values = table.sections[kind.measure][setting].astype(np.float64) * kind.factor
    low, high = _ends(values, kind)
    x_ends, y_ends = _extent(table)
    tall = (WIDTH - 1.0) * (y_ends[1] - y_ends[0]) / max(x_ends[1] - x_ends[0], 1e-9)
    with style():
        figure = blank(float(np.clip(tall, 0.9, 7.0)) + (2.45 if tall < 3.0 else 1.9))
        headline(figure, _finding(table, setting, shade, values), _settings(table), _note(table))
        axes = figure.add_subplot()
        cells: Any = None
        colours = mpl.colormaps[kind.colours].resampled(LEVELS)
        for p in range(values.shape[0]):
            x, y = _corners(table, p)
            here = values[p][:, : x.size - 1]
            cells = axes.pcolormesh(x, y, here, cmap=colours, vmin=low, vmax=high, rasterized=True)
        for zone in table.zones:
            _outline(axes, zone.name, zone.start, zone.end)
        axes.set_xlim(*x_ends)
        axes.set_ylim(*y_ends)
        axes.set_aspect("equal" if tall < 7.0 and tall > 1.0 else "auto")
        axes.set_xlabel("along the passes, m")
        axes.set_ylabel("across, m")
        wide = tall < 3.0
        way, aspect = ("horizontal", 40) if wide else ("vertical", 24)
        scale = figure.colorbar(cells, ax=axes, pad=0.02, aspect=aspect, orientation=way)
        scale.set_label(kind.label)
    return figure


def _ends(values: NDArray[np.float64], kind: Shade) -> tuple[float, float]:
    found = values[np.isfinite(values)]
    if not found.size:
        return 0.0, 1.0
    low = float(np.floor(np.percentile(found, 0.5))) if kind.low is None else kind.low
    high = float(np.percentile(found, 99.5)) if kind.high is None else kind.high
    return low, max(high, low + 1e-6)


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


def _outline(axes: Axes, name: str, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Border and name of a zone."""
    x, y = min(start[0], end[0]), min(start[1], end[1])
    wide, high = abs(end[0] - start[0]), abs(end[1] - start[1])
    axes.add_patch(Rectangle((x, y), wide, high, fill=False, edgecolor="white", linewidth=2.6))
    axes.add_patch(Rectangle((x, y), wide, high, fill=False, edgecolor=BLACK, linewidth=1.2, linestyle="--"))
    box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.5}
    axes.annotate(name, (x, y + high), (4, -4), textcoords="offset points", va="top", fontsize=9.5, bbox=box)


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


def _note(table: PaddockTable) -> str:
    return "" if not table.problems else "White: could not be crossed."
