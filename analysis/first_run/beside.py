"""Another process that compiles while this one does: the compiler uses one core, and what it makes lies on disk."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from analysis.first_run.ready import ANY, ONE, PINS, ROWS, is_compiled
from analysis.parallel import usable_cores
from sim.arithmetic.compilecache import cache_folder

CODE = "from analysis.first_run.marches import compile_others; compile_others({})"


def compile_at_once(
    *, one: bool, rows: bool, small: bool = False, of_any: bool = False, pins: bool = False
) -> float:  # fmt: skip
    """Compile the longest part of what is missing, and all else in another process meanwhile → time taken [s].

    one, rows, small, of_any, pins: as `ready.time_to_compile`. Of pins one kernel is compiled here and one there, which
    take equally long. Nothing is done where neither a march nor both of those are missing, on one core, or where no
    folder keeps what the other process makes.
    """
    from analysis.first_run.marches import compile_one, compile_rows  # noqa: PLC0415
    from analysis.first_run.pins import compile_gather  # noqa: PLC0415

    asked = {"rows": (rows, ROWS), "of_any": (of_any, ANY), "one": (one, ONE)}  # the longest first
    missing = [name for name, (wanted, names) in asked.items() if wanted and not is_compiled(names[-1])]
    gather, bushes = (pins and not is_compiled(name) for name in PINS)
    if not (missing or (gather and bushes)) or usable_cores() < 2 or not cache_folder().is_dir():
        return 0.0
    here = missing[0] if missing else ""
    begin = time.perf_counter()
    with compiled_beside(
        one="one" in missing[1:], rows=rows or of_any, small=small, of_any="of_any" in missing[1:], bushes=bushes
    ):
        if here == "one":
            compile_one()
        elif here:
            compile_rows(of_any=here == "of_any")
        if gather:
            compile_gather()
    return time.perf_counter() - begin


@contextmanager
def compiled_beside(**what: bool) -> Iterator[None]:
    """Another process runs `analysis.first_run.marches.compile_others` meanwhile.

    What it does not get done is compiled by whoever needs it. It ends with this process's own part, on Ctrl-C too.
    """
    path = os.pathsep.join(place or os.getcwd() for place in sys.path)
    words = [sys.executable, "-c", CODE.format(", ".join(f"{name}={value}" for name, value in what.items()))]
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
