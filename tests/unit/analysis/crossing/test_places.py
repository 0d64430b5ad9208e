"""Metres at one place and the worst of a crossing, on series with known answers."""

import invented
import numpy as np
import pytest

from analysis.crossing.events import PLACE
from analysis.crossing.measures import MEASURES
from analysis.crossing.one_run import measure
from analysis.crossing.places import at_one_place
from analysis.crossing.summary import run_summary
from scenarios.load import load

TRAVEL = 0.005
APART = round(PLACE / TRAVEL)  # steps
TOLERANCE = 0.010


def bad(steps, *parts):
    return invented.stretch(steps, *parts, inside=1.0, outside=0.0) > 0.0


def test_stretches_near_each_other_are_one_place_and_the_worst_place_counts():
    near = bad(4000, (100, 140), (240, 300))
    assert at_one_place(near, TRAVEL) == pytest.approx(100 * TRAVEL)
    far = bad(4000, (100, 140), (240, 300), (3000, 3090))
    assert at_one_place(far, TRAVEL) == pytest.approx(100 * TRAVEL)
    assert at_one_place(np.zeros(50, dtype=bool), TRAVEL) == 0.0
    assert at_one_place(np.ones(50, dtype=bool), TRAVEL) == pytest.approx(50 * TRAVEL)


def test_a_place_ends_where_more_than_the_distance_lies_between():
    for between, together in ((APART, True), (APART + 1, False)):
        steps = bad(3 * APART, (10, 30), (30 + between, 55 + between))
        assert at_one_place(steps, TRAVEL) == pytest.approx((45 if together else 25) * TRAVEL)


def test_flat_ground_before_and_behind_and_more_places_change_nothing():
    feature = (np.arange(400) % 100) < 37
    flat = np.zeros(3 * APART, dtype=bool)
    alone = at_one_place(feature, TRAVEL)
    assert alone == pytest.approx(4 * 37 * TRAVEL)
    assert at_one_place(np.concatenate([flat, feature, flat]), TRAVEL) == alone
    assert at_one_place(np.concatenate([feature, flat, feature, flat, feature]), TRAVEL) == alone


def test_the_worst_of_a_run_made_by_hand():
    depth = np.full(600, 0.040)
    depth[100:150] = 0.040 + 0.024  # too deep by 24 mm over 0.25 m, then too shallow by 30 mm over 0.10 m
    depth[200:220] = 0.040 - 0.030
    load_on_wheel = invented.stretch(600, (200, 230), inside=0.0, outside=700.0)
    load_on_wheel[120] = 3210.0
    run = invented.made_run(depth=depth, gauge_load=load_on_wheel)
    m = measure(run, TOLERANCE)
    found = {name: MEASURES[name].run(m) for name in (
        "error_max", "error_min", "too_deep", "too_shallow", "off_depth_at_one_place", "wheel_off_at_one_place",
        "gauge_load_peak",
    )}  # fmt: skip
    assert found == pytest.approx({
        "error_max": 0.024, "error_min": -0.030, "too_deep": 0.6, "too_shallow": 0.75,
        "off_depth_at_one_place": 0.35, "wheel_off_at_one_place": 0.15, "gauge_load_peak": 3210.0,
    })  # fmt: skip
    document = run_summary(run, load("hump"))
    assert document["depth"]["error_max_mm"] == pytest.approx(24.0)
    assert document["depth"]["error_min_mm"] == pytest.approx(-30.0)
    assert document["depth"]["off_depth_at_one_place_m"] == pytest.approx(0.35)
    assert document["gauge_load"]["wheel_off_at_one_place_m"] == pytest.approx(0.15)
    assert document["gauge_load"]["peak_N"] == pytest.approx(3210.0)


def test_an_error_on_one_side_only_is_none_on_the_other():
    m = measure(invented.made_run(depth=np.full(600, 0.043)), TOLERANCE)
    assert MEASURES["too_shallow"].run(m) == 0.0
    assert MEASURES["too_deep"].run(m) == pytest.approx(0.075)
