"""What a whole paddock says: each setting, the pick, each row, each zone, and what setting by zone would gain."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import EDGES, by_section
from analysis.crossing.poisson import rate
from analysis.paddock.doubt.chance import chance_of, in_doubt
from analysis.paddock.failures import crossed_whole, failed_rows
from analysis.paddock.heeds import Warned
from analysis.paddock.table import PaddockTable
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.window.document import limits_document
from analysis.window.doubt.pick import Doubt
from analysis.window.grid import Window
from analysis.window.limits import Check, meets, stops
from analysis.window.pick import Nearest, Pick, choose
from scenarios.spec import Limits

HECTARE = 1e4  # [m²]
Z95 = 1.959964  # two-sided 95 % of the normal distribution
APART = 1.0e-3  # a row's mean that differs by less from the others' is not worth a turn [m] (assumed)
SURE = 3.0  # standard errors from which a row counts as apart
SAME = 5e-4  # shares that differ by less are told as the same


@dataclass(frozen=True)
class RowMean:
    """One row's mean depth error over the paddock [m], with the 95 % interval of that mean.

    `apart`: mean difference from all rows in the same sections, `apart_error` its standard error: what it does all
    rows share (a zone, a bank) falls out of it.
    """

    row: int  # from 0, the leftmost
    mean: float
    low: float
    high: float
    apart: float
    apart_error: float

    @property
    def stands_out(self) -> bool:
        """Whether the row runs deeper or shallower than the others by more than chance and more than 1 mm."""
        return abs(self.apart) > max(APART, SURE * self.apart_error)


def row_means(table: PaddockTable, setting: int) -> list[RowMean]:
    """Every row's mean over all sections of all passes; interval from the scatter between sections."""
    errors = np.moveaxis(table.sections["error_mean"][setting].astype(np.float64), 1, 0)
    errors = errors.reshape(errors.shape[0], -1)
    errors = errors[:, np.isfinite(errors).all(axis=0)]
    n = errors.shape[1]
    others = errors.mean(axis=0)
    found = []
    for row, values in enumerate(errors):
        mean, half = float(values.mean()) if n else np.nan, Z95 * _standard_error(values)
        apart = values - others
        offset = float(apart.mean()) if n else np.nan
        found.append(RowMean(row, mean, mean - half, mean + half, offset, _standard_error(apart)))
    return found


def _standard_error(values: NDArray[np.float64]) -> float:
    return float(values.std(ddof=1) / np.sqrt(values.size)) if values.size > 1 else np.inf


@dataclass(frozen=True)
class ZonePick:
    """What one zone would choose, beside what it gets from the setting of the whole paddock.

    Everywhere the depth setting is the one made on the soil outside zones at that pressure and speed: it is not made
    again on a zone's own soil, so a harder zone runs shallow (`error_mean`, with the planned setting or else the one).
    """

    name: str
    area: float  # [m²]
    choice: Pick | Nearest
    on_depth_share: float  # at its own choice
    shared: float  # at the paddock's
    wheel_off_share: float
    shared_wheel_off: float
    error_mean: float  # [m]
    chance: float | None  # that its own choice meets every limit there; None: nothing in doubt, or not looked at
    plan: str  # "own": set it by itself; "one": as the whole paddock; "none": no setting meets every limit there

    @property
    def planned(self) -> float:
        """On-depth share with the plan; with none, at the paddock's setting."""
        return self.on_depth_share if self.plan == "own" else self.shared


def zone_plan(one: Pick | Nearest, one_meets: bool, own: Pick | Nearest, shares: tuple[float, float]) -> str:
    """How a zone should be set (`ZonePick.plan`); shares: on depth at its own choice and at the paddock's.

    A setting of its own has to be worth the trouble: never less on depth than the one setting, unless that one fails
    a limit there.
    """
    if not isinstance(own, Pick):
        return "one" if one_meets else "none"
    if not one_meets:
        return "own"
    same = (own.i, own.j) == (one.i, one.j)
    better = shares[0] > shares[1] + SAME or (own.speed > one.speed and shares[0] >= shares[1] - SAME)
    return "own" if better and not same else "one"


@dataclass(frozen=True, repr=False)
class Summary:
    """A paddock summed up; SI units."""

    table: PaddockTable
    limits: Limits
    choice: Pick | Nearest
    setting: int  # number of the chosen setting
    rows: list[RowMean]
    zones: list[ZonePick]
    doubt: Doubt | None = None  # what values in doubt make of the choice for the whole; None: nothing in doubt

    def __repr__(self) -> str:
        return f"{self.table}\n  {self.choice}"

    @cached_property
    def window(self) -> Window:
        """The settings as a window of the whole paddock."""
        return self.table.window(self.limits)

    @cached_property
    def met(self) -> NDArray[np.bool_]:
        """Which settings meet every limit, (pressures, speeds)."""
        return meets(self.window, self.limits)

    @property
    def crossed(self) -> bool:
        """Whether there is a setting that every row could be crossed at; else there is nothing to choose from."""
        return crossed_whole(self.table)

    @property
    def by_zone(self) -> bool:
        """Whether some zone is worth a setting of its own and all of them have one."""
        return {z.plan for z in self.zones} in ({"own"}, {"own", "one"})

    @property
    def by_zone_share(self) -> float:
        """On-depth share over the area with every zone as planned."""
        return sum(z.planned * z.area for z in self.zones) / max(sum(z.area for z in self.zones), 1e-9)

    @property
    def one_share(self) -> float:
        """On-depth share over the area at the paddock's one choice."""
        return self.table.mean_of("on_depth_share", self.setting)

    @property
    def by_zone_hours(self) -> float:
        """Hours of work with every zone as planned."""
        speeds = [z.choice.speed if z.plan == "own" else self.choice.speed for z in self.zones]
        rate_at = self.table.machine.hectares_per_hour
        return sum(z.area / HECTARE / rate_at(speed) for z, speed in zip(self.zones, speeds, strict=True))

    @property
    def one_hours(self) -> float:
        """Hours of work at the paddock's one speed."""
        return self.table.area / HECTARE / self.table.machine.hectares_per_hour(self.choice.speed)


def summarise(table: PaddockTable, limits: Limits | None = None) -> Summary:
    """Choose for the whole paddock and for every zone by the rule of `analysis.window.pick`; limits None: as stored."""
    asked = table.limits if limits is None else limits
    choice = choose(table.window(asked), asked)
    doubt = in_doubt(table, asked, choice)
    choice = choice if doubt is None else doubt.outcome
    setting = choice.j * table.pressures.size + choice.i
    present = [n for n in range(len(table.zone_names)) if ((table.zone == n) & (table.weight > 0.0)).any()]
    several = present if len(present) > 1 and crossed_whole(table) else []
    zones = [_zone_pick(table, asked, number, choice) for number in several]
    return Summary(table, asked, choice, setting, row_means(table, setting), zones, doubt)


def _zone_pick(table: PaddockTable, limits: Limits, number: int, one: Pick | Nearest) -> ZonePick:
    """A zone (0: the rest) by itself and at the paddock's setting."""
    mask, window = table.zone == number, table.window(limits, number)
    mine = choose(window, limits)
    own, shared = (choice.j * table.pressures.size + choice.i for choice in (mine, one))
    depth = table.mean_of("on_depth_share", own, mask), table.mean_of("on_depth_share", shared, mask)
    chance = _zone_chance(table, limits, number, mine)
    one_meets = isinstance(one, Pick) and bool(meets(window, limits)[one.i, one.j])
    plan = zone_plan(one, one_meets, mine, depth)
    if plan == "own" and one_meets and chance is not None and chance < limits.confidence:
        plan = "one"  # better with the values as fitted, but not sure enough
    return ZonePick(
        table.zone_names[number], float(table.weight[mask].sum()), mine, *depth,
        table.mean_of("wheel_off_share", own, mask), table.mean_of("wheel_off_share", shared, mask),
        table.mean_of("error_mean", own if plan == "own" else shared, mask), chance,
        plan,
    )  # fmt: skip


def _zone_chance(table: PaddockTable, limits: Limits, number: int, own: Pick | Nearest) -> float | None:
    if table.doubt is None or own.j not in table.doubt.found:
        return None
    return float(chance_of(table, table.doubt, limits, number + 1).grid[own.i, own.j])


def without_ground(text: str, table: PaddockTable) -> str:
    """A sentence without the ground that a window of one ground names: a paddock has only one."""
    return re.sub(rf" \((seed|ground) {table.seed}\)", "", text)


def check_sentence(table: PaddockTable, check: Check) -> str:
    """A limit held against a setting, without the seed that a window of one ground would name."""
    return without_ground(check.sentence(), table)


def told_checks(checks: tuple[Check, ...]) -> tuple[Check, ...]:
    """The limits that could be held against a setting: not those whose value is not known, its rows not crossed."""
    return tuple(check for check in checks if math.isfinite(check.value))


def to_dict(summary: Summary) -> dict[str, Any]:
    """JSON form: units in the keys, shares as fractions, None where there is none."""
    table, choice = summary.table, summary.choice
    return {
        "paddock": table.name,
        "title": table.title,
        "area_ha": table.area / HECTARE,
        "passes": int(table.zone.shape[0]),
        "rows": table.machine.rows,
        "in_doubt": None if summary.doubt is None else _doubt_dict(summary.doubt, table),
        "seed": table.seed,
        "limits": limits_document(summary.limits),
        "settings": [setting_dict(summary, number) for number in range(len(table.settings))],
        "pick": _choice_dict(table, choice) if isinstance(choice, Pick) else None,
        "nearest": None if isinstance(choice, Pick) or not summary.crossed else _choice_dict(table, choice),
        "row_means": [_row_dict(r) for r in summary.rows],
        "zones": [_zone_dict(table, z) for z in summary.zones],
        "by_zone": None if not summary.by_zone else {
            "on_depth_share": summary.by_zone_share, "on_depth_share_one_setting": summary.one_share,
            "hours": summary.by_zone_hours, "hours_one_setting": summary.one_hours,
        },
        "problems": [{"setting": i, "pass": p + 1, "row": r + 1, "reason": t} for i, p, r, t in table.problems],
        "warnings": list(table.warnings),
        "versions": dict(table.versions),
    }  # fmt: skip


def not_met(summary: Summary, number: int) -> str:
    """What keeps a setting from being chosen, or the limit that it fails worst; "" where it meets them all."""
    j, i = divmod(number, summary.table.pressures.size)
    if summary.met[i, j]:
        return ""
    return without_ground(stops(summary.window, summary.limits, i, j), summary.table)


def setting_dict(summary: Summary, number: int) -> dict[str, Any]:
    """One setting over the whole paddock."""
    table = summary.table
    pressure, speed = table.settings[number]
    i = number % table.pressures.size
    pin, load = table.worst_pin(number)
    beside: dict[str, dict[str, Any]] = {
        "on_depth_share": {
            "area_on_depth_ha": table.area_on_depth(number, summary.limits.on_depth_share_min) / HECTARE
        },
        "pin_peak": {"pin_peak_N": _number(load), "pin": pin},
    }
    measures: dict[str, Any] = {}
    for m in by_section().values():
        if m.told:
            measures[m.paddock_key] = _number(EDGES[m.edge].one(table.measured(m, number)))
            measures |= beside.get(m.name, {})
    per_ha = rate(table.events_in("breakouts", number), table.area / HECTARE)
    return {
        "oil_pressure_bar": bar(pressure),
        "speed_kmh": kmh(speed),
        "downforce_kgf": kgf(float(table.downforce[i])),
        **measures,
        "breakouts_per_ha": per_ha.per,
        "breakouts_per_ha_interval": [per_ha.low, per_ha.high],
        "hectares_per_hour": table.machine.hectares_per_hour(speed),
        "not_met": not_met(summary, number) or None,
        "rows_failed": failed_rows(table, number),
        "depth_reached": bool(table.by_setting["reached"][number] > 0.0),
        "depth_setting_change_mm": _number(mm(float(table.by_setting["setting_change"][number]))),
        "warnings": [_warned(table, w) for w in table.warned(number, summary.limits)],
    }


def _choice_dict(table: PaddockTable, choice: Pick | Nearest) -> dict[str, Any]:
    said = [check_sentence(table, check) for check in told_checks(choice.checks)]
    return {
        "oil_pressure_bar": bar(choice.oil_pressure), "speed_kmh": kmh(choice.speed),
        "set_depth_mm": choice.set_depth_mm, "at_edge": list(choice.at_edge),
        "downforce_kgf": kgf(choice.downforce), "depth_setting_change_mm": _number(mm(choice.setting_change)),
        "checks": said, "warnings": list(choice.warnings), "chance": choice.chance,
    }  # fmt: skip


def _doubt_dict(doubt: Doubt, table: PaddockTable) -> dict[str, Any]:
    """What the chance rests on, and what would be set were everything known."""
    known, sampled = doubt.known, table.doubt
    assert sampled is not None
    return {
        "confidence": doubt.confidence, "sets": doubt.chance.sets, "values": list(doubt.chance.held.names),
        "readings": doubt.readings, "interval": list(doubt.chance.interval(doubt.outcome.i, doubt.outcome.j)),
        "speed_if_known_kmh": kmh(known.speed) if isinstance(known, Pick) else None,
        "oil_pressure_if_known_bar": bar(known.oil_pressure) if isinstance(known, Pick) else None,
        "passes": [p + 1 for p in sampled.passes], "rows": [r + 1 for r in sampled.rows],
    }  # fmt: skip


def _warned(table: PaddockTable, warned: Warned) -> dict[str, Any]:
    heed = warned.heed
    return {"kind": heed.kind, "says": warned.text(table.row_y.size), "barred": heed.barred, "rows": warned.rows}


def _row_dict(row: RowMean) -> dict[str, Any]:
    return {
        "row": row.row + 1, "error_mean_mm": _number(mm(row.mean)),
        "interval_mm": [_number(mm(row.low)), _number(mm(row.high))],
        "apart_mm": _number(mm(row.apart)), "stands_out": row.stands_out,
    }  # fmt: skip


def _zone_dict(table: PaddockTable, zone: ZonePick) -> dict[str, Any]:
    return {
        "name": zone.name, "area_ha": zone.area / HECTARE, "meets_limits": isinstance(zone.choice, Pick),
        "plan": zone.plan, **_choice_dict(table, zone.choice), "on_depth_share": _number(zone.on_depth_share),
        "on_depth_share_one_setting": _number(zone.shared), "wheel_off_share": _number(zone.wheel_off_share),
        "wheel_off_share_one_setting": _number(zone.shared_wheel_off), "error_mean_mm": _number(mm(zone.error_mean)),
        "chance": zone.chance,
    }  # fmt: skip


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
