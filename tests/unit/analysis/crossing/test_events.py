"""The machine that follows events step by step, against the same events found by masks over whole series."""

from dataclasses import astuple, replace

import events_by_masks as masks
import invented
import numpy as np
import pytest
from every import every

from analysis.crossing.breakouts import ARM_ANGLE, breakouts
from analysis.crossing.episodes import wheel_off_episodes
from analysis.crossing.events import rules
from sim.run import simulate
from sim.track import flat_track

STEPS = 600


def blocks(rng, high, mean):
    """Values that hold over random stretches: small whole numbers, so that limits are met exactly now and then."""
    out = []
    while len(out) < STEPS:
        out += [float(rng.integers(0, high))] * int(rng.integers(1, mean))
    return np.array(out[:STEPS])


def random_run(seed):
    """A run of random blocks with speeds from 1 to 11 m/s, so that a step stands for 2 to 22 mm."""
    rng = np.random.default_rng(seed)
    run = invented.made_run(
        STEPS,
        gauge_load=np.maximum(blocks(rng, 4, 12) - 1.0, 0.0),
        rock_force=1e3 * np.maximum(blocks(rng, 9, 30) - 6.0, 0.0),
        stop_force=np.maximum(blocks(rng, 30, 40) - 28.0, 0.0),
        gas_volume=0.3e-3 + 0.1e-3 * np.maximum(blocks(rng, 30, 40) - 24.0, 0.0),
        spare_load=blocks(rng, 5, 20) - 2.0,
        depth=0.01 * blocks(rng, 6, int(rng.integers(4, 60))),
        lift_off=-1e-3 * blocks(rng, 5, 5),
        arm_angle=0.1 * blocks(rng, 4, 15),
        oil_pressure=1e5 * blocks(rng, 90, 9),
    )
    track = flat_track(3.0, 1.2e6)
    pins = rng.normal(size=(STEPS, 14, 2)) * rng.choice([1e3, 2e3], size=14)[:, None]
    stones = replace(track, stone_top=0.01 * rng.integers(-2, 3, track.ground.size))
    speed = float(rng.choice([1.0, 2.5, 5.0, 7.3, 11.0]))
    return replace(run, settings=replace(run.settings, speed=speed), pins=pins, track=stones)


@every("seed", range(60))
def test_random_series_give_the_same_events(seed):
    run = random_run(seed)
    found, expected = wheel_off_episodes(run, 0.010), masks.episodes(run, 0.010)
    assert [e.cause for e in found] == [e.cause for e in expected]
    assert [astuple(replace(e, cause="")) for e in found] == [astuple(replace(e, cause="")) for e in expected]
    found, expected = breakouts(run, 0.015, 0.25), masks.breakouts(run, 0.015, 0.25)
    assert [(b.first, b.last, b.pin, b.regain) for b in found] == [(b.first, b.last, b.pin, b.regain) for b in expected]
    for a, b in zip(found, expected, strict=True):
        assert a.rise == pytest.approx(b.rise, rel=1e-12)
        assert (a.position, a.disc_peak, a.pressure_max) == (b.position, b.disc_peak, b.pressure_max)
        assert a.pin_peak == pytest.approx(b.pin_peak, rel=1e-15)


def test_the_random_series_hold_all_kinds_of_events():
    runs = [random_run(seed) for seed in range(60)]
    causes = {e.cause for run in runs for e in wheel_off_episodes(run, 0.010)}
    assert causes == {"rock", "at_stop", "no_cushion", "too_hard", "thrown"}
    found = [b for run in runs for b in breakouts(run, 0.015, 0.25)]
    assert len(found) > 60
    assert any(b.regain is None for b in found)
    assert any(b.regain == 0.0 for b in found)


@pytest.mark.parametrize(("library", "pressure"), [("stony", 40e5), ("rough", 30e5)])
def test_real_crossings_give_the_same_events(library, pressure):
    scenario = invented.short_scenario(library, 40.0).with_settings(oil_pressure=pressure)
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    found = wheel_off_episodes(run, 0.010)
    assert len(found) > 3
    assert found == masks.episodes(run, 0.010)
    assert [b.first for b in breakouts(run, 0.010)] == [b.first for b in masks.breakouts(run, 0.010, ARM_ANGLE)]


@every("travel", [0.001, 0.005, 0.0083, 0.01, 0.05, 0.07, 0.3, 0.5])
def test_lengths_in_steps_are_the_smallest_that_cover_them(travel):
    r = rules(travel, 0.01, 0.7e-3, 0.2)
    for steps, length in ((r.gap, 0.05), (r.least, 0.10), (r.apart, 0.30)):
        assert steps >= 1.0
        assert steps * travel >= length - 1e-9
        assert steps == 1.0 or (steps - 1.0) * travel < length - 1e-9
    assert r.after * travel <= 0.30 + 1e-9
