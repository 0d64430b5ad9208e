"""Eight rows marched together give what each gives alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground
from every import every

from sim.ground_tables import ground_tables
from sim.march.march_rows import ROW_CHANNELS
from sim.march.rows import Case, Grounds, march_group, prepare_group, stack_tables, toolbar_paths
from sim.record import PINS
from sim.run import measured_steps, simulate, start_position
from sim.unit import Rock, Settings, Soil, Unit

SPEED = 10 / 3.6
LENGTH = 30.0


def tracks():
    """Two tracks on one grid: stones on rough ground, and rough ground."""
    return [synthetic_ground.stony(LENGTH, 1024e-6, 4, per_100_m=30.0), synthetic_ground.rough(LENGTH, 256e-6, 6)]


CASES = [
    (0, Settings(speed=SPEED)),
    (1, Settings(speed=SPEED)),
    (0, Settings(speed=SPEED, oil_pressure=90e5)),
    (1, Settings(speed=SPEED, oil_pressure=30e5, setting="unchanged")),
    (0, Settings(speed=SPEED, oil_pressure=20e5)),  # out of oil
    (1, Settings(speed=SPEED, set_depth=0.055)),
    (0, Settings(speed=SPEED, precharge=35e5)),
    (0, Settings(speed=SPEED, oil_pressure=75e5, setting="unchanged")),
]


def together(cases, step: float, rock: Rock = Rock()) -> np.ndarray:  # noqa: B008 - frozen
    """Channels of the measured steps, (steps, channels, rows)."""
    unit, soil, ground = Unit(), Soil(), tracks()
    first, last = measured_steps(ground[0], SPEED, step)
    group = prepare_group(unit, soil, rock, [Case(t, s) for t, s in cases])
    tables, stones = stack_tables([ground_tables(unit, t, 0.040) for t in ground])
    paths = toolbar_paths(unit, ground, SPEED, step, last + 1, True)
    grounds = Grounds(tables, stones, ground[0].x0, ground[0].dx, paths)
    x_start = start_position(unit, ground[0].x_from)
    chunks = [out.copy() for _, out in march_group(group, grounds, x_start, step, last + 1)]
    return np.concatenate(chunks)[first:last, :, : len(cases)]


@pytest.fixture(scope="module")
def rows():
    return together(CASES, 2.5e-3)


@every("row", range(len(CASES)))
def test_a_row_among_others_is_the_row_alone(rows, row):
    track, settings = CASES[row]
    unit, ground = Unit(), tracks()[track]
    tables = ground_tables(unit, ground, 0.040)
    run = simulate(unit, Soil(), ground, settings, step=2.5e-3, tables=tables)
    assert run.series["depth"].size == rows.shape[0]
    for i, name in enumerate(ROW_CHANNELS):
        alone = run.series[name]
        assert np.abs(rows[:, i, row] - alone).max() <= 1e-9 * max(np.abs(alone).max(), 1e-3), name
    for i, name in enumerate(PINS):
        alone = run.pin_load(name)
        assert np.abs(np.sqrt(rows[:, len(ROW_CHANNELS) + i, row]) - alone).max() <= 1e-9 * alone.max(), name


def test_stones_give_way_and_sink_in_rows_as_they_do_alone():
    """Stones that bear 2 kN: each gives way and sinks, the next is met unsunk, in rows as alone."""
    rock = Rock(give_way=2e3)
    got = together(CASES, 2.5e-3, rock)
    force, way = (ROW_CHANNELS.index(name) for name in ("rock_force", "stone_gives_way"))
    for row in (0, 2, 4):
        track = replace(tracks()[0], rock=rock)
        run = simulate(Unit(), Soil(), track, CASES[row][1], step=2.5e-3)
        assert np.count_nonzero(np.diff(run.series["stone_gives_way"]) > 0.0) > 3
        assert np.array_equal(got[:, way, row], run.series["stone_gives_way"])
        assert np.abs(got[:, force, row] - run.series["rock_force"]).max() <= 1e-9 * run.series["rock_force"].max()
        assert np.abs(got[:, 0, row] - run.series["depth"]).max() <= 1e-9


@every("order", [[5, 0, 4], [3, 5, 1], [2]])
def test_company_makes_no_difference(rows, order):
    """The same rows in another order and with fewer of them, with stones or without, bit for bit."""
    again = together([CASES[i] for i in order], 2.5e-3)
    for j, i in enumerate(order):
        assert np.array_equal(again[:, :, j], rows[:, :, i])


def test_rows_that_cannot_share_a_march_are_refused():
    with pytest.raises(ValueError, match=r"rows of one group differ in speed"):
        prepare_group(Unit(), Soil(), Rock(), [Case(0, Settings()), Case(0, Settings(speed=SPEED))])
    with pytest.raises(ValueError, match=r"9 rows in a group: allowed are 1 to 8"):
        prepare_group(Unit(), Soil(), Rock(), [Case(0, Settings())] * 9)
