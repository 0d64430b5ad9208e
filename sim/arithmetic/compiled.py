"""How the physics is compiled: two decorators, so that every function has the same arithmetic.

Multiply–add pairs may be fused (more exact and faster); nothing is reordered and no special value is ignored.
Division by zero gives inf as in numpy.
"""

from __future__ import annotations

from typing import Any

from numba import extending, njit

ARITHMETIC: dict[str, Any] = {"error_model": "numpy", "fastmath": {"contract"}}

INLINE: Any = {"forceinline": True, **ARITHMETIC}

part: Any = njit(**INLINE)
"""A law: compiled into whatever calls it."""

kernel: Any = njit(nogil=True, cache=True, **ARITHMETIC)
"""A loop called from Python: releases the interpreter and is kept on disk."""

instruction: Any = extending.intrinsic
"""A function that writes its own machine instructions (untyped, for the type checker's sake)."""
