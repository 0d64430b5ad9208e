"""Figures of pins: they say what was gathered, nothing is cut, and lines stay apart without colour."""

from __future__ import annotations

import math

import numpy as np
import pytest
import swung
from drawn import amiss, texts
from matplotlib.patches import Wedge

from analysis.pins.duty.figure_rose import SHOWN, pin_rose_figure, rose_figure
from analysis.pins.duty.figure_spectrum import LOOKS, finding, often, spectrum_figure
from analysis.pins.duty.gathered import gathered
from analysis.pins.duty.roses import narrowest, roses
from analysis.pins.duty.rotation import PARTS_OF
from analysis.pins.duty.worst import spectra
from analysis.present.unit_points import PIN_AT
from sim.record import PINS

UNDER = "“A rather long title of a made-up scenario”: 40 bar = 139 kgf a row, 8 km/h, set depth 40 mm, 300 m, ground 1."
TRAVEL = 5000.0  # of each row on a hectare [m]
SIX = ("main_lower_front", "main_upper_front", "cylinder_arm", "rod_front", "gauge_arm", "press_arm")


@pytest.fixture(scope="module")
def crossed(cross):
    run = cross("class D short")
    return run, gathered(run)


def said(figure):
    return " ".join(" ".join(texts(figure)).split())


def petals(axes):
    return [patch for patch in axes.patches if isinstance(patch, Wedge)]


def test_the_spectrum_says_where_half_of_the_damage_comes_from(crossed):
    _, found = crossed
    shown = spectra(found, SIX, 3.0)
    equivalents = [one.worst.equivalent for one in shown]
    assert equivalents == sorted(equivalents, reverse=True)
    figure = spectrum_figure(shown, TRAVEL, 3.0, UNDER)
    assert finding(shown[0], TRAVEL) in said(figure)
    assert "n·R³" in said(figure)
    assert amiss(figure) == []
    first, dot, diamond = figure.axes[0].lines[:3]
    np.testing.assert_allclose(first.get_xdata(), shown[0].spectrum.per_metre * TRAVEL)
    assert (diamond.get_xdata()[0], diamond.get_ydata()[0]) == (TRAVEL, shown[0].worst.equivalent / 1e3)
    below = np.interp(dot.get_xdata()[0], first.get_xdata(), first.get_ydata())
    assert dot.get_ydata()[0] == pytest.approx(below)


def test_spectra_stay_apart_without_colour():
    assert len({str(dashes) for _, dashes in LOOKS}) == len(LOOKS)


def test_a_load_that_never_changes_has_no_spectrum_to_draw(cross):
    run = swung.swung(cross("flat"), 2e-3, np.zeros(500), np.zeros(500), {"gauge_arm": 1000.0})
    shown = spectra(gathered(run), ("gauge_arm",), 3.0)
    assert (shown[0].half, shown[0].spectrum.ranges.size) == (0.0, 0)
    with pytest.raises(ValueError, match="0 pins with a load that changes"):
        spectrum_figure(shown, TRAVEL, 3.0, UNDER)


def test_half_of_the_damage_of_two_kinds_of_cycles(cross):
    """One range of 4 kN does more than 5 of 2 kN at slope 3: half of the damage is above the small ones."""
    n = 6000
    small = 1000.0 * np.sin(2.0 * math.pi * 5 * np.arange(n) / n)
    large = np.concatenate([2000.0 * np.sin(2.0 * math.pi * np.arange(n) / n), small])
    run = swung.swung(cross("flat"), 2e-3, np.zeros(2 * n), np.zeros(2 * n), {"main_lower_rear": large + 0.0j})
    (one,) = spectra(gathered(run), ("main_lower_rear",), 3.0)
    assert 2500.0 < one.half <= 4000.0
    assert one.worst.direction == 0.0


def test_how_often():
    assert [often(x) for x in (0.2, 7.1, 1234.0)] == ["less than once", "some 7 times", "some 1200 times"]


def test_roses_on_the_unit(crossed):
    run, found = crossed
    shown = {pin: roses(found, pin) for pin in SHOWN}
    figure = rose_figure(run.unit, run.setting, shown, UNDER)
    assert amiss(figure) == []
    drawn = sum(int((share > 0.0).sum()) for pair in shown.values() for share in pair[1][1:])
    assert len(petals(figure.axes[0])) == drawn
    assert "Nine tenths of the wear lie within" in said(figure)


@pytest.mark.parametrize("pin", ["main_lower_front", "rod_rear", "gauge_arm", "press_arm"])
def test_the_rose_of_one_pin(crossed, pin):
    run, found = crossed
    pair = roses(found, pin)
    figure = pin_rose_figure(run.unit, run.setting, pin, pair, UNDER)
    assert amiss(figure) == []
    for part in PARTS_OF[pin]:
        assert f"on the {part.replace('_', ' ')}" in said(figure)
    still = "do not turn against each other" in said(figure)
    assert still == (pin == "gauge_arm")
    on_unit, _, on_second = figure.axes
    assert len(petals(on_unit)) == len(petals(on_second))
    assert [w.theta1 for w in petals(on_unit)] == [w.theta1 for w in petals(on_second)]


def test_every_pin_has_a_place_in_the_drawing():
    assert set(PIN_AT) == set(PINS)


def test_narrowest_goes_round():
    shares = np.zeros(36)
    shares[[35, 0, 1]] = 0.3, 0.5, 0.2
    assert narrowest(shares, 0.8) == pytest.approx((math.radians(20.0), math.radians(355.0)))
    assert narrowest(shares, 1.0) == pytest.approx((math.radians(30.0), math.radians(360.0)))
    assert narrowest(np.zeros(36)) is None
    even = narrowest(np.full(36, 1.0 / 36.0), 0.9)
    assert even is not None
    assert even.width == pytest.approx(math.radians(330.0))
