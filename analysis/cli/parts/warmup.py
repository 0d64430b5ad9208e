"""Readies the compiled model: tells whether it has to be compiled first, and does so on a few metres of flat ground."""

from __future__ import annotations

import time

from analysis.cli.request import Request
from sim.arithmetic.compilecache import cache_folder
from sim.run import default_step, ground_tables, simulate, start_position
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit

# on two cores of a server of 2024; said in messages, nothing depends on it [s]
USUAL_COMPILE_TIME = 15  # one row, kept as a run
USUAL_COMPILE_TIME_ROWS = 30  # rows in groups of eight, reduced on the way


def ready(request: Request, *, rows: bool = False) -> float:
    """Compile the model or fetch it from the cache, saying so where it takes long → time taken [s].

    rows: the march of eight rows, else that of one.
    """
    tell_of_compiling(request, rows=rows)
    return warm_up_rows() if rows else warm_up()


def tell_of_compiling(request: Request, *, rows: bool = False) -> None:
    """Say that the model has to be compiled, where it has."""
    if not is_compiled(rows=rows):
        usual = USUAL_COMPILE_TIME_ROWS if rows else USUAL_COMPILE_TIME
        request.say(f"compiling the model (once per installation, about {usual} s)…")


def is_compiled(rows: bool = False) -> bool:
    """Whether the cache holds machine code of the march for these sources.

    rows: of the march of eight rows that windows and paddocks use, else of the single row's.
    """
    name = "feed.march_and_feed" if rows else "loop.march"
    return any(cache_folder().rglob(f"{name}-*.nbc"))


def warm_up() -> float:
    """Compile the model, or fetch it from the cache → time taken [s]."""
    begin = time.perf_counter()
    soil = Soil()
    simulate(Unit(), soil, flat_track(1.0, soil.strength), Settings(speed=30.0 / 3.6))
    return time.perf_counter() - begin


def warm_up_rows() -> float:
    """Compile the march of eight rows and its reduction, or fetch them from the cache → time taken [s]."""
    from analysis.rows.reducer import reduce_group, stack_stones, whole_run  # noqa: PLC0415 (not for one row)
    from sim.march.rows import Case, Grounds, prepare_group, stack_tables, toolbar_paths  # noqa: PLC0415

    begin = time.perf_counter()
    unit, soil, settings = Unit(), Soil(), Settings(speed=30.0 / 3.6)
    track, step = flat_track(1.0, soil.strength), default_step(settings.speed)
    bounds = whole_run(track, settings.speed, step)
    tables = ground_tables(unit, track, settings.set_depth)
    paths = toolbar_paths(unit, [track], settings.speed, step, int(bounds[-1]), True)
    grounds = Grounds(*stack_tables([tables]), tables.x0, tables.dx, paths)
    group = prepare_group(unit, soil, track.rock, [Case(0, settings)])
    x_start = start_position(unit, track.x_from)
    reduce_group(unit, group, grounds, stack_stones([track]), x_start, step, bounds, 0.01)
    return time.perf_counter() - begin
