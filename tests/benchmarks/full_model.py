"""How fast the full model is: one row, rows together, ground, threads, growth, start-up, window, paddock.

    python -m tests.benchmarks.full_model [--json PATH] [--quick]

Times of the thread itself, median and range of five runs; "×" is the ratio to one step of the bare compiled mechanism
(`bare.py`, RK4 at 1 ms) measured in the same process just before. `--quick` leaves out whatever takes longer than
half a minute: cold starts and paddocks.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import Any

from analysis.rows.reducer import whole_run
from sim.step import usual_step

from . import jobs_timed as jobs
from .bare import compiled, steps_of
from .clock import RUNS, Timing, peak_memory, timed
from .rows_timed import KMH, LENGTH, WIDTH, Alone, Field, alone, growth, scenario, threads

GROUNDS = ("rough", "stony")
BARE_STEP = 1e-3  # [s]
HECTARES, ROWS = 100.0, 36


class Report:
    """Lines as they are measured, and the same figures for JSON."""

    def __init__(self) -> None:
        self.figures: dict[str, Any] = {}
        self.bare = timed(lambda: compiled(BARE_STEP)).per(steps_of(BARE_STEP))
        per_second = self.bare.per(BARE_STEP)
        self._title("bare compiled mechanism, RK4 at 1 ms")
        self.line("bare mechanism", "a step", self.bare, "ns", 1e9)
        self.line("bare mechanism", "a simulated second", per_second, "ms", 1e3)

    def _title(self, text: str) -> None:
        print(f"\n{text}", flush=True)

    def section(self, text: str) -> None:
        """A heading."""
        self._title(text)

    def line(self, group: str, name: str, t: Timing, unit: str, factor: float) -> None:
        """One figure: median, range, ratio to a step of the bare mechanism."""
        times = f"{t.median * factor:10.4g} {unit:3} {t.low * factor:9.4g} … {t.high * factor:<9.4g}"
        ratio = t.roots / self.bare.roots
        print(f"  {name:58} {times} {ratio:10.3g} ×", flush=True)
        made = t.document(unit, factor)
        made["in_steps_of_the_bare_mechanism"] = ratio
        self.figures.setdefault(group, {})[name] = made

    def say(self, group: str, name: str, value: Any, text: str) -> None:
        """A figure that is no timing."""
        print(f"  {name:58} {text}", flush=True)
        self.figures.setdefault(group, {})[name] = value


def one_row(report: Report, name: str) -> None:
    """A row alone, kept as a run with all channels, pins and energy sums."""
    group = f"one row alone, {name}"
    report.section(f"{group}, {LENGTH:g} m at {KMH:g} km/h")
    a = alone(scenario(name))
    report.line(group, "march, a step", a.march.per(a.steps), "ns", 1e9)
    _per_second(report, group, a)


def _per_second(report: Report, group: str, a: Alone) -> None:
    for what, part in (("march", a.march), ("run: march, toolbar, series", a.run), ("toolbar's path", a.toolbar),
                       ("envelopes", a.tables), ("making the ground", a.making)):  # fmt: skip
        report.line(group, f"{what}, a simulated second", part.per(a.seconds), "ms", 1e3)
    total = Timing(*(x + y + z for x, y, z in zip(a.run, a.tables, a.making, strict=True)))
    report.line(group, "all of it, a simulated second", total.per(a.seconds), "ms", 1e3)
    for what, part in (("making", a.making), ("envelopes", a.tables)):
        report.line(group, f"ground: {what}, a metre", part.per(a.metres), "us", 1e6)
    report.line(group, "toolbar's path, a metre", a.toolbar.per(a.travelled), "us", 1e6)


def rows_together(report: Report, name: str) -> None:
    """Eight rows in a march, all pins at every step, reduced on the way."""
    group = f"rows together, {name}"
    report.section(f"{group}: eight rows in a march, all pins, reduced on the way")
    a = alone(scenario(name))
    for what, shared in (("each on ground of its own", False), ("all on one ground", True)):
        field = Field(scenario(name), shared=shared)
        t = timed(field.march)
        report.line(group, f"march and reduction, a row-step, {what}", t.per(field.steps * WIDTH), "ns", 1e9)
        seconds = field.steps * field.step * WIDTH
        report.line(group, f"the same, a simulated second and unit, {what}", t.per(seconds), "ms", 1e3)
        share = WIDTH if shared else 1
        ground = [(x + y + z) / share for x, y, z in zip(a.making, a.tables, a.toolbar, strict=True)]
        per_unit = Timing(*(u / WIDTH + v for u, v in zip(t, ground, strict=True))).per(field.steps * field.step)
        report.line(group, f"with ground and toolbar, a simulated second and unit, {what}", per_unit, "ms", 1e3)


def growing(report: Report, name: str) -> None:
    """Whether the time per row-step stays the same over distance and rows; what two threads gain."""
    group = f"growth, {name}"
    report.section(f"{group}: march and reduction, a row-step")
    g = growth(name)
    for length, t in g.lengths.items():
        report.line(group, f"{length:g} m, 8 rows", t, "ns", 1e9)
    for rows, t in g.rows.items():
        report.line(group, f"{LENGTH:g} m, {rows} rows", t, "ns", 1e9)
    t = threads(name)
    report.line(group, "32 rows, one thread, on the wall", t.one, "ms", 1e3)
    report.line(group, "32 rows, two threads, on the wall", t.two, "ms", 1e3)
    report.say(group, "cores that the two threads had", t.cores_two, f"{t.cores_two:10.3g}")
    report.say(group, "work per core with two threads over one", t.efficiency, f"{t.efficiency:10.3g}")


def searching(report: Report) -> None:
    """The window of the pick."""
    group = "window"
    report.section("window: 7 pressures × 8 speeds × 3 seeds × 300 m, both depth settings, ground made each time")
    w = jobs.window()
    report.line(group, "one thread", w.one, "s", 1.0)
    report.line(group, "two threads, on the wall", w.wall, "s", 1.0)
    report.say(group, "cores that the two threads had", w.cores, f"{w.cores:10.3g}")
    s = scenario("rough")
    steps = sum(
        int(whole_run(s.track(), kmh / 3.6, usual_step(kmh / 3.6))[1]) * w.crossings // len(jobs.SPEEDS)
        for kmh in jobs.SPEEDS
    )
    report.line(group, "one thread, a row-step", w.one.per(steps), "ns", 1e9)
    report.say(group, "largest memory up to here", peak_memory(), f"{peak_memory():10.0f} MB")


def starting(report: Report) -> None:
    """What a user waits for the first time and later."""
    group = "start"
    report.section("fresh processes, on the wall: nothing compiled, and from the compiler's cache")
    for name, s in jobs.starts(RUNS).items():
        cached = sorted(s.cached)
        cold = "" if s.cold is None else f"first {s.cold:6.2f} s, then "
        report.say(
            group, name, {"cold_s": s.cold, "cached_s": list(s.cached)},
            f"{cold}{cached[len(cached) // 2]:.3f} s ({cached[0]:.3f} … {cached[-1]:.3f})",
        )  # fmt: skip


def paddocks(report: Report) -> None:
    """A machine of 36 rows: growth with area, two workers, memory, and 100 ha from 10."""
    group = "paddock"
    report.section(f"paddock: {ROWS} rows, class D, 8 km/h, one setting, on the wall, each in a process of its own")
    for passes, length, workers in ((4, 277.75, 1), (4, 1111.0, 1), (10, 1111.0, 1), (10, 1111.0, 2)):
        p = jobs.paddock(ROWS, passes, length, 1, workers)
        each, cores = p.cpu / p.unit_seconds, p.cpu / p.wall
        report.say(
            group, f"{p.hectares:.3g} ha, {passes} passes of {length:g} m, {workers} worker(s)",
            {**p._asdict(), "cpu_ms_per_unit_second": each * 1e3, "cores": cores},
            f"{p.wall:8.2f} s on {cores:.2f} cores, {each * 1e3:.4f} ms of a core a unit-second, {p.memory:.0f} MB",
        )  # fmt: skip
    for text, taken in (("as measured", p.wall), ("if both cores were free", p.cpu / 2.0)):
        whole = taken * HECTARES / p.hectares
        report.say(group, f"{HECTARES:g} ha, 2 workers, from the last line, {text}", whole, f"{whole:8.1f} s")


def main() -> None:
    """Measure and print; write JSON where asked."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.full_model", description=__doc__.split("\n")[0])
    parser.add_argument("--json", type=Path, help="write the figures to this file too")
    parser.add_argument("--quick", action="store_true", help="no cold starts and no paddocks")
    request = parser.parse_args()
    report = Report()
    for name in GROUNDS:
        one_row(report, name)
    for name in GROUNDS:
        rows_together(report, name)
    growing(report, GROUNDS[0])
    searching(report)
    if not request.quick:
        starting(report)
        paddocks(report)
    if request.json:
        request.json.write_text(json.dumps(report.figures, indent=1, allow_nan=False), encoding="utf-8")


if __name__ == "__main__":
    main()
