"""Times of whole jobs: start-up and compilation in fresh processes, a window, paddocks in processes of their own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from analysis.window.cross_grid import search
from analysis.window.grid import Window
from sim.march.rows import _ready
from sim.run import _setting_at

from .clock import Timing, timed, timed_on_the_wall
from .rows_timed import scenario

ROOT = Path(__file__).parents[2]
PRESSURES = (30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0)  # [bar]
SPEEDS = (5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0)  # [km/h]
SEEDS = 3

# what a fresh process is timed at, by the command that it runs after `python`
STARTS = {
    "one row's march": ["-c", "from analysis.cli.parts.warmup import warm_up; warm_up()"],
    "march of eight rows": ["-c", "from analysis.cli.parts.warmup import warm_up_rows; warm_up_rows()"],
    "rowbench --version": ["-m", "analysis.cli.main", "--version"],
    "rowbench run hump": ["-m", "analysis.cli.main", "run", "hump"],
}
NEEDS_NO_COMPILER = ("rowbench --version",)


class Start(NamedTuple):
    """Wall times of a process that finds nothing compiled, and of those that do [s]."""

    cold: float | None  # None: nothing is compiled in it
    cached: tuple[float, ...]


def starts(runs: int) -> dict[str, Start]:
    """Fresh processes, each command with a compiler's cache of its own that is empty at first."""
    found = {}
    for name, command in STARTS.items():
        with tempfile.TemporaryDirectory() as cache:
            cold = None if name in NEEDS_NO_COMPILER else _process(command, cache)
            found[name] = Start(cold, tuple(_process(command, cache) for _ in range(runs)))
    return found


def _process(command: list[str], cache: str) -> float:
    begin = time.perf_counter()
    subprocess.run(
        [sys.executable, *command], cwd=ROOT, env={**os.environ, "NUMBA_CACHE_DIR": cache}, check=True,
        capture_output=True,
    )  # fmt: skip
    return time.perf_counter() - begin


class Searched(NamedTuple):
    """A window of 7 pressures × 8 speeds × 3 seeds × 300 m, both depth settings; ground made each time."""

    one: Timing  # time of the only thread
    wall: Timing  # on two threads
    cores: float  # that these had
    crossings: int


def window() -> Searched:
    """Times of the window; nothing is remembered from one run to the next."""
    s = scenario("rough")

    def made(workers: int) -> Window:
        _setting_at.cache_clear()
        _ready.cache_clear()
        return search(s, PRESSURES, SPEEDS, SEEDS, workers)

    crossings = 2 * len(PRESSURES) * SEEDS * len(SPEEDS)
    return Searched(timed(lambda: made(1)), *timed_on_the_wall(lambda: made(2)), crossings)


IN_PADDOCK = """
import json, resource, sys, time
from tests.benchmarks.clock import peak_memory
from tests.benchmarks.paddock_rate import one
rows, passes, length, settings, workers = (float(word) for word in sys.argv[1:])
one(int(rows), 1, 10.0, int(settings), 1)
before = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
found = one(int(rows), int(passes), length, int(settings), int(workers))
after = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
used = sum(b.ru_utime + b.ru_stime - a.ru_utime - a.ru_stime for a, b in zip(before, after))
worker = after[1].ru_maxrss / 1e3 if workers > 1 else 0.0
print(json.dumps({"hectares": found["ha"], "wall": found["wall_s"], "unit_seconds": found["unit_seconds"],
                  "cpu": used, "memory": max(peak_memory(), worker)}))
"""


class Paddock(NamedTuple):
    """A paddock computed in a process of its own."""

    hectares: float
    wall: float  # [s]
    unit_seconds: float
    cpu: float  # of all its processes [s]
    memory: float  # largest resident size of the process or of a worker [MB]


def paddock(rows: int, passes: int, length: float, settings: int, workers: int) -> Paddock:
    """Passes of a machine over class D ground with `settings` oil pressures at 8 km/h; length of a pass [m]."""
    done = subprocess.run(
        [sys.executable, "-c", IN_PADDOCK, *map(str, (rows, passes, length, settings, workers))], cwd=ROOT,
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    return Paddock(**json.loads(done.stdout))
