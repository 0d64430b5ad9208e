"""Readies the compiled model: tells whether it has to be compiled first, and does so on a few metres of flat ground."""

from __future__ import annotations

import time
from typing import Any

from sim.arithmetic.compilecache import cache_folder

# on two cores of a server of 2024; said in messages, nothing depends on it [s]
USUAL_COMPILE_TIME = 15  # one row, kept as a run
USUAL_COMPILE_TIME_ROWS = 30  # rows in groups of eight, reduced on the way


def is_compiled(rows: bool = False) -> bool:
    """Whether the cache holds machine code of the march for this very installation, its sources as they are now.

    rows: of the march of eight rows that windows and paddocks use, else of the single row's.
    """
    march: Any
    if rows:
        from analysis.rows.feed import march_and_feed as march  # noqa: PLC0415
    else:
        from sim.march.loop import march  # noqa: PLC0415
    kept = getattr(march, "_cache", None)  # none where numba runs plain Python: then there is nothing to compile
    try:  # the index that numba itself reads: empty where a source file is newer or lies elsewhere
        return kept is None or bool(kept._cache_file._load_index())
    except AttributeError:  # a numba that keeps it elsewhere: any machine code of these sources counts
        name = "feed.march_and_feed" if rows else "loop.march"
        return any(cache_folder().rglob(f"{name}-*.nbc"))


def compile_notice(rows: bool = False) -> str:
    """What to tell before `warm_up` or `warm_up_rows` compiles."""
    usual = USUAL_COMPILE_TIME_ROWS if rows else USUAL_COMPILE_TIME
    return f"compiling the model (once per installation, about {usual} s)…"


def warm_up() -> float:
    """Compile the model, or fetch it from the cache → time taken [s]."""
    from sim.run import simulate  # noqa: PLC0415
    from sim.track import flat_track  # noqa: PLC0415
    from sim.unit import Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    soil = Soil()
    simulate(Unit(), soil, flat_track(1.0, soil.strength), Settings(speed=30.0 / 3.6))
    return time.perf_counter() - begin


def warm_up_rows() -> float:
    """Compile the march of eight rows and its reduction, or fetch them from the cache → time taken [s]."""
    from analysis.rows.reducer import reduce_group, stack_stones, whole_run  # noqa: PLC0415
    from sim.march.rows import Case, Grounds, prepare_group, stack_tables, toolbar_paths  # noqa: PLC0415
    from sim.run import ground_tables, start_position  # noqa: PLC0415
    from sim.step import usual_step  # noqa: PLC0415
    from sim.track import flat_track  # noqa: PLC0415
    from sim.unit import Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    unit, soil, settings = Unit(), Soil(), Settings(speed=30.0 / 3.6)
    track, step = flat_track(1.0, soil.strength), usual_step(settings.speed)
    bounds = whole_run(track, settings.speed, step)
    tables = ground_tables(unit, track, settings.set_depth)
    paths = toolbar_paths(unit, [track], settings.speed, step, int(bounds[-1]), True)
    grounds = Grounds(*stack_tables([tables]), tables.x0, tables.dx, paths)
    group = prepare_group(unit, soil, track.rock, [Case(0, settings)])
    x_start = start_position(unit, track.x_from)
    reduce_group(unit, group, grounds, stack_stones([track]), x_start, step, bounds, 0.01)
    return time.perf_counter() - begin
