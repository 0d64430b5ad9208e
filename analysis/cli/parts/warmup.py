"""Readies the model, saying that it has to be compiled where it has: once, and how long that takes."""

from __future__ import annotations

from analysis.cli.parts.request import Request
from analysis.rows.ready import time_to_compile, warm_up, warm_up_rows, warm_up_small
from sim.unit import Unit
from sim.worn import is_worn


def ready(request: Request, unit: Unit, *, one: bool = True, rows: bool = False, small: bool = False) -> float:
    """Compile what a command needs of the model or fetch it from the cache → time taken [s].

    one: the march of a crossing that is kept as a run; rows: the march of eight rows; of a unit with play in its pins
    both for such units besides; small: small motions. What of it is compiled is told of as one wait
    (`analysis.present.compile_notice`).
    """
    with request.compiling(time_to_compile(one=one, rows=rows, small=small)):
        taken = (warm_up() if one else 0.0) + (warm_up_rows() if rows else 0.0)
        taken += warm_up_small() if small else 0.0
        if is_worn(unit):
            taken += (warm_up(worn=True) if one else 0.0) + (warm_up_rows(worn=True) if rows else 0.0)
        return taken
