"""Test runs in copies of one process that has imported what they share: most of a short run's time is importing.

Started as a program it reads requests, a line of JSON each, and answers each with a line: what the run ended with.
Where a system cannot copy a process (`ALLOWED`), nobody starts it.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import traceback
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path

ALLOWED = hasattr(os, "fork")
# libraries alone, nothing of the rooms or of what the tests share: those are a copy's own
SHARED = ("numpy", "scipy.linalg", "scipy.optimize", "scipy.special", "scipy.signal", "scipy.stats", "scipy.integrate",
          "scipy.interpolate", "scipy.ndimage", "numba", "h5py", "pydantic", "matplotlib.figure",
          "pymunk.batch", "sympy", "hypothesis", "xdist", "pytest")  # fmt: skip


class Forked:
    """A process that runs tests in copies of itself, one after the other; variables: of its surroundings."""

    def __init__(self, variables: Mapping[str, str]) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-B", __file__], stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8",
            env={**os.environ, **variables},
        )  # fmt: skip

    def run(self, folder: Path, words: Sequence[str], paths: Sequence[Path], variables: Mapping[str, str],
            seconds: float) -> subprocess.CompletedProcess[str]:  # fmt: skip
        """pytest with these words in a folder, modules looked for in `paths` first; killed after so many seconds."""
        said = folder / "said.txt"
        asked = {"folder": str(folder), "words": [*words], "paths": [*map(str, paths)], "said": str(said),
                 "variables": {**variables}, "seconds": seconds}  # fmt: skip
        stdin, stdout = self._process.stdin, self._process.stdout
        assert stdin is not None
        assert stdout is not None
        stdin.write(json.dumps(asked) + "\n")
        stdin.flush()
        code = int(stdout.readline())
        return subprocess.CompletedProcess([*words], code, said.read_text(encoding="utf-8", errors="replace"), "")

    def close(self) -> None:
        """End it."""
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()


def _alone(
    folder: str, words: list[str], paths: list[str], said: str, variables: dict[str, str], seconds: float
) -> int:
    """In the copy: run the tests → what pytest ended with."""
    import signal  # noqa: PLC0415 - what only a copy takes

    import pytest  # noqa: PLC0415

    signal.alarm(int(seconds))  # nobody handles it: it ends the copy
    file = os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(file, 1)
    os.dup2(file, 2)
    os.chdir(folder)
    os.environ.update(variables)
    sys.path[:] = [*paths, *(path for path in sys.path if Path(path) != Path(__file__).parent)]
    return int(pytest.main(words))


def serve() -> None:
    """Import what is shared, then answer requests to their end."""
    for name in SHARED:
        import_module(name)
    for line in sys.stdin:
        asked = json.loads(line)
        child = os.fork()
        if not child:
            code = 70
            try:
                code = _alone(**asked)
            except BaseException:
                traceback.print_exc()
            finally:
                sys.stdout.flush()
                sys.stderr.flush()
                os._exit(code)
        _, status = os.waitpid(child, 0)
        sys.stdout.write(f"{os.waitstatus_to_exitcode(status)}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    serve()
