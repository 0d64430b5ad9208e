"""Checks of the numbers themselves, on the user's own scenario: smaller steps, energy, a second engine.

Every check has a value, a bound and a verdict; bounds are this project's own. The second engine (sim.rigid.simulate,
loose bodies in pymunk) crosses the 20 m with the highest pin load and the calmest 20 m (or all of the track), both
engines from their own equilibrium on the same track cut down to that stretch, the compiled one at a quarter of its
default step, the second one at an eighth: there neither changes any more by a tenth of the bounds.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.verify.stretches import Window, cut, pin_loads, windows
from scenarios.scenario import Scenario
from sim.record import CAUSES, PINS, Run
from sim.rigid.simulate import simulate_rigid
from sim.run import simulate
from sim.step import choose_step
from sim.track import Track
from sim.unit import Settings, Soil, Unit
from sim.worn import is_worn, without_play

WINDOW = 20.0  # length of a stretch that the second engine crosses [m]
RIGID_PARTS = 8  # steps of the second engine in one default step

# bounds
DEPTH_STEP = 0.1e-3  # depth, RMS, default step against a quarter of it [m]
PIN_STEP = 0.01  # pin series, the same
LOWEST_ORDER = 1.0  # order of convergence, where the error is not far below its bound already
DEPTH_RIGID = 0.1e-3  # depth, RMS, second engine [m]
ANGLE_RIGID = 0.2e-3  # arm angle, RMS [rad]
PIN_RIGID = 0.01  # pin series, RMS and 99.9th percentile
PEAK_RIGID = 0.02  # pin peak
ENERGY = 1e-3  # energy left over as a share of the toolbar's traffic
EQUATIONS = 1e-6  # moment left over in the pins' two spare equations [N m]
SUM = 1e-9  # sum of the depth error's five parts against the error [m]


@dataclass(frozen=True)
class Check:
    """One line of the verdict."""

    key: str  # name in the JSON document
    what: str  # in words
    value: float | None  # None: not measurable here (and not needed)
    unit: str  # of value and bound
    bound: float
    least: bool = False  # True: the bound is the least allowed value
    note: str = ""  # which pin, where

    @property
    def passed(self) -> bool:
        """True where the value keeps its bound."""
        if self.value is None:
            return True
        return bool(self.value >= self.bound if self.least else self.value <= self.bound)


class Crossed(NamedTuple):
    """A stretch that both engines crossed."""

    window: Window
    peak: float  # highest pin load on it [N]
    whole: float  # highest pin load of the whole track [N]


@dataclass(frozen=True)
class VerifyResult:
    """All checks of one scenario."""

    scenario: str
    title: str
    step: float  # default step [s]
    checks: tuple[Check, ...]
    wall: float  # [s]
    crossed: tuple[Crossed, ...] = ()

    @property
    def passed(self) -> bool:
        """True where every check passed."""
        return all(check.passed for check in self.checks)

    def document(self) -> dict[str, Any]:
        """The result as a JSON document."""
        return {
            "scenario": self.scenario,
            "passed": self.passed,
            "default_step_s": self.step,
            "wall_s": self.wall,
            "stretches": [
                {
                    "stretch": c.window.name,
                    "from_m": c.window.start,
                    "to_m": c.window.end,
                    "highest_pin_load_N": c.peak,
                    "highest_pin_load_of_the_track_N": c.whole,
                }
                for c in self.crossed
            ],
            "checks": [
                {
                    "check": c.key,
                    "what": c.what,
                    "value": None if c.value is None else float(c.value),
                    "unit": c.unit,
                    "allowed": f"{'at least' if c.least else 'at most'} {c.bound:g}",
                    "bound": c.bound,
                    "passed": c.passed,
                    "note": c.note,
                }
                for c in self.checks
            ],
        }

    def lines(self) -> list[str]:
        """The result as text, one line a check."""
        found = [f"{self.title} ({self.scenario}), default step {self.step * 1e3:.2f} ms"]
        for c in self.checks:
            value = "too small to tell" if c.value is None else f"{c.value:.2g} {c.unit}".strip()
            bound = f"{'at least' if c.least else 'at most'} {c.bound:g} {c.unit}".strip()
            note = f"  ({c.note})" if c.note else ""
            found.append(f"  {'ok  ' if c.passed else 'FAIL'}  {c.what}: {value}, {bound}{note}")
        return found


def verify_scenario(
    scenario: Scenario, *, full: bool = False, progress: Callable[[str], None] = lambda _: None
) -> VerifyResult:
    """Check a scenario's own track and settings; `full`: the second engine crosses all of it.

    `progress` is told what is being done. Raises what `simulate` raises.
    """
    return verify(
        scenario.unit, scenario.soil, scenario.track(), scenario.settings, name=scenario.name, title=scenario.title,
        full=full, progress=progress,
    )  # fmt: skip


def verify(
    unit: Unit,
    soil: Soil,
    track: Track,
    settings: Settings,
    *,
    name: str = "track",
    title: str = "track",
    full: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> VerifyResult:
    """The same for parts that do not come from a scenario file."""
    begin = time.perf_counter()
    step = choose_step(unit, soil, track.rock, settings).seconds
    progress("step halving")
    runs = [simulate(unit, soil, track, settings, step=step / parts) for parts in (1, 2, 4)]
    checks = [*step_checks(runs), *balance_checks(runs[0])]
    crossed = []
    tight = without_play(unit)  # all that the second engine knows
    chosen = [Window("whole track", track.x_from, track.x_to)] if full else windows(runs[0], WINDOW)
    for window in chosen:
        progress(f"second engine: {window.name}, {window.end - window.start:.0f} m")
        piece = cut(track, window, soil.strength)
        compiled = simulate(tight, soil, piece, settings, step=step / 4)
        rigid = simulate_rigid(tight, soil, piece, settings, step=step / RIGID_PARTS)
        depth, *rest = engine_checks(compiled, rigid, window)
        note = f"{depth.note}; both without the play in the pins" if is_worn(unit) else depth.note
        checks += [replace(depth, note=note), *rest]
        crossed.append(Crossed(window, float(pin_loads(compiled).max()), float(pin_loads(runs[0]).max())))
    return VerifyResult(name, title, step, tuple(checks), time.perf_counter() - begin, tuple(crossed))


def common(coarse: Run, fine: Run) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows of two runs at the instants that both have."""
    grid = 1e-3 * fine.step
    a, b = (np.round(run.series["time"] / grid).astype(np.int64) for run in (coarse, fine))
    _, rows, others = np.intersect1d(a, b, return_indices=True)
    return rows, others


class Difference(NamedTuple):
    """How far two runs lie apart at their common instants."""

    depth: float  # RMS [m]
    depth_worst: float  # [m]
    angle: float  # RMS [rad]
    series: NDArray[np.float64]  # (14,) RMS difference of a pin's load over its RMS
    high: NDArray[np.float64]  # (14,) difference of the 99.9th percentile, over it
    peak: NDArray[np.float64]  # (14,) difference of the highest load, over it
    rms: NDArray[np.float64]  # (14,) difference of the RMS load, over it


def difference(run: Run, reference: Run) -> Difference:
    """Differences of depth, arm angle and all pin loads from a reference."""
    rows, others = common(run, reference) if run.step >= reference.step else common(reference, run)[::-1]

    def rms(values: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.sqrt(np.mean(values**2, axis=0))

    depth = run.series["depth"][rows] - reference.series["depth"][others]
    angle = run.series["arm_angle"][rows] - reference.series["arm_angle"][others]
    load, true = pin_loads(run)[rows], pin_loads(reference)[others]
    floor = 1.0  # a pin that never carries a newton is not compared in per cent [N]
    high, top, mean = (
        np.maximum(values, floor) for values in (np.percentile(true, 99.9, axis=0), true.max(axis=0), rms(true))
    )
    return Difference(
        depth=float(rms(depth)),
        depth_worst=float(np.abs(depth).max()),
        angle=float(rms(angle)),
        series=rms(load - true) / mean,
        high=np.abs(np.percentile(load, 99.9, axis=0) - np.percentile(true, 99.9, axis=0)) / high,
        peak=np.abs(load.max(axis=0) - true.max(axis=0)) / top,
        rms=np.abs(rms(load) - rms(true)) / mean,
    )


def step_checks(runs: list[Run]) -> list[Check]:
    """Error and order from runs at the default step, a half and a quarter of it.

    Where play in worn pins is taken up, loads jump, at an instant that is known to a step: their series are then no
    measure, and high percentile and RMS are compared in place of them.
    """
    whole, first, second = (
        difference(runs[0], runs[2]), difference(runs[0], runs[1]), difference(runs[1], runs[2]),
    )  # fmt: skip
    worn = is_worn(runs[0].unit)
    each = np.maximum(whole.high, whole.rms) if worn else whole.series
    pin = int(each.argmax())
    name = _pin(pin)
    what = "pin loads (99.9th percentile and RMS: they jump where play is taken up)" if worn else "pin loads"
    checks = [
        Check("step_depth", "depth, default step against a quarter of it", whole.depth * 1e3, "mm", DEPTH_STEP * 1e3,
              note=f"largest {whole.depth_worst * 1e3:.2g} mm"),
        Check("step_depth_order", "order of convergence of the depth", _order(first.depth, second.depth, DEPTH_STEP),
              "", LOWEST_ORDER, least=True),
        Check("step_pins", f"{what}, default step against a quarter of it", float(each[pin]) * 1e2, "%", PIN_STEP * 1e2,
              note=f"{name} of 14 pins worst"),
    ]  # fmt: skip
    if worn:
        return checks
    order = _order(float(first.series[pin]), float(second.series[pin]), PIN_STEP)
    return [*checks, Check("step_pins_order", "order of convergence of that pin's load", order, "", LOWEST_ORDER,
                           least=True)]  # fmt: skip


def _order(first: float, second: float, bound: float) -> float | None:
    """Observed order from the changes at two halvings; None where the first is below a hundredth of the bound."""
    if first < 0.01 * bound or second <= 0.0:
        return None
    return math.log2(first / second)


def balance_checks(run: Run) -> list[Check]:
    """Energy, the pins' spare equations, and the sum of the depth error's parts."""
    error = run.series["depth"] - run.settings.set_depth
    apart = float(np.abs(sum(run.series[cause] for cause in CAUSES) - error).max())
    spare = max(value for key, value in run.pin_residuals.items() if key.endswith("moment_N_m"))
    return [
        Check("energy", "energy left over, share of the toolbar's work", run.energy.residual_share, "", ENERGY,
              note=f"{run.energy.residual:.2g} J of {run.energy.traffic / 1e3:.4g} kJ"),
        Check("pin_equations", "moment left over in the pins' two spare equations", spare, "N m", EQUATIONS),
        Check("causes", "sum of the five causes against the depth error", apart * 1e3, "mm", SUM * 1e3),
    ]  # fmt: skip


def engine_checks(compiled: Run, rigid: Run, window: Window) -> list[Check]:
    """Depth, arm angle and pins of both engines over one stretch."""
    d = difference(rigid, compiled)
    where = f"{window.name}, {window.start:.0f} to {window.end:.0f} m"
    key = window.name.replace(" ", "_")
    checks = [
        Check(f"rigid_{key}_depth", f"second engine, {where}: depth, RMS", d.depth * 1e3, "mm", DEPTH_RIGID * 1e3,
              note=f"largest {d.depth_worst * 1e3:.2g} mm"),
        Check(f"rigid_{key}_angle", "arm angle, RMS", d.angle * 1e3, "mrad", ANGLE_RIGID * 1e3),
    ]  # fmt: skip
    for part, what, values, bound in (
        ("series", "pin loads, series", d.series, PIN_RIGID),
        ("p999", "pin loads, 99.9th percentile", d.high, PIN_RIGID),
        ("peak", "pin loads, peak", d.peak, PEAK_RIGID),
        ("rms", "pin loads, RMS", d.rms, PIN_RIGID),
    ):
        pin = int(values.argmax())
        loads = pin_loads(compiled)[:, pin]
        note = f"{_pin(pin)} worst" + (f", {loads.max() / 1e3:.3g} kN" if part == "peak" else "")
        checks.append(Check(f"rigid_{key}_{part}", what, float(values[pin]) * 1e2, "%", bound * 1e2, note=note))
    share = rigid.energy.residual_share
    checks.append(Check(f"rigid_{key}_energy", "its own energy left over", share, "", ENERGY))
    return checks


def _pin(index: int) -> str:
    return PINS[index].replace("_", " ")
