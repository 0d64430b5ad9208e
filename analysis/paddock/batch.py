"""All passes of a paddock: on this machine or on a cluster, kept pass by pass, resumed, then joined."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from analysis.paddock.fingerprint import fingerprint, versions
from analysis.paddock.passes.executors import Passes, on_processes, on_threads
from analysis.paddock.size import size_faults
from analysis.paddock.store import check_result, join_parts
from analysis.paddock.store_parts import Parts, remove_parts
from analysis.parallel import Progress, usable_cores
from analysis.storage.paddock_layout import FORMAT_VERSION
from scenarios.format.errors import ScenarioError
from scenarios.paddock.paddock import Paddock

Told = Callable[[int, int, float], None]  # (passes done in all, passes in all, unit-seconds done in this call)

# Threads measure as fast as processes on two cores and need half the memory; but of a pass some 8 to 16 % is Python's
# own steps, which threads take in turn, so that more than a few would wait for each other.
MOST_THREADS = 4
WORTH_PROCESSES = 300_000.0  # unit-seconds of work from which starting processes pays


class Outcome(NamedTuple):
    """What a call did."""

    passes: int
    before: int  # passes that were there already
    unit_seconds: float  # computed in this call: rows × settings × time of travel


def run_batch(
    paddock: Paddock,
    out: Path,
    workers: int | None = None,
    cluster: str | None = None,
    told: Told | None = None,
    told_sets: Progress | None = None,
) -> Outcome:
    """Compute a paddock's passes that are not there yet and join all to `out`.

    workers: cores to use (None: all); cluster: address of a Dask scheduler that does the work instead; told_sets: of
    the sets of values that a sample is crossed with where the file leaves some in doubt (always on this machine). The
    result is the same bit for bit. Raises ScenarioError where the paddock is too large to start (`size`), or `out`
    holds something else, cannot be written or is in use.
    An exception (Ctrl-C too) leaves all finished passes; the same call goes on.
    """
    if faults := size_faults(paddock):
        raise ScenarioError(faults)
    print_ = fingerprint(paddock)
    if out.exists():
        check_result(out, print_)
        remove_parts(out)  # left by a kill between the join and the removal
        return Outcome(paddock.count, paddock.count, 0.0)
    with Parts(out, _about(paddock, print_)) as parts:
        there = parts.finished()
        done, worked = len(there), 0.0
        todo = [number for number in range(paddock.count) if number not in set(there)]
        engine = _engine(paddock, print_, todo, workers, cluster)
        try:
            for number, data in engine:
                parts.write(number, data)
                done, worked = done + 1, worked + unit_seconds(paddock, number)
                if told is not None:
                    told(done, paddock.count, worked)
        finally:
            engine.close()
        join_parts(paddock, parts, print_, workers, told_sets)
        remove_parts(out)
    return Outcome(paddock.count, len(there), worked)


def _engine(paddock: Paddock, print_: str, todo: list[int], workers: int | None, cluster: str | None) -> Passes:
    if cluster is not None:
        from analysis.paddock.passes.cluster import on_cluster  # noqa: PLC0415

        return on_cluster(paddock, print_, todo, cluster)
    count = min(workers or usable_cores(), max(1, len(todo)))
    work = sum(unit_seconds(paddock, number) for number in todo)
    many = count > MOST_THREADS and work > WORTH_PROCESSES
    return (on_processes if many else on_threads)(paddock, print_, todo, count)


def unit_seconds(paddock: Paddock, number: int) -> float:
    """Time of travel of all rows of a pass at all settings, added up [s]; lead-in not counted."""
    return paddock.machine.rows * sum(paddock.length(number) / s.speed for s in paddock.tried)


def _about(paddock: Paddock, print_: str) -> dict[str, Any]:
    return {
        "format_version": FORMAT_VERSION,
        "fingerprint": print_,
        "name": paddock.name,
        "versions": versions(),
        "passes": paddock.count,
    }
