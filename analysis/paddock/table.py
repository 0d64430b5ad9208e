"""A stored paddock as read back: axes, geometry and measures, put together over passes, rows, sections and zones."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import MEASURES, Join, Measure, by_section, by_setting, in_window, limited_counts
from analysis.paddock.doubt.sampled import Sampled, checked_sampled
from analysis.paddock.heeds import Warned, in_order, over_pressure, told
from analysis.rows.cells import NAN
from analysis.storage.description import Stored, opened
from analysis.storage.paddock_inputs import (
    PaddockInputs,
    Sizes,
    checked_heeds,
    checked_inputs,
    checked_limits,
    checked_problems,
    checked_warnings,
)
from analysis.storage.paddock_layout import SERIES, description
from analysis.storage.stored_values import Unfit
from analysis.window.grid import Window
from analysis.window.weight import held_down
from scenarios.format.errors import refused
from scenarios.paddock.spec import PaddockMachine, Ruts, Zone
from scenarios.spec import Limits
from sim.heeds import Heed
from sim.record import PINS

Floats = NDArray[np.float64]

_ENDS: dict[Join, Callable[[NDArray[np.float32]], np.floating[Any]]] = {
    Join.HIGHEST: np.max, Join.LOWEST: np.min, Join.SUM: np.sum,
}  # fmt: skip


@dataclass(frozen=True, repr=False)
class PaddockTable:
    """A result of `rowbench paddock`. Settings are numbered speed by speed, pressures rising within each.

    `sections[name]` (settings, passes, rows, sections) in float32, NaN where a pass is shorter or a row failed;
    `totals[name]` (settings, passes, rows); `by_setting[name]` (settings,); `events[name]` of counts that may have a
    limit: setting, pass, row and start of each; SI units.
    """

    path: Path
    name: str
    title: str
    seed: int
    pressures: Floats  # gauge [Pa], (pressures,)
    speeds: Floats  # [m/s], (speeds,)
    downforce: Floats  # [N], (pressures,)
    by_setting: Mapping[str, Floats]
    machine: PaddockMachine
    zones: tuple[Zone, ...]
    tracks: tuple[float, ...]  # ruts behind wheel tracks, across from the middle [m]
    limits: Limits
    section_x: Floats  # (passes, sections) [m]
    section_length: Floats  # (passes, sections) [m], NaN where there is none
    row_y: Floats  # (passes, rows) [m]
    zone: NDArray[np.int8]  # (passes, rows, sections)
    latitude: Floats | None  # (passes, rows, sections) [degrees]
    longitude: Floats | None
    sections: Mapping[str, NDArray[np.float32]]
    totals: Mapping[str, Floats]
    error_count: NDArray[np.int64]  # (settings, bins) steps by depth error, all rows
    events: Mapping[str, Mapping[str, NDArray[Any]]]
    problems: tuple[tuple[int, int, int, str], ...]  # setting, pass, row, why
    heeds: tuple[Warned, ...]  # what rows warn of, by setting and kind
    warnings: tuple[str, ...]
    versions: Mapping[str, str]
    inputs: Mapping[str, Any]
    doubt: Sampled | None = None  # what other values would do, where its file leaves some in doubt
    taken: NDArray[np.bool_] | None = None  # (passes, rows) rows that stand in it; None: all

    def __repr__(self) -> str:
        return (
            f"PaddockTable {self.name}: {self.area / 1e4:.3g} ha in {self.zone.shape[0]} passes of {self.machine.rows} "
            f"rows, {len(self.settings)} settings ({self.path.name})"
        )

    @property
    def settings(self) -> list[tuple[float, float]]:
        """(oil pressure [Pa], speed [m/s]) by number."""
        return [(float(p), float(v)) for v in self.speeds for p in self.pressures]

    @property
    def row_metres(self) -> float:
        """Length of all passes together [m]."""
        return float(np.nansum(self.section_length))

    @property
    def area(self) -> float:
        """Area of all passes [m²]."""
        return self.row_metres * self.machine.width

    @property
    def zone_names(self) -> tuple[str, ...]:
        """Names by number of `zone`; 0 is the rest."""
        return ("rest", *(zone.name for zone in self.zones))

    @property
    def weight(self) -> Floats:
        """Area that each section of each row stands for [m²], (passes, rows, sections); 0 where there is none."""
        length = np.nan_to_num(self.section_length)[:, None, :]
        if self.taken is not None:
            length = length * self.taken[:, :, None]
        return np.broadcast_to(length, self.zone.shape) * self.machine.row_spacing

    def mean_of(self, name: str, setting: int, mask: NDArray[np.bool_] | None = None) -> float:
        """Mean of a section measure over area, where `mask` (passes, rows, sections) holds; NaN where one failed."""
        weight = self.weight if mask is None else np.where(mask, self.weight, 0.0)
        here = weight > 0.0
        if not here.any():
            return NAN
        return float(np.sum(self.sections[name][setting][here] * weight[here]) / weight.sum())

    def scatter_of(self, mean: str, sd: str, setting: int, mask: NDArray[np.bool_] | None = None) -> float:
        """Standard deviation over all travel, from the sections' means and deviations."""
        weight = self.weight if mask is None else np.where(mask, self.weight, 0.0)
        here = weight > 0.0
        if not here.any():
            return NAN
        means, sds = (self.sections[name][setting][here].astype(np.float64) for name in (mean, sd))
        w = weight[here] / weight[here].sum()
        return float(np.sqrt(np.sum(w * (sds**2 + means**2)) - np.sum(w * means) ** 2))

    def measured(self, m: Measure, setting: int, mask: NDArray[np.bool_] | None = None) -> float:
        """A measure over the area, where `mask` (passes, rows, sections) holds, joined as its description says.

        NaN where it is not kept in a paddock.
        """
        if m.join is Join.SETTING:
            return float(self.by_setting[m.name][setting])
        if m.join is Join.COUNT:
            return float(self.events_in(m.name, setting, mask)) if m.name in self.events else NAN
        if m.join is Join.OVER_SET_DEPTH:
            depth = float(self.inputs["settings"]["set_depth"])
            return self.mean_of(MEASURES[m.partner].stored, setting, mask) + depth
        return self._of_sections(m, setting, mask) if m.stored in self.sections else NAN

    def _of_sections(self, m: Measure, setting: int, mask: NDArray[np.bool_] | None) -> float:
        """A measure kept by section, joined."""
        if m.join is Join.MEAN:
            return self.mean_of(m.stored, setting, mask)
        if m.join is Join.SCATTER:
            return self.scatter_of(MEASURES[m.partner].stored, m.stored, setting, mask)
        here = self.weight > 0.0 if mask is None else (self.weight > 0.0) & mask
        found = self.sections[m.stored][setting][here]
        return float(_ENDS[m.join](found)) if here.any() else NAN

    def area_on_depth(self, setting: int, least: float) -> float:
        """Area [m²] of the sections whose on-depth share is at least `least`."""
        share = self.sections["on_depth_share"][setting]
        return float(self.weight[(self.weight > 0.0) & (share >= least - 1e-6)].sum())

    def events_in(self, name: str, setting: int, mask: NDArray[np.bool_] | None = None) -> int:
        """Number of events of a count at a setting, where `mask` (passes, rows, sections) holds."""
        events = self.events[name]
        mine = events["setting"] == setting
        if mask is None:
            return int(mine.sum())
        p, r, start = (events[column][mine] for column in ("pass", "row", "start"))
        ends = np.cumsum(np.nan_to_num(self.section_length), axis=1)
        section = np.array(
            [np.searchsorted(ends[i], x, side="right") for i, x in zip(p, start, strict=True)], dtype=int
        )
        return int(mask[p, r, np.minimum(section, mask.shape[2] - 1)].sum())

    def warned(self, setting: int, limits: Limits) -> tuple[Warned, ...]:
        """What rows warn of at a setting, kind by kind."""
        found = {(w.setting, w.heed.kind): w for w in self.heeds if w.setting == setting}
        peaks = np.nan_to_num(self.sections[MEASURES["pressure_max"].stored][setting]).max(axis=2)
        over_pressure(found, setting, peaks, limits.gas_pressure_warning)
        return in_order(found.values())

    def heeds_at(self, setting: int, limits: Limits) -> tuple[Heed, ...]:
        """What to heed at a setting: of each kind the worst row, and how many rows warn of it."""
        return told(self.warned(setting, limits), self.row_y.size)

    def window(self, limits: Limits, zone: int | None = None) -> Window:
        """The settings as a window of one ground: the whole paddock, or one of its zones (0: the rest)."""
        mask = None if zone is None else self.zone == zone
        shape = (self.pressures.size, self.speeds.size, 1)
        grids = {m.name: np.full(shape, np.nan) for m in in_window()}
        for number in range(len(self.settings)):
            j, i = divmod(number, self.pressures.size)
            for name, grid in grids.items():
                grid[i, j, 0] = self.measured(MEASURES[name], number, mask)
        weight = self.weight if mask is None else np.where(mask, self.weight, 0.0)
        grids["distance"][...] = float(weight.sum()) / self.machine.row_spacing
        problems: dict[tuple[int, int, int], str] = {}
        for setting, p, row, why in self.problems:
            j, i = divmod(setting, self.pressures.size)
            problems.setdefault((i, j, 0), f"pass {p + 1}, row {row + 1}: {why}")
        for i, j, _ in problems:
            grids["on_depth_share"][i, j, 0] = np.nan
        by_cell = {}
        for number in range(len(self.settings)):
            j, i = divmod(number, self.pressures.size)
            by_cell[i, j, 0] = self.heeds_at(number, limits)
        return Window(
            scenario=self.name, pressures=self.pressures, speeds=self.speeds, seeds=(self.seed,), grids=grids,
            downforce=self.downforce, limits=limits, problems=problems,
            held_down=held_down(self.machine, float(self.inputs["unit"]["toolbar"]["mass"])),
            set_depth=float(self.inputs["settings"]["set_depth"]),
            heeds={cell: heeds for cell, heeds in by_cell.items() if heeds},
        )  # fmt: skip

    def worst_pin(self, setting: int) -> tuple[str, float]:
        """Name and load [N] of the pin that bears most anywhere."""
        peaks = self.sections["pin_peak"][setting]
        if not np.isfinite(peaks).any():
            return "", NAN
        place = np.unravel_index(int(np.nanargmax(peaks)), peaks.shape)
        return PINS[int(self.sections["pin_worst"][setting][place])], float(peaks[place])


def load_table(path: Path) -> PaddockTable:
    """A stored paddock. Raises ScenarioError for a file that is missing, damaged, or of another kind or version."""
    with opened(path, description()) as stored:
        wanted = [*by_section(), *(m.stored for m in by_setting().values())]
        lacking = [name for name in wanted if not stored.has(name)]
        if 0 < len(lacking) < len(wanted):  # with none of them it is no older result, but a damaged one
            raise refused(path, f"made before {', '.join(lacking)} was kept", "a result that has it",
                          "compute it again to another --out")  # fmt: skip
        stored.check()
        try:
            return _table(path, stored)
        except Unfit as unfit:
            stored.refuse(unfit.where, unfit.given, unfit.allowed)


def _table(path: Path, stored: Stored) -> PaddockTable:
    """Raises ScenarioError, Unfit."""
    found = checked_inputs(stored.json("inputs/inputs_si"), stored.mark("@fingerprint"))
    pressures, speeds = np.array(found.search.pressures), np.array(found.search.speeds)
    sizes = Sizes(pressures.size * speeds.size, found.passes.count, found.machine.rows)
    _check_sizes(stored, sizes, np.tile(pressures, speeds.size), np.repeat(speeds, pressures.size))
    known = _check_optional(stored, found)
    counts = stored.numbers("row_error_count")
    length, zone = stored.numbers("section_length").astype(np.float64), stored.numbers("zone")
    if not np.nansum(length) > 0.0:
        stored.refuse("section_length", "no length at all", "the length of row in each section")
    if zone.size and zone.max() > len(found.zones):
        stored.refuse("zone", f"zone {zone.max()}", f"0 to {len(found.zones)}, the zones of the paddock")
    return PaddockTable(
        path=path,
        name=stored.mark("inputs@paddock"),
        title=stored.mark("@title"),
        seed=stored.mark("inputs@seed"),
        pressures=pressures,
        speeds=speeds,
        downforce=stored.numbers("downforce")[: pressures.size],
        by_setting={name: stored.numbers(m.stored) for name, m in by_setting().items()},
        machine=found.machine,
        zones=found.zones,
        tracks=tuple(t for f in found.ground.features if isinstance(f, Ruts) for t in f.tracks),
        limits=checked_limits(stored.json("inputs/limits_si")),
        section_x=stored.numbers("section_x").astype(np.float64),
        section_length=length,
        row_y=stored.numbers("row_y").astype(np.float64),
        zone=zone,
        latitude=stored.numbers("latitude") if known else None,
        longitude=stored.numbers("longitude") if known else None,
        sections={name: stored.numbers(name) for name in by_section()},
        totals={n: stored.numbers(n) for n in ("row_error_mean", "row_on_depth_share", "row_wheel_off_share",
                                               "row_distance")},
        error_count=np.stack([counts[k].sum(axis=(0, 1), dtype=np.int64) for k in range(counts.shape[0])]),
        events={name: _events(stored, m.events, sizes) for name, m in limited_counts().items()},
        problems=checked_problems(stored.json("inputs/problems"), sizes),
        heeds=tuple(Warned(*warned) for warned in checked_heeds(stored.json("inputs/heeds"), sizes)),
        warnings=checked_warnings(stored.json("inputs/warnings")),
        versions=stored.versions(),
        inputs=found.raw,
        doubt=_doubt(stored, sizes, len(found.zones)) if stored.has("inputs/doubt") else None,
    )  # fmt: skip


def _doubt(stored: Stored, sizes: Sizes, zones: int) -> Sampled:
    """Raises ScenarioError, Unfit."""
    return checked_sampled(stored.json("inputs/doubt"), sizes, zones)


def _check_sizes(stored: Stored, sizes: Sizes, pressures: Floats, speeds: Floats) -> None:
    """The dimensions are those of what went in, and the settings its own."""
    for dim, size in zip(("setting", "pass", "row"), sizes, strict=True):
        if stored.sizes[dim] != size:
            stored.refuse(dim, f"{stored.sizes[dim]} of them", f"{size}, as inputs/inputs_si says")
    for name, wanted in (("oil_pressure", pressures), ("speed", speeds)):
        if not np.array_equal(stored.numbers(name), wanted):
            stored.refuse(name, "other settings", "those of inputs/inputs_si")


def _check_optional(stored: Stored, found: PaddockInputs) -> bool:
    """What may be left out is there where it has to be → whether positions are known."""
    here = [name for name in ("latitude", "longitude") if stored.has(name)]
    asked = found.passes.latitude is not None and found.passes.longitude is not None
    if len(here) == 1 or (asked and not here):
        stored.refuse("latitude", "latitudes and longitudes that are not both there", "both, or none")
    if found.keep.series_every is not None and not all(stored.has(f"series_{name}") for name in SERIES):
        stored.refuse("series_depth_error", "missing", "the series that inputs/inputs_si asks for")
    return bool(here)


def _events(stored: Stored, kind: str, sizes: Sizes) -> dict[str, NDArray[Any]]:
    """Setting, pass, row and start of each event."""
    found = {column: stored.numbers(f"{kind}_{column}") for column in ("setting", "pass", "row", "start")}
    for column, size in zip(("setting", "pass", "row"), sizes, strict=True):
        if found[column].size and found[column].max() >= size:
            stored.refuse(f"{kind}_{column}", f"number {found[column].max()}", f"0 to {size - 1}")
    return found
