"""Stones: the sizes of the design, giving way where it happens, and nothing hard where none lies."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import synthetic_ground
from every import every

from analysis.crossing.loads import stone_peak, worst_pin
from sim.ground_tables import ground_tables
from sim.laws.contact import COLUMN
from sim.run import simulate
from sim.step import usual_step
from sim.stone_blow import longest_step, struck_mass
from sim.track import Track, flat_track
from sim.unit import Rock, Settings, Soil, Unit

NEVER = 1e7  # force that no stone comes to here [N]


def one_stone(shape: str, rock: Rock, at: float = 4.0) -> Track:
    """Flat ground with a stone 0.30 m long and 30 mm proud: half an ellipse, or a block."""
    flat = flat_track(8.0, synthetic_ground.FIRM, rock=rock)
    if shape == "ellipse":
        return synthetic_ground.with_stone(flat, at, 0.30, 0.030)
    inside = np.abs(flat.x - at) < 0.15 + 1e-9
    return replace(
        flat, stone_top=np.where(inside, 0.030, flat.stone_top), stone_id=np.where(inside, 0, -1).astype(np.int32)
    )


@cache
def struck(shape: str, kmh: float, give_way: float = 20e3, share: float = 1.0):
    settings = Settings(
        speed=kmh / 3.6, oil_pressure=40e5, reference_pressure=40e5, toolbar="level", setting="unchanged"
    )
    track = one_stone(shape, Rock(give_way=give_way))
    return simulate(Unit(), Soil(), track, settings, step=share * usual_step(settings.speed))


def upward(run) -> np.ndarray:
    """Upward part of the force of the stone at every step [N]."""
    tables = ground_tables(run.unit, run.track, run.settings.set_depth)
    slope = np.gradient(tables.table[COLUMN.hard], tables.dx)
    x = tables.x0 + tables.dx * np.arange(slope.size)
    return run.series["rock_force"] / np.hypot(1.0, np.interp(run.series["distance"], x, slope))


# design text, section 4, computed apart: disc and lower front pin at 6, 10, 14 km/h; the block before it gives way
@every(
    ("shape", "kmh", "disc", "pin"),
    [
        ("ellipse", 6, 9.0, 16.7), ("ellipse", 10, 13.7, 23.3), ("ellipse", 14, 17.7, 28.3),
        ("block", 6, 13.1, None), ("block", 10, 19.6, None), ("block", 14, 25.5, None),
    ],
)  # fmt: skip
def test_a_blow_has_the_size_of_the_design(shape, kmh, disc, pin):
    run = struck(shape, kmh, NEVER)
    assert stone_peak(run) / 1e3 == pytest.approx(disc, rel=0.02)
    if pin is not None:
        assert worst_pin(run) == ("main_lower_front", pytest.approx(pin * 1e3, rel=0.02))


@every("kmh", [6, 10, 11, 12])
def test_a_stone_that_bears_the_blow_does_not_give_way(kmh):
    """Though the whole force passes 20 kN from 11 km/h on: what a stone bears is the upward part."""
    run = struck("block", kmh)
    assert not run.series["stone_gives_way"].any()
    assert np.array_equal(run.series["depth"], struck("block", kmh, NEVER).series["depth"])
    assert (stone_peak(run) > 20e3) == (kmh > 10)


@every("kmh", [14, 18, 25])
def test_a_stone_gives_way_and_its_upward_force_is_held(kmh):
    run = struck("block", kmh)
    assert run.series["stone_gives_way"].any()
    assert upward(run).max() == pytest.approx(20e3, rel=5e-3)  # the slope is read linearly here
    assert upward(struck("block", kmh, NEVER)).max() > 20.5e3
    assert run.energy.residual_share < 1e-4


def test_a_weak_stone_sinks_and_the_balance_stays_closed():
    """Of 3 kN: it sinks by half the disc's depth and more."""
    run, fine = struck("ellipse", 10, 3e3), struck("ellipse", 10, 3e3, 0.125)
    hard = ground_tables(run.unit, run.track, 0.04).table[COLUMN.hard]
    inside = np.interp(fine.series["distance"], run.track.x, hard) + fine.series["depth"]
    inside -= np.interp(fine.series["distance"], run.track.x, run.track.surface)
    sunk = inside.max() - 3e3 / 0.6e6
    assert sunk > 0.02
    for made in (run, fine):
        assert made.energy.residual_share < 1e-4
        assert upward(made).max() == pytest.approx(3e3, rel=5e-3)
    assert fine.energy.losses["rock"] < 0.2 * 3e3 * sunk  # of the contact itself; the rest is with the soil's


def wall(height: float) -> Track:
    flat = flat_track(8.0, synthetic_ground.FIRM)
    return replace(flat, ground=np.where(flat.x > 4.0, height, 0.0))


@every("ground", ["wall 0.4", "wall −0.4", "class E"])
def test_where_no_stone_lies_nothing_hard_is_met(ground):
    rough = synthetic_ground.rough(40.0, synthetic_ground.GEOMETRIC_MEAN["E"], 9)
    track = {"wall 0.4": wall(0.4), "wall −0.4": wall(-0.4), "class E": rough}[ground]
    run = simulate(Unit(), Soil(), track, Settings(speed=10 / 3.6))
    assert run.series["rock_force"].max() == 0.0


def test_a_stone_elsewhere_makes_no_wall_hard():
    """A buried stone 1 m before a wall of 0.4 m: nothing is met at the wall."""
    track = synthetic_ground.with_stone(wall(0.4), 3.0, 0.30, -0.045)
    run = simulate(Unit(), Soil(), track, Settings(speed=10 / 3.6))
    assert run.series["rock_force"].max() == 0.0


@pytest.mark.parametrize("column", ["surface", "ahead", "gauge", "press"])
def test_wheels_disc_and_depth_feel_a_stone(column):
    """The ground that they roll on, dig into and are measured from is soil and stones in union."""
    track = one_stone("ellipse", Rock())
    tables = ground_tables(Unit(), track, 0.040)
    heights = tables.table[COLUMN._fields.index(column)]
    assert 0.020 < heights.max() <= 0.0301
    near = np.abs(tables.x0 + tables.dx * np.arange(heights.size) - 4.0) < 0.5
    assert np.abs(heights[~near]).max() < 1e-12


@every("wheel", ["gauge_load", "press_load"])
def test_a_wheel_on_a_stone_is_loaded_by_it(wheel):
    """A stone too narrow for the disc's depth to change much still knocks each wheel as it rolls over."""
    run = struck("ellipse", 6, 150.0)  # it bears next to nothing, so that the disc goes through and the wheels roll on
    load = run.series[wheel]
    assert load.max() > 1.5 * load[:20].mean()


def test_peaks_between_steps_are_those_of_an_eighth_of_the_step():
    """As the stone lies at other places between steps: raw up to 1.1 % low, between steps within 0.4 %."""
    settings = Settings(speed=10 / 3.6, oil_pressure=40e5, reference_pressure=40e5, toolbar="level")
    step = usual_step(settings.speed)
    for shift in (0.0, 0.3, 0.6):
        track = one_stone("ellipse", Rock(), 4.0 + shift * step * settings.speed)
        run, fine = (simulate(Unit(), Soil(), track, settings, step=h) for h in (step, step / 8.0))
        assert stone_peak(run) == pytest.approx(stone_peak(fine), rel=0.004)
        assert worst_pin(run)[1] == pytest.approx(worst_pin(fine)[1], rel=0.004)
        assert run.series["rock_force"].max() <= stone_peak(run)


def test_a_blow_too_short_for_the_step_is_told_and_its_longest_step_holds_it():
    """100 MN/m at 10 km/h: a third of the force is missed at the usual step."""
    assert struck_mass(Unit()) == pytest.approx(122.0, rel=0.02)  # 3.5 ms of contact at 100 MN/m: 124 kg
    settings = Settings(speed=10 / 3.6, oil_pressure=40e5, reference_pressure=40e5, toolbar="level")
    # so placed that the blow falls between two steps
    track = one_stone("ellipse", Rock(stiffness=1e8, give_way=NEVER), 4.004)
    longest = longest_step(Unit(), track.rock, settings.speed)
    plain, held, fine = (
        simulate(Unit(), Soil(), track, settings, step=h) for h in (usual_step(settings.speed), longest, longest / 8.0)
    )  # fmt: skip
    assert stone_peak(plain) < 0.8 * stone_peak(fine)
    assert any("too short for steps of 3 ms at a contact stiffness of 100 MN/m" in text for text in plain.warnings)
    assert stone_peak(held) == pytest.approx(stone_peak(fine), rel=0.02)
    for run in (held, fine, struck("ellipse", 10), struck("block", 14)):
        assert not any("too short" in text for text in run.warnings)
    flat = simulate(Unit(), Soil(), flat_track(4.0, synthetic_ground.FIRM, rock=track.rock), settings)
    assert not any("too short" in text for text in flat.warnings)  # no stone is struck
