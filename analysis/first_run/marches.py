"""The marches compiled without a run, so that two processes can share the work: the longest loop in one, all else in
the other.

A loop is compiled for the types of what it is called with. Here it is asked for with values of those types that mean
nothing; whatever a run takes ahead of it (gas, setting, ground) need not be compiled in the same process.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
from numba import typeof, types

from analysis.crossing.peaks import peaks
from analysis.first_run.pins import compile_bushes
from analysis.first_run.ready import short_march, warm_up_small
from analysis.rows.reducer import Reducer
from sim.arithmetic.refine import EXACT_TAPS, refine, refiner
from sim.arithmetic.simd import WIDTH
from sim.hydraulics.accumulator import filling
from sim.laws.contact import COLUMNS
from sim.laws.gas import NITROGEN
from sim.laws.hard_profile import hard_profile
from sim.march import loop
from sim.march.march_rows import CARRIED
from sim.march.rows import Group, begin_balance
from sim.mechanism.kinematics import State
from sim.model import VARIED_OF_ANY, Model, ModelOfAny
from sim.unit import Settings, Unit

NUMBERS = Model(*[1.0] * len(Model._fields))


def compile_one() -> None:
    """Compile the march of one row, or find it in the cache."""
    compile_for(loop.march, arguments_of_one())


def compile_rows(*, of_any: bool = False) -> None:
    """Compile the march of eight rows with its reduction, or find it in the cache; of_any: of any units and soils."""
    marched, arguments = Reducer(group_of_nothing(of_any=of_any), 0.0, 1e-3, np.array([0, 1]), 0.01).first_call()
    compile_for(marched, arguments)


def compile_others(*, one: bool, rows: bool, small: bool, of_any: bool, bushes: bool) -> None:
    """Compile what else marches of one row and of eight take, or find it; one: the march of one row besides; small:
    small motions besides; of_any: the march of eight rows of any units and soils; bushes: what the bushes of pins take.
    """
    short = short_march()
    peaks(np.zeros((3, 1)))
    gas = filling(Unit(), Settings(), Settings().oil_pressure, 293.0)
    gas.fast(0.9 * gas.nominal)
    if one:
        compile_one()
    if rows:
        begin_balance(short.group, short.grounds, short.x_start, short.step)
        compile_grounds()
    if small:
        warm_up_small()
    if of_any:
        compile_rows(of_any=True)
    if bushes:
        compile_bushes()


def compile_grounds() -> None:
    """Compile what random and stony ground take besides, which the short march does not meet, or find it."""
    series, found = np.zeros((1, 2 * EXACT_TAPS)), np.empty((1, 2))
    refine(series, np.zeros(1, dtype=np.int64), 1 - EXACT_TAPS // 2, 1, refiner(2, EXACT_TAPS), 0, found)
    level, stone = np.zeros(9), np.full(9, -1, dtype=np.int32)
    stone[4] = 0
    hard_profile(level, level, stone, 0.01, 0.02)


def compile_for(function: Any, arguments: tuple[Any, ...]) -> None:
    """Compile a kernel for these arguments' types, its last one left out (no worn pins), or find it in the cache."""
    function.compile((*(typeof(value) for value in arguments), types.Omitted(None)))


def arguments_of_one() -> tuple[Any, ...]:
    """What `sim.march.loop.march` is called with, of no meaning."""
    flat, state = np.zeros(1), State(*[0.0] * len(State._fields))
    return (
        NUMBERS, NITROGEN, np.zeros((COLUMNS, 2)), np.zeros(2, dtype=np.int32), 0.0, 1.0, np.zeros((3, 6)), 0.0, 0.0,
        1.0, 0.0, 0.0, state, flat, flat, flat, flat, flat,
    )  # fmt: skip


def group_of_nothing(*, of_any: bool = False) -> Group:
    """Eight rows of no meaning."""
    one: Any = SimpleNamespace(model=NUMBERS, unit=Unit())
    return Group(
        model=ModelOfAny(*NUMBERS) if of_any else NUMBERS, law=NITROGEN, ready=(one,) * WIDTH,
        varied=np.ones((len(VARIED_OF_ANY), WIDTH)),
        which=np.zeros(WIDTH, dtype=np.int64), along=np.zeros(WIDTH, dtype=np.int64),
        z_bar=np.zeros(WIDTH), state=np.zeros((CARRIED, WIDTH)), sunk=np.zeros(2 * WIDTH),
        met=np.zeros(WIDTH, dtype=np.int64), limits=np.zeros((2, WIDTH)), sums=np.zeros((3, WIDTH)),
        stored=np.zeros(WIDTH), rows=WIDTH,
    )  # fmt: skip
