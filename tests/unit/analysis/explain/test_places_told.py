"""What is said of a place: parts that add up, a disc in the air, level ground beside a drop, what loads the wheel."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from every import every

from analysis.explain.explain import explain
from analysis.explain.figure_causes import _finding
from analysis.explain.parts import in_whole
from analysis.explain.places import ground_there, wheel_behind, worst_places
from analysis.explain.sentences import ground_words, place_sentence, squash_of, told_in_mm
from analysis.explain.wheel.load import standing
from analysis.explain.wheel.squash import squash_split
from analysis.explain.wheel.words import load_sentence
from scenarios.load import load
from sim.run import simulate

LIBRARY = ("hump", "gully", "stony", "rough", "no_cushion", "hard_ground", "bank", "patches")


def crossed(name: str, **changes):
    scenario = load(name, changes=changes)
    return simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)


def whole_numbers(text: str) -> list[int]:
    return [int(n.replace("−", "-")) for n in re.findall(r"([+−]\d+) mm (?:from|since)", text)]


@every("name", LIBRARY)
def test_the_parts_that_are_told_add_up_to_what_is_told(name):
    run = crossed(name)
    places = worst_places(run, 0.010, run.track.x_from, run.track.x_to)
    assert places
    for place in places:
        text = place_sentence(place, run)
        total = round(place.error * 1e3)
        assert sum(whole_numbers(text)) == total == sum(told_in_mm(place).values())
        if place.depth > 0:
            assert f"the slot is {abs(total)} mm too {'deep' if total > 0 else 'shallow'}" in text
        if inner := re.search(r"([+−]\d+) mm from tyre and sinkage: (.*?)(?:; [+−]|\. )", text):
            signed = [int(n.replace("−", "-")) for n in re.findall(r"([+−]\d+) ", inner[2])]
            assert sum(signed) == int(inner[1].replace("−", "-")) == squash_of(told_in_mm(place))


def test_whole_numbers_add_up_and_stay_near():
    rng = np.random.default_rng(1)
    for _ in range(200):
        values = dict(zip("abcde", rng.normal(0.0, 3.0, 5), strict=True))
        told = in_whole(values, 1.0)
        assert sum(told.values()) == round(sum(values.values()))
        assert all(abs(told[name] - value) < 1.0 for name, value in values.items())


def test_a_disc_in_the_air_is_no_slot():
    run = crossed("gully")
    place = worst_places(run, 0.010, 0.0, 40.0)[0]
    assert place.depth < -0.05
    text = place_sentence(place, run)
    assert f"the disc is out of the ground, {-place.depth * 1e3:.0f} mm above it" in text
    assert "too shallow" not in text
    made = explain(load("gully"), workers=1)
    assert _finding(made).startswith(f"Disc out of the ground, {-place.depth * 1e3:.0f} mm above it at ")
    numbers = [int(n.replace("−", "-")) for n in re.findall(r"([+−]\d+) mm from", _finding(made))]
    assert sum(numbers) == round(place.error * 1e3)


def test_level_ground_beside_a_drop_names_the_drop():
    track = load("gully").track()
    there = ground_there(track, 16.61, 0.0)
    assert abs(there.slope) < 0.03
    assert there.step == pytest.approx(-0.55, abs=0.01)
    assert there.step_at == pytest.approx(15.5, abs=0.05)
    words = ground_words(there)
    assert "nearly level there, beside a fall of 550 mm within a metre at 15.5 m" in words
    # ahead too, as far as the toolbar's front wheels
    assert "beside a fall" in ground_words(ground_there(track, 13.22, 0.0))
    assert "beside" not in ground_words(ground_there(track, 5.0, 0.0))


@every(("name", "changes"), [
    ("hump", {"settings.oil_pressure_bar": 90}), ("gully", {}), ("stony", {}), ("rough", {}),
    ("hump", {"settings.oil_pressure_bar": 60, "settings.setting": "unchanged"}),
])  # fmt: skip
def test_what_loads_the_wheel_adds_up_and_leaves_the_mass_times_its_acceleration(name, changes):
    """The inertia closes the balance; beside it stands mass × the hub's own acceleration, a channel not used for it."""
    run = crossed(name, **changes)
    set_so = standing(run)
    assert set_so.tilt == pytest.approx(0.0, abs=1e-6)  # level, arm nominal: nothing left over at the setting
    steps = np.linspace(0, run.series["depth"].size - 1, 200).astype(int)
    found = [set_so.change(int(i)) for i in steps]
    for i, change in zip(steps, found, strict=True):
        assert change.total == pytest.approx(run.series["gauge_load"][i] - run.setting.gauge_load, abs=1e-6)
    inertia, up = np.array([c.inertia for c in found]), run.series["carrier_acceleration"][steps]
    unit = run.unit
    carried = unit.carrier.mass + unit.gauge_wheel.arm_mass + unit.press_wheel.arm_mass
    moving = carried + 2.0 * unit.main_links.mass + 10.0  # links and the depth linkage at most
    level = np.abs(run.series["pitch"][steps]) < 0.02
    mass = float(inertia[level] @ up[level] / (up[level] @ up[level]))
    assert 0.9 * carried < mass < 1.1 * moving
    assert np.corrcoef(inertia[level], up[level])[0, 1] > 0.97


def test_the_gas_presses_by_its_pressure_times_area_and_lever():
    """At the hump's foot: (p − p_set) A times the cylinder's lever, from the unit's own numbers."""
    run = crossed("hump", **{"settings.oil_pressure_bar": 90})
    i = int(np.abs(run.series["depth"] - 0.040).argmax())
    gas = standing(run).change(i).gas
    th, arm = run.series["arm_angle"][i], run.unit.cylinder.arm
    x, z = run.unit.cylinder.frame
    ends = [np.hypot(-arm * np.cos(t) - x, arm * np.sin(t) - z) for t in (th - 1e-6, th + 1e-6)]
    lever = -(ends[1] - ends[0]) / 2e-6 / (run.unit.main_links.length * np.cos(th))
    area = np.pi / 4.0 * run.unit.cylinder.bore**2
    assert gas == pytest.approx((run.series["oil_pressure"][i] - 101325.0 - 90e5) * area * lever, rel=1e-6)
    assert gas > 1500.0


def test_soft_soil_is_told_apart_from_load():
    """On even soil nothing is put down to softness; the soft spots of a field are told with their strength."""
    even = crossed("hump")
    place = worst_places(even, 0.010, 0.0, 40.0)[0]
    assert place.squash.soil == 0.0
    assert place.squash.strength == 1.0
    # the load alone, at rest, gives the squash but for what is still moving
    assert abs(place.squash.moving) < 0.001
    field = crossed("rough")
    soft = worst_places(field, 0.010, 0.0, 300.0)[0]
    assert soft.squash.strength < 0.5
    assert soft.squash.soil > 0.010
    text = place_sentence(soft, field)
    assert f"from softer soil ({soft.squash.strength * 100:.0f} % of the strength when set)" in text
    assert "since the disc bears less" in text


def test_the_squash_at_the_setting_has_no_parts():
    run = crossed("hump")
    step = int(np.argmax(run.series["distance"] > 5.0))  # level ground before the hump
    split = squash_split(run, step, wheel_behind(run))
    assert split[:3] == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)


def test_causes_of_the_load_add_up_as_told():
    run = crossed("hump", **{"settings.oil_pressure_bar": 90})
    for place in worst_places(run, 0.010, 0.0, 40.0):
        text = load_sentence(place, run, why=True)
        told = [float(n.replace("−", "-")) for n in re.findall(r"([+−][\d.]+) kN", text)]
        assert sum(told) == pytest.approx(round(place.gauge_load, -1) / 1e3 - round(place.set_load, -1) / 1e3, abs=1e-9)


def test_a_wheel_as_loaded_as_when_set_needs_no_reasons():
    run = crossed("hump")
    place = worst_places(run, 0.010, 0.0, 40.0)[0]
    same = replace(place, gauge_load=place.set_load + 2.0)
    assert load_sentence(same, run, why=True) == "The gauge wheel carries 1.06 kN, as when set."
