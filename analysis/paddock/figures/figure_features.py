"""What lies in a paddock, marked on its map: zones, banks and channels, humps and hollows, stone patches, ruts."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Ellipse, Patch, Polygon, Rectangle
from matplotlib.patheffects import withStroke

from analysis.paddock.table import PaddockTable
from analysis.present.figure_style import BLACK

EDGE: dict[str, Any] = {"fill": False, "edgecolor": BLACK, "linewidth": 1.4,
                        "path_effects": [withStroke(linewidth=3.4, foreground="white")]}  # fmt: skip
DASHES: dict[str, Any] = {"zone": (0, (4, 2)), "bank": "-", "hump": "-", "stone_patch": (0, (1, 1.2))}
NAMED = 8  # most shapes that are named one by one: more names would lie on each other
RUT = 6.0  # size of the marks at the edge where wheel tracks run [pt]


def mark_features(axes: Axes, table: PaddockTable) -> list[Artist]:
    """Outline and name what lies in the paddock → what the outlines mean, for a legend."""
    found: list[Artist] = []
    kinds: dict[Any, dict[str, None]] = {}  # by dashes of the outline
    for zone in table.zones:
        (x0, y0), (x1, y1) = zone.start, zone.end
        left, top = min(x0, x1), max(y0, y1)
        axes.add_patch(Rectangle((left, min(y0, y1)), abs(x1 - x0), abs(y1 - y0), linestyle=DASHES["zone"], **EDGE))
        _name(axes, zone.name, (left, top), (4, -4), "top", "left")
    if table.zones:
        found.append(_key("zone of other soil", DASHES["zone"]))
    shapes = [one for one in table.inputs.get("ground", {}).get("features", ()) if one["kind"] in DRAWN]
    for shape in shapes:
        kind, name = DRAWN[shape["kind"]](axes, shape)
        kinds.setdefault(DASHES[shape["kind"]], {})[kind] = None
        if len(shapes) <= NAMED:
            _name(axes, name, _middle(shape))
    for dashes, of in kinds.items():
        found.append(_key(("foot of " if dashes == "-" else "") + ", ".join(of), dashes))
    if table.tracks:
        _ruts(axes, table)
        found.append(Line2D([], [], marker=">", color=BLACK, markersize=RUT, linestyle="none",
                            label="rut behind a wheel track"))  # fmt: skip
    return found


def _middle(shape: Mapping[str, Any]) -> tuple[float, float]:
    """Where the name of a shape stands."""
    if "at" in shape:
        return shape["at"][0], shape["at"][1]
    (x0, y0), (x1, y1) = shape["start"], shape["end"]
    return 0.5 * (x0 + x1), 0.5 * (y0 + y1)


def _bank(axes: Axes, bank: Mapping[str, Any]) -> tuple[str, str]:
    """Both toes of a bank or a channel from end to end → what it is, and its name."""
    (x0, y0), (x1, y1) = bank["start"], bank["end"]
    length = max(math.hypot(x1 - x0, y1 - y0), 1e-9)
    off = 0.5 * bank["base"] / length
    across, along = -(y1 - y0) * off, (x1 - x0) * off
    corners = [(x0 + across, y0 + along), (x1 + across, y1 + along), (x1 - across, y1 - along),
               (x0 - across, y0 - along)]  # fmt: skip
    axes.add_patch(Polygon(corners, closed=True, linestyle=DASHES["bank"], **EDGE))
    words = "bank" if bank["height"] > 0.0 else "channel"
    return words, f"{words}, {abs(bank['height']) * 1e3:.3g} mm"


def _hump(axes: Axes, hump: Mapping[str, Any]) -> tuple[str, str]:
    axes.add_patch(Ellipse(hump["at"], hump["length"], hump["width"], linestyle=DASHES["hump"], **EDGE))
    words = "hump" if hump["height"] > 0.0 else "hollow"
    return words, f"{words}, {abs(hump['height']) * 1e3:.3g} mm"


def _stones(axes: Axes, patch: Mapping[str, Any]) -> tuple[str, str]:
    axes.add_patch(Ellipse(patch["at"], patch["length"], patch["width"], linestyle=DASHES["stone_patch"], **EDGE))
    return "patch of stones", f"{patch['stones_per_ha']:.0f} stones/ha"


DRAWN: dict[str, Callable[[Axes, Mapping[str, Any]], tuple[str, str]]] = {
    "bank": _bank, "hump": _hump, "stone_patch": _stones,
}  # fmt: skip


def _ruts(axes: Axes, table: PaddockTable) -> None:
    """A mark at the left edge wherever a wheel track of a pass runs."""
    half = 0.5 * (table.machine.rows - 1) * table.machine.row_spacing
    for row_y in table.row_y:
        middle, way = 0.5 * (row_y[0] + row_y[-1]), 1.0 if row_y[0] >= row_y[-1] else -1.0
        for track in table.tracks:
            if abs(track) <= half + table.machine.row_spacing:
                axes.plot([0.0], [middle + way * track], marker=">", markersize=RUT, color=BLACK, clip_on=False,
                          markeredgecolor="white", markeredgewidth=0.6, linestyle="none", zorder=6,
                          transform=axes.get_yaxis_transform())  # fmt: skip


def _name(
    axes: Axes, words: str, at: tuple[float, float], off: tuple[float, float] = (0, 0), va: str = "center",
    ha: str = "center",
) -> None:  # fmt: skip
    box = {"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5}
    axes.annotate(words, at, off, textcoords="offset points", va=va, ha=ha, fontsize=9.5, bbox=box, zorder=7,
                  annotation_clip=True, parse_math=False)  # fmt: skip


def _key(words: str, dashes: Any) -> Patch:
    return Patch(fill=False, edgecolor=BLACK, linewidth=1.4, linestyle=dashes, label=words)
