"""Timing on a machine that is shared: the thread's own time, several runs, and ratios to a loop of fixed work.

Wall time says what a user waits and is given where several threads work; all else is time of the thread, which other
programs lengthen less. A loop of dependent square roots is timed before and after each run, so that figures can be
compared although the clock of the processor changes.
"""

from __future__ import annotations

import math
import resource
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from sim.arithmetic.compiled import kernel

RUNS = 5
ROOTS = 2_000_000


@kernel
def _roots(n):
    x = 1.0
    for _ in range(n):
        x = math.sqrt(x * 1.0000001 + 0.5)
    return x


def root_time() -> float:
    """Time of one step of the fixed loop (a fused multiply-add and a square root that wait for one another) [s]."""
    _roots(10)
    begin = time.thread_time()
    _roots(ROOTS)
    return (time.thread_time() - begin) / ROOTS


class Timing(NamedTuple):
    """Of several runs: median, smallest and largest time [s], and the median ratio to one step of the fixed loop."""

    median: float
    low: float
    high: float
    roots: float

    def per(self, number: float) -> Timing:
        """The same for one of `number` parts."""
        return Timing(*(value / number for value in self))

    def document(self, unit: str, factor: float) -> dict[str, float]:
        """JSON form in a unit, `factor` of which make a second."""
        return {
            f"median_{unit}": self.median * factor,
            f"low_{unit}": self.low * factor,
            f"high_{unit}": self.high * factor,
            "in_steps_of_the_fixed_loop": self.roots,
        }


def timed(job: Callable[[], object], runs: int = RUNS) -> Timing:
    """The thread's own time for a job over several runs, after one that is not counted."""
    return _timed(job, runs, time.thread_time)[0]


def timed_on_the_wall(job: Callable[[], object], runs: int = RUNS) -> tuple[Timing, float]:
    """Wall time of a job on several threads, and how many cores it had on average: fewer than threads where other
    programs are at work.
    """
    return _timed(job, runs, time.perf_counter)


def _timed(job: Callable[[], object], runs: int, clock: Callable[[], float]) -> tuple[Timing, float]:
    job()
    found, cores = [], []
    for _ in range(runs):
        before = root_time()
        used, wall, begin = time.process_time(), time.perf_counter(), clock()
        job()
        taken = clock() - begin
        cores.append((time.process_time() - used) / (time.perf_counter() - wall))
        found.append((taken, taken / (0.5 * (before + root_time()))))
    times = [taken for taken, _ in found]
    ratio = statistics.median(ratio for _, ratio in found)
    return Timing(statistics.median(times), min(times), max(times), ratio), statistics.median(cores)


def peak_memory() -> float:
    """Largest memory that this process has had in use [MB]."""
    status = Path("/proc/self/status")
    if status.exists():  # what getrusage tells is never below what the process that started this one had
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM"))
        return float(line.split()[1]) / 1e3
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
