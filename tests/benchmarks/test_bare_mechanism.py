"""The mechanism of the benchmark is the same in every engine: each comes near the reference."""

import numpy as np
import pytest

from .bare import BUMPS, LENGTH, SPEED, Bare, compiled, errors, ground, march, reference, rest, steps_of

FINEST = 5e-5  # step of the tests' reference [s]


@pytest.fixture(scope="module")
def truth():
    return {step: reference(step, FINEST) for step in (4e-3, 2e-3, 1e-3)}


def test_the_equation_left_over_holds_and_the_wheel_leaves_the_ground():
    m, n = Bare(), steps_of(1e-3)
    angles, pins = np.empty(n), np.empty((n, 4))
    residual = march(m, rest(m), 0.0, 1e-3, 8, angles, pins)
    assert residual < 1e-9 * pins.max() * m.l
    assert np.ptp(angles) > 0.2
    assert pins.min() > 0.0


def test_at_rest_nothing_moves_before_the_first_wave():
    found = compiled(1e-3)
    still = int((Bare().first_wave - Bare().wheel_x) / SPEED / 1e-3) - 1
    assert np.ptp(found.angles[:still]) < 1e-12
    assert np.ptp(found.pins[:still], axis=0).max() < 1e-6


def test_ground_is_smooth_and_as_high_as_said():
    m = Bare()
    x = np.linspace(0.0, LENGTH, 40_001)
    h, s = np.array([ground(m, at) for at in x]).T
    assert np.abs(np.gradient(h, x) - s).max() < 1e-3
    for middle in BUMPS:
        wave = 0.5 * m.waves * (1.0 - np.cos(2.0 * np.pi / m.wavelength * (middle - m.first_wave)))
        assert ground(m, middle)[0] == pytest.approx(m.bump + wave)


def test_cut_steps_come_nearer(truth):
    plain, cut = errors(compiled(4e-3, 1), truth[4e-3]), errors(compiled(4e-3, 8), truth[4e-3])
    assert cut.angle < 0.3 * plain.angle
    assert cut.series < 1e-3


def test_mujoco_finds_the_same(truth):
    from . import in_mujoco  # noqa: PLC0415

    run, found = in_mujoco.prepare(2e-3, "RK4")
    run()
    _close(errors(found(), truth[2e-3]), angle=1e-3, peak=1e-3, series=1e-3)


def test_exudyn_finds_the_same(truth):
    from . import in_exudyn  # noqa: PLC0415

    run, found = in_exudyn.prepare(2e-3)
    run()
    _close(errors(found(), truth[2e-3]), angle=1e-3, peak=1e-3, series=1e-3)


def test_pymunk_finds_the_same_nearer_with_finer_steps(truth):
    from . import in_pymunk  # noqa: PLC0415

    made = []
    for step in (2e-3, 1e-3):
        run, found = in_pymunk.prepare(step, 100)
        run()
        made.append(errors(found(), truth[step]))
    _close(made[1], angle=2e-3, peak=2e-3, series=5e-3)
    assert made[1].angle < 0.7 * made[0].angle


def _close(e, angle, peak, series):
    assert e.angle < angle
    assert e.peak < peak
    assert e.series < series
