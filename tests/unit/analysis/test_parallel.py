import os
import queue
import threading
import time
from concurrent.futures import Future

import pytest
from every import every

from analysis import parallel
from analysis.parallel import run_all, run_together, usable_cores


@every("workers", [1, 2, 4, None])
def test_results_keep_the_order_of_the_jobs(workers):
    def job(n):
        time.sleep(0.002 * (5 - n))  # the first ends last
        return n * n

    assert run_all(job, [1, 2, 3, 4, 5], workers) == [1, 4, 9, 16, 25]


def test_progress_is_told_in_the_calling_thread():
    told = []
    run_all(lambda n: n, [1, 2, 3], 2, lambda done, total: told.append((done, total, threading.get_ident())))
    assert told == [(n, 3, threading.get_ident()) for n in (1, 2, 3)]


def test_a_job_that_fails_ends_the_rest():
    begun = []

    def job(n):
        begun.append(n)
        if n == 0:
            raise RuntimeError("no")
        time.sleep(0.01)

    with pytest.raises(RuntimeError, match="no"):
        run_all(job, list(range(100)), 2)
    assert len(begun) < 50


def test_no_jobs_no_results():
    assert run_all(lambda n: n, [], 4) == []


def test_the_cores_are_those_that_the_process_may_use(monkeypatch):
    """Whatever the machine has: three here; none told counts as one."""
    monkeypatch.setattr(os, "cpu_count", lambda: 64)
    for given, cores in (({0, 2, 5}, 3), ({7}, 1), (set(), 1)):
        monkeypatch.setattr(os, "sched_getaffinity", lambda process, given=given: given, raising=False)
        assert usable_cores() == cores


def test_no_wait_without_an_end(monkeypatch):
    """On Windows Ctrl-C would not come through."""
    spells = []

    class Queue(queue.Queue):
        def get(self, block=True, timeout=None):
            if not block:
                return super().get(block=False)
            spells.append(timeout)
            return super().get(timeout=0.001)

    monkeypatch.setattr(parallel, "SimpleQueue", Queue)
    assert run_all(lambda n: time.sleep(0.02) or n, [1, 2, 3], 2) == [1, 2, 3]
    assert len(spells) > 3
    assert all(0 < spell <= 0.5 for spell in spells)


def test_waiting_for_jobs_takes_no_lock_of_theirs():
    """Ctrl-C while such a lock is taken would leave the job that ends waiting for it for ever."""
    job = Future()
    ended = parallel.Ended()
    ended.watch(job)
    with job._condition:  # as `concurrent.futures.wait` would hold it
        other = Future()
        ended.watch(other)
        other.set_result(1)
        assert ended.first() == [other]
    job.set_result(2)
    assert ended.first() == [job]


def test_where_no_system_call_tells_the_cores(monkeypatch):
    monkeypatch.delattr(os, "sched_getaffinity", raising=False)
    monkeypatch.setattr(os, "cpu_count", lambda: 3)
    assert usable_cores() == 3
    monkeypatch.setattr(os, "cpu_count", lambda: None)
    assert usable_cores() == 1


@pytest.mark.parametrize("workers", [1, 2, 3])
def test_jobs_done_a_few_at_a_time_keep_their_order(workers):
    parts, told = [], []

    def together(jobs):
        parts.append(jobs)
        return [10 * job for job in jobs]

    made = run_together(together, range(11), 4, workers, lambda done, total: told.append((done, total)))
    assert made == [10 * job for job in range(11)]
    assert sorted(job for part in parts for job in part) == list(range(11))
    assert all(part == list(range(part[0], part[-1] + 1)) for part in parts)
    assert len(parts) % workers == 0
    assert max(map(len, parts)) - min(map(len, parts)) <= 1
    assert max(map(len, parts)) <= 4
    assert told[-1] == (11, 11)


def test_fewer_jobs_than_workers_and_none():
    assert run_together(lambda jobs: jobs, [7], 4, 3) == [7]
    assert run_together(lambda jobs: jobs, [], 4, 3) == []
