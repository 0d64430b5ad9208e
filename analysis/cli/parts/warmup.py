"""Readies the model, saying that it has to be compiled where it has: once, and how long that takes."""

from __future__ import annotations

import time
from functools import partial

from analysis.cli.parts.request import Request
from analysis.first_run.beside import compile_at_once
from analysis.first_run.ready import time_to_compile, warm_up, warm_up_pins, warm_up_rows, warm_up_small
from sim.unit import Unit
from sim.worn import is_worn


def ready(
    request: Request, unit: Unit, *, one: bool = True, rows: bool = False, small: bool = False, of_any: bool = False,
    pins: bool = False, timed: bool = False,
) -> float:  # fmt: skip
    """Compile what a command needs of the model or fetch it from the cache → time taken [s].

    one: the march of a crossing that is kept as a run; rows: the march of eight rows; of_any: that of eight of any
    units and soils; of a unit with play in its pins all for such units besides; small: small motions; pins: wear of
    pins and bushes. What of it is compiled is told of as one wait (`analysis.present.compile_notice`). Where the cache
    holds all, it is fetched as it is called for, or at once by a command that tells how long its own work took (timed).
    """
    missing = time_to_compile(one=one, rows=rows, small=small, of_any=of_any, pins=pins)
    if not (missing or timed or is_worn(unit)):
        return 0.0
    with request.compiling(missing):
        begin = time.perf_counter()
        if missing:
            compile_at_once(one=one, rows=rows, small=small, of_any=of_any, pins=pins)
        of_rows = partial(warm_up_rows, of_any=True)
        for fetched, needed in ((warm_up, one), (warm_up_rows, rows), (of_rows, of_any)):
            if needed:
                fetched()
                if is_worn(unit):
                    fetched(worn=True)
        if small:
            warm_up_small()
        if pins:
            warm_up_pins()
        return time.perf_counter() - begin
