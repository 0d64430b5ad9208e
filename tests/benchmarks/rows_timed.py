"""Times of the full model by parts: one row alone, eight rows in a march, their ground, threads, growth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from analysis.parallel import run_all
from analysis.rows.reducer import reduce_group, stack_stones, whole_run
from scenarios.load import load
from scenarios.scenario import Scenario
from sim.ground_tables import ground_tables
from sim.march import loop as kernel
from sim.march.rows import Case, Grounds, prepare_group, stack_tables, toolbar_paths
from sim.run import prepare, simulate, start_position, start_state
from sim.setting import TRAVEL_MARGIN
from sim.step import usual_step
from sim.toolbar.path import path

from .clock import Timing, timed, timed_on_the_wall

KMH = 10.0
LENGTH = 300.0  # measured length [m]
WIDTH = 8


def scenario(name: str, length: float = LENGTH, kmh: float = KMH) -> Scenario:
    """A scenario of the library over a length [m] at a speed [km/h]."""
    found = load(name)
    found = replace(found, x_to=found.x_from + length)
    return found.with_settings(speed=kmh / 3.6)


class Alone(NamedTuple):
    """One row: times of its parts over the whole track."""

    steps: int
    metres: float  # of ground made
    travelled: float  # lead-in included [m]
    seconds: float  # simulated, lead-in included
    making: Timing  # the ground's profile
    tables: Timing  # envelopes and averages
    toolbar: Timing
    march: Timing
    run: Timing  # simulate(): toolbar, march, series


def alone(s: Scenario) -> Alone:
    """Times of one row, marched and kept as a run."""
    unit, settings = s.unit, s.settings
    step = usual_step(settings.speed)
    track = s.track()
    tables = ground_tables(unit, track, settings.set_depth)
    x_start = start_position(unit, track.x_from)
    steps = int(whole_run(track, settings.speed, step)[1]) + 1
    ready = prepare(unit, s.soil, track.rock, settings)
    y = start_state(unit, s.soil, ready)
    bar = path(unit, track.surface, track.x0, track.dx, x_start, settings.speed, 0.5 * step, 2 * steps + 1, True)
    out, pins = np.empty((kernel.N_CHANNELS, steps)), np.empty((steps, kernel.N_PINS))
    checks = np.empty((steps, kernel.N_CHECKS))
    links = unit.main_links

    def march() -> None:
        kernel.march(
            ready.model, ready.law, tables.table, tables.stone, tables.x0, 1.0 / tables.dx, bar,
            ready.setting.toolbar_height, x_start, step, links.stop_down - TRAVEL_MARGIN, links.stop_up + TRAVEL_MARGIN,
            y, out.reshape(-1), pins.reshape(-1), checks.reshape(-1), np.zeros(kernel.N_SUMS), np.zeros(kernel.N_INFO),
        )  # fmt: skip

    def toolbar() -> None:
        path(unit, track.surface, track.x0, track.dx, x_start, settings.speed, 0.5 * step, 2 * steps + 1, True)

    return Alone(
        steps, track.ground.size * track.dx, steps * step * settings.speed, steps * step,
        timed(s.track), timed(lambda: ground_tables(unit, track, settings.set_depth)), timed(toolbar), timed(march),
        timed(lambda: simulate(unit, s.soil, track, settings, tables=tables)),
    )  # fmt: skip


class Field:
    """Rows of a scenario, each on ground of its own (or all on one), ready to be marched in groups of eight."""

    def __init__(self, s: Scenario, rows: int = WIDTH, *, shared: bool = False):
        self.s, self.rows = s, rows
        settings = s.settings
        self.tracks = [s.track(s.seed + k) for k in range(1 if shared else WIDTH)]
        self.step = usual_step(settings.speed)
        self.bounds = whole_run(self.tracks[0], settings.speed, self.step)
        self.x_start = start_position(s.unit, self.tracks[0].x_from)
        self.cases = [Case(j % len(self.tracks), settings) for j in range(WIDTH)]
        made = [ground_tables(s.unit, t, settings.set_depth) for t in self.tracks]
        paths = toolbar_paths(s.unit, self.tracks, settings.speed, self.step, self.steps, True)
        self.grounds = Grounds(*stack_tables(made), made[0].x0, made[0].dx, paths)
        self.stones = stack_stones(self.tracks)

    @property
    def steps(self) -> int:
        """Steps of a row."""
        return int(self.bounds[-1])

    def march(self, workers: int = 1) -> None:
        """All rows, reduced on the way."""
        run_all(lambda _: self._group(), range(self.rows // WIDTH), workers)

    def _group(self) -> None:
        s = self.s
        group = prepare_group(s.unit, s.soil, self.tracks[0].rock, self.cases)
        reduce_group(group, self.grounds, self.stones, self.x_start, self.step, self.bounds, s.limits.depth_tolerance)


class Growth(NamedTuple):
    """Time per row-step [ns] at several lengths and numbers of rows, one thread."""

    lengths: dict[float, Timing]  # by measured length [m]
    rows: dict[int, Timing]


def growth(name: str, lengths: Sequence[float] = (75.0, 150.0, 300.0, 600.0)) -> Growth:
    """How the time per row-step changes with distance and with rows."""
    by_length, by_rows = {}, {}
    for length in lengths:
        field = Field(scenario(name, length))
        by_length[length] = timed(field.march).per(field.steps * WIDTH)
    for rows in (WIDTH, 2 * WIDTH, 4 * WIDTH):
        field = Field(scenario(name), rows)
        by_rows[rows] = timed(field.march).per(field.steps * rows)
    return Growth(by_length, by_rows)


class Threads(NamedTuple):
    """Wall time of 32 rows on one and on two threads, and the cores that each had."""

    one: Timing
    cores_one: float
    two: Timing
    cores_two: float

    @property
    def efficiency(self) -> float:
        """Work a core does with two threads over that with one: what threads cost each other, not what others take."""
        return self.one.median * self.cores_one / (self.two.median * self.cores_two)


def threads(name: str) -> Threads:
    """Wall times on one and two threads."""
    field = Field(scenario(name), 4 * WIDTH)
    return Threads(*timed_on_the_wall(field.march), *timed_on_the_wall(lambda: field.march(2)))
