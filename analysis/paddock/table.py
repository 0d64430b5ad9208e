"""A stored paddock as read back: axes, geometry and measures, put together over passes, rows, sections and zones."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.paddock.store import opened
from analysis.rows.cells import NAN
from analysis.window.grid import GRIDS, Window
from scenarios.paddock.spec import PaddockMachine, Zone
from scenarios.spec import Limits
from sim.record import PINS

Floats = NDArray[np.float64]

SHAPED = ("on_depth_share", "error_mean", "error_sd", "wheel_off_share", "gauge_load_mean", "pin_peak", "pin_worst",
          "rock_peak", "oil_pressure_max")  # fmt: skip


@dataclass(frozen=True, repr=False)
class PaddockTable:
    """A result of `rowbench paddock`. Settings are numbered speed by speed, pressures rising within each.

    `sections[name]` (settings, passes, rows, sections) in float32, NaN where a pass is shorter or a row failed;
    `totals[name]` (settings, passes, rows); SI units.
    """

    path: Path
    name: str
    title: str
    seed: int
    pressures: Floats  # gauge [Pa], (pressures,)
    speeds: Floats  # [m/s], (speeds,)
    downforce: Floats  # [N], (pressures,)
    reached: Floats  # (settings,)
    setting_change: Floats  # (settings,) [m]
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
    breakouts: Mapping[str, NDArray[Any]]  # setting, pass, row, start
    problems: tuple[tuple[int, int, int, str], ...]  # setting, pass, row, why
    warnings: tuple[str, ...]
    versions: Mapping[str, str]
    inputs: Mapping[str, Any]

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
        return np.broadcast_to(length, self.zone.shape) * self.machine.row_spacing

    def mean_of(self, name: str, setting: int, mask: NDArray[np.bool_] | None = None) -> float:
        """Mean of a section measure over area, where `mask` (passes, rows, sections) holds; NaN where one failed."""
        weight = self.weight if mask is None else np.where(mask, self.weight, 0.0)
        here = weight > 0.0
        if not here.any():
            return NAN
        return float(np.sum(self.sections[name][setting][here] * weight[here]) / weight.sum())

    def peak_of(self, name: str, setting: int, mask: NDArray[np.bool_] | None = None) -> float:
        """Largest of a section measure where `mask` holds."""
        here = self.weight > 0.0 if mask is None else (self.weight > 0.0) & mask
        return float(self.sections[name][setting][here].max()) if here.any() else NAN

    def error_sd(self, setting: int, mask: NDArray[np.bool_] | None = None) -> float:
        """Standard deviation of the depth error over all travel [m], from the sections' means and deviations."""
        weight = self.weight if mask is None else np.where(mask, self.weight, 0.0)
        here = weight > 0.0
        if not here.any():
            return NAN
        mean, sd = (self.sections[n][setting][here].astype(np.float64) for n in ("error_mean", "error_sd"))
        w = weight[here] / weight[here].sum()
        return float(np.sqrt(np.sum(w * (sd**2 + mean**2)) - np.sum(w * mean) ** 2))

    def area_on_depth(self, setting: int, least: float) -> float:
        """Area [m²] of the sections whose on-depth share is at least `least`."""
        share = self.sections["on_depth_share"][setting]
        return float(self.weight[(self.weight > 0.0) & (share >= least - 1e-6)].sum())

    def breakouts_in(self, setting: int, mask: NDArray[np.bool_] | None = None) -> int:
        """Number of breakouts at a setting, where `mask` (passes, rows, sections) holds."""
        mine = self.breakouts["setting"] == setting
        if mask is None:
            return int(mine.sum())
        p, r, start = (self.breakouts[name][mine] for name in ("pass", "row", "start"))
        ends = np.cumsum(np.nan_to_num(self.section_length), axis=1)
        section = np.array(
            [np.searchsorted(ends[i], x, side="right") for i, x in zip(p, start, strict=True)], dtype=int
        )
        return int(mask[p, r, np.minimum(section, mask.shape[2] - 1)].sum())

    def window(self, limits: Limits, zone: int | None = None) -> Window:
        """The settings as a window of one ground: the whole paddock, or one of its zones (0: the rest)."""
        mask = None if zone is None else self.zone == zone
        shape = (self.pressures.size, self.speeds.size, 1)
        grids = {name: np.full(shape, np.nan) for name in GRIDS}
        weight = self.weight if mask is None else np.where(mask, self.weight, 0.0)
        for number in range(len(self.settings)):
            j, i = divmod(number, self.pressures.size)
            for name, value in self._measures(number, mask, float(weight.sum())).items():
                grids[name][i, j, 0] = value
        problems: dict[tuple[int, int, int], str] = {}
        for setting, p, row, why in self.problems:
            j, i = divmod(setting, self.pressures.size)
            problems.setdefault((i, j, 0), f"pass {p + 1}, row {row + 1}: {why}")
        for i, j, _ in problems:
            grids["on_depth_share"][i, j, 0] = np.nan
        return Window(
            scenario=self.name, pressures=self.pressures, speeds=self.speeds, seeds=(self.seed,), grids=grids,
            downforce=self.downforce, limits=limits, problems=problems,
        )  # fmt: skip

    def _measures(self, setting: int, mask: NDArray[np.bool_] | None, area: float) -> dict[str, float]:
        return {
            "on_depth_share": self.mean_of("on_depth_share", setting, mask),
            "error_sd": self.error_sd(setting, mask),
            "depth_mean": self.mean_of("error_mean", setting, mask) + self.inputs["settings"]["set_depth"],
            "wheel_off_share": self.mean_of("wheel_off_share", setting, mask),
            "gauge_load_mean": self.mean_of("gauge_load_mean", setting, mask),
            "breakouts": float(self.breakouts_in(setting, mask)),
            "distance": area / self.machine.row_spacing,
            "pin_peak": self.peak_of("pin_peak", setting, mask),
            "pressure_max": self.peak_of("oil_pressure_max", setting, mask),
            "rock_peak": self.peak_of("rock_peak", setting, mask),
            "setting_change": float(self.setting_change[setting]),
            "reached": float(self.reached[setting]),
        }

    def worst_pin(self, setting: int) -> tuple[str, float]:
        """Name and load [N] of the pin that bears most anywhere."""
        peaks = self.sections["pin_peak"][setting]
        if not np.isfinite(peaks).any():
            return "", NAN
        place = np.unravel_index(int(np.nanargmax(peaks)), peaks.shape)
        return PINS[int(self.sections["pin_worst"][setting][place])], float(peaks[place])


def load_table(path: Path) -> PaddockTable:
    """A stored paddock. Raises ScenarioError for a file that is missing, damaged, or of another kind or version."""
    with opened(path) as file:
        group = file["inputs"]
        found = json.loads(group["inputs_si"][()])
        machine = _machine(found["machine"])
        zones = tuple(_zone(zone) for zone in found["zones"])
        tracks = [t for f in found["ground"]["features"] if f["kind"] == "ruts" for t in f["tracks"]]
        pressures, speeds = np.array(found["search"]["pressures"]), np.array(found["search"]["speeds"])
        known = "latitude" in file
        counts = file["row_error_count"]
        return PaddockTable(
            path=path,
            name=str(group.attrs["paddock"]),
            title=str(file.attrs["title"]),
            seed=int(group.attrs["seed"]),
            pressures=pressures,
            speeds=speeds,
            downforce=file["downforce"][: pressures.size],
            reached=file["depth_reached"][...],
            setting_change=file["setting_change"][...],
            machine=machine,
            zones=zones,
            tracks=tuple(tracks),
            limits=Limits(**json.loads(group["limits_si"][()])),
            section_x=file["section_x"][...].astype(np.float64),
            section_length=file["section_length"][...].astype(np.float64),
            row_y=file["row_y"][...].astype(np.float64),
            zone=file["zone"][...],
            latitude=file["latitude"][...] if known else None,
            longitude=file["longitude"][...] if known else None,
            sections={name: file[name][...] for name in SHAPED},
            totals={n: file[n][...] for n in ("row_error_mean", "row_on_depth_share", "row_wheel_off_share",
                                              "row_distance")},
            error_count=np.stack([counts[k].sum(axis=(0, 1), dtype=np.int64) for k in range(counts.shape[0])]),
            breakouts={name: file[f"breakout_{name}"][...] for name in ("setting", "pass", "row", "start")},
            problems=tuple(tuple(item) for item in json.loads(group["problems"][()])),
            warnings=tuple(json.loads(group["warnings"][()])),
            versions={name[8:]: str(text) for name, text in file.attrs.items() if name.startswith("version_")},
            inputs=found,
        )  # fmt: skip


def _zone(found: dict[str, Any]) -> Zone:
    return Zone(**{**found, "start": tuple(found["start"]), "end": tuple(found["end"])})


def _machine(found: dict[str, Any]) -> PaddockMachine:
    wheels = {name: tuple(found[name]) for name in ("front_wheels", "rear_wheels")}
    return PaddockMachine(**{**found, **wheels})
