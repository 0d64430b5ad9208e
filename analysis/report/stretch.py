"""The stretch of ground that the page shows: crossed at every setting of the grid, sampled, packed into 16 bits.

A sample every 0.05 m of ground. Each channel of all settings has one quantum; a value is quantum × a signed 16-bit
number. Channels that never leave zero are left out. The depth error is not packed: it is the sum of its five parts.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.breakouts import Breakout, breakouts
from analysis.crossing.depth import depth_error
from analysis.crossing.loads import pin_squares
from analysis.explain.parts import along, told_parts, wheel_off
from analysis.parallel import Progress, run_all
from analysis.present.edge import mm
from analysis.rows.cells import lay
from analysis.window.grid import Window
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import CAUSES, PINS, Run
from sim.run import simulate
from sim.track import NO_STONE, Track
from sim.unit import ATMOSPHERE

LENGTH = 40.0  # [m]
SAMPLE = 0.05  # [m]
GROUND_SAMPLE = 0.02  # [m]
BEHIND, AHEAD = 3.0, 2.0  # ground drawn beyond both ends [m]
FULL = 32000  # largest packed number

# name of a channel on the page → unit
SERIES = {
    **dict.fromkeys(CAUSES, "mm"),
    "gauge_load": "N", "press_load": "N", "disc_vertical": "N", "disc_draught": "N", "rock_force": "N",
    "arm_angle": "rad", "press_angle": "rad", "pitch": "rad", "toolbar_height": "m", "oil_pressure": "bar",
    "upper_x": "N", "upper_z": "N", "lower_x": "N", "lower_z": "N", "pin_worst": "N",
}  # fmt: skip
PEAKS = ("rock_force", "pin_worst")  # the highest value since the sample before; all else is read at the sample


@dataclass(frozen=True)
class Crossed:
    """One setting on the stretch. `samples[name]` (n,) in the units of SERIES; empty where it could not be made."""

    samples: Mapping[str, NDArray[np.float64]]
    crank_angle: float = 0.0  # [rad]
    set_load: float = 0.0  # gauge load at the setting [N]
    on_depth_share: float = 0.0  # of the stretch
    wheel_off_share: float = 0.0
    breakouts: tuple[Breakout, ...] = ()  # of the whole ground of this seed
    problem: str = ""


@dataclass(frozen=True)
class Stretch:
    """The stretch, from and to along the track [m], and every setting's crossing by (pressure, speed)."""

    first: float
    last: float
    seed: int
    track: Track
    cells: Mapping[tuple[int, int], Crossed]
    problem: str = ""  # why it is the head of the ground and not its worst piece; "": it is the worst

    @property
    def samples(self) -> int:
        """Samples along the stretch."""
        return sample_places(self.first, self.last).size


def sample_places(first: float, last: float) -> NDArray[np.float64]:
    """Places of the samples along the track [m]."""
    return first + SAMPLE * np.arange(round((last - first) / SAMPLE) + 1, dtype=np.float64)


def cross_stretch(
    scenario: Scenario, window: Window, chosen: tuple[int, int], workers: int | None, progress: Progress | None
) -> Stretch:
    """Cross the first ground of a window at every setting, depth setting redone, and keep one stretch of it.

    The stretch is the one with the largest depth error (RMS) at the chosen (pressure, speed); where that setting
    cannot be crossed, the head of the ground, and the reason stands in `problem`.
    """
    laid = lay(scenario, window.seeds[:1])[0]

    def run_at(i: int, j: int) -> Run:
        settings = replace(
            scenario.settings, oil_pressure=float(window.pressures[i]), speed=float(window.speeds[j]), setting="redone"
        )
        return simulate(scenario.unit, scenario.soil, laid.track, settings, tables=laid.tables)

    problem = ""
    try:
        first, last = worst_stretch(run_at(*chosen), scenario.x_from, scenario.x_to)
    except SimulationError as error:
        first, problem = scenario.x_from, str(error)
        last = first + min(LENGTH, scenario.length)

    def job(cell: tuple[int, int]) -> Crossed:
        try:
            return sampled(run_at(*cell), first, last, scenario.limits.depth_tolerance)
        except SimulationError as error:
            return Crossed({}, problem=str(error))

    cells = [(i, j) for j in range(window.speeds.size) for i in range(window.pressures.size)]
    found = run_all(job, cells, workers, progress)
    return Stretch(first, last, laid.seed, laid.track, dict(zip(cells, found, strict=True)), problem)


def worst_stretch(run: Run, start: float, end: float) -> tuple[float, float]:
    """The LENGTH of ground with the largest RMS depth error between two distances; all where there is no more [m]."""
    if end - start <= LENGTH + SAMPLE:
        return start, start + SAMPLE * float(np.floor((end - start) / SAMPLE + 1e-9))
    x, square = along(run), depth_error(run) ** 2
    sums = np.concatenate([[0.0], np.cumsum(square)])
    starts = np.arange(start, end - LENGTH + 1e-9, 1.0)
    low, high = np.searchsorted(x, starts), np.searchsorted(x, starts + LENGTH)
    worst = float(starts[int(np.argmax(sums[high] - sums[low]))])
    return worst, worst + LENGTH


def sampled(run: Run, first: float, last: float, tolerance: float) -> Crossed:
    """A run read at the samples of a stretch."""
    at = sample_places(first, last)
    x = np.maximum.accumulate(along(run))
    inside = (x >= first) & (x <= last)
    samples = {}
    for name, values in _channels(run).items():
        samples[name] = _highest(x, values, at) if name in PEAKS else np.interp(at, x, values)
    return Crossed(
        samples,
        crank_angle=run.setting.crank_angle,
        set_load=run.setting.gauge_load,
        on_depth_share=float(np.mean(np.abs(depth_error(run)[inside]) <= tolerance)),
        wheel_off_share=float(np.mean(wheel_off(run)[inside])),
        breakouts=breakouts(run, tolerance),
    )


def _channels(run: Run) -> dict[str, NDArray[np.float64]]:
    """All series of SERIES at the run's own steps."""
    s, pins = run.series, run.pins
    upper, lower = PINS.index("main_upper_front"), PINS.index("main_lower_front")
    found = {name: part * 1e3 for name, part in told_parts(run).items()}
    for name in SERIES:
        if name in s and name not in found:
            found[name] = s[name]
    return {
        **found,
        "oil_pressure": (s["oil_pressure"] - ATMOSPHERE) / 1e5,
        "upper_x": pins[:, upper, 0], "upper_z": pins[:, upper, 1],
        "lower_x": pins[:, lower, 0], "lower_z": pins[:, lower, 1],
        "pin_worst": np.sqrt(pin_squares(run).max(axis=1)),
    }  # fmt: skip


def _highest(x: NDArray[np.float64], values: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Highest value within half a sample of each place, and never less than the value there."""
    low, high = np.searchsorted(x, at - 0.5 * SAMPLE), np.searchsorted(x, at + 0.5 * SAMPLE)
    there = np.interp(at, x, values)
    peaks = [values[a:b].max(initial=-np.inf) for a, b in zip(low, high, strict=True)]
    return np.maximum(there, peaks)


def packed(stretch: Stretch, shape: tuple[int, int]) -> dict[str, Any]:
    """The samples of all settings as the page reads them: {"n", "channels": {name: {"unit", "quantum", "data"}}}.

    data: base64 of little-endian 16-bit numbers, setting by setting (pressures within speeds), n each.
    """
    n, (pressures, speeds) = stretch.samples, shape
    zero = np.zeros(n)
    channels = {}
    for name, unit in SERIES.items():
        rows = [stretch.cells[i, j].samples.get(name, zero) for j in range(speeds) for i in range(pressures)]
        values = np.stack(rows)
        most = float(np.abs(values).max())
        quantum = float(f"{most / FULL:.3g}") or 1.0
        numbers = np.round(values / quantum)
        if most < 1e-9:
            channels[name] = {"unit": unit, "quantum": 0.0, "data": ""}
        else:
            data = base64.b64encode(numbers.astype("<i2").tobytes()).decode("ascii")
            channels[name] = {"unit": unit, "quantum": quantum, "data": data}
    return {"n": n, "step_m": SAMPLE, "channels": channels}


def ground_line(stretch: Stretch) -> dict[str, Any]:
    """Ground and stones under and around the stretch, whole tenths of millimetres every 0.02 m."""
    track = stretch.track
    first = stretch.first - BEHIND
    at = first + GROUND_SAMPLE * np.arange(round((stretch.last + AHEAD - first) / GROUND_SAMPLE) + 1)
    soil = np.interp(at, track.x, track.ground)
    near = np.clip(np.round((at - track.x0) / track.dx).astype(int), 0, track.x.size - 1)
    top = track.stone_top[near]
    proud = np.where(top > NO_STONE, np.maximum(top - track.ground[near], -0.1), -0.1)
    tenths = np.round(np.stack([soil, proud]) * 1e4).astype(int)
    return {"from_m": first, "step_m": GROUND_SAMPLE, "soil": tenths[0].tolist(), "stone": tenths[1].tolist()}


def breakout_rows(found: tuple[Breakout, ...], most: int) -> list[dict[str, Any]]:
    """The highest breakouts as rows of a table, in trade units."""
    ranked = sorted(found, key=lambda b: -b.rise)[:most]
    return [
        {
            "at_m": b.position, "rise_mm": mm(b.rise), "regain_m": b.regain,
            "disc_kN": b.disc_peak / 1e3, "pin": b.pin.replace("_", " "), "pin_kN": b.pin_peak / 1e3,
            "oil_bar": b.pressure_max / 1e5,
        }
        for b in ranked
    ]  # fmt: skip
