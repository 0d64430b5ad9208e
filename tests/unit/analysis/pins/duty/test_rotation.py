"""How the parts of every pin turn against each other."""

from __future__ import annotations

import numpy as np
import pytest
import swung
from crooked import CROOKED

from analysis.pins.duty.rotation import FIRST, PARTS_OF, SECOND, relative_rates, standing
from analysis.pins.duty.stand_loop import PARTS
from sim.record import PINS
from sim.unit import Settings


def smooth(run, n=4001):
    """A quarter of a swing of the main links over 40° in fine steps, θ and its rate known in closed form."""
    step, turn = 1e-4, 2.0
    time = step * np.arange(n)
    return swung.swung(run, step, 0.35 * np.sin(turn * np.pi * time), 0.35 * turn * np.pi * np.cos(turn * np.pi * time))


def test_rates_are_the_slopes_of_the_lines(cross):
    run = smooth(cross("flat", Settings(), CROOKED))
    found = standing(run)
    np.testing.assert_allclose(np.abs(found.lines), 1.0, rtol=0.0, atol=1e-12)
    slopes = np.gradient(np.unwrap(np.angle(found.lines), axis=0), run.step, axis=0)[1:-1]
    moves = np.abs(found.rates).max(axis=0) > 0.0
    assert [part for part, moved in zip(PARTS, moves, strict=True) if not moved] == [
        "toolbar", "carrier", "crank", "press_arm",
    ]  # fmt: skip
    np.testing.assert_allclose(slopes, found.rates[1:-1], rtol=0.0, atol=2e-6)


def test_every_pin_turns_by_the_difference_of_its_parts(cross):
    run = smooth(cross("flat", Settings(), CROOKED))
    rates, found = standing(run).rates, relative_rates(run)
    assert found.shape == (run.series["arm_angle"].size, len(PINS))
    for i, pin in enumerate(PINS):
        first, second = (PARTS.index(part) for part in PARTS_OF[pin])
        assert (FIRST[i], SECOND[i]) == (first, second)
        np.testing.assert_array_equal(found[:, i], rates[:, second] - rates[:, first])
    arm = run.series["arm_rate"]
    np.testing.assert_array_equal(found[:, PINS.index("main_upper_front")], -arm)
    np.testing.assert_array_equal(found[:, PINS.index("main_lower_rear")], arm)
    # once round the loop toolbar – cylinder – lower link – toolbar the turning adds up to nothing
    loop = found[:, PINS.index("cylinder_frame")] + found[:, PINS.index("cylinder_arm")]
    np.testing.assert_allclose(loop, found[:, PINS.index("main_lower_front")], rtol=0.0, atol=1e-14)
    depth = [found[:, PINS.index(pin)] for pin in ("rod_front", "rod_rear", "turnbuckle_front", "turnbuckle_rear")]
    np.testing.assert_allclose(sum(depth), found[:, PINS.index("gauge_arm")], rtol=0.0, atol=1e-14)


def test_a_linkage_parallel_to_the_main_links_carries_the_gauge_arm_along(cross):
    run = smooth(cross("flat"))
    found = relative_rates(run)
    for pin in ("bell_crank", "turnbuckle_front", "turnbuckle_rear", "gauge_arm", "crank"):
        np.testing.assert_allclose(found[:, PINS.index(pin)], 0.0, atol=1e-12)
    np.testing.assert_allclose(found[:, PINS.index("rod_front")], -run.series["arm_rate"], atol=1e-12)


def test_the_press_arm_turns_against_the_carrier_by_its_own_angle(cross):
    run = cross("class D short")
    found = relative_rates(run)[:, PINS.index("press_arm")]
    np.testing.assert_array_equal(found, -run.series["press_rate"])
    turned = np.diff(run.series["press_angle"])
    middle = 0.5 * (found[1:] + found[:-1]) * run.step
    np.testing.assert_allclose(np.cumsum(middle), -np.cumsum(turned), atol=2e-3)


@pytest.mark.parametrize("steps", [1, 7, 8, 9])
def test_any_number_of_steps(cross, steps):
    run = swung.cut(cross("flat"), 0, steps)
    assert relative_rates(run).shape == (steps, len(PINS))
