import invented
import numpy as np
import pytest

from analysis.crossing.depth import causes, depth_measures, on_depth_share
from sim.record import CAUSES
from sim.run import simulate

SET = 0.040


def test_error_statistics_of_known_depths():
    error = np.linspace(-0.010, 0.030, 401)
    m = depth_measures(invented.made_run(401, depth=SET + error), 0.010)
    assert m.mean == pytest.approx(SET + 0.010)
    assert m.error_mean == pytest.approx(0.010)
    assert m.error_sd == pytest.approx(np.sqrt(np.mean((error - 0.010) ** 2)))
    assert (m.error_p05, m.error_p95) == pytest.approx((-0.008, 0.028))


def test_share_counts_both_sides_of_the_tolerance():
    depth = SET + np.array([0.0, 0.009, 0.011, -0.009, -0.011, -0.02, 0.004, -0.004])
    run = invented.made_run(8, depth=depth)
    assert on_depth_share(run, 0.010) == pytest.approx(5 / 8)
    assert on_depth_share(run, 0.012) == pytest.approx(7 / 8)
    assert depth_measures(run, 0.010).on_depth_share == on_depth_share(run, 0.010)


def _parts(**given):
    return {name: given.get(name, 0.0) for name in CAUSES}


def test_shares_of_uncorrelated_parts_are_their_variances():
    phase = 2.0 * np.pi * np.arange(500) / 500
    shape, linkage = 0.004 * np.sin(phase), 0.002 * np.cos(3.0 * phase)
    run = invented.made_run(500, depth=SET + shape + linkage, **_parts(ground_shape=shape, linkage=linkage))
    found = causes(run)
    assert found.parts["ground_shape"].share_of_variance == pytest.approx(0.8)
    assert found.parts["linkage"].share_of_variance == pytest.approx(0.2)
    assert found.parts["lift_off"].share_of_variance == pytest.approx(0.0, abs=1e-12)
    assert found.parts["linkage"].sd == pytest.approx(0.002 / np.sqrt(2.0))
    assert found.sum_residual < 1e-15


def test_a_part_that_works_against_the_error_counts_negative_and_all_add_up():
    phase = 2.0 * np.pi * np.arange(400) / 400
    shape, squash = 0.006 * np.sin(phase) + 0.001, -0.002 * np.sin(phase)
    run = invented.made_run(400, depth=SET + shape + squash, **_parts(ground_shape=shape, tyre_and_sinkage=squash))
    found = causes(run)
    assert found.parts["ground_shape"].share_of_variance == pytest.approx(1.5)
    assert found.parts["tyre_and_sinkage"].share_of_variance == pytest.approx(-0.5)
    assert found.parts["ground_shape"].mean == pytest.approx(0.001)
    assert sum(part.share_of_variance for part in found.parts.values()) == pytest.approx(1.0)


def test_a_missing_part_shows_in_the_residual():
    run = invented.made_run(100, depth=SET + 0.003, **_parts(ground_shape=0.001))
    assert causes(run).sum_residual == pytest.approx(0.002)


def test_a_still_depth_has_no_shares():
    found = causes(invented.made_run(100, depth=SET, **_parts()))
    assert [part.share_of_variance for part in found.parts.values()] == [None] * 5


def test_shares_of_a_real_crossing_add_up_to_one():
    scenario = invented.short_scenario()
    found = causes(simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings))
    assert sum(part.share_of_variance for part in found.parts.values()) == pytest.approx(1.0, abs=1e-9)
    assert found.sum_residual < 1e-9
