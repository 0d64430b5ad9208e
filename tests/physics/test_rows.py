"""Eight rows marched together give what each gives alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground
from every import every

from sim.ground_tables import ground_tables
from sim.march.march_rows import ROW_CHANNELS
from sim.march.rows import (
    Case,
    Grounds,
    Subject,
    march_group,
    prepare_group,
    prepare_rows,
    stack_tables,
    steps_of,
    toolbar_paths,
)
from sim.record import PINS
from sim.run import measured_steps, simulate, start_position
from sim.step import usual_step
from sim.unit import Accumulator, Clearance, MainLinks, Rock, Settings, Soil, Unit

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
    cases = [Case(0, Settings(oil="held"))] * 2
    subjects = [Subject(Unit(), Soil(), Rock())] * 2
    for other, what in ((Accumulator(hold_time=3.0), "accumulator"), (Clearance(main_pins=1e-3), "clearance")):
        unlike = Subject(replace(Unit(), **{what: other}), Soil(), Rock())
        with pytest.raises(ValueError, match=r"rows of one group differ in (hold time of the oil|wear): march them"):
            prepare_rows([subjects[0], unlike], cases)
    with pytest.raises(ValueError, match=r"rows of one group differ in gas law"):
        prepare_rows(subjects, [Case(0, Settings()), Case(0, Settings(gas="ideal"))])
    with pytest.raises(ValueError, match=r"rows of one unit and soil differ in wall: march them as rows of any"):
        prepare_group(Unit(), Soil(), Rock(), [Case(0, Settings()), Case(0, Settings(gas_temperature=310.0))])
    slow = prepare_rows(subjects, [Case(0, Settings(speed=1.9)), Case(0, Settings(speed=2.0))])
    with pytest.raises(ValueError, match=r"rows of one group travel from 7\.6 to 8 mm in a step"):
        steps_of(slow, [usual_step(1.9), usual_step(2.0)])
    with pytest.raises(ValueError, match=r"9 rows in a group: allowed are 1 to 8"):
        prepare_group(Unit(), Soil(), Rock(), [Case(0, Settings())] * 9)


OTHERS = [
    (Subject(Unit(), Soil(), Rock()), 0, Settings(speed=SPEED)),
    (Subject(Unit(main_links=MainLinks(length=0.55)), Soil(), Rock()), 0, Settings(speed=9 / 3.6)),
    (Subject(Unit(accumulator=Accumulator(volume=0.5e-3)), Soil(strength=1.6e6), Rock()), 1, Settings(speed=12 / 3.6)),
    (
        Subject(Unit(), Soil(sinkage_exponent=0.8), Rock(stiffness=2e6)),
        0,
        Settings(speed=SPEED, gas_temperature=310.0, press_notch=2, toolbar="level", oil_pressure=60e5),
    ),
]


def crossed(chosen):
    """Rows of several subjects, speeds and tracks in one march → channels (steps, CHUNK_WIDTH, rows)."""
    laid = tracks()
    tables = [ground_tables(Unit(), t, 0.04) for t in laid]  # wheels and disc are the same of all
    rows = [OTHERS[i] for i in chosen]
    starts = [start_position(subject.unit, laid[0].x_from) for subject, *_ in rows]
    steps = [usual_step(settings.speed) for *_, settings in rows]
    begin, last = measured_steps(laid[0], SPEED, usual_step(SPEED))
    paths = [
        toolbar_paths(subject.unit, [laid[track]], s.speed, usual_step(s.speed), last + 1, s.toolbar == "carried")[0]
        for subject, track, s in rows
    ]
    grounds = Grounds(*stack_tables(tables), tables[0].x0, tables[0].dx, np.stack(paths))
    cases = [Case(track, settings) for _, track, settings in rows]
    group = prepare_rows([subject for subject, *_ in rows], cases, range(len(rows)))
    chunks = [out.copy() for _, out in march_group(group, grounds, starts, steps, last + 1)]
    return np.concatenate(chunks)[begin:last, :, : len(rows)]


@pytest.fixture(scope="module")
def mixed():
    return crossed(range(len(OTHERS)))


@every("row", range(len(OTHERS)))
def test_rows_of_other_units_soils_and_speeds_give_what_each_gives_alone(mixed, row):
    """To rounding what a run of its own gives; and bit for bit with fewer in another order."""
    subject, track, settings = OTHERS[row]
    run = simulate(subject.unit, subject.soil, replace(tracks()[track], rock=subject.rock), settings)
    assert np.abs(mixed[:, 0, row] - run.series["depth"]).max() <= 1e-9
    squares = (run.pins.reshape(len(mixed), -1, 2) ** 2).sum(axis=2)
    assert np.abs(mixed[:, len(ROW_CHANNELS) :, row] - squares).max() <= 1e-7 * squares.max()
    again = crossed([3 - row, row])
    assert np.array_equal(again[:, :, 1], mixed[:, :, row])
