"""simulate(): what it keeps, what it warns of, and the errors that name time, place and remedy."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground

from sim.errors import LinkageError, RunError
from sim.ground_tables import ground_tables
from sim.record import CAUSES, CHANNELS, PINS
from sim.run import simulate
from sim.track import flat_track
from sim.unit import Accumulator, Carrier, DepthLinkage, Settings, Soil, Unit


def test_series_and_pins_have_one_length_and_stay_in_the_measured_stretch(cross):
    run = cross("class D")
    n = run.series["depth"].size
    assert set(run.series) == {c.name for c in CHANNELS}
    assert all(s.shape == (n,) for s in run.series.values())
    assert run.pins.shape == (n, 14, 2)
    assert run.actuator.shape == (n,)
    distance = run.series["distance"]
    assert distance[0] == pytest.approx(run.track.x_from, abs=0.1)
    assert distance[-1] == pytest.approx(run.track.x_to, abs=0.1)
    assert (np.diff(distance) > 0.0).all()
    assert np.diff(run.series["time"]) == pytest.approx(run.step, rel=1e-9)


def test_pin_load_is_the_size_of_a_reaction(cross):
    run = cross("class D")
    for name in PINS:
        x, z = run.pins[:, PINS.index(name)].T
        assert run.pin_load(name) == pytest.approx(np.sqrt(x**2 + z**2))


def test_cylinder_passes_its_force_through(cross):
    run = cross("class D")
    assert np.array_equal(run.pin_load("cylinder_frame"), run.pin_load("cylinder_arm"))
    assert run.pin_load("cylinder_arm") == pytest.approx(np.abs(run.series["cylinder_force"]))


def test_the_same_run_twice_is_the_same_bit_for_bit(cross):
    run = cross("stony", Settings(speed=10 / 3.6))
    again = simulate(Unit(), Soil(), synthetic_ground.named("stony"), Settings(speed=10 / 3.6))
    assert all(np.array_equal(run.series[c.name], again.series[c.name]) for c in CHANNELS)
    assert np.array_equal(run.pins, again.pins)


def test_tables_may_be_shared(cross):
    track = synthetic_ground.named("stony")
    tables = ground_tables(Unit(), track, 0.040)
    run = simulate(Unit(), Soil(), track, Settings(speed=10 / 3.6), tables=tables)
    assert np.array_equal(run.series["depth"], cross("stony", Settings(speed=10 / 3.6)).series["depth"])


def test_whole_numbers_do_as_well_as_floats(cross):
    """A mass of 95 and one of 95.0 give the same run."""
    run = simulate(replace(Unit(), carrier=Carrier(mass=95)), Soil(), flat_track(5, 1.2e6), Settings())
    assert np.array_equal(run.series["gauge_load"], cross("flat").series["gauge_load"])


def test_causes_are_channels():
    assert set(CAUSES) < {c.name for c in CHANNELS}
    assert len(PINS) == 14


def told(run, words: str) -> bool:
    return any(words in text for text in run.warnings)


def test_warnings_say_what_a_reader_must_know(cross):
    assert cross("class D").warnings == ()
    assert told(cross("flat", Settings(oil_pressure=20e5)), "the gas gives no cushion")
    assert told(cross("flat", Settings(precharge=8e5)), "of the accumulator at the setting (below a quarter)")
    shared = replace(Unit(), accumulator=Accumulator(volume=5.6e-3, shared_by=8))
    assert told(cross("flat", unit=shared), "shared by 8 units")
    assert told(cross("flat", Settings(oil_pressure=210e5, precharge=100e5)), "range in which its equation is known")


def test_unknown_gas_is_refused():
    with pytest.raises(ValueError, match=r"gas law 'air': allowed are real, ideal"):
        simulate(Unit(), Soil(), synthetic_ground.named("flat"), Settings(gas="air"))


def test_gas_pressed_to_nothing_names_the_remedy():
    """Gas that fills 3 % of the accumulator at the setting."""
    with pytest.raises(
        RunError,
        match=r"twentieth of the accumulator at the start of the lead-in; .*; try: more settings\.precharge_bar",
    ):
        simulate(Unit(), Soil(), synthetic_ground.named("flat"), Settings(precharge=1e5))


def test_ground_that_is_too_much_names_time_place_and_arm():
    cliff = synthetic_ground.drop(height=3.0, over=0.5)
    with pytest.raises(RunError, match=r"travel stop at \d+\.\d+ s, \d\.\d+ m along the track, arm angle -?3"):
        simulate(Unit(), Soil(), cliff, Settings(speed=15 / 3.6))


def test_a_step_that_is_too_long_is_said_so():
    with pytest.raises(RunError, match=r"did not stay finite|pressed more than 6°"):
        simulate(Unit(), Soil(), synthetic_ground.named("class D short"), Settings(), step=0.1)


def test_linkage_that_does_not_close_is_refused_before_the_march():
    unit = replace(Unit(), depth_linkage=DepthLinkage(rod=0.9))
    with pytest.raises(LinkageError, match=r"rod between crank and bell crank"):
        simulate(unit, Soil(), synthetic_ground.named("flat"), Settings())


def test_a_run_that_would_not_fit_a_usual_computer_is_refused_before_it_is_marched():
    """7 km in steps of 8.3 mm is over 600 000 of them; a window, which keeps none, may be as long."""
    far = replace(flat_track(10.0, 2.0e6), x_to=7000.0)
    with pytest.raises(
        RunError, match=r"7\.\d+ km in steps of 8\.3 mm would take some 0\.9\d* GB; allowed: 5 km; try: a"
    ):
        simulate(Unit(), Soil(), far, Settings())
