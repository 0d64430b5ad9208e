"""Passes on the cores of this machine: threads, which start at once, or processes, which never hinder each other.

Measured on two cores: threads are 1.7 to 1.9 times as fast as one worker, since Python's own steps wait for each other;
two processes do each as much as one alone, but take some two seconds to start and memory of their own.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Generator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from typing import Any

from analysis.paddock.passes.batch_part import compute_parts
from analysis.paddock.passes.crossing import Stopped
from analysis.paddock.passes.jobs import Job, jobs
from analysis.parallel import Ended
from scenarios.format.errors import ScenarioError, fault
from scenarios.paddock.paddock import Paddock

Passes = Generator[tuple[int, bytes], None, None]  # number and file of each pass as it is finished
MOST_ON_WINDOWS = 61  # processes that Windows can wait for at once, as Python's library says


def on_threads(paddock: Paddock, print_: str, todo: list[int], workers: int) -> Passes:
    """Passes on threads of this process. Closed early, it asks the running ones to stop and waits for them."""
    asked = threading.Event()

    def submit(pool: Executor, job: Job) -> Future[list[bytes]]:
        return pool.submit(compute_parts, paddock, job, print_, asked.is_set)

    with ThreadPoolExecutor(workers) as pool:
        yield from _drive(pool, submit, jobs(paddock, todo, workers), workers, asked.set)


def on_processes(paddock: Paddock, print_: str, todo: list[int], workers: int) -> Passes:
    """Passes on processes of their own, which end with this one however it ends.

    Raises ScenarioError where one of them is killed. Closed early, it asks the running ones to stop and waits.
    """
    context = multiprocessing.get_context("spawn")
    asked = context.Event()

    def submit(pool: Executor, job: Job) -> Future[list[bytes]]:
        return pool.submit(_parts, job)

    given = (paddock, print_, asked)
    workers = _at_once(workers, sys.platform)
    with ProcessPoolExecutor(workers, mp_context=context, initializer=_begin, initargs=given) as pool:
        try:
            yield from _drive(pool, submit, jobs(paddock, todo, workers), workers, asked.set)
        except BrokenProcessPool:
            raise ScenarioError(
                [fault("--workers", "one of the worker processes was ended from outside", "processes left to work",
                       "the same command again: it goes on (with fewer --workers if memory ran out; a script of your "
                       'own has to call rowbench under if __name__ == "__main__")')]
            ) from None  # fmt: skip


def _at_once(workers: int, system: str) -> int:
    return min(workers, MOST_ON_WINDOWS) if system == "win32" else workers


def _drive(
    pool: Executor, submit: Callable[[Executor, Job], Future[list[bytes]]], todo: list[Job], workers: int,
    stop: Callable[[], None],
) -> Passes:  # fmt: skip
    """Hand out jobs, one more than can run at once, and yield their passes as they are finished."""
    running: dict[Future[list[bytes]], Job] = {}
    ended: Ended[list[bytes]] = Ended()
    waiting = iter(todo)
    try:
        while True:
            while len(running) <= workers and (job := next(waiting, None)) is not None:
                running[ended.watch(submit(pool, job))] = job
            if not running:
                return
            for future in sorted(ended.first(), key=lambda f: running[f]):
                yield from zip(running.pop(future), future.result(), strict=True)
    finally:
        stop()
        for future in running:
            future.cancel()
        wait(running)


_given: dict[str, Any] = {}  # of a worker process


def _begin(paddock: Paddock, print_: str, asked: Any) -> None:
    """Ready a worker process: Ctrl-C is the parent's affair, and when the parent is gone the work is in vain."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _given.update(paddock=paddock, print_=print_, asked=asked)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    """Wait for the parent's end and end too. Its number would not tell: on Windows it stays when the parent is gone."""
    parent = multiprocessing.parent_process()
    assert parent is not None
    parent.join()
    os._exit(1)


def _parts(job: Job) -> list[bytes]:
    asked = _given["asked"]
    try:
        return compute_parts(_given["paddock"], job, _given["print_"], asked.is_set)
    except Stopped:
        return [b""] * len(job)
