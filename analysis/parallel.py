"""Many independent jobs on several threads: the compiled march lets other threads run meanwhile."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor, as_completed
from typing import TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")
Progress = Callable[[int, int], None]  # (jobs done, jobs in all), called from the calling thread


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
            for done, future in enumerate(as_completed(futures), 1):
                future.result()
                told(done, len(jobs))
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
        return [future.result() for future in futures]
