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

from sim.arithmetic.compilecache import cache_folder

ARITHMETIC: dict[str, Any] = {"error_model": "numpy", "fastmath": {"contract"}}

INLINE: Any = {"forceinline": True, **ARITHMETIC}

part: Any = njit(**INLINE)
"""A law: compiled into whatever calls it."""


def kernel(function: Callable[..., Any]) -> Any:
    """A loop called from Python: releases the interpreter and is kept on disk."""
    return kept(function, nogil=True, **ARITHMETIC)


def kept(function: Callable[..., Any], **options: Any) -> Any:
    """A compiled function whose machine code is kept in this installation's own folder (`compilecache`)."""
    config: Any = numba.config
    users = config.CACHE_DIR  # read by the compiler as the function is made, and put back for everyone else
    config.CACHE_DIR = str(cache_folder())
    try:
        return njit(cache=True, **options)(function)
    finally:
        config.CACHE_DIR = users


kernel_apart: Any = partial(kept, error_model="numpy")
"""The same for the second engine, whose arithmetic is its own: no pairs are fused."""

instruction: Any = extending.intrinsic
"""A function that writes its own machine instructions (untyped, for the type checker's sake)."""
