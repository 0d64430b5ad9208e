"""The march of one row compiled in another process, while this one compiles that of eight."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def compiled_beside() -> Iterator[None]:
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
