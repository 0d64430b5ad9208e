"""The press wheel: one notch by its own moment balance, what the gauge wheel gives up, sentences from numbers."""

import json
import math
from dataclasses import replace

import invented
import numpy as np
import pytest
from drawn import amiss

from analysis.crossing.loads import wheel_load
from analysis.present.figure_style import save
from analysis.setting_up.figure_press_wheel import press_figure
from analysis.setting_up.press_wheel import MEASURES, PressWheel, notches_to_try, press_wheel, speeds_to_try
from analysis.setting_up.press_words import press_text
from scenarios.load import load
from scenarios.spec import Limits
from sim.errors import EquilibriumError
from sim.run import simulate
from sim.unit import GRAVITY


@pytest.fixture(scope="module")
def flat():
    made = load("smooth", changes={"soil.variation_cv": 0.0, "search.seeds": 1})
    made = replace(made, ground=replace(made.ground, roughness=None, features=()), x_to=made.x_from + 6.0)
    return replace(made, settings=replace(made.settings, toolbar="level"))


@pytest.fixture(scope="module")
def level(flat):
    return press_wheel(flat, [-3, 0, 3], None, 1)


@pytest.fixture(scope="module")
def rough():
    made = invented.short_scenario("rough", 40.0)
    return replace(made, search=replace(made.search, seeds=2))


@pytest.fixture(scope="module")
def crossed(rough):
    return press_wheel(rough, None, [6.0 / 3.6, 12.0 / 3.6], 1)


def test_on_flat_ground_the_arm_is_in_balance(flat, level):
    """N L (cos ψ − ρ sin ψ) = T_0 + n·notch + k(ψ − ψ_0) + m g L_c cos ψ, wheel on level ground."""
    press = flat.unit.press_wheel
    for k, notch in enumerate(level.notches):
        settings = replace(flat.settings, press_notch=notch)
        run = simulate(flat.unit, flat.soil, flat.track(), settings)
        psi = float(run.series["press_angle"].mean())
        arm = press.arm_length * (math.cos(psi) - press.rolling * math.sin(psi))
        spring = press.preload + notch * press.notch + press.spring * (psi - press.spring_angle)
        weight = press.arm_mass * GRAVITY * press.arm_centre * math.cos(psi)
        assert level.grids["press_mean"][k, 1] == pytest.approx((spring + weight) / arm, rel=1e-6)
        assert level.grids["press_sd"][k, 1] < 1e-3


def test_on_flat_ground_the_gauge_wheel_gives_up_what_the_press_wheel_takes(level):
    """The arms are level and the depth is held: vertical loads on the carrier add up to the same."""
    total = level.grids["press_mean"] + level.grids["gauge_mean"]
    assert np.ptp(total, axis=0) == pytest.approx(np.zeros(3), abs=1e-3)
    added, taken = level.per_notch
    assert added == pytest.approx(-taken, rel=1e-6)
    assert added > 30.0


def test_cells_are_the_crossings_over_the_seeds(rough, crossed):
    i, j = crossed.notches.index(-2), 0
    settings = replace(rough.settings, press_notch=-2, speed=6.0 / 3.6, setting="redone")
    runs = [simulate(rough.unit, rough.soil, rough.track(seed), settings) for seed in rough.search_seeds]
    loads = [wheel_load(run, "press_load") for run in runs]
    grids = crossed.grids
    assert grids["press_mean"][i, j] == pytest.approx(np.mean([load.mean for load in loads]))
    assert grids["press_low"][i, j] == pytest.approx(np.mean([load.p05 for load in loads]))
    both = np.concatenate([run.series["press_load"] for run in runs])
    assert grids["press_sd"][i, j] == pytest.approx(both.std(), rel=1e-3)
    assert grids["gauge_mean"][i, j] == pytest.approx(np.mean([wheel_load(run).mean for run in runs]))


def test_more_notches_more_load_and_less_bare_ground(crossed):
    assert crossed.notches == (-3, -2, -1, 0, 1, 2, 3)
    assert (np.diff(crossed.grids["press_mean"], axis=0) > 0.0).all()
    assert (np.diff(crossed.grids["gauge_mean"], axis=0) < 0.0).all()
    assert crossed.grids["press_off"][0, -1] > crossed.grids["press_off"][-1, -1]
    assert (np.diff(crossed.grids["press_sd"], axis=1) > 0.0).all()
    added, taken = crossed.per_notch
    assert 0.8 < -taken / added < 1.2


def test_the_files_own_notch_and_speed_are_among_those_tried(rough, crossed):
    i, j = crossed.own
    assert (crossed.notches[i], crossed.speeds[j]) == (0, rough.settings.speed)
    assert crossed.speeds * 3.6 == pytest.approx([6.0, 8.0, 12.0])
    assert speeds_to_try(rough) == pytest.approx((5 / 3.6, 8 / 3.6, 12 / 3.6))
    assert notches_to_try(rough.unit, 0) == (-3, -2, -1, 0, 1, 2, 3)
    assert notches_to_try(rough.unit, 9) == (6, 7, 8, 9, 10)
    weak = replace(rough.unit, press_wheel=replace(rough.unit.press_wheel, preload=20.0))
    assert notches_to_try(weak, 0) == (-1, 0, 1, 2, 3)


def test_a_crossing_that_fails_leaves_its_reason(rough, monkeypatch):
    def failing(unit, soil, track, settings, **others):
        if settings.press_notch == 1:
            raise EquilibriumError("no equilibrium")
        return simulate(unit, soil, track, settings, **others)

    monkeypatch.setattr("analysis.setting_up.press_wheel.simulate", failing)
    found = press_wheel(replace(rough, x_to=rough.x_from + 6.0), [0, 1], [8.0 / 3.6], 1)
    assert np.isnan(found.grids["press_mean"][1]).all()
    assert found.problems == {(1, 0, 0): "no equilibrium", (1, 0, 1): "no equilibrium"}
    json.dumps(found.to_dict(), allow_nan=False)
    text = " ".join(press_text(found, "x").split())
    assert "2 of the crossings could not be made; the first: no equilibrium." in text
    assert "one notch alone shows no more" in text


def made_up(press, gauge, sd=(100.0, 150.0), off=(0.0, 0.1), limits=None):
    """A press wheel of three notches and two speeds: loads by notch, spread by speed."""
    shape = (3, 2)
    grids = {name: np.zeros(shape) for name in MEASURES}
    grids["press_mean"] += np.array(press)[:, None]
    grids["gauge_mean"] += np.array(gauge)[:, None]
    grids["press_sd"] += np.array(sd)
    grids["press_off"] += np.array(off)
    grids["press_low"] += 40.0
    grids["press_high"] += 480.0
    return PressWheel(
        scenario="invented", oil_pressure=60e5, notches=(-1, 0, 1), speeds=np.array([5.0, 10.0]) / 3.6, own_notch=0,
        own_speed=5.0 / 3.6, seeds=(1,), couple=15.0, limits=limits or Limits(), grids=grids, problems={},
    )  # fmt: skip


def test_sentences_follow_the_numbers():
    def text(*arguments, **options):
        return " ".join(press_text(made_up(*arguments, **options), "Field").split())

    base = text((200, 250, 300), (1000, 950, 900))
    assert "Notch 0 at 5 km/h: 250 N on the closing zone in the mean, nine tenths of the way between 40 and 480" in base
    assert "adds 50 N to the closing zone and takes 50 N off the gauge wheel (1.00 N for every newton)" in base
    assert "From 5 to 10 km/h its spread (SD) rises from 100 to 150 N" in base
    assert "without load goes from 0 % to 10.0 %" in base
    assert "Every notch tried keeps the mean gauge load between 200 and 1200 N at 5 km/h." in base
    other = text((200, 260, 320), (1250, 1280, 1190), sd=(150.0, 120.0))
    assert "adds 60 N to the closing zone and takes 30 N off the gauge wheel (0.50 N for every newton)" in other
    assert "falls from 150 to 120 N" in other
    assert "Of the notches tried +1 keeps the mean gauge load" in other
    assert "and adds 25 N to the gauge wheel" in text((200, 250, 300), (900, 925, 950))
    assert "No notch tried keeps" in text((200, 250, 300), (90, 80, 70))
    assert "−1 to 0 keep the" in text((200, 250, 300), (1000, 950, 900), limits=Limits(gauge_load_min=920.0))


def test_json_and_figure(crossed, tmp_path):
    d = crossed.to_dict()
    json.dumps(d, allow_nan=False)
    assert np.shape(d["press_load_mean_N"]) == (7, 3)
    assert d["own"] == {"notch": 0, "speed_kmh": 8.0}
    figure = press_figure(crossed, "Field")
    assert amiss(figure) == []
    told = " ".join(text.get_text().replace("\n", " ") for text in figure.texts)
    added, taken = crossed.per_notch
    assert f"One notch puts {added:.0f} N more on the closing zone and takes {-taken:.0f} N off" in told
    gauge = [line for line in figure.axes[1].lines if len(line.get_xdata()) == 7]
    assert gauge[1].get_ydata() == pytest.approx(crossed.grids["gauge_mean"][:, 1])
    save(figure, tmp_path / "a.png")
