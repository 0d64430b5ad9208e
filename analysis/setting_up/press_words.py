"""What `rowbench press` tells a reader, every sentence from the numbers."""

from __future__ import annotations

import math
from collections.abc import Iterable

from analysis.present.cautions import LOADS_NOTE, closing, warned
from analysis.present.edge import bar, kmh
from analysis.present.sentences import items, numbered, span
from analysis.present.texts import number, paragraph, percent, short, signed, table
from analysis.setting_up.press_wheel import PressWheel

NOTE = (
    "Load on the closing zone: of the press wheel on the ground, before rolling resistance. Depth set again for every "
    "notch and speed. How much load closes a slot depends on soil and moisture and is not told here."
)


def press_text(found: PressWheel, title: str, warnings: Iterable[str] = ()) -> str:
    """Notches at the file's speed, speeds at the file's notch, and what a notch does."""
    grounds = numbered("ground", found.seeds)
    lines = paragraph(f"Press wheel: {title}, {grounds}, {short(bar(found.oil_pressure))} bar oil")
    lines += ["", *items(_own(found), _notch(found), _speed(found), _limits(found), *_missing(found)), ""]
    i, j = found.own
    head = ("load, N", "SD", "5–95 %", "none", "gauge, N", "wheel off", "on depth")
    rows = [(_notch_name(found, n), *_cells(found, k, j)) for k, n in enumerate(found.notches)]
    lines += [f"By notch, at {short(kmh(found.own_speed))} km/h", *table(("notch", *head), rows, indent=0)]
    speeds = [(f"{short(kmh(v))} km/h", *_cells(found, i, k)) for k, v in enumerate(found.speeds)]
    lines += ["", f"By speed, at notch {_signed(found.own_notch)}", *table(("speed", *head), speeds, indent=0)]
    return "\n".join([*lines, *warned(warnings), *closing(NOTE, LOADS_NOTE)])


def _signed(notch: int) -> str:
    return signed(notch, 0)


def _notch_name(found: PressWheel, notch: int) -> str:
    return f"{_signed(notch)} (own)" if notch == found.own_notch else _signed(notch)


def _cells(found: PressWheel, i: int, j: int) -> tuple[str, ...]:
    values = {name: float(grid[i, j]) for name, grid in found.grids.items()}
    if not math.isfinite(values["press_mean"]):
        return ("–",) * 7
    return (
        number(values["press_mean"], 0),
        number(values["press_sd"], 0),
        f"{number(values['press_low'], 0)}–{number(values['press_high'], 0)}",
        percent(values["press_off"]),
        number(values["gauge_mean"], 0),
        percent(values["gauge_off"]),
        percent(values["on_depth"]),
    )


def _own(found: PressWheel) -> str:
    at = {name: float(grid[found.own]) for name, grid in found.grids.items()}
    if not math.isfinite(at["press_mean"]):
        return "The file's own notch and speed could not be crossed."
    return (
        f"Notch {_signed(found.own_notch)} at {short(kmh(found.own_speed))} km/h: {number(at['press_mean'], 0)} N on "
        f"the closing zone in the mean, nine tenths of the way between {number(at['press_low'], 0)} and "
        f"{number(at['press_high'], 0)} N, none on {percent(at['press_off'])} of it."
    )


def _notch(found: PressWheel) -> str:
    press, gauge = found.per_notch
    if not (math.isfinite(press) and math.isfinite(gauge)):
        return f"One notch adds {short(found.couple)} N m to the arm's spring; one notch alone shows no more."
    way = "takes" if gauge <= 0.0 else "adds"
    to = "off" if gauge <= 0.0 else "to"
    share = f" ({abs(gauge / press):.2f} N for every newton)" if press else ""
    return (
        f"One notch more ({short(found.couple)} N m) adds {number(press, 0)} N to the closing zone and {way} "
        f"{number(abs(gauge), 0)} N {to} the gauge wheel{share}."
    )


def _speed(found: PressWheel) -> str:
    i, _ = found.own
    known = [k for k in range(found.speeds.size) if math.isfinite(found.grids["press_sd"][i, k])]
    if len(known) < 2:
        return "Spread with speed: one speed alone does not show it."
    slow, fast = known[0], known[-1]
    sd, off = found.grids["press_sd"][i], found.grids["press_off"][i]
    change = float(sd[fast] - sd[slow])
    way = "rises" if change > 0.5 else "falls" if change < -0.5 else "stays"
    text = (
        f"From {short(kmh(found.speeds[slow]))} to {short(kmh(found.speeds[fast]))} km/h its spread (SD) {way} from "
        f"{number(float(sd[slow]), 0)} to {number(float(sd[fast]), 0)} N"
    )
    bare = f"{percent(float(off[slow]))} to {percent(float(off[fast]))}"
    return f"{text}, and the share of the way without load goes from {bare}."


def _limits(found: PressWheel) -> str:
    low, high = found.limits.gauge_load_min, found.limits.gauge_load_max
    kept = found.allowed()
    between = f"mean gauge load between {short(low)} and {short(high)} N"
    speed = f"at {short(kmh(found.own_speed))} km/h"
    if not kept:
        return f"No notch tried keeps the {between} {speed}."
    if len(kept) == len(found.notches):
        return f"Every notch tried keeps the {between} {speed}."
    names = span(_signed(kept[0]), _signed(kept[-1]))
    return f"Of the notches tried {names} {'keeps' if len(kept) == 1 else 'keep'} the {between} {speed}."


def _missing(found: PressWheel) -> list[str]:
    if not found.problems:
        return []
    first = found.problems[min(found.problems)]
    return [f"{len(found.problems)} of the crossings could not be made; the first: {first}."]
