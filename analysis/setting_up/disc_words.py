"""What `rowbench disc` tells a reader, every sentence from the numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable

from analysis.present.cautions import LOADS_NOTE, closing, warned
from analysis.present.edge import kgf, kmh, mm
from analysis.present.sentences import changed, items
from analysis.present.texts import number, paragraph, percent, short, table
from analysis.setting_up.disc_drive import DiscDrive, Drive, Larger

LEAST_DEPTH = 0.001  # shallower stalls are not told [m]
STICKY_NOTE = (
    "Stickiness multiplies the file's drag of bearing and scraper (drag_torque_Nm): a factor to try, not a value that "
    "can be looked up. Torque: what the soil can turn the disc with. Margin: torque over drag; below 1 the disc stands "
    "still and is dragged."
)

BLADES_NOTE = "Torques and drag are those of one blade, forces those of both."


COSTS_NOTE = "Arc: length that cuts; kgf in: force to go in; pull: draught of the disc."


def disc_text(found: DiscDrive, title: str, warnings: Iterable[str] = ()) -> str:
    """The tables of a disc, when it stalls, and what a larger one gains and costs."""
    s, own = found.scenario.settings, found.own
    disc = found.scenario.unit.disc
    disc_or_blades, each = ("Disc", "") if disc.blades == 1 else ("Two blades of", " each")
    lines = paragraph(
        f"Disc drive: {title}. {disc_or_blades} {short(mm(2.0 * own.radius))} mm, edge {short(mm(disc.edge_width))} mm"
        f"{each}, drag {short(disc.drag_torque)} N m{each}, {short(kmh(s.speed))} km/h"
    )
    lines += ["", *items(_own(found), *_stalls(found), *_along(found))]
    head = [f"{'margin ' if not n else ''}×{short(factor)}" for n, factor in enumerate(found.stickiness)]
    depths = [(f"{short(mm(row[0].depth))} mm", *_cells(row)) for row in found.by_depth]
    at = f"{short(own.strength / 1e6)} MPa"
    lines += ["", *table((f"By depth, at {at}", "torque, N m", *head), depths, indent=0)]
    strengths = [(f"{short(row[0].strength / 1e6)} MPa", *_cells(row)) for row in found.by_strength]
    lines += ["", *table((f"By strength, at {short(mm(own.depth))} mm", "torque, N m", *head), strengths, indent=0)]
    sizes = [_diameter(row) for row in found.by_diameter]
    costs = ("arc mm", "kgf in", "pull N")
    lines += ["", *table(("By diameter", "torque N m", *head, *costs), sizes, indent=0), COSTS_NOTE, ""]
    lines += items(*_larger(found))
    notes = [STICKY_NOTE] if disc.blades == 1 else [STICKY_NOTE, BLADES_NOTE]
    return "\n".join([*lines, *warned(warnings), *closing(*notes, LOADS_NOTE)])


def _cells(row: tuple[Drive, ...]) -> tuple[str, ...]:
    return (number(row[0].torque, 0), *(margin_text(one.margin) for one in row))


def _diameter(row: tuple[Larger, ...]) -> tuple[str, ...]:
    other = row[0].other
    return (
        f"{short(round(mm(2.0 * other.radius), 6))} mm",
        number(other.torque, 0),
        *(margin_text(one.other.margin) for one in row),
        number(mm(other.arc), 0),
        number(kgf(other.vertical), 0),
        number(other.draught, 0),
    )


def margin_text(margin: float) -> str:
    """A margin in figures; "stalls" below 1."""
    if math.isinf(margin):
        return "no drag"
    return f"stalls ({margin:.2f})" if margin < 1.0 else f"{margin:.3g}"


def _own(found: DiscDrive) -> str:
    own = found.own
    turned = "the disc" if found.scenario.unit.disc.blades == 1 else "each blade"
    if math.isinf(own.margin):
        return (
            f"At {short(mm(own.depth))} mm the soil turns {turned} with {number(own.torque, 0)} N m; there is no drag."
        )
    verdict = "it turns" if own.turns else "it stands still"
    return (
        f"At {short(mm(own.depth))} mm in {short(own.strength / 1e6)} MPa the soil turns {turned} with "
        f"{number(own.torque, 0)} N m against {short(own.drag)} N m of drag, {own.margin:.3g} times as much: {verdict}."
    )


def _stalls(found: DiscDrive) -> list[str]:
    own = found.own
    if math.isinf(own.margin):
        return []
    first = (
        f"It stalls where the drag is over {own.margin:.3g} times the file's, or in soil under "
        f"{found.stall_strength / 1e6:.2g} MPa at this depth."
    )
    parts = []
    for factor, depth in zip(found.stickiness, found.stall_depths, strict=True):
        if depth is None:
            parts.append(f"at any depth with stickiness {short(factor)}")
        elif depth >= LEAST_DEPTH:
            parts.append(f"under {number(mm(depth))} mm with stickiness {short(factor)}")
    return [first, f"By depth, in {short(own.strength / 1e6)} MPa, it stalls {', '.join(parts)}."] if parts else [first]


def _along(found: DiscDrive) -> list[str]:
    a = found.along
    if a is None:
        return [f"Along the ground: not crossed, {found.reason}."] if found.reason else []
    held = "the disc turns all the way" if a.stalled == 0.0 else f"it does not turn on {percent(a.stalled)} of the way"
    if a.stalled > 0.0 and a.clear > 0.0:
        held += f" (out of the soil on {percent(a.clear)})"
    if math.isinf(a.margin_low):
        return [f"Along this ground (one crossing): {held}."]
    return [f"Along this ground (one crossing): margin under {a.margin_low:.3g} on a twentieth of the way; {held}."]


def _larger(found: DiscDrive) -> list[str]:
    """What the next larger and the next smaller disc of the table bring."""
    rows = [row[0] for row in found.by_diameter]
    larger = [one for one in rows if one.lever > 1.0 + 1e-9]
    smaller = [one for one in rows if one.lever < 1.0 - 1e-9]
    return [_change(one) for one in (*smaller[-1:], *larger[:1])]


def _change(one: Larger) -> str:
    own, other = one.own, one.other
    rim = one.rim_margin / own.margin if math.isfinite(own.margin) else one.gain / one.lever
    way = "more" if one.force >= 0.0 else "less"
    return (
        f"{short(round(mm(2.0 * other.radius), 6))} mm in place of {short(round(mm(2.0 * own.radius), 6))} mm: turning "
        f"torque {_percent(one.gain)} (lever {_percent(one.lever)}, load on the arc "
        f"{_percent(one.gain / one.lever)}); cutting arc {_percent(one.arc_gain)}, {number(abs(kgf(one.force)))} kgf "
        f"{way} to go in, which is {number(abs(one.pressure) / 1e5)} bar of oil; margin {_percent(one.gain)}, but only "
        f"{_percent(rim)} where the drag is a scraper at the rim."
    )


def _percent(ratio: float) -> str:
    return changed(ratio - 1.0)
