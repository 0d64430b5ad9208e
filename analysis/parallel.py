"""Many independent jobs on several threads: the compiled march lets other threads run meanwhile."""

from __future__ import annotations

import os
from collections.abc import Callable, Collection, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from typing import TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")
Progress = Callable[[int, int], None]  # (jobs done, jobs in all), called from the calling thread

SPELL = 0.2  # how long is waited at once for a job to end [s]


def usable_cores() -> int:
    """Cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return os.cpu_count() or 1


def run_all(
    function: Callable[[Job], Result], jobs: Sequence[Job], workers: int | None = None, progress: Progress | None = None
) -> list[Result]:
    """function(job) for every job; results in the order of the jobs, whatever order they end in.

    `workers` None: one thread per usable core; 1: all in the calling thread. An exception of a job ends the rest.
    """
    count = min(workers or usable_cores(), max(1, len(jobs)))
    told = progress or (lambda done, total: None)
    if count == 1:
        results = []
        for job in jobs:
            results.append(function(job))
            told(len(results), len(jobs))
        return results
    with ThreadPoolExecutor(count) as pool:
        futures = [pool.submit(function, job) for job in jobs]
        try:
            running = set(futures)
            while running:
                for future in ended_first(running):
                    running.remove(future)
                    future.result()
                    told(len(jobs) - len(running), len(jobs))
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
        return [future.result() for future in futures]


def ended_first(running: Collection[Future[Result]]) -> set[Future[Result]]:
    """Those of some jobs that end first, one or more.

    Waits in short spells: on Windows Ctrl-C does not end a wait, but comes in between two.
    """
    while True:
        ended = wait(running, SPELL, FIRST_COMPLETED).done
        if ended:
            return ended
