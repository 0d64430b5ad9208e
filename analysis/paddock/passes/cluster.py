"""The same passes on a running Dask scheduler (extra `cluster`)."""

from __future__ import annotations

import asyncio
import gc
import pickle
import socket
import time
from collections.abc import Generator, Iterator
from concurrent.futures import CancelledError
from contextlib import suppress
from typing import Any

from analysis.paddock import fingerprint as paddock_inputs
from analysis.paddock.fingerprint import versions
from analysis.paddock.passes.jobs import jobs
from scenarios.format.errors import ScenarioError, fault, plain
from scenarios.paddock.paddock import Paddock

CONNECT = "10s"  # how long a scheduler may take to answer
SCHEMES = ("", "tcp", "tls")
LARGE = 1_000_000  # [bytes]
TRIES = 5  # times that a pass is tried again when its worker is lost
LOOK = 0.05  # between two looks at what is finished [s]
PATIENCE = 60.0  # how long a cluster may be without any worker [s]


def on_cluster(
    paddock: Paddock, print_: str, todo: list[int], address: str
) -> Generator[tuple[int, bytes], None, None]:
    """Passes as a cluster finishes them; a pass whose worker is lost goes to another one.

    Raises ScenarioError: no Dask here, no scheduler at the address, no workers, workers with other versions; the
    scheduler or all workers lost on the way.
    """
    try:
        import distributed  # noqa: PLC0415
    except ImportError:
        raise ScenarioError(
            [fault("--cluster", "needs the package distributed, which is not installed",
                   "rowbench with its extra cluster", "pip install 'rowbench[cluster]'")]
        ) from None  # fmt: skip
    _check_answers(address)
    gc.collect()  # a client that could not be built before is closed here, not while the next one holds Dask's lock
    try:
        client = distributed.Client(address, timeout=CONNECT, set_as_default=False)
    except Exception as error:  # whatever the library makes of an answer that is no scheduler's
        reason = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise _no_scheduler(address, f"no scheduler answers ({reason})") from None
    with client:
        _check_workers(client, address)
        try:
            yield from _passes(distributed, client, paddock, print_, todo)
        except (CancelledError, asyncio.CancelledError, OSError):
            raise _lost(address, "the scheduler was lost on the way") from None
        except distributed.KilledWorker:
            raise _lost(address, "workers die of one and the same pass, of too little memory perhaps") from None
        except _NoWorkers:
            raise _lost(address, f"no worker is left, for {PATIENCE:g} s now") from None


class _NoWorkers(Exception):
    """A cluster has been without workers for too long."""


def _lost(address: str, given: str) -> ScenarioError:
    hint = "start them again; what is finished is kept, and the same command goes on"
    return ScenarioError([fault(f"--cluster {address}", given, "a scheduler and at least one worker that live", hint)])


def _check_answers(address: str) -> None:
    """Raises ScenarioError where nothing listens at an address, or it is none, or TLS is not set up for one of TLS.

    Asked before Dask, which tells it late, or by what was not meant for a user.
    """
    scheme, _, place = address.rpartition("://")
    host, _, port = place.rpartition(":")
    if scheme not in SCHEMES or not host or not port.isascii() or not port.isdigit() or not 0 < int(port[:9]) < 65536:
        raise _no_scheduler(address, "no address of a scheduler")
    try:
        with socket.create_connection((host.strip("[]"), int(port)), timeout=float(CONNECT.removesuffix("s"))):
            pass
    except (OSError, ValueError) as error:
        raise _no_scheduler(address, f"no scheduler answers ({getattr(error, 'strerror', None) or error})") from None
    if scheme == "tls":
        from distributed.security import Security  # noqa: PLC0415

        if Security().get_connection_args("client")["ssl_context"] is None:
            raise ScenarioError(
                [fault(f"--cluster {address}", "an address of TLS, and no certificates are named to Dask",
                       "distributed.comm.tls with ca-file, client.cert and client.key in Dask's configuration",
                       "export DASK_DISTRIBUTED__COMM__TLS__CA_FILE=ca.pem and the two of CLIENT likewise")]
            )  # fmt: skip


def _no_scheduler(address: str, given: str) -> ScenarioError:
    allowed = "the address of a running Dask scheduler, tcp://HOST:PORT or tls://HOST:PORT"
    return ScenarioError([fault(f"--cluster {plain(address)}", given, allowed, "tcp://127.0.0.1:8786")])


def _passes(
    distributed: Any, client: Any, paddock: Paddock, print_: str, todo: list[int]
) -> Generator[tuple[int, bytes], None, None]:
    from analysis.paddock.passes.batch_part import compute_parts  # noqa: PLC0415

    # small: goes with every pass, so that no death of workers can lose it; large: laid on all workers once
    small = len(pickle.dumps(paddock)) < LARGE
    shared = paddock if small else client.scatter(paddock, broadcast=True)
    futures = {
        client.submit(
            compute_parts, shared, job, print_, pure=False, retries=TRIES, key=f"pass-{job[0]}-{len(job)}-{print_}"
        ): job
        for job in jobs(paddock, todo, max(sum(client.nthreads().values()), 1))
    }
    try:
        for future in _finished(client, distributed.as_completed(futures, loop=client.loop)):
            yield from zip(futures[future], _fetched(client, future), strict=True)
            future.release()
    finally:
        with suppress(OSError, CancelledError, asyncio.CancelledError):  # where the scheduler is gone, so are they
            client.cancel(list(futures))


def _finished(client: Any, waiting: Any) -> Iterator[Any]:
    """What is finished as it is. Raises _NoWorkers, where Dask would wait for ever."""
    seen = asked = time.monotonic()  # a worker, or something finished; whether there are workers
    while waiting.count():
        if waiting.has_ready():
            yield next(waiting)
            seen = time.monotonic()
            continue
        time.sleep(LOOK)
        now = time.monotonic()
        if now - asked > 1.0:
            asked = now
            seen = now if client.nthreads() else seen
        if now - seen > PATIENCE:
            raise _NoWorkers


def _fetched(client: Any, future: Any) -> list[bytes]:
    """What a finished job came to. Raises _NoWorkers where the last worker died with it, for which Dask would wait."""
    seen = time.monotonic()
    while True:
        try:
            return [bytes(part) for part in future.result(timeout=1.0)]
        except TimeoutError:
            now = time.monotonic()
            seen = now if client.nthreads() else seen
            if now - seen > PATIENCE:
                raise _NoWorkers from None


def _check_workers(client: Any, address: str) -> None:
    """Bits are equal only with equal versions."""
    here = versions()
    there: dict[str, dict[str, str]] = client.run(paddock_inputs.versions)
    if not there:
        raise ScenarioError([fault(f"--cluster {address}", "no workers", "at least one worker", "start one first")])
    for worker, found in there.items():
        unlike = [name for name in here if found.get(name) != here[name]]
        if unlike:
            given = ", ".join(f"{name} {found.get(name)}" for name in unlike)
            allowed = ", ".join(f"{name} {here[name]}" for name in unlike)
            hint = "install the same versions on all workers"
            raise ScenarioError([fault(f"--cluster {address}", f"worker {worker} has {given}", allowed, hint)])
