"""Readies the compiled model: tells whether it has to be compiled first, and does so on a few metres of flat ground."""

from __future__ import annotations

import time
from importlib import import_module
from typing import TYPE_CHECKING, NamedTuple

from sim.arithmetic.compilecache import cache_folder

if TYPE_CHECKING:
    from sim.march.rows import Grounds, Group
    from sim.track import Track

# What each part of the model usually takes to compile: processor time on two busy cores of a server of 2024, said in
# messages, nothing depends on it [s]. By the start of the names of its functions; what stands nowhere takes less.
USUAL = {
    "sim.setting._settled": 3.0,
    "sim.march.loop.march": 6.0,
    "sim.march.march_rows.rows_at": 2.0,
    "analysis.rows.feed.march_and_feed": 14.0,
    "sim.rigid.engine": 8.0,
    "analysis.pins.duty.gather_loop.gather": 9.0,
    "analysis.pins.bush.bush_loop.reduce_bushes": 8.0,
    "sim.linear.respond": 4.0,
}
OTHERS = 1.0  # [s]
SPEED = 30.0 / 3.6  # [m/s]
ONE = ("sim.setting._settled", "sim.march.loop.march")  # what a crossing kept as a run takes
SMALL = "sim.linear.respond"  # what small motions take besides
ROWS = ("sim.setting._settled", "sim.march.march_rows.rows_at", "analysis.rows.feed.march_and_feed")
ANY = (*ROWS[:-1], "analysis.rows.feed.march_and_feed_any")  # the same of any units and soils
PINS = ("analysis.pins.duty.gather_loop.gather", "analysis.pins.bush.bush_loop.reduce_bushes")


def usual_time(name: str) -> float:
    """How long the function of this dotted name usually takes to compile [s]."""
    return next((seconds for start, seconds in USUAL.items() if name.startswith(start)), OTHERS)


def time_to_compile(
    *, one: bool, rows: bool, small: bool = False, of_any: bool = False, pins: bool = False
) -> float:  # fmt: skip
    """What is usually taken by the parts that the cache does not hold yet [s], 0 where it holds all.

    one: those of a crossing that is kept as a run; rows: those of the march of eight rows; small: those of small
    motions; of_any: those of the march of eight rows of any units and soils; pins: those of pins and bushes.
    """
    wanted = ((one, ONE), (rows, ROWS), (small, (SMALL,)), (of_any, ANY), (pins, PINS))
    needed = dict.fromkeys(name for asked, names in wanted if asked for name in names)
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
    simulate(unit, soil, flat_track(1.0, soil.strength), Settings(speed=SPEED))
    return time.perf_counter() - begin


def warm_up_small() -> float:
    """Compile what small motions take, or fetch it from the cache → time taken [s]."""
    from sim.linear import linearise  # noqa: PLC0415
    from sim.unit import Settings, Soil, Unit  # noqa: PLC0415

    begin = time.perf_counter()
    linearise(Unit(), Soil(), Settings())
    return time.perf_counter() - begin


def warm_up_pins() -> float:
    """Compile what wear of pins and bushes takes, or fetch it from the cache → time taken [s]."""
    from analysis.first_run.pins import compile_bushes, compile_gather  # noqa: PLC0415

    begin = time.perf_counter()
    compile_gather()
    compile_bushes()
    return time.perf_counter() - begin


def warm_up_rows(*, worn: bool = False, of_any: bool = False) -> float:
    """Compile the march of eight rows and its reduction, or fetch them from the cache → time taken [s]; worn: as
    `warm_up`; of_any: that of any units and soils.
    """
    from analysis.rows.reducer import reduce_group, stack_stones, whole_run  # noqa: PLC0415

    begin = time.perf_counter()
    short = short_march(worn=worn, of_any=of_any)
    bounds = whole_run(short.track, SPEED, short.step)
    reduce_group(short.group, short.grounds, stack_stones([short.track]), short.x_start, short.step, bounds, 0.01)
    return time.perf_counter() - begin


class Short(NamedTuple):
    """A march over a metre of flat ground."""

    track: Track
    step: float  # [s]
    group: Group
    grounds: Grounds
    x_start: float  # [m]


def short_march(*, worn: bool = False, of_any: bool = False) -> Short:
    """A march over a metre of flat ground, ready to begin; worn, of_any: as `warm_up_rows`."""
    from sim.ground_tables import ground_tables  # noqa: PLC0415
    from sim.march.rows import Case, Grounds, Subject, prepare_rows, stack_tables, toolbar_paths  # noqa: PLC0415
    from sim.run import measured_steps, start_position  # noqa: PLC0415
    from sim.step import usual_step  # noqa: PLC0415
    from sim.track import flat_track  # noqa: PLC0415
    from sim.unit import Clearance, Settings, Soil, Unit  # noqa: PLC0415

    soil, settings, step = Soil(), Settings(speed=SPEED), usual_step(SPEED)
    unit = Unit(clearance=Clearance(main_pins=1e-3)) if worn else Unit()
    track = flat_track(1.0, soil.strength)
    tables = ground_tables(unit, track, settings.set_depth)
    paths = toolbar_paths(unit, [track], SPEED, step, measured_steps(track, SPEED, step)[1], True)
    grounds = Grounds(*stack_tables([tables]), tables.x0, tables.dx, paths)
    group = prepare_rows([Subject(unit, soil, track.rock)], [Case(0, settings)], of_any=of_any)
    return Short(track, step, group, grounds, start_position(unit, track.x_from))
