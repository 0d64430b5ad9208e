"""A crossing as pages draw it: sampled along a stretch of ground, packed into 16 bits, with the ground under it.

A sample every 0.05 m of ground. Each channel has one quantum; a value is quantum × a signed 16-bit number. Channels
that never leave zero are left out. The depth error is not packed: it is the sum of its five parts.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.depth import depth_error
from analysis.crossing.loads import pin_squares
from analysis.explain.parts import along, told_parts, wheel_off
from sim.record import CAUSES, PINS, Run
from sim.track import NO_STONE, Track
from sim.unit import ATMOSPHERE

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
    problem: str = ""


def sample_places(first: float, last: float) -> NDArray[np.float64]:
    """Places of the samples along the track [m]."""
    return first + SAMPLE * np.arange(round((last - first) / SAMPLE) + 1, dtype=np.float64)


def sampled(run: Run, first: float, last: float, tolerance: float) -> Crossed:
    """A run read at the samples of a stretch."""
    at = sample_places(first, last)
    run, x = _piece(run, first - SAMPLE, last + SAMPLE)
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
    )


def _piece(run: Run, first: float, last: float) -> tuple[Run, NDArray[np.float64]]:
    """The series of a run from the step before a place to the step behind another, and where they are along the track,
    never falling [m].
    """
    x = np.maximum.accumulate(along(run))
    piece = slice(max(int(np.searchsorted(x, first)) - 1, 0), int(np.searchsorted(x, last, side="right")) + 1)
    series = {name: values[piece] for name, values in run.series.items()}
    return replace(run, series=series, pins=run.pins[piece]), x[piece]


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
    ends = np.stack([low, high], axis=1).ravel()
    peaks = np.maximum.reduceat(np.append(values, -np.inf), ends)[::2]
    return np.maximum(there, np.where(low < high, peaks, -np.inf))


def packed(crossings: Sequence[Crossed], n: int) -> dict[str, Any]:
    """The samples of crossings as a page reads them: {"n", "step_m", "channels": {name: {"unit", "quantum", "data"}}}.

    data: base64 of little-endian 16-bit numbers, crossing by crossing, n each; zeros for one that was not made.
    """
    zero = np.zeros(n)
    channels = {}
    for name, unit in SERIES.items():
        values = np.stack([crossed.samples.get(name, zero) for crossed in crossings])
        most = float(np.abs(values).max())
        quantum = float(f"{most / FULL:.3g}") or 1.0
        numbers = np.round(values / quantum)
        if most < 1e-9:
            channels[name] = {"unit": unit, "quantum": 0.0, "data": ""}
        else:
            data = base64.b64encode(numbers.astype("<i2").tobytes()).decode("ascii")
            channels[name] = {"unit": unit, "quantum": quantum, "data": data}
    return {"n": n, "step_m": SAMPLE, "channels": channels}


def ground_line(track: Track, start: float, end: float) -> dict[str, Any]:
    """Ground and stones from BEHIND a start to AHEAD of an end [m], whole tenths of millimetres every 0.02 m."""
    first = start - BEHIND
    at = first + GROUND_SAMPLE * np.arange(round((end + AHEAD - first) / GROUND_SAMPLE) + 1)
    soil = np.interp(at, track.x, track.ground)
    near = np.clip(np.round((at - track.x0) / track.dx).astype(int), 0, track.x.size - 1)
    top = track.stone_top[near]
    proud = np.where(top > NO_STONE, np.maximum(top - track.ground[near], -0.1), -0.1)
    tenths = np.round(np.stack([soil, proud]) * 1e4).astype(int)
    return {"from_m": first, "step_m": GROUND_SAMPLE, "soil": tenths[0].tolist(), "stone": tenths[1].tolist()}
