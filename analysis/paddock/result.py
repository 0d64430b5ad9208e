"""What is kept of one pass: measures by setting, row and section, totals by row, events, perhaps thinned series."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.episodes import CAUSES_IN_ORDER
from analysis.paddock.series import SERIES, Sampler
from analysis.rows.reduced import ERROR_BINS, GAUGE_BINS, Reduced
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_shapes import zone_number
from scenarios.paddock.rows import Lanes
from sim.march.rows import Group
from sim.record import CAUSES, PINS
from sim.unit import ATMOSPHERE, Settings


class Measure(NamedTuple):
    """A stored measure: unit, meaning, dimensions beside setting and row."""

    unit: str
    doc: str
    dims: tuple[str, ...] = ()
    kind: str = "f4"


SECTIONS: dict[str, Measure] = {
    "on_depth_share": Measure("1", "share of travel within the tolerance of the set depth"),
    "error_mean": Measure("m", "mean depth error, positive = deeper"),
    "error_sd": Measure("m", "standard deviation of the depth error"),
    "wheel_off_share": Measure("1", "share of travel with no load on the gauge wheel"),
    "gauge_load_mean": Measure("N", "mean load on the gauge wheel"),
    "pin_peak": Measure("N", "largest load on any pin"),
    "pin_worst": Measure("1", "number of the pin that bears it, in the order of `pin`", kind="i1"),
    "rock_peak": Measure("N", "largest force of a stone on the disc"),
    "oil_pressure_max": Measure("Pa", "highest oil pressure at the accumulator, gauge"),
}
TOTALS: dict[str, Measure] = {
    "row_steps": Measure("1", "steps measured", kind="i8"),
    "row_distance": Measure("m", "travel measured", kind="f8"),
    "row_on_depth_share": Measure("1", "share of travel within the tolerance of the set depth", kind="f8"),
    "row_error_mean": Measure("m", "mean depth error, positive = deeper", kind="f8"),
    "row_error_sd": Measure("m", "standard deviation of the depth error", kind="f8"),
    "row_wheel_off_share": Measure("1", "share of travel with no load on the gauge wheel", kind="f8"),
    "row_gauge_load_mean": Measure("N", "mean load on the gauge wheel", kind="f8"),
    "row_gauge_load_sd": Measure("N", "standard deviation of the load on the gauge wheel", kind="f8"),
    "row_press_load_mean": Measure("N", "mean load on the press wheel", kind="f8"),
    "row_rock_peak": Measure("N", "largest force of a stone on the disc", kind="f8"),
    "row_oil_pressure_min": Measure("Pa", "lowest oil pressure at the accumulator, gauge", kind="f8"),
    "row_oil_pressure_max": Measure("Pa", "highest oil pressure at the accumulator, gauge", kind="f8"),
    "row_disc_slip_share": Measure("1", "share of travel in which the soil cannot turn the disc", kind="f8"),
    "row_out_of_oil_share": Measure("1", "share of travel with no oil in the accumulator", kind="f8"),
    "row_pin_peak": Measure("N", "largest load on each pin", ("pin",), "f8"),
    "row_pin_rms": Measure("N", "root mean square of the load on each pin", ("pin",), "f8"),
    "row_cause_mean": Measure("m", "mean of each part of the depth error", ("cause",), "f8"),
    "row_cause_share": Measure("1", "share of each part in the variance of the depth error", ("cause",), "f8"),
    "row_error_count": Measure("1", "steps by depth error", ("error_bin",), "i4"),
    "row_gauge_count": Measure("1", "steps by gauge load", ("load_bin",), "i4"),
    "row_wheel_off_episodes": Measure("1", "wheel-off episodes", kind="i4"),
    "row_breakouts": Measure("1", "breakouts", kind="i4"),
}
SIZES = {"pin": len(PINS), "cause": len(CAUSES), "error_bin": ERROR_BINS.bins + 2, "load_bin": GAUGE_BINS.bins + 2}

EPISODE = (
    ("setting", "1", "number of the setting"),
    ("row", "1", "number of the row, from the left"),
    ("start", "m", "travel of the disc at which it begins"),
    ("length", "m", "travel with no load on the gauge wheel, short contacts bridged"),
    ("rise", "m", "greatest set depth − depth"),
    ("gap", "m", "greatest clearance under the gauge wheel"),
    ("shallow", "m", "travel shallower than the tolerance"),
    ("cause", "1", f"cause: {', '.join(f'{i} {name}' for i, name in enumerate(CAUSES_IN_ORDER))}"),
)
BREAKOUT = (
    ("setting", "1", "number of the setting"),
    ("row", "1", "number of the row, from the left"),
    ("start", "m", "travel of the disc at the first contact"),
    ("rise", "m", "greatest height of the disc over set depth, from the ground without the stone"),
    ("regain", "m", "travel until depth is back within the tolerance; NaN: not in this pass"),
    ("disc_peak", "N", "largest force of the stone on the disc"),
    ("pin", "1", "number of the pin that bears most, in the order of `pin`"),
    ("pin_peak", "N", "its load"),
    ("pressure_max", "Pa", "highest oil pressure at the accumulator, gauge"),
)


@dataclass
class PassResult:
    """One pass. Arrays: `sections[name]` (settings, rows, sections), `totals[name]` (settings, rows, …)."""

    number: int
    length: float
    sections: dict[str, NDArray[Any]]
    totals: dict[str, NDArray[Any]]
    section_x: NDArray[np.float64]  # place of each section's middle in plan along the passes [m]
    section_length: NDArray[np.float64]  # (sections,) [m]
    row_y: NDArray[np.float64]  # place of each row across the paddock [m]
    zone: NDArray[np.int8]  # (rows, sections) zone of each section's middle, 0: none
    episodes: NDArray[np.float32]  # (n, EPISODE)
    breakouts: NDArray[np.float32]  # (n, BREAKOUT)
    series: NDArray[np.float32]  # (settings, rows, SERIES, samples)
    reached: NDArray[np.float64]  # (settings,) 1: the depth can be set; NaN: not known
    setting_change: NDArray[np.float64]  # (settings,) [m], positive = set deeper than at the reference
    problems: dict[tuple[int, int], str] = field(default_factory=dict)  # by (setting, row)

    def note_setting(self, places: Sequence[tuple[int, int]], group: Group) -> None:
        """Keep what the depth settings of a group are."""
        for (i, _), ready in zip(places, group.ready, strict=True):
            self.reached[i] = float(ready.setting.reached)
            self.setting_change[i] = ready.setting.wheel_over_disc - ready.reference.wheel_over_disc


def sections_of(length: float, section: float) -> int:
    """Number of sections of a pass; the last one takes what is left, if that is half of one or more."""
    return max(1, round(length / section))


def empty_result(paddock: Paddock, lanes: Lanes, settings: Sequence[Settings]) -> PassResult:
    """A result with nothing in it yet: NaN, and 0 for whole numbers."""
    rows, count = paddock.machine.rows, len(settings)
    number = sections_of(lanes.length, paddock.passes.section)
    ends = np.append(np.arange(number) * paddock.passes.section, lanes.length)
    x, y = lanes.places(0.5 * (ends[1:] + ends[:-1]), np.zeros(1))[0], lanes.places(np.zeros(rows), lanes.rows)[1]
    every = paddock.keep.series_every
    samples = 0 if every is None else max(int((lanes.length - 1e-3) / every) + 1, 1)
    return PassResult(
        number=lanes.number,
        length=lanes.length,
        sections={name: _blank((count, rows, number), m.kind) for name, m in SECTIONS.items()},
        totals={name: _blank((count, rows, *(SIZES[d] for d in m.dims)), m.kind) for name, m in TOTALS.items()},
        section_x=x,
        section_length=np.diff(ends),
        row_y=y,
        zone=zone_number(paddock.zones, x[None, :], y[:, None]).astype(np.int8),
        episodes=np.empty((0, len(EPISODE)), dtype=np.float32),
        breakouts=np.empty((0, len(BREAKOUT)), dtype=np.float32),
        series=np.full((count, rows, len(SERIES), samples), np.nan, dtype=np.float32),
        reached=np.full(count, np.nan),
        setting_change=np.full(count, np.nan),
    )


def _blank(shape: tuple[int, ...], kind: str) -> NDArray[Any]:
    return np.full(shape, np.nan, dtype=kind) if kind.startswith("f") else np.zeros(shape, dtype=kind)


def put_group(
    result: PassResult,
    places: Sequence[tuple[int, int]],
    reduced: Reduced,
    sampler: Sampler | None,
) -> None:
    """Put the measures of a group's rows, at `places` (setting, row), into the result."""
    whole = reduced.whole()
    sections, totals = _section_values(reduced), _total_values(whole)
    assert reduced.error_counts is not None
    assert reduced.gauge_counts is not None
    errors, loads = reduced.error_counts.sum(axis=0), reduced.gauge_counts.sum(axis=0)
    episodes, breakouts = [result.episodes], [result.breakouts]
    for k, (i, j) in enumerate(places):
        for name, value in sections.items():
            result.sections[name][i, j] = value[:, k]
        for name, value in totals.items():
            result.totals[name][i, j] = value[..., k]
        result.totals["row_error_count"][i, j] = errors[:, k]
        result.totals["row_gauge_count"][i, j] = loads[:, k]
        result.totals["row_wheel_off_episodes"][i, j] = len(reduced.episodes[k])
        result.totals["row_breakouts"][i, j] = len(reduced.breakouts[k])
        episodes.append(_table([
            (i, j, e.start, e.length, e.rise, e.gap, e.shallow, CAUSES_IN_ORDER.index(e.cause))
            for e in reduced.episodes[k]
        ], len(EPISODE)))  # fmt: skip
        breakouts.append(_table([
            (i, j, b.position, b.rise, np.nan if b.regain is None else b.regain, b.disc_peak, PINS.index(b.pin),
             b.pin_peak, b.pressure_max)
            for b in reduced.breakouts[k]
        ], len(BREAKOUT)))  # fmt: skip
        if sampler is not None:
            n = min(result.series.shape[3], sampler.samples.shape[2])
            result.series[i, j, :, :n] = sampler.samples[:, k, :n]
    result.episodes, result.breakouts = np.concatenate(episodes), np.concatenate(breakouts)


def _table(rows: list[tuple[Any, ...]], width: int) -> NDArray[np.float32]:
    return np.array(rows, dtype=np.float32).reshape(-1, width)


def _section_values(r: Reduced) -> dict[str, NDArray[Any]]:
    peaks = r.values["pin_peak"]
    return {
        "on_depth_share": r.share("on_depth"),
        "error_mean": r.values["error_mean"],
        "error_sd": r.sd("error"),
        "wheel_off_share": r.share("wheel_off"),
        "gauge_load_mean": r.values["gauge_load_mean"],
        "pin_peak": peaks.max(axis=1),
        "pin_worst": peaks.argmax(axis=1),
        "rock_peak": r.values["rock_peak"],
        "oil_pressure_max": r.values["pressure_max"] - ATMOSPHERE,
    }


def _total_values(w: Reduced) -> dict[str, NDArray[Any]]:
    """Measures of all sections together (`w` has one), rows along the last axis."""
    v = {name: value[0] for name, value in w.values.items()}
    steps = np.full(v["on_depth"].shape, int(w.steps[0]))
    return {
        "row_steps": steps,
        "row_distance": steps * w.travel,
        "row_on_depth_share": w.share("on_depth")[0],
        "row_error_mean": v["error_mean"],
        "row_error_sd": w.sd("error")[0],
        "row_wheel_off_share": w.share("wheel_off")[0],
        "row_gauge_load_mean": v["gauge_load_mean"],
        "row_gauge_load_sd": w.sd("gauge_load")[0],
        "row_press_load_mean": v["press_load_mean"],
        "row_rock_peak": v["rock_peak"],
        "row_oil_pressure_min": v["pressure_min"] - ATMOSPHERE,
        "row_oil_pressure_max": v["pressure_max"] - ATMOSPHERE,
        "row_disc_slip_share": w.share("disc_slip")[0],
        "row_out_of_oil_share": w.share("out_of_oil")[0],
        "row_pin_peak": v["pin_peak"],
        "row_pin_rms": np.sqrt(v["pin_square_mean"]),
        "row_cause_mean": np.stack([v[f"{cause}_mean"] for cause in CAUSES]),
        "row_cause_share": np.stack([w.share_of_variance(cause)[0] for cause in CAUSES]),
    }
