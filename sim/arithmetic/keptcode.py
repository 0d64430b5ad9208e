"""What is kept on disk of one compiled function, and how it is loaded."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from numba.core.caching import FunctionCache

from sim.arithmetic.keptfiles import Files
from sim.arithmetic.keptruntime import begin_runtime


class Kept(FunctionCache):
    """The cache of one function, made while the compiler's CACHE_DIR names its folder."""

    def __init__(self, function: Any) -> None:
        super().__init__(function)
        plain: Any = self._cache_file
        self._cache_file: Any = Files.__new__(Files)
        self._cache_file.__dict__.update(plain.__dict__)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Machine code of a signature; None where there is none that is whole.

        The compiler's own would first load all that it knows of Python and numpy, a sixth of a second that only
        compiling needs, and which compiling does by itself; to run, machine code needs the arrays' memory alone.
        """
        try:
            begin_runtime(target_context, Path(self._cache_file.folder()))
            with self._guard_against_spurious_io_errors():
                return self._load_overload(sig, target_context)
        except Exception as error:
            self._cache_file.damaged(error)
            return None

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep machine code, where that can be done."""
        try:
            super().save_overload(sig, data)
        except OSError as error:
            self._cache_file.unkept(error)
