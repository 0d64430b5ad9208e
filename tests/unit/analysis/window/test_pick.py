"""The pick rule on invented windows: pressures 30, 40, 50 … bar, speeds 5, 6, 7 … km/h."""

import json
import math
from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every
from invented import by_pressure, by_speed, window

from analysis.window.advice_document import choice_document
from analysis.window.help_words import helps
from analysis.window.limits import checks, given, margin, margins, meets, not_checked, value_text
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.sentences import nearest_sentence
from analysis.window.why_words import why as reasons
from scenarios.spec import Limits

LIMITS = Limits()


def picked(made, limits=None):
    found = choose(made, limits)
    assert isinstance(found, Pick), nearest_sentence(found)
    return round(found.oil_pressure / 1e5), round(found.speed * 3.6)


def test_highest_speed_at_which_some_pressure_meets_every_limit():
    share = np.full((3, 4, 1), 0.95)
    share[:, 3] = 0.89
    share[0, 2] = share[2, 2] = 0.85  # at 7 km/h only 40 bar is left
    assert picked(window((3, 4, 1), on_depth_share=share)) == (40, 7)


def test_speed_goes_before_room():
    share = np.full((2, 2, 1), 0.99)
    share[:, 1] = 0.901
    assert picked(window((2, 2, 1), on_depth_share=share))[1] == 6


def test_at_that_speed_the_largest_smallest_margin_wins():
    load = by_pressure(210.0, 216.0, 220.0, 1190.0)  # margins 0.05, 0.08, 0.10, 0.008; on-depth share 0.11 throughout
    assert picked(window((4, 1, 2), gauge_load_mean=load, on_depth_share=0.999)) == (50, 5)
    off = by_pressure(0.001, 0.019, 0.0194, 0.001)  # 0.95, 0.05, 0.03, 0.95: now the two in the middle have less
    assert picked(window((4, 1, 2), gauge_load_mean=load, on_depth_share=0.999, wheel_off_share=off)) == (30, 5)


def test_ties_go_to_the_lower_pressure():
    assert picked(window((5, 2, 3))) == (30, 6)
    share = by_pressure(0.93, 0.96, 0.96, 0.94)
    assert picked(window((4, 1, 1), on_depth_share=share)) == (40, 5)


def test_a_value_on_its_limit_meets_it_and_the_next_number_does_not():
    assert picked(window((1, 1, 1), on_depth_share=0.90, wheel_off_share=0.02, gauge_load_mean=1200.0)) == (30, 5)
    for wrong in (
        {"on_depth_share": math.nextafter(0.90, 0)},
        {"wheel_off_share": math.nextafter(0.02, 1)},
        {"gauge_load_mean": math.nextafter(1200.0, 2000)},
        {"gauge_load_mean": math.nextafter(200.0, 0)},
    ):
        assert isinstance(choose(window((1, 1, 1), **wrong)), Nearest)


def test_every_seed_has_to_meet_every_limit():
    share = np.full((2, 1, 3), 0.95)
    share[0, 0, 2] = 0.89  # 30 bar fails in seed 3, though its mean is 0.93
    made = window((2, 1, 3), on_depth_share=share)
    assert meets(made, LIMITS)[:, 0].tolist() == [False, True]
    assert picked(made.only_seed(0)) == (30, 5)
    off = np.zeros((1, 1, 3))
    off[0, 0, 1] = 0.03
    assert not meets(window((1, 1, 3), wheel_off_share=off), LIMITS).any()
    assert checks(made, LIMITS, 0, 0)[0].seed == 3


def test_limits_not_given_are_not_checked():
    made = window((2, 1, 1), pin_peak=1e9, pressure_max=1e9, breakouts=1e6)
    assert picked(made) == (30, 5)
    assert not_checked(LIMITS) == ["peak pin load", "highest gas pressure", "breakouts"]
    more = [limit.name for limit, _ in given(replace(LIMITS, pin_peak_max=2e4))]
    assert set(more) - {limit.name for limit, _ in given(LIMITS)} == {"pin_peak_max"}


@every(
    ("limit", "grid", "values"),
    [
        ("pin_peak_max", "pin_peak", (21e3, 19e3)),
        ("gas_pressure_max", "pressure_max", (21e3, 19e3)),
    ],
)
def test_limits_that_are_given_are_checked(limit, grid, values):
    made = window((2, 1, 1), **{grid: by_pressure(*values)})
    assert picked(made, replace(LIMITS, **{limit: 20e3})) == (40, 5)


def test_margins_are_shares_of_their_limits():
    assert margin(0.945, 0.90, True) == pytest.approx(0.05)
    assert margin(0.015, 0.02, False) == pytest.approx(0.25)
    assert margin(900.0, 1200.0, False) == pytest.approx(0.25)
    assert margin(100.0, 200.0, True) == pytest.approx(-0.5)
    values = {"on_depth_share": 0.945, "wheel_off_share": 0.015, "gauge_load_mean": 900.0}
    found = margins(window((1, 1, 1), **values, precharge_share=0.72, gas_squeeze=3.0), LIMITS)
    assert {name: float(value[0, 0]) for name, value in found.items()} == pytest.approx(
        {
            "on_depth_share_min": 0.05,
            "wheel_off_share_max": 0.25,
            "gauge_load_min": 3.5,
            "gauge_load_max": 0.25,
            "precharge_share_max": 0.2,
            "gas_squeeze_max": 0.25,
        }
    )


def test_a_limit_of_zero():
    assert margin(0.0, 0.0, False) == 0.0
    assert margin(0.001, 0.0, False) == -1.0
    assert margin(0.3, 0.0, True) == math.inf
    assert picked(window((1, 1, 1), wheel_off_share=0.0), replace(LIMITS, wheel_off_share_max=0.0)) == (30, 5)


def test_counts_are_held_at_the_upper_end_of_their_interval_over_all_seeds():
    limits = replace(LIMITS, breakouts_per_km_max=8.0)
    # 3 seeds × 300 m: counts of 1, 0, 1 → upper end 7.22/0.9 = 8.03 per km; 1, 0, 0 → 5.57/0.9 = 6.19 per km
    counts = np.zeros((2, 1, 3))
    counts[0, 0], counts[1, 0] = (1, 0, 1), (1, 0, 0)
    made = window((2, 1, 3), breakouts=counts)
    assert meets(made, limits)[:, 0].tolist() == [False, True]
    check = next(c for c in checks(made, limits, 0, 0) if c.limit.unit == "km")
    assert check.value == pytest.approx(7.2247 / 0.9, rel=1e-4)
    assert "upper end of the 95 % interval" in check.sentence()


def test_too_little_ground_for_a_count_is_told_and_the_other_limits_decide_what_is_nearest():
    limits = replace(LIMITS, breakouts_per_km_max=2.0)
    made = window((3, 2, 2), on_depth_share=by_pressure(0.8, 0.97, 0.93))  # 0.6 km: none gives up to 6.1 per km
    found = choose(made, limits)
    assert isinstance(found, Nearest)
    assert (round(found.oil_pressure / 1e5), round(found.speed * 3.6)) == (40, 6)
    (note,) = found.notes
    assert "0.6 km of row is too little ground" in note
    assert "at least 1.84 km" in note
    longer = window((3, 2, 2), on_depth_share=by_pressure(0.8, 0.97, 0.93), distance=1000.0)
    assert picked(longer, limits) == (40, 6)
    assert choose(longer, limits).notes == ()


def test_oil_pressure_that_cannot_be_had_is_not_picked():
    made = window((4, 1, 1), on_depth_share=by_pressure(0.91, 0.92, 0.95, 0.99))
    assert picked(made) == (60, 5)
    assert picked(made, replace(LIMITS, max_oil_pressure=50e5)) == (50, 5)


def test_a_depth_that_cannot_be_set_and_a_crossing_that_failed_are_not_picked():
    made = window((3, 1, 2), on_depth_share=by_pressure(0.99, 0.98, 0.92))
    assert picked(made) == (30, 5)
    reached = np.ones((3, 1, 2))
    reached[0, 0, 1] = 0.0
    assert picked(replace(made, grids={**made.grids, "reached": reached})) == (40, 5)
    lost = {name: grid.copy() for name, grid in made.grids.items()}
    for grid in lost.values():
        grid[0, 0, 1] = np.nan
    gone = replace(made, grids=lost, problems={(0, 0, 1): "the arm broke"})
    assert picked(gone) == (40, 5)
    only = replace(
        gone, pressures=gone.pressures[:1], grids={name: grid[:1] for name, grid in lost.items()}
    )  # fmt: skip
    found = choose(only)
    assert isinstance(found, Nearest)
    assert "the arm broke" in nearest_sentence(found)
    json.dumps(choice_document(only, found), allow_nan=False)


def test_another_depth_tolerance_than_the_windows_is_refused():
    with pytest.raises(ValueError, match="search again"):
        choose(window((1, 1, 1)), replace(LIMITS, depth_tolerance=0.02))


# --- why --------------------------------------------------------------------------------------------------------


def why(made, limits=None):
    asked = made if limits is None else replace(made, limits=limits)
    found = choose(asked)
    assert isinstance(found, Pick)
    return reasons(asked, found)


def test_why_names_the_limit_that_binds_each_way():
    made = window(
        (3, 2, 1),
        on_depth_share=by_speed(0.95, 0.871),
        wheel_off_share=by_pressure(0.034, 0.01, 0.0),
        gauge_load_mean=by_pressure(500.0, 800.0, 1310.0),
    )
    faster, lower, higher = why(made)
    assert faster.startswith("Faster: 6 km/h fails at every pressure tried; nearest is 40 bar: on-depth share 87 %")
    assert faster.endswith("on-depth share 87 % (ground 1) against at least 90 %.")
    assert lower == "Lower: 30 bar fails: wheel-off share 3 % (ground 1) against at most 2 %."
    assert higher == "Higher: 50 bar fails: mean gauge load 1310 N (ground 1) against at most 1200 N."


def test_why_changes_with_the_numbers():
    def lower(share, limit=0.02):
        made = window(
            (3, 1, 1), wheel_off_share=by_pressure(share, 0.01, 0.01), on_depth_share=by_pressure(0.95, 0.99, 0.95)
        )
        return why(made, replace(LIMITS, wheel_off_share_max=limit))[1]

    assert "wheel-off share 7 % (ground 1) against at most 2 %" in lower(0.07)
    assert "wheel-off share 12 % (ground 1) against at most 3.5 %" in lower(0.12, 0.035)
    assert "30 bar meets every limit too, with less room" in lower(0.01)


def test_a_value_near_its_limit_is_written_so_that_they_differ():
    made = window((2, 1, 1), on_depth_share=by_pressure(0.95, 0.8996))
    assert "on-depth share 89.96 % (ground 1) against at least 90 %" in why(made)[1] + why(made)[2]
    assert "on-depth share 89.96 % (ground 1) against at least 90 %" in nearest_sentence(
        nearest(window((1, 1, 1), on_depth_share=0.8996))
    )


def test_why_tells_where_the_search_ends():
    faster, lower, _ = why(window((2, 2, 1)))
    assert faster == "Faster: 6 km/h is the fastest speed tried; faster was not looked at."
    assert lower == "Lower: 30 bar is the lowest pressure tried; lower was not looked at."
    higher = why(window((2, 2, 1), on_depth_share=by_pressure(0.91, 0.95)))[2]
    assert higher == "Higher: 40 bar is the highest pressure tried; higher was not looked at."


def test_why_of_a_single_setting_tells_that_nothing_else_was_tried():
    assert why(window((1, 1, 1))) == (
        "Faster: only 5 km/h was tried.", "Lower: only 30 bar was tried.", "Higher: only 30 bar was tried."
    )  # fmt: skip
    faster = why(window((1, 2, 1), on_depth_share=by_speed(0.95, 0.85)))[0]
    assert faster == "Faster: at 6 km/h 30 bar fails: on-depth share 85 % (ground 1) against at least 90 %."


def test_why_tells_a_neighbour_that_meets_every_limit_with_less_room():
    lower, higher = why(window((5, 1, 1), on_depth_share=by_pressure(0.91, 0.92, 0.97, 0.93, 0.91)))[1:]
    assert "40 bar meets every limit too, with less room: on-depth share 92 %" in lower
    assert "all pressures tried down to the lowest meet every limit" in lower
    assert "60 bar meets every limit too, with less room: on-depth share 93 %" in higher


def test_why_tells_a_tie_as_no_more_room():
    higher = why(window((2, 1, 1)))[2]
    assert "40 bar meets every limit too, with no more room" in higher


def test_why_of_the_next_speed_tells_the_pressure_that_comes_nearest():
    share = np.full((3, 2, 1), 0.95)
    share[:, 1, 0] = (0.5, 0.6, 0.88)
    share[2, 0] = 0.93
    faster = why(window((3, 2, 1), on_depth_share=share))[0]
    assert "(30 bar: on-depth share 50 %" in faster
    assert "nearest is 50 bar: on-depth share 88 %" in faster


def test_why_tells_a_pressure_that_cannot_be_had():
    higher = why(
        window((3, 1, 1), on_depth_share=by_pressure(0.91, 0.95, 0.99)), replace(LIMITS, max_oil_pressure=40e5)
    )[2]
    assert higher == "Higher: 50 bar cannot be chosen: above the highest oil pressure that may be set, 40 bar."


# --- nearest ----------------------------------------------------------------------------------------------------


def nearest(made, limits=None):
    found = choose(made, limits)
    assert isinstance(found, Nearest)
    return found


def test_nearest_is_where_the_worst_limit_fails_least():
    share = np.full((2, 3, 1), 0.70)
    share[1, 1] = 0.86
    found = nearest(window((2, 3, 1), on_depth_share=share))
    assert (round(found.oil_pressure / 1e5), round(found.speed * 3.6)) == (40, 6)
    assert [check.limit.name for check in found.failing] == ["on_depth_share_min"]
    assert "on-depth share 86 % (ground 1) against at least 90 %" in nearest_sentence(found)


def test_nearest_prefers_the_higher_speed_then_the_lower_pressure():
    found = nearest(window((3, 3, 1), on_depth_share=0.8))
    assert (round(found.oil_pressure / 1e5), round(found.speed * 3.6)) == (30, 7)


def test_what_would_help_comes_from_the_neighbours():
    # higher pressure eases the wheel-off share but then the gauge load fails; slower eases it too
    made = window(
        (2, 2, 1),
        wheel_off_share=by_pressure(0.022, 0.001) * by_speed(0.95, 1.0),
        gauge_load_mean=by_pressure(900.0, 1500.0),
    )
    said = " ".join(helps(made, nearest(made)))
    assert (
        "Higher pressure (40 bar at 5 km/h): wheel-off share from 2.1 % to 0.1 %, but there mean gauge load 1500 N"
        in said
    )
    assert "Slower than 5 km/h, where the search ends: wheel-off share still improves that way." in said
    assert "30 bar at 5 km/h would do if the limits were: wheel-off share at most 2.1 %." in said
    assert "Wheel-off share at most 2.0 % is met up to 6 km/h (40 bar at 6 km/h)" in said


def test_a_limit_that_is_met_nowhere_is_told_with_the_best_value():
    share = by_pressure(0.70, 0.82, 0.80)
    made = window((3, 1, 1), on_depth_share=share)
    said = " ".join(helps(made, nearest(made)))
    assert "On-depth share at least 90.0 % is met nowhere in this search; best is 82 % (40 bar at 5 km/h)." in said


def test_eased_limits_are_rounded_to_the_side_that_is_met():
    made = window((1, 1, 1), on_depth_share=0.85678, gauge_load_mean=1200.4)
    last = helps(made, nearest(made))[-1]
    assert "on-depth share at least 85.6 %" in last
    assert "mean gauge load at most 1201 N" in last


def test_json_forms_hold_plain_numbers():
    for made in (window((2, 2, 2)), window((2, 2, 2), on_depth_share=0.5)):
        least = 0.0 if made.grids["on_depth_share"][0, 0, 0] > 0.9 else 0.9
        asked = replace(made, limits=replace(LIMITS, on_depth_share_min=least))
        found = choose(asked)
        document = choice_document(asked, found)
        json.dumps(document, allow_nan=False)
        assert document["oil_pressure_bar"] == pytest.approx(found.oil_pressure / 1e5)
        assert document["depth_setting_change_mm"] == pytest.approx(1.0)
    open_ = replace(window((1, 1, 1)), limits=replace(LIMITS, on_depth_share_min=0.0))
    assert choice_document(open_, choose(open_))["margins"]["on_depth_share_min"] is None


def test_value_texts():
    assert [value_text(0.873, "share"), value_text(845.2, "N"), value_text(93.1e5, "bar"), value_text(4.1, "km")] == [
        "87.3 %",
        "845 N",
        "93.1 bar",
        "4.1 per km",
    ]


def test_invented_window_is_as_the_tests_take_it():
    made = invented.window((2, 2, 2))
    assert meets(made, LIMITS).all()
