"""The same bare mechanism in rowbench's way and in general engines, each at the largest step that is accurate enough.

    python -m tests.benchmarks.engines [--json PATH] [--runs N]

Two bounds: "coarse" lets the arm angle be off by 1 mrad (0.55 mm at the wheel), the pin loads by 0.1 % RMS and their
peaks by 0.2 %; "fine" is what rowbench holds itself to, 0.02 mm, 0.3 % and 2 %. All in one process and on one core;
each engine makes and records its steps in its fastest way (MuJoCo: its own loop in C with a compiled callback; Exudyn:
symbolic forces; pymunk: a Python loop with batch access and a compiled law).
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from . import in_exudyn, in_mujoco, in_pymunk
from .bare import LENGTH, SPEED, Bare, Crossing, Errors, compiled, errors, reference, steps_of
from .clock import RUNS, Timing, timed

STEPS = (10e-3, 5e-3, 4e-3, 2.5e-3, 2e-3, 1e-3, 0.5e-3, 0.25e-3, 0.1e-3, 0.05e-3)  # [s]
SECONDS = LENGTH / SPEED  # simulated in a run

Job = tuple[Callable[[], object], Callable[[], Crossing]]


class Bound(NamedTuple):
    """Errors that are allowed; see `bare.Errors`."""

    name: str
    angle: float
    peak: float
    series: float

    def met(self, e: Errors) -> bool:
        """Whether a crossing is accurate enough."""
        return e.angle <= self.angle and e.peak <= self.peak and e.series <= self.series


BOUNDS = (Bound("coarse", 1e-3, 2e-3, 1e-3), Bound("fine", 0.02e-3 / Bare().l, 2e-2, 3e-3))


def _rowbench(cuts: int) -> Callable[[float], Job]:
    def prepare(step: float) -> Job:
        return (lambda: compiled(step, cuts)), (lambda: compiled(step, cuts))

    return prepare


ENGINES: dict[str, Callable[[float], Job]] = {
    "rowbench: compiled RK4, switching steps cut by 8": _rowbench(8),
    "rowbench: compiled RK4, switching steps cut by 64": _rowbench(64),
    "MuJoCo, Euler": lambda step: in_mujoco.prepare(step, "Euler"),
    "MuJoCo, RK4": lambda step: in_mujoco.prepare(step, "RK4"),
    "Exudyn, generalized-α": in_exudyn.prepare,
    "pymunk, 30 iterations": lambda step: in_pymunk.prepare(step, 30),
    "pymunk, 100 iterations": lambda step: in_pymunk.prepare(step, 100),
}
GENERAL = tuple(name for name in ENGINES if not name.startswith("rowbench"))


class Found(NamedTuple):
    """An engine at the largest step that meets a bound."""

    step: float  # [s]
    errors: Errors
    time: Timing  # per simulated second


def measure(runs: int = RUNS) -> dict[str, dict[str, Found | None]]:
    """By bound and engine; None where no step of the list is accurate enough."""
    found: dict[str, dict[str, Found | None]] = {bound.name: {} for bound in BOUNDS}
    truth = {step: reference(step) for step in STEPS}
    for name, prepare in ENGINES.items():
        waiting = {bound.name: bound for bound in BOUNDS}
        for step in STEPS:
            job, result = prepare(step)
            job()
            e = errors(result(), truth[step])
            good = [bound.name for bound in waiting.values() if bound.met(e)]
            if good:
                time = timed(job, runs).per(SECONDS)
                for bound in good:
                    found[bound][name] = Found(step, e, time)
                    del waiting[bound]
            if not waiting:
                break
        for bound in waiting:
            found[bound][name] = None
    return found


def best(found: dict[str, Found | None], names: tuple[str, ...]) -> Found | None:
    """The fastest of some engines."""
    able = [f for name in names if (f := found[name]) is not None]
    return min(able, key=lambda f: f.time.roots) if able else None


def lines(found: dict[str, dict[str, Found | None]]) -> list[str]:
    """The table."""
    out = []
    for bound in BOUNDS:
        of = found[bound.name]
        fastest = best(of, tuple(name for name in ENGINES if name not in GENERAL))
        assert fastest is not None
        out += [
            "",
            f"{bound.name}: θ within {bound.angle * 1e3:.3g} mrad, pin loads {bound.series:.2g} RMS, "
            f"peaks {bound.peak:.2g}",
            f"{'engine':50} {'step ms':>8} {'ms per s':>9} {'low…high':>15} {'ratio':>7} {'θ mrad':>8} {'peak %':>8}"
            f" {'series %':>8}",
        ]
        for name, f in of.items():
            if f is None:
                out.append(f"{name:50} no step of the list is accurate enough")
                continue
            t, e = f.time, f.errors
            out.append(
                f"{name:50} {f.step * 1e3:8.3g} {t.median * 1e3:9.4f} {t.low * 1e3:7.4f}…{t.high * 1e3:<7.4f}"
                f" {t.roots / fastest.time.roots:7.1f} {e.angle * 1e3:8.4f} {e.peak * 100:8.4f} {e.series * 100:8.4f}"
            )
    return out


def document(found: dict[str, dict[str, Found | None]]) -> dict[str, object]:
    """JSON form: by bound and engine, and the ratio of the fastest general engine to rowbench."""
    out: dict[str, object] = {}
    for bound, of in found.items():
        ours, theirs = best(of, tuple(n for n in ENGINES if n not in GENERAL)), best(of, GENERAL)
        assert ours is not None
        out[bound] = {
            "engines": {
                name: None
                if f is None
                else {
                    "step_ms": f.step * 1e3,
                    "steps": steps_of(f.step),
                    "per_simulated_second": f.time.document("ms", 1e3),
                    "angle_error_mrad": f.errors.angle * 1e3,
                    "pin_peak_error_share": f.errors.peak,
                    "pin_series_error_share": f.errors.series,
                }
                for name, f in of.items()
            },
            "fastest_general_engine_over_rowbench": None if theirs is None else theirs.time.roots / ours.time.roots,
        }
    return out


def main() -> None:
    """Measure, print the table, and write JSON where asked."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.engines", description=__doc__.split("\n")[0])
    parser.add_argument("--json", type=Path, help="write the figures to this file too")
    parser.add_argument("--runs", type=int, default=RUNS, help=f"timed runs of each engine, default {RUNS}")
    request = parser.parse_args()
    found = measure(request.runs)
    print("\n".join(lines(found)))
    made = document(found)
    for bound, of in made.items():
        print(f"\n{bound}: fastest general engine / rowbench = {of['fastest_general_engine_over_rowbench']:.0f}")
    if request.json:
        request.json.write_text(json.dumps(made, indent=1, allow_nan=False), encoding="utf-8")


if __name__ == "__main__":
    main()
