"""Readying the compiled model, as the commands need it."""

from __future__ import annotations

from analysis.rows.ready import USUAL_COMPILE_TIME, USUAL_COMPILE_TIME_ROWS, is_compiled, warm_up, warm_up_rows

__all__ = ["USUAL_COMPILE_TIME", "USUAL_COMPILE_TIME_ROWS", "is_compiled", "warm_up", "warm_up_rows"]
