"""What is gathered of all pins over a run: against numpy, in closed forms, and joined."""

from __future__ import annotations

import math

import numpy as np
import pytest
import rainflow
import swung

from analysis.crossing.loads import pin_loads
from analysis.first_run import ready
from analysis.pins.duty import gathered as of_stretch
from analysis.pins.duty.cycles import counted
from analysis.pins.duty.duty import SMOOTH, WELDED, duties, duty, duty_of, travel_per_hectare
from analysis.pins.duty.gather_loop import BLOCK, EVERY, gather
from analysis.pins.duty.gathered import SUMMED, gathered, gathered_over, joined
from analysis.pins.duty.roses import roses
from analysis.pins.duty.rotation import FIRST, PARTS_OF, SECOND, relative_rates, standing
from analysis.pins.duty.worst import DIRECTIONS, largest, spectrum, worst
from scenarios.spec import Machine
from sim.record import PINS
from sim.unit import Settings

STEP = 2e-3  # [s]
SPEED = Settings().speed
LINK = "main_lower_front"  # toolbar → link


def swing(run, loads, seconds=10.0, amplitude=0.2, frequency=1.5):
    """The main links swing by a sine."""
    time = STEP * np.arange(round(seconds / STEP))
    turn = 2.0 * math.pi * frequency
    return swung.swung(run, STEP, amplitude * np.sin(turn * time), amplitude * turn * np.cos(turn * time), loads)


def of(found, name):
    return next(one for one in found if one.name == name)


def test_sums_are_those_of_the_series(cross):
    run = cross("class D short")
    found, told = gathered(run), duty(run)
    size, rate = np.hypot(*np.moveaxis(run.pins, 2, 0)), np.abs(relative_rates(run))
    loads = pin_loads(run)
    for i, (name, one) in enumerate(zip(PINS, told, strict=True)):
        assert one.name == name
        assert (one.peak, one.rms, one.mean) == pytest.approx(tuple(loads[name]), rel=1e-12)
        turns = rate[:, i].mean() > 1e-12
        assert one.sliding == pytest.approx(rate[:, i].mean() / SPEED if turns else 0.0, rel=1e-9)
        worn = (size[:, i] * rate[:, i]).mean() / SPEED if turns else 0.0
        assert one.mean_load_times_sliding == pytest.approx(worn, rel=1e-9)
        assert one.rate_rms == pytest.approx(math.sqrt((rate[:, i] ** 2).mean()) if turns else 0.0, rel=1e-9)
        assert one.distance == found.distance == pytest.approx(run.pins.shape[0] * run.step * SPEED)


def test_cycles_are_those_of_the_components(cross):
    run = cross("class D short")
    found = gathered(run)
    force, lines = run.pins[:, :, 0] + 1j * run.pins[:, :, 1], standing(run).lines
    for i in (0, 3, 5, 9, 13):
        own = force[:, i] * np.conj(lines[:, SECOND[i]])
        for direction, count in zip(DIRECTIONS, found.counted[i], strict=True):
            right = counted((own * np.exp(-1j * direction)).real)
            np.testing.assert_allclose(count.left_over, right.left_over, atol=1e-8)
            np.testing.assert_allclose(count.numbers[1:], right.numbers[1:], atol=0)
            np.testing.assert_allclose(count.sizes, right.sizes, rtol=1e-9, atol=1e-3)


def test_roses_are_the_directions_of_the_forces(cross):
    run = cross("class D short")
    found = gathered(run)
    force, lines, rate = run.pins[:, :, 0] + 1j * run.pins[:, :, 1], standing(run).lines, np.abs(relative_rates(run))
    for i in (0, 2, 5, 13):
        for side, (parts, sign) in enumerate(((FIRST, -1.0), (SECOND, 1.0))):
            own = sign * force[::EVERY, i] * np.conj(lines[::EVERY, parts[i]])
            sector = ((np.degrees(np.angle(own)) + 5.0) % 360.0 // 10.0).astype(int)
            np.testing.assert_allclose(found.rose_time[i, side] / (EVERY * run.step), np.bincount(sector, minlength=36))
            worn = np.bincount(sector, np.abs(own) * rate[::EVERY, i], 36)
            np.testing.assert_allclose(found.rose_worn[i, side] / (EVERY * run.step), worn, rtol=1e-9, atol=1e-9)


def test_a_link_that_swings_slides_four_amplitudes_a_swing(cross):
    found = duty(swing(cross("flat"), {LINK: 3000.0}, amplitude=0.2, frequency=1.5))
    one = of(found, LINK)
    slid = 4.0 * 0.2 * 1.5 / SPEED
    assert one.sliding == pytest.approx(slid, rel=1e-4)
    assert one.mean_load_times_sliding == pytest.approx(3000.0 * slid, rel=1e-4)
    assert one.rate_rms == pytest.approx(0.2 * 2.0 * math.pi * 1.5 / math.sqrt(2.0), rel=1e-6)
    assert (one.peak, one.rms, one.mean) == pytest.approx((3000.0,) * 3)
    for still in ("crank", "gauge_arm", "press_arm"):
        assert (of(found, still).sliding, of(found, still).mean_load_times_sliding) == (0.0, 0.0)


def test_a_load_that_goes_round_gives_an_even_rose_and_the_same_cycles_in_every_direction(cross):
    times = 40 * 36  # whole turns, so that all sectors are met as often
    n = EVERY * times
    turning = 2000.0 * np.exp(1j * (2.0 * math.pi * 40 * (np.arange(n) + 0.5) / n))
    run = swung.swung(cross("flat"), STEP, np.zeros(n), np.zeros(n), {"gauge_arm": turning})
    found = gathered(run)
    for rose in roses(found, "gauge_arm"):
        np.testing.assert_allclose(rose.time, 1.0 / 36.0, rtol=0.03)
        assert not rose.worn.any()  # nothing turns
    most = worst(found, "gauge_arm", WELDED)
    assert most.equivalent == pytest.approx(4000.0 * (40.0 / found.distance) ** (1.0 / 3.0), rel=0.02)
    assert most.cycles_per_m * found.distance == pytest.approx(40.0, abs=1.0)


@pytest.mark.parametrize("degrees", [0.0, 30.0, 77.0, 90.0, 150.0])
def test_a_load_along_one_line_is_worst_along_it(cross, degrees):
    """Reversals that the size hides: ±2 kN counts as a range of 4 kN, along whatever line."""
    n, line = 6000, np.exp(1j * math.radians(degrees))
    along = 2000.0 * np.sin(2.0 * math.pi * 60 * np.arange(n) / n)
    # the carrier's own line runs forward
    run = swung.swung(cross("flat"), STEP, np.zeros(n), np.zeros(n), {"main_lower_rear": along * line})
    found = gathered(run)
    for slope in (WELDED, SMOOTH):
        most = worst(found, "main_lower_rear", slope)
        assert math.degrees(most.direction) == pytest.approx(degrees, abs=0.01)
        assert most.equivalent == pytest.approx(4000.0 * (60.0 / found.distance) ** (1.0 / slope), rel=0.005)
    told = spectrum(found, "main_lower_rear", math.radians(degrees))
    assert told.ranges[0] == pytest.approx(4000.0, rel=1e-3)
    assert told.per_metre[-1] * found.distance == pytest.approx(60.5, abs=1.0)


def test_the_first_part_feels_the_force_the_other_way(cross):
    run = swing(cross("flat"), {LINK: 3000.0j})
    first, second = roses(gathered(run), LINK)
    assert (first.part, second.part) == PARTS_OF[LINK]
    assert first.time[27] == pytest.approx(1.0)  # straight down on the toolbar, whatever the link does
    # the link swings by 0.2 rad = 11.5° about the line that runs to the rear: a pull up is 90° behind it
    assert second.time[:26].sum() == 0.0
    assert second.time[26:29].sum() == pytest.approx(1.0)
    assert second.worn.sum() == pytest.approx(1.0)


def test_the_largest_of_three_directions():
    for degrees in range(0, 180, 7):
        at = math.radians(degrees)
        sizes = 5.0 * np.abs(np.cos(DIRECTIONS - at))  # along one line
        direction, size = largest(sizes)
        assert (math.degrees(direction), size) == pytest.approx((degrees, 5.0), abs=1e-6)
        ellipse = np.hypot(5.0 * np.cos(DIRECTIONS - at), 2.0 * np.sin(DIRECTIONS - at))
        assert largest(ellipse)[1] == pytest.approx(5.0)
    assert largest(np.zeros(3)) == (0.0, 0.0)
    assert largest(np.array([1.0, 0.1, 0.1]))[1] == pytest.approx(1.0, rel=0.02)


@pytest.mark.parametrize("pin", ["main_upper_front", "cylinder_arm", "press_arm"])
def test_the_worst_direction_is_that_of_a_search(cross, pin):
    """The largest of twelve directions counted by the package `rainflow`; the size of the load hides reversals."""
    run = cross("class D short")
    found, i = gathered(run), PINS.index(pin)
    own = (run.pins[:, i, 0] + 1j * run.pins[:, i, 1]) * np.conj(standing(run).lines[:, SECOND[i]])

    def searched(values, slope):
        return sum(n * size**slope for size, _, n, *_ in rainflow.extract_cycles(values)) ** (1.0 / slope)

    for slope in (WELDED, SMOOTH):
        most = max(searched((own * np.exp(-1j * np.pi * k / 12.0)).real.tolist(), slope) for k in range(12))
        scaled = worst(found, pin, slope).equivalent * found.distance ** (1.0 / slope)
        assert scaled == pytest.approx(most, rel=0.02)
        if pin == "main_upper_front":
            assert searched(np.abs(own).tolist(), slope) < 0.8 * most


@pytest.mark.parametrize("at", [1, 2, BLOCK - 1, BLOCK, BLOCK + 1, 1000])
def test_two_pieces_joined_are_the_whole(cross, at):
    run = swung.cut(cross("class D short"), 0, 4 * 500)
    whole = gathered(run)
    pieces = joined([gathered(swung.cut(run, 0, at)), gathered(swung.cut(run, at, 2000))])
    for one, both in zip(whole.counted, pieces.counted, strict=True):
        for a, b in zip(one, both, strict=True):
            np.testing.assert_array_equal(a.closed, b.closed)
            np.testing.assert_array_equal(a.numbers, b.numbers)
            np.testing.assert_array_equal(a.left_over, b.left_over)
            np.testing.assert_allclose(a.sizes, b.sizes, rtol=1e-12)
    for name in SUMMED:
        if not name.startswith("rose") or at % EVERY == 0:  # roses take every fourth step of each piece
            np.testing.assert_allclose(getattr(whole, name), getattr(pieces, name), rtol=1e-10, atol=1e-12)
    np.testing.assert_allclose(whole.peak, pieces.peak, rtol=5e-3)  # a peak between the steps of two pieces is not seen


def test_runs_one_after_the_other(cross):
    run = cross("class D short")
    twice = duty_of(iter([run, run]))
    once = duty(run)
    for a, b in zip(once, twice, strict=True):
        assert b.distance == 2.0 * a.distance
        assert (b.peak, b.rms, b.mean) == pytest.approx((a.peak, a.rms, a.mean))
        assert (b.sliding, b.mean_load_times_sliding) == pytest.approx((a.sliding, a.mean_load_times_sliding))
        assert b.equivalent >= a.equivalent * (1.0 - 1e-9)  # large half cycles of the two close
    assert duties(gathered_over([run])) == once


def test_as_many_left_over_points_as_there_are_steps(cross, monkeypatch):
    monkeypatch.setattr(of_stretch, "ROOM", BLOCK + 8)
    n = 1000
    growing = 10.0 * np.arange(n) * (-1.0) ** np.arange(n)
    run = swung.swung(cross("flat"), STEP, np.zeros(n), np.zeros(n), {"press_arm": growing})
    found = gathered(run).counted[PINS.index("press_arm")][0]
    assert found.left_over.size == n
    assert found.closed.sum() == 0


def test_rough_ground_costs_more_than_level_ground(cross):
    flat, rough = duty(cross("flat")), duty(cross("class D short"))
    for name in ("main_upper_front", LINK, "gauge_arm", "rod_front"):
        assert of(rough, name).equivalent > 10.0 * of(flat, name).equivalent
    assert of(rough, LINK).sliding > 10.0 * of(flat, LINK).sliding


def test_a_row_travels_a_hectare_over_the_width_of_the_machine():
    assert travel_per_hectare(Machine(rows=8, row_spacing=0.25)) == 5000.0


def test_the_wait_for_its_machine_code_is_told_by_its_name():
    name = f"{gather.__module__}.{gather.__name__}"
    assert ready.usual_time(name) > ready.OTHERS
    ready.is_compiled(name)  # AttributeError where there is none
