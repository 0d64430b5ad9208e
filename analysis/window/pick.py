"""The pick: which oil pressure and speed to use. If none meets every limit there is none; told is which fails least.

The rule: the highest speed at which some pressure meets every limit in every seed; at that speed the pressure whose
smallest margin, as a share of its limit, is largest (`analysis.window.limits` defines margins); ties go to the lower
pressure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.present.edge import bar, kgf, kmh, mm
from analysis.window.grid import Window
from analysis.window.limits import (
    Check,
    checks,
    choosable,
    ground_notes,
    hindrance,
    lifting,
    meets,
    smallest_margin,
    too_little_ground,
    without_counts,
)
from scenarios.spec import Limits
from sim.heeds import Heed

SAME = 1e-12  # margins that differ by less are a tie
# ends of the search; those of the precharge where precharges are searched too
EDGES_OF_SEARCH = (
    "lowest_pressure", "highest_pressure", "lowest_speed", "highest_speed", "lowest_precharge", "highest_precharge",
)  # fmt: skip


@dataclass(frozen=True, repr=False)
class Choice:
    """One cell of a window; SI units."""

    i: int  # index of the pressure in the window, and of the speed
    j: int
    oil_pressure: float  # gauge [Pa]
    speed: float  # [m/s]
    set_depth: float  # [m]
    at_edge: tuple[str, ...]  # ends of the search that it lies at, of `EDGES_OF_SEARCH`
    downforce: float  # [N]
    setting_change: float  # change of the depth setting against the reference [m], positive = set deeper
    heeds: tuple[Heed, ...]  # what a run of it warns of, of each kind the worst of the seeds

    def __repr__(self) -> str:
        return f"{type(self).__name__}: {self.told}"

    @property
    def told(self) -> str:
        """The setting in a line."""
        return (
            f"{self.oil_pressure_bar:g} bar, {self.speed_kmh:g} km/h, set depth "
            f"{self.set_depth_mm:g} mm ({kgf(self.downforce):.0f} kgf a row, depth setting "
            f"{mm(self.setting_change):+.1f} mm)"
        )

    @property
    def warnings(self) -> tuple[str, ...]:
        """What to heed at this setting, in sentences without a full stop."""
        return tuple(heed.text for heed in self.heeds)

    @property
    def oil_pressure_bar(self) -> float:
        """Oil pressure, gauge [bar]."""
        return bar(self.oil_pressure)

    @property
    def speed_kmh(self) -> float:
        """Speed [km/h]."""
        return kmh(self.speed)

    @property
    def set_depth_mm(self) -> float:
        """Set depth [mm]."""
        return round(mm(self.set_depth), 9)


@dataclass(frozen=True, repr=False)
class Pick(Choice):
    """What to set."""

    checks: tuple[Check, ...]  # every limit at this setting, the smallest margin first
    notes: tuple[str, ...] = ()
    chance: float | None = None  # that it meets every limit, where that decided


@dataclass(frozen=True, repr=False)
class Nearest(Choice):
    """No setting meets every limit, and none is to be set: this is the one whose worst limit fails least."""

    checks: tuple[Check, ...]  # the limit that fails worst first
    hindrance: str = ""  # what keeps it from being chosen, beside its limits; "" if nothing does
    notes: tuple[str, ...] = ()
    chance: float | None = None  # that it meets every limit, where that decided: the highest of all settings
    confidence: float | None = None  # the chance that was asked for then

    def __repr__(self) -> str:
        return f"No pick. Fails least, not to be set: {self.told}"

    @property
    def failing(self) -> tuple[Check, ...]:
        """The limits that fail here, the worst first."""
        return tuple(check for check in self.checks if not check.met)


def choose(window: Window, limits: Limits | None = None) -> Pick | Nearest:
    """The pick of a window by the rule at the top of this file, or the nearest setting if none meets every limit.

    `limits` None: those of the window. Raises ValueError for another depth tolerance than the window was made with.
    """
    asked = window.limits if limits is None else replace(limits, on_feature=window.limits.on_feature)
    if asked.depth_tolerance != window.limits.depth_tolerance:
        raise ValueError(
            f"limits with a depth tolerance of {mm(asked.depth_tolerance):g} mm given, but the window counted shares "
            f"with {mm(window.limits.depth_tolerance):g} mm; search again"
        )
    notes = ground_notes(window, asked)
    met = meets(window, asked)
    if not met.any():
        return _nearest(window, asked, notes)
    return pick_at(window, asked, *_best(window, asked, met), notes)


def pick_at(window: Window, limits: Limits, i: int, j: int, notes: tuple[str, ...] = ()) -> Pick:
    """A cell as what to set."""
    return Pick(**_setting(window, i, j), checks=checks(window, limits, i, j), notes=notes)


def nearest_at(window: Window, limits: Limits, i: int, j: int, notes: tuple[str, ...] = ()) -> Nearest:
    """A cell as one that is not to be set."""
    held = hindrance(window, limits, i, j)
    return Nearest(**_setting(window, i, j), checks=checks(window, limits, i, j), hindrance=held, notes=notes)


def _best(window: Window, limits: Limits, met: NDArray[np.bool_]) -> tuple[int, int]:
    """Indices of the pick among the cells that meet every limit."""
    j = int(np.flatnonzero(met.any(axis=0))[-1])
    rows = np.flatnonzero(met[:, j])
    room = smallest_margin(window, limits)[rows, j]
    return int(rows[np.flatnonzero(room >= room.max() - SAME)[0]]), j


def _nearest(window: Window, limits: Limits, notes: tuple[str, ...]) -> Nearest:
    """The cell whose smallest margin is least negative; ties to the higher speed, then to the lower pressure.

    Where there is too little ground for the limit on a count, no setting can meet it: the other limits decide.
    """
    decides = without_counts(limits) if too_little_ground(window, limits) else limits
    able, met = choosable(window, decides), meets(window, decides)
    if met.any():
        i, j = _best(window, decides, met)
    else:
        room = smallest_margin(window, decides)
        if able.any():
            room = np.where(able, room, -np.inf)
        elif lifting(window).all():  # the least pressure lifts least
            room = room[:1]
        cells = np.argwhere(room >= room.max() - SAME) if np.isfinite(room.max()) else np.argwhere(room == room.max())
        i, j = (int(n) for n in max(cells, key=lambda cell: (cell[1], -cell[0])))
    return nearest_at(window, limits, i, j, notes)


def _setting(window: Window, i: int, j: int) -> dict[str, Any]:
    """What every choice says of its cell."""
    return {
        "i": i,
        "j": j,
        "oil_pressure": float(window.pressures[i]),
        "speed": float(window.speeds[j]),
        "set_depth": window.set_depth,
        "at_edge": edges_at(window, i, j),
        "downforce": float(window.downforce[i]),
        "setting_change": float(window.grids["setting_change"][i, j].mean()),
        "heeds": window.heeds_at(i, j),
    }


def edges_at(window: Window, i: int, j: int) -> tuple[str, ...]:
    """The ends of the search that a cell lies at, of `EDGES_OF_SEARCH`; of an axis with one value none."""
    p, v = window.pressures.size, window.speeds.size
    at = (i == 0 and p > 1, i == p - 1 and p > 1, j == 0 and v > 1, j == v - 1 and v > 1)
    return tuple(name for name, there in zip(EDGES_OF_SEARCH[:4], at, strict=True) if there)
