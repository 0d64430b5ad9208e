"""What pins cost on top of a crossing: `python -m tests.benchmarks.pins_timed [SCENARIO …]`.

Crossing, gathering and duties are timed by turns in one process, by the thread's own time; the ratio is one of medians.
"""

from __future__ import annotations

import statistics
import sys
import time

from analysis.pins.duty.duty import duties
from analysis.pins.duty.gathered import gathered
from scenarios.load import load
from sim.run import simulate

RUNS = 15


def timed(name: str) -> str:
    """Times of one scenario of the library, and what gathering and duties are of a crossing."""
    scenario = load(name)
    track = scenario.track(1)
    taken: list[list[float]] = [[], [], []]
    for number in range(RUNS + 1):
        times = [time.thread_time()]
        run = simulate(scenario.unit, scenario.soil, track, scenario.settings)
        times.append(time.thread_time())
        found = gathered(run)
        times.append(time.thread_time())
        duties(found)
        times.append(time.thread_time())
        if number:  # the first compiles
            for kept, begin, end in zip(taken, times[:-1], times[1:], strict=True):
                kept.append(end - begin)
    crossing, gathering, telling = (statistics.median(kept) for kept in taken)
    return (
        f"{name}: {run.steps} steps, crossing {crossing * 1e3:.1f} ms, pins gathered {gathering * 1e3:.2f} ms, duties "
        f"{telling * 1e3:.2f} ms: {(gathering + telling) / crossing * 100:.1f} % of a crossing"
    )


if __name__ == "__main__":
    for scenario_name in sys.argv[1:] or ("rough", "stony", "hump"):
        print(timed(scenario_name))
