"""What pins cost on top of a crossing: `python -m tests.benchmarks.pins_timed [SCENARIO …]`.

Crossing (its ground laid and marched with everything recorded), what loads do in plane, and all that `rowbench pins`
adds, bushes and wear too, are timed by turns in one process, by the thread's own time; ratios are those of medians.
"""

from __future__ import annotations

import statistics
import sys
import time

from analysis.pins.duty.gathered import gathered
from analysis.pins.wear.life import pin_lives
from analysis.pins.wear.stretch import stretch_of
from scenarios.load import load
from sim.run import simulate

RUNS = 15


def timed(name: str) -> str:
    """Times of one scenario of the library, and what pins are of a crossing."""
    scenario = load(name)
    taken: list[list[float]] = [[], [], []]
    for number in range(RUNS + 1):
        times = [time.thread_time()]
        run = simulate(scenario.unit, scenario.soil, scenario.track(1), scenario.settings)
        times.append(time.thread_time())
        gathered(run)
        times.append(time.thread_time())
        pin_lives(stretch_of(run), scenario.machine.width)
        times.append(time.thread_time())
        if number:  # the first compiles
            for kept, begin, end in zip(taken, times[:-1], times[1:], strict=True):
                kept.append(end - begin)
    crossing, loads, everything = (statistics.median(kept) for kept in taken)
    return (
        f"{name}: {run.steps} steps, crossing {crossing * 1e3:.1f} ms; loads in plane {loads * 1e3:.2f} ms, "
        f"{loads / crossing * 100:.1f} %; loads, bushes and wear {everything * 1e3:.2f} ms, "
        f"{everything / crossing * 100:.1f} % of a crossing"
    )


if __name__ == "__main__":
    for scenario_name in sys.argv[1:] or ("rough", "stony", "hump"):
        print(timed(scenario_name))
