"""The hard profile of the stones: where it can be touched, and how smoothly it reads."""

from __future__ import annotations

import numpy as np
import pytest
import synthetic_ground

from sim.laws.contact import read_table
from sim.laws.envelope import envelope
from sim.laws.hard_profile import hard_profile
from sim.track import NO_STONE, flat_track


def test_hard_profile_without_stones_is_out_of_reach():
    rng = np.random.default_rng(3)
    ground = np.cumsum(rng.normal(0.0, 0.003, 300)) + np.where(np.arange(300) > 150, 0.4, 0.0)
    hard, which = hard_profile(ground, np.full(300, NO_STONE), np.full(300, -1, dtype=np.int32), 0.005, 0.28)
    assert hard.max() < ground.min() - 0.28 - 0.9
    assert (which == -1).all()


def test_beside_stones_the_hard_profile_falls_away_and_stays_there():
    """Its envelope ends a disc's radius before and behind the stone; from there it falls by 10 on 1, at a wall too."""
    track = synthetic_ground.named("one stone")
    wall = np.where(track.x > 4.6, 0.4, 0.0)
    for ground in (track.ground, wall):
        hard, _ = hard_profile(ground, track.stone_top, track.stone_id, track.dx, 0.28)
        off = np.abs(track.x - 4.0) - 0.15 - 0.28  # beyond the envelope's end [m]
        ends = hard[(off > -0.01) & (off < 0.0)].max()
        assert ends < 0.03 - 0.09 - 0.28 + 0.1
        beyond = off > 0.0051
        assert (hard[beyond] <= np.maximum(ends - 10.0 * (off[beyond] - 0.005), ground.min() - 1.28) + 1e-9).all()
        assert hard[off > 0.2].max() < ground.min() - 1.0
        # ... and stays: it falls no further than a disc's radius and a metre below the lowest ground
        lowest = min(ground.min(), track.stone_top[track.stone_id >= 0].min()) - 1.28
        assert hard.min() == pytest.approx(lowest, abs=1e-12)
        assert hard[off > 1.0] == pytest.approx(lowest, abs=1e-12)
        fine = np.linspace(3.3, 4.7, 2801)
        table = np.repeat(hard[None], 7, axis=0)
        read = np.array([read_table(table, 2, track.x0, 1.0 / track.dx, x)[0] for x in fine])
        # nowhere does the reading between samples pass the samples around it by more than 2 mm
        cell = ((fine - track.x0) / track.dx).astype(int)
        assert (read <= np.maximum(hard[cell], hard[cell + 1]) + 0.002).all()


def test_the_envelope_of_a_stone_runs_smoothly_between_samples():
    """Against one of a stone and a circle sampled twenty times as finely: heights to 3 µm, slopes to 0.3 %."""
    track = synthetic_ground.named("one stone")
    hard, _ = hard_profile(track.ground, track.stone_top, track.stone_id, track.dx, 0.28)
    fine = synthetic_ground.with_stone(flat_track(12.0, synthetic_ground.FIRM, dx=0.00025), 4.0, 0.30, 0.030)
    exact = envelope(fine.stone_top, fine.dx, 0.28)[::20]
    flank = (np.abs(track.x - 4.0) > 0.01) & (np.abs(track.x - 4.0) < 0.25)
    assert np.abs(hard - exact)[flank].max() < 3e-6
    slopes = np.gradient(hard, track.dx)[flank] / np.gradient(exact, track.dx)[flank]
    assert np.abs(slopes - 1.0).max() < 0.003


def test_hard_profile_carries_the_envelope_and_the_number_of_the_stone():
    track = synthetic_ground.named("one stone")
    hard, which = hard_profile(track.ground, track.stone_top, track.stone_id, track.dx, 0.28)
    env = envelope(track.stone_top, track.dx, 0.28)
    near = np.abs(track.x - 4.0) < 0.15 + 0.28 - 0.001
    assert (hard[near] >= env[near]).all()
    near = np.abs(track.x - 4.0) < 0.1
    assert (hard[near] <= env[near] + 3e-5).all()  # what a disc of 0.28 m touches between samples 5 mm apart
    near = env > -8.0
    assert (which[near] == 0).all()
    assert (which[~near] == -1).all()
    assert hard.max() == pytest.approx(0.030, abs=1e-9)


def test_two_stones_each_keep_their_number():
    track = synthetic_ground.with_stone(synthetic_ground.named("one stone"), 7.0, 0.2, 0.01, number=5)
    _, which = hard_profile(track.ground, track.stone_top, track.stone_id, track.dx, 0.28)
    at = [int(np.argmin(np.abs(track.x - x))) for x in (4.0, 7.0)]
    assert [int(which[i]) for i in at] == [0, 5]
