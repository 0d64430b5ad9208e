"""Wheel-off episodes on invented runs (5 mm a step) and their causes in real crossings."""

from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every

from analysis.crossing.episodes import CAUSES_IN_ORDER, wheel_off_episodes
from analysis.crossing.spans import travelled
from sim.run import simulate

STEPS = 600
QUIET = {"rock_force": 0.0, "stop_force": 0.0, "gas_volume": 0.4e-3, "spare_load": 500.0, "lift_off": 0.0}


def episodes(*off, **series):
    load = invented.stretch(STEPS, *off, inside=0.0, outside=800.0)
    return wheel_off_episodes(invented.made_run(STEPS, gauge_load=load, **{**QUIET, **series}), 0.010)


def test_a_tenth_of_a_metre_is_an_episode_and_less_is_none():
    (found,) = episodes((100, 120))
    assert found.length == pytest.approx(0.10)
    assert found.start == pytest.approx(0.0025 + 0.5)
    assert episodes((100, 119)) == ()


def test_short_contact_is_bridged_by_distance():
    (found,) = episodes((100, 112), (121, 133))  # 0.06 m, 0.045 m of contact, 0.06 m
    assert found.length == pytest.approx(0.165)
    assert (found.first, found.last) == (100, 133)
    assert episodes((100, 112), (122, 134)) == ()  # 0.05 m of contact ends it: two stretches too short to count


def test_bridging_goes_by_distance_and_not_by_steps():
    load = invented.stretch(STEPS, (100, 150), (158, 208), inside=0.0, outside=800.0)
    run = invented.made_run(STEPS, gauge_load=load, **QUIET)
    fast = replace(run, settings=replace(run.settings, speed=5.0))  # 8 steps of 10 mm: 0.08 m
    assert len(wheel_off_episodes(run, 0.010)) == 1
    assert [e.length for e in wheel_off_episodes(fast, 0.010)] == pytest.approx([0.5, 0.5])
    assert travelled(fast) == pytest.approx(6.0)


def test_episodes_at_both_ends_of_a_run_count():
    found = episodes((0, 30), (560, 600))
    assert [e.length for e in found] == pytest.approx([0.15, 0.20])


def test_no_episode_and_nothing_but_one():
    assert episodes() == ()
    (found,) = episodes((0, STEPS))
    assert found.length == pytest.approx(3.0)


def test_rise_gap_and_shallow_distance():
    depth = np.full(STEPS, 0.040)
    depth[200:210], depth[210:230], depth[300] = 0.025, 0.032, 0.0
    lift = np.zeros(STEPS)
    lift[205], lift[310] = -0.018, -0.050
    (found,) = episodes((200, 240), depth=depth, lift_off=lift)
    assert found.rise == pytest.approx(0.015)
    assert found.gap == pytest.approx(0.018)
    assert found.shallow == pytest.approx(0.05)


ROCK = invented.stretch(STEPS, (210, 212), inside=4000.0, outside=0.0)
STOP = invented.stretch(STEPS, (220, 221), inside=-900.0, outside=0.0)
OUT = invented.stretch(STEPS, (230, 231), inside=0.8e-3, outside=0.4e-3)


@every(
    ("series", "cause"),
    [
        ({"rock_force": ROCK, "stop_force": STOP, "gas_volume": OUT, "spare_load": -1.0}, "rock"),
        ({"stop_force": STOP, "gas_volume": OUT, "spare_load": -1.0}, "at_stop"),
        ({"gas_volume": OUT, "spare_load": -1.0}, "no_cushion"),
        ({"spare_load": -1.0}, "too_hard"),
        ({"spare_load": 0.0}, "too_hard"),
        ({"spare_load": 1.0}, "thrown"),
    ],
)
def test_the_first_cause_that_holds_counts(series, cause):
    (found,) = episodes((200, 240), **series)
    assert found.cause == cause


def test_too_hard_goes_by_the_mean_of_the_spare_load_within_the_episode():
    spare = np.full(STEPS, -5000.0)
    spare[200:230], spare[230:240] = 200.0, -500.0  # mean over the episode: +25
    assert episodes((200, 240), spare_load=spare)[0].cause == "thrown"
    spare[230:240] = -700.0  # mean −25
    assert episodes((200, 240), spare_load=spare)[0].cause == "too_hard"


@every(("step", "cause"), [(140, "rock"), (139, "thrown"), (239, "rock"), (240, "thrown")])
def test_a_stone_counts_in_the_episode_and_up_to_three_tenths_of_a_metre_before(step, cause):
    rock = invented.stretch(STEPS, (step, step + 1), inside=100.0, outside=0.0)
    assert episodes((200, 240), rock_force=rock)[0].cause == cause


@every(
    ("library", "length", "cause", "changes"),
    [
        ("hard_ground", 40.0, "too_hard", {}),
        ("no_cushion", 40.0, "no_cushion", {}),
        ("stony", 30.0, "rock", {}),
        ("gully", 30.0, "at_stop", {}),
        ("rough", 40.0, "too_hard", {"oil_pressure": 30e5}),
    ],
)
def test_causes_of_real_crossings(library, length, cause, changes):
    scenario = invented.short_scenario(library, length).with_settings(**changes)
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    counts = dict.fromkeys(CAUSES_IN_ORDER, 0.0)
    for episode in wheel_off_episodes(run, 0.010):
        counts[episode.cause] += episode.length
    assert counts[cause] > 0.0
    assert cause == max(counts, key=lambda name: counts[name])
