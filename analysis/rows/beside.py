"""Another process that compiles while this one does: the compiler uses one core, and what it makes lies on disk."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from analysis.parallel import usable_cores
from analysis.rows.ready import ANY, ONE, ROWS, is_compiled
from sim.arithmetic.compilecache import cache_folder

CODE = "from analysis.rows.ahead import compile_others; compile_others({})"


def compile_at_once(*, one: bool, rows: bool, small: bool = False, of_any: bool = False) -> float:
    """Compile the longest part of what is missing, and all else in another process meanwhile → time taken [s].

    one, rows, small, of_any: as `analysis.rows.ready.time_to_compile`. Nothing is done where no march is missing, on
    one core, or where no folder keeps what the other process makes.
    """
    from analysis.rows.ahead import compile_one, compile_rows  # noqa: PLC0415

    asked = {"rows": (rows, ROWS), "of_any": (of_any, ANY), "one": (one, ONE)}  # the longest first
    missing = [name for name, (wanted, names) in asked.items() if wanted and not is_compiled(names[-1])]
    if not missing or usable_cores() < 2 or not cache_folder().is_dir():
        return 0.0
    here = missing[0]
    begin = time.perf_counter()
    with compiled_beside(
        one=one and here != "one", rows=rows or of_any, small=small, of_any=of_any and here != "of_any"
    ):
        if here == "one":
            compile_one()
        else:
            compile_rows(of_any=here == "of_any")
    return time.perf_counter() - begin


@contextmanager
def compiled_beside(**what: bool) -> Iterator[None]:
    """Another process runs `analysis.rows.ahead.compile_others` meanwhile.

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
