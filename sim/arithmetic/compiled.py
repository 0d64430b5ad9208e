"""How the physics is compiled: two decorators, so that every function has the same arithmetic.

Multiply–add pairs may be fused (more exact and faster); nothing is reordered and no special value is ignored.
Division by zero gives inf as in numpy.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numba
from numba import extending, njit
from numba.core import event

from sim.arithmetic import compiling
from sim.arithmetic.compilecache import cache_folder
from sim.arithmetic.keptcode import Kept
from sim.arithmetic.parts import LOOP, part_of

ARITHMETIC: dict[str, Any] = {"error_model": "numpy", "fastmath": {"contract"}}

_PLAIN = bool(getattr(numba.config, "DISABLE_JIT", False))  # plain Python runs, nothing is compiled
_kept: set[Callable[..., Any]] = set()  # functions whose machine code is kept on disk


class _Teller(event.Listener):
    """Tells of kept functions that are compiled; what is compiled on the way is part of them.

    The compiler reports after it has looked for the code on disk in vain, and compiles one function at a time.
    """

    def __init__(self) -> None:
        self.open: list[str] = []

    def on_start(self, event: Any) -> None:
        function = getattr(event.data["dispatcher"], "py_func", None)
        self.open.append(f"{function.__module__}.{function.__name__}" if function in _kept else "")
        if not any(self.open[:-1]) and self.open[-1]:
            compiling.tell(self.open[-1], begun=True)

    def on_end(self, event: Any) -> None:
        name = self.open.pop()
        if not any(self.open) and name:
            compiling.tell(name, begun=False)


event.register("numba:compile", _Teller())

WHOLE: Any = {"pipeline_class": LOOP, "no_cfunc_wrapper": True}
INLINE: Any = {"forceinline": True, **ARITHMETIC}


def part(function: Callable[..., Any]) -> Any:
    """A law: compiled into whatever calls it."""
    return function if _PLAIN else part_of(function, **INLINE)


def routine(function: Callable[..., Any]) -> Any:
    """A function of a loop that is long or called seldom: the compiler may inline it or not."""
    return function if _PLAIN else part_of(function, **ARITHMETIC)


def kernel(function: Callable[..., Any]) -> Any:
    """A loop called from Python: releases the interpreter and is kept on disk."""
    return kept(function, nogil=True, **ARITHMETIC)


def kept(function: Callable[..., Any], **options: Any) -> Any:
    """A compiled function whose machine code is kept in this installation's own folder (`compilecache`), if in any."""
    _kept.add(function)
    made = njit(**WHOLE, **options)(function)
    folder = cache_folder()
    if not folder.is_dir() or not hasattr(made, "enable_caching"):  # no place is private; or numba runs plain Python
        return made
    config: Any = numba.config
    users = config.CACHE_DIR  # read by the compiler as the cache is made, and put back for everyone else
    config.CACHE_DIR = str(folder)
    try:
        made._cache = Kept(function)
    finally:
        config.CACHE_DIR = users
    return made


kernel_apart: Any = partial(kept, error_model="numpy")
"""The same for the second engine, whose arithmetic is its own: no pairs are fused."""

instruction: Any = extending.intrinsic
"""A function that writes its own machine instructions (untyped, for the type checker's sake)."""
