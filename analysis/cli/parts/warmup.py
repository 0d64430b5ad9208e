"""Readies the model, saying that it has to be compiled where it has: once, and how long that takes."""

from __future__ import annotations

from analysis.cli.parts.request import Request
from analysis.parallel import usable_cores
from analysis.rows.beside import compiled_beside
from analysis.rows.ready import time_to_compile, warm_up, warm_up_rows, warm_up_small
from sim.unit import Unit
from sim.worn import is_worn


def ready(
    request: Request, unit: Unit, *, one: bool = True, rows: bool = False, small: bool = False, timed: bool = False
) -> float:
    """Compile what a command needs of the model or fetch it from the cache → time taken [s].

    one: the march of a crossing that is kept as a run; rows: the march of eight rows; of a unit with play in its pins
    both for such units besides; small: small motions. What of it is compiled is told of as one wait
    (`analysis.present.compile_notice`). Where the cache holds all, it is fetched as it is called for, or
    at once by a command that tells how long its own work took (timed).
    """
    missing = time_to_compile(one=one, rows=rows, small=small)
    if not (missing or timed or is_worn(unit)):
        return 0.0
    apart = one and rows and usable_cores() > 1 and all(time_to_compile(one=o, rows=not o) for o in (True, False))
    with request.compiling(missing):
        taken = 0.0
        if apart:
            with compiled_beside():
                taken += warm_up_rows()
        taken += (warm_up() if one else 0.0) + (warm_up_rows() if rows else 0.0)
        taken += warm_up_small() if small else 0.0
        if is_worn(unit):
            taken += (warm_up(worn=True) if one else 0.0) + (warm_up_rows(worn=True) if rows else 0.0)
        return taken
