"""Many independent jobs on several threads: the compiled march lets other threads run meanwhile."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from itertools import chain, pairwise
from queue import Empty, SimpleQueue
from typing import Generic, TypeVar

Job = TypeVar("Job")
Result = TypeVar("Result")
Progress = Callable[[int, int], None]  # (jobs done, jobs in all), called from the calling thread

SPELL = 0.2  # how long is waited at once for a job to end [s]


def part_of(progress: Progress, before: int, total: int) -> Progress:
    """Progress of a part, told as progress over all: `before` jobs of `total` were done when it began."""
    return lambda done, _: progress(before + done, total)


def counted(tell: Callable[[int], None]) -> Progress:
    """Progress told as how many jobs more are done."""
    told = 0

    def progress(done: int, _total: int) -> None:
        nonlocal told
        tell(done - told)
        told = done

    return progress


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
        ended: Ended[Result] = Ended()
        futures = [ended.watch(pool.submit(function, job)) for job in jobs]
        try:
            done = 0
            while done < len(jobs):
                for future in ended.first():
                    future.result()
                    done += 1
                    told(done, len(jobs))
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise
        return [future.result() for future in futures]


def run_together(
    function: Callable[[list[Job]], list[Result]], jobs: Sequence[Job], most: int, workers: int | None = None,
    progress: Progress | None = None,
) -> list[Result]:  # fmt: skip
    """As `run_all`, for a function that takes up to `most` jobs at once and gives their results in order.

    Jobs that follow one another go together, in parts alike in size and as many to each worker: to the results it may
    not matter which do.
    """
    hands = workers or usable_cores()
    count = hands * max(1, math.ceil(len(jobs) / (hands * most)))
    ends = [len(jobs) * k // count for k in range(count + 1)]
    parts = [range(*pair) for pair in pairwise(ends) if pair[0] < pair[1]]
    told = None if progress is None else lambda done, total: progress(len(jobs) * done // total, len(jobs))
    made = run_all(lambda part: function([jobs[i] for i in part]), parts, workers, told)
    return list(chain.from_iterable(made))


class Ended(Generic[Result]):
    """Jobs in the order in which they end.

    `concurrent.futures.wait` takes the locks of all jobs; Ctrl-C that comes while it holds them would leave them held,
    and the threads waiting for them for ever. Here each job puts itself into a queue, whose waiting holds no lock.
    """

    def __init__(self) -> None:
        self._queue: SimpleQueue[Future[Result]] = SimpleQueue()

    def watch(self, job: Future[Result]) -> Future[Result]:
        """The same job, which is told of when it ends."""
        job.add_done_callback(self._queue.put)
        return job

    def first(self) -> list[Future[Result]]:
        """Those that end first, one or more; each is told once.

        Waits in short spells: on Windows Ctrl-C does not end a wait, but comes in between two.
        """
        found: list[Future[Result]] = []
        while True:
            try:
                found.append(self._queue.get(timeout=SPELL) if not found else self._queue.get_nowait())
            except Empty:
                if found:
                    return found
