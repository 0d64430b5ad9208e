"""Readies the compiled model: tells whether it has to be compiled first, and does so on a few metres of flat ground."""

from __future__ import annotations

import time
from importlib import import_module

from sim.arithmetic.compilecache import cache_folder

# What each part of the model usually takes to compile: processor time on two busy cores of a server of 2024, said in
# messages, nothing depends on it [s]. By the start of the names of its functions; what stands nowhere takes less.
USUAL = {
    "sim.setting.press_angle": 9.0,
    "sim.march.loop.march": 20.0,
    "sim.march.march_rows": 11.0,
    "analysis.rows.feed.march_and_feed": 33.0,
    "sim.rigid.engine": 10.0,
    "analysis.pins.duty.gather_loop.gather": 12.0,
    "sim.linear.respond": 9.0,
}
OTHERS = 1.0  # [s]
ONE = ("sim.setting.press_angle", "sim.march.loop.march")  # what a crossing kept as a run takes
SMALL = "sim.linear.respond"  # what small motions take besides
ROWS = ("sim.setting.press_angle", "sim.march.march_rows.rows_at", "analysis.rows.feed.march_and_feed")


def usual_time(name: str) -> float:
    """How long the function of this dotted name usually takes to compile [s]."""
    return next((seconds for start, seconds in USUAL.items() if name.startswith(start)), OTHERS)


def time_to_compile(*, one: bool, rows: bool, small: bool = False) -> float:
    """What is usually taken by the parts that the cache does not hold yet [s], 0 where it holds all.

    one: those of a crossing that is kept as a run; rows: those of the march of eight rows; small: those of small
    motions.
    """
    needed = dict.fromkeys((*(ONE if one else ()), *(ROWS if rows else ()), *((SMALL,) if small else ())))
    return sum(usual_time(name) for name in needed if not is_compiled(name))


def is_compiled(name: str) -> bool:
    """Whether the cache holds machine code of a function, for this very installation, its sources as they are now."""
    module, _, function = name.rpartition(".")
    kept = getattr(getattr(import_module(module), function), "_cache", None)  # none where numba runs plain Python
    try:  # the index that numba itself reads: empty where a source file is newer or lies elsewhere
        return kept is None or bool(kept._cache_file._load_index())
    except AttributeError:  # a numba that keeps it elsewhere: any machine code of these sources counts
        return any(cache_folder().rglob(f"{module.rpartition('.')[2]}.{function}-*.nbc"))


def warm_up(*, worn: bool = False) -> float:
    """Compile the model, or fetch it from the cache → time taken [s]; worn: that of a unit with play in its pins."""
    from sim.run import simulate  # noqa: PLC0415
    from sim.track import flat_track  # noqa: PLC0415
    from sim.unit import Clearance, Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    soil = Soil()
    unit = Unit(clearance=Clearance(main_pins=1e-3)) if worn else Unit()
    simulate(unit, soil, flat_track(1.0, soil.strength), Settings(speed=30.0 / 3.6))
    return time.perf_counter() - begin


def warm_up_small() -> float:
    """Compile what small motions take, or fetch it from the cache → time taken [s]."""
    from sim.linear import linearise  # noqa: PLC0415
    from sim.unit import Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    linearise(Unit(), Soil(), Settings())
    return time.perf_counter() - begin


def warm_up_rows(*, worn: bool = False) -> float:
    """Compile the march of eight rows and its reduction, or fetch them from the cache → time taken [s]; worn: as
    `warm_up`.
    """
    from analysis.rows.reducer import reduce_group, stack_stones, whole_run  # noqa: PLC0415
    from sim.march.rows import Case, Grounds, prepare_group, stack_tables, toolbar_paths  # noqa: PLC0415
    from sim.run import ground_tables, start_position  # noqa: PLC0415
    from sim.step import usual_step  # noqa: PLC0415
    from sim.track import flat_track  # noqa: PLC0415
    from sim.unit import Clearance, Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    soil, settings = Soil(), Settings(speed=30.0 / 3.6)
    unit = Unit(clearance=Clearance(main_pins=1e-3)) if worn else Unit()
    track, step = flat_track(1.0, soil.strength), usual_step(settings.speed)
    bounds = whole_run(track, settings.speed, step)
    tables = ground_tables(unit, track, settings.set_depth)
    paths = toolbar_paths(unit, [track], settings.speed, step, int(bounds[-1]), True)
    grounds = Grounds(*stack_tables([tables]), tables.x0, tables.dx, paths)
    group = prepare_group(unit, soil, track.rock, [Case(0, settings)])
    x_start = start_position(unit, track.x_from)
    reduce_group(unit, group, grounds, stack_stones([track]), x_start, step, bounds, 0.01)
    return time.perf_counter() - begin
