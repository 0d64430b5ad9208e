"""Readies the model, saying that it has to be compiled where it has: once, and how long that takes."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from analysis.cli.parts.request import Request
from analysis.parallel import usable_cores
from analysis.rows.ready import time_to_compile, warm_up, warm_up_rows, warm_up_small
from sim.unit import Unit
from sim.worn import is_worn


def ready(request: Request, unit: Unit, *, one: bool = True, rows: bool = False, small: bool = False) -> float:
    """Compile what a command needs of the model or fetch it from the cache → time taken [s].

    one: the march of a crossing that is kept as a run; rows: the march of eight rows; of a unit with play in its pins
    both for such units besides; small: small motions. What of it is compiled is told of as one wait
    (`analysis.present.compile_notice`).
    """
    apart = one and rows and usable_cores() > 1 and all(time_to_compile(one=o, rows=not o) for o in (True, False))
    with request.compiling(time_to_compile(one=one, rows=rows, small=small)):
        taken = 0.0
        if apart:
            with _compiled_beside():
                taken += warm_up_rows()
        taken += (warm_up() if one else 0.0) + (warm_up_rows() if rows else 0.0)
        taken += warm_up_small() if small else 0.0
        if is_worn(unit):
            taken += (warm_up(worn=True) if one else 0.0) + (warm_up_rows(worn=True) if rows else 0.0)
        return taken


@contextmanager
def _compiled_beside() -> Iterator[None]:
    """Another process compiles the march of one row meanwhile, and leaves it on disk: the compiler uses one core.

    What it does not get done is compiled by whoever needs it. It ends with this process's own part, on Ctrl-C too.
    """
    path = os.pathsep.join(place or os.getcwd() for place in sys.path)
    words = [sys.executable, "-c", "from analysis.rows.ready import warm_up; warm_up()"]
    quiet = subprocess.DEVNULL
    child = subprocess.Popen(
        words, stdin=quiet, stdout=quiet, stderr=quiet, env={**os.environ, "PYTHONPATH": path}, start_new_session=True
    )
    try:
        yield
        child.wait()
    finally:
        if child.poll() is None:
            child.kill()
            child.wait()
